"""A shop written as sheets and read again is the same shop."""

from __future__ import annotations

import tempfile
from datetime import date
from fractions import Fraction
from pathlib import Path

import pandas as pd
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from kitting.reading import read_sheets, write_sheets
from kitting.tables.shop import SHEETS, Shop, empty_shop
from kitting.terms.units import UNITS, unit
from kitting.terms.words import Cause, Fits, Role, SingleUse, StandInKind

MARKS = "abcXYZ0189 -_./+*'\"=@#&ßéØ漢"
names = st.text(MARKS, min_size=1, max_size=8).map(str.strip).filter(bool)
plain = st.text("abcXY019-_ß", min_size=1, max_size=6)  # no marks that conditions or lists use
free = st.text(MARKS + ",;:!\n%€\t", max_size=12).map(str.strip)
days = st.dates(date(1980, 1, 1), date(2150, 12, 31))
maybe_day = st.none() | days
cents = st.integers(0, 10**9)
base = st.integers(1, 10**12)
small = st.integers(1, 500)
thousandths = st.integers(0, 10**6).map(lambda n: n / 1000)


def of_kind(name: str) -> st.SearchStrategy[str]:
    """Return units that measure the same kind of thing."""
    return st.sampled_from([u.name for u in UNITS if u.dimension is unit(name).dimension])


def frame(name: str, rows: list[dict[str, object]]) -> pd.DataFrame:
    """Make a table of rows; what a row does not say is the column's blank."""
    table = next(t for t in SHEETS if t.name == name)
    blank = {"text": "", "yes or no": False, "real": 0.0, "whole": 0}
    columns = {
        c.name: pd.Series([r.get(c.name, blank.get(c.kind)) for r in rows], dtype=c.dtype)
        for c in table.columns
    }
    return table.check(pd.DataFrame(columns))


def unique(rows: list[dict[str, object]], *key: str) -> list[dict[str, object]]:
    """Keep the first row of each key."""
    return list({tuple(r[k] for k in key): r for r in reversed(rows)}.values())


class Maker:
    """Draws the tables of one shop, so that every name that is used is there."""

    def __init__(self, draw) -> None:
        self.draw = draw
        self.parts = {p: draw(st.sampled_from(UNITS)).name for p in draw(self.some(names, 1))}
        self.assemblies = draw(self.some(names.filter(lambda n: n not in self.parts), 1))
        self.options = {o: draw(self.some(plain, 1)) for o in draw(self.some(plain, 0))}
        self.suppliers = draw(self.some(names, 1))
        self.builds = draw(self.some(names, 1))
        self.stages = {a: draw(self.some(plain, 1)) for a in self.assemblies}
        self.joints = {a: draw(self.some(names, 1)) for a in self.assemblies}

    @staticmethod
    def some(of: st.SearchStrategy[str], least: int) -> st.SearchStrategy[list[str]]:
        return st.lists(of, min_size=least, max_size=4, unique=True)

    def one(self, of) -> str:
        return self.draw(st.sampled_from(sorted(of)))

    def rows(self, make, most: int = 4) -> list[dict[str, object]]:
        return [make() for _ in range(self.draw(st.integers(0, most)))]

    def when(self) -> str:
        if not self.options or self.draw(st.booleans()):
            return ""
        option = self.one(self.options)
        return f"{option}={self.one(self.options[option])}"

    def counted(self, part: str) -> dict[str, object]:
        written = self.draw(of_kind(self.parts[part]))
        return {"part": part, "quantity": self.draw(base), "unit": written}

    def place(self) -> dict[str, object]:
        assembly = self.one(self.assemblies)
        stage, joint = self.one(self.stages[assembly]), self.one(self.joints[assembly])
        return {"assembly": assembly, "stage": stage, "joint": joint}


def bill(m: Maker) -> dict[str, list[dict[str, object]]]:
    """Draw what is built."""
    draw = m.draw
    roles = st.sampled_from(["", *map(str, Role)])

    def line() -> dict[str, object]:
        out = {"role": draw(roles), "when": m.when(), "source": draw(free), "note": draw(free)}
        return m.place() | m.counted(m.one(m.parts)) | out

    def stand_in() -> dict[str, object]:
        ratio = Fraction(draw(small), draw(small))
        pair = {"part": m.one(m.parts), "stand_in": m.one(m.parts)}
        kind = str(draw(st.sampled_from(StandInKind)))
        return pair | {"kind": kind, "take": ratio.numerator, "give": ratio.denominator}

    ordered = [(a, s, i) for a, names_ in m.stages.items() for i, s in enumerate(names_)]
    return {
        "parts": [
            {
                **{"part": p, "unit": u, "name": draw(free), "family": draw(free)},
                **{"maker": draw(free), "hazard": draw(free), "note": draw(free)},
                "single_use": draw(st.sampled_from(["", *map(str, SingleUse)])),
                "shelf_days": draw(st.none() | small),
                "open_days": draw(st.none() | st.integers(0, 9)),
                "customer_supplied": draw(st.booleans()),
            }
            for p, u in m.parts.items()
        ],
        "sets": unique(
            [
                {**r, "fits": str(draw(st.sampled_from(Fits))), "note": draw(free)}
                for r in m.rows(
                    lambda: {"set": draw(st.just(min(m.parts)))} | m.counted(max(m.parts))
                )
                if r["set"] != r["part"]
            ],
            *("set", "part", "fits"),
        ),
        "stand_ins": unique(m.rows(stand_in), "part", "stand_in"),
        "stages": [
            {
                **{"assembly": a, "stage": s, "name": draw(free), "place": draw(free)},
                "after": "; ".join(m.stages[a][: min(i, 1)]),
                "work_days": draw(thousandths),
                "deferred": draw(st.booleans()),
            }
            for a, s, i in ordered
        ],
        "joints": [
            {
                **{"assembly": a, "stage": m.one(m.stages[a]), "joint": j, "kind": draw(names)},
                **{"joins": draw(free), "count": draw(small), "disturbances": draw(small)},
                "when": m.when(),
            }
            for a, found in m.joints.items()
            for j in found
        ],
        "lines": [{**r, "line": i} for i, r in enumerate(m.rows(line), 1)],
        "options": [
            {
                **{"assembly": m.one(m.assemblies), "option": o, "choices": "; ".join(choices)},
                "default": draw(st.sampled_from(["", *choices])),
            }
            for o, choices in m.options.items()
        ],
        "rules": [
            {
                **m.place(),
                **{"rule": i, "when": m.when(), "needs_part": p, "caution": draw(free)},
                **{"quantity": draw(base) if p else None, "source": draw(free)},
            }
            for i, p in enumerate(draw(st.lists(st.sampled_from(["", *m.parts]), max_size=3)), 1)
        ],
    }


def trade(m: Maker) -> dict[str, list[dict[str, object]]]:
    """Draw who sells what, what is held, and what happened."""
    draw = m.draw

    def offer() -> dict[str, object]:
        got = m.counted(m.one(m.parts))
        return {
            **{"supplier": m.one(m.suppliers), "part": got["part"], "unit": got["unit"]},
            **{"pack": got["quantity"], "per": draw(st.just(got["quantity"]) | base)},
            **{"least_packs": draw(small), "from_packs": draw(small)},
            **{"price": draw(st.none() | cents), "lead_days": draw(st.none() | small)},
            **{
                "gtin": draw(st.sampled_from(["", "9520001000010"])),
                "valid_to": draw(maybe_day),
                "note": draw(free),
            },
            "supplier_part": draw(names | st.just("")),
        }

    def lot() -> dict[str, object]:
        held_for = draw(st.sampled_from(["", *m.builds]))
        marks = {"lot": draw(names | st.just("")), "place": draw(names), "held_for": held_for}
        marks["owner"] = draw(names | st.just(""))
        return m.counted(m.one(m.parts)) | marks | {"use_by": draw(maybe_day)}

    def order() -> dict[str, object]:
        return {
            **m.counted(m.one(m.parts)),
            **{"order": draw(names), "line": draw(small), "supplier": m.one(m.suppliers)},
            **{"packs": draw(st.none() | small), "price": draw(st.none() | cents)},
            **{"ordered": draw(days), "promised": draw(maybe_day), "cancelled": draw(maybe_day)},
            "build": draw(st.sampled_from(["", *m.builds])),
        }

    def slip() -> dict[str, object]:
        said = {"build": m.one(m.builds), "note": draw(free)}
        lost = {"hours_lost": draw(thousandths), "money_lost": draw(cents)}
        cause = {"cause": str(draw(st.sampled_from(Cause))), "noted": draw(maybe_day)}
        return m.counted(m.one(m.parts)) | said | lost | cause

    return {
        "suppliers": [
            {
                **{"supplier": s, "name": draw(free), "address": draw(free), "note": draw(free)},
                **{"currency": draw(st.sampled_from(["EUR", "GBP"])), "account": draw(names)},
                **{"calendar": draw(st.sampled_from(["", "every day", "GB-ENG"]))},
                **{
                    "cut_off": draw(st.sampled_from(["", "09:05", "23:59"])),
                    "freight": draw(cents),
                },
                **{"free_freight_above": draw(st.none() | cents), "least_order": draw(cents)},
                "hazard_charge": draw(cents),
            }
            for s in m.suppliers
        ],
        "offers": [{**r, "offer": i} for i, r in enumerate(m.rows(offer), 7)],
        "stock": unique(m.rows(lot), "part", "lot", "place", "held_for", "owner"),
        "builds": [
            {
                **{"build": b, "assembly": m.one(m.assemblies), "start": draw(days)},
                **{"priority": draw(small), "customer": draw(free), "use": draw(free)},
                "note": draw(free),
            }
            for b in m.builds
        ],
        "orders": unique(m.rows(order), "order", "line"),
        "forgotten": [{**r, "entry": i} for i, r in enumerate(m.rows(slip), 3)],
        "closures": unique(
            m.rows(lambda: {"calendar": "shop", "day": draw(days), "note": draw(free)}),
            *("calendar", "day"),
        ),
        "shop": [{"setting": "name", "value": draw(free)}, {"setting": "currency", "value": "EUR"}],
    }


@st.composite
def shops(draw) -> Shop:
    """Draw a shop whose tables agree."""
    maker = Maker(draw)
    rows = bill(maker) | trade(maker)
    return empty_shop().replaced(**{name: frame(name, found) for name, found in rows.items()})


# A shop is too large to shrink in reasonable time; the findings and frames say enough.
@settings(
    max_examples=25,
    deadline=None,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=(HealthCheck.too_slow, HealthCheck.data_too_large),
)
@given(shops())
def test_written_and_read_is_the_same(shop: Shop) -> None:
    """Nothing stops the reading, and every table comes back row for row."""
    with tempfile.TemporaryDirectory() as folder:
        write_sheets(shop, Path(folder))
        reading = read_sheets(Path(folder))
    assert [str(f) for f in reading.findings if f.level == "stop"] == []
    for table in SHEETS:
        pd.testing.assert_frame_equal(reading.frames[table.name], shop[table.name], obj=table.name)
