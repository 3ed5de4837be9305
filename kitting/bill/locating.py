"""Where a part most likely belongs, when no line says so: by words and by its neighbours."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from kitting.bill.families import words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.bill.survey import Place, Survey

# A word in the joint's own name counts whole, one in the name of a part beside it counts less.
_JOINT, _BESIDE = 1.0, 0.4
# Parts up to this far away in the sheet of parts count as neighbours, while they serve few joints.
_FAR, _FEW = 3, 3
# A part whose name holds the joint's whole name, as in "sump gasket", counts for each word.
_NAMED = 2.0
_NEIGHBOUR, _ASKED, _EMPTY, _LEAST = 2.0, 1.0, 0.5, 1.0


class Spot(NamedTuple):
    """A likely joint and role for a part."""

    place: Place
    role: str


class Locator:
    """Finds the likely joint of a part among all joints of the builds.

    Parameters
    ----------
    seen
        The survey.
    """

    def __init__(self, seen: Survey) -> None:
        self._seen = seen
        self._everywhere: dict[tuple[str, str], list[Place]] = defaultdict(list)
        for place in seen.places:
            self._everywhere[place.assembly, place.joint].append(place)
        self._places = [places[0] for places in self._everywhere.values()]
        self._order = {part: n for n, part in enumerate(seen.part_names)}
        self._numbers = list(seen.part_names)
        self._users: dict[str, list[int]] = defaultdict(list)
        self._index: dict[str, dict[int, float]] = defaultdict(dict)
        self._asked = seen.asked_roles
        self._joint_words = [frozenset(words(p.joint)) for p in self._places]
        for at, place in enumerate(self._places):
            for filler in place.fillers:
                if at not in self._users[filler.part]:
                    self._users[filler.part].append(at)
                for word in words(filler.name):
                    self._index[word].setdefault(at, _BESIDE)
            for word in (*words(place.joint), *words(place.joins)):
                self._index[word][at] = _JOINT

    def best(self, part: str) -> tuple[Spot, ...]:
        """Return the likeliest joint and role in each build that has it; empty when unknown."""
        scores = self._by_words(part)
        for at, score in self._by_neighbours(part).items():
            scores[at] = scores.get(at, 0.0) + score
        likely = {at: score for at, score in scores.items() if score >= _LEAST}
        if not likely:
            return ()
        roles = self._seen.families.roles(self._seen.part_families.get(part, ""))
        ranked = max(likely, key=lambda at: (likely[at] + self._wants(at, roles), -at))
        place = self._places[ranked]
        role = self._role(ranked, roles)
        return tuple(Spot(p, role) for p in self._everywhere[place.assembly, place.joint])

    def _by_words(self, part: str) -> dict[int, float]:
        scores: dict[int, float] = {}
        total = len(self._places)
        spoken = set(words(self._seen.part_names.get(part, "")))
        for at, named in enumerate(self._joint_words):
            if named and named <= spoken:
                scores[at] = _NAMED * len(named)
        for word in spoken:
            found = self._index.get(word, {})
            weight = math.log((total + 1) / (len(found) + 0.5)) if found else 0.0
            for at, share in found.items():
                scores[at] = scores.get(at, 0.0) + weight * share
        return scores

    def _by_neighbours(self, part: str) -> Mapping[int, float]:
        scores: dict[int, float] = defaultdict(float)
        here = self._order.get(part)
        if here is None:
            return scores
        for step in (-1, 1):
            for distance in range(1, _FAR + 1):
                at = here + step * distance
                if not 0 <= at < len(self._numbers):
                    break
                users = self._users.get(self._numbers[at], [])
                if 0 < len(users) <= _FEW:
                    for user in users:
                        scores[user] += _NEIGHBOUR / distance
        return scores

    def _wants(self, at: int, roles: tuple[str, ...]) -> float:
        """Favour joints whose kind asks for such a part, and more so where the role is empty."""
        place = self._places[at]
        asked = [role for role in roles if role in self._asked.get(place.kind, ())]
        if not asked:
            return 0.0
        empty = any(not place.having(role) for role in asked[:1])
        return _ASKED + (_EMPTY if empty else 0.0)

    def _role(self, at: int, roles: tuple[str, ...]) -> str:
        place = self._places[at]
        for role in roles:
            if role in self._asked.get(place.kind, ()):
                return role
        return roles[0] if roles else ""
