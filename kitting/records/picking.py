"""Picking for a stage's kit, from bins or from another build's kit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from kitting.errors import InputError, UnknownName
from kitting.records.counting import known_part
from kitting.records.ledger import Move, post
from kitting.records.on_hand import Lot, OnShelf, on_hand, on_shelf
from kitting.records.places import Kit
from kitting.records.rows import day_of
from kitting.records.unpacking import containers, unpack
from kitting.terms.nearest import nearest

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from kitting.records.hands import Hand
    from kitting.records.opening import Records

_NEVER = "9999-12-31"


@dataclass(frozen=True, slots=True)
class Pick:
    """What is picked for a stage's kit.

    Parameters
    ----------
    kit
        The stage of the build.
    part, quantity
        What, and how much [base units].
    day
        When.
    place, lot
        From which bin and lot only; ``None`` = any, the soonest to spoil first.
    from_build
        Take it from the kit of this build instead of a bin; blank = from bins.
    by, checked
        Who picked and who checked.
    reason
        Why, when it is taken from another build.
    """

    kit: Kit
    part: str
    quantity: int
    day: date
    place: str | None = None
    lot: str | None = None
    from_build: str = ""
    by: str = ""
    checked: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Picked:
    """What picking wrote.

    Parameters
    ----------
    moves
        The moves into the kit.
    extra
        How much was asked for beyond what the kit lacked when it was called complete; 0 while it
        is not complete [base units].
    """

    moves: tuple[Move, ...]
    extra: int


def stage_of(hand: Hand, build: str, named: str) -> Kit:
    """Find the stage that a person names: ``STAGE``, or ``ASSEMBLY/STAGE`` when several have it.

    Raises
    ------
    UnknownName
        When there is no such build or stage.
    InputError
        When the build was finished, or several assemblies have such a stage.
    """
    rows = hand.rows("SELECT assembly, finished FROM builds WHERE build = :build", {"build": build})
    known_build(hand, build)
    ((own, finished),) = rows
    if finished is not None:
        raise InputError(f"{build} was finished on {finished}; nothing is picked for it any more")
    stages = hand.rows("SELECT assembly, stage FROM stages ORDER BY position")
    found = [(a, s) for a, s in stages if named in (s, f"{a}/{s}")]
    found = [x for x in found if x[0] == own] or found
    if not found:
        raise UnknownName(
            f'no stage is called "{named}"{nearest(named, dict.fromkeys(s for _, s in stages))}'
        )
    if len(found) > 1:
        ways = ", ".join(f"{a}/{s}" for a, s in found)
        raise InputError(f'several assemblies have a stage "{named}"; write one of {ways}')
    return Kit(build, *found[0])


def known_build(hand: Hand, build: str) -> None:
    """Refuse a build that the shop does not know.

    Raises
    ------
    UnknownName
        With the nearest names.
    """
    if not hand.rows("SELECT 1 FROM builds WHERE build = :build", {"build": build}):
        known = [str(row[0]) for row in hand.rows("SELECT build FROM builds")]
        raise UnknownName(f'no build is called "{build}"{nearest(build, known)}')


def pick(records: Records, *picks: Pick) -> list[Picked]:
    """Put parts into kits, all or none.

    What is held for the build goes first, then what its customer owns, then what is free; among
    each the soonest to spoil. Lots past their last day are left where they are. Where a part is
    not there by itself, sets that hold it are opened: what they contain lies in their bin then.

    Raises
    ------
    UnknownName
        When the shop has no such part or build.
    InputError
        When less is there than was asked for; the message says where there is more.
    """
    with records.writing() as hand:
        return [_pick(hand, what) for what in picks]


def _pick(hand: Hand, what: Pick) -> Picked:
    """Put one part into a kit."""
    known_part(hand, what.part)
    customer = customer_of(hand, what.kit.build)
    lots = _of_kit(hand, what, customer) if what.from_build else _of_bins(hand, what, customer)
    there = sum(seen.quantity for _, seen in lots)
    if there < what.quantity and not what.from_build:
        lots = _out_of_sets(hand, what, customer, what.quantity - there)
    missing, moves = what.quantity, []
    for lot, seen in lots:
        taken = min(missing, seen.quantity)
        if taken > 0:
            moves.append(_move(what, lot, seen, taken))
            missing -= taken
    if missing > 0 or not moves:
        raise InputError(_too_few(hand, what, what.quantity - missing))
    extra = beyond(hand, what)
    return Picked(tuple(post(hand, moves)), extra)


def customer_of(hand: Hand, build: str) -> str:
    """Return whose a build is."""
    rows = hand.rows("SELECT customer FROM builds WHERE build = :build", {"build": build})
    return str(rows[0][0]) if rows else ""


def _of_bins(hand: Hand, what: Pick, customer: str) -> list[tuple[Lot, OnShelf]]:
    """Return the lots that may be picked from, the first to be taken in front."""
    build, today = what.kit.build, what.day.isoformat()
    open_days = hand.rows("SELECT open_days FROM parts WHERE part = :part", {"part": what.part})
    life = open_days[0][0] if open_days else None
    found = []
    for lot, seen in on_shelf(hand, what.part).items():
        ours = lot.held_for == build or (not lot.held_for and lot.owner in ("", customer))
        named = what.place in (None, lot.place) and what.lot in (None, lot.lot)
        last = last_day(seen, life)
        if ours and named and last >= today:
            turn = 0 if lot.held_for else 1 if lot.owner else 2
            found.append(((turn, last, lot.place, lot.lot), (lot, seen)))
    return [at for _, at in sorted(found, key=lambda f: f[0])]


def _out_of_sets(hand: Hand, what: Pick, customer: str, missing: int) -> list[tuple[Lot, OnShelf]]:
    """Open as many sets as what is missing asks for; return the lots that are there then."""
    for name, each in containers(hand, what.part).items():
        for lot, seen in _of_bins(hand, replace(what, part=name), customer):
            opened = min(seen.quantity, max(0, -(-missing // each)))
            if opened:
                unpack(hand, lot, seen, opened, what.day, what.by)
                missing -= opened * each
    return _of_bins(hand, what, customer)


def last_day(seen: OnShelf, life: int | None) -> str:
    """Return the last day on which a lot may be used, as ISO text."""
    last = seen.label.use_by or _NEVER
    opened = day_of(seen.label.opened)
    if opened is not None and life is not None:
        last = min(last, (opened + timedelta(days=life)).isoformat())
    return last


def _of_kit(hand: Hand, what: Pick, customer: str) -> list[tuple[Lot, OnShelf]]:
    """Return what lies in the kits of another build and may be taken from there."""
    if what.from_build == what.kit.build:
        raise InputError(f"{what.from_build} is the build itself; name the one that gives")
    if not what.reason.strip():
        raise InputError(f"say why it is taken from the kit of {what.from_build}: --reason TEXT")
    known_build(hand, what.from_build)
    there = in_kits(hand, what.from_build, what.part).items()
    return [(lot, seen) for lot, seen in there if lot.owner in ("", customer)]


def in_kits(hand: Hand, build: str, part: str | None = None) -> dict[Lot, OnShelf]:
    """Return what lies in the kits of a build, of one part or of all."""
    where = "build = :build AND place LIKE 'kit:%'"
    if part is None:
        return on_hand(hand, where, build=build)
    return on_hand(hand, f"{where} AND part = :part", build=build, part=part)


def _move(what: Pick, lot: Lot, seen: OnShelf, quantity: int) -> Move:
    """Return the move of a lot into the kit."""
    return Move(
        part=lot.part,
        lot=lot.lot,
        held_for=lot.held_for,
        owner=lot.owner,
        quantity=quantity,
        from_place=lot.place,
        to_place=what.kit.place,
        day=what.day,
        unit=seen.label.unit,
        use_by=day_of(seen.label.use_by),
        opened=day_of(seen.label.opened),
        reason=what.reason or "picked",
        build=what.kit.build,
        by=what.by,
        checked=what.checked,
    )


def _too_few(hand: Hand, what: Pick, have: int) -> str:
    """Say how much there is for the kit, and where more lies."""
    asked = f"{what.quantity} of part {what.part} cannot be picked for {what.kit.build}"
    if what.quantity <= 0:
        return f"{asked}; give a quantity above zero"
    if what.from_build:
        return f"{asked} from the kits of {what.from_build}: {have} there that it may have"
    elsewhere = []
    usable = {lot for lot, _ in _of_bins(hand, replace(what, place=None, lot=None), "")}
    for lot, seen in on_shelf(hand, what.part).items():
        kept = f" held for {lot.held_for}" if lot.held_for else ""
        kept += f" of {lot.owner}'s" if lot.owner else ""
        past = "" if kept or lot in usable else " past its last day"
        elsewhere.append(f"{seen.quantity}{kept}{past} at {lot.place or 'a bin without a name'}")
    kits = hand.rows(
        "SELECT build, SUM(quantity) FROM on_hand WHERE part = :part AND place LIKE 'kit:%' "
        "AND build <> :build AND quantity > 0 GROUP BY build ORDER BY build",
        {"part": what.part, "build": what.kit.build},
    )
    elsewhere += [f"{n} in the kit of {build} (--from-kit {build})" for build, n in kits]
    more = f"; there are {', '.join(elsewhere)}" if elsewhere else "; there is none anywhere"
    return f"{asked}: {have} there that it may have{more}"


def beyond(hand: Hand, what: Pick) -> int:
    """Return how much of a pick is beyond what the kit lacked when it was called complete.

    What was taken out of the kit since, but for what was damaged or fitted, is lacked too. Nothing
    is beyond while a kit is not complete [base units].
    """
    kit = what.kit
    values = {"build": kit.build, "assembly": kit.assembly, "stage": kit.stage}
    rows = hand.rows(
        "SELECT kit, made_at FROM kits WHERE build = :build AND assembly = :assembly "
        "AND stage = :stage ORDER BY kit LIMIT 1",
        values,
    )
    if not rows:
        return 0
    ((number, since),) = rows
    ((lacked,),) = hand.rows(
        "SELECT CAST(COALESCE(SUM(quantity), 0) AS BIGINT) FROM kit_shorts "
        "WHERE kit = :kit AND part = :part",
        {"kit": number, "part": what.part},
    )
    left = int(lacked)
    for quantity, source in hand.rows(
        "SELECT quantity, from_place FROM moves AS m WHERE (to_place = :place OR from_place = "
        ":place AND to_place NOT LIKE 'outside:%') AND part = :part AND made_at > :since AND "
        "reverses IS NULL AND NOT EXISTS (SELECT 1 FROM moves WHERE reverses = m.move) "
        "ORDER BY move",
        {"place": kit.place, "part": what.part, "since": since},
    ):
        # What went to another kit or back into a bin since is missing, and was not forgotten.
        left = left + int(quantity) if source == kit.place else max(0, left - int(quantity))
    return max(0, what.quantity - left)


def places_of(moves: Iterable[Move]) -> list[tuple[str, int]]:
    """Return from which places moves took how much, in order."""
    found: dict[str, int] = {}
    for move in moves:
        found[move.from_place] = found.get(move.from_place, 0) + move.quantity
    return list(found.items())
