"""The bill: what a build needs, and which joints lack something.

``open_builds`` says which builds are to be planned, ``explode`` turns builds into required parts
(options, assemblies in assemblies, rules, sets), ``gaps`` finds the roles of joints that nothing
fills, ``graph`` shows an assembly as a graph. ``with_amounts`` fills in the quantities that are
computed, ``advice`` looks at amounts, figures and fluids, ``packs`` opens tubes by their clock,
``spares`` advises spares. Pure: no files, no clock.
"""

from kitting.bill.advice import advice
from kitting.bill.amounts import with_amounts
from kitting.bill.completeness import gaps
from kitting.bill.explosion import Bills, explode
from kitting.bill.graph import graph
from kitting.bill.options import open_builds
from kitting.bill.packs import packs
from kitting.bill.spares import spares
from kitting.bill.totals import total_requirements

__all__ = [
    "Bills",
    "advice",
    "explode",
    "gaps",
    "graph",
    "open_builds",
    "packs",
    "spares",
    "total_requirements",
    "with_amounts",
]
