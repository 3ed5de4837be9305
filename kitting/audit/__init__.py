"""Room audit: what past builds forgot.

Counts forgotten parts by part, family, joint, stage and cause, with rates and their intervals, and
tells for each whether today's bill would have caught it. Nothing is counted twice; what is odd
about the entries is told as findings. Pure.
"""

from __future__ import annotations

from kitting.audit.caught import caught
from kitting.audit.events import findings
from kitting.audit.rates import wilson
from kitting.audit.tally import tally

__all__ = ["caught", "findings", "tally", "wilson"]
