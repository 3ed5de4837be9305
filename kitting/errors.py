"""The exceptions of kitting, one tree.

::

    KittingError                 anything that a person can put right; exit 2
    +-- InputError               sheets or values that cannot be read; carries every finding
    +-- UnknownName              a build, part, supplier ... that the shop does not hold
    +-- UnitError                a unit that is unknown or that does not convert
    +-- LoopError                things that contain themselves; names the loop
    +-- TableError               a frame that breaks its contract (our fault; exit 3)
    +-- ShopError                the shop's database cannot be used as asked
        +-- ShopMissing          there is no shop there
        +-- ShopNewer            the shop was made by a newer version
        +-- ShopBusy             another process holds it
        +-- ShopReadOnly         it cannot be written
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.terms.findings import Finding


class KittingError(Exception):
    """Base of every error that a person can put right."""


class InputError(KittingError):
    """Sheets or values that cannot be read.

    Parameters
    ----------
    message
        One line that says what could not be done.
    findings
        Every fault that was found, not only the first.
    """

    def __init__(self, message: str, findings: Sequence[Finding] = ()) -> None:
        super().__init__(message)
        self.findings = tuple(findings)


class UnknownName(KittingError):
    """A name that the shop does not hold; the message offers the nearest."""


class UnitError(KittingError):
    """A unit that is unknown, or two units of different dimensions."""


class LoopError(KittingError):
    """Something that contains or follows itself.

    Parameters
    ----------
    what
        What kind of thing loops, such as ``"stages"``.
    loop
        The names around the loop, the first repeated at the end.
    """

    def __init__(self, what: str, loop: Sequence[str]) -> None:
        super().__init__(f"{what} go round in a circle: {' -> '.join(loop)}")
        self.loop = tuple(loop)


class TableError(KittingError):
    """A frame that breaks its contract."""


class ShopError(KittingError):
    """The shop's database cannot be used as asked."""


class ShopMissing(ShopError):
    """There is no shop at that place."""


class ShopNewer(ShopError):
    """The shop was made by a newer version of kitting."""


class ShopBusy(ShopError):
    """Another process holds the shop."""


class ShopReadOnly(ShopError):
    """The shop cannot be written."""
