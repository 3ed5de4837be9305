"""The tables of the room timing that tell how sure a plan is."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_DAYS = "working days"

DELIVERED = Table("delivered", "how long order lines took, or have been open", "timing", (
    _c("order", "text", "our order number"),
    _c("line", "whole", "line on the order"),
    _c("supplier", "text", "the supplier"),
    _c("part", "text", "our part number"),
    _c("ordered", "day", "day it was sent"),
    _c("promised", "day", "day it was first promised; blank = the days of the offer are taken"),
    _c("stated", "whole", "from order to that promise", _DAYS),
    _c("last_stated", "whole", "from order to the last promise", _DAYS),
    _c("requested_days", "whole", "from order to the day we asked for; -1 = not said", _DAYS),
    _c("first_days", "whole", "from order to the first piece, or open so far", _DAYS),
    _c("days", "whole", "from order to all of it, or open so far", _DAYS),
    _c("carrier", "text", "who brings such orders; blank = not known"),
    _c("came", "yes or no", "all of it came"),
    _c("unusable", "yes or no", "a claim or a note of a receipt says that something was bad"),
), ("order", "line"))

LEAD_TIMES = Table("lead_times", "what each supplier states and what is to be expected", "timing", (
    _c("supplier", "text", "the supplier"),
    _c("class", "text", "kind of offer, by the supplier's kind or the stated days"),
    _c("stated", "whole", "usual stated days of its offers", _DAYS),
    _c("orders", "real", "deliveries learned from, old ones counting for less"),
    _c("lines", "whole", "order lines learned from"),
    _c("open", "whole", "lines of them that have not come"),
    _c("p50", "whole", "days within which half comes", _DAYS),
    _c("p80", "whole", "days within which eight in ten come", _DAYS),
    _c("p90", "whole", "days within which nine in ten come", _DAYS),
    _c("on_time", "real", "chance to come by the stated day", "share"),
    _c("kept_first", "real", "lines that came by the first promise, of those decided", "share"),
    _c("kept_last", "real", "lines that came by the last promise, of those decided", "share"),
    _c("kept_requested", "real", "lines that came by the day asked for, of those decided", "share"),
    _c("in_parts", "real", "lines that came in more than one delivery", "share"),
    _c("unusable", "real", "lines of which something was noted wrong or defective", "share"),
    _c("basis", "text", "own orders, orders of its class, or assumption"),
), ("supplier", "class"))

LIKELY_DAYS = Table("likely_days", "how long to allow for each offer", "timing", (
    _c("offer", "whole", "the offer"),
    _c("class", "text", "kind of offer"),
    _c("stated", "whole", "what the supplier states", _DAYS),
    _c("likely", "whole", "days within which it comes with the shop's confidence", _DAYS),
), ("offer",))

LEAD_SPREAD = Table("lead_spread", "how long each offer takes, with its chance", "timing", (
    _c("offer", "whole", "the offer"),
    _c("days", "whole", "days from order to use, goods-in included", _DAYS),
    _c("chance", "real", "chance of just that many", "share"),
), ("offer", "days"))

DELIVERIES = Table("deliveries", "what comes together, on the way or to be ordered", "timing", (
    _c("delivery", "whole", "row number"),
    _c("order", "text", "our order number; blank = to be ordered"),
    _c("supplier", "text", "the supplier"),
    _c("carrier", "text", "who brings it; blank = not known"),
    _c("build", "text", "build of which it is a job that is sent out; blank = goods"),
    _c("class", "text", "kind of offer"),
    _c("expected", "day", "day it is promised, or stated when ordered now; blank = not known"),
    _c("stated", "whole", "stated days", _DAYS),
    _c("likely", "day", "day by which it is at the door with the shop's confidence"),
), ("delivery",))

CHANCE = Table("chance", "how sure each stage and build is", "timing", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly; blank = the build as a whole"),
    _c("stage", "text", "the stage; blank = the build as a whole"),
    _c("parts", "real", "chance that all its parts are there on its first day", "share"),
    _c("chance", "real", "chance that it starts (a build: ends) on its day, all before it too",
       "share"),
    _c("expected_late", "real", "days late to expect; missing = something has no source", _DAYS),
), ("build", "assembly", "stage"))

NEED_CHANCE = Table("need_chance", "how sure each need is", "timing", (
    _c("need", "whole", "the need"),
    _c("chance_in_time", "real", "chance that all of it can be used on its day", "share"),
), ("need",))

SAMPLED = Table("sampled", "how sure each stage and build is, by sampling", "timing", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly; blank = the build as a whole"),
    _c("stage", "text", "the stage; blank = the build as a whole"),
    _c("chance", "real", "chance that it starts, or the bench work ends, on its day", "share"),
    _c("error", "real", "standard error of that", "share"),
    _c("half", "day", "day by which half of the courses have it; blank = not known"),
    _c("nine_in_ten", "day", "day by which nine in ten have it; blank = not known"),
), ("build", "assembly", "stage"))

DRIVERS = Table("drivers", "which delivery decides each build, the worst first", "timing", (
    _c("build", "text", "the build"),
    _c("delivery", "whole", "the delivery"),
    _c("order", "text", "our order number; blank = to be ordered"),
    _c("supplier", "text", "the supplier"),
    _c("chance", "real", "chance that it holds up nothing", "share"),
    _c("gain", "real", "chance of the build added when it comes a day sooner", "share"),
    _c("late_saved", "real", "expected days late saved when it comes a day sooner", _DAYS),
    _c("without", "real", "chance of the build if it were here", "share"),
), ("build", "delivery"))

TODAY = Table("today", "what to do today, for whom, and why", "timing", (
    _c("do", "text", "order, chase, find, or ask (the owner)"),
    _c("supplier", "text", "whom to order from or to ask; blank = not known"),
    _c("order", "text", "the order to chase; blank = none"),
    _c("part", "text", "our part number"),
    _c("build", "text", "build that needs it first"),
    _c("stage", "text", "its stage"),
    _c("needed", "day", "day it must be usable"),
    _c("by", "day", "last day to order with the shop's confidence; or the promised day"),
    _c("chance", "real", "chance to be there in time when done today", "share"),
    _c("tomorrow", "real", "the same when done on the next working day; a chase: missing", "share"),
))
# fmt: on

PAST_ORDERS = Table(
    "past_orders",
    "when parts that came late had to be ordered",
    "timing",
    (
        _c("build", "text", "the build"),
        _c("part", "text", "part number"),
        _c("supplier", "text", "who leaves the most time"),
        _c("order_by", "day", "latest day to order, with confidence; blank = not known"),
        _c("ordered", "day", "day of the first order for the build; blank = not on record"),
        _c("promised", "day", "day of its first promise; blank = not on record"),
        _c("chance", "real", "chance that what is promised for that day is in time", "share"),
        _c("doubtful", "yes or no", "the chance is below the shop's confidence"),
    ),
    ("build", "part"),
)

OUTLOOK: tuple[Table, ...] = (
    DELIVERED, LEAD_TIMES, LIKELY_DAYS, LEAD_SPREAD, DELIVERIES, CHANCE, NEED_CHANCE, SAMPLED,
    DRIVERS,
    TODAY, PAST_ORDERS,
)  # fmt: skip
