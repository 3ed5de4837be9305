"""Which parts go together: a closed-form model of kits, and the nearest kits beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Kits = Any  # scipy.sparse.csr_matrix, kits x parts, 1 where the kit holds the part

# Found on kits held back from three quarters of 1,356 published part sets, then left alone.
RIDGE, BY_COUNT, BY_LENGTH = 10.0, 0.3, 0.5
LIKE_SHARE, NEIGHBOURS = 0.3, 60
_FLOOR = 1e-3


def kit_matrix(kits: Sequence[Sequence[int]], parts: int) -> Kits:
    """Return kits, each a sequence of part numbers from 0, as a sparse matrix of ones."""
    from scipy.sparse import csr_matrix

    ends = np.cumsum([0, *(len(set(k)) for k in kits)])
    columns = np.array([part for k in kits for part in sorted(set(k))], dtype="int64")
    return csr_matrix((np.ones(len(columns)), columns, ends), (len(kits), parts))


def vstack_kits(one: Kits, other: Kits) -> Kits:
    """Return the kits of two matrices of the same parts in one."""
    from scipy.sparse import vstack

    return vstack([one, other]).tocsr()


@dataclass(frozen=True)
class Together:
    """A fitted model.

    Parameters
    ----------
    kits
        The kits it was fitted to.
    scale
        Weight of each part [1 / square root of its ridge].
    rows
        Kits with weights and scales applied, or ``None`` where ``solved`` is parts x parts.
    solved
        rows' (rows rows' + 1)^-1 rows, or its right two factors, kits x parts.
    own
        What a part would tell of itself, which is left out.
    """

    kits: Kits
    scale: Reals
    rows: Kits | None
    solved: Reals
    own: Reals

    def scores(self, kits: Kits) -> Reals:
        """Return how much each kit seems to want each part, kits x parts; greater is likelier."""
        from scipy.sparse import diags

        like = kits @ diags(self.scale)
        if self.rows is not None:
            like = (like @ self.rows.T).toarray()
        return np.asarray((like @ self.solved) / ((1 - self.own) * self.scale)[None])


def fit(
    kits: Kits, ridge: float = RIDGE, by_count: float = BY_COUNT, by_length: float = BY_LENGTH
) -> Together:
    """Fit the closed-form item model of Steck (WWW 2019, equation 8), in the smaller dimension.

    Each part is predicted from the others by ridge regression with the part itself left out: with
    G = X'X the weights are ``-P_ij / P_jj``, ``P = (G + D)^-1``. Where kits are fewer than parts P
    is never formed: with Y = X D^-1/2 all follows from the kits x kits matrix ``Y Y' + 1``, by
    ``Y'(Y Y' + 1)^-1 Y = 1 - (Y'Y + 1)^-1`` (Woodbury). A kit of n parts weighs
    ``n^-by_length``, and a part that m kits hold has the ridge ``ridge + by_count m`` (as dropping
    parts at random would give; Steck, NeurIPS 2020). With by_count and by_length 0 it is the model
    of 2019.

    Parameters
    ----------
    kits
        From ``kit_matrix``.
    ridge
        Above zero; more trusts the kits less.
    by_count, by_length
        See above.
    """
    from scipy.linalg import cho_factor, cho_solve
    from scipy.sparse import diags

    lengths = np.maximum(np.asarray(kits.sum(axis=1)).ravel(), 1.0)
    weights = lengths**-by_length
    weights = weights / weights.mean() if len(weights) else weights
    scale = (ridge + by_count * np.asarray(kits.sum(axis=0)).ravel()) ** -0.5
    rows = (diags(np.sqrt(weights)) @ kits @ diags(scale)).tocsr()
    few = kits.shape[0] < kits.shape[1]
    gram = (rows @ rows.T if few else rows.T @ rows).toarray()
    gram[np.diag_indices_from(gram)] += 1.0
    if not few:
        whole = np.eye(len(gram))
        solved = whole - cho_solve(cho_factor(gram, lower=True, overwrite_a=True), whole)
        return Together(kits, scale, None, solved, np.diag(solved).copy())
    solved = cho_solve(cho_factor(gram, lower=True, overwrite_a=True), rows.toarray())
    own = np.asarray(rows.multiply(solved).sum(axis=0)).ravel()
    return Together(kits, scale, rows, solved, own)


def missing_scores(model: Together, kits: Kits) -> Reals:
    """Rank what kits may lack: the model's scores and what the nearest kits hold, multiplied.

    Parts that a kit holds have no score (minus infinity).

    Returns
    -------
    array
        Kits x parts; greater is likelier.
    """
    near = nearest(model.kits, kits, NEIGHBOURS, rare=True)
    near = near / np.maximum(near.max(axis=1, keepdims=True), 1e-12)
    mixed = np.log(np.maximum(model.scores(kits), 0.0) + _FLOOR)
    return without_held(mixed + LIKE_SHARE * np.log(near + 1e-4), kits)


def nearest(known: Kits, kits: Kits, most: int = 30, *, rare: bool = False) -> Reals:
    """Return what the nearest known kits hold, weighted by their likeness.

    Likeness is the cosine of the kits' parts; with ``rare`` each part counts by the logarithm of
    how few kits hold it, and likeness is squared.
    """
    from scipy.sparse import csr_matrix, diags

    held = np.maximum(np.asarray(known.sum(axis=0)).ravel(), 1.0)
    by = diags(np.log(known.shape[0] / held) if rare else np.ones(len(held)))
    one, other = kits @ by, known @ by
    lengths = [np.sqrt(np.asarray(m.multiply(m).sum(axis=1)).ravel()) for m in (one, other)]
    like = (one @ other.T).toarray()
    like /= np.maximum(lengths[0], 1e-12)[:, None] * np.maximum(lengths[1], 1e-12)[None]
    if rare:
        like = like**2
    if like.shape[1] > most:
        cut = np.partition(like, -most, axis=1)[:, -most][:, None]
        like = np.where(like >= cut, like, 0.0)
    return np.asarray((csr_matrix(like) @ known).toarray())


def without_held(scores: Reals, kits: Kits) -> Reals:
    """Return the scores with minus infinity where the kit holds the part."""
    kept = scores.copy()
    kept[kits.nonzero()] = -np.inf
    return kept
