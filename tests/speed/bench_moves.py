"""How fast the ledger becomes a frame, against every reader of the same rows that is at hand.

Run as a script: ``python tests/speed/bench_moves.py``. The ledger holds 1,000,000 moves of twenty
columns, every other one a receipt, the others picks. The readers are those of the standard library
and pandas, and, where they are installed, ``adbc-driver-sqlite`` with ``pyarrow``, ``polars`` and
``connectorx`` (none of them is needed by the project). Each reads in the same run, in turn, and its
best time counts; each must give equal cells. The ratio is ours to the fastest.
"""

from __future__ import annotations

import gc
import importlib.util
import shutil
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from time import perf_counter

import pandas as pd

from kitting import records
from kitting.records.rows import quoted
from kitting.tables.moves import MOVES

MOVES_KEPT = 1_000_000
QUERY = f"SELECT {quoted(MOVES.names)} FROM moves ORDER BY move"


def made(folder: Path, count: int = MOVES_KEPT) -> Path:
    """Return a shop of so many moves as a busy shop writes them."""
    file = folder / "shop.db"
    receipt = "i % 2 = 0"
    cells = {
        "day": "date('2016-01-04', (i / 500) || ' days')",
        "made_at": "strftime('%Y-%m-%dT%H:%M:%S', '2016-01-04', (i * 170) || ' seconds') || "
        "printf('.%06d+00:00', i)",
        "part": "'P' || (i % 20000)",
        "lot": "iif(i % 9 = 0, 'L' || (i % 1000), '')",
        "from_place": f"iif({receipt}, 'outside: supplier', 'A' || (i % 97))",
        "to_place": f"iif({receipt}, 'A' || (i % 97), 'kit: E-' || (i % 3000) || ': bottom')",
        "quantity": "1 + i % 7",
        "unit": "'piece'",
        "use_by": "iif(i % 9 = 0, '2027-01-01', NULL)",
        "held_for": "''",
        "reason": f"iif({receipt}, 'received', 'picked')",
        "order": f"iif({receipt}, 'K' || (i / 20), '')",
        "line": f"iif({receipt}, i % 20, NULL)",
        "build": f"iif({receipt}, '', 'E-' || (i % 3000))",
        "by": "iif(i % 3 = 0, 'jo', 'al')",
        "owner": "''",
        "checked": "''",
    }
    with records.open_shop(file, create=True) as shop, shop.writing() as hand:
        hand.run(
            "WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n LIMIT "
            f"{count}) INSERT INTO moves ({quoted(list(cells))}) SELECT "
            f"{', '.join(cells.values())} FROM n"
        )
    return file


def ours(file: Path) -> pd.DataFrame:
    """Return the frame by this project's way."""
    with records.open_shop(file, read_only=True) as shop:
        return records.moves(shop)


def by_driver(file: Path) -> pd.DataFrame:
    """Return a frame by the standard library's driver: rows, then columns."""
    with closing(sqlite3.connect(file)) as way:
        columns = zip(*way.execute(QUERY).fetchall(), strict=True)
        return pd.DataFrame(dict(zip(MOVES.names, columns, strict=True)), copy=False)


def by_pandas(file: Path) -> pd.DataFrame:
    """Return a frame by pandas over the standard library's driver."""
    with closing(sqlite3.connect(file)) as way:
        return pd.read_sql_query(QUERY, way)


def by_arrow(file: Path) -> pd.DataFrame:
    """Return a frame by Arrow, its batches as large as it is fastest with."""
    from adbc_driver_sqlite import dbapi

    with dbapi.connect(f"file:{file}?mode=ro") as way, way.cursor() as cursor:
        cursor.adbc_statement.set_options(**{"adbc.sqlite.query.batch_rows": "65536"})
        cursor.execute(QUERY)
        return cursor.fetch_arrow_table().to_pandas()


def by_polars(file: Path) -> pd.DataFrame:
    """Return a frame by polars over Arrow."""
    import polars

    read = polars.read_database_uri(QUERY, f"sqlite:///{file}", engine="adbc")
    return read.to_pandas(use_pyarrow_extension_array=True)


def by_connectorx(file: Path) -> pd.DataFrame:
    """Return a frame by connectorx."""
    import connectorx

    return connectorx.read_sql(f"sqlite://{file}", QUERY)


READERS = {
    "ours": (ours, ""),
    "the driver, by rows": (by_driver, ""),
    "pandas over the driver": (by_pandas, ""),
    "Arrow": (by_arrow, "adbc_driver_sqlite"),
    "polars over Arrow": (by_polars, "polars"),
    "connectorx": (by_connectorx, "connectorx"),
}


def same(found: pd.DataFrame, wanted: pd.DataFrame) -> None:
    """See that each cell is what another reader says, whatever its dtype."""
    assert len(found) == len(wanted)
    for column in MOVES.columns:
        other = found[column.name]
        if column.kind == "day":
            cast = pd.to_datetime(other, format="%Y-%m-%d").astype(column.dtype)
        elif column.kind == "whole or blank":
            cast = pd.to_numeric(other).astype(column.dtype)
        else:
            cast = other.astype(column.dtype)
        pd.testing.assert_series_equal(cast, wanted[column.name], check_names=False)


def seconds(file: Path, times: int = 3) -> dict[str, float]:
    """Return the best seconds of each reader that is installed."""
    best: dict[str, float] = {}
    wanted = MOVES.check(ours(file))
    for turn in range(times):
        for name, (read, needs) in READERS.items():
            if needs and importlib.util.find_spec(needs) is None:
                continue
            begin = perf_counter()
            found = read(file)
            best[name] = min(best.get(name, 9e9), perf_counter() - begin)
            if not turn:
                same(found, wanted)
            del found
            gc.collect()
    return best


if __name__ == "__main__":
    place = Path(tempfile.mkdtemp())
    try:
        took = seconds(made(place))
        for name, spent in took.items():
            print(f"{MOVES_KEPT:,} moves to a frame, {name}: {spent:.2f} s")
        fastest = min((s, n) for n, s in took.items() if n != "ours")
        ratio = took["ours"] / fastest[0]
        print(f"ours is {ratio:.2f} times the fastest other reader ({fastest[1]}); at most 3 times")
        assert ratio <= 3
    finally:
        shutil.rmtree(place)
