"""The tables that describe a shop, one for each sheet, and the shop as of a day.

Quantities are whole base units of the part's dimension, money is integer cents.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from kitting.tables.audit import PROPOSALS
from kitting.tables.contract import Column, Kind, Table
from kitting.tables.dealings import DEALINGS
from kitting.tables.extra_sheets import BELTS as BELTS
from kitting.tables.extra_sheets import CARRIERS as CARRIERS
from kitting.tables.extra_sheets import CIRCUITS as CIRCUITS
from kitting.tables.extra_sheets import DATES as DATES
from kitting.tables.extra_sheets import EXTRA_SHEETS as EXTRA_SHEETS
from kitting.tables.extra_sheets import MEASURED as MEASURED
from kitting.tables.extra_sheets import OPENINGS as OPENINGS
from kitting.tables.extra_sheets import OUTWORK as OUTWORK
from kitting.tables.extra_sheets import PULLEYS as PULLEYS
from kitting.tables.extra_sheets import TEMPORARY as TEMPORARY
from kitting.tables.kits import KEPT as KITS_KEPT

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_BASE = "base units"

PARTS = Table("parts", "anything with a number", "reading", (
    _c("part", "text", "part number, kept as text"),
    _c("name", "text", "what the shop calls it"),
    _c("family", "text", "kind of part, such as lip seal, gasket, screw"),
    _c("unit", "text", "unit it is counted in"),
    _c("maker", "text", "who makes it"),
    _c("single_use", "text", "never, measure or reuse: may it be fitted again; blank = not known"),
    _c("shelf_days", "whole or blank", "life unopened", "days"),
    _c("open_days", "whole or blank", "life once opened", "days"),
    _c("hazard", "text", "hazard words, such as aerosol; blank = none"),
    _c("customer_supplied", "yes or no", "the customer brings it"),
    _c("note", "text", "anything else"),
), ("part",))

SETS = Table("sets", "what a set contains", "reading", (
    _c("set", "text", "part number of the set"),
    _c("part", "text", "part inside it"),
    _c("quantity", "whole", "how many of the part in one set", _BASE),
    _c("fits", "text", "needed, left over or do not fit"),
    _c("note", "text", "anything else"),
), ("set", "part", "fits"))

STAND_INS = Table("stand_ins", "which part may serve for another", "reading", (
    _c("part", "text", "the part that is asked for"),
    _c("stand_in", "text", "the part that may serve for it"),
    _c("kind", "text", "supersedes (one way) or alternate (both ways)"),
    _c("take", "whole", "base units of the stand-in that serve ...", _BASE),
    _c("give", "whole", "... for this many base units of the part", _BASE),
    _c("note", "text", "anything else"),
), ("part", "stand_in"))

STAGES = Table("stages", "steps of the work", "reading", (
    _c("assembly", "text", "the assembly it belongs to"),
    _c("stage", "text", "short name of the stage"),
    _c("name", "text", "what is done"),
    _c("after", "text", "stages of the same assembly that must be finished first, ; between"),
    _c("work_days", "real", "how long it takes, most likely", "working days"),
    _c("place", "text", "bench or place"),
    _c("deferred", "yes or no", "done later or elsewhere; never holds the bench"),
    _c("work_days_least", "real", "how long when all goes well; blank = not said", "working days"),
    _c("work_days_most", "real", "how long when all goes badly; blank = not said", "working days"),
    _c("people", "whole or blank", "how many of the shop's people it takes; blank = 1", "people"),
), ("assembly", "stage"))

JOINTS = Table("joints", "places where parts meet", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage in which it is closed"),
    _c("joint", "text", "name of the joint, unique in its assembly"),
    _c("kind", "text", "joint kind from the catalog"),
    _c("joins", "text", "what it joins"),
    _c("count", "whole", "how many alike"),
    _c("disturbances", "whole", "how often it is closed, dry fits included"),
    _c("when", "text", "conditions on options"),
), ("assembly", "joint"))

LINES = Table("lines", "the bill", "reading", (
    _c("line", "whole", "row number in the bill"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage that needs it"),
    _c("joint", "text", "the joint it serves; blank = the stage as a whole"),
    _c("role", "text", "what it does there; blank = a plain part"),
    _c("part", "text", "part number, or the name of an assembly that is built in"),
    _c("quantity", "whole", "for one of the joint's alike places", _BASE),
    _c("unit", "text", "unit as written"),
    _c("when", "text", "conditions on options"),
    _c("source", "text", "manual and page, or who says so"),
    _c("note", "text", "anything else"),
), ("line",))

OPTIONS = Table("options", "choices that a build may make", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("option", "text", "name of the option"),
    _c("choices", "text", "allowed values, ; between"),
    _c("default", "text", "value when a build says nothing"),
), ("assembly", "option"))

RULES = Table("rules", "what a choice pulls in or forbids", "reading", (
    _c("rule", "whole", "row number"),
    _c("assembly", "text", "the assembly"),
    _c("when", "text", "conditions on options"),
    _c("needs_part", "text", "part that is then needed"),
    _c("quantity", "whole or blank", "how many of it", _BASE),
    _c("stage", "text", "stage that needs it; blank = the assembly's first stage"),
    _c("needs_option", "text", "option=value that must then be chosen"),
    _c("forbids", "text", "option=value or part that must then not be there"),
    _c("caution", "text", "what to tell the person"),
    _c("source", "text", "who says so"),
), ("rule",))

SUPPLIERS = Table("suppliers", "who sells", "reading", (
    _c("supplier", "text", "short name"),
    _c("name", "text", "name on the order"),
    _c("currency", "text", "ISO 4217 code"),
    _c("calendar", "text", "working days, such as GB-ENG"),
    _c("cut_off", "text", "time of day for orders to count today, 24-hour"),
    _c("freight", "whole", "freight for one order", "cents"),
    _c("free_freight_above", "whole or blank", "goods value from which freight is free", "cents"),
    _c("least_order", "whole", "least goods value of an order", "cents"),
    _c("hazard_charge", "whole", "charge when an order holds a hazardous line", "cents"),
    _c("address", "text", "where orders are sent"),
    _c("account", "text", "our account number there"),
    _c("note", "text", "anything else"),
    _c("kind", "text", "counter, distributor, dealer ...; blank = by its stated days"),
    _c("order_days", "text", "days of the week on which orders are taken; blank = each it works"),
    _c("time_zone", "text", "where its clock for the cut-off stands; blank = the shop's"),
    _c("carrier", "text", "who brings its goods; blank = not said"),
    _c("inspection_days", "whole or blank", "its goods in goods-in; blank = the shop's", "days"),
), ("supplier",))

OFFERS = Table("offers", "what a supplier asks for a pack", "reading", (
    _c("offer", "whole", "row number"),
    _c("supplier", "text", "the supplier"),
    _c("part", "text", "our part number"),
    _c("supplier_part", "text", "the supplier's own number"),
    _c("pack", "whole", "contents of one pack", _BASE),
    _c("unit", "text", "unit as written"),
    _c("least_packs", "whole", "least packs on an order", "packs"),
    _c("from_packs", "whole", "packs from which this price holds", "packs"),
    _c("price", "whole or blank", "price for per base units; blank = ask", "cents"),
    _c("per", "whole", "what the price is for; one pack unless given", _BASE),
    _c("lead_days", "whole or blank", "from order to the door; blank = ask", "working days"),
    _c("valid_to", "day", "last day of the price; blank = open"),
    _c("note", "text", "anything else"),
    _c("gtin", "text", "number of the pack by GS1 (bar code); blank = not known"),
    _c("carrier", "text", "who brings it; blank = as the supplier's"),
    _c("core_deposit", "whole", "paid for a pack, back when the old part is", "cents"),
    _c("core_days", "whole or blank", "until the old part must be back; blank = not said", "days"),
), ("offer",))

STOCK = Table("stock", "what is on the shelf, by lot", "records", (
    _c("part", "text", "part number"),
    _c("lot", "text", "lot or batch mark; blank = unmarked"),
    _c("place", "text", "bin or shelf"),
    _c("quantity", "whole", "how much", _BASE),
    _c("unit", "text", "unit as written"),
    _c("use_by", "day", "last day it may be used"),
    _c("opened", "day", "day it was opened; blank = sealed"),
    _c("held_for", "text", "build it is kept for; blank = anyone"),
    _c("owner", "text", "whose it is, a customer or sponsor; blank = the shop's"),
), ("part", "lot", "place", "held_for", "owner"))

BUILDS = Table("builds", "units on the bench, past and planned", "reading", (
    _c("build", "text", "name of the build"),
    _c("assembly", "text", "what is built"),
    _c("options", "text", "choices, a=b; c=d"),
    _c("start", "day", "first day on the bench"),
    _c("priority", "whole", "1 is served first; 5 when blank"),
    _c("customer", "text", "whose it is"),
    _c("use", "text", "what it is for, such as road, marine, off-road"),
    _c("finished", "day", "day it was finished; blank = open"),
    _c("note", "text", "anything else"),
), ("build",))

ORDERS = Table("orders", "what was asked of suppliers", "records", (
    _c("order", "text", "our order number"),
    _c("line", "whole", "line on the order"),
    _c("supplier", "text", "the supplier"),
    _c("part", "text", "our part number"),
    _c("supplier_part", "text", "the supplier's number"),
    _c("quantity", "whole", "how much", _BASE),
    _c("unit", "text", "unit as written"),
    _c("packs", "whole or blank", "packs", "packs"),
    _c("price", "whole or blank", "amount of the line", "cents"),
    _c("ordered", "day", "day it was sent"),
    _c("promised", "day", "day it is promised at the door; blank = not known"),
    _c("build", "text", "build it is for; blank = stock"),
    _c("cancelled", "day", "day it was called off; blank = stands"),
    _c("note", "text", "anything else"),
    _c("requested", "day", "day we asked for; blank = not said"),
    _c("first_promised", "day", "day it was promised first; blank = promised"),
), ("order", "line"))

RECEIPTS = Table("receipts", "what came", "records", (
    _c("receipt", "text", "our receipt number"),
    _c("order", "text", "order it answers; blank = none"),
    _c("line", "whole or blank", "line of the order; blank = by part"),
    _c("part", "text", "what came"),
    _c("quantity", "whole", "how much", _BASE),
    _c("unit", "text", "unit as written"),
    _c("received", "day", "day it came"),
    _c("lot", "text", "lot or batch mark"),
    _c("place", "text", "bin it was put into"),
    _c("use_by", "day", "last day it may be used"),
    _c("note", "text", "anything else"),
), ("receipt", "order", "part", "lot", "place"))

FORGOTTEN = Table("forgotten", "parts asked for after the kit was called complete", "records", (
    _c("entry", "whole", "row number"),
    _c("build", "text", "the build"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint, if known"),
    _c("role", "text", "what it does there, if known"),
    _c("part", "text", "what was missing"),
    _c("quantity", "whole", "how much", _BASE),
    _c("unit", "text", "unit as written"),
    _c("cause", "text", "why"),
    _c("noted", "day", "day it was noticed"),
    _c("hours_lost", "real", "work hours lost", "hours"),
    _c("money_lost", "whole", "extra money spent", "cents"),
    _c("note", "text", "anything else"),
), ("entry",))

USED = Table("used", "what past builds really used", "records", (
    _c("entry", "whole", "row number"),
    _c("build", "text", "the build"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint, if known"),
    _c("role", "text", "what it does there, if known"),
    _c("part", "text", "what was used"),
    _c("quantity", "whole", "how much", _BASE),
    _c("unit", "text", "unit as written"),
    _c("note", "text", "anything else"),
), ("entry",))

CLOSURES = Table("closures", "days on which someone is closed besides public holidays", "reading", (
    _c("calendar", "text", "calendar name: shop, or a supplier's calendar"),
    _c("day", "day", "closed day"),
    _c("note", "text", "why"),
), ("calendar", "day"))

SETTINGS = Table("shop", "the shop itself", "reading", (
    _c("setting", "text", "name, address, calendar, currency, goods_in_days ..."),
    _c("value", "text", "its value"),
), ("setting",))

WAIVERS = Table("waivers", "roles that a named person says are not needed", "reading", (
    _c("assembly", "text", "the assembly"),
    _c("joint", "text", "the joint"),
    _c("role", "text", "the role that stays empty"),
    _c("build", "text", "only for this build; blank = always"),
    _c("reason", "text", "why it is not needed"),
    _c("signed", "text", "who says so"),
    _c("day", "day", "when"),
), ("assembly", "joint", "role", "build"))

SHEETS: tuple[Table, ...] = (
    PARTS, SETS, STAND_INS, STAGES, JOINTS, LINES, OPTIONS, RULES, SUPPLIERS, OFFERS, STOCK, BUILDS,
    ORDERS, RECEIPTS, FORGOTTEN, USED, CLOSURES, SETTINGS, WAIVERS,
)
KEPT: tuple[Table, ...] = (*KITS_KEPT, *DEALINGS, PROPOSALS)
BY_NAME: dict[str, Table] = {t.name: t for t in (*SHEETS, *EXTRA_SHEETS)}
_ABSENT = {t.name: t for t in (*EXTRA_SHEETS, *KEPT)}

SETTING_DEFAULTS: dict[str, str] = {
    "name": "",
    "address": "",
    "contact": "",
    "ship_to": "",
    "paper": "A4",
    "calendar": "every weekday",
    "currency": "EUR",
    "goods_in_days": "1",
    "order_prefix": "K",
    "confidence": "90",
    "benches": "",
    "people": "",
    "belt_tolerance": "10",
    "late_cost_per_day": "150.00",
    "parcel_cost": "5.00",
    "holding_rate": "25",
    "incremental_breaks": "",
    "hazard_not_by": "",
    "hour_rate": "",
    "checks_off": "",
    "time_zone": "",
    "count_days": "365",
    "core_return_percent": "",
}


@cache
def _empty(name: str) -> pd.DataFrame:
    """Return an empty extra table, made once: frames are never altered."""
    return _ABSENT[name].empty()


@dataclass(frozen=True)
class Shop:
    """Every table of a shop as of a day; frames are never altered.

    Parameters
    ----------
    tables
        Frame by table name, one for each of ``SHEETS`` and for those of ``EXTRA_SHEETS`` and
        ``KEPT`` that the shop has. ``stock`` holds what is on the shelf.
    """

    tables: Mapping[str, pd.DataFrame]

    def __getitem__(self, name: str) -> pd.DataFrame:
        """Return the frame of a table; of an extra table that the shop lacks, an empty one."""
        if name in _ABSENT and name not in self.tables:
            return _empty(name)
        return self.tables[name]

    def check(self) -> Shop:
        """Return the shop itself after checking every frame.

        Raises
        ------
        TableError
            When a frame is absent or breaks its contract.
        """
        for table in (*SHEETS, *(t for t in _ABSENT.values() if t.name in self.tables)):
            table.check(self.tables[table.name])
        return self

    def has(self, name: str) -> bool:
        """Tell whether the shop has rows of a table."""
        return name in self.tables and len(self.tables[name]) > 0

    def setting(self, name: str) -> str:
        """Return a setting of the sheet ``shop``, or its default."""
        frame = self.tables["shop"]
        for setting, value in zip(frame["setting"].tolist(), frame["value"].tolist(), strict=True):
            if setting == name:
                return str(value)
        return SETTING_DEFAULTS.get(name, "")

    def with_known_offers(self) -> Shop:
        """Return the shop without the offers whose price or lead time is not known yet."""
        offers = self.tables["offers"]
        known = offers["price"].notna() & offers["lead_days"].notna()
        if known.all():
            return self
        return self.replaced(offers=offers[known].reset_index(drop=True))

    def replaced(self, **frames: pd.DataFrame) -> Shop:
        """Return a shop with some tables exchanged."""
        return replace(self, tables={**self.tables, **frames})


def empty_shop() -> Shop:
    """Return a shop with every table empty."""
    return Shop({t.name: t.empty() for t in SHEETS})
