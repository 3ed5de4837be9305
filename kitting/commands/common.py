"""What commands share: the shop and day options, JSON, and opening the shop."""

from __future__ import annotations

import json
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import click

from kitting.terms.days import parse_day

if TYPE_CHECKING:
    from collections.abc import Callable

    from kitting.tables.plan import Plan
    from kitting.tables.shop import Shop

    Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


class Day(click.ParamType[date]):
    """A calendar day, year-month-day."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Read the day or fail with what to write."""
        if isinstance(value, date):
            return value
        try:
            return parse_day(str(value))
        except ValueError as fault:
            self.fail(str(fault), param, ctx)


def complete_build(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Offer the shop's builds to the shell; silent when there is no shop."""
    from kitting import records
    from kitting.errors import KittingError

    try:
        place = ctx.params.get("shop") or "shop.db"
        with records.open_shop(place, read_only=True) as shop:
            builds = records.build_names(shop)
    except (KittingError, OSError):
        return []
    return [b for b in builds if b.startswith(incomplete)]


shop_option: Decorator = click.option(
    "--shop",
    envvar="KITTING_SHOP",
    default="shop.db",
    show_default=True,
    metavar="FILE-OR-URL",
    help="The shop.  [env: KITTING_SHOP]",
)
day_option: Decorator = click.option(
    "--on", "day", type=Day(), metavar="DAY", help="Act as of this day; today unless given."
)
json_option: Decorator = click.option(
    "--json", "as_json", is_flag=True, help="Print JSON for a script."
)
build_argument: Decorator = click.argument("build", shell_complete=complete_build)


def as_of(day: date | None) -> tuple[date, int | None]:
    """Return the day to act on and the minutes after midnight, which count only for today."""
    now = datetime.now()
    if day is None or day == now.date():
        return now.date(), now.hour * 60 + now.minute
    return day, None


def load_shop(place: str, day: date) -> Shop:
    """Open the shop for reading and return its tables as of a day.

    Raises
    ------
    ShopError
        When there is no shop there or it cannot be read.
    """
    from kitting import records

    with records.open_shop(place, read_only=True) as engine:
        return records.snapshot(engine, day)


def make_plan(shop: Shop, day: date, clock: int | None) -> Plan:
    """Plan every open build of the shop with the shipped catalogs."""
    from kitting.plan import plan
    from kitting.reading.catalogs import catalogs
    from kitting.reading.references import references

    return plan(shop, day, catalogs(), references(shop), clock)


def to_json(document: Any) -> str:
    """Write a document as JSON."""
    return json.dumps(document, indent=1, ensure_ascii=False, default=str)


def echo_json(document: Any) -> None:
    """Print a document as JSON."""
    click.echo(to_json(document))


def known_part(shop: Shop, part: str) -> str:
    """Return the part number when the shop holds it.

    Raises
    ------
    UnknownName
        When it does not; the message offers the nearest numbers.
    """
    from kitting.errors import UnknownName
    from kitting.terms.nearest import nearest
    from kitting.terms.numbers import fold

    parts = [str(p) for p in shop["parts"]["part"]]
    if part in parts:
        return part
    alike = [p for p in parts if fold(p) == fold(part)]
    near = f"; did you mean {', '.join(alike)}" if alike else nearest(part, parts)
    raise UnknownName(f'no part is called "{part}"{near}')


def base_quantity(shop: Shop, part: str, text: str) -> tuple[int, str]:
    """Read ``12`` or ``80 ml`` as base units of a part, and the unit it was written in.

    Raises
    ------
    InputError
        When it is not a number and a unit of the part's dimension.
    """
    from kitting.errors import InputError, UnitError
    from kitting.terms.units import parse_number, to_base, unit

    frame = shop["parts"]
    own = frame.loc[frame["part"] == part, "unit"]
    number, _, written = text.strip().partition(" ")
    try:
        of = unit(written or (str(own.iloc[0]) if len(own) else ""))
        if len(own) and of.dimension is not unit(str(own.iloc[0])).dimension:
            raise UnitError(f"{of.name} does not convert to {own.iloc[0]}, the unit of {part}")
        return to_base(parse_number(number), of), of.name
    except (UnitError, ValueError) as fault:
        raise InputError(f"quantity {text}: {fault}") from fault


def door_quantity(shop: Shop, part: str, quantity: int) -> str:
    """Write base units of a part in its door unit: ``3 piece``, ``80 ml``."""
    from kitting.terms.units import show, unit

    frame = shop["parts"]
    own = frame.loc[frame["part"] == part, "unit"]
    of = unit(str(own.iloc[0]) if len(own) else "")
    return f"{show(quantity, of)} {of.name}"
