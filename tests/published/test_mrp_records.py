"""Netting records of textbooks: on hand, scheduled receipts, lots, several levels.

Source: data/mrp_records.json, exercises stated as facts; every problem names its book and says
which answers were published and which were derived. Conventions: what is received in a period is
usable in it; an order needed in period t is released in t - lead time; a component's gross
requirement falls in the period of its parent's release.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from pathlib import Path

import pytest
from netting.frames import missing, needs, supply

from kitting.netting import net
from kitting.tables.shop import STAND_INS

RECORDS = json.loads((Path(__file__).parent / "data" / "mrp_records.json").read_text("utf-8"))
PROBLEMS = {problem["id"]: problem for problem in RECORDS["problems"]}


def periods(figures):
    """Read a row of a record: figure by period, without the zeros."""
    return {int(period): figure for period, figure in figures.items() if figure}


def levels(problem):
    """Order the items so that parents come before their components."""
    edges = problem["edges_parent_child_qty"]
    waiting = Counter(child for _, child, _ in edges)
    ready = [item for item in problem["items"] if not waiting[item]]
    for item in ready:
        for parent, child, _ in edges:
            if parent == item:
                waiting[child] -= 1
                if not waiting[child]:
                    ready.append(child)
    return ready


def short(gross, lots):
    """Net one item's gross requirements against its lots (period, quantity) by the room."""
    wanted = needs([{"need": t, "day": t, "quantity": q} for t, q in gross.items()])
    there = supply([{"from_day": t, "quantity": q} for t, q in lots])
    return missing(net(wanted, there, STAND_INS.empty())[1])


def record(item, gross):
    """Return an item's net requirements and planned receipts by period."""
    rule = item["lot_rule"]
    multiple = int(rule.removeprefix("multiples of ")) if rule.startswith("multiples") else 1
    lots = [(0, item["on_hand"]), *periods(item["scheduled_receipts"]).items()]
    lots = [lot for lot in lots if lot[1]]
    net_requirements, planned = {}, {}
    while left := short(gross, lots):
        period = min(left)
        net_requirements[period] = left[period]
        planned[period] = multiple * math.ceil(left[period] / multiple)
        lots.append((period, planned[period]))
    return net_requirements, planned


@pytest.mark.parametrize("name", PROBLEMS)
def test_every_row_of_the_record(name):
    """Gross, net, planned receipts, planned releases and projected stock, level by level."""
    problem = PROBLEMS[name]
    gross = {item: Counter() for item in problem["items"]}
    for item, figures in problem["gross_requirement_of_end_items"].items():
        gross[item].update(periods(figures))
    for name_of_item in levels(problem):
        item, expected = problem["items"][name_of_item], problem["expected"][name_of_item]
        wanted = dict(gross[name_of_item])
        net_requirements, planned = record(item, wanted)
        releases = {period - item["lead_time"]: q for period, q in planned.items()}
        assert wanted == periods(expected["gross"])
        assert net_requirements == periods(expected["net"])
        assert planned == periods(expected["planned_receipts"])
        assert releases == periods(expected["planned_releases"])
        came = periods(item["scheduled_receipts"])
        stock = item["on_hand"]
        for period, projected in enumerate(expected["projected_available"], start=1):
            stock += came.get(period, 0) + planned.get(period, 0) - wanted.get(period, 0)
            assert stock == projected
        for parent, child, quantity in problem["edges_parent_child_qty"]:
            if parent == name_of_item:
                gross[child].update({period: quantity * q for period, q in releases.items()})


def test_the_trumpet_valves_as_printed():
    """Nahmias prints 0, 0, 66, 36, 78, 336, 135, 42, 228 and 114 net valves for weeks 4 to 13."""
    problem = PROBLEMS["nahmias_trumpet_valves"]
    gross = periods(problem["gross_requirement_of_end_items"]["V"])
    net_requirements, _ = record(problem["items"]["V"], gross)
    printed = [0, 0, 66, 36, 78, 336, 135, 42, 228, 114]
    assert [net_requirements.get(week, 0) for week in range(4, 14)] == printed
