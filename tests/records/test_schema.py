"""The schema: the sum of its steps is what the contracts ask for, and steps are whole."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing

import pytest
import sqlalchemy as sa
from records.store_shop import stored

from kitting import records
from kitting.errors import ShopError, TableError
from kitting.records import Records, opening, schema, steps
from kitting.records.hands import FileHand
from kitting.records.step_kinds import NewColumn, NewIndex, NewTable, Step
from kitting.tables.shop import BY_NAME, SHEETS

SCHEMA = "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL AND tbl_name <> 'schema_steps'"
OURS = {
    *("claims", "order_facts", "orders_seen"),
    *("counts", "kit_shorts", "kits", "moves", "numbers", "on_hand", "proposals"),
    "schema_steps",
    *("stock_seen", "stock_sheet", "version_rows", "versions"),
}
EXTRA = {"receipts": {"move"}}  # columns that a table has beyond its contract
BLANKS = {"whole or blank", "real", "day"}
NAMES = {"text": "TEXT", "day": "TEXT", "real": "REAL"}
SERVER_NAMES = {"bigint": "INTEGER", "double precision": "REAL", "text": "TEXT"}


def columns(opened, name):
    """Return name, type and whether blank is allowed of each column but the row's number."""
    with opened.reading() as hand:
        if hand.dialect == "postgresql":
            found = hand.rows(
                "SELECT column_name, data_type, is_nullable FROM information_schema.columns "
                f"WHERE table_name = '{name}' ORDER BY ordinal_position"
            )
            rows = [(n, SERVER_NAMES[kind], blank == "NO") for n, kind, blank in found]
        else:
            rows = hand.rows(f"SELECT name, type, \"notnull\" FROM pragma_table_info('{name}')")
    return [(n, kind, not filled) for n, kind, filled in rows if n != "position"]


@pytest.mark.parametrize("contract", BY_NAME.values(), ids=lambda t: t.name)
def test_steps_add_up_to_the_contracts(shop, contract):
    """Every column of a contract is kept, as its kind. If not, add a step in records/steps.py."""
    name = "stock_seen" if contract.name == "stock" else contract.name
    held = [c for c in columns(shop, name) if c[0] not in EXTRA.get(name, set())]
    asked = [(c.name, NAMES.get(c.kind, "INTEGER"), c.kind in BLANKS) for c in contract.columns]
    assert held == asked


def test_every_table_is_strict_and_known(shop):
    """No table is left that takes text for a number, and none that nobody asked for."""
    with shop.reading() as hand:
        if hand.dialect == "postgresql":
            named = hand.rows("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
            assert {name for (name,) in named} == set(BY_NAME) - {"stock"} | OURS
            return
        tables = dict(hand.rows("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'"))
    tables.pop("sqlite_schema")
    assert set(tables) == set(BY_NAME) - {"stock"} | OURS
    assert set(tables.values()) == {1}


def test_how_the_file_is_kept(place, pattern, tmp_path):
    """Write-ahead log, full sync, references held."""
    shutil.copy(pattern, tmp_path / "shop.db")
    with records.open_shop(place) as shop, shop.reading() as hand:
        told = [hand.rows(f"PRAGMA {p}")[0][0] for p in ("journal_mode", "synchronous")]
        assert told == ["wal", 2]
        assert hand.rows("PRAGMA foreign_keys") == [(1,)]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE moves SET quantity = quantity + 1",
        "UPDATE moves SET \"by\" = 'me' WHERE move = 1",
        "DELETE FROM moves WHERE move = 1",
        "INSERT INTO moves SELECT 99, day, made_at, part, lot, from_place, to_place, 0, unit, "
        'use_by, opened, held_for, reason, "order", line, build, "by", NULL, owner, checked '
        "FROM moves LIMIT 1",
        "INSERT INTO moves SELECT 99, day, made_at, part, lot, to_place, to_place, 1, unit, "
        'use_by, opened, held_for, reason, "order", line, build, "by", NULL, owner, checked '
        "FROM moves LIMIT 1",
        "INSERT INTO moves SELECT 99, day, made_at, part, lot, from_place, to_place, 1, unit, "
        'use_by, opened, held_for, reason, "order", line, build, "by", 77, owner, checked '
        "FROM moves LIMIT 1",
        "UPDATE on_hand SET quantity = -1",
        "UPDATE parts SET customer_supplied = 2",
        "UPDATE builds SET start = 'soon'",
        "UPDATE lines SET quantity = 'some'",
    ],
)
def test_the_database_itself_refuses(shop, statement):
    """Moves stay, and rows that break a rule of the schema do not come in, whoever tries."""
    before = records.snapshot(shop)
    with pytest.raises(TableError, match="refuses a row"), shop.writing() as hand:
        hand.run(statement)
    after = records.snapshot(shop)
    assert all(before[t.name].equals(after[t.name]) for t in SHEETS)


def test_steps_are_numbered_in_order():
    """Numbers are 1, 2, 3 ...: a shop's age is its last step."""
    assert [s.number for s in steps.STEPS] == list(range(1, len(steps.STEPS) + 1))


@pytest.mark.parametrize("step", steps.STEPS, ids=lambda s: str(s.number))
def test_a_released_step_is_never_changed(step):
    """Each step still makes, word for word, the schema of the shop that was stored after it.

    After adding a step, store its shop: ``python tests/records/store_shop.py``.
    """
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as file:
        opening.take_steps(Records("made", FileHand(file)), steps.STEPS[: step.number])
        made = {" ".join(sql.split()) for (sql,) in file.execute(SCHEMA)}
    with closing(sqlite3.connect(":memory:")) as file:
        file.executescript(stored(step.number).read_text(encoding="utf-8"))
        assert made == {" ".join(sql.split()) for (sql,) in file.execute(SCHEMA)}


@pytest.mark.parametrize("step", steps.STEPS, ids=lambda s: str(s.number))
def test_a_shop_of_each_age_opens_and_proves(step, tmp_path):
    """Whatever its schema, a stored shop is brought up to date, proves and is as it was."""
    with closing(sqlite3.connect(tmp_path / "shop.db")) as file:
        file.executescript(stored(step.number).read_text(encoding="utf-8"))
        assert file.execute("SELECT max(step) FROM schema_steps").fetchall() == [(step.number,)]
        moves = file.execute("SELECT count(*) FROM moves").fetchall()
    with records.open_shop(tmp_path / "shop.db") as opened:
        assert records.prove(opened).faults == ()
        held = records.snapshot(opened).check()
        assert len(held["orders"])
        assert len(held["stock"])
        with opened.reading() as hand:
            assert hand.rows("SELECT count(*) FROM moves") == moves


def test_a_step_that_fails_leaves_nothing(shop):
    """A step and its record are one: after a failure, neither is there, and it may be retried."""
    number = len(steps.STEPS) + 1
    made = NewTable("later", "name, size: whole", "name")
    bad = Step(number, "fails half way", (made, NewColumn("no_such_table", "x")))
    with pytest.raises(ShopError, match="no_such_table"):
        opening.take_steps(shop, (*steps.STEPS, bad))
    assert columns(shop, "later") == []
    with shop.reading() as hand:
        assert hand.rows("SELECT max(step) FROM schema_steps") == [(number - 1,)]
    good = Step(number, "works", (made, NewColumn("later", "note"), NewIndex("x", "later", "name")))
    for _again in range(2):
        opening.take_steps(shop, (*steps.STEPS, good))
    assert columns(shop, "later") == [
        ("name", "TEXT", False),
        ("size", "INTEGER", False),
        ("note", "TEXT", False),
    ]


def test_a_new_column_fills_the_rows_that_are_there(shop):
    """A column added to a table with rows gets the blank that its step gives."""
    more = Step(
        len(steps.STEPS) + 1,
        "columns of each kind",
        (
            NewColumn("parts", "weight: whole", "0"),
            NewColumn("parts", "seen: day", "NULL"),
            NewColumn("parts", "colour"),
        ),
    )
    opening.take_steps(shop, (*steps.STEPS, more))
    with shop.reading() as hand:
        assert hand.rows("SELECT DISTINCT weight, seen, colour FROM parts") == [(0, None, "")]


def test_every_step_speaks_to_a_server():
    """Each step compiles for PostgreSQL: 64-bit numbers, and triggers of its own kind."""
    into = sa.MetaData()
    said = [s for step in steps.STEPS for s in schema.statements(step, "postgresql", into)]
    text = "\n".join(said)
    assert "BIGINT NOT NULL" in text
    assert "DOUBLE PRECISION" in text
    assert "BIGSERIAL" in text
    assert "STRICT" not in text
    assert "BEFORE UPDATE OR DELETE" in text


def test_an_unknown_kind_is_refused():
    """A slip in a step shows when the step is made, not when rows come."""
    with pytest.raises(ValueError, match="is not a kind"):
        schema.column("size: hole")
