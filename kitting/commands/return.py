"""``kitting return``: what is left over of a build's kits, counted and put back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common
from kitting.errors import InputError

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from kitting.tables.shop import Shop


@click.command("return", epilog='Example: kitting return CURLEW-31 CIRCLIP-30 1 --place "drawer D"')
@common.build_argument
@click.argument("part", required=False)
@click.argument("quantity", required=False)
@click.option("--stage", default="", help="Only out of this stage's kit.")
@click.option("--place", type=common.Line(), help="Bin that it goes back into.")
@click.option("--scrap", is_flag=True, help="It is thrown away; --reason says why.")
@click.option("--to-customer", is_flag=True, help="Its owner has it again; --reason says why.")
@click.option("--done", is_flag=True, help="The rest was fitted: close the kits of the build.")
@click.option("--all", "everything", is_flag=True, help="Also list what comes out.")
@click.option("--reason", type=common.Line(blank=True), default="", help="Why it differs.")
@click.option("--by", type=common.Line(blank=True), default="", help="Who counted: initials.")
@click.option("--checked", type=common.Line(blank=True), default="", help="Who checked.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    build: str,
    part: str | None,
    quantity: str | None,
    stage: str,
    place: str | None,
    scrap: bool,
    to_customer: bool,
    done: bool,
    everything: bool,
    reason: str,
    by: str,
    checked: str,
    shop: str,
    day: date | None,
    as_json: bool,
) -> int:
    """Set what was issued to BUILD against what was fitted and what is left over.

    With PART and QUANTITY (1 unless given) that much goes back into a bin, is thrown away or goes
    back to its owner. With --done the rest counts as fitted; when issued - fitted - left over is
    not zero for a part that is counted, --reason must say why. Exit code 1: it is not zero.
    """
    today, clock = common.as_of(day)
    if part is not None:
        places = _places(place, scrap, to_customer)
        _back(shop, _Back(build, part, quantity or "1", places, stage, reason, by, checked, today),
              as_json)  # fmt: skip
        return 0
    tables = common.load_shop(shop, today)
    common.known_build(tables, build)
    plan = common.make_plan(tables, today, clock)
    common.check_open(plan, [build])
    from kitting import netting
    from kitting.outputs.pick_list import issued_text
    from kitting.outputs.text import plural

    netted = netting.Netted(plan.required, plan.left_overs, plan.needs, plan.supply, plan.picks)
    table, used = netting.issued(tables, netted, build)
    rows = _rows(tables, table)
    wrong = [row for row in rows if row["named"]]
    if done:
        _close(shop, (build, reason, by, checked), used, wrong, today)
    if as_json:
        common.echo_json({"build": build, "closed": done, "parts": rows})
    elif done:
        click.echo(f"the kits of {build} are closed: {plural(len(used), 'line', 'lines')} fitted")
    elif rows:
        click.echo(issued_text(build, rows, everything=everything))
    else:
        click.echo(f"nothing was issued to {build}")
    return 1 if wrong else 0


@dataclass(frozen=True)
class _Back:
    """What comes back, as it was written."""

    build: str
    part: str
    quantity: str
    place: str
    stage: str
    reason: str
    by: str
    checked: str
    today: date


def _places(place: str | None, scrap: bool, to_customer: bool) -> str:
    """Return where it goes."""
    from kitting.records.places import CUSTOMER, SCRAP

    given = [p for p in (place, SCRAP if scrap else "", CUSTOMER if to_customer else "") if p]
    if len(given) != 1:
        raise click.UsageError("say where it goes: --place BIN, --scrap or --to-customer")
    return given[0]


def _back(shop: str, what: _Back, as_json: bool) -> None:
    """Put one part back; nothing heavy is loaded for it."""
    from kitting import records
    from kitting.records.completing import Back, put_back
    from kitting.records.counting import part_unit

    with records.open_shop(shop) as held:
        with held.reading() as hand:
            own = part_unit(hand, what.part)
        amount, _ = common.read_quantity(what.part, own, what.quantity)
        moves = put_back(
            held,
            Back(
                what.build, what.part, amount, what.place, what.today, stage=what.stage,
                by=what.by, checked=what.checked, reason=what.reason,
            ),
        )  # fmt: skip
    if as_json:
        common.echo_json([{"move": m.move, "quantity": m.quantity, "to": m.to_place}
                          for m in moves])  # fmt: skip
        return
    numbers = ", ".join(str(m.move) for m in moves)
    where = what.place.removeprefix("outside: ")
    amount_text = common.written(amount, own)
    click.echo(f"{amount_text} of {what.part} from {what.build} to {where} (move {numbers})")


def _rows(tables: Shop, table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return issued against fitted in door units."""
    from kitting import netting
    from kitting.terms.units import show, unit

    parts = tables["parts"].set_index("part")
    wrong = set(netting.named(tables, table)["part"])
    found = []
    for row in table.itertuples(index=False):
        known = row.part in parts.index
        of = unit(str(parts.loc[row.part, "unit"]) if known else "")
        numbers = ("issued", "fitted", "left_over", "difference")
        found.append(
            {"part": row.part, "name": str(parts.loc[row.part, "name"]) if known else ""}
            | {n: show(int(getattr(row, n)), of) for n in numbers}
            | {"unit": of.name, "named": row.part in wrong}
            | {"said": netting.difference_text(tables, row) if row.part in wrong else ""}
        )
    return found


def _close(
    shop: str,
    who: tuple[str, str, str, str],
    used: pd.DataFrame,
    wrong: list[dict[str, Any]],
    today: date,
) -> None:
    """Close the kits of a build.

    Raises
    ------
    InputError
        When something is not accounted for and no reason is given.
    """
    from kitting import records
    from kitting.records.completing import fit
    from kitting.records.counting import part_unit

    build, reason, by, checked = who
    if wrong and not reason.strip():
        told = "; ".join(row["said"] for row in wrong)
        raise InputError(f"{build} does not come out: {told}; or say --reason TEXT")
    with records.open_shop(shop) as held:
        with held.reading() as hand:
            units = {str(p): part_unit(hand, str(p)) for p in set(used["part"])}
        rows = [
            {**row, "unit": units[row["part"]], "note": reason} for row in used.to_dict("records")
        ]
        fit(held, build, rows, today, (by, checked), reason)
