"""Order sheets that were put into place by work that was cut off before their orders were kept.

Before the sheets are placed, a hidden note in their folder says which they are, with the SHA-256 of
each, and of which shop; it goes when the orders are recorded. A note that stays tells of work that
was cut off. Only what it names is ever removed, and only when it is the same to the last byte, so
what a person changed or made stays.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kitting.outputs.folder import replace_file, safe_name

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from kitting.outputs.folder import Staging

_NOTE = ".unfinished {}.json"


@dataclass(frozen=True, slots=True)
class Left:
    """Sheets of work that was cut off.

    Parameters
    ----------
    note
        The note that names them.
    orders
        Numbers of their orders.
    same, changed
        Those that are as they were written, and those that somebody changed since.
    """

    note: Path
    orders: tuple[str, ...]
    same: tuple[Path, ...]
    changed: tuple[Path, ...]


def note_placing(staged: Staging, shop: str, orders: list[str]) -> Path:
    """Write down which sheets are about to be placed, and return the note.

    Parameters
    ----------
    staged
        The sheets.
    shop
        The shop, by the whole path of its file or by its URL.
    orders
        Numbers of the orders; at least one.

    Raises
    ------
    KittingError
        When it cannot be written.
    """
    sums = {name: _sum(staged.beside / name) for name in staged.names}
    # Two shops may write into one folder, and number their orders alike.
    whose = hashlib.sha256(shop.encode()).hexdigest()[:8]
    note = staged.folder / _NOTE.format(f"{safe_name(orders[0])} {whose}")
    told = {"shop": shop, "orders": orders, "files": sums}
    replace_file(note, json.dumps(told, indent=1).encode())
    return note


def left(folder: Path, shop: str, known: Collection[str]) -> Iterator[Left]:
    """Yield what notes of a shop in a folder tell of; notes of other shops are left alone.

    Sheets of orders that the shop knows are none: they were recorded after all.

    Parameters
    ----------
    known
        Numbers of all orders of the shop.
    """
    for note in sorted(folder.glob(_NOTE.format("*"))):
        try:
            told = json.loads(note.read_bytes())
            whose, orders, files = told["shop"], tuple(told["orders"]), dict(told["files"])
        except (OSError, ValueError, TypeError, KeyError):
            continue
        if whose != shop:
            continue
        if set(orders) & set(known):
            yield Left(note, orders, (), ())
            continue
        there = {folder / n: s for n, s in files.items() if Path(n).name == n}
        sums = {path: _sum(path) for path in there if path.is_file()}
        yield Left(
            note,
            orders,
            tuple(path for path, found in sums.items() if found == there[path]),
            tuple(path for path, found in sums.items() if found != there[path]),
        )


def _sum(path: Path) -> str:
    """Return the SHA-256 of a file; blank when it cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
