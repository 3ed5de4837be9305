"""Deposits on old parts (cores): how much of them comes back, and what to say of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.sourcing.demand import Take
    from kitting.tables.shop import Shop

ENOUGH = 10
"""Old parts whose end is known from which the shop's own record stands for a blank setting; ours:
with ten, one more either way moves the share by less than ten of a hundred."""
SETTING = "core_return_percent"


@dataclass(frozen=True, slots=True)
class Cores:
    """How many old parts come back accepted.

    Parameters
    ----------
    percent
        Of a hundred; 0 when nobody said and too few are known.
    said
        The setting says so.
    known, accepted
        Claims on old parts whose end is known, and those of them whose deposit came back.
    """

    percent: int
    said: bool = False
    known: int = 0
    accepted: int = 0


def read_cores(shop: Shop) -> tuple[Cores, list[str]]:
    """Read the setting ``core_return_percent``; when blank, learn it from the shop's own claims.

    A claim on an old part that was settled counts as accepted, one that was scrapped as not.

    Returns
    -------
    tuple
        What was read, and what could not be read, in words.
    """
    text = shop.setting(SETTING).strip().removesuffix("%").strip()
    faults = []
    if text:
        if text.isascii() and text.isdigit() and int(text) <= 100:
            return Cores(int(text), said=True), []
        faults = [f'setting "{SETTING}": "{text}" is not a whole number from 0 to 100']
    claims = shop["claims"]
    claims = claims[claims["what"] == "core"]
    if claims.empty:
        return Cores(0), faults
    scrapped = set(claims.loc[claims["event"] == "scrapped", "claim"])
    settled = set(claims.loc[claims["event"] == "settled", "claim"]) - scrapped
    known, accepted = len(scrapped | settled), len(settled)
    percent = 100 * accepted // known if known >= ENOUGH else 0
    return Cores(percent, known=known, accepted=accepted), faults


def core_notes(takes: Iterable[Take], cores: Cores) -> list[Finding]:
    """Say by what the deposits of an answer were counted; ask where nobody said it."""
    parts = sorted({take.deal.part for take in takes if take.deal.deposit})
    if not parts:
        return []
    named = ", ".join(parts)
    if cores.said:
        text = f"{cores.percent} of 100 old parts are counted as coming back, as the shop says"
    elif cores.known >= ENOUGH:
        text = (
            f"{cores.accepted} of the {cores.known} old parts whose end is known were accepted, so "
            f"{cores.percent} of 100 are counted as coming back"
        )
    else:
        text = (
            "nobody said how many old parts come back accepted, so the whole deposit counts as "
            f'cost; say it in the setting "{SETTING}", such as 90'
        )
    return [Finding(Level.NOTE, f"deposits on {named}: {text}", "shop")]
