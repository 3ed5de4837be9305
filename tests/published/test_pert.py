"""Earliest starts and finishes against published networks.

Sources are named in the file: Heizer & Render; public lecture slides; Taylor's solutions.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kitting.timing.network import Step, place

FILE = json.loads((Path(__file__).parent / "data" / "pert_cpm_examples.json").read_text())
NETWORKS = {
    e["id"]: e
    for e in FILE["pert_examples"]
    if all("predecessors" in a for a in e["activities"].values())
}
ARROWS = FILE["cpm_example"]


def expected(activity):
    """Mean of the three-point estimate, (a + 4 m + b) / 6."""
    return (activity["optimistic"] + 4 * activity["most_likely"] + activity["pessimistic"]) / 6


def placed(steps):
    """Start and end of every step of one assembly, by stage."""
    return {p.step.stage: (p.start, p.end) for p in place("job", (), {"job": steps})}


@pytest.mark.parametrize("name", NETWORKS)
def test_networks_of_activities(name):
    """Every published and recomputed start, end and the whole duration come out."""
    network = NETWORKS[name]
    times = placed(
        [
            Step("job", stage, after=tuple(a["predecessors"]), work_days=expected(a))
            for stage, a in network["activities"].items()
        ]
    )
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
