"""Proposals of the audit, and what was decided on them, for ``--json`` and for the terminal."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

import click

from kitting.outputs.audit import as_rows
from kitting.outputs.text import plural, wrapped
from kitting.terms.money import show_cents

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd

Document = dict[str, Any]


def proposals_document(
    proposed: pd.DataFrame,
    decided: pd.DataFrame,
    back_test: pd.DataFrame,
    held_back: tuple[float, float],
    currency: str,
) -> Document:
    """Return proposals, decisions and back-test, ready for JSON; money in cents.

    Parameters
    ----------
    proposed, decided, back_test
        Tables ``proposed``, ``proposals`` and ``back_test``.
    held_back
        Ends of the interval of the share that was caught.
    currency
        Of the shop.
    """
    judged, caught = len(back_test), int(back_test["caught"].sum())
    return {
        "currency": currency,
        "proposals": as_rows(proposed),
        "decided": as_rows(decided),
        "back_test": {
            "judged": judged,
            "caught": caught,
            "share": caught / judged if judged else None,
            "low": held_back[0],
            "high": held_back[1],
            "rows": as_rows(back_test),
        },
    }


def proposals_text(document: Document) -> str:
    """Write proposals for a terminal, the most worthwhile first."""
    lines = []
    for row in document["proposals"]:
        lines += list(_proposal(row, document["currency"]))
    if not lines:
        lines = ["Nothing to propose: today's bill catches what was forgotten, or it is decided."]
    else:
        lines += [
            "",
            "Accept one: kitting audit --accept 1 --by NAME --reason TEXT; --reject drops it.",
        ]
    lines += [*_held_back(document["back_test"]), *_decided(document["decided"])]
    return "\n".join(lines)


def _proposal(row: Document, currency: str) -> Iterator[str]:
    number = f"{row['proposal']:>3}  "
    first, *rest = wrapped(number + row["message"], 5)
    yield click.style(" " * (len(number) - len(number.lstrip())) + first.lstrip(), bold=True)
    yield from rest
    yield from wrapped(f"     {row['evidence']}", 5)
    cost = f"costs {show_cents(row['cost'], currency)} a year" if row["cost"] else "costs nothing"
    yield from wrapped(
        f"     expected to avoid {row['avoided']:.2f} for each such build (95 %: "
        f"{row['avoided_low']:.2f}-{row['avoided_high']:.2f}), {row['hours_saved']:.1f} hours and "
        f"{show_cents(row['money_saved'], currency)} a year; {cost}",
        5,
    )


def _held_back(row: Document) -> Iterator[str]:
    if not row["judged"]:
        yield "Not tested on builds held back: fewer than two finished builds forgot a part."
        return
    yield from wrapped(
        f"Held back: what earlier builds taught would have caught {row['caught']} of "
        f"{plural(row['judged'], 'part', 'parts')} that later builds forgot "
        f"({100 * row['share']:.0f} %; 95 %: "
        f"{100 * row['low']:.0f}-{100 * row['high']:.0f} %).",
        0,
    )


def _decided(rows: list[Document]) -> Iterator[str]:
    if rows:
        yield ""
        yield click.style(plural(len(rows), "decision so far", "decisions so far"), bold=True)
    for row in rows:
        yield from wrapped(
            f"  {row['proposal']} {row['decision']} {row['day']} by {row['by']} ({row['reason']}): "
            f"{row['message']}",
            4,
        )
        if row["change"]:
            yield from wrapped(f"    {row['change']}", 4)


def decided_text(document: Document, sheets: Mapping[str, list[Document]]) -> str:
    """Say what was decided, what changed, and which rows the shop's own sheets need too.

    Parameters
    ----------
    document
        The decision, a row of table ``proposals``.
    sheets
        New or changed rows by sheet.
    """
    lines = list(wrapped(f"{document['decision']}: {document['message']}", 2))
    for name, rows in sheets.items():
        lines += list(
            wrapped(
                f"Write this into your own sheet {name} too, or the next reading of it takes the "
                "change back:",
                2,
            )
        )
        lines += [f"  {line}" for line in _csv(rows)]
    told = "The other proposals are numbered anew: kitting audit --propose lists them."
    lines += wrapped(told, 2)
    return "\n".join(lines)


def _csv(rows: list[Document]) -> list[str]:
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue().splitlines()
