"""Whose working days are which: the shop's, and every supplier's."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import lru_cache
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from typing import TYPE_CHECKING

import numpy as np

from kitting.errors import InputError, UnknownName
from kitting.terms.days import Calendar, parse_week
from kitting.terms.findings import Finding
from kitting.terms.nearest import nearest
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from holidays import HolidayBase
    from numpy.typing import NDArray

    from kitting.tables.shop import Shop

SHOP = "shop"
PLAIN = {"every weekday": "1111100", "every day": "1111111"}
_CODE = re.compile(r"^([A-Z]{2})(?:-([A-Za-z0-9]{1,3}))?$")
_BEFORE, _AFTER, _FARTHEST = 4, 3, 10


def known_calendar(name: str) -> bool:
    """Tell whether a calendar of this name can be made; blank can (every weekday).

    A country's code makes the holidays library load; the plain names do not.
    """
    return _plain(name) is not None or _country(name) is not None


def _plain(name: str) -> str | None:
    return PLAIN.get(" ".join(name.split()).casefold() or "every weekday")


def _country(name: str) -> tuple[type[HolidayBase], str | None] | None:
    """Return the holiday rules of a country's code, and the part of the country."""
    match = _CODE.match(name.strip())
    rules = _rules(match[1]) if match else None
    if match is None or rules is None:
        return None
    part = match[2]
    return (rules, part) if part is None or part in rules.subdivisions else None


@lru_cache(maxsize=64)
def _rules(country: str) -> type[HolidayBase] | None:
    """Return the holiday rules of a country, importing that country's module alone.

    The library's own lookup loads every country, which takes about a tenth of a second more.
    """
    import holidays
    from holidays.registry import COUNTRIES

    for module, (kind, code, *_) in COUNTRIES.items():
        if code == country:
            folders = [f"{folder}/countries" for folder in holidays.__path__]
            spec = PathFinder.find_spec(f"holidays.countries.{module}", folders)
            if spec is None or spec.loader is None:
                return type(holidays.country_holidays(country))
            loaded = module_from_spec(spec)
            spec.loader.exec_module(loaded)
            rules: type[HolidayBase] = getattr(loaded, kind)
            return rules
    return None


def _unknown(name: str) -> UnknownName:
    import holidays

    known = holidays.list_supported_countries(include_aliases=False)
    codes = [f"{c}-{p}" for c, parts in known.items() for p in ("", *parts)]
    names = [*PLAIN, *(code.rstrip("-") for code in codes)]
    return UnknownName(
        f'calendar "{name}" is not known; write every weekday, every day, or a country code '
        f"such as GB-ENG{nearest(name, names)}"
    )


@lru_cache(maxsize=256)
def _calendar(name: str, first: int, last: int) -> Calendar:
    """Make the calendar of a name for whole years.

    A country's usual weekend is closed (Friday and Saturday in some) and so is each of its public
    holidays. Weekend days that a government declares worked once count as closed, and half days
    as worked.
    """
    span = date(first, 1, 1), date(last, 12, 31)
    week = _plain(name)
    if week is not None:
        return Calendar(name, week, (), *span)
    country = _country(name)
    if country is None:
        raise _unknown(name)
    rules, part = country
    days = rules(subdiv=part, years=range(first, last + 1))
    weekend = days.weekend
    week = "".join("0" if weekday in weekend else "1" for weekday in range(7))
    closed = tuple(
        sorted(d for d in days if d.weekday() not in weekend and span[0] <= d <= span[1])
    )
    return Calendar(name, week, closed, *span)


def closing(calendar: Calendar, days: set[date]) -> Calendar:
    """Return a calendar that is closed on some more days; the very same without any."""
    if not days:
        return calendar
    inside = {d for d in days if calendar.first <= d <= calendar.last}
    return replace(calendar, closed=tuple(sorted({*calendar.closed, *inside})))


def span(shop: Shop, day: date) -> tuple[int, int]:
    """Return the first and last year for which working days are made.

    Four years back and three ahead, more when an open build's start or an order's promise asks
    for it, at most ten either way.
    """
    builds, orders = shop["builds"], shop["orders"]
    open_starts = builds.loc[builds["finished"].isna(), "start"]
    years = {
        int(y)
        for days in (open_starts, orders["promised"])
        for y in days.dropna().dt.year.unique()
        if abs(int(y) - day.year) < _FARTHEST
    }
    first = min([day.year - _BEFORE, *(y - 1 for y in years)])
    last = max([day.year + _AFTER, *(y + 2 for y in years)])
    return max(first, day.year - _FARTHEST), min(last, day.year + _FARTHEST)


def calendars(shop: Shop, day: date) -> dict[str, Calendar]:
    """Return the working days of the shop, of its suppliers and of their carriers.

    Parameters
    ----------
    shop
        Reads ``shop`` (setting ``calendar``), ``suppliers``, ``carriers``, ``closures``, and the
        days of ``builds`` and ``orders`` for the span.
    day
        The day of the plan.

    Returns
    -------
    dict
        By name: ``shop``, each supplier's and carrier's calendar name as written, and the
        supplier's own name where ``closures`` names a supplier. A closure under a calendar's name
        closes everyone who goes by that calendar; one under ``shop`` or a supplier closes only
        them. Closures under a carrier's name are added by ``roads``.

    Raises
    ------
    UnknownName
        When a calendar name is not known; the message offers the nearest.
    """
    years = span(shop, day)
    own = own_closures(shop)

    def made(name: str) -> Calendar:
        return closing(_calendar(name, *years), own.get(name, set()))

    suppliers = shop["suppliers"]
    names = (*suppliers["calendar"].tolist(), *filter(None, shop["carriers"]["calendar"].tolist()))
    found = {str(name): made(str(name)) for name in dict.fromkeys(names)}
    for supplier, name in zip(suppliers["supplier"], suppliers["calendar"], strict=True):
        if supplier in own and supplier not in found:
            found[supplier] = replace(closing(found[name], own[supplier]), name=supplier)
    found[SHOP] = replace(closing(made(shop.setting("calendar")), own.get(SHOP, set())), name=SHOP)
    return found


def own_closures(shop: Shop) -> dict[str, set[date]]:
    """Return the closing days of the sheet ``closures`` by the name that each is under."""
    closures = shop["closures"].dropna(subset="day")
    own: dict[str, set[date]] = {}
    for name, when in zip(closures["calendar"], closures["day"].dt.date, strict=True):
        own.setdefault(str(name), set()).add(when)
    return own


def by_supplier(
    names: pd.Series[str], shop: Shop, calendars: Mapping[str, Calendar]
) -> dict[str, Calendar]:
    """Return the calendar of each supplier that is named.

    Raises
    ------
    UnknownName
        When the shop does not hold the supplier.
    """
    suppliers = shop["suppliers"]
    goes_by = dict(zip(suppliers["supplier"], suppliers["calendar"], strict=True))
    shared = {SHOP, *goes_by.values(), *shop["carriers"]["calendar"].tolist()}
    found = {}
    for name in names.unique():
        if name not in goes_by:
            raise UnknownName(f'supplier "{name}" is not known{nearest(name, goes_by)}')
        own = name in calendars and name not in shared
        found[str(name)] = calendars[name if own else goes_by[name]]
    return found


def taking_orders(shop: Shop, whose: Mapping[str, Calendar]) -> dict[str, Calendar]:
    """Return for each supplier the days on which it takes orders: working days of ``order_days``.

    Parameters
    ----------
    whose
        From ``by_supplier``.

    Raises
    ------
    ValueError
        When ``order_days`` names no day of the week.
    """
    suppliers = shop["suppliers"]
    days = dict(zip(suppliers["supplier"], suppliers["order_days"], strict=True))
    found = {}
    for name, calendar in whose.items():
        flags = zip(calendar.week, parse_week(days.get(name, "")), strict=True)
        week = "".join("1" if one == other == "1" else "0" for one, other in flags)
        # A supplier that never works on its order days is taken to take orders whenever it works.
        found[name] = replace(calendar, week=week) if "1" in week else calendar
    return found


def goods_in_days(shop: Shop) -> int:
    """Return how long goods-in takes [shop working days].

    Raises
    ------
    InputError
        When the setting is not a whole number, zero or more.
    """
    text = shop.setting("goods_in_days").strip()
    if text.isdigit():
        return int(text)
    message = f'goods_in_days is "{text}"; write whole working days, 0 or more'
    raise InputError(message, (Finding(Level.STOP, message, "shop", column="value"),))


def inspection_days(shop: Shop, suppliers: pd.Series[str]) -> NDArray[np.int64]:
    """Return how long the goods of each supplier are in goods-in [shop working days].

    Parameters
    ----------
    shop
        Reads ``suppliers`` (``inspection_days``) and ``shop`` (setting ``goods_in_days``).
    suppliers
        Names; of one that does not say, or is not known, the setting counts.

    Raises
    ------
    InputError
        When the setting is not a whole number, zero or more.
    """
    usual, own = goods_in_days(shop), shop["suppliers"]
    said = own["inspection_days"].notna().to_numpy()
    if not said.any():
        return np.full(len(suppliers), usual)
    told = own[said]
    days = dict(zip(told["supplier"].tolist(), told["inspection_days"].tolist(), strict=True))
    return np.array([days.get(name, usual) for name in suppliers.tolist()], dtype="int64")
