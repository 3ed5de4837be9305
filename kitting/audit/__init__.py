"""Room audit: what past builds forgot, and what to change so that it is not forgotten again.

Counts forgotten parts by part, family, joint, stage, supplier and cause, with rates, their
intervals and the rates to expect of small numbers; tells whether it is getting better, and for
each forgotten part whether today's bill would have caught it. Nothing is counted twice; what is
odd about the entries is told as findings. Pure.
"""

from __future__ import annotations

from kitting.audit.caught import caught
from kitting.audit.events import findings
from kitting.audit.progress import progress
from kitting.audit.rates import wilson
from kitting.audit.shrink import beta_by_moments, fit_beta, james_stein, shrunk
from kitting.audit.tally import ASPECTS, tally

__all__ = [
    "ASPECTS",
    "beta_by_moments",
    "caught",
    "findings",
    "fit_beta",
    "james_stein",
    "progress",
    "shrunk",
    "tally",
    "wilson",
]
