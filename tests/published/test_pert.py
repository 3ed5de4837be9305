"""Earliest and latest days, slack, critical path and chance against published networks.

Sources are named in the file: Heizer & Render; public lecture slides; Taylor's solutions.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from kitting.tables.flow import BUILT_IN
from kitting.tables.shop import STAGES, empty_shop
from kitting.timing import calendars
from kitting.timing import network as networks
from kitting.timing.benches import schedule
from kitting.timing.improve import Effort
from kitting.timing.network import Step, place
from kitting.timing.three_points import chance_by, expected, variance

FILE = json.loads((Path(__file__).parent / "data" / "pert_cpm_examples.json").read_text())
NETWORKS = {
    e["id"]: e
    for e in FILE["pert_examples"]
    if all("predecessors" in a for a in e["activities"].values())
}
ARROWS = FILE["cpm_example"]


def mean(activity):
    """Mean of the three-point estimate."""
    return expected(activity["optimistic"], activity["most_likely"], activity["pessimistic"])


def steps_of(network):
    """Return the steps of a published network with its means and variances."""
    return [
        Step(
            "job",
            stage,
            after=tuple(a.get("predecessors", ())),
            work_days=mean(a),
            variance=variance(a["optimistic"], a["pessimistic"]),
        )
        for stage, a in network["activities"].items()
    ]


def placed(steps):
    """Start and end of every step of one assembly, by stage."""
    return {p.step.stage: (p.start, p.end) for p in place("job", (), {"job": steps})}


@pytest.mark.parametrize("name", NETWORKS)
def test_networks_of_activities(name):
    """Every published and recomputed start, end and the whole duration come out."""
    network = NETWORKS[name]
    times = placed(steps_of(network))
    again = network["recomputed"]
    assert {s: t[0] for s, t in times.items()} == pytest.approx(again["ES"], abs=1e-4)
    assert {s: t[1] for s, t in times.items()} == pytest.approx(again["EF"], abs=1e-4)
    printed = network["published"]
    for stage, start in printed.get("ES", {}).items():
        assert times[stage][0] == pytest.approx(start, abs=0.01)
    for stage, end in printed.get("EF", {}).items():
        assert times[stage][1] == pytest.approx(end, abs=0.01)
    whole = printed.get("expected_duration", again["expected_duration"])
    assert max(end for _, end in times.values()) == pytest.approx(whole, abs=1e-4)


def test_three_networks_are_complete_in_the_file():
    """The file's fourth example gives no predecessors and is left out."""
    assert len(NETWORKS) == 3


def test_network_of_arrows():
    """An arrow follows the arrows that end where it begins; 20 in all."""
    arrows = {row[0]: dict(zip(ARROWS["columns"], row, strict=True)) for row in ARROWS["rows"]}
    times = placed(
        [
            Step(
                "job",
                name,
                after=tuple(o for o in arrows if o.split("-")[1] == name.split("-")[0]),
                work_days=row["time"],
            )
            for name, row in arrows.items()
        ]
    )
    assert times == {name: (row["ES"], row["EF"]) for name, row in arrows.items()}
    assert max(end for _, end in times.values()) == ARROWS["project_duration"]


def scheduled(activities):
    """Return the rows of a schedule without limits, by stage: rows are those of a sheet."""
    names = ("work_days_least", "work_days", "work_days_most")
    stages = pd.DataFrame(
        [
            {"assembly": "job", "stage": stage, "name": "", "place": "", "deferred": False,
             "after": "; ".join(after), "people": 1, **dict(zip(names, points, strict=True))}
            for stage, (after, points) in activities.items()
        ]
    )  # fmt: skip
    build = {"build": "B", "assembly": "job", "start": pd.Timestamp("2026-03-09"), "priority": 1}
    shop = empty_shop()
    builds = shop["builds"].reindex([0]).assign(**build)
    shop = shop.replaced(stages=STAGES.conform(stages), builds=builds)
    made = calendars(shop, date(2026, 3, 9))
    found, _, _ = schedule(shop, builds, BUILT_IN.empty(), made, None, Effort(plans=1))
    return {row.stage: row for row in found.itertuples(index=False)}


def of_sheet(network):
    """Return the activities of a published network with what they follow and their points."""
    points = ("optimistic", "most_likely", "pessimistic")
    return {
        stage: (tuple(a.get("predecessors", ())), [float(a[p]) for p in points])
        for stage, a in network["activities"].items()
    }


@pytest.mark.parametrize("name", NETWORKS)
def test_room_of_each_activity(name):
    """Latest days, slack, critical path, variances and that of the path come out of a schedule."""
    network = NETWORKS[name]
    again, printed = network["recomputed"], network["published"]
    found = scheduled(of_sheet(network))
    latest = {s: row.begins + row.slack for s, row in found.items()}
    assert latest == pytest.approx(again["LS"], abs=1e-3)
    latest_end = {s: row.ends + row.slack for s, row in found.items()}
    assert latest_end == pytest.approx(again["LF"], abs=1e-3)
    assert {s: row.slack for s, row in found.items()} == pytest.approx(again["slack"], abs=1e-3)
    own = {step.stage: step.variance for step in steps_of(network)}
    assert own == pytest.approx(again["variance"], abs=1e-4)
    for stage, value in printed.get("variance", {}).items():
        assert own[stage] == pytest.approx(value, abs=0.005)
    for stage, value in printed.get("slack", {}).items():
        assert found[stage].slack == pytest.approx(value, abs=0.01)
    for stage, value in printed.get("LS", {}).items():
        assert latest[stage] == pytest.approx(value, abs=0.01)
    path = [s for s in sorted(found, key=lambda s: found[s].begins) if found[s].critical]
    assert path == printed.get("critical_path", again["critical_path"])
    last = max(found.values(), key=lambda row: row.ends)
    assert last.variance == pytest.approx(again["critical_path_variance"], abs=1e-3)
    assert last.variance == pytest.approx(
        printed.get("critical_path_variance", last.variance), abs=0.005
    )


def test_chance_of_the_milwaukee_paper():
    """0.7157 within 16 weeks, by a table read at z = 0.57; 99 % within 19.1 weeks."""
    network = NETWORKS["heizer_render_milwaukee_paper"]
    again = network["probability_check"]
    last = max(scheduled(of_sheet(network)).values(), key=lambda row: row.ends)
    found = chance_by(last.ends, last.variance, again["due"])
    assert found == pytest.approx(again["P_unrounded"], abs=5e-5)
    assert found == pytest.approx(network["published"]["P_done_by_16"], abs=0.0012)
    assert chance_by(last.ends, last.variance, again["time_for_99_percent"]) == pytest.approx(
        0.99, abs=5e-4
    )


def test_chance_along_a_published_path():
    """Taylor's path 1-3-5-7: 24 weeks, variance 5, 0.9633 within 28."""
    example = next(e for e in FILE["pert_examples"] if e["id"].startswith("taylor_seven"))
    path = example["published"]["critical_path"]
    own = of_sheet({"activities": {stage: example["activities"][stage] for stage in path}})
    chain = {stage: (tuple(path[at - 1 : at]), own[stage][1]) for at, stage in enumerate(path)}
    last = scheduled(chain)[path[-1]]
    assert (last.ends, last.variance) == (pytest.approx(24), pytest.approx(5))
    assert chance_by(last.ends, last.variance, 28) == pytest.approx(0.9633, abs=2e-4)


def test_slack_of_arrows():
    """Every arrow's latest start, latest end and slack as printed; the path is 1-3-4-5-6."""
    arrows = {row[0]: dict(zip(ARROWS["columns"], row, strict=True)) for row in ARROWS["rows"]}
    found = scheduled(
        {
            name: (
                tuple(o for o in arrows if o.split("-")[1] == name.split("-")[0]),
                [row["time"]] * 3,
            )
            for name, row in arrows.items()
        }
    )
    assert {s: (t.begins + t.slack, t.ends + t.slack, t.slack) for s, t in found.items()} == {
        s: (row["LS"], row["LF"], row["slack"]) for s, row in arrows.items()
    }
    path = [s.split("-")[0] for s, t in found.items() if t.critical] + ["6"]
    assert "-".join(path) == ARROWS["published_critical_path"]


def test_three_points_of_a_sheet_count_as_their_mean():
    """The stages of a sheet with three points are worked the expected days."""
    rows = {
        "assembly": ["job", "job", "job"],
        "stage": ["a", "b", "c"],
        "name": [""] * 3,
        "after": ["", "a", "b"],
        "work_days": [2.0, 2.0, 2.0],
        "place": [""] * 3,
        "deferred": [False] * 3,
        "work_days_least": [1.0, float("nan"), 3.0],
        "work_days_most": [9.0, 9.0, 4.0],
        "people": [pd.NA, 0, 2],
    }
    steps = networks.steps_of(STAGES.conform(pd.DataFrame(rows)))["job"]
    assert [s.work_days for s in steps] == [3.0, 2.0, 2.0]
    assert [s.variance for s in steps] == [pytest.approx(16 / 9), 0.0, 0.0]
    assert [s.people for s in steps] == [1, 0, 2]
