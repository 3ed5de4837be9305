"""The deliveries that a build waits for, with what is said of each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.plan import Plan


@dataclass(frozen=True, slots=True)
class Arrival:
    """A delivery as one build sees it.

    Parameters
    ----------
    order, supplier
        Our order; blank = to be ordered. Who brings it.
    expected, likely
        Day it is promised at the door, and day by which it is there with the shop's confidence.
    needed
        First day on which a stage of the build needs something of it.
    chance
        Chance that it holds up nothing; ``None`` = not known.
    parts, stages
        Numbers of its parts, and the stages that they are for.
    job
        Jobs that are sent out and come back.
    """

    order: str
    supplier: str
    expected: date | None
    likely: date | None
    needed: date | None
    chance: float | None
    parts: tuple[str, ...]
    stages: tuple[str, ...]
    job: bool = False

    @property
    def name(self) -> str:
        """What it is called on a page."""
        if self.order:
            return f"{self.order} {self.supplier}"
        return f"{'job at' if self.job else 'to order:'} {self.supplier}"


def arrivals(plan: Plan, build: str) -> list[Arrival]:
    """Return the deliveries that a build waits for, by the day on which they are needed.

    Parameters
    ----------
    plan
        A plan that covers the build.
    build
        Name of an open build.
    """
    needs = plan.needs.loc[
        (plan.needs["build"] == build) & ~plan.needs["deferred"],
        ["need", "stage", "part", "day"],
    ]
    served = pd.concat([_ordered(plan, needs), _bought(plan, needs)], ignore_index=True)
    if served.empty:
        return []
    served = _sent_out(plan, build, served)
    known = {
        (row.order, row.supplier, row.expected, row.build): row
        for row in plan.deliveries.itertuples()
    }
    by_order = {row.order: row for row in plan.deliveries.itertuples() if row.order}
    own = plan.drivers[plan.drivers["build"] == build]
    chance = dict(zip(own["delivery"], own["chance"], strict=True))
    found = []
    for (order, supplier, expected, job_of), rows in served.groupby(
        ["order", "supplier", "expected", "job_of"], sort=False, dropna=False
    ):
        delivery = known.get((order, supplier, expected, job_of)) or by_order.get(order)
        sure = chance.get(delivery.delivery) if delivery is not None else None
        found.append(
            Arrival(
                order=str(order),
                supplier=str(supplier),
                expected=_day(delivery.expected if delivery is not None else expected),
                likely=_day(delivery.likely) if delivery is not None else None,
                needed=_day(rows["day"].min()),
                chance=None if sure is None or pd.isna(sure) else float(sure),
                parts=tuple(dict.fromkeys(rows["part"])),
                stages=tuple(dict.fromkeys(rows["stage"])),
                job=bool(job_of),
            )
        )
    return sorted(found, key=lambda a: (str(a.needed or ""), str(a.expected or ""), a.name))


def _ordered(plan: Plan, needs: pd.DataFrame) -> pd.DataFrame:
    """Return what orders on the way bring, each row with the promise of its line."""
    lots = plan.supply.loc[plan.supply["order"] != "", ["supply", "order", "part", "from_day"]]
    picks = plan.picks[["need", "supply"]].merge(lots, on="supply")
    lines = plan.coming.rename(columns={"promised": "expected", "usable": "from_day"})
    lines = lines.drop_duplicates(["order", "part", "from_day"])
    rows = picks.merge(
        lines[["order", "part", "from_day", "supplier", "expected"]],
        on=["order", "part", "from_day"],
        how="left",
    ).fillna({"supplier": ""})
    return needs[["need", "stage", "day"]].merge(rows.drop(columns="supply"), on="need")


def _bought(plan: Plan, needs: pd.DataFrame) -> pd.DataFrame:
    """Return what is to be ordered now."""
    buys = plan.buys[["buy", "supplier", "part", "arrives"]].rename(columns={"arrives": "expected"})
    rows = plan.buy_needs[["buy", "need"]].merge(buys, on="buy").assign(order="")
    return needs[["need", "stage", "day"]].merge(rows.drop(columns="buy"), on="need")


def _sent_out(plan: Plan, build: str, served: pd.DataFrame) -> pd.DataFrame:
    """Let jobs come when they are back, by who does them; ``job_of`` tells the build of a job."""
    jobs = plan.outwork[(plan.outwork["build"] == build) & plan.outwork["back"].notna()]
    jobs = jobs[jobs["wanted"] == jobs["stage"]]
    columns = (jobs[c].tolist() for c in ("stage", "job", "supplier", "order", "back"))
    back = {(stage, job): [*by, build] for stage, job, *by in zip(*columns, strict=True)}
    told = ["supplier", "order", "expected"]
    rows = [
        back.get((stage, part), [supplier, order, expected, ""])
        for stage, part, supplier, order, expected in zip(
            *(served[c].tolist() for c in ("stage", "part", *told)), strict=True
        )
    ]
    names = zip([*told, "job_of"], zip(*rows, strict=True), strict=True)
    return served.assign(**{name: list(column) for name, column in names})


def _day(value: Any) -> date | None:
    return None if pd.isna(value) else pd.Timestamp(value).date()
