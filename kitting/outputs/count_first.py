"""Bins to count before a kit relies on them, and what the shelf is to keep and lacks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from kitting.outputs.text import fit, middle, wrapped
from kitting.terms.units import show, unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd


def count_first_document(bins: pd.DataFrame, parts: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the bins to count, ready for JSON; quantities in each part's door unit.

    Parameters
    ----------
    bins
        Table ``count_first``.
    parts
        Table ``parts``.
    """
    known = parts.set_index("part")[["name", "unit"]].to_dict("index")
    found = []
    for row in bins.to_dict("records"):
        part = known.get(row["part"], {"name": "", "unit": "piece"})
        of = unit(part["unit"])
        found.append(
            {
                **{"place": row["place"], "part": row["part"], "name": part["name"]},
                **{"lot": row["lot"], "record": show(row["quantity"], of), "unit": of.name},
                "counted": None if row["counted"] is None else _day(row["counted"]),
                **{"build": row["build"], "why": row["why"]},
            }
        )
    return found


def _day(day: pd.Timestamp) -> str | None:
    return None if day != day else day.date().isoformat()


def count_first_text(bins: Sequence[dict[str, Any]]) -> Iterator[str]:
    """Write the bins to count for a terminal."""
    if not bins:
        yield "No bin has to be counted before the open builds' kits."
        return
    yield click.style("Count first: kits rely on these bins", bold=True)
    yield f"  {'bin':14} {'part':16} {'what':26} {'record':>10}  for"
    for row in bins:
        much = row["record"] if row["unit"] == "piece" else f"{row['record']} {row['unit']}"
        what = row["name"] + (f", lot {row['lot']}" if row["lot"] else "")
        yield (
            f"  {fit(row['place'], 14)} {fit(row['part'], 16)} {middle(what, 26)} {much:>10}  "
            f"{fit(row['build'], 8)}".rstrip()
        )
        yield from wrapped(f"      {row['why']}", 6)
    yield "  kitting count PART QUANTITY --place BIN notes what is there"


def kept_document(wanted: pd.DataFrame, parts: pd.DataFrame) -> list[dict[str, Any]]:
    """Return what the shelf is to keep and lacks, ready for JSON.

    Parameters
    ----------
    wanted
        Table ``needs``, of no build.
    parts
        Table ``parts``.
    """
    known = parts.set_index("part")[["name", "unit"]].to_dict("index")
    found = []
    for part, quantity in wanted[["part", "quantity"]].itertuples(index=False, name=None):
        held = known.get(part, {"name": "", "unit": "piece"})
        of = unit(held["unit"])
        found.append(
            {"part": part, "name": held["name"], "lacks": show(quantity, of), "unit": of.name}
        )
    return found


def kept_text(lacking: Sequence[dict[str, Any]]) -> Iterator[str]:
    """Write what the shelf is to keep and lacks for a terminal; nothing when it lacks nothing."""
    if not lacking:
        return
    yield click.style(
        "To be kept on the shelf, as decided; kitting order, of all builds, orders it", bold=True
    )
    for row in lacking:
        much = row["lacks"] if row["unit"] == "piece" else f"{row['lacks']} {row['unit']}"
        yield f"  {fit(row['part'], 16)} {middle(row['name'], 40)} lacks {much}"
