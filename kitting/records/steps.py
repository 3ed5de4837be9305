"""The schema as numbered steps: how a shop of any age becomes a shop of today.

A step, once released, is never changed: it says what a shop of its age looks like. To change a
contract in ``tables/shop.py``, add a step here that makes the same change; a test compares the
contracts with the sum of all steps. Columns are text unless a kind of ``tables.contract`` is
given.
"""

from __future__ import annotations

from kitting.records.step_kinds import AppendOnly, NewColumn, NewIndex, NewTable, Remade, Run, Step
from kitting.records.steps_dealings import DEALINGS_11

_SHEETS_1 = (
    NewTable(
        "parts",
        "part, name, family, unit, maker, single_use, shelf_days: whole or blank, "
        "open_days: whole or blank, hazard, customer_supplied: yes or no, note",
        "part",
    ),
    NewTable("sets", "set, part, quantity: whole, fits, note", "set, part, fits"),
    NewTable("stand_ins", "part, stand_in, kind, take: whole, give: whole, note", "part, stand_in"),
    NewTable(
        "stages",
        "assembly, stage, name, after, work_days: real, place, deferred: yes or no",
        "assembly, stage",
    ),
    NewTable(
        "joints",
        "assembly, stage, joint, kind, joins, count: whole, disturbances: whole, when",
        "assembly, joint",
    ),
    NewTable(
        "lines",
        "line: whole, assembly, stage, joint, role, part, quantity: whole, unit, when, source, "
        "note",
        "line",
    ),
    NewTable("options", "assembly, option, choices, default", "assembly, option"),
    NewTable(
        "rules",
        "rule: whole, assembly, when, needs_part, quantity: whole or blank, stage, needs_option, "
        "forbids, caution, source",
        "rule",
    ),
    NewTable(
        "suppliers",
        "supplier, name, currency, calendar, cut_off, freight: whole, "
        "free_freight_above: whole or blank, least_order: whole, hazard_charge: whole, address, "
        "account, note",
        "supplier",
    ),
    NewTable(
        "offers",
        "offer: whole, supplier, part, supplier_part, pack: whole, unit, least_packs: whole, "
        "from_packs: whole, price: whole, per: whole, lead_days: whole, valid_to: day, note",
        "offer",
    ),
    NewTable(
        "builds",
        "build, assembly, options, start: day, priority: whole, customer, use, finished: day, note",
        "build",
    ),
    NewTable(
        "orders",
        "order, line: whole, supplier, part, supplier_part, quantity: whole, unit, "
        "packs: whole or blank, price: whole or blank, ordered: day, promised: day, build, "
        "cancelled: day, note",
        "order, line",
    ),
    NewTable(
        "forgotten",
        "entry: whole, build, stage, joint, role, part, quantity: whole, unit, cause, noted: day, "
        "hours_lost: real, money_lost: whole, note",
        "entry",
    ),
    NewTable(
        "used",
        "entry: whole, build, stage, joint, role, part, quantity: whole, unit, note",
        "entry",
    ),
    NewTable("closures", "calendar, day: day, note", "calendar, day"),
    NewTable("shop", "setting, value", "setting"),
    NewTable(
        "waivers",
        "assembly, joint, role, build, reason, signed, day: day",
        "assembly, joint, role, build",
    ),
)

_LEDGER_1 = (
    NewTable(
        "moves",
        "day: day, made_at, part, lot, from_place, to_place, quantity: whole, unit, use_by: day, "
        "opened: day, held_for, reason, order, line: whole or blank, build, by, "
        "reverses: whole or blank",
        "reverses",
        primary="move",
        checks=("quantity > 0", "from_place <> to_place", "day IS NOT NULL"),
        refers=(("reverses", "moves.move"),),
    ),
    AppendOnly("moves", "a move is never edited or removed; reverse it"),
    NewTable(
        "receipts",
        "receipt, order, line: whole or blank, part, quantity: whole, unit, received: day, lot, "
        "place, use_by: day, note, move: whole or blank",
        "receipt, order, part, lot, place",
        refers=(("move", "moves.move"),),
    ),
    NewTable(
        "stock_sheet",
        "part, lot, place, quantity: whole, unit, use_by: day, opened: day, held_for",
        "part, lot, place, held_for",
    ),
    NewTable("numbers", "name, last: whole", "name", primary=""),
)

_EXTRA_3 = (
    NewTable(
        "openings",
        "assembly, casting, opening, size, opens_to, ends_in, count: whole or blank, when, note",
        "assembly, casting, opening",
    ),
    NewTable(
        "circuits",
        "assembly, circuit, stage, part, quantity: whole or blank, unit, fills: whole or blank, "
        "filter, bleed, grade, source",
        "assembly, circuit",
    ),
    NewTable(
        "temporary",
        "assembly, part, stage, joint, removed_in, note",
        "assembly, part, stage, joint",
    ),
    NewTable(
        "outwork",
        "assembly, job, joint, part, quantity: whole or blank, fate, note",
        "assembly, job, joint, part",
    ),
    NewTable(
        "amounts",
        "amount: whole, assembly, stage, joint, part, way, count: whole or blank, length: real, "
        "diameter: real, thread, quantity: whole or blank, unit, share: real, source, note",
        "amount",
    ),
    NewTable(
        "fluids",
        "part, kind, grade, base, viscosity_40: real, viscosity_100: real, "
        "zinc_ppm: whole or blank, phosphorus_ppm: whole or blank, spec, source, note",
        "part",
    ),
    NewTable(
        "figures",
        "assembly, joint, what, thread, class, value: real, unit, source, page, note",
        "assembly, joint, what, thread",
    ),
)

_TIMES_4 = (
    NewColumn("stages", "work_days_least: real", "NULL"),
    NewColumn("stages", "work_days_most: real", "NULL"),
    NewColumn("stages", "people: whole or blank", "NULL"),
    NewTable(
        "measured",
        "assembly, stage, joint, parts, family, sizes, middle: real, spread: real, note",
        "assembly, joint, parts, family",
    ),
    NewTable(
        "dates",
        "build, assembly, stage, not_before: day, not_after: day, note",
        "build, assembly, stage",
    ),
)

_DECIDED_5 = (
    NewTable(
        "proposals",
        "proposal: whole, day: day, by, decision, reason, lesson, assembly, stage, joint, role, "
        "part, supplier, quantity: whole, unit, days: whole, message, evidence, entries, change",
        "proposal",
    ),
    AppendOnly("proposals", "a decision is never edited or removed; decide again"),
)

_PROMISES_7 = (
    NewColumn("suppliers", "kind"),
    NewColumn("orders", "requested: day", "NULL"),
    NewColumn("orders", "first_promised: day", "NULL"),
)

_BELTS_6 = (
    NewTable(
        "pulleys",
        "assembly, joint, pulley, x: real, y: real, diameter: real, turn, when, source",
        "assembly, joint, pulley, when",
    ),
    NewTable("belts", "part, length: real, ribs: whole or blank, note", "part"),
)

# What is where, summed from the moves that are there; kits were never moved before this step.
_ON_HAND_8 = (
    NewColumn("moves", "owner"),
    NewColumn("moves", "checked"),
    NewTable(
        "on_hand",
        "part, lot, place, held_for, owner, build, quantity: whole, unit, use_by: day, opened: day",
        "part, lot, place, held_for, owner",
        checks=("quantity >= 0",),
    ),
    Run(
        "INSERT INTO on_hand (part, lot, place, held_for, owner, build, quantity, unit, use_by, "
        "opened) SELECT s.part, s.lot, s.place, s.held_for, '', '', s.quantity, m.unit, m.use_by, "
        "m.opened FROM (SELECT part, lot, place, held_for, CAST(SUM(change) AS BIGINT) AS "
        "quantity, MIN(move) AS since, MAX(move) AS last FROM ("
        "SELECT move, part, lot, to_place AS place, held_for, quantity AS change FROM moves "
        "UNION ALL "
        "SELECT move, part, lot, from_place AS place, held_for, -quantity AS change FROM moves"
        ") AS e WHERE place NOT IN ('outside: supplier', 'outside: count', 'outside: label') "
        "GROUP BY part, lot, place, held_for) AS s JOIN moves AS m ON m.move = s.last "
        "ORDER BY s.since"
    ),
    NewIndex("on_hand_by_build", "on_hand", "build"),
    NewIndex("moves_by_build", "moves", "build"),
    NewIndex("moves_by_day", "moves", "day"),
    # In the place of stock_sheet, whose rows could not differ by owner alone.
    NewTable(
        "stock_seen",
        "part, lot, place, quantity: whole, unit, use_by: day, opened: day, held_for, owner",
        "part, lot, place, held_for, owner",
    ),
    Run(
        "INSERT INTO stock_seen (part, lot, place, quantity, unit, use_by, opened, held_for, "
        "owner) SELECT part, lot, place, quantity, unit, use_by, opened, held_for, '' "
        "FROM stock_sheet ORDER BY position"
    ),
    Run("DELETE FROM stock_sheet"),
)

_KITS_8 = (
    NewTable(
        "kits",
        "kit: whole, build, assembly, stage, day: day, made_at, by, checked, note",
        "kit",
    ),
    AppendOnly("kits", "a kit that was called complete stays so; call it complete again"),
    NewTable(
        "kit_shorts",
        "kit: whole, joint, role, part, quantity: whole, unit, why",
        "kit, joint, role, part",
    ),
    AppendOnly("kit_shorts", "what was short then stays a fact"),
)

_ASKED_9 = (
    Remade(
        NewTable(
            "offers",
            "offer: whole, supplier, part, supplier_part, pack: whole, unit, least_packs: whole, "
            "from_packs: whole, price: whole or blank, per: whole, lead_days: whole or blank, "
            "valid_to: day, note",
            "offer",
        )
    ),
    NewColumn("offers", "gtin"),
)

_VERSIONS_10 = (
    NewTable(
        "versions",
        "version: whole, day: day, made_at, by, reason, added: whole, removed: whole",
        "version",
    ),
    AppendOnly("versions", "a version of the bill stays as it was; make a new one"),
    NewTable("version_rows", "version: whole, sheet, came: yes or no, content"),
    AppendOnly("version_rows", "what a version changed stays as it was"),
    NewIndex("version_rows_by_version", "version_rows", "version"),
)

_ORDER_DAYS_12 = (NewColumn("suppliers", "order_days"), NewColumn("suppliers", "time_zone"))

_CARRIERS_13 = (
    NewColumn("suppliers", "carrier"),
    NewColumn("suppliers", "inspection_days: whole or blank", "NULL"),
    NewColumn("offers", "carrier"),
    NewColumn("offers", "core_deposit: whole", "0"),
    NewColumn("offers", "core_days: whole or blank", "NULL"),
    NewTable(
        "carriers",
        "carrier, calendar, days: whole or blank, no_hazard: yes or no, note",
        "carrier",
    ),
)

_COUNTS_13 = (
    NewTable(
        "counts",
        "count: whole, day: day, part, lot, place, held_for, owner, before: whole, after: whole, "
        "by, made_at",
        "count",
    ),
    AppendOnly("counts", "what was counted stays a fact; count again"),
)

STEPS: tuple[Step, ...] = (
    Step(1, "sheets, ledger of moves, receipts", (*_SHEETS_1, *_LEDGER_1)),
    Step(
        2,
        "find the moves of a part and the receipts of an order at once",
        (
            NewIndex("moves_by_part", "moves", "part, lot, held_for"),
            NewIndex("receipts_by_order", "receipts", "order, line"),
        ),
    ),
    Step(3, "castings, circuits, outwork, amounts, fluids and figures", _EXTRA_3),
    Step(4, "three-point work days, people, measured sizes, days to keep", _TIMES_4),
    Step(5, "proposals that a person decided on", _DECIDED_5),
    Step(6, "pulleys and belts", _BELTS_6),
    Step(7, "kinds of supplier, requested and first promised days", _PROMISES_7),
    Step(8, "what is where, whose it is, kits", (*_ON_HAND_8, *_KITS_8)),
    Step(9, "offers without a price or lead time yet, trade item numbers", _ASKED_9),
    Step(10, "versions of the bill", _VERSIONS_10),
    Step(11, "facts of orders, claims, invoices", DEALINGS_11),
    Step(12, "days on which suppliers take orders, and their clocks", _ORDER_DAYS_12),
    Step(
        13,
        "carriers, days of inspection, deposits on old parts, counts that agreed too",
        (*_CARRIERS_13, *_COUNTS_13),
    ),
)

TODAY = STEPS[-1].number
