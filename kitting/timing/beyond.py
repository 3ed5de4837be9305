"""What happens beyond the shelf and the bench: jobs sent out, sizes to measure, what is owed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.tables.plan import Beyond
from kitting.tables.times import ASSORTMENT, MEASURED_DAYS
from kitting.timing.clashes import clashes
from kitting.timing.hand_over import hand_over
from kitting.timing.lead_times import confidence
from kitting.timing.outwork import outwork_days, outwork_findings, taken_off

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from kitting.tables.plan import Plan
    from kitting.terms.days import Calendar


def beyond(plan: Plan, calendars: Mapping[str, Calendar]) -> Beyond:
    """Return what a plan's builds have to do beyond the shelf and the bench.

    A job that the shelf covers is back already and is left out.

    Parameters
    ----------
    plan
        The plan.
    calendars
        From ``calendars``.

    Raises
    ------
    UnknownName
        When an offer's supplier is not in ``suppliers``.
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    """
    shop, stage_days = plan.shop, plan.stage_days
    still_out = plan.required[~plan.required["required"].isin(_on_the_shelf(plan))]
    out = outwork_days(shop, still_out, stage_days, plan.coming, calendars)
    measured, sizes = MEASURED_DAYS.empty(), ASSORTMENT.empty()
    findings = list(outwork_findings(out))
    if shop.has("measured"):
        from kitting.timing.measured import measured_days, measured_findings
        from kitting.timing.sizes import assortment

        measured = measured_days(shop, plan.required, stage_days, calendars, plan.day)
        sizes = assortment(shop, plan.joints, plan.day, confidence(shop))
        findings += measured_findings(measured)
    return Beyond(
        outwork=out,
        taken_off=taken_off(shop, plan.joints, out),
        measured=measured,
        assortment=sizes,
        hand_over=hand_over(shop, plan.required, plan.joints, stage_days),
        clashes=clashes(shop, stage_days),
        findings=tuple(findings),
    )


def _on_the_shelf(plan: Plan) -> set[int]:
    """Return the needs that lots on the shelf cover in full."""
    shelf = plan.supply.loc[plan.supply["order"] == "", "supply"]
    own = plan.picks[plan.picks["supply"].isin(shelf)]
    covered: pd.Series[int] = own.groupby("need")["covers"].sum()
    asked = plan.needs.set_index("need")["quantity"].reindex(covered.index)
    return {int(n) for n in covered.index[covered.to_numpy() >= asked.to_numpy()]}
