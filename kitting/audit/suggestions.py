"""What a kit may lack though no list names it: parts that past builds like it used."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.audit.rates import wilson
from kitting.audit.together import fit, kit_matrix, missing_scores, vstack_kits
from kitting.tables.audit import SUGGESTIONS
from kitting.terms.words import Fits

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from numpy.typing import NDArray

    from kitting.audit.together import Kits
    from kitting.tables.shop import Shop

    Reals = NDArray[np.float64]
    Place = tuple[str, str]

MOST = 10
LATEST = 2000  # finished builds that are looked at; older ones say little of today's kits
_BUILDS = 3  # past builds below which nothing is suggested
_BOTH, _SHARE = 2, 0.5  # past builds that a reason needs, and their share


@dataclass(frozen=True)
class _Past:
    """What finished builds used.

    Parameters
    ----------
    kits
        Builds by parts, ones.
    numbers
        Column of each part.
    places
        Stages and joints at which each part was used, with how often.
    """

    kits: Kits
    numbers: Mapping[str, int]
    places: Mapping[str, Mapping[Place, int]]


def suggestions(shop: Shop, required: pd.DataFrame, joints: pd.DataFrame) -> pd.DataFrame:
    """Suggest parts that builds like these used and their kits lack; notes, never stops.

    What the latest finished builds used, or forgot, and what sets contain are kits; the parts that
    a kit seems to want come from ``missing_scores``. The joints are a second signal: a score counts
    by the share of the part's past uses that were at joints which this build closes. Each
    suggestion needs a reason: a part of the kit with which it went together on two builds at
    least, and on half of those that used that part. A set that shares contents with the kit is not
    suggested.

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
    if required.empty:
        return SUGGESTIONS.empty()
    inside = _inside(shop)
    past = _past(shop, inside)
    if past.kits.shape[0] < _BUILDS:
        return SUGGESTIONS.empty()
    numbers = past.numbers
    sets = [[numbers[p] for p in parts] for parts in inside.values()]
    model = fit(vstack_kits(past.kits, kit_matrix(sets, len(numbers))))
    kits = {b: set(parts) for b, parts in required.groupby("build", sort=False)["part"]}
    looked_at = kit_matrix(
        [[numbers[p] for p in kit & numbers.keys()] for kit in kits.values()], len(numbers)
    )
    closes: dict[str, set[Place]] = {}
    for build, stage, joint in joints[["build", "stage", "joint"]].itertuples(
        index=False, name=None
    ):
        closes.setdefault(build, set()).add((stage, joint))
    served = _served(shop)
    names = dict(shop["parts"][["part", "name"]].itertuples(index=False, name=None))
    rows = []
    for (build, kit), score in zip(
        kits.items(), np.exp(missing_scores(model, looked_at)), strict=True
    ):
        covered = kit.union(*(inside.get(p, set()) for p in kit), *(served.get(p, ()) for p in kit))
        covered |= {name for name, within in inside.items() if within & covered}
        at = closes.get(build, set())
        seen = {
            p: s * _here(past, p, at)
            for p, s in zip(numbers, score.tolist(), strict=True)
            if p not in covered
        }
        rows += list(_told(build, kit, seen, past, names))
    if not rows:
        return SUGGESTIONS.empty()
    return SUGGESTIONS.check(SUGGESTIONS.conform(pd.DataFrame(rows, columns=SUGGESTIONS.names)))


def _past(shop: Shop, inside: Mapping[str, set[str]]) -> _Past:
    """Return what the latest finished builds used; those of which nothing is told are left out."""
    finished = shop["builds"].dropna(subset="finished")
    finished = finished.sort_values(["finished", "build"])["build"].tail(LATEST)
    assemblies = {*shop["stages"]["assembly"], *shop["lines"]["assembly"]}
    cells = ["build", "part", "stage", "joint"]
    used = shop["used"][cells]
    used = used[used["build"].isin(finished)]
    late = shop["forgotten"][cells]
    uses = pd.concat([used, late[late["build"].isin(used["build"])]], ignore_index=True)
    uses = uses[~uses["part"].isin(assemblies)]
    uses = uses.groupby(cells, sort=False).size().reset_index(name="times")
    pairs = uses[["build", "part"]].drop_duplicates()
    builds = {b: n for n, b in enumerate(pairs["build"].unique().tolist())}
    names = sorted({*pairs["part"].unique().tolist(), *set().union(*inside.values())})
    numbers = {p: n for n, p in enumerate(names)}
    kits: list[list[int]] = [[] for _ in builds]
    for build, part in zip(pairs["build"].tolist(), pairs["part"].tolist(), strict=True):
        kits[builds[build]].append(numbers[part])
    places: dict[str, dict[Place, int]] = {}
    sums = uses.groupby(["part", "stage", "joint"], sort=False)["times"].sum()
    for (part, stage, joint), times in sums.items():
        places.setdefault(part, {})[stage, joint] = int(times)
    return _Past(kit_matrix(kits, len(numbers)), numbers, places)


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
    held = sorted(kit & past.numbers.keys())
    of_kit = past.kits[:, [past.numbers[p] for p in held]]
    alone = np.asarray(of_kit.sum(axis=0)).ravel()
    position = 0
    for part, score in sorted(scores.items(), key=lambda item: (-item[1], item[0])):
        if position >= MOST or score <= 0:
            return
        column = past.kits[:, [past.numbers[part]]]
        both = (of_kit.T @ column).toarray().ravel()
        at = _reason(both, alone)
        if at < 0:
            continue
        position += 1
        words = (
            f"{int(both[at])} of {int(alone[at])} past builds with {_named(held[at], names)} also "
            f"used {_named(part, names)}"
        )
        lift = both[at] / alone[at] * past.kits.shape[0] / column.sum()
        counts = int(both[at]), int(alone[at])
        yield build, position, part, held[at], *counts, lift, score, words


def _reason(both: Reals, alone: Reals) -> int:
    """Return which part of the kit speaks most surely for another; below zero if none does.

    Surest is the highest lower end of the Wilson interval; of equal ones the first by name.
    """
    enough = (both >= _BOTH) & (both >= _SHARE * alone)
    if not enough.any():
        return -1
    low, _ = wilson(both, alone)
    return int(np.argmax(np.where(enough, low, -1.0)))


def _named(part: str, names: Mapping[str, str]) -> str:
    name = names.get(part, "")
    return f"{part} ({name})" if name else part
