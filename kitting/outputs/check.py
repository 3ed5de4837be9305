"""The kit check of one build as a document: what ``kitting check --json`` prints."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.errors import UnknownName
from kitting.terms.nearest import nearest
from kitting.terms.units import unit
from kitting.terms.words import Level, StageState

if TYPE_CHECKING:
    from kitting.tables.plan import Plan

Document = dict[str, Any]


def check_document(plan: Plan, build: str) -> Document:
    """Return the kit check of a build, ready for JSON.

    Quantities are in each part's door unit; days are ISO text; blank days are ``None``.

    Parameters
    ----------
    plan
        A plan that covers the build.
    build
        Name of an open build.

    Returns
    -------
    dict
        ``build, as_of, whole, stages, shortages, gaps, cautions`` and, beside them, ``assembly,
        start, options, left_overs, findings``. ``chance_in_time`` of a shortage is ``None``: the
        stated lead times alone do not tell it.

    Raises
    ------
    UnknownName
        When the plan does not hold the build; the message offers the nearest names.
    """
    if build not in plan.builds:
        raise UnknownName(f'no open build is called "{build}"{nearest(build, plan.builds)}')
    parts = plan.shop["parts"].set_index("part")
    row = plan.shop["builds"].set_index("build").loc[build]
    gaps = plan.gaps[plan.gaps["build"] == build]
    shortages = _shortages(plan, build, parts)
    stages = _stages(plan, build, parts)
    blocked = any(s["state"] in (StageState.SHORT, StageState.LATE) for s in stages)
    return {
        "build": build,
        "as_of": plan.day.isoformat(),
        "whole": not blocked and not bool((gaps["level"] == Level.STOP).any()),
        "assembly": row["assembly"],
        "start": _day(row["start"]),
        "options": row["options"],
        "stages": stages,
        "shortages": shortages,
        "gaps": gaps[
            ["assembly", "stage", "joint", "role", "level", "message", "check", "source"]
        ].to_dict("records"),
        "cautions": plan.cautions.loc[
            plan.cautions["build"] == build, ["subject", "level", "message", "source"]
        ].to_dict("records"),
        "left_overs": _left_overs(plan, build, parts),
        "findings": [
            {"level": str(f.level), "where": f.where(), "message": f.message}
            for f in plan.findings
        ],
    }


def _day(value: Any) -> str | None:
    return None if pd.isna(value) else pd.Timestamp(value).date().isoformat()


def _door(quantity: int, parts: pd.DataFrame, part: str) -> tuple[int | float, str]:
    """Return base units as a number of the part's door unit, and the unit's name."""
    of = unit(str(parts.at[part, "unit"]) if part in parts.index else "")
    value = Fraction(int(quantity)) / of.factor
    if value.denominator == 1:
        return value.numerator, of.name
    return round(float(value), 6), of.name


def _cover(plan: Plan) -> pd.DataFrame:
    """Sum the picks by need: ``have`` from the shelf, ``coming`` from orders, places, use-by."""
    joined = plan.picks.merge(plan.supply, on="supply", suffixes=("", "_supply"), how="left")
    coming = joined["order"] != ""
    return (
        joined.assign(
            have=joined["covers"].where(~coming, 0),
            coming=joined["covers"].where(coming, 0),
            at=joined["place"].where(~coming, "order " + joined["order"]),
        )
        .groupby("need")
        .agg(
            have=("have", "sum"),
            coming=("coming", "sum"),
            place=("at", lambda at: "; ".join(dict.fromkeys(at))),
            use_by=("use_by", "min"),
            served=("part", lambda served: "; ".join(dict.fromkeys(served))),
        )
    )


def _stages(plan: Plan, build: str, parts: pd.DataFrame) -> list[Document]:
    needs = plan.needs[plan.needs["build"] == build].merge(
        _cover(plan), left_on="need", right_index=True, how="left"
    )
    needs[["have", "coming"]] = needs[["have", "coming"]].fillna(0).astype("int64")
    needs[["place", "served"]] = needs[["place", "served"]].fillna("")
    by_stage: dict[tuple[str, str], list[Document]] = {}
    for need in needs.itertuples():
        part = str(need.part)
        quantity, unit_name = _door(int(need.quantity), parts, part)
        entry = {
            "part": part,
            "name": _name(parts, part),
            "role": need.role,
            "joint": need.joint,
            "need": quantity,
            "unit": unit_name,
            "have": _door(int(need.have), parts, part)[0],
            "coming": _door(int(need.coming), parts, part)[0],
            "short": _door(int(need.quantity - need.have - need.coming), parts, part)[0],
            "place": need.place,
            "use_by": _day(need.use_by),
            "stand_in": "" if need.served == part else need.served,
            "from_set": "",
        }
        by_stage.setdefault((str(need.assembly), str(need.stage)), []).append(entry)
    covered = plan.required[(plan.required["build"] == build) & (plan.required["from_set"] != "")]
    for content in covered.itertuples():
        part = str(content.part)
        quantity, unit_name = _door(int(content.quantity), parts, part)
        entry = {
            "part": part,
            "name": _name(parts, part),
            "role": content.role,
            "joint": content.joint,
            "need": quantity,
            "unit": unit_name,
            "have": 0,
            "coming": 0,
            "short": 0,
            "place": f"in set {content.from_set}",
            "use_by": None,
            "stand_in": "",
            "from_set": content.from_set,
        }
        by_stage.setdefault((str(content.assembly), str(content.stage)), []).append(entry)
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
            "parts": by_stage.get((str(stage.assembly), str(stage.stage)), []),
        }
        for stage in days.sort_values("order", kind="stable").itertuples(index=False)
    ]


def _name(parts: pd.DataFrame, part: str) -> str:
    return str(parts.at[part, "name"]) if part in parts.index else ""


def _shortages(plan: Plan, build: str, parts: pd.DataFrame) -> list[Document]:
    short = plan.shortages[plan.shortages["build"] == build]
    bought = plan.buy_needs.merge(plan.buys, on="buy", suffixes=("", "_bought")).merge(
        plan.order_by, on="buy", how="left"
    )
    by_need = {int(need): rows for need, rows in bought.groupby("need")} if len(bought) else {}
    out = []
    for row in short.itertuples():
        part = str(row.part)
        quantity, unit_name = _door(int(row.quantity), parts, part)
        entry: Document = {
            "assembly": row.assembly,
            "stage": row.stage,
            "joint": row.joint,
            "role": row.role,
            "part": part,
            "name": _name(parts, part),
            "short": quantity,
            "unit": unit_name,
            "needed": _day(row.day),
            "deferred": bool(row.deferred),
            "order_by": None,
            "cut_off": "",
            "supplier": None,
            "buy": None,
            "arrives": None,
            "in_time": False,
            "chance_in_time": None,
            "why": "",
        }
        buys = by_need.get(int(row.need))
        if buys is not None:
            last = buys.sort_values("usable").iloc[-1]
            entry |= {
                "order_by": _day(buys["order_by"].min()),
                "cut_off": last["cut_off"],
                "supplier": "; ".join(dict.fromkeys(buys["supplier"])),
                "buy": "; ".join(dict.fromkeys(buys["part"])),
                "arrives": _day(last["usable"]),
                "in_time": bool(pd.notna(last["usable"]) and last["usable"] <= row.day)
                and int(buys["quantity"].sum()) >= int(row.quantity),
                "why": last["why"],
            }
        out.append(entry)
    out.sort(key=lambda e: (e["deferred"], e["supplier"] is not None, e["order_by"] or ""))
    return out


def _left_overs(plan: Plan, build: str, parts: pd.DataFrame) -> list[Document]:
    rows = plan.left_overs[plan.left_overs["build"] == build]
    out = []
    for row in rows.itertuples():
        quantity, unit_name = _door(int(row.quantity), parts, str(row.part))
        out.append(
            {
                "set": row.set,
                "part": row.part,
                "name": _name(parts, str(row.part)),
                "quantity": quantity,
                "unit": unit_name,
                "fits": row.fits,
            }
        )
    return out
