"""Notes and work-order texts, and the rules that look through them."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from kitting.errors import InputError
from kitting.reading.catalogs import read_table
from kitting.tables.audit import TEXT_RULES, TEXTS

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

_TEXT = ("text", "note", "notes", "remark", "remarks", "problem", "action", "description")
_BUILD = ("build", "job", "order")


def text_rules() -> pd.DataFrame:
    """Return table ``text_rules``.

    Raises
    ------
    InputError
        When the shipped file breaks its contract; every fault is named.
    """
    return read_table(TEXT_RULES)


def read_texts(path: Path) -> pd.DataFrame:
    """Read texts: a csv file with a heading row, or any other file, a text in each line.

    Of a csv file, columns called text, note, remark, problem, action or description are joined;
    where there is none, all columns are. A column build, job or order says what it is about.

    Returns
    -------
    DataFrame
        Table ``texts``; blank texts are left out.

    Raises
    ------
    InputError
        When the file cannot be read as text.
    """
    import pandas as pd

    try:
        content = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise InputError(f"{path}: cannot be read as text (UTF-8): {fault}") from fault
    if path.suffix.casefold() == ".csv":
        rows = _of_csv(content)
    else:
        rows = [(n, "", line.strip()) for n, line in enumerate(content.splitlines(), 1)]
    kept = [row for row in rows if row[2]]
    if not kept:
        return TEXTS.empty()
    return TEXTS.check(TEXTS.conform(pd.DataFrame(kept, columns=TEXTS.names)))


def _of_csv(content: str) -> list[tuple[int, str, str]]:
    reader = csv.DictReader(io.StringIO(content, newline=""))
    names = [n for n in reader.fieldnames or () if n]
    texts = [n for n in names if n.strip().casefold() in _TEXT] or names
    builds = [n for n in names if n.strip().casefold() in _BUILD]
    return [
        (
            number,
            (row.get(builds[0]) or "").strip() if builds else "",
            " | ".join(cell for n in texts if (cell := (row.get(n) or "").strip())),
        )
        for number, row in enumerate(reader, 2)
    ]
