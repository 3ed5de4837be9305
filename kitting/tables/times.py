"""The tables of the room timing that tell benches, outwork, measured sizes and what comes later."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_BASE, _DAYS = "base units", "working days"

SCHEDULE = Table("schedule", "stages of all builds, benches and people being limited", "timing", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage"),
    _c("name", "text", "what is done"),
    _c("start", "day", "first day"),
    _c("finish", "day", "last day"),
    _c("work_days", "real", "how long it takes, expected", _DAYS),
    _c("place", "text", "bench or place"),
    _c("deferred", "yes or no", "later or elsewhere"),
    _c("order", "whole", "position in the order of work"),
    _c("begins", "real", "start after the first day of the schedule; blank = no day", _DAYS),
    _c("ends", "real", "end after the first day of the schedule; blank = no day", _DAYS),
    _c("latest", "day", "last day to start it without any build ending later; blank = not known"),
    _c("slack", "real", "how far it may slip; blank = it holds nothing", _DAYS),
    _c("critical", "yes or no", "it may not slip at all"),
    _c("waits", "real", "how long it waits for a bench or people, all else being ready", _DAYS),
    _c("waits_for", "text", "the bench, or people, that it waits for"),
    _c("behind", "text", "builds that are there meanwhile, ; between"),
    _c("people", "whole", "how many people it takes", "people"),
    _c("variance", "real", "variance of its end by three points", "working days squared"),
), ("build", "assembly", "stage"))

BUILD_DAYS = Table("build_days", "when each build leaves the bench", "timing", (
    _c("build", "text", "the build"),
    _c("start", "day", "first day on the bench"),
    _c("finish", "day", "last day on the bench"),
    _c("not_after", "day", "its date; blank = none"),
    _c("days_late", "whole", "how many working days after its date", _DAYS),
    _c("waits", "real", "how much later than alone on the benches; blank = not known", _DAYS),
    _c("chance", "real", "chance of keeping its date, by three points; blank = not known"),
), ("build",))

OUTWORK_DAYS = Table("outwork_days", "when each job is sent out and comes back", "timing", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "stage in which it is out"),
    _c("job", "text", "the job, a part"),
    _c("name", "text", "what the shop calls it"),
    _c("supplier", "text", "who does it; blank = nobody offers it"),
    _c("carrier", "text", "who brings it back; blank = not known"),
    _c("order", "text", "order by whose promise it is back; blank = by the lead time"),
    _c("after", "text", "stages whose work it waits for before it goes out, ; between"),
    _c("wanted", "text", "stages that want it back, ; between"),
    _c("out", "day", "day it goes out; blank = not known"),
    _c("back", "day", "day it is back at the door; blank = not known"),
    _c("usable", "day", "day it is through goods-in; blank = not known"),
    _c("needed", "day", "day the next stage wants it; blank = nothing follows"),
    _c("lead_days", "whole or blank", "from out to back", "working days of the supplier"),
    _c("in_time", "yes or no", "usable on the day it is needed"),
    _c("days_late", "whole", "how many working days late", _DAYS),
), ("build", "assembly", "stage", "job"))

TAKEN_OFF = Table("taken_off", "what each job takes off and what becomes of it", "timing", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("job", "text", "the job"),
    _c("joint", "text", "joint that it opens"),
    _c("part", "text", "part that it takes off"),
    _c("name", "text", "what the shop calls it"),
    _c("quantity", "whole or blank", "how many; blank = not said", _BASE),
    _c("fate", "text", "returns, comes back or bought; blank = nobody said"),
    _c("check", "text", "what to look for when the job is back"),
    _c("day", "day", "day the job is back; blank = not known"),
), ("build", "assembly", "job", "joint", "part"))

MEASURED_DAYS = Table("measured_days", "when a measured size can be ordered", "timing", (
    _c("required", "whole", "row of the table required"),
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("joint", "text", "the joint"),
    _c("part", "text", "the size that the bill names"),
    _c("measures", "text", "stage that measures"),
    _c("measured", "day", "day it is measured; blank = not known"),
    _c("order", "day", "first day on which the size can be ordered; blank = not known"),
    _c("stage", "text", "stage that needs it"),
    _c("needed", "day", "day it must be usable; blank = not known"),
    _c("usable", "day", "day by which any size could be used; blank = not known"),
    _c("slowest", "text", "the size that takes longest"),
    _c("in_time", "yes or no", "usable on the day it is needed, whatever the size"),
    _c("days_late", "whole", "how many working days the stage would wait", _DAYS),
    _c("not_offered", "text", "sizes that are neither on the shelf nor offered, ; between"),
), ("required",))

ASSORTMENT = Table("assortment", "sizes to have on the shelf before the measurement", "timing", (
    _c("assembly", "text", "the assembly"),
    _c("joint", "text", "the joint"),
    _c("part", "text", "the size"),
    _c("share", "real", "share of the places that want it"),
    _c("places", "whole", "places of all open builds that will be measured"),
    _c("shelf", "whole", "how many are on the shelf", _BASE),
    _c("buy", "whole", "how many more to have", _BASE),
    _c("cost", "whole", "what those cost", "cents of the shop"),
    _c("chance", "real", "chance that every place finds its size; 0 = it cannot be reached"),
    _c("known_from", "text", "past builds, stated spread, both or nothing: where shares come from"),
), ("assembly", "joint", "part"))

HAND_OVER = Table("hand_over", "what is owed when a build leaves the bench", "timing", (
    _c("build", "text", "the build"),
    _c("what", "text", "stage to do, part to fit, or comes off"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "stage in which it is done"),
    _c("joint", "text", "the joint; blank = the stage as a whole"),
    _c("part", "text", "part to fit or to take off; blank for a stage"),
    _c("name", "text", "name of the stage or part"),
    _c("quantity", "whole or blank", "how much; blank = not said", _BASE),
    _c("day", "day", "day it is planned for; blank = not known"),
    _c("required", "whole", "row of the table required; 0 = none"),
    _c("note", "text", "what to do"),
))

CLASHES = Table("clashes", "benches that more builds want on a day than they hold", "timing", (
    _c("place", "text", "the bench"),
    _c("holds", "whole", "how many builds it holds at once"),
    _c("first", "day", "first day"),
    _c("last", "day", "last day on which the same builds want it"),
    _c("builds", "text", "those that want it, in order of service, ; between"),
))

LATE_STARTS = Table("late_starts", "how late each stage may start", "timing", (
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage; blank = the end of all its stages"),
    _c("start", "whole", "after the assembly's first stage, its end not moved", _DAYS),
), ("assembly", "stage"))

TIMES: tuple[Table, ...] = (
    SCHEDULE, BUILD_DAYS, OUTWORK_DAYS, TAKEN_OFF, MEASURED_DAYS, ASSORTMENT, HAND_OVER, CLASHES,
    LATE_STARTS,
)
