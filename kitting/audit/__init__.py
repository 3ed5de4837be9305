"""Room audit: what past builds forgot, and what to change so that it is not forgotten again.

Counts forgotten parts by part, family, joint, stage, supplier and cause, with rates, their
intervals and the rates to expect of small numbers; tells whether it is getting better, and for
each forgotten part whether today's bill would have caught it; proposes changes with evidence and
worth, and tests them on builds that they were not made from; suggests what a kit may lack by what
past builds used together. Nothing is counted twice; what is odd
about the entries is told as findings. Pure.
"""

from __future__ import annotations

from kitting.audit.association import Rule, frequent, rule
from kitting.audit.audited import Audited, audited
from kitting.audit.backtest import back_test
from kitting.audit.caught import caught
from kitting.audit.changes import changed_sheets, decision, new_rows
from kitting.audit.events import findings
from kitting.audit.evidence import Also
from kitting.audit.kept import below_kept
from kitting.audit.progress import progress
from kitting.audit.proposals import proposals
from kitting.audit.rates import wilson
from kitting.audit.shrink import beta_by_moments, fit_beta, james_stein, shrunk
from kitting.audit.suggestions import suggestions
from kitting.audit.tally import ASPECTS, tally
from kitting.audit.texts import mentions

__all__ = [
    "ASPECTS",
    "Also",
    "Audited",
    "Rule",
    "audited",
    "back_test",
    "below_kept",
    "beta_by_moments",
    "caught",
    "changed_sheets",
    "decision",
    "findings",
    "fit_beta",
    "frequent",
    "james_stein",
    "mentions",
    "new_rows",
    "progress",
    "proposals",
    "rule",
    "shrunk",
    "suggestions",
    "tally",
    "wilson",
]
