"""What stands on an order to a supplier, gathered from the frames; no files and no layout."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.errors import UnitError
from kitting.terms.freight import flat_steps, freight_at
from kitting.terms.money import amount, show_cents
from kitting.terms.units import Unit, unit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.shop import Shop

GROUND_ONLY = "Ground only"


@dataclass(frozen=True, slots=True)
class Price:
    """How a line is priced.

    Parameters
    ----------
    packs
        Packs bought.
    pack
        Contents of one [base units].
    cents
        Price for ``per`` base units [cents].
    per
        What the price is for [base units].
    """

    packs: int
    pack: int
    cents: int
    per: int

    @property
    def amount(self) -> int:
        """What the packs cost [cents]."""
        return amount(self.packs * self.pack, self.cents, self.per)


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of an order.

    Parameters
    ----------
    line
        Its number on the order.
    supplier_part, part, name
        The supplier's number, ours, and what we call it.
    quantity
        How much [base units].
    unit
        Unit it is written in.
    price
        How it is priced; ``None`` = the amount is all that is known.
    amount
        What the line costs [cents]; ``None`` = not known.
    needed
        Day by which it must be at our door; ``None`` = no day.
    at_once
        That day is not after the day of the order.
    hazard
        Hazard words; blank = none.
    note
        What else the supplier must know.
    gtin
        Number of the pack by GS1; blank = not known.
    deposit, back_by, back_days
        Deposit on its old parts [cents], when they must be back, and how many days after the goods
        came that is; ``None`` = not said.
    build, arrives, in_time, why
        For ourselves: the build it is for, the day it would come, and why this supplier.
    """

    line: int
    supplier_part: str
    part: str
    name: str
    quantity: int
    unit: Unit
    price: Price | None
    amount: int | None
    needed: date | None
    at_once: bool
    hazard: str
    note: str
    gtin: str
    deposit: int
    back_by: date | None
    back_days: int | None
    build: str
    arrives: date | None
    in_time: bool | None
    why: str

    @property
    def needed_by(self) -> str:
        """The day it is needed, in words; blank = no day."""
        return "at once" if self.at_once else str(self.needed or "")

    @property
    def notes(self) -> str:
        """What the supplier must know of this line."""
        mark = f"{GROUND_ONLY}: {self.hazard}" if self.hazard else ""
        return "; ".join(text for text in (mark, self.note, self.core_note) if text)

    @property
    def core_note(self) -> str:
        """What is paid until the old parts are back, and by when; blank = nothing."""
        if not self.deposit:
            return ""
        text = f"deposit {show_cents(self.deposit)}, paid back for the old parts"
        if self.back_days is None:
            return text
        until = f" within {self.back_days} day{'' if self.back_days == 1 else 's'}"
        return text + until + (f", by {self.back_by}" if self.back_by else "")

    @property
    def printed_notes(self) -> str:
        """The notes, with the number under the pack's bar code."""
        number = f"GTIN {self.gtin}" if self.gtin else ""
        return "; ".join(text for text in (number, self.notes) if text)


@dataclass(frozen=True, slots=True)
class Order:
    """One order to one supplier.

    Parameters
    ----------
    number
        Our order number.
    ordered
        Day it is sent; ``None`` = not told.
    supplier, name, address, account
        The supplier's short name, name on the order, address, and our account there.
    currency
        ISO 4217 code.
    lines
        At least one.
    freight, hazard_charge, least_order
        What the supplier adds, and the least goods value it takes [cents].
    """

    number: str
    ordered: date | None
    supplier: str
    name: str
    address: str
    account: str
    currency: str
    lines: tuple[OrderLine, ...]
    freight: int
    hazard_charge: int
    least_order: int

    @property
    def goods(self) -> int:
        """Amount of the lines whose amount is known [cents]."""
        return sum(line.amount or 0 for line in self.lines)

    @property
    def deposits(self) -> int:
        """Deposits on old parts, paid until those are back [cents]."""
        return sum(line.deposit for line in self.lines)

    @property
    def total(self) -> int:
        """Goods, freight, hazard charge and deposits [cents]."""
        return self.goods + self.freight + self.hazard_charge + self.deposits

    @property
    def first_needed(self) -> OrderLine | None:
        """The line that must be at our door first."""
        dated = [line for line in self.lines if line.needed is not None]
        return min(dated, key=lambda line: line.needed or date.max, default=None)

    @property
    def hazardous(self) -> bool:
        """Tell whether a line is hazardous."""
        return any(line.hazard for line in self.lines)


def gather(
    buys: pd.DataFrame, shop: Shop, orders: pd.DataFrame, freight: Mapping[str, int] | None = None
) -> tuple[Order, ...]:
    """Gather the orders from their lines, by order number.

    A line is priced by the buy of the same supplier, part, supplier's number, quantity and amount;
    without one, as when an old order is printed again, its amount stands alone.

    Parameters
    ----------
    buys
        Table ``buys``.
    shop
        The shop: suppliers, parts, closures and settings.
    orders
        Table ``orders``; lines that were called off are left out.
    freight
        Freight by order number [cents]; for others the supplier's flat freight, free from the goods
        value that its sheet tells.
    """
    priced: defaultdict[tuple[Any, ...], list[dict[str, Any]]] = defaultdict(list)
    for buy in buys.sort_values("buy").to_dict("records"):
        priced[_key(buy, buy["cost"])].append(buy)
    parts = shop["parts"].set_index("part")[["name", "unit", "hazard"]].to_dict("index")
    doors = _Doors(shop)
    offers = shop["offers"].set_index("offer")[["gtin", "core_deposit", "core_days", "carrier"]]
    offered = offers.to_dict("index")
    standing = orders[orders["cancelled"].isna()].sort_values(["order", "line"])
    lines: defaultdict[str, list[OrderLine]] = defaultdict(list)
    first: dict[str, dict[str, Any]] = {}
    currencies: dict[str, str] = {}
    for row in standing.to_dict("records"):
        found = priced[_key(row, row["price"])]
        buy = found.pop(0) if found else {}
        if buy:
            buy |= offered.get(buy["offer"], {})
        number = str(row["order"])
        first.setdefault(number, row)
        currencies.setdefault(number, str(buy.get("currency", "")))
        lines[number].append(_line(row, buy, parts.get(row["part"], {}), doors))
    suppliers = shop["suppliers"].set_index("supplier").to_dict("index")
    return tuple(
        _order(
            first[number],
            tuple(lines[number]),
            suppliers.get(first[number]["supplier"], {}),
            currencies[number] or shop.setting("currency"),
            (freight or {}).get(number),
        )
        for number in sorted(lines)
    )


def _key(row: Mapping[str, Any], cents: Any) -> tuple[Any, ...]:
    cost = None if pd.isna(cents) else int(cents)
    return row["supplier"], row["part"], row["supplier_part"], int(row["quantity"]), cost


def _line(
    row: Mapping[str, Any], buy: Mapping[str, Any], part: Mapping[str, Any], doors: _Doors
) -> OrderLine:
    """Put one line together from the order, the buy and the part."""
    price = None
    if buy:
        price = Price(int(buy["packs"]), int(buy["pack"]), int(buy["price"]), int(buy["per"]))
    needed = doors.by(buy["day"], str(row["supplier"])) if buy else None
    ordered = _day(row["ordered"])
    cents = None if pd.isna(row["price"]) else int(row["price"])
    if price is not None and price.amount != cents:
        price = None
    return OrderLine(
        line=int(row["line"]),
        supplier_part=str(row["supplier_part"]),
        part=str(row["part"]),
        name=str(part.get("name", "")),
        quantity=int(row["quantity"]),
        unit=_unit(str(part.get("unit", "")) or str(row["unit"])),
        price=price,
        amount=cents,
        needed=needed,
        at_once=needed is not None and ordered is not None and needed <= ordered,
        hazard=str(part.get("hazard", "")),
        note="; ".join(filter(None, (str(row["note"]), _brought(buy)))),
        gtin=str(buy.get("gtin", "")),
        **_core(buy),
        build=str(row["build"]),
        arrives=_day(buy.get("arrives", row["promised"])),
        in_time=bool(buy["in_time"]) if buy else None,
        why=str(buy.get("why", "")),
    )


def _brought(buy: Mapping[str, Any]) -> str:
    """Ask for the carrier of the chosen offer, where it is not the one that usually comes."""
    carrier = str(buy.get("carrier", ""))
    return f"send by {carrier}" if carrier else ""


def _core(buy: Mapping[str, Any]) -> dict[str, Any]:
    """Return the deposit of a line, and when its old parts must be back."""
    deposit = int(buy.get("core_deposit", 0)) * int(buy.get("packs", 0))
    told: Any = buy.get("core_days")
    if not deposit or pd.isna(told):
        return {"deposit": deposit, "back_by": None, "back_days": None}
    days, arrives = int(told), _day(buy["arrives"])
    by = arrives + timedelta(days=days) if arrives else None
    return {"deposit": deposit, "back_by": by, "back_days": days}


def _order(
    row: Mapping[str, Any],
    lines: tuple[OrderLine, ...],
    supplier: Mapping[str, Any],
    currency: str,
    freight: int | None,
) -> Order:
    """Put one order together from its first row, its lines and the supplier's terms."""
    goods = sum(line.amount or 0 for line in lines)
    if freight is None:
        free: Any = supplier.get("free_freight_above")
        free_from = None if free is None or pd.isna(free) else int(free)
        freight = freight_at(flat_steps(int(supplier.get("freight", 0)), free_from), goods)
    hazardous = any(line.hazard for line in lines)
    return Order(
        number=str(row["order"]),
        ordered=_day(row["ordered"]),
        supplier=str(row["supplier"]),
        name=str(supplier.get("name", "")) or str(row["supplier"]),
        address=str(supplier.get("address", "")),
        account=str(supplier.get("account", "")),
        currency=str(supplier.get("currency", "")) or currency,
        lines=lines,
        freight=freight,
        hazard_charge=int(supplier.get("hazard_charge", 0)) if hazardous else 0,
        least_order=int(supplier.get("least_order", 0)),
    )


class _Doors:
    """The last day on which goods may be at the door to be usable on a day."""

    def __init__(self, shop: Shop) -> None:
        closures = shop["closures"]
        ours = closures.loc[closures["calendar"] == "shop", "day"]
        self.closed = ours.to_numpy("datetime64[D]")
        self.week = "1111111" if shop.setting("calendar") == "every day" else "1111100"
        days = shop.setting("goods_in_days").strip()
        self.goods_in = int(days) if days.isdigit() else 1
        told = shop["suppliers"].dropna(subset="inspection_days")
        self.inspected = dict(zip(told["supplier"], told["inspection_days"], strict=True))

    def by(self, usable: Any, supplier: str) -> date | None:
        """Step back over the supplier's days in goods-in, on weekdays that the shop is not closed.

        Public holidays are not looked at: the timing of the plan knows them, an order only tells
        the day that we ask for.
        """
        if pd.isna(usable):
            return None
        day = np.datetime64(pd.Timestamp(usable), "D")
        back = np.busday_offset(
            day,
            -int(self.inspected.get(supplier, self.goods_in)),
            roll="backward",
            weekmask=self.week,
            holidays=self.closed,
        )
        return _day(back)


def _day(value: Any) -> date | None:
    return None if pd.isna(value) else pd.Timestamp(value).date()


def _unit(name: str) -> Unit:
    """Return the unit of a name; a piece when it is not one."""
    try:
        return unit(name)
    except UnitError:
        return unit("piece")
