"""The tables of the audit: what past builds forgot, and whether today's bill would catch it."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


TALLY = Table("tally", "forgotten parts counted by one aspect, worst first", "audit", (
    _c("by", "text", "what is counted: all, part, family, kind (of joint), joint, role, ..."),
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
    _c("how", "text", "which check: bill line, set content ...; blank = none"),
    _c("reason", "text", "why, in words"),
), ("entry",))

PROPOSED = Table("proposed", "changes that would have caught forgotten parts", "audit", (
    _c("proposal", "whole", "number, the most worthwhile first"),
    _c("lesson", "text", "add a line, raise the count, carry a spare, keep on the shelf, ..."),
    _c("assembly", "text", "assembly whose sheet changes; blank = the shelf or the orders"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint; blank = the stage as a whole"),
    _c("role", "text", "what the part does there"),
    _c("part", "text", "the part"),
    _c("supplier", "text", "whose orders go out sooner"),
    _c("quantity", "whole", "how many for one place, spare, or on the shelf", "base units"),
    _c("unit", "text", "unit as written"),
    _c("days", "whole", "how much sooner to order", "working days"),
    _c("message", "text", "what to change, in words"),
    _c("evidence", "text", "on which builds it was forgotten, and what that cost"),
    _c("entries", "text", "rows of the table forgotten, ; between"),
    _c("builds", "whole", "finished builds on which it was forgotten"),
    _c("could", "whole", "finished builds on which it could have been forgotten"),
    _c("avoided", "real", "expected to be avoided on a build that could forget it", "per build"),
    _c("avoided_low", "real", "lower end of its 95 % interval", "per build"),
    _c("avoided_high", "real", "upper end of its 95 % interval", "per build"),
    _c("hours_saved", "real", "expected", "hours per year"),
    _c("money_saved", "whole", "expected, hours at the shop's hour_rate", "cents per year"),
    _c("cost", "whole", "of carrying out the change", "cents per year"),
), ("proposal",))

PROPOSALS = Table("proposals", "what a person decided on proposals, and what changed", "records", (
    _c("proposal", "whole", "number of the decision"),
    _c("day", "day", "when it was decided"),
    _c("by", "text", "who decided"),
    _c("decision", "text", "accepted or rejected"),
    _c("reason", "text", "why"),
    _c("lesson", "text", "add a line, raise the count, carry a spare, keep on the shelf, ..."),
    _c("assembly", "text", "assembly whose sheet changes; blank = the shelf or the orders"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint"),
    _c("role", "text", "what the part does there"),
    _c("part", "text", "the part"),
    _c("supplier", "text", "whose orders go out sooner"),
    _c("quantity", "whole", "how many for one place, spare, or on the shelf", "base units"),
    _c("unit", "text", "unit as written"),
    _c("days", "whole", "how much sooner to order", "working days"),
    _c("message", "text", "what was proposed"),
    _c("evidence", "text", "on what grounds"),
    _c("entries", "text", "rows of the table forgotten, ; between"),
    _c("change", "text", "which rows of which sheets changed, and how"),
), ("proposal",))

BACK_TEST = Table("back_test", "would proposals from earlier builds have caught it", "audit", (
    _c("entry", "whole", "row of the table forgotten"),
    _c("build", "text", "the build"),
    _c("part", "text", "what was forgotten"),
    _c("cause", "text", "why"),
    _c("earlier", "whole", "finished builds that the proposals were made from"),
    _c("caught", "yes or no", "a proposal would have caught it"),
    _c("by", "text", "the lesson that would have caught it"),
    _c("from_entry", "text", "the entries that the proposal was made from, ; between"),
), ("entry",))

SUGGESTIONS = Table("suggestions", "what builds like this one used and the kit lacks", "audit", (
    _c("build", "text", "the build"),
    _c("position", "whole", "1 is the likeliest; ten at most"),
    _c("part", "text", "the part"),
    _c("because", "text", "part of the kit that it went together with"),
    _c("both", "whole", "past builds that used both"),
    _c("one", "whole", "past builds that used the part of the kit"),
    _c("lift", "real", "how much more often than on any past build; 1 = no more"),
    _c("score", "real", "of the model; only for order"),
    _c("reason", "text", "why, in words"),
), ("build", "part"))

TEXT_RULES = Table("text_rules", "words by which a text tells of a missing part", "reading", (
    _c("rule", "text", "name of the rule"),
    _c("kind", "text", "missing, waiting, loose, or not: what is so said is none of these"),
    _c("says", "text", "words in order; * ends a word anyhow; ... = up to four others; | = or"),
    _c("example", "text", "a text that says so"),
    _c("source", "text", "where such words were read"),
), ("rule",))

TEXTS = Table("texts", "notes and work-order texts", "reading", (
    _c("row", "whole", "row of the file"),
    _c("build", "text", "build or job that it is about; blank = not said"),
    _c("text", "text", "what was written"),
), ("row",))

MENTIONS = Table("mentions", "texts that tell of a missing part, to be confirmed", "audit", (
    _c("row", "whole", "row of the file"),
    _c("build", "text", "build or job that it is about; blank = not said"),
    _c("kind", "text", "missing, waiting or loose"),
    _c("rule", "text", "rule that found it"),
    _c("words", "text", "the words that told"),
    _c("part", "text", "part of the shop that the text names; blank = none"),
    _c("cause", "text", "proposed cause; blank = ask"),
    _c("text", "text", "what was written"),
), ("row",))

AUDIT: tuple[Table, ...] = (
    TALLY, TREND, PROGRESS, CAUGHT, PROPOSED, BACK_TEST, SUGGESTIONS, MENTIONS,
)
