"""What happens beyond the shelf and the bench: jobs sent out, sizes to measure, what is owed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.tables.plan import Beyond
from kitting.tables.times import ASSORTMENT, MEASURED_DAYS
from kitting.timing.clashes import clashes
from kitting.timing.hand_over import hand_over
from kitting.timing.lead_times import confidence
from kitting.timing.outwork import outwork_findings, taken_off

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.plan import Plan
    from kitting.terms.days import Calendar


def beyond(plan: Plan, calendars: Mapping[str, Calendar]) -> Beyond:
    """Return what a plan's builds have to do beyond the shelf and the bench.

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
    shop, stage_days, out = plan.shop, plan.stage_days, plan.outwork
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
