"""The doors for a person who chooses: answers side by side, what a supplier is worth, questions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pandas as pd

from kitting.sourcing import answer as answers
from kitting.sourcing import notes
from kitting.sourcing.asking import questions_of
from kitting.sourcing.by_hand import choose_by_hand
from kitting.sourcing.case import read_case
from kitting.sourcing.cores import core_notes
from kitting.sourcing.lent import lend_on
from kitting.sourcing.market import FAR
from kitting.sourcing.policy import Pins
from kitting.sourcing.prove import Effort
from kitting.sourcing.proved import AIMS, BALANCED, Answer, find, goods_of
from kitting.sourcing.why import explain
from kitting.sourcing.worth import weigh
from kitting.tables.sourcing import ANSWERS, DROPS, ORDER_TERMS
from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from kitting.sourcing.case import Case
    from kitting.sourcing.demand import Take
    from kitting.sourcing.worth import Worth
    from kitting.tables.shop import Shop


@dataclass(frozen=True)
class Bought:
    """One answer as frames.

    Parameters
    ----------
    buys, buy_needs, order_terms
        Tables of these names.
    findings
        What a person should know about it.
    """

    buys: pd.DataFrame
    buy_needs: pd.DataFrame
    order_terms: pd.DataFrame
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Comparison:
    """The answers side by side.

    Parameters
    ----------
    answers
        Table ``answers``.
    case, found
        What was asked, and each answer by what it is best in: ``least cost``, ``balanced``,
        ``earliest``.
    """

    answers: pd.DataFrame
    case: Case
    found: Mapping[str, Answer]

    def bought(self, aim: str) -> Bought:
        """Write the answer that is best in something as frames, with the reason of each line."""
        return bought(self.case, self.found[aim])

    def by_hand(self) -> pd.DataFrame:
        """Cost what a person would buy, each part alone and the cheapest in time.

        Returns
        -------
        DataFrame
            Table ``answers``, one row ``by hand``.
        """
        choice = choose_by_hand(self.case.market, self.case.demand)
        worth = weigh(choice.takes, self.case.market, self.case.policy)
        return _table([_row(self.case, "by hand", choice.takes, worth, 0.0)])

    def questions(self) -> pd.DataFrame:
        """Write what to ask suppliers, table ``questions``."""
        return questions_of(self.case)


def compare(
    shop: Shop,
    shortages: pd.DataFrame,
    offer_days: pd.DataFrame,
    day: date,
    pins: Pins | None = None,
    effort: Effort | None = None,
) -> Comparison:
    """Find the least cost, the balanced and the earliest answer.

    Parameters
    ----------
    shortages
        Table ``shortages``.
    offer_days
        Table ``offer_days``.
    pins
        Choices that a person has made.
    effort
        How much work may go into each proof.
    """
    case = read_case(shop, shortages, offer_days, day)
    found = [find(case, aim, pins or Pins(), effort or Effort()) for aim in AIMS]
    rows = [_row(case, a.aim, a.takes, a.worth, a.gap) for a in found]
    return Comparison(_table(rows), case, {a.aim: a for a in found})


def _table(rows: list[tuple[str | int | float, ...]]) -> pd.DataFrame:
    """Write rows as table ``answers``."""
    table = pd.DataFrame(rows, columns=ANSWERS.names) if rows else ANSWERS.empty()
    table["last"] = answers.days(table["last"].tolist())
    return ANSWERS.conform(table)


def _row(
    case: Case, name: str, takes: tuple[Take, ...], worth: Worth, gap: float
) -> tuple[str | int | float, ...]:
    """Write an answer in the columns of ``answers``."""
    paid = (worth.goods, worth.freight, worth.hazard, worth.filling)
    money = (*paid, worth.deposits, worth.deposits_back, worth.waiting, worth.parcels)
    late = sum(t.deal.usable > min(n.day for n, _ in t.covers) for t in takes)
    last = max((t.deal.usable for t in takes), default=FAR)
    days = sum(worth.days_late.values())
    counts = (len(worth.orders), days, late, last, gap)
    return (name, worth.total, *money, case.market.currency, *counts)


def bought(case: Case, answer: Answer) -> Bought:
    """Write an answer as frames, with the reason of each line."""
    buys, buy_needs = answers.frames(explain(case, answer))
    terms = [
        (o.seller.name, o.seller.currency, o.goods, o.freight, o.hazard, o.filling)
        for o in answer.worth.orders
    ]
    findings = (
        *case.findings(answer.unmet, goods_of(answer)),
        *notes.worth_filling(answer.worth.orders),
        *core_notes(answer.takes, case.market.cores),
        *_unproved(answer),
    )
    order_terms = pd.DataFrame(terms, columns=ORDER_TERMS.names) if terms else ORDER_TERMS.empty()
    needs = lend_on(buy_needs, case.served)
    return Bought(buys, needs, ORDER_TERMS.conform(order_terms), findings)


def _unproved(answer: Answer) -> tuple[Finding, ...]:
    """Say when the proof was not finished."""
    if answer.proved:
        return ()
    text = (
        f"the {answer.aim} answer is the best found so far; a better one may cost up to "
        f"{100 * answer.gap:.2f} % less. Allow more time to settle it"
    )
    return (Finding(Level.NOTE, text),)


def drops(
    shop: Shop,
    shortages: pd.DataFrame,
    offer_days: pd.DataFrame,
    day: date,
    pins: Pins | None = None,
    effort: Effort | None = None,
) -> pd.DataFrame:
    """Tell what doing without each supplier of the balanced answer would cost.

    Returns
    -------
    DataFrame
        Table ``drops``, one row for each supplier of the answer. Parts that nobody else sells are
        left out of the comparison.
    """
    case = read_case(shop, shortages, offer_days, day)
    pins, effort = pins or Pins(), effort or Effort()
    whole = find(case, BALANCED, pins, effort)
    rows = []
    for order in whole.worth.orders:
        name = order.seller.name
        kept = pins.keep - {name}
        fewer = Pins(pins.prefer, pins.supplier_not | {name}, pins.only, kept)
        other = find(case, BALANCED, fewer, effort)
        unmet = sorted(other.unmet.keys() - whole.unmet.keys())
        same = whole
        if unmet:
            left = {part: needs for part, needs in case.demand.items() if part not in unmet}
            same = find(replace(case, demand=left), BALANCED, pins, effort)
        days = sum(other.worth.days_late.values()) - sum(same.worth.days_late.values())
        money = (other.worth.total - same.worth.total, other.worth.money - same.worth.money)
        rows.append((name, *money, days, "; ".join(unmet), other.gap))
    return DROPS.conform(pd.DataFrame(rows, columns=DROPS.names)) if rows else DROPS.empty()


def questions(
    shop: Shop, shortages: pd.DataFrame, offer_days: pd.DataFrame, day: date
) -> pd.DataFrame:
    """Write what to ask suppliers: parts that nobody offers, ended prices, blank prices and days.

    Returns
    -------
    DataFrame
        Table ``questions``: a row for each part and supplier that may know it.
    """
    return questions_of(read_case(shop, shortages, offer_days, day))
