"""One page on some builds, to look at on a phone or a desk and to print: no script, no requests."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.outputs.arrivals import arrivals
from kitting.outputs.beyond import money_of_sizes
from kitting.outputs.check import check_document
from kitting.outputs.check_text import do_first
from kitting.outputs.costs import costs
from kitting.outputs.drawing import NARROW, WIDE, legend
from kitting.outputs.joint_graph import joint_graph
from kitting.outputs.order_calendar import leaves, order_days
from kitting.outputs.pages import page
from kitting.outputs.sureness import percent
from kitting.outputs.text import long_day, short_day
from kitting.outputs.timeline import timeline
from kitting.terms.money import show_cents
from kitting.terms.words import LENT_ROLES, Level

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kitting.outputs.check import Document
    from kitting.tables.plan import Beyond, Plan, Scheduled

STATES = (
    ("whole", "whole"),
    ("coming", "on its way"),
    ("short", "short"),
    ("late", "late"),
    ("deferred", "later, elsewhere"),
)
JOINTS = (
    ("whole", "all there"),
    ("coming", "on its way"),
    ("short", "short"),
    ("stop", "empty, stops"),
    ("warn", "empty, look"),
)


def report_page(
    plan: Plan,
    builds: Sequence[str],
    beyond: Beyond,
    scheduled: Scheduled | None = None,
    drawn: Mapping[str, Document | None] | None = None,
) -> str:
    """Return a page on some builds.

    Parameters
    ----------
    plan
        A plan that covers them.
    builds
        Their names, in the order in which they stand on the page.
    beyond
        What they have to do beyond the shelf and the bench.
    scheduled
        A schedule on limited benches and people; ``None`` = nothing is limited.
    drawn
        What ``sampled_document`` tells of each; ``None`` = nothing was drawn.

    Raises
    ------
    UnknownName
        When the plan does not hold a build.
    """
    return page(
        "report.html",
        shop=plan.shop.setting("name"),
        day=long_day(plan.day.isoformat()),
        builds=[
            _build(plan, build, beyond)
            | {
                "proposed": _proposed(plan, build, scheduled),
                "drawn": (drawn or {}).get(build),
            }
            for build in builds
        ],
        legends={
            "stages": _both(STATES),
            "joints": _both(JOINTS),
        },
        percent=percent,
        long_day=long_day,
        short_day=short_day,
        money=show_cents,
    )


def _build(plan: Plan, build: str, beyond: Beyond) -> dict[str, Any]:
    """Return everything that the page says about one build."""
    document = check_document(plan, build, beyond)
    coming = arrivals(plan, build)
    orders = order_days(plan, [build])
    spent = costs(plan, [build])
    row = plan.shop["builds"].set_index("build").loc[build]
    return {
        "document": document,
        "first": do_first(document),
        "customer": row["customer"],
        "note": row["note"],
        "timeline": [timeline(document, coming, plan.day, w) for w in (WIDE, NARROW)],
        "graph": [joint_graph(plan, document, w) for w in (WIDE, NARROW)],
        "short": _short(document),
        "gaps": [g for g in document["gaps"] if g["level"] != Level.NOTE],
        "notes": [g for g in document["gaps"] if g["level"] == Level.NOTE],
        "counts": _counts(document),
        "orders": orders,
        "leaves": leaves(plan.day, orders, coming, [document]),
        "costs": spent,
        "dearest": max((c.to_order + c.on_way for c in spent), default=0) or 1,
        "totals": _totals(spent),
        "sizes": money_of_sizes(document["sizes"], plan.shop.setting("currency")),
    }


def _proposed(plan: Plan, build: str, scheduled: Scheduled | None) -> list[Document]:
    """Return the bench stages that a schedule puts on other days than the sheets."""
    if scheduled is None:
        return []
    key = ["build", "assembly", "stage"]
    asked = plan.stage_days[[*key, "start"]].rename(columns={"start": "asked"})
    own = scheduled.schedule[scheduled.schedule["build"] == build].merge(asked, on=key)
    moved = own[~own["deferred"] & (own["start"] != own["asked"])].dropna(subset=["start"])
    return [
        {
            **{c: getattr(row, c) for c in ("assembly", "stage", "place", "waits_for")},
            "asked": None if pd.isna(row.asked) else f"{row.asked:%Y-%m-%d}",
            "start": f"{row.start:%Y-%m-%d}",
            "finish": f"{row.finish:%Y-%m-%d}",
            "behind": ", ".join(b for b in row.behind.split("; ") if b not in ("", build)),
        }
        for row in moved.sort_values("order", kind="stable").itertuples(index=False)
    ]


def _both(states: Sequence[tuple[str, str]]) -> list[Any]:
    return [legend(states, WIDE), legend(states, NARROW)]


def _short(document: Document) -> list[Document]:
    """Return the shortages, rows of one part in one stage added up where one order serves them."""
    found: dict[tuple[Any, ...], Document] = {}
    for row in document["shortages"]:
        same = ("part", "assembly", "stage", "supplier", "order_by", "arrives", "in_time")
        key = tuple(row[name] for name in same)
        held = found.setdefault(key, {**row, "short": 0})
        if row["role"] in LENT_ROLES:
            held["short"] = max(held["short"], row["short"])
        else:
            held["short"] = round(held["short"] + row["short"], 6)
    return list(found.values())


def _counts(document: Document) -> dict[str, int]:
    """Return how much is not as it should be."""
    bench = [s for s in document["shortages"] if not s["deferred"]]
    return {
        "short": len({s["part"] for s in bench}),
        "stop": sum(g["level"] == Level.STOP for g in document["gaps"]),
        "warn": sum(g["level"] == Level.WARN for g in document["gaps"]),
        "late": len({s["part"] for s in bench if s["supplier"] and not s["in_time"]}),
        "unoffered": len({s["part"] for s in bench if s["supplier"] is None}),
    }


def _totals(spent: Sequence[Any]) -> list[tuple[str, int, int]]:
    """Return what is to be ordered and what is on its way, by currency."""
    found: dict[str, list[int]] = {}
    for cost in spent:
        sums = found.setdefault(cost.currency, [0, 0])
        sums[0] += cost.to_order
        sums[1] += cost.on_way
    return [(currency, sums[0], sums[1]) for currency, sums in found.items()]
