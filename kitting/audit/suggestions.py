"""What a kit may lack though no list names it: parts that past builds like it used."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.audit.rates import wilson
from kitting.audit.together import fit, kit_matrix, missing_scores
from kitting.tables.audit import SUGGESTIONS
from kitting.terms.words import Fits

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from kitting.tables.shop import Shop

    Place = tuple[str, str]

MOST = 10
_BUILDS = 3  # past builds below which nothing is suggested
_BOTH, _SHARE = 2, 0.5  # past builds that a reason needs, and their share


@dataclass(frozen=True)
class _Past:
    """What finished builds used.

    Parameters
    ----------
    kits
        Parts by build.
    places
        Stages and joints at which each part was used, with how often.
    """

    kits: Mapping[str, set[str]]
    places: Mapping[str, Mapping[Place, int]]


def suggestions(shop: Shop, required: pd.DataFrame, joints: pd.DataFrame) -> pd.DataFrame:
    """Suggest parts that builds like these used and their kits lack; notes, never stops.

    What finished builds used, or forgot, and what sets contain are kits; the parts that a kit
    seems to want come from ``missing_scores``. The joints are a second signal: a score counts by
    the share of the part's past uses that were at joints which this build closes. Each suggestion
    needs a reason: a part of the kit with which it went together on two builds at least, and on
    half of those that used that part. A set that shares contents with the kit is not suggested.

    Parameters
    ----------
    shop
        Reads ``builds``, ``used``, ``forgotten``, ``sets``, ``stand_ins``, ``parts``, ``lines``.
    required
        Table of that name for the builds that are looked at.
    joints
        Table ``build_joints`` for the same builds.

    Returns
    -------
    DataFrame
        Table ``suggestions``, ten for each build at most.
    """
    past = _past(shop)
    if len(past.kits) < _BUILDS or required.empty:
        return SUGGESTIONS.empty()
    inside = _inside(shop)
    known = [*past.kits.values(), *inside.values()]
    numbers = {p: n for n, p in enumerate(sorted(set().union(*known)))}
    model = fit(kit_matrix([[numbers[p] for p in kit] for kit in known], len(numbers)))
    kits = {b: set(parts) for b, parts in required.groupby("build", sort=False)["part"]}
    having = {b: kit & numbers.keys() for b, kit in kits.items()}
    scores = missing_scores(
        model, kit_matrix([[numbers[p] for p in k] for k in having.values()], len(numbers))
    )
    closes: dict[str, set[Place]] = {}
    for build, stage, joint in joints[["build", "stage", "joint"]].itertuples(
        index=False, name=None
    ):
        closes.setdefault(build, set()).add((stage, joint))
    served = _served(shop)
    names = dict(shop["parts"][["part", "name"]].itertuples(index=False, name=None))
    rows = []
    for (build, kit), score in zip(kits.items(), np.exp(scores), strict=True):
        covered = kit.union(*(inside.get(p, set()) for p in kit), *(served.get(p, ()) for p in kit))
        covered |= {name for name, within in inside.items() if within & covered}
        seen = {p: s * _here(past, p, closes.get(build, set())) for p, s in
                zip(numbers, score.tolist(), strict=True) if p not in covered}  # fmt: skip
        rows += list(_told(build, kit, seen, past, names))
    if not rows:
        return SUGGESTIONS.empty()
    return SUGGESTIONS.check(SUGGESTIONS.conform(pd.DataFrame(rows, columns=SUGGESTIONS.names)))


def _past(shop: Shop) -> _Past:
    """Return what finished builds used; builds of which nothing is told are left out."""
    finished = set(shop["builds"].dropna(subset="finished")["build"])
    cells = ["build", "part", "stage", "joint"]
    assemblies = {*shop["stages"]["assembly"], *shop["lines"]["assembly"]}
    kits: dict[str, set[str]] = {}
    places: dict[str, dict[Place, int]] = {}
    told = set(shop["used"]["build"])
    for name in ("used", "forgotten"):
        for build, part, stage, joint in shop[name][cells].itertuples(index=False, name=None):
            if build in finished and build in told and part not in assemblies:
                kits.setdefault(build, set()).add(part)
                at = places.setdefault(part, {})
                at[stage, joint] = at.get((stage, joint), 0) + 1
    return _Past(kits, places)


def _inside(shop: Shop) -> dict[str, set[str]]:
    """Return what sets contain."""
    sets = shop["sets"]
    sets = sets[sets["fits"] != str(Fits.DO_NOT_FIT)]
    return {name: set(parts) for name, parts in sets.groupby("set", sort=False)["part"]}


def _served(shop: Shop) -> dict[str, list[str]]:
    """Return for each part those that it may serve for, or that may serve for it."""
    found: dict[str, list[str]] = {}
    for part, stand_in in shop["stand_ins"][["part", "stand_in"]].itertuples(
        index=False, name=None
    ):
        found.setdefault(part, []).append(stand_in)
        found.setdefault(stand_in, []).append(part)
    return found


def _here(past: _Past, part: str, closes: Collection[Place]) -> float:
    """Return the share of a part's past uses that were at joints which a build closes.

    Uses for a stage as a whole count as half where the build has the stage, as do parts that no
    build used but a set contains.
    """
    at = past.places.get(part, {})
    if not at:
        return 0.5
    stages = {stage for stage, _ in closes}
    here = sum(
        n * (0.5 if not joint and stage in stages else (stage, joint) in closes)
        for (stage, joint), n in at.items()
    )
    return here / sum(at.values())


def _told(
    build: str,
    kit: set[str],
    scores: Mapping[str, float],
    past: _Past,
    names: Mapping[str, str],
) -> Iterator[tuple[object, ...]]:
    """Yield the likeliest parts that have a reason, as rows of table ``suggestions``."""
    position = 0
    for part, score in sorted(scores.items(), key=lambda item: (-item[1], item[0])):
        if position >= MOST or score <= 0:
            return
        reason = _reason(part, kit, past)
        if reason is None:
            continue
        because, both, one = reason
        with_part = sum(part in k for k in past.kits.values())
        position += 1
        words = (
            f"{both} of {one} past builds with {_named(because, names)} also used "
            f"{_named(part, names)}"
        )
        lift = both / one * len(past.kits) / with_part
        yield build, position, part, because, both, one, lift, score, words


def _reason(part: str, kit: set[str], past: _Past) -> tuple[str, int, int] | None:
    """Return the part of the kit that speaks most surely for another, with both counts.

    Surest is the highest lower end of the Wilson interval; of equal ones the part that fewer
    builds used without it, then the first by name.
    """
    alone: dict[str, int] = {}
    both: dict[str, int] = {}
    for held in past.kits.values():
        for p in held & kit:
            alone[p] = alone.get(p, 0) + 1
            if part in held:
                both[p] = both.get(p, 0) + 1
    fit_ones = [p for p, n in both.items() if n >= _BOTH and n >= _SHARE * alone[p]]
    if not fit_ones:
        return None
    low, _ = wilson([both[p] for p in fit_ones], [alone[p] for p in fit_ones])
    best = min(zip((-low).tolist(), fit_ones, strict=True))[1]
    return best, both[best], alone[best]


def _named(part: str, names: Mapping[str, str]) -> str:
    name = names.get(part, "")
    return f"{part} ({name})" if name else part
