"""Formulas of consumables, against worked examples of the trade."""

from __future__ import annotations

import math

import pytest

from kitting.bill.ways import Factor, Row, amount, bead, factors, told
from kitting.reading.references import references
from kitting.terms.units import unit
from kitting.terms.words import Way

NAN = math.nan
PITCHES = {"M8": 1.25}


@pytest.fixture(scope="module")
def by_way() -> dict[str, Factor]:
    return factors(references()["ways"])


def row(way: str, **given) -> Row:
    blank = {"count": 1, "length": NAN, "diameter": NAN, "thread": "", "quantity": 0, "share": NAN}
    return Row(way, **{**blank, **given})


@pytest.mark.parametrize(
    ("diameter", "per_metre"),
    [(1.5, 1.77), (2, 3.14), (2.5, 4.91), (3, 7.07), (4, 12.6), (5, 19.6), (6, 28.3)],
)
def test_bead_for_a_metre(diameter: float, per_metre: float) -> None:
    """Millilitres in a metre of round bead."""
    assert bead(diameter, 1000) / 1000 == pytest.approx(per_metre, rel=0.003)


def test_sump_rail(by_way) -> None:
    """A rail of 1.6 m with a 3 mm bead: 11.3 ml, with 15 % waste 13 ml."""
    rail = row("bead", length=1600.0, diameter=3.0)
    assert bead(3, 1600) == pytest.approx(11_310, abs=5)
    assert amount(rail, by_way, {}, unit("ml")) == pytest.approx(13_006, abs=5)


def test_t_joints(by_way) -> None:
    """Two dabs of 56 mm at 5 mm: 2.2 ml before waste."""
    dabs = row("bead", count=2, length=56.0, diameter=5.0)
    assert amount(dabs, by_way, {}, unit("ml")) == pytest.approx(2_199 * 1.15, abs=2)


def test_quarter_inch_joint() -> None:
    """A 10.1 fl oz cartridge fills 30.9 ft of round quarter-inch bead, not 50 as some say."""
    cartridge = 10.1 * 29_573.529_562_5
    assert cartridge / bead(6.35, 304.8) == pytest.approx(30.9, abs=0.1)


def test_a_mass_goes_by_density(by_way) -> None:
    """A part counted in grams gets volume times density: the same grease, weighed."""
    lip = row("lip", diameter=80.0)
    volume = amount(lip, by_way, {}, unit("ml"))
    assert volume == pytest.approx(math.pi * 80 * 2)
    assert amount(lip, by_way, {}, unit("g")) == pytest.approx(volume * 0.9)


def test_threads_are_doubled(by_way) -> None:
    """Eight M8: twice the void, about 0.07 ml each."""
    one = amount(row("thread", thread="M8"), by_way, PITCHES, unit("ml"))
    assert one == pytest.approx(70, rel=0.1)
    eight = row("thread", thread="M8", count=8)
    assert amount(eight, by_way, PITCHES, unit("ml")) == pytest.approx(8 * one)


def test_a_fine_thread_needs_less(by_way) -> None:
    """M12x1.25 has a shallower profile than M12x1.5, and needs no entry in the catalog."""
    fine = amount(row("thread", thread="M12x1.25"), by_way, {}, unit("ml"))
    assert fine < amount(row("thread", thread="M12x1.5"), by_way, {}, unit("ml"))


@pytest.mark.parametrize(
    ("given", "base"),
    [
        ({"way": "fill", "quantity": 9_000_000}, 9_000_000),
        ({"way": "fill", "quantity": 9_000_000, "count": 3}, 27_000_000),
        ({"way": "mix", "quantity": 12_000_000, "share": 0.5}, 6_000_000),
        ({"way": "clean", "length": 1000.0}, 60_000),
        ({"way": "film", "length": 30.0, "diameter": 75.0}, math.pi * 75 * 30 * 0.5),
    ],
)
def test_other_ways(by_way, given, base: float) -> None:
    """Fills count, mixes take their share, edges and films go by length."""
    assert amount(row(**given), by_way, {}, unit("l")) == pytest.approx(base)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"way": "bead", "length": 10.0}, "bead needs the diameter"),
        ({"way": "bead", "length": 0.0, "diameter": 3.0}, "bead needs the length"),
        ({"way": "mix", "quantity": 5}, "mix needs the share"),
        ({"way": "fill"}, "fill needs the quantity"),
        ({"way": "thread", "thread": "M9"}, "has no pitch in the catalog"),
        ({"way": "thread", "thread": "wide"}, "has no pitch in the catalog"),
        ({"way": "smear", "length": 3.0}, "is not a way; write one of bead"),
    ],
)
def test_what_is_lacking_is_said(by_way, given, message: str) -> None:
    """A row that cannot be computed says what to write."""
    with pytest.raises(ValueError, match=message):
        amount(row(**given), by_way, PITCHES, unit("ml"))


@pytest.mark.parametrize("counted", ["piece", "mm", "m2"])
def test_only_volumes_and_masses(by_way, counted: str) -> None:
    """A tube that is counted cannot be measured out."""
    with pytest.raises(ValueError, match=f"counted in {counted}"):
        amount(row("bead", length=1.0, diameter=1.0), by_way, {}, unit(counted))


def test_every_way_has_its_factor(by_way) -> None:
    """The catalog holds each way once, with what it is worth."""
    assert set(by_way) == set(Way)
    assert all(f.mark and f.source for f in by_way.values())


def test_rows_in_words() -> None:
    """What a row is, as a message says it."""
    assert told(row("bead", length=1600.0, diameter=3.0), unit("ml")) == "bead 3 mm x 1600 mm"
    assert told(row("thread", thread="M8", count=8), unit("ml")) == "8 x M8"
    assert told(row("mix", quantity=12_000_000, share=0.5), unit("l")) == "12 l at 50 %"
    assert told(row("lip", diameter=80.0, count=2), unit("g")) == "2 x lip on 80 mm"
