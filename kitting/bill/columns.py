"""Frames as plain arrays by column: what is worked on row by row needs no frame."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.bill.totals import ranges

if TYPE_CHECKING:
    from collections.abc import Container

    from numpy.typing import NDArray

    from kitting.tables.contract import Table

    Whole = NDArray[np.int64]
    Columns = dict[str, NDArray[Any]]


def columns_of(
    frame: pd.DataFrame, names: tuple[str, ...], assemblies: Container[str] | None = None
) -> Columns:
    """Return some columns as arrays, text as objects.

    Parameters
    ----------
    frame
        Any table.
    names
        Columns to return.
    assemblies
        Assemblies whose rows are kept; ``None`` keeps all.
    """
    out = {}
    for name in names:
        values = frame[name].to_numpy()
        out[name] = values if values.dtype.kind in "iufb" else frame[name].to_numpy(dtype=object)
    if assemblies is None:
        return out
    mask = np.array([a in assemblies for a in frame["assembly"].tolist()], dtype=bool)
    return {name: values[mask] for name, values in out.items()}


def text(values: list[str]) -> NDArray[np.object_]:
    """Return names as an array of objects."""
    out = np.empty(len(values), dtype=object)
    out[:] = values
    return out


def spread(table: Table, rows: Columns, builds: pd.Series, of_build: Whole) -> pd.DataFrame:
    """Copy the rows of each variant to each of its builds, in order of builds.

    Parameters
    ----------
    table
        The contract of the frame to return; a key ``required`` is numbered from 1.
    rows
        Its columns but ``build``, and ``variant``.
    builds, of_build
        Names of the builds, and the variant of each.
    """
    variant = np.asarray(rows["variant"], dtype=np.int64)
    if not len(variant) or not len(of_build):
        return table.empty()
    order = np.argsort(variant, kind="stable")
    first = np.searchsorted(variant[order], np.arange(int(of_build.max()) + 2)).astype(np.int64)
    begin, end = first[of_build], first[of_build + 1]
    picked = order[ranges(begin, end)]
    build = np.repeat(np.arange(len(of_build)), end - begin)
    out: dict[str, Any] = {}
    for column in table.columns:
        if column.name == "build":
            out["build"] = builds.array.take(build)
        elif column.name == "required":
            out["required"] = np.arange(1, len(picked) + 1, dtype=np.int64)
        else:
            values: Any = rows[column.name]
            if column.kind == "text":
                values = pd.array(values, dtype="str")
            out[column.name] = values.take(picked)
    return table.conform(pd.DataFrame(out, copy=False))
