"""Everything the audit tells, in one place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.audit.backtest import back_test
from kitting.audit.events import counted, findings
from kitting.audit.kept import below_kept
from kitting.audit.proposals import proposals
from kitting.audit.rates import wilson
from kitting.audit.suggestions import suggestions
from kitting.audit.tally import tally

if TYPE_CHECKING:
    import pandas as pd

    from kitting.tables.shop import Shop
    from kitting.terms.findings import Finding


@dataclass(frozen=True)
class Audited:
    """What the audit tells of a shop.

    Parameters
    ----------
    shop
        The shop.
    tallies
        Tables ``tally`` by aspect, ``trend`` and ``progress``.
    caught, proposed, decided, back_test, suggestions
        Tables ``caught``, ``proposed``, ``proposals``, ``back_test`` and ``suggestions``.
    held_back
        95 % interval of the share of the back-test that was caught.
    findings
        What is odd, and what is short on the shelf.
    """

    shop: Shop
    tallies: dict[str, pd.DataFrame]
    caught: pd.DataFrame
    proposed: pd.DataFrame
    decided: pd.DataFrame
    back_test: pd.DataFrame
    held_back: tuple[float, float]
    suggestions: pd.DataFrame
    findings: tuple[Finding, ...]


def audited(
    shop: Shop,
    caught: pd.DataFrame,
    open_builds: tuple[pd.DataFrame, pd.DataFrame],
    decided: pd.DataFrame,
) -> Audited:
    """Audit a shop.

    Parameters
    ----------
    shop
        The shop as of the day.
    caught
        Table ``caught``.
    open_builds
        Tables ``required`` and ``build_joints`` of the builds that are not finished.
    decided
        Table ``proposals``.

    Raises
    ------
    ValueError
        When a condition or a build's options cannot be read.
    """
    events = counted(shop)
    tallies = tally(shop, events)
    tested = back_test(shop, events)
    low, high = wilson(int(tested["caught"].sum()), len(tested))
    return Audited(
        shop=shop,
        tallies=tallies,
        caught=caught,
        proposed=proposals(shop, caught, tallies, decided, events),
        decided=decided,
        back_test=tested,
        held_back=(float(low), float(high)),
        suggestions=suggestions(shop, *open_builds),
        findings=(*findings(shop, events), *below_kept(shop, decided)),
    )
