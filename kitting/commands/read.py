"""``kitting read``: filled sheets into the shop, all or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common
from kitting.terms.words import Level

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from kitting.terms.findings import Finding

_SHOWN = 40


@click.command("read", epilog="Example: kitting read my-shop.xlsx --try")
@click.argument("source", type=click.Path(exists=True, path_type=Path))
@common.shop_option
@common.day_option
@common.json_option
@click.option("--try", "only_try", is_flag=True, help="Say what would change; change nothing.")
@click.option(
    "--most-rows", type=click.IntRange(1), metavar="N", help="Most rows of a sheet; 1000000."
)
@click.option(
    "--most-mb", type=click.IntRange(1), metavar="N", help="Most megabytes of a file; 200."
)
def command(
    source: Path,
    shop: str,
    day: date | None,
    as_json: bool,
    only_try: bool,
    most_rows: int | None,
    most_mb: int | None,
) -> int:
    """Read filled sheets from SOURCE: a workbook, a folder of csv files, or one csv file.

    The shop is made when it is not there. A fault anywhere stops the whole reading and leaves the
    shop as it was; every fault is listed with its place and what to do. Reading the same sheets
    twice changes nothing.
    """
    from kitting import records
    from kitting.errors import ShopMissing
    from kitting.tables.shop import empty_shop

    today, _ = common.as_of(day)
    try:
        known = common.load_shop(shop, today)
    except ShopMissing:
        known = None
    reading = _read(source, known, (most_rows, most_mb))
    if not reading.ok:
        _echo(as_json, reading.findings, None, read=False)
        return 2
    if only_try and known is None:
        with records.open_shop(":memory:", create=True) as held:
            changed = records.changes(held, {**empty_shop().tables, **reading.frames})
    elif only_try:
        with records.open_shop(shop, read_only=True) as held:
            changed = records.changes(held, reading.frames)
    else:
        with records.open_shop(shop, create=True) as held:
            changed = records.apply(held, reading.frames, today, reason=f"read {source.name}")
    _echo(as_json, reading.findings, changed, read=not only_try)
    return 0


def _read(source: Path, known: Any, most: tuple[int | None, int | None]) -> Any:
    from dataclasses import replace

    from kitting.reading import read_sheets
    from kitting.reading.catalogs import joint_kinds
    from kitting.reading.grids import Limits

    rows, megabytes = most
    limits = Limits()
    if rows is not None:
        limits = replace(limits, rows=rows)
    if megabytes is not None:
        # A workbook may unpack to ten times what its file may have, as it may unless given.
        limits = replace(limits, file_bytes=megabytes * 10**6, unpacked_bytes=megabytes * 10**7)
    return read_sheets(source, known, frozenset(joint_kinds()["kind"]), limits)


def _told(findings: tuple[Finding, ...]) -> list[str]:
    """Write each finding on a line; a note that several sheets share is written once."""
    sheets: dict[str, list[str]] = {}
    for finding in findings:
        if finding.level == Level.NOTE:
            sheets.setdefault(finding.message, []).append(finding.sheet)
    lines: dict[str, None] = {}
    for finding in findings:
        shared = sheets.get(finding.message, []) if finding.level == Level.NOTE else []
        where = f"{len(shared)} sheets: {finding.message}" if len(shared) > 2 else str(finding)
        lines[f"{finding.level:4} {where}"] = None
    return list(lines)


def _echo(
    as_json: bool, findings: tuple[Finding, ...], changed: pd.DataFrame | None, *, read: bool
) -> None:
    if as_json:
        common.echo_json(
            {
                "read": read,
                "findings": [
                    {"level": f.level, "sheet": f.sheet, "row": f.row, "column": f.column,
                     "message": f.message}
                    for f in findings
                ],
                "changes": [] if changed is None else changed.to_dict("records"),
            }
        )  # fmt: skip
        return
    told = _told(findings)
    for line in told[:_SHOWN]:
        click.echo(line, err=changed is None)
    if len(told) > _SHOWN:
        click.echo(f"... and {len(told) - _SHOWN} more; --json lists all", err=True)
    if changed is None:
        click.echo("nothing was read: put the faults above right and read again", err=True)
        return
    if not len(changed):
        click.echo("nothing changes" if not read else "read; nothing changed")
        return
    click.echo("read" if read else "would change")
    for (sheet, change), rows in changed.groupby(["sheet", "change"], sort=False):
        click.echo(f"  {sheet:10} {change:8} {len(rows):6}")
