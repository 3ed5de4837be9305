"""The sheet shop, calendars, currencies and builds' days."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("goods_in_days,-1", 'stop shop row 2, value: "-1" is not a number of days'),
        ("goods_in_days,one", "is not a number of days"),
        ("currency,Euro", '"Euro" is not a currency; write its three letters, such as EUR'),
        ("calendar,GB-ENGL", 'calendar "GB-ENGL" is not known'),
        ("rate USD,0", '"0" is not a rate'),
        ("benches,bay 1 = none", 'benches is "bay 1 = none"; write the places with ; between'),
        ("people,two", 'people is "two"; write how many work at once, such as 2'),
        ("callendar,DE", "warn shop row 2, setting: setting"),
    ],
)
def test_settings_that_cannot_be(told, rows: str, says: str) -> None:
    """Each known setting is checked; an unknown one does nothing and is told."""
    (finding,) = told(shop=f"setting,value\n{rows}\n")
    assert says in finding


@pytest.mark.parametrize(
    "rows",
    [
        "calendar,every day",
        "calendar,GB-ENG",
        "calendar,DE",
        "rate USD,0.92",
        "goods_in_days,0",
        "benches,bay 1; bench = 3",
        "people,2",
    ],
)
def test_settings(told, rows: str) -> None:
    """Calendars are plain names or countries; a rate is a number; no goods-in day is fine."""
    assert told(shop=f"setting,value\n{rows}\nname,Any Works\n") == []


def test_suppliers_go_by_the_shops_currency(read) -> None:
    """A blank currency is the shop's; another one is kept."""
    frames = read(
        shop="setting,value\ncurrency,GBP\n",
        suppliers="supplier,currency\nAcre,\nNord,SEK\n",
    ).frames
    assert frames["suppliers"]["currency"].tolist() == ["GBP", "SEK"]


def test_a_currency_without_a_rate_is_told(told) -> None:
    """Offers in it cannot be compared; the shop's own currency needs none."""
    suppliers = "supplier,currency\nAcre,GBP\nNord,SEK\nSued,\n"
    (finding,) = told(shop="setting,value\ncurrency,GBP\n", suppliers=suppliers)
    assert finding.startswith("warn suppliers row 3, currency: no rate is known for SEK")
    assert 'add the setting "rate SEK": what 1 SEK is in GBP' in finding
    assert not told(shop="setting,value\ncurrency,GBP\nrate SEK,0.08\n", suppliers=suppliers)


def test_settings_of_one_supplier_or_build_are_known(told) -> None:
    """Freight steps of a supplier, the cost of a day of a build, the share of old parts."""
    rows = "freight steps Acre,0=5; 20=0\nlate_cost_per_day B1,300\ncore_return_percent,90"
    assert told(shop=f"setting,value\n{rows}\n") == []
    (finding,) = told(shop="setting,value\ncore_return_percent,most\n")
    assert '"most" is not a share; write whole percents from 0 to 100' in finding


def test_a_suppliers_calendar_is_checked(told) -> None:
    """A country that there is not is told with those that are near."""
    (finding,) = told(suppliers="supplier,calendar\nAcre,GB-EN\n")
    assert finding.startswith('stop suppliers row 2, calendar: calendar "GB-EN" is not known')
    assert "GB-ENG" in finding


def test_closures_that_nobody_goes_by(read) -> None:
    """Days under another name close nobody."""
    reading = read(
        suppliers="supplier,calendar\nAcre,GB-ENG\n",
        closures="calendar,day\nshop,2026-12-24\nAcre,2026-12-24\nGB-ENG,2026-12-24\n"
        "acre,2026-12-24\n",
    )
    assert reading.ok
    (finding,) = reading.findings
    assert finding.row == 5
    assert "nearest: Acre" in finding.message


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("B1,Eng,,", "start: the cell is blank; an open build needs the first day on the bench"),
        ("B1,Eng,2026-03-09,2026-03-01", "finished: the build was finished before it started"),
    ],
)
def test_days_of_builds(told, row: str, says: str) -> None:
    """An open build has a start; a finished one ends after it."""
    (finding,) = told(builds=f"build,assembly,start,finished\n{row}\n")
    assert says in finding
    assert told(builds="build,assembly,start,finished\nB1,Eng,,2026-03-01\n") == []


def test_the_tolerance_of_belts_is_a_length(told) -> None:
    """Millimetres, with decimals; a word stops the reading."""
    assert told(shop="setting,value\nbelt_tolerance,7.5\n") == []
    (finding,) = told(shop="setting,value\nbelt_tolerance,a little\n")
    assert finding.startswith("stop shop row 2, value: ")
    assert "is not a number of millimetres" in finding


def test_settings_that_do_something_are_known(told) -> None:
    """Paper, contact and where goods go are no riddles; a paper without a layout stops."""
    assert told(shop="setting,value\npaper,Letter\ncontact,Jo\nship_to,Quay 2\n") == []
    (finding,) = told(shop="setting,value\npaper,letter\n")
    assert finding.startswith("stop shop row 2, value: ")
    assert "write A4 or Letter" in finding
