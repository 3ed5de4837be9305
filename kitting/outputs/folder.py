"""Files that appear in a folder whole or not at all, under names that are safe anywhere."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
import unicodedata
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from kitting.errors import KittingError

if TYPE_CHECKING:
    from collections.abc import Iterator

# Names that one widespread system keeps for devices, with any ending.
_DEVICES = re.compile(r"^(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)
_LONGEST = 120


def safe_name(text: str) -> str:
    """Return a file name without an ending that means the same everywhere and leads nowhere.

    Letters, digits, spaces and ``-_.`` stay; anything else, slashes above all, becomes a dash.

    Parameters
    ----------
    text
        Any text, such as an order number and a supplier.
    """
    plain = unicodedata.normalize("NFC", text)
    kept = "".join(c if c.isalnum() or c in " -_." else "-" for c in plain)
    name = re.sub(r"([-. ])\1+", r"\1", re.sub(r"\s", " ", kept))
    name = name.encode()[:_LONGEST].decode(errors="ignore").strip(" .-")
    return f"_{name}" if not name or _DEVICES.match(name) else name


@dataclass(slots=True)
class Staging:
    """Files that are written but not yet in place.

    Parameters
    ----------
    folder
        Where they will be.
    beside
        Where they are written first, on the same disk.
    """

    folder: Path
    beside: Path
    names: list[str] = field(default_factory=list)

    def add(self, name: str, ending: str, data: bytes, *, beside_old: bool = False) -> None:
        """Write a file under a safe name; one that is taken gets a number.

        Parameters
        ----------
        beside_old
            A name that the folder holds already is taken too, unless its file is the same: then
            nothing is added. Without it, placing is refused for such a name.

        Raises
        ------
        KittingError
            When it cannot be written.
        """
        stem, taken = safe_name(name), {n.casefold() for n in self.names}
        number, full = 1, f"{stem}{ending}"
        while full.casefold() in taken or (beside_old and (self.folder / full).exists()):
            if full.casefold() not in taken and _same(self.folder / full, data):
                return
            number += 1
            full = f"{stem} ({number}){ending}"
        with _told(self.folder / full), (self.beside / full).open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        self.names.append(full)

    def place(self) -> list[Path]:
        """Put every file in place, or none.

        Raises
        ------
        KittingError
            When one is there already, or the folder cannot be written; nothing was changed.
        """
        if not self.names:
            return []
        made = not self.folder.exists()
        placed: list[Path] = []
        try:
            with _told(self.folder):
                self.folder.mkdir(parents=True, exist_ok=True)
                for name in self.names:
                    target = self.folder / name
                    if target.exists():
                        raise KittingError(
                            f"{target} is there already; choose another folder or move it away; "
                            "nothing was changed"
                        )
                    os.rename(self.beside / name, target)
                    placed.append(target)
        except BaseException:
            for path in placed:
                path.unlink(missing_ok=True)
            if made and self.folder.is_dir() and not any(self.folder.iterdir()):
                self.folder.rmdir()
            raise
        return placed


def _same(path: Path, data: bytes) -> bool:
    """Tell whether a file holds just these bytes."""
    try:
        return path.read_bytes() == data
    except OSError:
        return False


@contextmanager
def staging(folder: Path) -> Iterator[Staging]:
    """Give a place beside a folder to write files in; what is not placed is gone afterwards.

    Parameters
    ----------
    folder
        Where the files will be; made when it is not there.

    Raises
    ------
    KittingError
        When nothing can be written there.
    """
    with _told(folder):
        if folder.exists() and not folder.is_dir():
            raise KittingError(f"{folder} is a file; give a folder")
        near = folder if folder.is_dir() else _nearest(folder)
        beside = Path(tempfile.mkdtemp(prefix=".orders-", dir=near))
    try:
        yield Staging(folder, beside)
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def replace_file(path: Path, data: bytes) -> None:
    """Write a file in place of one that may be there; whoever looks sees the old or the new one.

    Parameters
    ----------
    path
        Where it will be; its folder is made when it is not there.
    data
        What it will hold.

    Raises
    ------
    KittingError
        When it cannot be written; the old one stays.
    """
    with _told(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(prefix=f".{safe_name(path.name)}-", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            # As any new file: for its owner to change and, as far as allowed here, others to read.
            mask = os.umask(0)
            os.umask(mask)
            os.chmod(beside, 0o666 & ~mask)
            os.replace(beside, path)
        except BaseException:
            Path(beside).unlink(missing_ok=True)
            raise


def _nearest(folder: Path) -> Path:
    """Return the nearest folder above that is there."""
    return next((p for p in folder.absolute().parents if p.is_dir()), Path())


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Turn a fault of the disk into a message for a person."""
    try:
        yield
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise KittingError(f"{path} cannot be written: {reason}; nothing was changed") from fault
