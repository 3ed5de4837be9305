"""Removed emission controls: a stop on the road, a caution in any case, silence where kept."""

from __future__ import annotations

import csv

import pytest
from bill.sheets import shop, table

from kitting.bill import explode, open_builds
from kitting.bill.advice import advice
from kitting.reading.references import references
from kitting.shipped import shipped
from kitting.tables.flow import CAUTIONS
from kitting.tables.references import References

REFS = references()


def told(option: str, value: str, use: str = "road", default: str = "fitted"):
    """Return the cautions of a build that chooses one value."""
    of = shop(
        lines="assembly | stage | part\nENG | close | NUT",
        options=f"assembly | option | choices | default\nENG | {option} | | {default}",
        builds=f"build | assembly | options | use\nB1 | ENG | {option}={value} | {use}",
    )
    _, cautions = advice(of, explode(of, open_builds(of)), references(of))
    return CAUTIONS.check(cautions)


@pytest.mark.parametrize(
    ("option", "value", "device"),
    [
        ("catalyst", "removed", "catalyst"),
        ("catalyst", "no", "catalyst"),
        ("Catalytic converter", "None", "catalyst"),
        ("egr", "blanked", "exhaust gas recirculation"),
        ("egr_delete", "yes", "exhaust gas recirculation"),
        ("egr-valve", "off", "exhaust gas recirculation"),
        ("dpf", "deleted", "particulate filter"),
        ("particulate filter", "gutted", "particulate filter"),
        ("evap", "off", "evaporative emission control"),
        ("oxygen sensors", "off", "oxygen sensor"),
        ("exhaust", "no catalyst", "catalyst"),
        ("exhaust", "straight pipe with DPF removed", "particulate filter"),
        ("decat", "yes", "catalyst"),
        ("emissions", "deleted", "emission controls"),
    ],
)
def test_a_removal_stops_the_build(option: str, value: str, device: str) -> None:
    """Device and use are named, and the law with its source is printed."""
    assert table(told(option, value), "build", "subject", "level") == [("B1", option, "stop")]
    [(message, source)] = table(told(option, value), "message", "source")
    assert f"{option}={value} leaves off the {device}, and the build is for road" in message
    assert "Clean Air Act 203(a)(3)" in message
    assert "other countries differ; this is not legal advice" in message
    assert "300-F-20001" in source


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("catalyst", "fitted"),
        ("catalyst", "not removed"),
        ("catalyst", "new"),
        ("egr_delete", "no"),
        ("egr_delete", "-"),
        ("exhaust", "no change"),
        ("exhaust", "new catalyst"),
        ("cooling", "none"),
        ("turbo", "removed"),
        ("fan", "off"),
        ("education", "none"),
    ],
)
def test_what_is_kept_or_no_such_device_is_silent(option: str, value: str) -> None:
    """Words inside other words, denials and other devices say nothing."""
    assert told(option, value).empty


@pytest.mark.parametrize(
    ("use", "level"),
    [
        ("off-road", "warn"),
        ("Off road only", "warn"),
        ("competition", "warn"),
        ("race", "warn"),
        ("circuit racing", "warn"),
        ("road", "stop"),
        ("marine", "stop"),
        ("", "stop"),
        ("road, off-road", "stop"),
        ("street race car", "stop"),
        ("not for competition", "stop"),
        ("terrace heating", "stop"),
    ],
)
def test_the_use_decides(use: str, level: str) -> None:
    """Off-road, competition or race alone let the work go on, and the caution is printed still."""
    [(found, message)] = table(told("catalyst", "removed", use), "level", "message")
    assert found == level
    assert "not legal advice" in message
    assert ("exempts nobody" in message) is (level == "warn")
    assert ("nothing says what the build is for" in message) is (not use)


def test_what_an_assembly_lacks_by_default_was_not_taken_off() -> None:
    """A plain no that is the default is a note; a removal by default stops all the same."""
    assert told("catalyst", "no", default="no")["level"].tolist() == ["note"]
    assert told("catalyst", "removed", default="removed")["level"].tolist() == ["stop"]


def test_the_default_of_another_assembly_excuses_nothing() -> None:
    """Where defaults differ, a plain no is a removal."""
    of = shop(
        lines="assembly | stage | part\nENG | close | NUT\nOLD | close | NUT",
        options="assembly | option | choices | default\nENG | egr | yes; no | yes\n"
        "OLD | egr | yes; no | no",
        builds="build | assembly | options | use\nB1 | ENG | egr=no | road",
    )
    _, cautions = advice(of, explode(of, open_builds(of)), REFS)
    assert cautions["level"].tolist() == ["stop"]


def test_it_cannot_be_switched_off_and_needs_its_catalog() -> None:
    """The setting for checks leaves it on; without the catalog nothing is known."""
    of = shop(
        lines="assembly | stage | part\nENG | close | NUT",
        options="assembly | option | choices | default\nENG | egr | yes; no | yes",
        builds="build | assembly | options\nB1 | ENG | egr=no",
        shop="setting | value\nchecks_off | emissions; fluids",
    )
    bills = explode(of, open_builds(of))
    assert advice(of, bills, REFS)[1]["level"].tolist() == ["stop"]
    assert advice(of, bills, References({}))[1].empty


def test_every_row_names_its_source() -> None:
    """The law is on the caution and on every device, with its bounds."""
    text = (shipped("catalogs") / "emissions.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert [r["means"] for r in rows].count("caution") == 1
    for row in rows:
        assert row["source"]
        if row["means"] in ("caution", "device", "removal", "lack"):
            assert "300-F-20001" in row["source"]
            assert "other countries differ; not legal advice" in row["source"]
