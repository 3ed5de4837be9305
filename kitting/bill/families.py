"""Which family a part belongs to, told by the words of its family and name."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from kitting.terms.conditions import split_list
from kitting.terms.designations import parse_designation

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

_WORD = re.compile(r"[a-z0-9]+")
# What follows these is about another part: "o-ring for pump", "bolt, sump", "seal (rear)".
_TAIL = re.compile(r",|\(|\bfor\b|\bof\b|\bto\b|\bwith\b|\bon\b|\bat\b|\bin\b| - |/|;")
# Families that say too little by themselves; the name is asked first.
_VAGUE = frozenset({"seal", "tool", "figure", "solvent", "set", "washer", "bearing"})
# What the sheet says is so, whatever the name mentions.
_FIRM = frozenset({"outwork"})
# Words that often stand before another noun ("oil pump", "coolant sender"): they count when last.
_BEFORE = frozenset({"oil", "coolant", "pipe", "seal", "tool", "assembly", "set", "hose", "belt"})
_NEUTRAL = frozenset(
    {"sae", "iso", "din", "mm", "ml", "set", "kit", "pair", "pack", "standard", "complete", "new"}
)


# Families of standard designations, in the words of the catalog.
_STANDARD = {"screw": "bolt", "nut": "nut", "lock nut": "lock nut", "washer": "washer"}
_STANDARD["o-ring"] = "o-ring"


def _by_standard(text: str) -> str:
    """Return the family that a standard designation tells, such as ``ISO 4762 M8x25-8.8``."""
    read = parse_designation(text)
    return _STANDARD.get(read.family, "") if read else ""


@lru_cache(maxsize=1 << 16)
def words(text: str) -> tuple[str, ...]:
    """Split a text into folded words without plural endings.

    ``"O-rings, M8x25"`` gives ``("o", "ring", "m8x25")``.
    """
    return tuple(_singular(w) for w in _WORD.findall(text.casefold()))


def _singular(word: str) -> str:
    if len(word) > 3 and word.endswith("s") and not word.endswith("ss"):
        return word[:-1]
    return word


class Families:
    """The families of the catalog, looked up by words.

    Parameters
    ----------
    table
        Table ``families``.
    """

    def __init__(self, table: pd.DataFrame) -> None:
        self._phrases: dict[tuple[str, ...], str] = {}
        self._parents: dict[str, str] = {}
        self._roles: dict[str, tuple[str, ...]] = {}
        columns = (table[c].tolist() for c in ("family", "parent", "roles", "words"))
        for family, parent, roles, spelled in zip(*columns, strict=True):
            self._parents[family] = parent
            self._roles[family] = split_list(roles)
            for phrase in split_list(spelled):
                self._phrases[words(phrase)] = family
        self._longest = max((len(p) for p in self._phrases), default=0)
        self._kin: dict[str, frozenset[str]] = {}
        self._known: dict[tuple[str, str], str] = {}
        self._named: dict[str, str] = {}
        self._mentioned: dict[str, tuple[str, ...]] = {}

    def of(self, family: str, name: str) -> str:
        """Return the family of a part, or a blank.

        Where the sheet's family and the head of the name are related, the narrower one counts;
        where they differ, the name does, for a sheet's families are often coarse.
        """
        key = (family, name)
        if key not in self._known:
            stated = self.named(family)
            head = self._head(name)
            if stated in _FIRM or (stated and self.is_a(stated, (head,))):
                self._known[key] = stated
            else:
                self._known[key] = (
                    head
                    or (stated if stated not in _VAGUE else "")
                    or self.named(name)
                    or stated
                    or _by_standard(name)
                )
        return self._known[key]

    def named(self, text: str) -> str:
        """Return the family that a text names: by its head, else by any of its words."""
        found = self._named.get(text)
        if found is None:
            found = self._named[text] = self._head(text) or self._last(words(text))
        return found

    def _head(self, text: str) -> str:
        """Return the family of the head noun: the last one before a comma, "for", "with" ..."""
        tail = _TAIL.search(folded := text.casefold())
        return self._last(words(folded[: tail.start()] if tail else folded))

    def _last(self, tokens: tuple[str, ...]) -> str:
        last = True
        for end in range(len(tokens), 0, -1):
            for size in range(min(self._longest, end), 0, -1):
                found = self._phrases.get(tokens[end - size : end])
                if found and (last or found not in _BEFORE):
                    return self._narrower(found, tokens[: end - size])
            word = tokens[end - 1]
            last = last and (word in _NEUTRAL or any(c.isdigit() for c in word))
        return ""

    def _narrower(self, found: str, before: tuple[str, ...]) -> str:
        """Return a narrower family that the words before name: silicone ... sealant."""
        for word in before:
            narrow = self._phrases.get((word,))
            if narrow and narrow != found and self.is_a(narrow, (found,)):
                return narrow
        return found

    def mentioned(self, text: str) -> tuple[str, ...]:
        """Return every family that a text mentions, longest phrases first, left to right."""
        known = self._mentioned.get(text)
        if known is not None:
            return known
        tokens, found, at = words(text), [], 0
        while at < len(tokens):
            for size in range(min(self._longest, len(tokens) - at), 0, -1):
                family = self._phrases.get(tokens[at : at + size])
                if family:
                    found.append(family)
                    at += size - 1
                    break
            at += 1
        return self._mentioned.setdefault(text, tuple(dict.fromkeys(found)))

    def is_a(self, family: str, wider: Iterable[str]) -> bool:
        """Tell whether a family is one of some families, or belongs to one of them."""
        return not self.kin(family).isdisjoint(wider)

    def kin(self, family: str) -> frozenset[str]:
        """Return a family and all that it belongs to; empty for a blank."""
        known = self._kin.get(family)
        if known is None:
            chain: list[str] = []
            at = family
            while at and at not in chain:
                chain.append(at)
                at = self._parents.get(at, "")
            known = self._kin[family] = frozenset(chain)
        return known

    def roles(self, family: str) -> tuple[str, ...]:
        """Return the roles that such a part has at a joint, the usual one first."""
        return self._roles.get(family, ())
