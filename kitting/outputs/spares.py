"""Spares to think of: a part of the kit check that never makes a kit less than whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from kitting.outputs.text import fit, middle, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd

    from kitting.tables.plan import Plan


def spares_document(
    plan: Plan, build: str, advised: pd.DataFrame, wanted: pd.DataFrame
) -> list[dict[str, Any]]:
    """Return the spares of a build, ready for JSON; quantities in pieces.

    Parameters
    ----------
    advised
        Table ``spares``.
    wanted
        Table ``needs``: what would have to be bought.
    """
    names = dict(plan.shop["parts"][["part", "name"]].itertuples(index=False, name=None))
    own = wanted[wanted["build"] == build].set_index("part")["quantity"]
    return [
        {
            "part": row.part,
            "name": names.get(row.part, ""),
            "need": int(row.need),
            "spare": int(row.spare),
            "buy": int(own.get(row.part, 0)),
            "why": row.why,
            "mark": row.mark,
            "source": row.source,
        }
        for row in advised[advised["build"] == build].itertuples(index=False)
    ]


def spares_text(spares: Sequence[dict[str, Any]]) -> Iterator[str]:
    """Write the spares for a terminal, those to buy first, each reason once."""
    if not spares:
        yield "No spares to think of by the rules of the catalog spare_rules."
        return
    yield click.style("Spares to think of; without them the kit is no less whole", bold=True)
    yield "  part           what                                 need spare  buy  why"
    told: dict[str, int] = {}
    for row in sorted(spares, key=lambda r: r["buy"] == 0):
        number = told.setdefault(f"{row['why']} ({row['mark']})", len(told) + 1)
        buy = str(row["buy"]) if row["buy"] else "-"
        yield (
            f"  {fit(row['part'], 14)} {middle(row['name'], 36)} {row['need']:>4} "
            f"{row['spare']:>5} {buy:>4}  {number}"
        )
    for text, number in told.items():
        yield from wrapped(f"  {number}  {text}", 5)
