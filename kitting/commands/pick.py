"""``kitting pick``: what to pick for a build, and noting that it was picked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    from kitting.records import Records
    from kitting.records.picking import Pick, Picked
    from kitting.records.places import Kit


@click.command(
    "pick",
    epilog='Example: kitting pick CURLEW-31 head "O-RING 210" 2 --by JO --checked MK',
)
@common.build_argument
@click.argument("stage", required=False)
@click.argument("part", required=False)
@click.argument("quantity", required=False)
@click.option("--all", "everything", is_flag=True, help="Note all that is listed as picked.")
@click.option("--complete", is_flag=True, help="Call the stage's kit complete.")
@click.option("--by", type=common.Line(blank=True), default="", help="Initials of who picked.")
@click.option(
    "--checked", type=common.Line(blank=True), default="", help="Initials of who checked."
)
@click.option("--from", "place", type=common.Line(), help="Bin; the soonest to spoil unless given.")
@click.option("--lot", type=common.Line(blank=True), help="Lot or batch mark.")
@click.option("--from-kit", default="", metavar="BUILD", help="Take it from this build's kit.")
@click.option(
    "--reason", type=common.Line(blank=True), default="", help="Why it is taken from there."
)
@click.option(
    "--cause",
    metavar="CAUSE",
    help="Why the complete kit lacked it; asked for by one key on a terminal.",
)
@common.shop_option
@common.day_option
@common.json_option
def command(
    build: str,
    stage: str | None,
    part: str | None,
    quantity: str | None,
    everything: bool,
    complete: bool,
    by: str,
    checked: str,
    place: str | None,
    lot: str | None,
    from_kit: str,
    reason: str,
    cause: str | None,
    shop: str,
    day: date | None,
    as_json: bool,
) -> int:
    """List what to pick for BUILD, or note that it was picked.

    Without PART it lists each stage's lines by bin. With PART and QUANTITY (1 unless given, a unit
    may follow: "15 ml") that much goes into the kit of STAGE; --all does so for every line listed.
    What is picked after a kit was called complete is noted as forgotten. Exit code 1: the kit was
    called complete and something was short.
    """
    today, clock = common.as_of(day)
    who = _Who(shop, build, today, by, checked)
    if part is not None and (everything or complete):
        raise click.UsageError("give a part, or --all and --complete, not both at once")
    if part is not None:
        asked = _Asked(str(stage), part, quantity or "1", place, lot, from_kit, reason, cause)
        _one(who, asked, as_json)
        return 0
    if complete and (stage is None or not by or not checked):
        raise click.UsageError("a kit is called complete by two: STAGE --by JO --checked MK")
    plan = common.make_plan(common.load_shop(shop, today), today, clock)
    common.check_open(plan, [build])
    from kitting.outputs.pick_list import pick_document, pick_text

    kit = _kit(shop, build, stage) if stage is not None else None
    document = pick_document(plan, build, kit and (kit.assembly, kit.stage))
    if everything:
        document["moves"] = _all(who, document)
    lacking: list[Any] = []
    if kit is not None and complete:
        lacking = _complete(who, kit, document["stages"][0], everything)
        document["complete"] = {"short": lacking}
    if as_json:
        common.echo_json(document)
    elif everything or complete:
        _tell(document, everything, complete)
    else:
        click.echo(pick_text(document))
    return 1 if lacking else 0


@dataclass(frozen=True)
class _Who:
    """Which shop and build, on which day, by whom."""

    shop: str
    build: str
    today: date
    by: str
    checked: str


@dataclass(frozen=True)
class _Asked:
    """One part that is picked, as it was written."""

    stage: str
    part: str
    quantity: str
    place: str | None
    lot: str | None
    from_kit: str
    reason: str
    cause: str | None


def _kit(shop: str, build: str, stage: str) -> Kit:
    """Find the stage that was named."""
    from kitting import records
    from kitting.records.picking import stage_of

    with records.open_shop(shop, read_only=True) as held, held.reading() as hand:
        return stage_of(hand, build, stage)


def _one(who: _Who, asked: _Asked, as_json: bool) -> None:
    """Note that one part was picked; nothing heavy is loaded for it."""
    from kitting import records
    from kitting.commands.forgot import cause_of
    from kitting.records.counting import part_unit
    from kitting.records.picking import Pick, beyond, pick, places_of, stage_of

    with records.open_shop(who.shop) as held:
        with held.reading() as hand:
            kit = stage_of(hand, who.build, asked.stage)
            own = part_unit(hand, asked.part)
            amount, unit = common.read_quantity(asked.part, own, asked.quantity)
            what = Pick(
                kit, asked.part, amount, who.today, place=asked.place, lot=asked.lot,
                from_build=asked.from_kit, by=who.by, checked=who.checked, reason=asked.reason,
            )  # fmt: skip
            late = beyond(hand, what) > 0
        # Asked before the shop is held for writing: nobody waits for a key.
        cause = cause_of(asked.cause) if late else ""
        with held.writing():
            (picked,) = pick(held, what)
            entry = _forgot(held, what, picked, (cause, unit)) if picked.extra else 0
    if as_json:
        moves = [{"move": m.move, "from": m.from_place, "quantity": m.quantity}
                 for m in picked.moves]  # fmt: skip
        common.echo_json(
            {"build": who.build, "assembly": kit.assembly, "stage": kit.stage, "part": asked.part,
             "quantity": amount, "moves": moves, "forgotten": entry or None}
        )  # fmt: skip
        return
    where = ", ".join(_from(p, common.written(n, own)) for p, n in places_of(picked.moves))
    numbers = ", ".join(str(m.move) for m in picked.moves)
    click.echo(f"{asked.part} for {who.build} {kit.stage}: {where} (move {numbers})")
    if entry:
        extra = common.written(picked.extra, own)
        click.echo(f"the kit was called complete: {extra} noted as forgotten, entry {entry}")


def _from(place: str, amount: str) -> str:
    from kitting.records.places import kit_of

    kit = kit_of(place)
    return f"{amount} from " + (f"the kit of {kit.build} {kit.stage}" if kit else place)


def _forgot(held: Records, what: Pick, picked: Picked, told: tuple[str, str]) -> int:
    """Note what a complete kit lacked; what was damaged is thrown away, unless it was already."""
    from kitting import records
    from kitting.records.completing import Back, put_back
    from kitting.records.notes import picked_late, thrown_away
    from kitting.records.places import SCRAP
    from kitting.terms.words import Cause

    cause, unit = told
    noted = records.Forgotten(
        build=what.kit.build, part=what.part, noted=what.day, stage=what.kit.stage,
        quantity=picked.extra, unit=unit, cause=cause, note=picked_late(picked.moves),
    )  # fmt: skip
    with held.reading() as hand:
        gone = min(picked.extra, thrown_away(hand, noted, what.kit.place))
    if cause == Cause.DAMAGED and gone < picked.extra:
        put_back(
            held,
            Back(what.kit.build, what.part, picked.extra - gone, SCRAP, what.day,
                 stage=what.kit.stage, by=what.by, reason=cause),
        )  # fmt: skip
    return records.forgot(held, noted, again=True).entry


def _all(who: _Who, document: dict[str, Any]) -> list[int]:
    """Note every line of a pick list as picked, and return the moves."""
    from kitting import records
    from kitting.records.picking import Pick, pick
    from kitting.records.places import Kit

    picks = [
        Pick(
            Kit(who.build, stage["assembly"], stage["stage"]), line["part"], line["base"],
            who.today, place=line["place"], lot=line["lot"], by=who.by, checked=who.checked,
        )
        for stage in document["stages"]
        for line in stage["lines"]
    ]  # fmt: skip
    if not picks:
        return []
    with records.open_shop(who.shop) as held:
        done = pick(held, *picks)
    extra = sum(d.extra for d in done)
    if extra:
        click.echo("note: some kits were called complete before; see kitting forgot", err=True)
    return [m.move for d in done for m in d.moves]


def _complete(who: _Who, kit: Kit, stage: dict[str, Any], everything: bool) -> list[dict[str, Any]]:
    """Call a kit complete, and keep what is not in it."""
    from kitting import records
    from kitting.records.completing import complete

    lacking = [(line, line["why"]) for line in stage["lacking"]]
    if not everything:
        lacking += [(line, "on the shelf") for line in stage["lines"]]
    shorts: dict[tuple[str, str, str], dict[str, Any]] = {}
    for line, why in lacking:
        joint = "; ".join(line["joints"])
        key = (joint, line.get("role", ""), line["part"])
        if key in shorts:
            shorts[key]["quantity"] += line["base"]
            continue
        shorts[key] = {
            "joint": joint, "role": key[1], "part": line["part"], "quantity": line["base"],
            "unit": line["unit"], "why": "coming" if why.startswith("order ") else why,
        }  # fmt: skip
    with records.open_shop(who.shop) as held:
        complete(held, kit, who.today, (who.by, who.checked), list(shorts.values()))
    return list(shorts.values())


def _tell(document: dict[str, Any], everything: bool, complete: bool) -> None:
    """Tell what was noted."""
    from kitting.outputs.text import plural

    build = document["build"]
    if everything:
        lines = sum(len(s["lines"]) for s in document["stages"])
        said = f"{plural(lines, 'line', 'lines')} picked for" if lines else "nothing to pick for"
        click.echo(f"{said} {build}")
    if not complete:
        return
    stage = document["stages"][0]
    short = document["complete"]["short"]
    if not short:
        click.echo(f"the kit of {build} {stage['stage']} is complete; nothing is short")
        return
    click.echo(f"the kit of {build} {stage['stage']} is called complete; not in it:")
    for row in short:
        amount = common.written(row["quantity"], row["unit"])
        click.echo(f"  {amount} of {row['part']}: {row['why']}")
