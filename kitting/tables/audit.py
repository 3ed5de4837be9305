"""The tables of the audit: what past builds forgot, and whether today's bill would catch it."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


TALLY = Table("tally", "forgotten parts counted by one aspect, worst first", "audit", (
    _c("by", "text", "what is counted: all, part, family, kind, joint, role, stage, supplier, cause"),
    _c("assembly", "text", "assembly of the joint or stage; blank for the others"),
    _c("name", "text", "the part, family, joint kind, joint, role, stage, supplier or cause"),
    _c("label", "text", "what the shop calls it"),
    _c("events", "whole", "times it was forgotten, on any build"),
    _c("builds", "whole", "finished builds on which it was forgotten"),
    _c("could", "whole", "finished builds on which it could have been forgotten"),
    _c("rate", "real", "builds / could; missing when nothing is finished", "share"),
    _c("low", "real", "lower end of the rate's 95 % Wilson interval", "share"),
    _c("high", "real", "upper end of the rate's 95 % Wilson interval", "share"),
    _c("hours_lost", "real", "work hours lost", "hours"),
    _c("money_lost", "whole", "extra money spent", "cents"),
    _c("toward", "text", "what the expected rate is drawn towards: its family, or all of its sort"),
    _c("expected", "real", "rate drawn towards that of its like (beta-binomial)", "share"),
    _c("expected_low", "real", "lower end of its 95 % interval", "share"),
    _c("expected_high", "real", "upper end of its 95 % interval", "share"),
    _c("cost", "whole", "money lost and hours lost at the shop's hour_rate", "cents"),
    _c("share", "real", "its events among those of its sort", "share"),
    _c("running", "real", "share of the events down to this row (Pareto)", "share"),
), ("by", "assembly", "name"))

PROGRESS = Table("progress", "is it getting better: forgotten parts over builds", "audit", (
    _c("builds", "whole", "finished builds"),
    _c("events", "whole", "parts forgotten on them"),
    _c("each", "real", "events / builds", "per build"),
    _c("factor", "real", "rate at the last build over that at the first; missing = no events"),
    _c("low", "real", "lower end of its 95 % interval"),
    _c("high", "real", "upper end of its 95 % interval; infinite = no upper end"),
    _c("verdict", "text", "better, worse, or cannot be told yet"),
))

TREND = Table("trend", "finished builds in order of finish, and what each forgot", "audit", (
    _c("position", "whole", "1 is the first that was finished"),
    _c("build", "text", "the build"),
    _c("assembly", "text", "what was built"),
    _c("finished", "day", "day it was finished"),
    _c("events", "whole", "parts forgotten on it"),
    _c("hours_lost", "real", "work hours lost", "hours"),
    _c("money_lost", "whole", "extra money spent", "cents"),
    _c("so_far", "real", "mean of events from the first build to this one", "per build"),
    _c("recent", "real", "mean of events over this build and the four before", "per build"),
), ("build",))

CAUGHT = Table("caught", "would today's bill have caught each forgotten part", "audit", (
    _c("entry", "whole", "row of the table forgotten"),
    _c("build", "text", "the build"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint, if known"),
    _c("role", "text", "what it does there, if known"),
    _c("part", "text", "what was missing"),
    _c("quantity", "whole", "how much", "base units"),
    _c("cause", "text", "why"),
    _c("caught", "yes or no", "today's bill would have caught it"),
    _c("how", "text", "bill line, set content, joint role; blank = not caught"),
    _c("reason", "text", "why, in words"),
), ("entry",))

AUDIT: tuple[Table, ...] = (TALLY, TREND, PROGRESS, CAUGHT)
