"""What commands share: the shop and day options, JSON, and opening the shop."""

from __future__ import annotations

import json
import os
import re
import unicodedata
from dataclasses import asdict
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, TextIO

import click

from kitting.errors import InputError, KittingError, ShopError, UnitError, UnknownName
from kitting.terms.days import FIRST_DAY, LAST_DAY, parse_day

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    import pandas as pd

    from kitting.records.copying import Copied
    from kitting.tables.plan import Beyond, Plan
    from kitting.tables.shop import Shop

    Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


_AMOUNT = re.compile(r"([+-]?[0-9]+(?:\.[0-9]+)?(?:\s*/\s*[0-9]+)?)\s*(.*)", re.DOTALL)
_MOST = 10**15  # base units; as in the sheets


class Outlet:
    """Standard output whose reader may go away: the work goes on, and is told to nobody.

    ``kitting order | head`` must neither stop half-way nor end with another exit code.

    Parameters
    ----------
    stream
        Where text goes.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write, or let the text go where the reader went.

        Raises
        ------
        KittingError
            When the output is a file on a disk that is full or refuses it.
        """
        self._try(self._stream.write, text)
        return len(text)

    def flush(self) -> None:
        """Send what was written on its way.

        Raises
        ------
        KittingError
            When the output is a file on a disk that is full or refuses it.
        """
        self._try(self._stream.flush)

    def _try(self, do: Callable[..., Any], *words: str) -> None:
        try:
            do(*words)
        except BrokenPipeError:
            self._let_go()
        except OSError as fault:
            reason = (fault.strerror or str(fault)).lower()
            raise KittingError(
                f"the output cannot be written: {reason}; what was asked for may be done all the "
                "same, so look before you repeat it"
            ) from fault

    def end(self) -> None:
        """Send the rest on its way; what cannot be sent was told before and is dropped."""
        try:
            self.flush()
        except KittingError:
            self._let_go()

    def _let_go(self) -> None:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, self._stream.fileno())
        os.close(nowhere)


class Line(click.ParamType[str]):
    """A text on one line, as a cell of a sheet may hold it.

    Parameters
    ----------
    blank
        It may be blank.
    longest
        Most characters.
    """

    name = "text"

    def __init__(self, *, blank: bool = False, longest: int = 200) -> None:
        self.blank = blank
        self.longest = longest

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Strip the text, or fail with what to write."""
        spaced = (" " if unicodedata.category(c) == "Zs" else c for c in str(value))
        text = "".join(spaced).strip()
        if not text and not self.blank:
            self.fail("it is blank; write something", param, ctx)
        if len(text) > self.longest:
            self.fail(f"it has {len(text)} characters; write {self.longest} or fewer", param, ctx)
        if not text.isprintable():
            self.fail(
                f"{text!a} has a line break, a tab or an invisible character; type it on one line",
                param,
                ctx,
            )
        return text


class Day(click.ParamType[date]):
    """A calendar day, year-month-day."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Read the day or fail with what to write."""
        if isinstance(value, date):
            return value
        try:
            found = parse_day(str(value))
        except ValueError as fault:
            self.fail(str(fault), param, ctx)
        if not FIRST_DAY <= found <= LAST_DAY:
            self.fail(f"{found} is before {FIRST_DAY.year} or after {LAST_DAY.year}", param, ctx)
        return found


def complete_build(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Offer the shop's builds to the shell; silent when there is no shop."""
    from kitting import records

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

    if not place.strip():
        raise ShopError("--shop is blank; name the shop's file, such as shop.db")
    with records.open_shop(place, read_only=True) as engine:
        return records.snapshot(engine, day)


def make_plan(shop: Shop, day: date, clock: int | None) -> Plan:
    """Plan every open build of the shop with the shipped catalogs."""
    from kitting.plan import plan
    from kitting.reading.catalogs import catalogs
    from kitting.reading.references import references

    return plan(shop, day, catalogs(), references(shop), clock)


def look_beyond(plan: Plan) -> Beyond | None:
    """Look at outwork, sizes to measure, the hand-over and benches where the sheets name such."""
    named = any(plan.shop.has(sheet) for sheet in ("outwork", "measured", "temporary"))
    named = named or bool((plan.shop["parts"]["family"] == "outwork").any())
    if not named and not plan.shop.setting("benches").strip():
        return None
    from kitting.plan import beyond

    return beyond(plan)


def make_spares(plan: Plan) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the spares to think of, and those that would have to be bought, as needs."""
    from kitting.plan import spares
    from kitting.reading.catalogs import catalogs
    from kitting.reading.references import references

    return spares(plan, catalogs(), references(plan.shop, spares=True))


def look_at_shelf(plan: Plan) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the bins to count first, and what the shelf is to keep and lacks, as needs."""
    from kitting import netting

    frames = (plan.shop, plan.needs, plan.supply, plan.picks, plan.day)
    return netting.count_first(*frames), netting.kept_needs(*frames)


def make_sample(plan: Plan, build: str, courses: int, seed: int) -> pd.DataFrame:
    """Draw courses of events for a build, table ``sampled``."""
    from kitting.plan import by_sampling
    from kitting.reading.catalogs import catalogs

    return by_sampling(plan, build, catalogs(), courses, seed)


def to_json(document: Any) -> str:
    """Write a document as JSON."""
    return json.dumps(document, indent=1, ensure_ascii=False, default=str)


def echo_json(document: Any) -> None:
    """Print a document as JSON."""
    click.echo(to_json(document))


def tell_copied(copied: Copied, as_json: bool) -> None:
    """Print what was copied and that both sides are equal."""
    if as_json:
        echo_json(asdict(copied))
        return
    rows = sum(t.rows for t in copied.tables)
    click.echo(f"{copied.target} holds all of {copied.source}")
    from kitting.outputs.text import plural

    told = plural(rows, "row", "rows")
    click.echo(f"  {len(copied.tables)} tables, {told}: equal, each compared by its digest")
    moves, lots = plural(copied.moves, "move", "moves"), plural(copied.lots, "lot", "lots")
    click.echo(f"  {moves}, {lots} on the shelf: the ledger proves")
    if copied.aside:
        click.echo(f"  the shop that was there is kept as {copied.aside}")


def check_open(plan: Plan, builds: Iterable[str]) -> None:
    """Refuse builds that are not open.

    Raises
    ------
    UnknownName
        When a build was finished, or is not there; the message offers the nearest names.
    """
    from kitting.terms.nearest import nearest
    from kitting.terms.numbers import fold

    held = plan.shop["builds"].set_index("build")
    for build in builds:
        if build in plan.builds:
            continue
        if build in held.index:
            day = held.loc[build, "finished"]
            raise UnknownName(
                f'build "{build}" was finished on {day:%Y-%m-%d}; only open builds are planned'
            )
        if not plan.builds:
            raise UnknownName(
                f'no build is called "{build}": none is open; add it to the sheet builds with a '
                "start and no finished day"
            )
        alike = [b for b in plan.builds if fold(b) == fold(build)]
        near = f"; did you mean {', '.join(alike)}?" if alike else nearest(build, plan.builds)
        raise UnknownName(f'no open build is called "{build}"{near}')


def known_part(shop: Shop, part: str) -> str:
    """Return the part number when the shop holds it.

    Raises
    ------
    UnknownName
        When it does not; the message offers the nearest numbers.
    """
    from kitting.terms.nearest import nearest
    from kitting.terms.numbers import fold

    parts = [str(p) for p in shop["parts"]["part"]]
    if part in parts:
        return part
    alike = [p for p in parts if fold(p) == fold(part)]
    near = f"; did you mean {', '.join(alike)}" if alike else nearest(part, parts)
    raise UnknownName(f'no part is called "{part}"{near}')


def known_build(shop: Shop, build: str) -> str:
    """Return the name of a build when the shop holds it, finished or not.

    Raises
    ------
    UnknownName
        When it does not; the message offers the nearest names.
    """
    from kitting.terms.nearest import nearest

    builds = [str(b) for b in shop["builds"]["build"]]
    if build not in builds:
        raise UnknownName(f'no build is called "{build}"{nearest(build, builds)}')
    return build


def tell_past(use_by: date | None, today: date) -> None:
    """Tell that no kit will count on a lot whose last day has passed."""
    if use_by is not None and use_by < today:
        click.echo(f"note: its last day, {use_by}, has passed; no kit counts on it", err=True)


def base_quantity(shop: Shop, part: str, text: str) -> tuple[int, str]:
    """Read ``12``, ``80 ml`` or ``80ml`` as base units of a part, and the unit as written.

    Raises
    ------
    InputError
        When it is not a number of zero or more and a unit of the part's dimension.
    """
    frame = shop["parts"]
    own = frame.loc[frame["part"] == part, "unit"]
    return read_quantity(part, str(own.iloc[0]) if len(own) else None, text)


def read_quantity(part: str, own: str | None, text: str) -> tuple[int, str]:
    """Read a quantity of a part whose own unit is at hand; ``None`` = the part is not known.

    Raises
    ------
    InputError
        When it is not a number of zero or more and a unit of the part's dimension.
    """
    from kitting.terms.units import parse_number, to_base, unit

    parted = _AMOUNT.fullmatch(text.strip())
    figure, said = (parted[1], parted[2].strip()) if parted else (text, "")
    try:
        of = unit(said or own or "")
        if own is not None and of.dimension is not unit(own).dimension:
            raise UnitError(f"{of.name} does not convert to {own}, the unit of {part}")
        number = parse_number(figure)
        amount = to_base(number, of)
    except (UnitError, ValueError) as fault:
        raise InputError(f'quantity "{text}": {fault}') from fault
    if number < 0 or (number and not amount) or amount > _MOST:
        wrong = "below zero" if number < 0 else "too small" if not amount else "too large"
        raise InputError(f'quantity "{text}" is {wrong}; look at the number and its unit')
    return amount, of.name


def door_quantity(shop: Shop, part: str, quantity: int) -> str:
    """Write base units of a part in its door unit: ``3 pieces``, ``80 ml``."""
    frame = shop["parts"]
    own = frame.loc[frame["part"] == part, "unit"]
    return written(quantity, str(own.iloc[0]) if len(own) else "")


def written(quantity: int, named: str) -> str:
    """Write base units in a unit: ``3 pieces``, ``80 ml``."""
    from kitting.terms.units import counted, unit

    return counted(quantity, unit(named))
