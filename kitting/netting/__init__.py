"""Netting: which lots and coming orders cover which needs, and what stays short.

``needs`` dates what the bill asks for, ``supply`` lists what is on the shelf and on the way with
the days between which each may be used, and ``net`` gives each need its supply so that nothing is
promised twice. ``open_sets`` opens sets that nothing asks for as such, and ``wait`` leaves what is
late to its order where nothing would bring it sooner. ``findings`` names the lots that nobody
should fit any more (``expired``), the orders that miss the day of a need (``come_late``) and what
is odd about kits; ``issued`` sets what went into a build's kits against what is fitted. The
arithmetic is in ``match`` (whole numbers in, whole numbers out); everything else handles frames.
"""

from __future__ import annotations

from kitting.netting.count_first import count_first
from kitting.netting.demand import needs
from kitting.netting.issued import Netted, difference_text, findings, issued, named
from kitting.netting.kept import kept_needs
from kitting.netting.late import come_late, not_sooner, wait
from kitting.netting.net import net
from kitting.netting.opening import open_sets
from kitting.netting.shelf import expired, supply
from kitting.netting.spare import spare_needs

__all__ = [
    "Netted",
    "come_late",
    "count_first",
    "difference_text",
    "expired",
    "findings",
    "issued",
    "kept_needs",
    "named",
    "needs",
    "net",
    "not_sooner",
    "open_sets",
    "spare_needs",
    "supply",
    "wait",
]
