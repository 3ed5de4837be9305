"""Whose working days are which."""

from __future__ import annotations

import subprocess
import sys
from datetime import date

import holidays
import pytest

from kitting.errors import InputError, UnknownName
from kitting.timing import calendars, known_calendar, works
from kitting.timing.calendars import by_supplier, goods_in_days

DAY = date(2026, 3, 9)


def test_every_calendar_that_is_named_is_made_and_the_shop_has_its_own(shop_of):
    shop = shop_of(
        {"calendar": "GB-ENG"},
        suppliers=[
            {"supplier": "Near", "calendar": "GB-ENG"},
            {"supplier": "Far", "calendar": "US"},
            {"supplier": "Night", "calendar": "every day"},
            {"supplier": "Plain"},
        ],
    )
    made = calendars(shop, DAY)
    assert set(made) == {"shop", "GB-ENG", "US", "every day", ""}
    good_friday = ["2026-04-03"]
    assert {name: bool(works(good_friday, c)[0]) for name, c in made.items()} == {
        "shop": False,
        "GB-ENG": False,
        "US": True,
        "every day": True,
        "": True,
    }
    assert made["shop"].first <= date(2025, 3, 9)
    assert made["shop"].last >= date(2029, 3, 9)


def test_closing_days_hold_for_whom_they_name(shop_of):
    """Under shop only the shop, under a supplier only it, under a calendar all who go by it."""
    shop = shop_of(
        {"calendar": "every weekday"},
        suppliers=[{"supplier": s, "calendar": "every weekday"} for s in ("Ann", "Bert")],
        closures=[
            {"calendar": "shop", "day": "2026-03-10"},
            {"calendar": "Bert", "day": "2026-03-11"},
            {"calendar": "every weekday", "day": "2026-03-12"},
            {"calendar": "every weekday", "day": "1999-03-12"},
        ],
    )
    made = calendars(shop, DAY)
    whose = by_supplier(shop["suppliers"]["supplier"], shop, made)
    week = ["2026-03-09", "2026-03-10", "2026-03-11", "2026-03-12", "2026-03-13"]
    assert works(week, made["shop"]).tolist() == [True, False, True, False, True]
    assert works(week, whose["Ann"]).tolist() == [True, True, True, False, True]
    assert works(week, whose["Bert"]).tolist() == [True, True, False, False, True]


def test_a_country_with_another_weekend_keeps_it(shop_of):
    """In Israel Sunday is worked and Friday is not."""
    made = calendars(shop_of({"calendar": "IL"}), DAY)["shop"]
    assert works(["2026-03-15", "2026-03-13"], made).tolist() == [True, False]


@pytest.mark.parametrize(
    ("name", "near"), [("GB-ENGL", "GB-ENG"), ("every weekdays", "every weekday"), ("gb-sct", "GB")]
)
def test_an_unknown_calendar_is_refused_with_the_nearest(shop_of, name, near):
    with pytest.raises(UnknownName, match=rf'"{name}" is not known.*nearest: .*{near}'):
        calendars(shop_of({"calendar": name}), DAY)
    assert not known_calendar(name)


@pytest.mark.parametrize("name", ["", "Every  Weekday", "every day", "US", "DE-BW", "GB-ENG"])
def test_known_calendars_are_known(name):
    assert known_calendar(name)


def test_the_span_reaches_old_builds_and_far_promises_but_not_typing_errors(shop_of):
    """A build forgotten six years ago and a promise in five years are spanned; 1926 is not."""
    shop = shop_of(
        builds=[{"build": "A", "start": "2020-01-07"}, {"build": "B", "start": "1926-01-07"}],
        orders=[{"order": "1", "line": 1, "promised": "2031-02-03"}],
    )
    made = calendars(shop, DAY)["shop"]
    assert made.first == date(2019, 1, 1)
    assert made.last == date(2033, 12, 31)


def test_plain_calendars_do_not_load_the_holidays_library():
    """Loading it takes a tenth of a second that a check need not spend."""
    code = (
        "import sys; from datetime import date; from kitting import timing;"
        "from kitting.tables.shop import empty_shop;"
        "timing.calendars(empty_shop(), date(2026, 3, 9));"
        "sys.exit(any(m in sys.modules for m in ('holidays', 'scipy', 'networkx')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_one_country_does_not_load_all_the_others():
    """The library's own lookup would, which takes a tenth of a second."""
    code = (
        "import sys; from kitting.timing import known_calendar; assert known_calendar('GB-ENG');"
        "sys.exit('holidays.countries.germany' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    "name", ["GB-ENG", "US-CA", "DE-BW", "FR", "AU-WA", "PR", "HK", "JE", "IR"]
)
def test_a_country_loaded_alone_is_the_librarys(shop_of, name):
    """Territories and mixed calendars too."""
    country, _, part = name.partition("-")
    days = holidays.country_holidays(country, part or None, years=range(2022, 2030))
    made = calendars(shop_of({"calendar": name}), DAY)["shop"]
    assert made.closed == tuple(sorted(d for d in days if d.weekday() not in days.weekend))
    assert {n for n, flag in enumerate(made.week) if flag == "0"} == days.weekend


def test_an_unknown_supplier_is_refused_with_the_nearest(shop_of):
    shop = shop_of(suppliers=[{"supplier": "Harbour"}], offers=[{"offer": 1, "supplier": "Harbor"}])
    with pytest.raises(UnknownName, match='"Harbor" is not known; nearest: Harbour'):
        by_supplier(shop["offers"]["supplier"], shop, calendars(shop, DAY))


def test_goods_in_days_must_be_whole(shop_of):
    assert goods_in_days(shop_of()) == 1
    with pytest.raises(InputError, match=r'goods_in_days is "1\.5"') as raised:
        goods_in_days(shop_of({"goods_in_days": "1.5"}))
    assert raised.value.findings[0].where() == "shop, value"
