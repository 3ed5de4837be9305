"""The command line: one file per command, thin.

Exit codes: 0 fine, 1 the kit is not whole or an audit found something, 2 wrong input or use,
3 our bug. Commands are loaded by name, so that help and completion stay fast.
"""

from __future__ import annotations

import gc
import importlib
import sys

import click

from kitting.errors import InputError, KittingError, TableError

# Command, and its line in the overview; the overview must not load every command.
COMMANDS: dict[str, str] = {
    "demo": "Make the invented shop and run the main job on it.",
    "sheets": "Write empty sheets to fill in, or the shop's own.",
    "kinds": "What joints of each kind need; which kind a joint is of.",
    "size": "What a standard designation stands for; which parts are equal to it.",
    "read": "Read filled sheets into the shop.",
    "versions": "Who changed the bill, when and why; how two versions differ.",
    "check": "Is a build's kit whole? Stage by stage, before the bench is booked.",
    "order": "Choose suppliers and write order sheets.",
    "levels": "Propose what to keep of what is always used, and when to order it.",
    "ready": "What to keep so that a build can be promised within some days.",
    "report": "Write a page to look at: stages, joints, days, costs, cautions.",
    "board": "Write the bench page: which build is where, and what it lacks.",
    "schedule": "Propose days for all open builds on limited benches and people.",
    "kit": "Write kit sheets, a pick list and bag labels to print.",
    "receive": "Note what came, and what of it cannot be kept.",
    "orders": "What is ordered, what is owed, which claims are open.",
    "amend": "Note what changed about an order: promise, price, called off.",
    "claim": "Note what came of a claim.",
    "invoice": "Compare an invoice with what was ordered and what came.",
    "count": "Note what was counted on a shelf.",
    "pick": "List what to pick for a build, and note that it was picked.",
    "return": "Count what is left over of a build's kits, and close them.",
    "carry": "Carry stock to a bin, outwork, another site, a customer or scrap.",
    "moves": "List what was moved, by whom and why.",
    "reverse": "Undo a move by its opposite.",
    "prove": "Work everything out anew and compare.",
    "forgot": "Note a part that was not in the kit.",
    "backup": "Copy the whole shop into one file.",
    "restore": "Make a backup the shop again.",
    "copy": "Copy a shop to another file or onto a database server.",
    "audit": "What past builds forgot, and whether today's bill would catch it.",
}


class LazyCommands(click.Group):
    """A group that imports a command when it is called or its help is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of a job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the command's file and return it."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"kitting.commands.{cmd_name}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Offer the nearest command when a name is unknown."""
        if args and not args[0].startswith("-") and args[0] not in COMMANDS:
            from kitting.terms.nearest import nearest

            raise click.UsageError(f'no command is called "{args[0]}"{nearest(args[0], COMMANDS)}')
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=LazyCommands,
    context_settings={"help_option_names": ["-h", "--help"], "terminal_width": 80},
    epilog="Start with: kitting demo",
)
@click.version_option(package_name="kitting", message="%(version)s")
def group() -> None:
    """Whole kits for engine and gearbox builds: the check, the orders, the audit.

    A shop's sheets go in; out comes whether each stage's kit is whole, what is missing, from whom
    and by which day to order it. The shop is a file (shop.db here unless --shop or KITTING_SHOP
    says otherwise).
    """


def main() -> None:
    """Run the command line and end the process with an exit code that means something."""
    try:
        code = _whole_run()
    except KeyboardInterrupt:
        code = _stopped()
    sys.exit(code)


def _whole_run() -> int:
    """Run the command line with an outlet that knows whether its words arrived."""
    from kitting.commands.common import Outlet

    if sys.stdout is None:
        return run()
    # A command lives for seconds and makes few cycles; looking for them at the usual pace took a
    # tenth of the time of a check.
    gc.set_threshold(50_000, 20, 20)
    outlet = Outlet(sys.stdout)
    sys.stdout = outlet
    code = run()
    outlet.end()
    return code


def _stopped() -> int:
    """Tell a person who stopped a command what that means; it may have come after the work."""
    click.echo(
        "stopped by you; what was not reported as done is not done, unless you stopped it at the "
        "very end: look before you repeat it",
        err=True,
    )
    return 2


def run(args: list[str] | None = None) -> int:
    """Run the command line and return the exit code."""
    try:
        result = group.main(args=args, prog_name="kitting", standalone_mode=False)
    except TableError as fault:
        return _our_fault(fault)
    except KittingError as fault:
        return _tell(fault)
    except click.ClickException as fault:
        return _wrong_use(fault)
    except (click.Abort, KeyboardInterrupt):
        return _stopped()
    except OSError as fault:
        click.echo(f"kitting: {_reason(fault)}", err=True)
        return 2
    except Exception as fault:
        return _our_fault(fault)
    return result if isinstance(result, int) else 0


def _wrong_use(fault: click.ClickException) -> int:
    """Tell of wrong use; a number below zero is no option, whatever it looks like."""
    if isinstance(fault, click.NoSuchOption) and fault.option_name.lstrip("-")[:1].isdigit():
        click.echo(f"kitting: {fault.option_name} is below zero; write zero or more", err=True)
    else:
        fault.show()
    return 2


def _reason(fault: OSError) -> str:
    """Say which file could not be used and why; copying a folder gives a list of those."""
    first = fault.args[0] if fault.args else ""
    if isinstance(first, list) and first:
        _, place, said = first[0]
        return f"{place} cannot be written: {said}"
    place = fault.filename2 or fault.filename or "a file"
    return f"{place} cannot be used: {(fault.strerror or str(fault)).lower()}"


def _tell(fault: KittingError) -> int:
    click.echo(f"kitting: {fault}", err=True)
    if isinstance(fault, InputError):
        for finding in fault.findings:
            click.echo(f"  {finding.level}: {finding}", err=True)
    return 2


def _our_fault(fault: Exception) -> int:
    import traceback

    traceback.print_exception(fault)
    click.echo("kitting: this is our mistake, not yours; the lines above tell where", err=True)
    return 3
