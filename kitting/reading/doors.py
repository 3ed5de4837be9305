"""The columns of each sheet at the door: what a cell may hold, and what blank means.

Contracts of the frames are in ``tables.shop``; this says only what differs at the door. Quantities
are written with their unit, money with a point, days year-month-day.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from kitting.tables.shop import BY_NAME
from kitting.terms.words import Cause, Fits, Role, SingleUse, StandInKind, Way

DoorKind = Literal[
    "name",  # a name or number that must survive as it was typed
    "text",  # free text
    "conditions",  # option=value; ...
    "word",  # one of a few fixed words
    "unit",
    "yes or no",
    "whole",
    "real",
    "money",
    "day",
    "clock",
    "gtin",
    "quantity",  # a number of the row's unit; needs the sheet parts to convert
    "ratio",
]


@dataclass(frozen=True, slots=True)
class Door:
    """One column of a sheet at the door.

    Parameters
    ----------
    name
        Heading; case, spaces, underscores and dashes do not matter.
    kind
        What a cell may hold.
    must
        The heading must be there and no cell may be blank.
    there
        The heading must be there, though a cell may be blank.
    blank
        What a blank cell stands for; ``None`` = missing.
    words
        The fixed words of a ``word`` column.
    least, most
        Least and greatest value of a number.
    example
        What the example row says.
    hint
        How to write it, where the contract's meaning does not say.
    """

    name: str
    kind: DoorKind = "text"
    must: bool = False
    there: bool = False
    blank: str | int | float | None = None
    words: tuple[str, ...] = ()
    least: int = 0
    most: int = 1_000_000
    example: str = ""
    hint: str = ""


def heading_key(heading: str) -> str:
    """Fold a heading: case, spaces, underscores and dashes do not matter."""
    return re.sub(r"[\s_\-]+", "_", heading.strip().casefold()).strip("_")


def _words(kind: type[Role | SingleUse | Fits | StandInKind | Cause | Way]) -> tuple[str, ...]:
    return tuple(str(w) for w in kind)


# fmt: off
def _name(name: str, example: str = "", *, must: bool = False, hint: str = "") -> Door:
    return Door(name, "name", must=must, example=example, hint=hint)


def _text(name: str, example: str = "", hint: str = "") -> Door:
    return Door(name, example=example, hint=hint)


def _day(name: str, example: str = "", *, must: bool = False) -> Door:
    return Door(name, "day", must=must, example=example, hint="year-month-day")


def _when(example: str = "") -> Door:
    return Door("when", "conditions", example=example,
                hint="option=value; option!=value; option=value,value - all must hold")


def _place(name: str) -> Door:
    return Door(name, "real", least=-100_000, example="0", hint="millimetres, below zero too")


def _role(*, must: bool = False) -> Door:
    return Door("role", "word", must=must, words=_words(Role), example="seal")


def _line(name: str, hint: str = "row number unless given") -> Door:
    return Door(name, "whole", least=1, hint=hint)


_NOTE = _text("note")
_UNIT = Door("unit", "unit", hint="such as piece, ml, m; blank = the part's unit in parts")
_MUST_QUANTITY = Door("quantity", "quantity", must=True, least=1, example="1", hint="in the unit")
_PART_QUANTITY = Door("quantity", "quantity", must=True, least=1, example="2",
                      hint="in the part's unit, or with a unit, as in 4 l")
_YES = "yes, or blank for no"
_POINT = "with a point, such as 12.50"

DOORS: dict[str, tuple[Door, ...]] = {
    "parts": (
        _name("part", "0012-34", must=True), _text("name", "front crankshaft seal"),
        _text("family", "lip seal"), Door("unit", "unit", example="piece", hint="blank = piece"),
        _text("maker", "Example Seals"),
        Door("single_use", "word", words=_words(SingleUse), example="never"),
        Door("shelf_days", "whole", example="1800"), Door("open_days", "whole"),
        _text("hazard", "", "such as aerosol; blank = none"),
        Door("customer_supplied", "yes or no", hint=_YES), _NOTE,
    ),
    "sets": (
        _name("set", "G-100", must=True), _name("part", "0012-34", must=True), _PART_QUANTITY,
        Door("fits", "word", blank="needed", words=_words(Fits), example="needed",
             hint="blank = needed"), _NOTE,
    ),
    "stand_ins": (
        _name("part", "0012-34", must=True), _name("stand_in", "0012-35", must=True),
        Door("kind", "word", must=True, words=_words(StandInKind), example="supersedes"),
        Door("ratio", "ratio", blank=1, example="2",
             hint="how much of the stand-in for one of the part: 2 or 1/2; blank = 1"), _NOTE,
    ),
    "stages": (
        _name("assembly", "Example engine", must=True), _name("stage", "head", must=True),
        _text("name", "fit the cylinder head"), _name("after", "block; valves"),
        Door("work_days", "real", blank=1.0, most=1000, example="0.5",
             hint="decimals allowed; blank = 1"),
        _text("place", "bench 1"), Door("deferred", "yes or no", hint=_YES),
        Door("work_days_least", "real", hint="decimals allowed; with work_days_most"),
        Door("work_days_most", "real", hint="decimals allowed; with work_days_least"),
        Door("people", "whole", hint="blank = 1; 0 = nobody"),
    ),
    "joints": (
        _name("assembly", "Example engine", must=True), _name("stage", "head", must=True),
        _name("joint", "front seal", must=True),
        _name("kind", "radial_lip_seal_in_bore", must=True),
        _text("joins", "crankshaft and front cover"),
        Door("count", "whole", blank=1, least=1, example="1", hint="blank = 1"),
        Door("disturbances", "whole", blank=1, least=1, example="1", hint="blank = 1"),
        _when("cooling=water"),
    ),
    "lines": (
        _name("assembly", "Example engine", must=True), _name("stage", "head", must=True),
        _name("joint", "front seal"), _role(),
        Door("part", "name", there=True, example="0012-34",
             hint="a part or an assembly; blank only where the role is figure or verify"),
        Door("quantity", "quantity", there=True, least=1, example="1", hint="in the unit"),
        _UNIT, _when(),
        _text("source", "manual, page 12"), _NOTE, _line("line"),
    ),
    "options": (
        _name("assembly", "Example engine", must=True), _name("option", "cooling", must=True),
        Door("choices", "name", must=True, example="water; air", hint="; between"),
        _name("default", "water"),
    ),
    "rules": (
        _name("assembly", "Example engine", must=True), _when("cooling=water"),
        _name("needs_part", "0012-34"),
        Door("quantity", "quantity", least=1, example="1",
             hint="in the part's unit, or with a unit, as in 4 l; blank = 1"),
        _name("stage", "head"), Door("needs_option", "conditions", hint="option=value"),
        _name("forbids", "", hint="option=value, or a part"),
        _text("caution", "drain before lifting"), _text("source"), _line("rule"),
    ),
    "suppliers": (
        _name("supplier", "Example Seals", must=True), _text("name", "Example Seals Ltd"),
        _name("currency", "EUR", hint="three letters; blank = the shop's"),
        _name("calendar", "GB-ENG", hint="every weekday, every day, or a country such as GB-ENG"),
        Door("cut_off", "clock", example="15:30"),
        Door("freight", "money", blank=0, example="6.50", hint=_POINT),
        Door("free_freight_above", "money", hint=_POINT),
        Door("least_order", "money", blank=0, hint=_POINT),
        Door("hazard_charge", "money", blank=0, hint=_POINT),
        _text("address"), _name("account"), _NOTE,
        _text("kind", "distributor", "blank = by the stated days of its offers"),
        _text("order_days", "Tue; Thu", "; between; blank = each day it works"),
        _text("time_zone", "Europe/London", "for the cut-off; blank = the shop's"),
        _name("carrier", hint="who brings its goods"),
        Door("inspection_days", "whole", hint="days in goods-in; blank = the shop's"),
    ),
    "offers": (
        _name("supplier", "Example Seals", must=True), _name("part", "0012-34", must=True),
        _name("supplier_part", "ES-34"),
        Door("pack", "quantity", blank=1, least=1, example="10", hint="in the unit; blank = 1"),
        _UNIT, Door("least_packs", "whole", blank=1, least=1),
        Door("from_packs", "whole", blank=1, least=1),
        Door("price", "money", there=True, example="4.20", hint=_POINT + "; blank = ask"),
        Door("per", "quantity", least=1, hint="what the price buys, in the unit; blank = one pack"),
        Door("lead_days", "whole", there=True, most=2000, example="3", hint="blank = ask"),
        _day("valid_to"), _NOTE, _line("offer"),
        Door("gtin", "gtin", hint="8, 12, 13 or 14 digits under the bar code of the pack"),
        _name("carrier", hint="blank = the supplier's"),
        Door("core_deposit", "money", blank=0, hint="for a pack, " + _POINT),
        Door("core_days", "whole", hint="days until the old part must be back"),
    ),
    "stock": (
        _name("part", "0012-34", must=True), _name("lot", "L1"), _name("place", "bin 4"),
        Door("quantity", "quantity", must=True, example="3", hint="in the unit"), _UNIT,
        _day("use_by"), _day("opened"), _name("held_for"),
        _text("owner", "", "customer or sponsor whose it is; blank = the shop's"),
    ),
    "builds": (
        _name("build", "B-001", must=True), _name("assembly", "Example engine", must=True),
        Door("options", "conditions", example="cooling=air", hint="option=value; option=value"),
        _day("start", "2026-03-09"), Door("priority", "whole", blank=5, least=1, hint="blank = 5"),
        _text("customer"), _text("use", "marine"), _day("finished"), _NOTE,
    ),
    "orders": (
        _name("order", "K-1", must=True), _line("line", "running within the order unless given"),
        _name("supplier", "Example Seals", must=True), _name("part", "0012-34", must=True),
        _name("supplier_part"), _MUST_QUANTITY, _UNIT, Door("packs", "whole", least=1),
        Door("price", "money", example="4.20", hint="amount of the line, " + _POINT),
        _day("ordered", "2026-03-02", must=True), _day("promised", "2026-03-06"),
        _name("build"), _day("cancelled"), _NOTE, _day("requested"), _day("first_promised"),
    ),
    "receipts": (
        _name("receipt", "R-1", must=True), _name("order", "K-1"), Door("line", "whole", least=1),
        _name("part", "0012-34", must=True), _MUST_QUANTITY, _UNIT,
        _day("received", "2026-03-06", must=True), _name("lot"), _name("place"), _day("use_by"),
        _NOTE,
    ),
    "forgotten": (
        _name("build", "B-001", must=True), _name("stage", "head"), _name("joint"), _role(),
        _name("part", "0012-34", must=True),
        Door("quantity", "quantity", blank=1, least=1, example="1", hint="in the unit; blank = 1"),
        _UNIT, Door("cause", "word", must=True, words=_words(Cause), example="not in the bill"),
        _day("noted", "2026-03-10"), Door("hours_lost", "real", blank=0.0, example="1.5"),
        Door("money_lost", "money", blank=0, hint=_POINT), _NOTE, _line("entry"),
    ),
    "used": (
        _name("build", "B-001", must=True), _name("stage", "head"), _name("joint"), _role(),
        _name("part", "0012-34", must=True), _MUST_QUANTITY, _UNIT, _NOTE, _line("entry"),
    ),
    "closures": (
        _name("calendar", "shop", must=True), Door("day", "day", must=True, example="2026-12-24"),
        _NOTE,
    ),
    "shop": (
        _name("setting", "name", must=True), _text("value", "Example Engine Works"),
    ),
    "waivers": (
        _name("assembly", "Example engine", must=True), _name("joint", "front seal", must=True),
        _role(must=True), _name("build"), Door("reason", must=True, example="bonded in"),
        Door("signed", must=True, example="A. Fitter"), _day("day", "2026-03-02"),
    ),
    "openings": (
        _name("assembly", "Example engine", must=True), _name("casting", "cover", must=True),
        _name("opening", "hole 1", must=True), _text("size", "M8x25", "thread or bore"),
        _text("opens_to", "oil", "what stands behind it; blank = a blind, dry hole"),
        _name("ends_in", "front seal", hint="joint that closes it, several ; between; or open"),
        Door("count", "whole", least=1, hint="blank = 1"), _when(), _NOTE,
    ),
    "circuits": (
        _name("assembly", "Example engine", must=True), _name("circuit", "oil", must=True),
        _name("stage", "head"), _name("part", "0012-34"),
        Door("quantity", "quantity", least=1, example="6", hint="one fill, in the unit"), _UNIT,
        Door("fills", "whole", least=1, example="3"), _name("filter", "none", hint="or none"),
        _text("bleed", "none"), _text("grade", "SAE 40"), _text("source", "manual, page 12"),
    ),
    "temporary": (
        _name("assembly", "Example engine", must=True), _name("part", "0012-34", must=True),
        _name("stage", "head", must=True), _name("joint", "front seal"),
        _name("removed_in", "head"), _NOTE,
    ),
    "outwork": (
        _name("assembly", "Example engine", must=True), _name("job", "0012-34", must=True),
        _name("joint", "front seal"), _name("part", "0012-34", must=True),
        Door("quantity", "quantity", least=1, example="3",
             hint="in the part's unit, or with a unit, as in 4 l"),
        _text("fate", "returns", "returns, comes back or bought"), _NOTE,
    ),
    "amounts": (
        _name("assembly", "Example engine", must=True), _name("stage", "head"),
        _name("joint", "front seal"), _name("part", "SEALANT-80", must=True),
        Door("way", "word", must=True, words=_words(Way), example="bead"),
        Door("count", "whole", least=1, hint="blank = 1"),
        Door("length", "real", example="1600", hint="millimetres"),
        Door("diameter", "real", example="3", hint="millimetres"),
        _text("thread", "", "such as M8 or M12x1.5"),
        Door("quantity", "quantity", least=1, hint="in the unit"), _UNIT,
        Door("share", "real", hint="0.5 = one to one"),
        _text("source", "measured"), _NOTE, _line("amount"),
    ),
    "fluids": (
        _name("part", "0012-34", must=True), _text("kind", "engine oil"),
        _text("grade", "SAE 15W-40"), _text("base", "mineral"),
        Door("viscosity_40", "real", example="105", hint="mm2/s"),
        Door("viscosity_100", "real", example="14.2", hint="mm2/s"),
        Door("zinc_ppm", "whole", example="1200"), Door("phosphorus_ppm", "whole", example="1100"),
        _text("spec"), _text("source", "data sheet"), _NOTE,
    ),
    "figures": (
        _name("assembly", "Example engine", must=True), _name("joint", "front seal", must=True),
        Door("what", must=True, example="torque"), _text("thread", "M6"), _text("class", "8.8"),
        Door("value", "real", hint="blank = look it up"), _text("unit", "N m"),
        _text("source", "manual"), _text("page", "12"), _NOTE,
    ),
    "measured": (
        _name("assembly", "Example engine", must=True), _name("stage", "head", must=True),
        _name("joint", "front seal", must=True),
        _name("parts", "0012-34", hint="; between, smallest first; blank = every part of family"),
        _text("family", "", "such as shim"), _text("sizes", "2.10", "one for each part, ; between"),
        Door("middle", "real", hint="in the unit of sizes"),
        Door("spread", "real", hint="in the unit of sizes"), _NOTE,
    ),
    "dates": (
        _name("build", "B-001", must=True), _name("assembly", "", hint="with stage"),
        _name("stage", "", hint="blank = the whole build"), _day("not_before"),
        _day("not_after", "2026-04-30"), _NOTE,
    ),
    "pulleys": (
        _name("assembly", "Example engine", must=True), _name("joint", "front seal", must=True),
        _name("pulley", "crank", must=True), _place("x"), _place("y"),
        Door("diameter", "real", example="136", hint="millimetres"),
        Door("turn", "word", blank="inside", words=("inside", "back"), example="inside",
             hint="blank = inside"),
        _when(), _text("source", "measured"),
    ),
    "belts": (
        _name("part", "0012-34", must=True),
        Door("length", "real", must=True, example="1125", hint="millimetres"),
        Door("ribs", "whole", least=1, example="6"), _NOTE,
    ),
    "carriers": (
        _name("carrier", "overnight van", must=True),
        _name("calendar", "GB-ENG", hint="blank = the supplier's"),
        Door("days", "whole", example="1", hint="on the road; blank = within the stated days"),
        Door("no_hazard", "yes or no", hint=_YES), _NOTE,
    ),
    "invoices": (
        _name("invoice", "2026-1187", must=True), _name("order", "K-1", must=True),
        Door("line", "whole", least=1),
        _name("part", "0012-34", must=True, hint="or freight, hazard charge, deposit"),
        _MUST_QUANTITY, _UNIT,
        Door("amount", "money", must=True, example="4.20", hint="amount of the line, " + _POINT),
        _day("dated", "2026-03-09"), _NOTE,
    ),
}
# fmt: on

FACTS = ("orders", "receipts", "forgotten", "used", "invoices")
"""Sheets whose rows add to what the shop holds; every other sheet replaces."""

ORDINALS = {"lines": "line", "rules": "rule", "offers": "offer", "forgotten": "entry"}
ORDINALS |= {"used": "entry", "amounts": "amount"}
"""Columns that number the rows of their sheet when they are not given."""


@lru_cache(maxsize=64)
def by_key(sheet: str) -> dict[str, Door]:
    """Return a sheet's columns by folded heading."""
    return {heading_key(d.name): d for d in DOORS[sheet]}


def sheet_called(name: str) -> str | None:
    """Return the sheet that a file or tab of this name is, or ``None``."""
    folded = heading_key(name)
    return folded if folded in DOORS else None


def meaning(sheet: str, door: Door) -> str:
    """Say what a column means, for people."""
    column = next((c for c in BY_NAME[sheet].columns if c.name == door.name), None)
    return column.meaning if column else "how much of the stand-in serves for one of the part"
