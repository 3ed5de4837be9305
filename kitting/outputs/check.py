"""The kit check of one build as a document: what ``kitting check --json`` prints."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.errors import UnknownName
from kitting.outputs.elsewhere import go_elsewhere
from kitting.outputs.sureness import build_chance, share, stage_chances, today_rows
from kitting.terms.nearest import nearest
from kitting.terms.units import Unit, unit
from kitting.terms.words import Level, StageState

if TYPE_CHECKING:
    from kitting.tables.plan import Beyond, Plan

Document = dict[str, Any]
Parts = dict[str, tuple[str, Unit]]


def check_document(plan: Plan, build: str, beyond: Beyond | None = None) -> Document:
    """Return the kit check of a build, ready for JSON.

    Quantities are in each part's door unit; days are ISO text; blank days are ``None``.

    Parameters
    ----------
    plan
        A plan that covers the build.
    build
        Name of an open build.
    beyond
        What the builds have to do beyond the shelf and the bench; ``None`` = not asked for.

    Returns
    -------
    dict
        ``build, as_of, whole, stages, shortages, gaps, cautions`` and, beside them, ``assembly,
        start, options, left_overs, findings, chance, today, outwork, measured, sizes, hand_over,
        clashes``.
        ``order_by`` holds with the shop's confidence, by what is learned of the supplier;
        ``order_by_stated`` by its stated days.

    Raises
    ------
    UnknownName
        When the plan does not hold the build; the message offers the nearest names.
    """
    if build not in plan.builds:
        raise UnknownName(f'no open build is called "{build}"{nearest(build, plan.builds)}')
    parts = _parts(plan)
    row = plan.shop["builds"].set_index("build").loc[build]
    gaps = plan.gaps[plan.gaps["build"] == build]
    cautions = plan.cautions[plan.cautions["build"] == build]
    shortages = _shortages(plan, build, parts)
    stages = _stages(plan, build, parts)
    more = _beyond(plan, build, beyond, parts)
    blocked = any(s["state"] in (StageState.SHORT, StageState.LATE) for s in stages)
    stopped = (
        bool((gaps["level"] == Level.STOP).any())
        or bool((cautions["level"] == Level.STOP).any())
        or any(f.level == Level.STOP and f.about == build for f in plan.findings)
    )
    return {
        "build": build,
        "as_of": plan.day.isoformat(),
        "whole": not blocked and not stopped,
        "assembly": row["assembly"],
        "start": _day(row["start"]),
        "options": row["options"],
        "chance": build_chance(plan, build),
        "today": today_rows(plan, build),
        "stages": stages,
        "shortages": shortages,
        "gaps": gaps[
            ["assembly", "stage", "joint", "role", "level", "message", "check", "source"]
        ].to_dict("records"),
        "cautions": cautions[["subject", "level", "message", "source"]].to_dict("records"),
        "left_overs": _left_overs(plan, build, parts),
        "findings": _findings(plan, build),
        **more,
    }


def _beyond(plan: Plan, build: str, beyond: Beyond | None, parts: Parts) -> Document:
    """Return jobs, sizes and what is owed; all there and empty when they were not asked for."""
    if beyond is None:
        return {"outwork": [], "measured": [], "sizes": [], "hand_over": None, "clashes": []}
    from kitting.outputs.beyond import beyond_document

    units = {part: of for part, (_, of) in parts.items()}
    return beyond_document(beyond, build, units, set(plan.shortages["need"].tolist()))


def _day(value: Any) -> str | None:
    return None if pd.isna(value) else pd.Timestamp(value).date().isoformat()


def _parts(plan: Plan) -> Parts:
    """Return name and door unit by part number; a part that is not in the shop counts pieces."""
    frame = plan.shop["parts"]
    parts: Parts = defaultdict(lambda: ("", unit("")))
    parts.update(
        (part, (name, unit(of)))
        for part, name, of in zip(frame["part"], frame["name"], frame["unit"], strict=True)
    )
    return parts


def _door(quantity: int, parts: Parts, part: str) -> int | float:
    """Return base units as a number of the part's door unit."""
    value = Fraction(int(quantity)) / parts[part][1].factor
    return value.numerator if value.denominator == 1 else round(float(value), 6)


@dataclass(slots=True)
class _Cover:
    """What covers one need [base units], and where it is."""

    have: int = 0
    picked: int = 0
    coming: int = 0
    places: dict[str, None] = field(default_factory=dict)
    served: dict[str, None] = field(default_factory=dict)
    use_by: Any = pd.NaT
    comes: Any = pd.NaT


def _cover(plan: Plan, needs: pd.DataFrame) -> dict[int, _Cover]:
    """Sum the picks of some needs."""
    picks = plan.picks[plan.picks["need"].isin(needs["need"])]
    joined = picks.merge(plan.supply.drop(columns=["part", "quantity"]), on="supply")
    covers: dict[int, _Cover] = defaultdict(_Cover)
    for row in joined.itertuples():
        cover = covers[int(row.need)]
        if row.order:
            cover.coming += int(row.covers)
            cover.comes = max(d for d in (cover.comes, row.from_day) if pd.notna(d))
        else:
            cover.have += int(row.covers)
            cover.picked += int(row.covers) if row.kit else 0
        place = f"order {row.order}" if row.order else row.place
        cover.places[f"{place}, in set {row.from_set}" if row.from_set else place] = None
        cover.served[row.part] = None
        cover.use_by = min(
            (day for day in (cover.use_by, row.use_by) if pd.notna(day)), default=pd.NaT
        )
    return covers


def _entry(row: Any, parts: Parts, cover: _Cover, from_set: str = "") -> Document:
    part = str(row.part)
    short = 0 if from_set else int(row.quantity) - cover.have - cover.coming
    return {
        "part": part,
        "name": parts[part][0],
        "role": row.role,
        "joint": row.joint,
        "need": _door(row.quantity, parts, part),
        "unit": parts[part][1].name,
        "have": _door(cover.have, parts, part),
        "picked": _door(cover.picked, parts, part),
        "coming": _door(cover.coming, parts, part),
        "short": _door(short, parts, part),
        "place": f"in set {from_set}" if from_set else "; ".join(cover.places),
        "use_by": _day(cover.use_by),
        "comes": _day(cover.comes),
        "late": not from_set and bool(cover.comes > row.day),
        "stand_in": "; ".join(served for served in cover.served if served != part),
        "from_set": from_set,
    }


def _stages(plan: Plan, build: str, parts: Parts) -> list[Document]:
    by_stage: dict[tuple[str, str], list[Document]] = defaultdict(list)
    needs = plan.needs[plan.needs["build"] == build]
    covers = _cover(plan, needs)
    for need in needs.itertuples():
        by_stage[need.assembly, need.stage].append(_entry(need, parts, covers[int(need.need)]))
    covered = plan.required[(plan.required["build"] == build) & (plan.required["from_set"] != "")]
    for content in covered.itertuples():
        by_stage[content.assembly, content.stage].append(
            _entry(content, parts, _Cover(), str(content.from_set))
        )
    sure = stage_chances(plan, build)
    days = plan.stage_days[plan.stage_days["build"] == build].merge(
        plan.readiness, on=["build", "assembly", "stage"], how="left"
    )
    return [
        {
            "assembly": stage.assembly,
            "stage": stage.stage,
            "name": stage.name,
            "start": _day(stage.start),
            "finish": _day(stage.finish),
            "state": stage.state,
            "ready": _day(stage.ready),
            **sure.get((stage.assembly, stage.stage), {}),
            "parts": by_stage[stage.assembly, stage.stage],
        }
        for stage in days.sort_values("order", kind="stable").itertuples(index=False)
    ]


def _shortages(plan: Plan, build: str, parts: Parts) -> list[Document]:
    short = plan.shortages[plan.shortages["build"] == build]
    pegs = plan.buy_needs[plan.buy_needs["need"].isin(short["need"])]
    bought = pegs.merge(plan.buys.drop(columns="quantity"), on="buy").merge(
        plan.order_by_need, on=["buy", "need"]
    )
    buys: dict[int, list[Any]] = defaultdict(list)
    for peg in bought.sort_values("usable", kind="stable").itertuples():
        buys[int(peg.need)].append(peg)
    in_time = dict(zip(plan.need_chance["need"], plan.need_chance["chance_in_time"], strict=True))
    own = plan.shop["parts"]
    brought = set(own.loc[own["customer_supplied"], "part"])
    known_sellers = _known_sellers(plan)
    elsewhere = go_elsewhere(plan, build)
    out = []
    for row in short.itertuples():
        part = str(row.part)
        entry: Document = {
            "assembly": row.assembly,
            "stage": row.stage,
            "joint": row.joint,
            "role": row.role,
            "part": part,
            "name": parts[part][0],
            "short": _door(row.quantity, parts, part),
            "unit": parts[part][1].name,
            "needed": _day(row.day),
            "deferred": bool(row.deferred),
            "ask": "customer" if part in brought else known_sellers.get(part, ""),
            "elsewhere": [
                {
                    "build": other,
                    "priority": priority,
                    "quantity": _door(quantity, parts, part),
                    "unit": parts[part][1].name,
                }
                for other, priority, quantity in elsewhere.get(part, ())
            ],
        }
        sure = {"chance_in_time": share(in_time[row.need])}
        out.append(entry | sure | _bought(row, buys[int(row.need)]))
    out.sort(key=lambda e: (e["deferred"], e["supplier"] is not None, e["order_by"] or ""))
    return out


def _known_sellers(plan: Plan) -> dict[str, str]:
    """Return by part who offers it without a price or lead time, or at a price that has ended."""
    offers = plan.shop["offers"]
    unready = offers["price"].isna() | offers["lead_days"].isna()
    ended = offers["valid_to"] < plan.day.isoformat()
    rows = offers[unready | ended]
    return dict(zip(rows["part"].tolist()[::-1], rows["supplier"].tolist()[::-1], strict=True))


def _bought(shortage: Any, buys: list[Any]) -> Document:
    """Tell who covers a shortage and when; ``buys`` in the order in which they come."""
    answer: Document = {
        "order_by": None,
        "order_by_stated": None,
        "cut_off": "",
        "supplier": None,
        "buy": None,
        "arrives": None,
        "in_time": False,
        "why": "",
    }
    if not buys:
        return answer
    last = buys[-1]
    return answer | {
        "order_by": _day(min((b.order_by for b in buys if pd.notna(b.order_by)), default=None)),
        "order_by_stated": _day(min((b.stated for b in buys if pd.notna(b.stated)), default=None)),
        "cut_off": last.cut_off,
        "supplier": "; ".join(dict.fromkeys(b.supplier for b in buys)),
        "buy": "; ".join(dict.fromkeys(b.part for b in buys)),
        "arrives": _day(last.usable),
        "in_time": bool(pd.notna(last.usable) and last.usable <= shortage.day)
        and sum(int(b.quantity) for b in buys) >= int(shortage.quantity),
        "why": last.why,
    }


def _left_overs(plan: Plan, build: str, parts: Parts) -> list[Document]:
    rows = plan.left_overs[plan.left_overs["build"] == build]
    out = []
    for row in rows.itertuples():
        part = str(row.part)
        quantity = _door(int(row.quantity), parts, part)
        out.append(
            {
                "set": row.set,
                "part": part,
                "name": parts[part][0],
                "quantity": quantity,
                "unit": parts[part][1].name,
                "fits": row.fits,
            }
        )
    return out


def _findings(plan: Plan, build: str) -> list[Document]:
    """Leave out what concerns other builds alone: it names one of them and not this one."""
    others = [other for other in plan.builds if other != build]
    return [
        {"level": str(f.level), "where": f.where(), "message": f.message}
        for f in plan.findings
        if build in (text := f"{f.about} {f.message}") or not any(o in text for o in others)
    ]
