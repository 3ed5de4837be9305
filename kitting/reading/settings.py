"""The sheet shop, calendars, currencies, and units that changed under what the shop holds."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from kitting.errors import UnitError
from kitting.reading.catalogs import read_table
from kitting.reading.near import instead
from kitting.tables.catalogs import LEAD_CLASSES
from kitting.tables.shop import SETTING_DEFAULTS
from kitting.terms.benches import parse_benches, parse_people
from kitting.terms.days import parse_week
from kitting.terms.units import unit
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from kitting.reading.view import View

_CURRENCY = re.compile(r"[A-Z]{3}")
_RATE = re.compile(r"rate [A-Z]{3}")
_PLAIN = ("every weekday", "every day")
_COUNTRY = re.compile(r"([A-Z]{2})(?:-([A-Za-z0-9]{1,3}))?")
_ALSO = ("rate USD",)
_PAPERS = ("A4", "Letter")
_NAMED = ("late_cost_per_day ", "freight steps ")
USES_PART = ("sets", "stand_ins", "lines", "rules", "offers", "stock")


def check_settings(view: View) -> None:
    """Check settings, calendars and currencies, and units against what the shop holds."""
    _check_shop(view)
    if "suppliers" in view.sheets:
        suppliers = view.rows("suppliers")
        view.tell("suppliers", "currency", _each(suppliers["currency"], _currency))
        view.tell("suppliers", "currency", _without_rate(view), Level.WARN)
        view.tell("suppliers", "calendar", _each(suppliers["calendar"], _calendar))
        view.tell("suppliers", "order_days", _each(suppliers["order_days"], _week))
        view.tell("suppliers", "time_zone", _each(suppliers["time_zone"], _zone))
        _kinds(view)
    if view.judged("carriers"):
        view.tell("carriers", "calendar", _each(view.rows("carriers")["calendar"], _calendar))
    _check_closures(view)
    _check_changed_units(view)


def _week(text: str) -> str:
    try:
        parse_week(text)
    except ValueError as fault:
        return str(fault)
    return ""


def _zone(text: str) -> str:
    try:
        ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return f'"{text}" is not a time zone; write one such as Europe/London'
    return ""


def fill_currencies(view: View) -> None:
    """Let suppliers without a currency go by the shop's."""
    if "suppliers" not in view.sheets:
        return
    values = view.sheets["suppliers"].values
    own = setting(view, "currency")
    if _currency(own):
        own = ""
    values["currency"] = [c or own for c in values["currency"]]


def setting(view: View, name: str) -> str:
    """Return a setting as the shop would hold it, or its default."""
    sheet = view.sheets.get("shop")
    if sheet is not None:
        given = dict(zip(sheet.values["setting"], sheet.values["value"], strict=True))
    elif view.known is not None:
        frame = view.known["shop"]
        given = dict(zip(frame["setting"], frame["value"], strict=True))
    else:
        given = {}
    return str(given.get(name) or SETTING_DEFAULTS.get(name, ""))


def _each(texts: Iterable[str], fault_of: Callable[[str], str]) -> dict[str, list[int]]:
    """Group the positions of faulty texts by their fault; blank texts have none."""
    faults: dict[str, list[int]] = {}
    for i, text in enumerate(texts):
        if text and (fault := fault_of(text)):
            faults.setdefault(fault, []).append(i)
    return faults


def _currency(text: str) -> str:
    if _CURRENCY.fullmatch(text):
        return ""
    return f'"{text}" is not a currency; write its three letters, such as EUR'


def _without_rate(view: View) -> dict[str, list[int]]:
    """Group the positions of suppliers whose currency has no rate to the shop's."""
    home = setting(view, "currency")

    def fault_of(text: str) -> str:
        rate = setting(view, f"rate {text}")
        if text == home or _currency(text) or (rate and not _rate(rate)):
            return ""
        return (
            f"no rate is known for {text}, so its offers cannot be compared with others; add the "
            f'setting "rate {text}": what 1 {text} is in {home}'
        )

    return _each(view.rows("suppliers")["currency"], fault_of)


def _calendar(text: str) -> str:
    if " ".join(text.split()).casefold() in _PLAIN:
        return ""
    import holidays

    known = holidays.list_supported_countries(include_aliases=False)
    match = _COUNTRY.fullmatch(text)
    if match and match[1] in known and (match[2] is None or match[2] in known[match[1]]):
        return ""
    names = [*_PLAIN, *known, *(f"{c}-{part}" for c, parts in known.items() for part in parts)]
    return (
        f'calendar "{text}" is not known; write every weekday, every day, or a country such as '
        f"GB-ENG{instead(text, names)}"
    )


def _goods_in(text: str) -> str:
    if text.isascii() and text.isdigit() and int(text) <= 365:
        return ""
    return f'"{text}" is not a number of days; write a whole number, such as 1'


def _confidence(text: str) -> str:
    try:
        if 50 <= Fraction(text.removesuffix("%").strip()) <= Fraction("99.9"):
            return ""
    except (ValueError, ArithmeticError):
        pass
    return f'"{text}" is not a confidence; write percents from 50 to 99.9, such as 90'


def _kinds(view: View) -> None:
    """Tell of kinds of supplier that no class of offers goes by."""
    kinds = view.rows("suppliers")["kind"]
    if not any(kinds):
        return
    classes = read_table(LEAD_CLASSES)
    known = [w.strip() for c in ("class", "also") for text in classes[c] for w in text.split(";")]
    folded = {w.casefold() for w in known if w}
    faults: dict[str, list[int]] = {}
    for i, kind in enumerate(kinds):
        if kind and " ".join(kind.split()).casefold() not in folded:
            message = (
                f'nothing is assumed of the kind "{kind}", so that its offers are judged by their '
                f"stated days; write one of {', '.join(classes['class'])}{instead(kind, known)}"
            )
            faults.setdefault(message, []).append(i)
    view.tell("suppliers", "kind", faults, Level.WARN)


def _percent(text: str) -> str:
    whole = text.removesuffix("%").strip()
    if whole.isascii() and whole.isdigit() and int(whole) <= 100:
        return ""
    return f'"{text}" is not a share; write whole percents from 0 to 100, such as 90'


def _days(text: str) -> str:
    if text.isascii() and text.isdigit() and len(text) < 6:
        return ""
    return f'"{text}" is not a number of days; write whole days, such as 365, or 0 for never'


def _not_below_zero(text: str) -> str:
    try:
        if 0 <= Fraction(text.removesuffix("%").strip()) <= 1_000_000:
            return ""
    except (ValueError, ZeroDivisionError):
        pass
    return f'"{text}" is not a number of zero or more; write it with a point, such as 12.50'


def _millimetres(text: str) -> str:
    try:
        if 0 <= Fraction(text) <= 1_000_000:
            return ""
    except (ValueError, ArithmeticError):
        pass
    return f'"{text}" is not a number of millimetres; write a number, such as 10'


def _paper(text: str) -> str:
    if text in _PAPERS:
        return ""
    return f'"{text}" is not a paper that sheets are laid out for; write {" or ".join(_PAPERS)}'


def _rate(text: str) -> str:
    try:
        if Fraction(text) > 0:
            return ""
    except (ValueError, ArithmeticError):
        pass
    return f'"{text}" is not a rate; write what one of it is worth in the shop\'s currency'


def _benches(text: str) -> str:
    try:
        parse_benches(text)
    except ValueError as fault:
        return str(fault)
    return ""


def _people(text: str) -> str:
    try:
        parse_people(text)
    except ValueError as fault:
        return str(fault)
    return ""


def _check_shop(view: View) -> None:
    if "shop" not in view.sheets:
        return
    rows = view.rows("shop")
    checks = {
        "currency": _currency,
        "calendar": _calendar,
        "goods_in_days": _goods_in,
        "belt_tolerance": _millimetres,
        "confidence": _confidence,
        "benches": _benches,
        "people": _people,
        "time_zone": _zone,
        "paper": _paper,
        "core_return_percent": _percent,
        "count_days": _days,
        **dict.fromkeys(
            ("holding_rate", "hour_rate", "late_cost_per_day", "parcel_cost"), _not_below_zero
        ),
    }
    stops: dict[str, list[int]] = {}
    warns: dict[str, list[int]] = {}
    for i, (name, value) in enumerate(zip(rows["setting"], rows["value"], strict=True)):
        is_rate = _RATE.fullmatch(name) is not None
        known_name = name in SETTING_DEFAULTS or name in _ALSO or name.startswith(_NAMED)
        if not known_name and not is_rate:
            known = (*SETTING_DEFAULTS, *_ALSO)
            message = f'setting "{name}" is not known and does nothing{instead(name, known)}'
            warns.setdefault(message, []).append(i)
        check = _rate if is_rate else checks.get(name)
        if check and value and (fault := check(value)):
            stops.setdefault(fault, []).append(i)
    view.tell("shop", "value", stops)
    view.tell("shop", "setting", warns, Level.WARN)


def _check_closures(view: View) -> None:
    """Tell of closures under a name that nobody goes by."""
    if "closures" not in view.sheets or not view.judged("suppliers", "shop"):
        return
    suppliers = view.frames["suppliers"]
    names = dict.fromkeys(
        ("shop", setting(view, "calendar"), *suppliers["calendar"], *suppliers["supplier"])
    )
    if view.judged("carriers"):
        carriers = view.frames["carriers"]
        names |= dict.fromkeys([*carriers["calendar"], *carriers["carrier"]])
    faults: dict[str, list[int]] = {}
    for i, name in enumerate(view.rows("closures")["calendar"]):
        if name and name not in names:
            message = (
                f'nobody goes by the calendar "{name}"; write shop, a supplier, or a calendar '
                f"that one of them goes by{instead(name, names)}"
            )
            faults.setdefault(message, []).append(i)
    view.tell("closures", "calendar", faults, Level.WARN)


def _check_changed_units(view: View) -> None:
    """Tell of parts that are now measured otherwise than what the shop holds of them."""
    if view.known is None or "parts" not in view.sheets:
        return
    held = view.known["parts"]
    before = dict(zip(held["part"], held["unit"], strict=True))
    used: set[str] = set()
    for name in USES_PART:
        if name not in view.sheets:
            column = "needs_part" if name == "rules" else "part"
            used |= set(view.known[name][column])
    faults: dict[str, list[int]] = {}
    rows = view.rows("parts")
    for i, (part, now) in enumerate(zip(rows["part"], rows["unit"], strict=True)):
        was = before.get(part, now)
        if was != now and part in used and _dimension(was) is not _dimension(now):
            message = (
                f'"{part}" was counted in {was or "piece"} and now is in {now}, while other sheets '
                "of the shop hold quantities of it; read those sheets together with this one"
            )
            faults.setdefault(message, []).append(i)
    view.tell("parts", "unit", faults)


def _dimension(name: str) -> object:
    try:
        return unit(name).dimension
    except UnitError:
        return None
