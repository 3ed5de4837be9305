"""``kitting forgot``: note a part that was not in the kit, in ten seconds."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from kitting.commands import common
from kitting.errors import InputError, UnknownName
from kitting.terms.words import Cause, Role

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop

_CAUSES = [c.value for c in Cause]
_MOST_HOURS = 10_000
_MOST_CENTS = 10**11


@click.command(
    "forgot", epilog='Example: kitting forgot CURLEW-31 "O-RING 210" --cause "not in the bill"'
)
@common.build_argument
@click.argument("part", type=common.Line())
@click.option("--stage", default="", help="Stage that lacked it; taken from the bill if one fits.")
@click.option("--joint", default="", help="Joint it belongs to; taken from the bill if one fits.")
@click.option("--role", type=click.Choice([r.value for r in Role]), help="What it does there.")
@click.option(
    "--cause",
    metavar="CAUSE",
    help=f"Why, or the beginning of it: {', '.join(_CAUSES)}. One key on a terminal.",
)
@click.option("--quantity", default="1", help='How much, such as 2 or "15 ml".')
@click.option("--hours", type=float, default=0.0, help="Work hours lost.")
@click.option("--money", default="0", help="Extra money spent, such as 12.50.")
@click.option(
    "--note", type=common.Line(blank=True, longest=2000), default="", help="Anything else."
)
@click.option("--again", is_flag=True, help="It was asked for a second time that day.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    build: str,
    part: str,
    stage: str,
    joint: str,
    role: str | None,
    cause: str | None,
    quantity: str,
    hours: float,
    money: str,
    note: str,
    again: bool,
    shop: str,
    day: date | None,
    as_json: bool,
) -> None:
    """Note that PART was asked for on BUILD after its kit was called complete.

    The part need not be known to the shop: that may be why it was forgotten.
    """
    from kitting import records

    today, _ = common.as_of(day)
    tables = common.load_shop(shop, today)
    common.known_build(tables, build)
    _check_joint(tables, joint)
    why = cause_of(cause)
    if not (stage and joint and role):
        stage, joint, role = _place(tables, build, part, (stage, joint, role or ""))
    amount, unit = common.base_quantity(tables, part, quantity)
    cents = _cost(hours, money)
    noted = records.Forgotten(
        build=build, part=part, noted=today, stage=stage, joint=joint, role=role or "",
        quantity=amount, unit=unit, cause=why, hours_lost=hours, money_lost=cents, note=note,
    )  # fmt: skip
    with records.open_shop(shop) as held:
        noted = records.forgot(held, noted, again=again)
    if as_json:
        common.echo_json({"entry": noted.entry, "build": build, "part": part, "cause": why,
                          "stage": stage, "joint": joint, "role": role})  # fmt: skip
        return
    at = f" at {joint}" if joint else ""
    where = f", stage {stage}{at}" if stage else ""
    if part not in set(tables["parts"]["part"]):
        click.echo(f"note: the shop has no part {part}; add it to the sheet parts", err=True)
    click.echo(f"noted as {noted.entry}: {part} forgotten on {build}{where}; {why}")


def cause_of(text: str | None) -> str:
    """Return the cause that was meant; on a terminal one key chooses when none was given.

    Raises
    ------
    click.UsageError
        When the text is not one cause, or there is no terminal to ask on.
    """
    if text is None:
        if not sys.stdin.isatty():
            raise click.UsageError(f"say --cause: one of {', '.join(_CAUSES)}")
        for number, word in enumerate(_CAUSES, 1):
            click.echo(f"  {number} {word}", err=True)
        click.echo("Why (one key): ", nl=False, err=True)
        while True:
            try:
                key = click.getchar()
            except EOFError as fault:
                raise click.Abort from fault
            if key in map(str, range(1, len(_CAUSES) + 1)):
                click.echo(key, err=True)
                return _CAUSES[int(key) - 1]
    wanted = text.casefold().strip()
    if wanted in map(str, range(1, len(_CAUSES) + 1)):
        return _CAUSES[int(wanted) - 1]
    fits = [c for c in _CAUSES if c.startswith(wanted)] or [c for c in _CAUSES if wanted in c]
    if wanted in _CAUSES:
        return wanted
    if len(fits) == 1:
        return fits[0]
    raise click.UsageError(f'"{text}" is not one cause; say one of {", ".join(_CAUSES)}')


def _cost(hours: float, money: str) -> int:
    """Return the money lost in cents.

    Raises
    ------
    InputError
        When hours or money are no sensible loss; what is noted here is added up by the audit.
    """
    from kitting.terms.money import parse_cents

    if not 0 <= hours <= _MOST_HOURS:
        raise InputError(f"--hours {hours:g}: write the hours lost, from 0 to {_MOST_HOURS:,}")
    try:
        cents = parse_cents(money)
    except ValueError as fault:
        raise InputError(f"--money {fault}") from fault
    if not 0 <= cents <= _MOST_CENTS:
        most = _MOST_CENTS // 100
        raise InputError(f"--money {money}: write the money lost, from 0 to {most:,}")
    return cents


def _check_joint(tables: Shop, joint: str) -> None:
    """Refuse a joint that no assembly has.

    Raises
    ------
    UnknownName
        The message offers the nearest names.
    """
    from kitting.terms.nearest import nearest

    joints = list(dict.fromkeys(tables["joints"]["joint"]))
    if joint and joint not in joints:
        raise UnknownName(f'no joint is called "{joint}"{nearest(joint, joints)}')


def _place(
    tables: Shop, build: str, part: str, given: tuple[str, str, str]
) -> tuple[str, str, str]:
    """Take stage, joint and role from today's bill when just one line of the part fits."""
    from kitting.bill import explode

    builds = tables["builds"]
    required = explode(tables, builds[builds["build"] == build]).required
    lines = required[required["part"] == part]
    for column, value in zip(("stage", "joint", "role"), given, strict=True):
        if value:
            lines = lines[lines[column] == value]
    places = lines[["stage", "joint", "role"]].drop_duplicates()
    if len(places) != 1:
        return given
    row = places.iloc[0]
    return str(row["stage"]), str(row["joint"]), str(row["role"])
