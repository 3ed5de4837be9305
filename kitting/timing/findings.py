"""What a coordinator should know about dates: whom to chase, what has no day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.terms.findings import Finding
from kitting.terms.nearest import nearest
from kitting.terms.words import Level
from kitting.timing.calendars import SHOP, span
from kitting.timing.roads import carriers_of_offers

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from kitting.tables.shop import Shop

# Working days that surely stay within the years for which calendars are made.
_LONGEST = 700
# A parcel takes some days: so long before an old part must be back it is told. Our assumption.
_SOON = pd.Timedelta(days=7)


def findings(shop: Shop, coming: pd.DataFrame, day: date) -> tuple[Finding, ...]:
    """Return what is odd about the days of orders, receipts, builds, stages and closures.

    Parameters
    ----------
    shop
        The shop as of ``day``.
    coming
        Table ``coming``.
    day
        The day of the plan.
    """
    today = pd.Timestamp(day)
    return (
        *_promises(coming, today),
        *_old_parts(shop, today),
        *_receipts(shop),
        *_builds(shop["builds"], today, span(shop, day)),
        *_too_long(shop),
        *_too_short(shop),
        *_closures(shop),
    )


def _promises(coming: pd.DataFrame, today: pd.Timestamp) -> Iterator[Finding]:
    for row in coming.itertuples(index=False):
        about = f"order {row.order} line {row.line}"
        what = f"{row.part} from {row.supplier}"
        for_whom = f" for build {row.build}" if row.build else ""
        if pd.isna(row.promised):
            counted = (
                "so it covers nothing in time"
                if pd.isna(row.usable)
                else f"so it is counted from {row.usable:%Y-%m-%d} by the supplier's stated days"
            )
            message = f"{what}{for_whom} has no promised day, {counted}; ask for one"
        elif pd.isna(row.usable):
            message = (
                f"{what}{for_whom} is promised {row.promised:%Y-%m-%d}, beyond the years that are "
                "planned; check the day"
            )
        elif row.promised < today:
            late = (today - row.promised).days
            message = (
                f"{what}{for_whom} was promised {row.promised:%Y-%m-%d}, {late} "
                f"day{'s' if late > 1 else ''} ago; chase it: it is counted from "
                f"{row.usable:%Y-%m-%d}, the earliest it could be"
            )
        else:
            continue
        yield Finding(Level.WARN, message, "orders", column="promised", about=about)


def _old_parts(shop: Shop, today: pd.Timestamp) -> Iterator[Finding]:
    """Find old parts that are still here and must soon be back at their supplier."""
    last = shop["claims"].drop_duplicates("claim", keep="last")
    here = last[(last["what"] == "core") & (last["event"] == "opened")]
    here = here[here["due"] <= today + _SOON]
    if here.empty:
        return
    orders = shop["orders"].drop_duplicates(["order", "line"])
    rows = here.merge(orders[["order", "line", "supplier"]], on=["order", "line"], how="left")
    for row in rows.sort_values("due", kind="stable").itertuples(index=False):
        left = (row.due - today).days
        when = f"in {left} day{'' if left == 1 else 's'}"
        if left <= 0:
            when = f"{-left} day{'' if left == -1 else 's'} ago" if left else "today"
        message = (
            f"the old {row.part} must be back at {row.supplier} on {row.due:%Y-%m-%d}, {when}; "
            f'send it for the deposit: kitting claim {row.claim} "sent back"'
        )
        yield Finding(Level.WARN, message, "claims", column="due", about=f"claim {row.claim}")


def _receipts(shop: Shop) -> Iterator[Finding]:
    """Find receipts that no order line answers, that bring more, or that came too early."""
    orders, receipts = shop["orders"], shop["receipts"]
    receipts = receipts[receipts["order"] != ""]
    by_line = pd.MultiIndex.from_frame(orders[["order", "line"]])
    by_part = pd.MultiIndex.from_frame(orders[["order", "part"]])
    has_line = receipts["line"].notna().to_numpy()
    line = receipts["line"].fillna(-1).astype("int64")
    found = np.where(
        has_line,
        pd.MultiIndex.from_arrays([receipts["order"], line]).isin(by_line),
        pd.MultiIndex.from_frame(receipts[["order", "part"]]).isin(by_part),
    )
    for row in receipts[~found].itertuples(index=False):
        yield Finding(
            Level.WARN,
            f"{row.part} on receipt {row.receipt} answers no line of order {row.order}, so the "
            "order still counts as coming in full; give the line that it answers",
            "receipts",
            column="line",
            about=f"receipt {row.receipt}",
        )
    came = receipts.groupby(["order", "part"])["quantity"].sum()
    asked = orders.groupby(["order", "part"])["quantity"].sum()
    over = (came - asked.reindex(came.index)).dropna().astype("int64")
    for (order, part), more in over[over > 0].items():
        yield Finding(
            Level.NOTE,
            f"{more} more {part} came than order {order} asked for; check the count and the bill",
            "receipts",
            column="quantity",
            about=f"order {order}",
        )
    ordered = orders.groupby("order")["ordered"].min()
    sent = ordered.reindex(receipts["order"]).to_numpy("datetime64[s]")
    early = receipts["received"].to_numpy("datetime64[s]") < sent
    for row in receipts[early].itertuples(index=False):
        yield Finding(
            Level.WARN,
            f"{row.part} came {row.received:%Y-%m-%d}, before order {row.order} was sent; check "
            "both days",
            "receipts",
            column="received",
            about=f"receipt {row.receipt}",
        )


def _builds(builds: pd.DataFrame, today: pd.Timestamp, years: tuple[int, int]) -> Iterator[Finding]:
    for row in builds.itertuples(index=False):
        column = "finished"
        if pd.notna(row.finished):
            if row.finished <= today and not row.finished < row.start:
                continue
            level = Level.WARN
            when = "in the future" if row.finished > today else "before its start"
            message = f"is finished {row.finished:%Y-%m-%d}, {when}; check the day"
        elif pd.isna(row.start):
            level, column = Level.WARN, "start"
            message = "has no start, so nothing for it has a day to order by; give it one"
        elif not years[0] <= row.start.year <= years[1]:
            level, column = Level.STOP, "start"
            message = (
                f"starts {row.start:%Y-%m-%d}, outside the years that are planned ({years[0]} to "
                f"{years[1]}), so its stages have no days; check the year"
            )
        elif row.start < today:
            level = Level.NOTE
            message = (
                f"started {row.start:%Y-%m-%d} and is not finished: stages that lie behind count "
                "as due; give the day it was finished, or the day it will really start"
            )
        else:
            continue
        yield Finding(
            level, f"build {row.build} {message}", "builds", column=column, about=str(row.build)
        )


def _too_long(shop: Shop) -> Iterator[Finding]:
    offers = shop["offers"]
    for row in offers[offers["lead_days"] > _LONGEST].itertuples(index=False):
        yield Finding(
            Level.WARN,
            f"{row.supplier} takes {row.lead_days} working days for {row.part}, about as long as "
            "is planned ahead or longer; check the number",
            "offers",
            column="lead_days",
            about=str(row.part),
        )


def _too_short(shop: Shop) -> Iterator[Finding]:
    """Find offers that state fewer days than their goods are on the road."""
    carriers, offers = shop["carriers"], shop["offers"]
    if carriers.empty:
        return
    brings = pd.Series(carriers_of_offers(shop, offers), index=offers.index, dtype="object")
    road = brings.map(carriers.set_index("carrier")["days"]).astype("Float64")
    short = (offers["lead_days"].astype("Float64") < road).fillna(False).to_numpy("bool")
    rows = offers.assign(carrier=brings, road=road)[short]
    for (supplier, carrier), of in rows.groupby(["supplier", "carrier"], sort=False):
        days, road_days = int(of["lead_days"].min()), int(of["road"].iloc[0])
        yield Finding(
            Level.WARN,
            f"{supplier} states {days} working day{'' if days == 1 else 's'} for "
            f"{of['part'].iloc[0]}, and {carrier} takes {road_days} on the road, so "
            f"{road_days} are counted; correct the lead time, which is from order to door, or the "
            "carrier's days",
            "offers",
            column="lead_days",
            about=str(of["part"].iloc[0]),
        )


def _closures(shop: Shop) -> Iterator[Finding]:
    """Find closing days under a name that nobody goes by."""
    suppliers, carriers = shop["suppliers"], shop["carriers"]
    known = {SHOP, shop.setting("calendar"), *suppliers["calendar"], *suppliers["supplier"]}
    known |= {*carriers["calendar"], *carriers["carrier"]}
    for name in sorted(set(shop["closures"]["calendar"]) - known):
        yield Finding(
            Level.WARN,
            f'nobody goes by calendar "{name}", so its closing days count for nothing; write '
            f"shop, a supplier, a carrier, or a calendar of theirs{nearest(name, known)}",
            "closures",
            column="calendar",
            about=name,
        )
