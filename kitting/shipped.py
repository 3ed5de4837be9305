"""Where catalogs/ and demo/ are: beside the package in a checkout, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path

from kitting.errors import KittingError


def shipped(name: str) -> Path:
    """Return the folder of shipped data with this name.

    Parameters
    ----------
    name
        ``"catalogs"`` or ``"demo"``.

    Raises
    ------
    KittingError
        When the installation lacks the folder.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "_shipped" / name, package.parent / name):
        if folder.is_dir():
            return folder
    raise KittingError(
        f"the folder {name}/ is missing from this installation; install kitting again"
    )
