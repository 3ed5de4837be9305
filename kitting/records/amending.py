"""What happens to an order after it was written: the only file that changes ``orders``.

Every change is a fact with its day in ``order_facts`` that says what the line is from then on; the
row in ``orders`` is the last of them, and ``prove`` compares the two. ``orders_seen`` holds what a
sheet said last of each line, so that a sheet that says the same again changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from kitting.errors import InputError
from kitting.records.order_lines import come, lines
from kitting.records.rows import day_text, insert, quoted, storable
from kitting.tables.dealings import ORDER_FACTS
from kitting.tables.shop import ORDERS
from kitting.terms.money import amount

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from kitting.records.hands import Hand, Row, Value
    from kitting.records.opening import Records

AMENDED = ("price", "promised", "cancelled")
"""Columns of ``orders`` that a later sheet may change."""

_STATE = ("quantity", *AMENDED)


@dataclass(frozen=True, slots=True)
class Amendment:
    """What a supplier or we changed about an order.

    Parameters
    ----------
    order, line
        Which line; ``None`` = every line of the order that stands.
    day
        When it became known.
    sent
        A drafted order was sent that day.
    promised, price
        The new day at the door, the new amount of the line [cents].
    cancelled
        It was called off, in full or what is still to come of it.
    stands
        It stands again after all.
    reason, by
        Why, and who noted it.
    """

    order: str
    day: date
    line: int | None = None
    sent: bool = False
    promised: date | None = None
    price: int | None = None
    cancelled: bool = False
    stands: bool = False
    reason: str = ""
    by: str = ""

    @property
    def nothing(self) -> bool:
        """Whether it says of no change."""
        return not (
            self.sent or self.promised or self.price is not None or self.cancelled or self.stands
        )


@dataclass(frozen=True, slots=True)
class Reread:
    """What a sheet says of an order line that is there.

    Parameters
    ----------
    old, new
        The line as it is kept, and as it will be.
    sheet
        As the sheet has it.
    told
        Columns whose values become others.
    """

    old: Row
    new: Row
    sheet: Row
    told: dict[str, Value]


def amend(records: Records, change: Amendment) -> list[int]:
    """Note what changed about an order and return the lines that it changed.

    Raises
    ------
    UnknownName
        When there is no such order or line.
    InputError
        When nothing is changed, a price is meant for several lines, or the change does not fit
        what the line is: a draft cannot be promised, what was sent cannot be sent again.
    """
    day, done = str(day_text(change.day)), []
    with records.writing() as hand:
        for row in _chosen(hand, change):
            where = (change.order, int(row["line"]))
            changed = _changed(change, row, day)
            for what, values in changed:
                _set(hand, where, values)
                _fact(hand, what, where, (day, change.reason, change.by))
            if changed:
                done.append(where[1])
        if not done:
            raise InputError(f"order {change.order} is so already; nothing was changed")
    return done


def split(records: Records, change: Amendment, quantity: int) -> int:
    """Part what is still to come of a line off as a line of its own, and return its number.

    Its price and packs go with it in proportion. The new line is then promised for another day or
    called off, as the change says.

    Parameters
    ----------
    change
        Which line, when and why.
    quantity
        How much goes to the new line [base units].

    Raises
    ------
    UnknownName
        When there is no such order or line.
    InputError
        When so much is not still to come, or it is all of the line.
    """
    if change.line is None:
        raise InputError("say which line is to be split")
    order, line = change.order, change.line
    with records.writing() as hand:
        (row,) = lines(hand, order, line)
        whole = int(row["quantity"])
        still = max(0, whole - come(hand, order)[line])
        if row["cancelled"] or not 0 < quantity <= still:
            raise InputError(
                f"{quantity} of line {line} of order {order} cannot be parted off: "
                f"{0 if row['cancelled'] else still} is still to come"
            )
        if quantity == whole:
            raise InputError(f"that is all of line {line} of order {order}; amend the line itself")
        new = int(lines(hand, order, None)[-1]["line"]) + 1
        theirs, rest = _shares(row, quantity)
        made = {n: row[n] for n in ORDERS.names} | {"line": new} | theirs
        hand.run(insert("orders", ORDERS.names), made)
        _set(hand, (order, line), rest)
        why = (str(day_text(change.day)), change.reason or "back-order", change.by)
        for number in (line, new):
            _fact(hand, "split", (order, number), why)
        _see(hand, [[made[n] for n in ("order", "line", *AMENDED)]])
        if not change.nothing:
            amend(records, replace(change, line=new))
    return new


def begin(hand: Hand, rows: Iterable[Row], columns: Sequence[str], drafted: str | None) -> None:
    """Write the first fact of new order lines.

    Parameters
    ----------
    rows, columns
        The lines as they were put into ``orders``.
    drafted
        Day of drafting; ``None`` = they were sent on their ``ordered`` day.
    """
    named = [dict(zip(columns, row, strict=True)) for row in rows]
    for row in named:
        what, day = ("drafted", drafted) if drafted else ("sent", row["ordered"])
        _fact(hand, what, (row["order"], int(row["line"])), (day, "", ""))
    _see(hand, [[row[n] for n in ("order", "line", *AMENDED)] for row in named])


def news(hand: Hand, rows: Iterable[tuple[Row, Row]], columns: Sequence[str]) -> list[Reread]:
    """Tell what a sheet says of lines that are there, as against what it said last.

    Parameters
    ----------
    rows
        Each line as it is kept and as the sheet has it.
    columns
        Their columns.
    """
    seen = {
        (row[0], int(row[1])): row[2:]
        for row in hand.rows(f'SELECT "order", line, {quoted(AMENDED)} FROM orders_seen')
    }
    found = []
    for old, sheet in rows:
        was, now = (dict(zip(columns, row, strict=True)) for row in (old, sheet))
        said = seen.get((was["order"], int(was["line"])), tuple(was[n] for n in AMENDED))
        told = {
            n: now[n]
            for n, before in zip(AMENDED, said, strict=True)
            if now[n] != before and now[n] != was[n]
        }
        told |= _first(was, told)
        found.append(Reread(old, tuple((was | told)[c] for c in columns), sheet, told))
    return found


def take(hand: Hand, found: Sequence[Reread], columns: Sequence[str], why: tuple[str, str]) -> None:
    """Write what a sheet said of lines that are there.

    Parameters
    ----------
    why
        Day of reading and who reads.
    """
    said = [dict(zip(columns, f.sheet, strict=True)) for f in found]
    _see(hand, [[row[n] for n in ("order", "line", *AMENDED)] for row in said])
    for row, f in zip(said, found, strict=True):
        where = (str(row["order"]), int(row["line"]))
        if f.told:
            _set(hand, where, f.told)
        for name in AMENDED:
            if name in f.told:
                off = "stands" if f.told[name] is None else "called off"
                what = {"price": "priced", "promised": "promised"}.get(name, off)
                _fact(hand, what, where, (why[0], "read from the sheet orders", why[1]))


def _chosen(hand: Hand, change: Amendment) -> list[dict[str, Any]]:
    """Return the lines that a change is about, or refuse it."""
    if change.nothing:
        raise InputError("say what changed: sent, promised, price, called off or stands")
    if change.cancelled and change.stands:
        raise InputError("a line cannot be called off and stand at once")
    if change.price is not None and change.price < 0:
        raise InputError("a price cannot be below zero")
    chosen = lines(hand, change.order, change.line)
    if change.price is not None and len(chosen) > 1:
        raise InputError(f"order {change.order} has {len(chosen)} lines; say of which the price is")
    for row in chosen:
        if row["draft"] and not change.sent and (change.promised or change.price is not None):
            raise InputError(f"order {change.order} was never sent; say first that it was")
        if change.sent and not row["draft"]:
            raise InputError(f"order {change.order} was sent on {row['ordered']} already")
    return chosen


def _changed(
    change: Amendment, row: dict[str, Any], day: str
) -> list[tuple[str, dict[str, Value]]]:
    """Return the facts of a change for one line, and what each sets."""
    off = bool(row["cancelled"]) and not change.stands
    done: list[tuple[str, dict[str, Value]]] = []
    if change.sent and not off:
        done.append(("sent", {"ordered": day}))
    if change.stands and row["cancelled"]:
        done.append(("stands", {"cancelled": None}))
    promised = day_text(change.promised)
    if promised and promised != row["promised"] and not off:
        told: dict[str, Value] = {"promised": promised}
        done.append(("promised", told | _first(row, told)))
    if change.price is not None and change.price != row["price"]:
        done.append(("priced", {"price": change.price}))
    if change.cancelled and not row["cancelled"]:
        done.append(("called off", {"cancelled": day}))
    return done


def _first(row: dict[str, Any], told: dict[str, Value]) -> dict[str, Value]:
    """Return the first promise when a later one takes its place."""
    if "promised" in told and row["promised"] and not row["first_promised"]:
        return {"first_promised": row["promised"]}
    return {}


def _set(hand: Hand, where: tuple[str, int], values: dict[str, Value]) -> None:
    """Change columns of an order line."""
    names = ", ".join(f'"{n}" = :{n}' for n in values)
    hand.run(
        f'UPDATE orders SET {names} WHERE "order" = :at_order AND line = :at_line',
        {**values, "at_order": where[0], "at_line": where[1]},
    )


def _fact(hand: Hand, what: str, where: tuple[str, int], why: tuple[str | None, str, str]) -> None:
    """Write a fact: what an order line is from now on."""
    (state,) = hand.rows(
        f'SELECT {quoted(_STATE)} FROM orders WHERE "order" = :order AND line = :line',
        {"order": where[0], "line": where[1]},
    )
    values: dict[str, Value] = {
        "day": why[0],
        "what": what,
        "order": where[0],
        "line": where[1],
        **dict(zip(_STATE, state, strict=True)),
        "reason": storable(why[1]),
        "by": storable(why[2]),
        "made_at": datetime.now(UTC).isoformat(timespec="microseconds"),
    }
    hand.run(insert("order_facts", ORDER_FACTS.names), values)


def _see(hand: Hand, rows: Iterable[Sequence[Value]]) -> None:
    """Keep what was last said of order lines."""
    names = ("order", "line", *AMENDED)
    hand.run_many(
        f'{insert("orders_seen", names)} ON CONFLICT ("order", line) DO UPDATE SET '
        + ", ".join(f"{n} = excluded.{n}" for n in AMENDED),
        [dict(zip(names, row, strict=True)) for row in rows],
    )


def _shares(row: dict[str, Any], part: int) -> tuple[dict[str, Value], dict[str, Value]]:
    """Return quantity, price and packs of the part split off, and of the rest.

    The price is shared in proportion, rounded once; packs only when they come out whole.
    """
    whole = int(row["quantity"])
    theirs: dict[str, Value] = {"quantity": part}
    rest: dict[str, Value] = {"quantity": whole - part}
    if row["price"] is not None:
        price = amount(part, int(row["price"]), whole)
        theirs["price"], rest["price"] = price, int(row["price"]) - price
    if row["packs"] is not None:
        packs, over = divmod(int(row["packs"]) * part, whole)
        left = int(row["packs"]) - packs
        theirs["packs"], rest["packs"] = (None, None) if over else (packs, left)
    return theirs, rest
