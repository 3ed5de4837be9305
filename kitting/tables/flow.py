"""The tables that pass between rooms on the way from a bill to a plan."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table
from kitting.tables.outlook import OUTLOOK
from kitting.tables.times import TIMES


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_BASE = "base units"

REQUIRED = Table("required", "what the chosen builds need, exploded", "bill", (
    _c("required", "whole", "row number"),
    _c("build", "text", "the build"),
    _c("assembly", "text", "assembly whose bill asks for it"),
    _c("stage", "text", "stage that needs it"),
    _c("joint", "text", "joint it serves"),
    _c("role", "text", "what it does there"),
    _c("part", "text", "part number"),
    _c("quantity", "whole", "how much", _BASE),
    _c("line", "whole", "row of the bill; 0 = pulled in by a rule"),
    _c("from_set", "text", "set that supplies it, so that it is not bought alone; blank = none"),
    _c("deferred", "yes or no", "its stage happens later or elsewhere"),
    _c("source", "text", "who says so"),
    _c("note", "text", "anything else"),
), ("required",))

LEFT_OVERS = Table("left_overs", "what sets bring beyond the need", "bill", (
    _c("build", "text", "the build"),
    _c("set", "text", "the set"),
    _c("part", "text", "the part"),
    _c("quantity", "whole", "expected surplus", _BASE),
    _c("fits", "text", "left over, do not fit, or needed (more than the bill asks)"),
), ("build", "set", "part", "fits"))

GAPS = Table("gaps", "roles of joints that nothing fills", "bill", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint"),
    _c("role", "text", "the empty role"),
    _c("level", "text", "stop, warn or note"),
    _c("message", "text", "what is usually there and what to do"),
    _c("check", "text", "name of the check that found it"),
    _c("source", "text", "where the check comes from"),
))

CAUTIONS = Table("cautions", "what a person must know before acting", "bill", (
    _c("build", "text", "the build"),
    _c("subject", "text", "what it concerns"),
    _c("level", "text", "stop, warn or note"),
    _c("message", "text", "the caution"),
    _c("source", "text", "who says so"),
))

CHOICES = Table("choices", "what each build chooses, defaults filled in", "bill", (
    _c("build", "text", "the build"),
    _c("option", "text", "name of the option"),
    _c("value", "text", "its value"),
), ("build", "option"))

BUILD_JOINTS = Table("build_joints", "joints that a build closes", "bill", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage in which it is closed"),
    _c("joint", "text", "the joint"),
    _c("kind", "text", "joint kind from the catalog"),
    _c("joins", "text", "what it joins"),
    _c("count", "whole", "how many alike in the whole build"),
    _c("disturbances", "whole", "how often each is closed, dry fits included"),
), ("build", "assembly", "joint"))

BUILT_IN = Table("built_in", "which assembly is built into which stage of which other", "bill", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly that receives it"),
    _c("stage", "text", "the stage in which it is built in"),
    _c("child", "text", "the assembly that is built in"),
    _c("quantity", "whole", "how many of it in one of the receiving assembly", _BASE),
))

COMING = Table("coming", "open order lines and the day they can be used", "timing", (
    _c("order", "text", "our order number"),
    _c("line", "whole", "line on the order"),
    _c("supplier", "text", "the supplier"),
    _c("part", "text", "our part number"),
    _c("quantity", "whole", "ordered and not yet received", _BASE),
    _c("promised", "day", "day it is promised at the door; blank = not known"),
    _c("usable", "day", "day it is through goods-in; blank = not known"),
    _c("build", "text", "build it is for; blank = stock"),
), ("order", "line"))

STAGE_DAYS = Table("stage_days", "when each stage of each build is worked", "timing", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage"),
    _c("name", "text", "what is done"),
    _c("start", "day", "first day"),
    _c("finish", "day", "last day"),
    _c("work_days", "real", "how long it takes", "working days"),
    _c("place", "text", "bench or place"),
    _c("deferred", "yes or no", "later or elsewhere"),
    _c("order", "whole", "position in the order of work"),
), ("build", "assembly", "stage"))

NEEDS = Table("needs", "dated demand for parts", "netting", (
    _c("need", "whole", "row number"),
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint"),
    _c("role", "text", "what it does there"),
    _c("part", "text", "part number"),
    _c("quantity", "whole", "how much", _BASE),
    _c("day", "day", "day it must be usable"),
    _c("priority", "whole", "1 is served first"),
    _c("deferred", "yes or no", "never holds the bench"),
), ("need",))

SUPPLY = Table("supply", "lots on the shelf and orders on the way", "netting", (
    _c("supply", "whole", "row number"),
    _c("part", "text", "part number"),
    _c("quantity", "whole", "how much", _BASE),
    _c("from_day", "day", "first day it can be used"),
    _c("use_by", "day", "last day it may be used; blank = no limit"),
    _c("held_for", "text", "build it is kept for; blank = anyone"),
    _c("order", "text", "order it comes by; blank = on the shelf"),
    _c("lot", "text", "lot mark"),
    _c("place", "text", "bin or shelf"),
    _c("owner", "text", "whose it is; blank = the shop's"),
    _c("assembly", "text", "assembly of the stage whose kit it is in; blank = in no kit"),
    _c("stage", "text", "stage whose kit it is in; blank = in no kit"),
    _c("kit", "text", "picked, fitted or blank: how it stands with that kit"),
    _c("from_set", "text", "set that it is inside of, to be opened; blank = loose"),
), ("supply",))

PICKS = Table("picks", "which supply covers which need", "netting", (
    _c("need", "whole", "the need"),
    _c("supply", "whole", "the lot or order"),
    _c("part", "text", "the part supplied, a stand-in perhaps"),
    _c("quantity", "whole", "how much of it", _BASE),
    _c("covers", "whole", "how much of the need it covers", _BASE),
))

SHORTAGES = Table("shortages", "what no stock or coming order covers in time", "netting", (
    _c("need", "whole", "the need"),
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint"),
    _c("role", "text", "what it does there"),
    _c("part", "text", "part number"),
    _c("quantity", "whole", "how much is short", _BASE),
    _c("day", "day", "day it must be usable"),
    _c("deferred", "yes or no", "never holds the bench"),
), ("need",))

OFFER_DAYS = Table("offer_days", "when an offer ordered today could be used", "timing", (
    _c("offer", "whole", "the offer"),
    _c("counts", "day", "day from which the supplier counts the order"),
    _c("arrives", "day", "day it is at the door"),
    _c("usable", "day", "day it is through goods-in"),
), ("offer",))

BUYS = Table("buys", "the chosen offers", "sourcing", (
    _c("buy", "whole", "row number"),
    _c("supplier", "text", "the supplier"),
    _c("part", "text", "part that is bought, a set perhaps"),
    _c("supplier_part", "text", "the supplier's number"),
    _c("offer", "whole", "the offer at whose price it is bought"),
    _c("packs", "whole", "packs", "packs"),
    _c("pack", "whole", "contents of one pack", _BASE),
    _c("quantity", "whole", "packs x pack", _BASE),
    _c("needed", "whole", "what the shortages ask of it", _BASE),
    _c("price", "whole", "price for per base units", "cents"),
    _c("per", "whole", "what the price is for", _BASE),
    _c("cost", "whole", "amount of the line", "cents"),
    _c("currency", "text", "ISO 4217 code"),
    _c("day", "day", "earliest day one of its needs must be usable"),
    _c("arrives", "day", "day it is at the door when ordered now"),
    _c("usable", "day", "day it is through goods-in when ordered now"),
    _c("in_time", "yes or no", "usable on the day"),
    _c("why", "text", "why this supplier, in a sentence"),
), ("buy",))

BUY_NEEDS = Table("buy_needs", "which buy covers which shortage", "sourcing", (
    _c("buy", "whole", "the buy"),
    _c("need", "whole", "the need"),
    _c("quantity", "whole", "how much of the need it covers", _BASE),
), ("buy", "need"))

ORDER_BY = Table("order_by", "latest day to order each buy", "timing", (
    _c("buy", "whole", "the buy"),
    _c("order_by", "day", "latest day on which ordering is still in time, with confidence"),
    _c("cut_off", "text", "time of day"),
    _c("stated", "day", "the same when the supplier keeps its stated days"),
), ("buy",))

ORDER_BY_NEED = Table("order_by_need", "latest day to order for each need of a buy", "timing", (
    _c("buy", "whole", "the buy"),
    _c("need", "whole", "the need"),
    _c("order_by", "day", "latest day on which ordering is still in time for it"),
    _c("cut_off", "text", "time of day"),
    _c("stated", "day", "the same when the supplier keeps its stated days"),
), ("buy", "need"))

READINESS = Table("readiness", "how each stage stands", "timing", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage"),
    _c("state", "text", "whole, coming, deferred, short or late"),
    _c("ready", "day", "first day on which every part could be there; blank = not known"),
), ("build", "assembly", "stage"))

OPENED = Table("opened", "containers that are opened, and what of each is thrown away", "bill", (
    _c("part", "text", "the consumable"),
    _c("container", "whole", "number of the container, in the order of opening"),
    _c("comes", "text", "shelf, open on the shelf, open in the kit, order or buy"),
    _c("lot", "text", "lot mark, or the order"),
    _c("opened", "day", "day it is opened"),
    _c("last", "day", "last day its contents may be used"),
    _c("content", "whole", "what it holds when it is first used here", _BASE),
    _c("used", "whole", "what the builds take of it", _BASE),
    _c("thrown_away", "whole", "what spoils before a later need", _BASE),
    _c("stages", "text", "build and stage of each use, ; between"),
), ("part", "container"))

SPARES = Table("spares", "spares to think of; they never make a kit less than whole", "bill", (
    _c("build", "text", "the build"),
    _c("part", "text", "part number"),
    _c("need", "whole", "what the bill asks for", _BASE),
    _c("spare", "whole", "how many more", _BASE),
    _c("rule", "text", "name of the rule"),
    _c("why", "text", "why"),
    _c("mark", "text", "source, common practice or assumption"),
    _c("source", "text", "who says so"),
), ("build", "part"))

FLOW: tuple[Table, ...] = (
    REQUIRED, LEFT_OVERS, GAPS, CAUTIONS, CHOICES, BUILD_JOINTS, BUILT_IN, COMING, STAGE_DAYS,
    NEEDS, SUPPLY, PICKS, SHORTAGES, OFFER_DAYS, BUYS, BUY_NEEDS, ORDER_BY, ORDER_BY_NEED,
    READINESS, OPENED, SPARES, *TIMES, *OUTLOOK,
)
