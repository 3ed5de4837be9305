"""Sourcing: which offers cover the shortages, at what cost, and why.

``choose`` takes for each short part the cheapest offer that is usable in time, else the fastest,
and a set where it costs less than the parts it holds.
"""

from kitting.sourcing.choose import choose

__all__ = ["choose"]
