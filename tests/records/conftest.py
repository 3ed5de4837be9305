"""A small invented shop, kept in a file and reached by both hands."""

from __future__ import annotations

import contextlib
import os
import shutil
import uuid
from datetime import date

import pandas as pd
import pytest

from kitting import records
from kitting.tables.shop import BY_NAME

DAY = date(2026, 3, 9)


def frame(sheet, *rows):
    """Return a contract's frame from rows that name the columns they fill."""
    table = BY_NAME[sheet]
    blanks = {"text": "", "whole": 0, "real": 0.0, "yes or no": False}
    filled = [{c.name: row.get(c.name, blanks.get(c.kind)) for c in table.columns} for row in rows]
    return table.conform(pd.DataFrame(filled, columns=table.names)) if rows else table.empty()


@pytest.fixture
def make():
    """Return the maker of contract frames."""
    return frame


def small_shop():
    """Return the sheets of the small shop."""
    return {
        "parts": frame(
            "parts",
            {"part": "0012", "name": "crank seal", "family": "lip seal", "unit": "piece"},
            {"part": "1E5", "name": "gasket", "unit": "piece", "shelf_days": 700},
            {"part": "OIL", "name": "oil", "unit": "l", "note": "größer, 油, 'quote' \"two\""},
        ),
        "stages": frame("stages", {"assembly": "engine", "stage": "bottom", "work_days": 1.5}),
        "lines": frame(
            "lines",
            {"line": 1, "assembly": "engine", "stage": "bottom", "part": "0012", "quantity": 1},
            {"line": 2, "assembly": "engine", "stage": "bottom", "part": "1E5", "quantity": 2},
        ),
        "builds": frame(
            "builds",
            {"build": "E-1", "assembly": "engine", "start": "2026-04-01", "priority": 1},
            {"build": "E-2", "assembly": "engine", "priority": 5},
        ),
        "orders": frame(
            "orders",
            *(
                {
                    "order": "K0001",
                    "line": line,
                    "supplier": "town",
                    "part": part,
                    "quantity": quantity,
                    "unit": "piece",
                    "ordered": "2026-03-01",
                    "promised": "2026-03-12",
                    "build": build,
                }
                for line, part, quantity, build in (
                    (1, "0012", 4, ""),
                    (2, "1E5", 10, "E-1"),
                    (3, "1E5", 5, ""),
                )
            ),
        ),
        "stock": frame(
            "stock",
            {"part": "0012", "place": "A1", "quantity": 3, "unit": "piece"},
            {
                "part": "OIL",
                "lot": "L7",
                "place": "F2",
                "quantity": 5_000_000,
                "unit": "l",
                "use_by": "2027-01-01",
                "opened": "2026-02-02",
            },
        ),
    }


@pytest.fixture
def sheets():
    """Return the sheets of the small shop."""
    return small_shop()


@pytest.fixture(params=["", "sqlite+pysqlite:///"], ids=["file", "engine"])
def place(request, tmp_path):
    """Return where the shop is: a file by name, and the same file by an engine's URL."""
    return f"{request.param}{tmp_path / 'shop.db'}"


@pytest.fixture(scope="session")
def pattern(tmp_path_factory):
    """Return a file that holds the small shop, its sheets read; copied for each test."""
    file = tmp_path_factory.mktemp("pattern") / "shop.db"
    with records.open_shop(file, create=True) as opened:
        records.apply(opened, small_shop(), DAY)
    return file


@pytest.fixture(scope="session")
def server():
    """Return the maker of databases on the test server; they are dropped in the end.

    Called with nothing it makes an empty one, with another's name a copy of that; it returns the
    name and the URL.
    """
    url = os.environ.get("KITTING_TEST_SERVER", "")
    if not url:
        pytest.skip("no database server at hand: KITTING_TEST_SERVER holds no URL")
    import sqlalchemy as sa

    at = sa.make_url(url).set(drivername="postgresql+psycopg")
    engine = sa.create_engine(at, isolation_level="AUTOCOMMIT")
    names = []

    def make(like="template0"):
        names.append(f"test_{uuid.uuid4().hex}")
        with engine.connect() as way:
            way.execute(sa.text(f'CREATE DATABASE "{names[-1]}" TEMPLATE "{like}"'))
        shown = at.set(drivername="postgresql", database=names[-1])
        return names[-1], shown.render_as_string(hide_password=False)

    yield make
    with engine.connect() as way:
        for name in names:
            with contextlib.suppress(sa.exc.OperationalError):
                way.execute(sa.text(f'DROP DATABASE "{name}" WITH (FORCE)'))
    engine.dispose()


@pytest.fixture(scope="session")
def server_pattern(server):
    """Return the name of a database that holds the small shop."""
    name, url = server()
    with records.open_shop(url, create=True) as opened:
        records.apply(opened, small_shop(), DAY)
    return name


@pytest.fixture(params=["file", "engine", "server"])
def filled(request, tmp_path):
    """Return where the small shop is: a file, the same by an engine's URL, a server's database."""
    if request.param == "server":
        make, like = request.getfixturevalue("server"), request.getfixturevalue("server_pattern")
        return make(like)[1]
    shutil.copy(request.getfixturevalue("pattern"), tmp_path / "shop.db")
    prefix = "sqlite+pysqlite:///" if request.param == "engine" else ""
    return f"{prefix}{tmp_path / 'shop.db'}"


@pytest.fixture
def shop(filled):
    """Return the small shop, open; whatever a test does to it, it proves afterwards."""
    with records.open_shop(filled) as opened:
        yield opened
        assert records.prove(opened).faults == ()


@pytest.fixture
def shelf():
    """Return what is on the shelf as a dict from part, lot, place, held_for to quantity."""

    def read(opened, day=None):
        stock = records.snapshot(opened, day)["stock"]
        keys = stock[["part", "lot", "place", "held_for"]].itertuples(index=False, name=None)
        return dict(zip(keys, stock["quantity"].tolist(), strict=True))

    return read
