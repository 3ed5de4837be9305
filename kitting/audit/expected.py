"""The rate to expect of a thing: its own, drawn towards that of its like."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from kitting.audit.shrink import fit_beta, shrunk

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    Key = tuple[str, str]
    Reals = NDArray[np.float64]

ALL = "all of its sort"


def expected(
    counts: Mapping[Key, tuple[int, int]],
    others: Mapping[Key, int],
    group: Callable[[Key], str] | None = None,
) -> tuple[list[str], Reals, Reals, Reals]:
    """Draw rates towards the rate of their group, and groups towards the rate of all.

    The mean m and the strength M of the rates come from every thing of the sort that builds hold,
    never forgotten ones too (``fit_beta``; M = a + b). A group of some things has the rate
    ``(M m + its sum of builds) / (M + its sum of could)``, and a thing the posterior of its own
    counts under a beta prior of that mean and of strength M.

    Parameters
    ----------
    counts
        Builds on which each thing was forgotten, and could have been.
    others
        Builds on which things of this sort could have been forgotten; those of ``counts`` aside,
        none was.
    group
        Name of a thing's group, blank for none; without it all are one group.

    Returns
    -------
    list, array, array, array
        For each thing of ``counts``: the group, the expected rate, and its 95 % interval.
    """
    seen = list(counts.values()) + [(0, n) for key, n in others.items() if key not in counts]
    x, n = np.array(seen, dtype="float64").reshape(-1, 2).T
    a, b = fit_beta(x, n)
    strength = a + b
    named: list[str] = [""] * len(counts)
    means: dict[str, float] = {"": a / strength}
    if group is not None:
        named = [group(key) for key in counts]
        done: Counter[str] = Counter()
        could: Counter[str] = Counter()
        everything = dict(others) | {key: pair[1] for key, pair in counts.items()}
        for key, of in everything.items():
            name = group(key)
            could[name] += of
            done[name] += counts.get(key, (0, 0))[0]
        for name in could:
            if name:
                means[name] = (a + done[name]) / (strength + could[name])
    prior = np.array([means[name] for name in named])
    own = np.array(list(counts.values()), dtype="float64").reshape(-1, 2)
    mean, low, high = shrunk(own[:, 0], own[:, 1], prior * strength, (1 - prior) * strength)
    return [name or ALL for name in named], mean, low, high
