"""``kitting audit``: what past builds forgot, and what to change."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    from kitting.audit import Audited
    from kitting.records import Records
    from kitting.tables.shop import Shop


@click.command(
    "audit", epilog='Example: kitting audit --accept 1 --by "Ines Ferrow" --reason "twice now"'
)
@common.shop_option
@common.day_option
@common.json_option
@click.option("--all", "everything", is_flag=True, help="List every row, and what is caught.")
@click.option("--propose", is_flag=True, help="List changes that would have caught them.")
@click.option("--accept", type=click.IntRange(min=1), help="Carry out the proposal of this number.")
@click.option("--reject", type=click.IntRange(min=1), help="Drop the proposal of this number.")
@click.option("--by", default="", help="Who decides; with --accept or --reject.")
@click.option("--reason", default="", help="Why; with --accept or --reject.")
@click.option(
    "--texts",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="Look for missing parts in notes: a csv file, or a line of text for each note.",
)
@click.option("--into", type=click.Path(path_type=Path), help="Folder for a workbook of it all.")
@click.option(
    "--page",
    type=click.Path(dir_okay=False, path_type=Path),
    help="File for a page to look at, with drawings.",
)
def command(
    shop: str,
    day: date | None,
    as_json: bool,
    everything: bool,
    propose: bool,
    accept: int | None,
    reject: int | None,
    by: str,
    reason: str,
    texts: Path | None,
    into: Path | None,
    page: Path | None,
) -> int:
    """Rank what past builds forgot, and tell whether today's bill would catch it.

    Rates are shares of the finished builds on which the thing could have been forgotten, with
    their 95 % interval: few builds say little. What to expect is drawn towards the rate of its
    like. --propose lists changes; an accepted one changes the shop's sheets from then on.
    Exit code 1: something would be forgotten again.
    """
    today, _ = common.as_of(day)
    if accept is not None or reject is not None:
        _decide(shop, today, (accept, reject), (by, reason), as_json)
        return 0
    if texts is not None:
        _texts(shop, today, texts, as_json)
        return 0
    from kitting import records

    with records.open_shop(shop, read_only=True) as held, held.reading():
        found = _audited(held, records.snapshot(held, today), today)
    document = _document(found)
    if into is not None:
        from kitting.outputs.audit_book import write_audit

        frames = found.tallies | {
            "proposed": found.proposed,
            "caught": found.caught,
            "suggestions": found.suggestions,
        }
        names = found.shop.setting("name"), found.shop.setting("currency")
        document["files"] = [str(p) for p in write_audit(frames, names, into, today)]
    if page is not None:
        from kitting.outputs.audit_page import audit_page
        from kitting.outputs.folder import replace_file

        replace_file(page, audit_page(document, found.shop.setting("name"), today).encode())
        document["files"] = [*document.get("files", ()), str(page)]
    if as_json:
        common.echo_json(document)
    elif propose:
        from kitting.outputs.audit_proposals import proposals_text

        click.echo(proposals_text(document["changes"]))
    else:
        from kitting.outputs.audit import audit_text

        click.echo(audit_text(document, everything=everything))
    for file in document.get("files", ()):
        click.echo(f"written: {file}", err=as_json)
    return 0 if bool(found.caught["caught"].all()) else 1


def _audited(held: Records, tables: Shop, today: date) -> Audited:
    """Audit a shop: every frame that the pages show."""
    from kitting import audit, bill, records
    from kitting.plan import past_checks
    from kitting.reading.catalogs import catalogs
    from kitting.reading.references import references

    books, rules = catalogs(), references(tables, spares=True)
    builds = tables["builds"]
    forgotten_on = builds["build"].isin(tables["forgotten"]["build"])
    past = bill.explode(tables, builds[forgotten_on])
    open_ones = bill.explode(tables, builds[builds["finished"].isna()])
    history = records.line_history(held)
    also = audit.Also(*past_checks(tables, past, today, books, rules), history)
    caught = audit.caught(tables, past.required, bill.gaps(tables, past, books), books, also)
    builds_now = (open_ones.required, open_ones.joints)
    return audit.audited(tables, caught, builds_now, records.decided(held))


def _document(found: Audited) -> dict[str, Any]:
    """Return the whole audit for ``--json``."""
    from kitting.outputs.audit import audit_document
    from kitting.outputs.audit_proposals import proposals_document

    document = audit_document(
        found.shop, found.tallies, found.caught, found.suggestions, found.findings
    )
    document["changes"] = proposals_document(
        found.proposed,
        found.decided,
        found.back_test,
        found.held_back,
        found.shop.setting("currency"),
    )
    return document


def _decide(
    shop: str,
    today: date,
    numbers: tuple[int | None, int | None],
    signed: tuple[str, str],
    as_json: bool,
) -> None:
    """Accept or reject one proposal, in one transaction with what it changes."""
    from kitting import audit, records
    from kitting.errors import UnknownName
    from kitting.outputs.audit import as_rows
    from kitting.outputs.audit_proposals import decided_text
    from kitting.terms.words import Decision

    if None not in numbers:
        raise click.UsageError("accept one proposal or reject one, not both at once")
    answer = Decision.ACCEPTED if numbers[0] is not None else Decision.REJECTED
    number = numbers[0] or numbers[1]
    with records.open_shop(shop) as held, held.writing():
        tables = records.snapshot(held, today)
        proposed = _audited(held, tables, today).proposed
        rows = proposed[proposed["proposal"] == number]
        if rows.empty:
            raise UnknownName(
                f"there is no proposal {number}; kitting audit --propose lists {len(proposed)}"
            )
        row = rows.iloc[0]
        frames = {}
        if answer is Decision.ACCEPTED:
            frames = audit.changed_sheets(tables, row, signed[0].strip(), today)
        asked = audit.decision(row, answer, signed[0].strip(), signed[1].strip(), today)
        written, _ = records.decide(held, asked, frames)
    changed = {name: as_rows(audit.new_rows(tables[name], frame)) for name, frame in frames.items()}
    (document,) = as_rows(written)
    if as_json:
        common.echo_json({**document, "rows": changed})
    else:
        click.echo(decided_text(document, changed))


def _texts(shop: str, today: date, file: Path, as_json: bool) -> None:
    """Look for missing parts in texts, and propose what to note."""
    from kitting import audit
    from kitting.outputs.audit_texts import texts_text
    from kitting.reading.texts import read_texts, text_rules

    tables = common.load_shop(shop, today)
    found = audit.mentions(read_texts(file), text_rules(), tables["parts"])
    if as_json:
        common.echo_json(found.to_dict("records"))
    else:
        click.echo(texts_text(found))
