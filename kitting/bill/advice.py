"""Amounts, figures, fluids and emission controls in one go, without what a person signed away."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import pandas as pd

from kitting.bill.amounts import CHECK as AMOUNTS
from kitting.bill.amounts import mix_cautions, short_amounts
from kitting.tables.flow import CAUTIONS, GAPS

if TYPE_CHECKING:
    from kitting.tables.contract import Table
    from kitting.tables.references import References
    from kitting.tables.shop import Shop

_LEVELS = {"stop": 0, "warn": 1, "note": 2}


class _Bills(Protocol):
    """The frames of some exploded builds that are read."""

    @property
    def required(self) -> pd.DataFrame: ...
    @property
    def joints(self) -> pd.DataFrame: ...
    @property
    def choices(self) -> pd.DataFrame: ...


def advice(shop: Shop, bills: _Bills, references: References) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Look at the computed amounts, the figures, the fluids and what some builds leave off.

    Parameters
    ----------
    shop
        The shop; without the sheets ``amounts``, ``figures``, ``fluids`` and ``options`` there is
        nothing to say.
    bills
        The exploded builds.
    references
        The reference tables.

    Returns
    -------
    tuple
        Table ``gaps``, what stops a build first, without those that a signed waiver with a reason
        covers; and table ``cautions``. The shop's setting ``checks_off`` may name ``amounts``,
        ``torque figures`` and ``fluids``, with ``;`` between; emission controls cannot be switched
        off.
    """
    off = {name.strip() for name in shop.setting("checks_off").split(";")}
    found = [GAPS.empty() if AMOUNTS in off else short_amounts(shop, bills, references)]
    told = [mix_cautions(shop, bills, references)]
    # A shop without these sheets does not pay for loading what reads them.
    if shop.has("figures") and "torque figures" not in off:
        from kitting.bill.figures import figure_gaps

        found.append(figure_gaps(shop, bills, references))
    if shop.has("fluids") and "fluids" not in off:
        from kitting.bill.fluids import fluid_cautions

        told.append(fluid_cautions(shop, bills, references))
    if shop.has("options"):
        from kitting.bill.emissions import emissions

        told.append(emissions(shop, bills, references))
    return _not_waived(shop, _together(GAPS, found)), _together(CAUTIONS, told)


def _together(table: Table, frames: list[pd.DataFrame]) -> pd.DataFrame:
    filled = [f for f in frames if len(f)]
    if len(filled) < 2:
        return filled[0] if filled else frames[0]
    return table.conform(pd.concat(filled, ignore_index=True))


def _not_waived(shop: Shop, gaps: pd.DataFrame) -> pd.DataFrame:
    """Leave out what is waived, and sort by level."""
    if not len(gaps):
        return gaps
    waivers = shop["waivers"]
    names = ("assembly", "joint", "role", "build", "reason", "signed")
    waived = {
        tuple(key)
        for *key, reason, signed in zip(*(waivers[c].tolist() for c in names), strict=True)
        if reason.strip() and signed.strip()
    }
    keys = zip(*(gaps[c].tolist() for c in names[:4]), strict=True)
    keep = [k not in waived and (*k[:3], "") not in waived for k in keys]
    rank = gaps["level"].map(_LEVELS).sort_values(kind="stable").index
    kept = pd.Series(keep, index=gaps.index)[rank]
    return GAPS.conform(gaps.loc[kept.index[kept.to_numpy()]])
