"""Names of the places between which stock moves.

A bin is any name that a person gives it. The places that are no bins begin with a word of ours:

- ``kit: BUILD/ASSEMBLY/STAGE`` - what is picked for a stage of a build
- ``outside: build BUILD/ASSEMBLY/STAGE`` - what was fitted there
- ``outside: outwork NAME`` - what somebody works on elsewhere
- ``outside: site NAME`` - another site or shop
- ``outside: supplier`` - where receipts come from; ``outside: returned`` - what went back there
- ``outside: claim`` - what came wrong or damaged and waits to go back
- ``outside: customer`` - where customers' and sponsors' parts come from and go to
- ``outside: count`` - where a count takes the difference from, or puts it
- ``outside: label`` - through which a lot passes when its label or its keeping changes
- ``outside: scrap`` - where thrown things go
- ``outside: unpacked`` - where what is left over of a set comes from

Supplier, customer, count, label, unpacked and sites are open: they may fall below zero, since
nobody knows what is there. Everywhere else nothing can leave that is not there.
"""

from __future__ import annotations

from typing import NamedTuple

from kitting.errors import InputError
from kitting.records.rows import storable

SUPPLIER = "outside: supplier"
RETURNED = "outside: returned"
CLAIM = "outside: claim"
UNPACKED = "outside: unpacked"
CUSTOMER = "outside: customer"
COUNT = "outside: count"
LABEL = "outside: label"
SCRAP = "outside: scrap"
_SITE = "outside: site "
_OUTWORK = "outside: outwork "
_KIT = "kit: "
_FITTED = "outside: build "
_NO_SHELF = ("outside:", "kit:")
_OPEN = (SUPPLIER, CUSTOMER, COUNT, LABEL, UNPACKED)

ON_SHELF = "place NOT LIKE 'outside:%' AND place NOT LIKE 'kit:%'"
"""Condition of SQL for the rows of bins."""

IN_KITS = f"(place LIKE '{_KIT}%' OR place LIKE '{_FITTED}%')"
"""Condition of SQL for the rows of kits, fitted parts included."""


class Kit(NamedTuple):
    """A stage of a build, and whether the place is what was fitted there."""

    build: str
    assembly: str
    stage: str
    fitted: bool = False

    @property
    def place(self) -> str:
        """Name of the place."""
        names = (self.build, self.assembly, self.stage)
        spelled = "/".join(n.replace("%", "%25").replace("/", "%2F") for n in names)
        return (_FITTED if self.fitted else _KIT) + spelled


def kit_of(place: str) -> Kit | None:
    """Return whose kit a place is; ``None`` when it is none."""
    for word, fitted in ((_KIT, False), (_FITTED, True)):
        if place.startswith(word):
            names = place.removeprefix(word).split("/")
            plain = [n.replace("%2F", "/").replace("%25", "%") for n in names]
            return Kit(plain[0], "/".join(plain[1:-1]), plain[-1] if plain[1:] else "", fitted)
    return None


def site_place(name: str) -> str:
    """Return the place of another site or shop."""
    return _SITE + name


def outwork_place(name: str) -> str:
    """Return the place of somebody who works on things elsewhere."""
    return _OUTWORK + name


def is_shelf(place: str) -> bool:
    """Tell whether a place is a bin or shelf."""
    return not place.casefold().startswith(_NO_SHELF)


def is_elsewhere(place: str) -> bool:
    """Tell whether stock may be carried to a place that is no bin."""
    return place in (SCRAP, CUSTOMER) or place.startswith((_SITE, _OUTWORK))


def is_open(place: str) -> bool:
    """Tell whether a place may fall below zero."""
    return place in _OPEN or place.startswith(_SITE)


def shelf_place(place: str) -> str:
    """Return the name itself when a bin may have it.

    Raises
    ------
    InputError
        When it begins with a word that the ledger keeps for places that are no bins.
    """
    if not is_shelf(place):
        raise InputError(
            f'"{place}" cannot be the name of a bin: names that begin with "outside:" or "kit:" '
            "are kept for what is not on the shelf; choose another"
        )
    return storable(place)
