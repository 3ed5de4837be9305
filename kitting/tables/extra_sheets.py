"""The tables of the sheets that a shop may do without; each sharpens some checks.

Quantities are whole base units of the part's dimension.
"""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table
from kitting.tables.dealings import INVOICES


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_BASE = "base units"

OPENINGS = Table("openings", "holes and ports of castings and what ends each", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("casting", "text", "the casting or housing"),
    _c("opening", "text", "name of the hole or port, unique in its casting"),
    _c("size", "text", "thread with its length, or bore, such as M8x25"),
    _c("opens_to", "text", "oil, coolant, fuel, air, exhaust, vacuum; blank = a blind, dry hole"),
    _c("ends_in", "text", "joint that closes it, several by option ; between; open = on purpose"),
    _c("count", "whole or blank", "how many alike; blank = 1"),
    _c("when", "text", "conditions on options"),
    _c("note", "text", "anything else"),
), ("assembly", "casting", "opening"))

CIRCUITS = Table("circuits", "closed circuits and what fills them", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("circuit", "text", "name of the circuit"),
    _c("stage", "text", "stage in which it is first filled"),
    _c("part", "text", "the fluid, a part"),
    _c("quantity", "whole or blank", "one fill", _BASE),
    _c("unit", "text", "unit as written"),
    _c("fills", "whole or blank", "how many fills the work needs: prime, run-in, first service"),
    _c("filter", "text", "the filter, a part; none = it has no filter"),
    _c("bleed", "text", "how it is bled; none = it bleeds itself"),
    _c("grade", "text", "least grade that the maker asks for, such as SAE 40; blank = not said"),
    _c("source", "text", "manual and page, or who says so"),
), ("assembly", "circuit"))

TEMPORARY = Table("temporary", "what goes in for a time and must come out again", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("part", "text", "the cap, pin, cover or masking: a part"),
    _c("stage", "text", "stage in which it goes in"),
    _c("joint", "text", "joint where it goes in; blank = the stage as a whole"),
    _c("removed_in", "text", "stage in which it comes out"),
    _c("note", "text", "anything else"),
), ("assembly", "part", "stage", "joint"))

OUTWORK = Table("outwork", "what a job sent out takes off, and whether it returns", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("job", "text", "the job, a part of the family outwork"),
    _c("joint", "text", "joint that it opens"),
    _c("part", "text", "part that it takes out"),
    _c("quantity", "whole or blank", "how many", _BASE),
    _c("fate", "text", "returns (fitted by them), comes back (fitted by us) or bought; blank = ?"),
    _c("note", "text", "anything else"),
), ("assembly", "job", "joint", "part"))

AMOUNTS = Table("amounts", "what the amount of a consumable is computed from", "reading", (
    _c("amount", "whole", "row number"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage; blank = the joint's own"),
    _c("joint", "text", "the joint; blank = the stage as a whole"),
    _c("part", "text", "the consumable, a part that is measured"),
    _c("way", "text", "bead, thread, lip, film, clean, fill or mix: how it is computed"),
    _c("count", "whole or blank", "beads, screws, lips or fills at one place; blank = 1"),
    _c("length", "real", "path of the bead, length of the film, edge that is cleaned", "mm"),
    _c("diameter", "real", "of the bead, of the shaft under lip or film", "mm"),
    _c("thread", "text", "thread that is secured, such as M8 or M12x1.5"),
    _c("quantity", "whole or blank", "one fill, or what the mixed circuit holds", _BASE),
    _c("unit", "text", "unit as written"),
    _c("share", "real", "share of the concentrate in the mix, 0 to 1"),
    _c("source", "text", "who measured, or manual and page"),
    _c("note", "text", "anything else"),
), ("amount",))

FLUIDS = Table("fluids", "what the shop's oils and coolants are", "reading", (
    _c("part", "text", "the fluid, a part"),
    _c("kind", "text", "engine oil, run-in oil, gear oil, hydraulic oil, coolant ..."),
    _c("grade", "text", "as on the can: SAE 15W-40, SAE 80W-90, ISO VG 46"),
    _c("base", "text", "mineral, part synthetic or synthetic; blank = not known"),
    _c("viscosity_40", "real", "kinematic viscosity at 40 C", "mm2/s"),
    _c("viscosity_100", "real", "kinematic viscosity at 100 C", "mm2/s"),
    _c("zinc_ppm", "whole or blank", "zinc by mass", "ppm"),
    _c("phosphorus_ppm", "whole or blank", "phosphorus by mass", "ppm"),
    _c("spec", "text", "what its maker says it meets, ; between"),
    _c("source", "text", "data sheet and date"),
    _c("note", "text", "anything else"),
), ("part",))

FIGURES = Table("figures", "torques, angles, clearances, each with its page", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("joint", "text", "the joint"),
    _c("what", "text", "what the figure is: torque, angle, clearance, depth ..."),
    _c("thread", "text", "thread that a torque is for, such as M6; blank = not a thread"),
    _c("class", "text", "property class of the screw, such as 8.8"),
    _c("value", "real", "the figure; blank = look it up before the stage"),
    _c("unit", "text", "unit of the figure, such as N m, lbf ft, deg, mm"),
    _c("source", "text", "the document that says so"),
    _c("page", "text", "its page"),
    _c("note", "text", "anything else"),
), ("assembly", "joint", "what", "thread"))

MEASURED = Table("measured", "joints whose size is known once a stage has measured it", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage that measures"),
    _c("joint", "text", "the joint that the size is chosen for"),
    _c("parts", "text", "the parts to choose from, smallest first, ; between; blank = the family"),
    _c("family", "text", "family of the parts to choose from, where no parts are listed"),
    _c("sizes", "text", "size of each part, in the same order, ; between; blank = not said"),
    _c("middle", "real", "size that is wanted on average; blank = not known", "as the sizes"),
    _c("spread", "real", "standard deviation of the size that is wanted", "as the sizes"),
    _c("note", "text", "anything else"),
), ("assembly", "joint", "parts", "family"))

DATES = Table("dates", "days that a build, or one of its stages, must keep", "reading", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "assembly of the stage; blank = the build as a whole"),
    _c("stage", "text", "the stage; blank = the build as a whole"),
    _c("not_before", "day", "first day on which it may be worked; blank = any"),
    _c("not_after", "day", "last day by which it must be finished; blank = any"),
    _c("note", "text", "who said so"),
), ("build", "assembly", "stage"))

PULLEYS = Table("pulleys", "pulleys of a belt, in the order in which it meets them", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("joint", "text", "the belt's joint"),
    _c("pulley", "text", "name of the pulley; once for each condition"),
    _c("x", "real", "its centre, from any point that all share", "mm"),
    _c("y", "real", "its centre, from any point that all share", "mm"),
    _c("diameter", "real", "at the line along which the belt's length is stated", "mm"),
    _c("turn", "text", "inside, or back: which side of the belt runs on it"),
    _c("when", "text", "conditions on options"),
    _c("source", "text", "who measured, or manual and page"),
), ("assembly", "joint", "pulley", "when"))

BELTS = Table("belts", "how long the shop's belts are", "reading", (
    _c("part", "text", "the belt, a part"),
    _c("length", "real", "its length around, as its maker states it", "mm"),
    _c("ribs", "whole or blank", "ribs; blank = not said"),
    _c("note", "text", "anything else"),
), ("part",))

CARRIERS = Table("carriers", "who brings goods to the door", "reading", (
    _c("carrier", "text", "short name"),
    _c("calendar", "text", "working days, such as GB-ENG; blank = the supplier's"),
    _c("days", "whole or blank", "on the road; blank = within the stated days", "working days"),
    _c("no_hazard", "yes or no", "takes no hazardous goods, as by air or overnight"),
    _c("note", "text", "anything else"),
), ("carrier",))

# Read where they are there; a shop without them has no findings from the checks that need them.
EXTRA_SHEETS: tuple[Table, ...] = (
    OPENINGS, CIRCUITS, TEMPORARY, OUTWORK, AMOUNTS, FLUIDS, FIGURES, MEASURED,
    DATES, PULLEYS, BELTS, CARRIERS, INVOICES,
)
