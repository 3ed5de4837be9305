"""What an assembly holds: stages, joints and parts, with all that may be built into it."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from kitting.terms.conditions import USE, Condition, holds, parse_choices, parse_when, plain_use
from kitting.terms.words import Fits

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from kitting.tables.shop import Shop

Conditions = tuple[Condition, ...]
Choices = tuple[tuple[str, str], ...]


@lru_cache(maxsize=4096)
def _parsed(when: str) -> Conditions:
    return parse_when(when)


def _grouped(frame: pd.DataFrame, *columns: str) -> dict[str, list[tuple[str, ...]]]:
    """Return rows of some columns by the first one."""
    found: dict[str, list[tuple[str, ...]]] = {}
    for key, *rest in zip(*(frame[c].tolist() for c in columns), strict=True):
        found.setdefault(key, []).append(tuple(rest))
    return found


class Reach:
    """The shop's bill, asked what one assembly with some choices holds.

    Parameters
    ----------
    shop
        Reads ``stages``, ``joints``, ``lines``, ``options``, ``rules`` and ``sets``.
    """

    def __init__(self, shop: Shop) -> None:
        self.stages = _grouped(shop["stages"], "assembly", "stage")
        self.joints = _grouped(shop["joints"], "assembly", "joint", "when")
        self.lines = _grouped(shop["lines"], "assembly", "part", "joint", "when")
        self.options = _grouped(shop["options"], "assembly", "option", "default")
        rules = shop["rules"]
        self.rules = _grouped(rules[rules["needs_part"] != ""], "assembly", "needs_part", "when")
        sets = shop["sets"]
        self.contents = _grouped(sets[sets["fits"] != str(Fits.DO_NOT_FIT)], "set", "part")
        self.assemblies = {*self.stages, *self.joints, *self.lines}
        self._below: dict[str, tuple[str, ...]] = {}
        self._asked: dict[str, dict[str, str]] = {}

    def below(self, top: str) -> tuple[str, ...]:
        """Return an assembly and all that may be built into it, whatever is chosen."""
        if top not in self._below:
            found = {top: None}
            queue = [top]
            while queue:
                for part, *_ in self.lines.get(queue.pop(), ()):
                    if part in self.assemblies and part not in found:
                        found[part] = None
                        queue.append(part)
            self._below[top] = tuple(found)
        return self._below[top]

    def whose(self, top: str, stage: str, joint: str) -> str:
        """Return the assembly under ``top`` that has the stage, and the joint if one has both.

        Blank when none has the stage.
        """
        having = [a for a in self.below(top) if (stage,) in self.stages.get(a, ())]
        with_joint = [a for a in having if any(joint == j for j, _ in self.joints.get(a, ()))]
        return (with_joint or having or [""])[0]

    def choices(self, top: str, options: str, use: str = "") -> Choices:
        """Return the choices of a build that its bill asks about, defaults filled in.

        Builds with equal choices hold the same parts.
        """
        if top not in self._asked:
            self._asked[top] = self._asks(top)
        chosen = self._asked[top] | {
            option: value for option, value in _chosen(options) if option in self._asked[top]
        }
        if USE in chosen:
            chosen[USE] = plain_use(use or chosen[USE])
        return tuple(sorted(chosen.items()))

    def _asks(self, top: str) -> dict[str, str]:
        """Return the options that conditions under an assembly name, with their defaults."""
        defaults: dict[str, str] = {}
        asked: set[str] = set()
        for assembly in self.below(top):
            for option, default in self.options.get(assembly, ()):
                defaults.setdefault(option, default)
            for rows in (self.joints, self.lines, self.rules):
                for row in rows.get(assembly, ()):
                    asked.update(c.option for c in _parsed(row[-1]))
        return {option: defaults.get(option, "") for option in asked}

    def held(self, top: str, choices: Choices) -> Held:
        """Return what a build with these choices holds."""
        chosen = dict(choices)
        held = Held()
        queue, seen = [top], {top}
        while queue:
            assembly = queue.pop()
            held.stages.update((assembly, stage) for (stage,) in self.stages.get(assembly, ()))
            joints = {j for j, when in self.joints.get(assembly, ()) if _holds(when, chosen)}
            held.joints.update((assembly, joint) for joint in joints)
            for part, joint, when in self.lines.get(assembly, ()):
                if not _holds(when, chosen) or (joint and joint not in joints):
                    continue
                if part not in self.assemblies:
                    held.parts.add(part)
                elif part not in seen:
                    seen.add(part)
                    queue.append(part)
            for part, when in self.rules.get(assembly, ()):
                if _holds(when, chosen):
                    held.parts.add(part)
        held.parts.update(self._inside(held.parts))
        return held

    def _inside(self, parts: Iterable[str]) -> set[str]:
        """Return what the sets among some parts contain, sets within sets too."""
        found: set[str] = set()
        queue = list(parts)
        while queue:
            for (part,) in self.contents.get(queue.pop(), ()):
                if part not in found:
                    found.add(part)
                    queue.append(part)
        return found


class Held:
    """What a build holds: (assembly, stage) pairs, (assembly, joint) pairs, and parts."""

    def __init__(self) -> None:
        self.stages: set[tuple[str, str]] = set()
        self.joints: set[tuple[str, str]] = set()
        self.parts: set[str] = set()


@lru_cache(maxsize=4096)
def _chosen(options: str) -> tuple[tuple[str, str], ...]:
    return tuple(parse_choices(options).items())


def _holds(when: str, chosen: Mapping[str, str]) -> bool:
    return not when or holds(_parsed(when), chosen)
