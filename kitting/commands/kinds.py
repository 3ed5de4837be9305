"""``kitting kinds``: the joint kinds of the catalog, and what each one asks for."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from collections.abc import Iterator


@click.command("kinds", epilog="Example: kitting kinds plug")
@click.argument("words", nargs=-1)
@common.json_option
def command(words: tuple[str, ...], as_json: bool) -> int:
    """List the joint kinds that tell of WORDS, or all of them.

    When no kind tells of all the words, those are listed that tell of some.
    A sheet's joints are of these kinds. For one kind alone all is told that a joint of it needs:
    by role, what is usually there, how many, what must be known first, and how it goes wrong.
    Exit code 1: no kind holds the words.
    """
    from kitting.reading.catalogs import kind_rows

    by_kind = {k: list(rows) for k, rows in groupby(kind_rows(), key=lambda row: row["kind"])}
    asked = [word.casefold().replace("_", " ") for word in words]
    held = {k: sum(word in _text(rows) for word in asked) for k, rows in by_kind.items()}
    most = max(held.values())
    found = {k: rows for k, rows in by_kind.items() if held[k] == most and (most or not asked)}
    exact = " ".join(words)
    if exact in by_kind:
        found = {exact: by_kind[exact]}
    if as_json:
        common.echo_json(found)
    elif not found:
        click.echo(f'no joint kind holds "{exact}"; kitting kinds lists them all')
    else:
        lines = _in_full(*found.items()) if len(found) == 1 else _in_short(found)
        click.echo("\n".join(lines))
    return 0 if found else 1


def _text(rows: list[dict[str, str]]) -> str:
    return " ".join(cell for row in rows for cell in row.values()).casefold().replace("_", " ")


def _in_short(found: dict[str, list[dict[str, str]]]) -> Iterator[str]:
    """Name each kind and what seals or holds it."""
    from kitting.outputs.text import wrapped

    for kind, rows in found.items():
        roles = {row["role"]: row["usual"] for row in rows}
        usual = [roles[role] for role in ("seal", "clamp", "secure") if role in roles][:2]
        yield kind
        yield from wrapped(f"    {'; '.join(usual) or next(iter(roles.values()))}", 4)


def _in_full(one: tuple[str, list[dict[str, str]]]) -> Iterator[str]:
    """Tell all that one kind asks for."""
    from kitting.outputs.text import leveled, wrapped

    kind, rows = one
    yield kind
    for row in rows:
        yield from leveled(row["level"], f"{row['role']}: {row['usual']}")
        for name, word in (("rule", "how many"), ("first", "know first"), ("trap", "trap")):
            if row[name]:
                yield from wrapped(f"       {word}: {row[name]}", 9)
    sources = dict.fromkeys(row["source"] for row in rows)
    yield from wrapped(f"source: {'; '.join(sources)}", 2)
