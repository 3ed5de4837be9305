"""The tables with which a person chooses between answers and asks suppliers."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_BASE = "base units"

ANSWERS = Table("answers", "answers to choose from, side by side", "sourcing", (
    _c("answer", "text", "what it is best in"),
    _c("total", "whole", "all terms together", "cents"),
    _c("goods", "whole", "prices of the lines", "cents"),
    _c("freight", "whole", "freight of the orders", "cents"),
    _c("hazard", "whole", "hazard charges of the orders", "cents"),
    _c("filling", "whole", "goods beyond the need, for a least order or cheaper freight", "cents"),
    _c("deposits", "whole", "paid on old parts until they are back", "cents"),
    _c("deposits_back", "whole", "what of the deposits is expected back", "cents"),
    _c("waiting", "whole", "cost of the stages that wait", "cents"),
    _c("handling", "whole", "cost of handling the parcels", "cents"),
    _c("currency", "text", "ISO 4217 code of the shop"),
    _c("parcels", "whole", "orders that are sent"),
    _c("days_late", "whole", "working days that stages wait, added up", "working days"),
    _c("late", "whole", "buys that come after their day"),
    _c("last", "day", "day on which the last part can be used; blank = not known"),
    _c("gap", "real", "how far it may be from the best, relative; 0 = proved"),
), ("answer",))

ORDER_TERMS = Table("order_terms", "what each order costs besides its goods", "sourcing", (
    _c("supplier", "text", "the supplier"),
    _c("currency", "text", "ISO 4217 code"),
    _c("goods", "whole", "prices of the lines", "cents"),
    _c("freight", "whole", "freight of the order", "cents"),
    _c("hazard", "whole", "hazard charge of the order", "cents"),
    _c("filling", "whole", "goods to add, for a least order or cheaper freight", "cents"),
), ("supplier",))

DROPS = Table("drops", "what doing without each supplier would cost", "sourcing", (
    _c("supplier", "text", "the supplier that is dropped"),
    _c("total", "whole", "how much more all terms together are", "cents"),
    _c("money", "whole", "how much more is paid to suppliers", "cents"),
    _c("days_late", "whole", "how many more working days stages wait", "working days"),
    _c("unmet", "text", "parts that nobody else sells, ; between"),
    _c("gap", "real", "how far the total may be from the best, relative; 0 = proved"),
), ("supplier",))

QUESTIONS = Table("questions", "what to ask suppliers", "sourcing", (
    _c("supplier", "text", "whom to ask; blank = the maker, or anyone who may know"),
    _c("part", "text", "part number"),
    _c("supplier_part", "text", "the supplier's number, if known"),
    _c("name", "text", "what the shop calls it"),
    _c("maker", "text", "who makes it"),
    _c("quantity", "whole", "how much is short", _BASE),
    _c("unit", "text", "unit it is counted in"),
    _c("day", "day", "day it must be usable; blank = not known"),
    _c("ask", "text", "what to ask for"),
    _c("known", "text", "what is known of it"),
), ("supplier", "part"))

LEVELS = Table("levels", "what to keep of what is always used", "sourcing", (
    _c("part", "text", "part number"),
    _c("name", "text", "what the shop calls it"),
    _c("unit", "text", "unit it is counted in"),
    _c("builds", "whole", "finished builds that used it"),
    _c("use", "whole", "use in a year", _BASE),
    _c("have", "whole", "on the shelf and coming, less what open builds need", _BASE),
    _c("level", "whole", "order again at this or less; below zero = nobody offers it", _BASE),
    _c("supplier", "text", "whose offer costs least over a year; blank = nobody offers it"),
    _c("offer", "whole", "the offer; 0 = none"),
    _c("packs", "whole", "packs to order at a time", "packs"),
    _c("quantity", "whole", "what they hold", _BASE),
    _c("cost", "whole", "what they cost", "cents"),
    _c("service", "real", "chance that the level lasts until more can be used", "share"),
    _c("running", "whole", "orders, holding and waiting in a year", "cents"),
    _c("low", "yes or no", "at the level or below"),
    _c("lots", "text", "how the open builds' known shortages would best be ordered"),
    _c("cycle", "whole", "days from order to order of all parts of the supplier; 0 = only part",
       "working days"),
    _c("turn", "whole", "in every how many-th of these orders the part is; 0 = only part"),
    _c("turn_packs", "whole", "packs of it each time", "packs"),
    _c("order_cost", "whole", "freight and parcel of such an order, once for all parts", "cents"),
), ("part",))

READY = Table("ready", "what to keep so that a build can be promised", "sourcing", (
    _c("item", "text", "part number, or the name of an assembly"),
    _c("name", "text", "what the shop calls it; blank for an assembly"),
    _c("unit", "text", "unit it is counted in"),
    _c("each", "whole", "how much one build takes", _BASE),
    _c("keep", "whole", "how much to keep; 0 = it comes in time by itself", _BASE),
    _c("have", "whole", "on the shelf and coming, less what open builds need", _BASE),
    _c("bridges", "whole", "days that it bridges, the most of all its stages", "working days"),
    _c("lead", "whole", "days until an order of it can be used; an assembly's own work",
       "working days"),
    _c("supplier", "text", "whose offer is quickest; blank for an assembly"),
    _c("cost", "whole", "holding all that is to be kept, in a year", "cents"),
), ("item",))

SOURCING: tuple[Table, ...] = (ANSWERS, ORDER_TERMS, DROPS, QUESTIONS, LEVELS, READY)
