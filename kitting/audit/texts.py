"""Notes and work-order texts searched for parts that were missing or waited for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.audit import MENTIONS
from kitting.terms.words import Cause

if TYPE_CHECKING:
    from collections.abc import Iterable

NOT = "not"
_CAUSES = {"waiting": str(Cause.LATE)}
_GAP = r"(?:\W+[\w'/#-]+){0,4}?\W+"
_WORD = re.compile(r"[a-z0-9][a-z0-9/.-]*[a-z0-9]|[a-z0-9]")


@dataclass(frozen=True, slots=True)
class _Rule:
    rule: str
    kind: str
    says: re.Pattern[str]


def mentions(texts: pd.DataFrame, rules: pd.DataFrame, parts: pd.DataFrame) -> pd.DataFrame:
    """Find texts that tell of a missing part, for a person to confirm.

    A rule's words must come in order. Words that a rule of kind ``not`` covers count for no other.
    Of several rules the first in the table counts. A text names a part when it holds its number,
    or every word of its name up to the first comma.

    Parameters
    ----------
    texts
        Table ``texts``.
    rules
        Table ``text_rules``.
    parts
        Table ``parts`` of the shop.

    Returns
    -------
    DataFrame
        Table ``mentions``, in order of the texts.
    """
    known = [
        _Rule(rule, kind, pattern(says))
        for rule, kind, says in rules[["rule", "kind", "says"]].itertuples(index=False, name=None)
    ]
    against = [r for r in known if r.kind == NOT]
    telling = [r for r in known if r.kind != NOT]
    named = _Named(parts)
    rows = []
    for row, build, text in texts[["row", "build", "text"]].itertuples(index=False, name=None):
        found = _told(text, telling, against)
        if found:
            rule, words = found
            cause = _CAUSES.get(rule.kind, "")
            rows.append((row, build, rule.kind, rule.rule, words, named.part(text), cause, text))
    if not rows:
        return MENTIONS.empty()
    return MENTIONS.check(MENTIONS.conform(pd.DataFrame(rows, columns=MENTIONS.names)))


def pattern(says: str) -> re.Pattern[str]:
    """Return the pattern of a rule's words.

    ``|`` stands between words of which one is there, ``*`` at the end of a word for any ending,
    and ``...`` for up to four other words. Case does not count.
    """
    made, joined = "", True
    for step in says.split():
        if step == "...":
            made, joined = made + _GAP, True
            continue
        choice = "|".join(_word(w) for w in step.split("|"))
        made += ("" if joined else r"[\W_]+") + f"(?:{choice})"
        joined = False
    return re.compile(made, re.IGNORECASE)


def _word(word: str) -> str:
    """Return the pattern of one word; a sign or a quote stands for itself."""
    if word.endswith("*"):
        return rf"\b{re.escape(word[:-1])}\w*"
    before = r"\b" if word[0].isalnum() else ""
    after = r"\b" if word[-1].isalnum() else ""
    return f"{before}{re.escape(word)}{after}"


def _told(
    text: str, telling: Iterable[_Rule], against: Iterable[_Rule]
) -> tuple[_Rule, str] | None:
    """Return the first rule that finds something, and the words."""
    covered = [m.span() for rule in against for m in rule.says.finditer(text)]
    for rule in telling:
        for match in rule.says.finditer(text):
            start, end = match.span()
            if not any(a < end and start < b for a, b in covered):
                return rule, match[0]
    return None


class _Named:
    """The shop's parts by the words that name them.

    Parameters
    ----------
    parts
        Table ``parts``.
    """

    def __init__(self, parts: pd.DataFrame) -> None:
        self._numbers: dict[str, str] = {}
        self._names: dict[str, list[tuple[frozenset[str], str]]] = {}
        for part, name in parts[["part", "name"]].itertuples(index=False, name=None):
            self._numbers.setdefault(part.casefold(), part)
            words = frozenset(_words(name.partition(",")[0]))
            if words:
                self._names.setdefault(min(words), []).append((words, part))

    def part(self, text: str) -> str:
        """Return the part that a text names, by number or by most words; blank if none."""
        words = _words(text)
        for word in words:
            if word in self._numbers and not word.isalpha():
                return self._numbers[word]
        held = set(words)
        best: tuple[int, str] = (0, "")
        for word in held:
            for name, part in self._names.get(word, ()):
                if name <= held and len(name) > best[0]:
                    best = (len(name), part)
        return best[1]


def _words(text: str) -> list[str]:
    return _WORD.findall(text.casefold())
