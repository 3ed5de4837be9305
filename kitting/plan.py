"""From a shop and its open builds to a plan: the rooms called in a row, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kitting import bill, netting, sourcing, timing
from kitting.tables.flow import CAUTIONS, GAPS
from kitting.tables.plan import Beyond, Plan, Ready, Scheduled

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from kitting.bill import Bills
    from kitting.sourcing import Bought, Comparison, Pins
    from kitting.tables.catalogs import Catalogs
    from kitting.tables.contract import Table
    from kitting.tables.references import References
    from kitting.tables.shop import Shop
    from kitting.timing.improve import Effort


def plan(
    shop: Shop,
    day: date,
    catalogs: Catalogs | pd.DataFrame,
    references: References,
    clock: int | None = None,
) -> Plan:
    """Plan every open build of a shop, so that nothing is promised twice.

    Parameters
    ----------
    shop
        The shop as of ``day``.
    day
        The day of the plan.
    catalogs
        What joints need, and how offers of each class come; table ``joint_kinds`` alone checks
        roles and nothing else, and takes stated days to the letter.
    references
        Reference tables for amounts, figures and fluids.
    clock
        Minutes after midnight at which orders would go out; ``None`` = before every cut-off.

    Raises
    ------
    LoopError
        When assemblies, sets or stages go round in a circle.
    """
    whole = bill.with_amounts(shop, references)
    shop = whole.with_known_offers()
    builds = bill.open_builds(shop)
    bills = bill.explode(shop, builds)
    gaps = bill.gaps(shop, bills, catalogs)
    advised, cautions = bill.advice(shop, bills, references)
    calendars = timing.calendars(shop, day)
    stage_days = timing.stage_days(shop, builds, bills.built_in, calendars)
    coming = timing.coming(shop, day, calendars)
    offer_days = timing.offer_days(shop, day, calendars, clock)
    needs = netting.needs(bills.required, stage_days, builds, day)
    supply = netting.open_sets(netting.supply(shop, coming, day), needs, shop["sets"])
    opened, tubes = bill.packs(shop, needs, supply)
    picks, shortages = _served(shop, needs, supply, offer_days, day)
    netted = netting.Netted(bills.required, bills.left_overs, needs, supply, picks)
    buys, buy_needs, bought = sourcing.choose(whole, shortages, offer_days, day)
    times = timing.lead_times(shop, day, calendars, getattr(catalogs, "lead_classes", None))
    likely = timing.likely_days(shop, times)
    lots = (needs, supply, picks)
    planned = timing.Planned(
        stage_days=stage_days,
        built_in=bills.built_in,
        needs=needs,
        supply=supply,
        picks=picks,
        coming=coming,
        outwork=timing.jobs_away(whole, bills.required, lots, stage_days, coming, calendars),
        offer_days=offer_days,
        buys=buys,
        buy_needs=buy_needs,
        order_by=timing.order_by(shop, buys, calendars, likely),
    )
    ahead = timing.look_ahead(shop, builds, day, calendars, times, planned)
    by_parts = timing.readiness(stage_days, needs, supply, picks, buys, buy_needs)
    return Plan(
        shop=whole,
        day=day,
        builds=tuple(builds["build"]),
        required=bills.required,
        joints=bills.joints,
        left_overs=bills.left_overs,
        gaps=_joined(GAPS, gaps, advised),
        cautions=_joined(CAUTIONS, bills.cautions, cautions, tubes),
        opened=opened,
        shortages=shortages,
        order_by_need=timing.order_by_need(shop, buys, buy_needs, needs, calendars, likely),
        readiness=timing.held_by_jobs(by_parts, planned.outwork),
        lead_times=timing.lead_table(shop, times, day),
        likely_days=likely,
        findings=(
            *bills.findings,
            *timing.findings(shop, coming, day),
            *netting.findings(shop, day, netted, shortages),
            *bought,
        ),
        **vars(planned),
        **vars(ahead),
    )


def _served(
    shop: Shop, needs: pd.DataFrame, supply: pd.DataFrame, offer_days: pd.DataFrame, day: date
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Give each need its supply in time, and let it wait where nothing else comes sooner."""
    netted = netting.net(needs, supply, shop["stand_ins"], shop["builds"])
    return netting.wait(netted, supply, shop, offer_days, day)


def beyond(plan: Plan) -> Beyond:
    """Return what goes out and comes back, what waits to be measured, and what is owed at the end.

    Apart from ``plan``, since a check asks for it only where the shop's sheets name such things.

    Parameters
    ----------
    plan
        The plan.
    """
    from kitting.timing.beyond import beyond as found_beyond

    return found_beyond(plan, timing.calendars(plan.shop, plan.day))


def spares(
    plan: Plan, catalogs: Catalogs, references: References
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the spares to think of, and those that would have to be bought.

    Parameters
    ----------
    plan
        The plan.
    catalogs, references
        What the plan was made with.

    Returns
    -------
    DataFrame, DataFrame
        Table ``spares``; and table ``needs``, numbered after the plan's own.
    """
    advised = bill.spares(plan.shop.with_known_offers(), plan, references, catalogs.families)
    return advised, netting.spare_needs(plan.needs, plan.supply, plan.picks, advised)


def past_checks(
    shop: Shop, past: Bills, day: date, catalogs: Catalogs, references: References
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return what today's checks would have said of past builds besides their bills.

    Parameters
    ----------
    shop
        The shop as of ``day``.
    past
        The exploded past builds.
    day
        The day of the audit.
    catalogs, references
        As for ``plan``; of the references table ``spare_rules``.

    Returns
    -------
    DataFrame, DataFrame
        Tables ``spares`` and ``past_orders``.
    """
    shop = shop.with_known_offers()
    advised = bill.spares(shop, past, references, catalogs.families)
    calendars = timing.calendars(shop, day)
    builds = shop["builds"]
    builds = builds[builds["build"].isin(past.required["build"].unique())]
    stage_days = timing.stage_days(shop, builds, past.built_in, calendars)
    times = timing.lead_times(shop, day, calendars, catalogs.lead_classes)
    likely = timing.likely_days(shop, times)
    return advised, timing.past_orders(shop, past.required, stage_days, calendars, likely, times)


def schedule(plan: Plan, effort: Effort | None = None) -> Scheduled:
    """Place every stage of the open builds on the benches and people that there are.

    No stage starts before its kit is ready by this plan, and none before the day of the plan. What
    is ready on a day that nobody knows holds nothing, and is told. Nothing is changed: it is a
    proposal.

    Parameters
    ----------
    plan
        The plan.
    effort
        How long to look for a better schedule; ``None`` = the usual.
    """
    from kitting.timing.begun import begun, from_today, unknown_days
    from kitting.timing.benches import schedule as place

    builds = bill.open_builds(plan.shop)
    calendars = timing.calendars(plan.shop, plan.day)
    starts = from_today(builds, plan.day)
    placed = place(plan.shop, starts, plan.built_in, calendars, plan.readiness, effort)
    more = (*unknown_days(plan.readiness, plan.shortages, plan.buy_needs), *begun(builds, plan.day))
    return Scheduled(placed[0], placed[1], (*placed[2], *more))


def by_sampling(
    plan: Plan, build: str, catalogs: Catalogs, courses: int, seed: int
) -> pd.DataFrame:
    """Return how sure a build is when a supplier's deliveries slip together and work days vary.

    Parameters
    ----------
    plan
        The plan.
    build
        Name of a build that it covers.
    catalogs
        What the plan was made with.
    courses
        How many courses of events to draw.
    seed
        Where the drawing begins; the same one gives the same answer.

    Returns
    -------
    DataFrame
        Table ``sampled``.
    """
    from dataclasses import fields

    import numpy as np

    from kitting.timing.ahead import waited_for
    from kitting.timing.by_sampling import by_sampling as drawn

    shop = plan.shop.with_known_offers()
    calendars = timing.calendars(shop, plan.day)
    times = timing.lead_times(shop, plan.day, calendars, catalogs.lead_classes)
    planned = timing.Planned(**{f.name: getattr(plan, f.name) for f in fields(timing.Planned)})
    builds = bill.open_builds(shop)
    waited = waited_for(shop, builds, plan.day, calendars, times, planned)
    assembly = builds.set_index("build").at[build, "assembly"]
    rng = np.random.default_rng(seed)
    return drawn(shop, (build, assembly), planned, waited, rng, courses)


def ready(
    plan: Plan, of: tuple[str, str], days: int, catalogs: Catalogs, *, exchange: bool
) -> Ready:
    """Return what must be kept to promise a build of an assembly within some days.

    Parameters
    ----------
    plan
        The plan.
    of
        The assembly, and the choices of such a build as in the sheet ``builds``; options that they
        do not name are at their defaults.
    days
        Within which it is to be promised [working days].
    catalogs
        What the plan was made with.
    exchange
        The customer gets a unit of the shop's, which keeps his.

    Raises
    ------
    InputError
        When the choices cannot be.
    """
    import pandas as pd

    from kitting.errors import InputError
    from kitting.sourcing.ready import Bill
    from kitting.sourcing.ready import ready as found_ready
    from kitting.tables.flow import COMING
    from kitting.tables.shop import BUILDS
    from kitting.terms.words import Level

    shop = plan.shop.with_known_offers()
    row: dict[str, object] = dict.fromkeys(BUILDS.names, "")
    row |= {"build": "one build", "assembly": of[0], "options": of[1], "priority": 5}
    row |= {"start": plan.day, "finished": pd.NaT}
    build = BUILDS.conform(pd.DataFrame([row]))
    bills = bill.explode(shop, build)
    for wrong in (f for f in bills.findings if f.level is Level.STOP):
        raise InputError(wrong.message)
    calendars = timing.calendars(shop, plan.day)
    times = timing.lead_times(shop, plan.day, calendars, catalogs.lead_classes)
    likely = timing.likely_days(shop, times).set_index("offer")["likely"]
    slow = shop["offers"].assign(lead_days=shop["offers"]["offer"].map(likely))
    placed = timing.stage_days(shop, build, bills.built_in, calendars)
    none = (plan.needs.iloc[:0], plan.supply.iloc[:0], plan.picks.iloc[:0])
    jobs = timing.jobs_away(
        shop.replaced(offers=slow), bills.required, none, placed, COMING.empty(), calendars
    )
    spread = timing.lead_spread(shop, times, set(bills.required["part"]))
    starts = timing.late_starts(shop, placed, jobs, calendars)
    one = Bill(of[0], bills.required, bills.built_in, starts, jobs)
    found = found_ready(plan, one, days, spread, times.confidence, exchange=exchange)
    return replace(found, findings=(*bills.findings, *found.findings))


def answered(
    plan: Plan, short: pd.DataFrame, pins: Pins, answer: str
) -> tuple[Comparison, Bought, pd.DataFrame]:
    """Choose what to buy for some shortages, and let wait what would be there no sooner.

    What is late on the way may be bought again by a sooner offer; where the answer does not choose
    that one, it waits for its order instead, and the choice is made anew without it.

    Parameters
    ----------
    plan
        The plan.
    short
        Rows of table ``shortages``.
    pins
        What a person chose.
    answer
        Which of the answers is wanted.

    Returns
    -------
    tuple
        The answers side by side, the wanted one, and the rows of ``short`` that wait.
    """
    picks, rest = plan.picks, short
    while True:
        found = sourcing.compare(plan.shop, rest, plan.offer_days, plan.day, pins)
        chosen = found.bought(answer)
        days = chosen.buy_needs.merge(chosen.buys[["buy", "usable"]], on="buy")
        usable = days.groupby("need")["usable"].max()
        picks, left = netting.not_sooner((picks, rest), plan.supply, plan.shop, usable)
        if left["quantity"].sum() == rest["quantity"].sum():
            return found, chosen, short[~short["need"].isin(rest["need"])]
        rest = left


def _joined(table: Table, *frames: pd.DataFrame) -> pd.DataFrame:
    """Put frames of one table under each other."""
    import pandas as pd

    filled = [frame for frame in frames if len(frame)]
    if len(filled) < 2:
        return filled[0] if filled else table.empty()
    return table.conform(pd.concat(filled, ignore_index=True))
