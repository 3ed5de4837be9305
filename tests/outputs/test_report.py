"""The page to look at: everything in it, nothing fetched, nothing run, no wider than the screen."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from xml.etree import ElementTree

import pandas as pd
import pytest
from outputs.browser import CHROMIUM, looked_at

from kitting.outputs.arrivals import arrivals
from kitting.outputs.check import check_document
from kitting.outputs.check_text import do_first
from kitting.outputs.costs import costs
from kitting.outputs.drawing import NARROW, WIDE
from kitting.outputs.joint_graph import beads, joint_graph
from kitting.outputs.order_calendar import leaves, order_days
from kitting.outputs.report import report_page
from kitting.outputs.timeline import timeline
from kitting.plan import beyond, plan, schedule
from kitting.reading.catalogs import catalogs
from kitting.reading.references import references
from kitting.timing.improve import Effort

DAY = date(2026, 3, 9)
BAD = '"><script>alert(1)</script><img src=x onerror=alert(1)>'


class Seen(HTMLParser):
    """Tags, attributes and text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: list[tuple[str, str | None]] = []
        self.text: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes += attrs

    def handle_data(self, data):
        self.text.append(data)


@pytest.fixture(scope="module")
def demo_beyond(demo_plan):
    return beyond(demo_plan)


@pytest.fixture(scope="module")
def page(demo_plan, demo_beyond):
    return report_page(demo_plan, demo_plan.builds, demo_beyond, schedule(demo_plan, Effort(200)))


@pytest.fixture(scope="module")
def documents(demo_plan):
    return {build: check_document(demo_plan, build) for build in demo_plan.builds}


def test_the_page_fetches_and_runs_nothing(page):
    """No script, no picture, no font, no style from elsewhere; links lead within the page."""
    seen = Seen(page)
    assert not seen.tags & {"script", "img", "link", "iframe", "object", "embed", "base", "form"}
    names = {name for name, _ in seen.attributes}
    assert not names & {"src", "srcset", "data", "action", "xlink:href"}
    assert not any(name.startswith("on") for name in names)
    assert all(v and v.startswith("#") for name, v in seen.attributes if name == "href")
    assert not re.search(r"url\(|@import|https?:", page)


def test_each_build_says_whether_it_is_whole_and_what_to_do_first(page, documents):
    """The words of the kit check, the same sentence."""
    text = " ".join(" ".join(Seen(page).text).split())
    assert text.count("Whole: every part is there or comes in time.") == 1
    assert text.count("Not whole.") == 2
    for document in documents.values():
        assert do_first(document) in text


def test_names_are_text_and_nothing_else(demo_shop):
    """Hostile names in every sheet that the page shows: shown as they are, never run."""
    frames = {
        name: demo_shop[name].assign(**{column: demo_shop[name][column] + BAD})
        for name, column in [
            ("parts", "name"), ("stages", "name"), ("joints", "joins"), ("rules", "caution")
        ]
    }  # fmt: skip
    builds = demo_shop["builds"]
    frames["builds"] = builds.assign(customer=builds["customer"] + BAD, note=builds["note"] + BAD)
    shop = demo_shop.replaced(**frames)
    made = plan(shop, DAY, catalogs(), references(shop))
    text = report_page(made, made.builds, beyond(made))
    seen = Seen(text)
    assert not seen.tags & {"script", "img"}
    assert not any(name.startswith("on") for name, _ in seen.attributes)
    assert BAD in "".join(seen.text)


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_drawings_are_well_formed_and_hold_every_stage(demo_plan, documents, width):
    """Each stage with its shape and its bar; nothing is drawn beyond the edges."""
    for build, document in documents.items():
        coming = arrivals(demo_plan, build)
        drawn = ElementTree.fromstring(str(timeline(document, coming, demo_plan.day, width)))
        bars = [e for e in drawn.iter("rect") if e.get("class", "").startswith("bar ")]
        assert [b.get("class") for b in bars] == [f"bar {s['state']}" for s in document["stages"]]
        for bar in bars:
            x, wide = float(bar.get("x")), float(bar.get("width"))
            assert 0 <= x < x + wide <= width
        texts = [e.text or "" for e in drawn.iter("text")]
        assert sum(any(s["stage"] in t for t in texts) for s in document["stages"]) == len(bars)
        graph = ElementTree.fromstring(str(joint_graph(demo_plan, document, width)))
        assert float(graph.get("viewBox").split()[2]) == width


def test_every_joint_is_a_bead_and_its_shape_is_the_worst_that_is_known(demo_plan, documents):
    """Beads are the joints of the build; those with a gap that stops are drawn as empty squares."""
    for build, document in documents.items():
        found = beads(demo_plan, document)
        joints = demo_plan.joints[demo_plan.joints["build"] == build]
        named = {(a, s, b.name) for (a, s), own in found.items() for b in own if b.name}
        columns = (joints[c] for c in ("assembly", "stage", "joint"))
        assert set(zip(*columns, strict=True)) <= named
        stops = {
            (g["assembly"], g["stage"], g["joint"])
            for g in document["gaps"]
            if g["level"] == "stop"
        }
        stopped = {
            (a, s, b.name) for (a, s), own in found.items() for b in own if b.state == "stop"
        }
        assert stopped == stops
        drawn = ElementTree.fromstring(str(joint_graph(demo_plan, document, WIDE)))
        marks = [e.get("class") for e in drawn.iter("g")]
        beaded = sum(len(own) for own in found.values())
        titled = [e for e in drawn.iter("g") if e.find("title") is not None]
        assert len(titled) == beaded
        assert marks.count("mark stop") == 2 * len(stops)  # the bead, and its line below


def test_what_is_to_be_ordered_costs_what_the_plan_says(demo_plan):
    """Together the builds' lines are the plan's buys, each once, to the cent."""
    found = costs(demo_plan, demo_plan.builds)
    assert sum(c.to_order for c in found) == demo_plan.buys["cost"].sum()
    assert sum(c.lines for c in found) == len(demo_plan.buys)
    days = order_days(demo_plan, demo_plan.builds)
    assert sum(d.cents for d in days) == demo_plan.buys["cost"].sum()
    assert sorted(p for d in days for p in d.parts) == sorted(demo_plan.buys["part"])


def test_what_is_on_its_way_costs_its_share(demo_plan, demo_shop):
    """Twelve of the twelve clutch plates that were ordered go into this gearbox."""
    (cost,) = costs(demo_plan, ["B26-01"])
    orders = demo_shop["orders"]
    price = orders.loc[orders["order"] == "SEW-26-008", "price"].sum()
    assert (cost.supplier, cost.to_order, cost.on_way) == ("HARROWMERE", 0, price)


def test_deliveries_carry_the_chance_of_the_plan(demo_plan):
    """The order that decides the gearbox: promised, likely, needed, and 70 %."""
    (one,) = arrivals(demo_plan, "B26-01")
    assert (one.order, one.supplier, one.parts) == ("SEW-26-008", "HARROWMERE", ("PL-1011",))
    assert (f"{one.expected}", f"{one.needed}") == ("2026-03-10", "2026-03-12")
    assert one.likely > one.needed
    assert one.chance == pytest.approx(0.70, abs=0.005)


def test_leaves_of_the_calendar(demo_plan, documents):
    """Whole weeks, Monday first (ISO 8601); what is to be ordered stands on its day."""
    orders = order_days(demo_plan, ["B26-02"])
    found = leaves(demo_plan.day, orders, arrivals(demo_plan, "B26-02"), [documents["B26-02"]])
    assert [name for name, _ in found] == ["March 2026", "April 2026"]
    cells = [c for _, weeks in found for week in weeks for c in week if c.inside]
    assert len(cells) == 31 + 30
    assert all(len(w) == 7 and w[0].day.isoweekday() == 1 for _, weeks in found for w in weeks)
    assert sum(c.order for c in cells) == sum(len(o.parts) for o in orders if o.by)
    assert sum(c.starts for c in cells) == len(documents["B26-02"]["stages"])
    assert [c.day for c in cells if c.today] == [demo_plan.day]


def test_a_build_without_a_start_has_a_page_too(demo_plan, demo_shop, demo_beyond):
    """No day, no bars; the page says what to do about it."""
    builds = demo_shop["builds"].copy()
    builds.loc[builds["build"] == "B26-01", "start"] = None
    shop = demo_shop.replaced(builds=builds)
    made = plan(shop, demo_plan.day, catalogs(), references(shop))
    text = report_page(made, ["B26-01"], beyond(made))
    assert "give the build a start" in text


def test_a_build_that_began_long_ago_is_drawn_up_to_today(demo_plan, demo_shop):
    """Bars and the line of today are apart; what to do first names the late order and no bin."""
    builds = demo_shop["builds"].copy()
    builds.loc[builds["build"] == "B26-01", "start"] = pd.Timestamp("2024-01-08")
    shop = demo_shop.replaced(builds=builds)
    made = plan(shop, demo_plan.day, catalogs(), references(shop))
    document = check_document(made, "B26-01")
    assert do_first(document).startswith("chase order SEW-26-008: it brings clutch friction plate")
    coming = arrivals(made, "B26-01")
    drawn = ElementTree.fromstring(str(timeline(document, coming, made.day, WIDE)))
    (line,) = (e for e in drawn.iter("line") if e.get("class") == "today")
    (tick,) = (e for e in drawn.iter("line") if e.get("class") == "promised")
    bars = [e for e in drawn.iter("rect") if e.get("class", "").startswith("bar ")]
    ends = max(float(b.get("x")) + float(b.get("width")) for b in bars)
    assert ends < WIDE / 2 < float(line.get("x1")) < float(tick.get("x1")) < WIDE


def test_the_same_plan_gives_the_same_page(demo_plan, demo_beyond, page):
    proposed = schedule(demo_plan, Effort(200))
    again = report_page(replace(demo_plan), demo_plan.builds, demo_beyond, proposed)
    assert again == page


@pytest.mark.skipif(not CHROMIUM, reason="chromium is not installed")
@pytest.mark.parametrize("width", [390, 1280])
def test_a_browser_shows_all_of_it_within_the_screen(page, documents, width, tmp_path):
    """On a phone and on a desk: nothing sticks out, every stage is there, one drawing of each."""
    said = looked_at(page, width, tmp_path)
    assert said["wide"] <= width
    assert said["over"] == 0
    assert said["drawn"] == 4 * len(documents)
    for document in documents.values():
        assert document["build"] in said["text"]
    for heading in ("Owed when it leaves the bench", "On the benches", "What decides it"):
        assert heading in said["text"]
