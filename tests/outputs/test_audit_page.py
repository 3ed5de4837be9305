"""The audit's page: as many discs as parts were forgotten, nothing run, no wider than a screen."""

from __future__ import annotations

from datetime import date
from xml.etree import ElementTree

import pytest
from outputs.browser import CHROMIUM, looked_at

from kitting.outputs.audit_page import audit_page, over_builds, ranking
from kitting.outputs.drawing import NARROW, WIDE

BAD = '"><script>alert(1)</script>'


def row(name, events, running, rate=0.5, label=""):
    return {"name": name, "label": label, "events": events, "running": running, "builds": 1,
            "could": 2, "rate": rate, "low": 0.1, "high": 0.9}  # fmt: skip


def trend(*events):
    return [
        {"build": f"B{n}", "finished": date(2025, 1 + n % 12, 1), "events": e, "recent": 1.5}
        for n, e in enumerate(events)
    ]


def document(name=BAD, events=(2, 0, 3)):
    total = {"events": sum(events), "builds": 2, "could": 3, "hours_lost": 4.5, "money_lost": 1250}
    missed = {"part": name, "build": name, "joint": "", "stage": name, "cause": "late",
              "caught": False, "how": "", "reason": name}  # fmt: skip
    change = {"proposal": 1, "message": name, "evidence": name, "avoided": 0.1, "money_saved": 100,
              "cost": 0}  # fmt: skip
    return {
        "currency": "GBP",
        "all": [total],
        "trend": trend(*events),
        "progress": {"verdict": "better", "factor": 0.5, "low": 0.2, "high": 0.9},
        **{f"by_{n}": [row(name, 3, 0.6, label=name)] for n in ("cause", "part", "joint")},
        "caught": [missed, {**missed, "caught": True, "how": "bill line"}],
        "changes": {"proposals": [change], "back_test": {"judged": 0}},
        "suggestions": [{"build": name, "reason": name}],
        "findings": [{"level": "warn", "where": name, "message": name}],
    }


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_a_disc_for_each_forgotten_part(width):
    """As many as were forgotten on the last forty builds, all inside the drawing."""
    events = [n % 4 for n in range(60)]
    root = ElementTree.fromstring(over_builds(trend(*events), width))
    discs = list(root.iter("circle"))
    assert len(discs) == sum(events[-40:])
    assert all(0 < float(d.get("cx")) < width and float(d.get("cy")) > 0 for d in discs)


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_bars_are_as_long_as_the_counts_and_rates_lie_on_their_scale(width):
    """Half as often is half as long; a share of builds that is not known is not drawn."""
    rows = [row("a", 4, 0.5, rate=0.0), row("b", 2, 0.75, rate=1.0), row("c", 2, 1.0, rate=None)]
    root = ElementTree.fromstring(ranking(rows, width))
    bars = [float(r.get("width")) for r in root.iter("rect")]
    assert bars[1:] == [pytest.approx(bars[0] / 2)] * 2
    none, every = (float(c.get("cx")) for c in root.iter("circle"))
    ticks = [float(line.get("x1")) for line in root.iter("line") if line.get("class") == "tick"]
    assert (none, every) == (min(ticks), max(ticks))


def test_nothing_to_draw():
    assert over_builds([], WIDE) is None
    assert ranking([], WIDE) is None


def test_what_people_write_stays_text():
    """Names and notes are escaped wherever they stand."""
    page = audit_page(document(), BAD, date(2026, 3, 9))
    assert "<script" not in page
    assert page.count("&lt;script") > 10


def test_a_shop_that_forgot_nothing():
    nothing = {**document(), "all": [], "trend": [], "progress": None, "caught": [],
               "suggestions": [], "findings": []}  # fmt: skip
    nothing["changes"] = {"proposals": [], "back_test": {"judged": 0}}
    assert "No forgotten part is noted yet" in audit_page(nothing, "", date(2026, 3, 9))


@pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine")
@pytest.mark.parametrize("width", [390, 1280])
def test_the_page_fits_a_phone_and_a_desk(width, tmp_path):
    """Nothing sticks out to the right; every drawing shows once."""
    page = audit_page(document("gasket of the sea-water pump", (3,) * 30), "Shop", date(2026, 3, 9))
    said = looked_at(page, width, tmp_path)
    assert (said["wide"], said["over"]) == (width, 0)
    assert said["drawn"] == 4
