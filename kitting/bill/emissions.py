"""Emission controls that a build leaves off: a stop, and the legal caution in any case.

The words are data, in the catalog ``emissions``, with the law and its source. A use of off-road,
competition or race lets the work go on; it exempts nobody, and the caution says so.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import pandas as pd

from kitting.bill.families import words
from kitting.tables.flow import CAUTIONS
from kitting.terms.conditions import USE
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.references import References
    from kitting.tables.shop import Shop

    Phrase = tuple[str, ...]

_YES = ("yes", "on", "true", "done", "y", "1")


class _Bills(Protocol):
    """The frames of some exploded builds that are read."""

    @property
    def choices(self) -> pd.DataFrame: ...


@dataclass(frozen=True, slots=True)
class Words:
    """The catalog ``emissions``, laid out to look things up.

    Parameters
    ----------
    devices
        Name of each device by the words for it.
    removal
        Words that say that something was taken off.
    lack
        Words that say so when they stand alone, or just before the device.
    denial
        Words that turn a removal round.
    off_road, road
        Words of uses.
    caution, source
        The legal caution, and who says so.
    """

    devices: Mapping[Phrase, str]
    removal: frozenset[Phrase]
    lack: frozenset[Phrase]
    denial: frozenset[Phrase]
    off_road: frozenset[Phrase]
    road: frozenset[Phrase]
    caution: str
    source: str

    def device(self, text: str) -> tuple[str, int]:
        """Return the device that a text names and where it stands; blank when it names none."""
        spoken = words(text)
        for phrase in sorted(self.devices, key=len, reverse=True):
            at = _found(phrase, spoken)
            if at >= 0:
                return self.devices[phrase], at
        return "", -1

    def removes(self, option: str, value: str) -> str:
        """Return the device that a choice takes off; blank when it takes none off.

        ``catalyst=removed``, ``exhaust=no catalyst`` and ``egr_delete=yes`` do;
        ``catalyst=not removed`` and ``egr_delete=no`` do not.
        """
        name, _ = self.device(option)
        said, at = self.device(value)
        device = name or said
        if not device or not value:
            return ""
        spoken, asked = words(value), words(option)
        if self._says_removed(spoken):
            return device
        if self._says_removed(asked):
            return device if spoken and spoken[0] in _YES else ""
        if spoken in self.lack:
            return device
        before = spoken[at - 1 : at] if said and at else ()
        return device if before in self.lack else ""

    def _says_removed(self, spoken: Phrase) -> bool:
        """Tell whether words say that something is taken off, and do not deny it."""
        at = [n for n, word in enumerate(spoken) if (word,) in self.removal]
        return any(not n or spoken[n - 1 : n] not in self.denial for n in at)

    def is_off_road(self, use: str) -> bool:
        """Tell whether a use is off-road, competition or race, and nothing on the road.

        A use that is denied, ``not for competition``, is none.
        """
        spoken = words(use)
        rest = list(spoken)
        exempt = False
        for phrase in sorted(self.off_road, key=len, reverse=True):
            while (at := _found(phrase, tuple(rest))) >= 0:
                rest[at : at + len(phrase)] = ["-"]
                exempt = True
        left = tuple(rest)
        barred = any(_found(phrase, left) >= 0 for phrase in (*self.road, *self.denial))
        return exempt and not barred


def _found(phrase: Phrase, spoken: Phrase) -> int:
    """Return where a phrase stands among words; below zero when it does not."""
    size = len(phrase)
    starts = (n for n in range(len(spoken) - size + 1) if spoken[n : n + size] == phrase)
    return next(starts, -1)


def emissions(shop: Shop, bills: _Bills, references: References) -> pd.DataFrame:
    """Tell of emission controls that the choices of some builds take off.

    Parameters
    ----------
    shop
        Reads ``options``: what an assembly lacks by default was not taken off by choice.
    bills
        The exploded builds: their choices, the option ``use`` among them.
    references
        Table ``emissions``.

    Returns
    -------
    DataFrame
        Table ``cautions``. A removal is a stop, unless the build is off-road, competition or race:
        then it is a warn. What is lacking by default, in a word such as ``no``, is a note.
    """
    table = references["emissions"]
    if table.empty or bills.choices.empty:
        return CAUTIONS.empty()
    told = _words(table)
    options = shop["options"]
    defaults: dict[str, set[str]] = defaultdict(set)
    for option, default in zip(options["option"], options["default"], strict=True):
        defaults[option].add(default)
    columns = (bills.choices[c].tolist() for c in ("build", "option", "value"))
    choices = list(zip(*columns, strict=True))
    uses = {build: value for build, option, value in choices if option == USE}
    takes_off = {pair: told.removes(*pair) for pair in {(o, v) for _, o, v in choices if o != USE}}
    rows = []
    for build, option, value in choices:
        if device := takes_off.get((option, value)):
            plain = words(value) in told.lack and defaults[option] == {value}
            level, message = _say(told, f"{option}={value}", device, uses.get(build, ""), plain)
            rows.append((build, option, str(level), message, told.source))
    if not rows:
        return CAUTIONS.empty()
    return CAUTIONS.conform(pd.DataFrame(rows, columns=CAUTIONS.names))


def _say(told: Words, choice: str, device: str, use: str, by_default: bool) -> tuple[Level, str]:
    """Word one removal."""
    if told.is_off_road(use):
        return Level.WARN, (
            f"{choice} leaves off the {device}, in a build for {use}: {told.caution}; a word in a "
            "sheet exempts nobody, so have in writing why this unit is exempt"
        )
    stands = f"the build is for {use}" if use else "nothing says what the build is for"
    if by_default:
        return Level.NOTE, (
            f"{choice} is so by default, so nothing is taken for removed, and {stands}; if the "
            f"unit left its works with the {device}: {told.caution}"
        )
    return Level.STOP, (
        f"{choice} leaves off the {device}, and {stands}: {told.caution}; choose otherwise, or, if "
        "it is so, write off-road, competition or race as the use in the sheet builds"
    )


def _words(table: pd.DataFrame) -> Words:
    spelled: dict[str, dict[Phrase, str]] = defaultdict(dict)
    caution, source = "", ""
    columns = (table[c].tolist() for c in ("means", "word", "says", "source"))
    for means, word, says, by in zip(*columns, strict=True):
        if means == "caution":
            caution, source = says, by
        spelled[means][words(word)] = says

    def of(means: str) -> frozenset[Phrase]:
        return frozenset(spelled[means])

    return Words(
        spelled["device"], of("removal"), of("lack"), of("denial"), of("off road"), of("road"),
        caution, source,
    )  # fmt: skip
