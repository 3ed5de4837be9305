"""Where a part most likely belongs, when no line says so.

Told by its words, by its neighbours in the sheet of parts, by its thread, and by what the kinds of
the joints ask for. A guess for a person to judge, never a change of the bill.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from typing import TYPE_CHECKING, NamedTuple

from kitting.bill.families import words
from kitting.terms.conditions import split_list
from kitting.terms.designations import parse_designation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.bill.survey import Place, Survey

# A word in the joint's own name counts whole, one in the name of a part beside it counts less; a
# part whose name holds the joint's whole name, as in "sump gasket", counts for each word.
_JOINT, _BESIDE, _NAMED = 1.0, 0.4, 2.0
# Parts up to this far away in the sheet of parts count as neighbours, while they serve few joints.
_FAR, _FEW, _NEIGHBOUR = 3, 3, 2.0
# The kind asks for such a part; expects its family; the joint has others of its thread, or not.
_ASKED, _EXPECTED, _THREAD, _ALONE = 1.0, 1.0, 1.5, 0.5
# The role that it would fill is empty there.
_EMPTY = 1.0
# How much must point to a joint, how far behind the best another may be, and how many are told.
_LEAST, _BEHIND, _MOST = 1.0, 1.0, 3


class Spot(NamedTuple):
    """A likely joint and role for a part, and the other likely joints."""

    place: Place
    role: str
    others: tuple[str, ...]


class Locator:
    """Finds the likely joints of a part among all joints of the builds.

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
        self._joint_words = [frozenset(words(p.joint)) for p in self._places]
        self._threads: list[Counter[str]] = []
        for at, place in enumerate(self._places):
            for part in {f.part for f in place.fillers}:
                self._users[part].append(at)
            for word in {w for f in place.fillers for w in words(f.name)}:
                self._index[word][at] = _BESIDE
            for word in (*words(place.joint), *words(place.joins)):
                self._index[word][at] = _JOINT
            held = (_thread(name) for name in {f.called for f in place.fillers})
            self._threads.append(Counter(t for t in held if t))
        self._expected = _expected(seen)

    def best(self, part: str) -> tuple[Spot, ...]:
        """Return the likeliest joints and roles in each build that has them, best first.

        Empty when nothing points anywhere; several joints when they are about as likely.
        """
        scores = self._by_words(part)
        for at, score in self._by_neighbours(part).items():
            scores[at] = scores.get(at, 0.0) + score
        family = self._seen.part_families.get(part, "")
        roles = self._seen.families.roles(family)
        thread = _thread(self._seen.part_names.get(part, "") or part)
        ranked = sorted(
            (
                (scores.get(at, 0.0) + self._fit(at, family, roles, thread), -at)
                for at in range(len(self._places))
                if at in scores or self._asks(at, roles)
            ),
            reverse=True,
        )
        likely = [
            -at for score, at in ranked[:_MOST] if score >= max(_LEAST, ranked[0][0] - _BEHIND)
        ]
        names = [self._places[at].joint for at in likely]
        return tuple(
            Spot(place, self._role(at, roles), tuple(n for n in names if n != place.joint))
            for at in likely
            for place in self._everywhere[self._places[at].assembly, self._places[at].joint]
        )

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

    def _asks(self, at: int, roles: tuple[str, ...]) -> bool:
        asked = self._seen.asked_roles.get(self._places[at].kind, frozenset())
        return not asked.isdisjoint(roles)

    def _fit(self, at: int, family: str, roles: tuple[str, ...], thread: str) -> float:
        """Say how well a part of this family and thread fits a joint of this kind."""
        place = self._places[at]
        asked = [r for r in roles if r in self._seen.asked_roles.get(place.kind, ())]
        score = _ASKED if asked else 0.0
        score += _EMPTY if asked and not place.having(asked[0]) else 0.0
        wanted = self._expected.get(place.kind, frozenset())
        kin = self._seen.families.kin(family)
        if wanted & kin:
            score += _EXPECTED if place.kin.isdisjoint(kin) else _EXPECTED / 2
        if thread and self._threads[at]:
            score += _THREAD if thread in self._threads[at] else -_THREAD
            # a joint with one length may have lost the other
            score += _ALONE if self._threads[at][thread] == 1 else 0.0
        return score

    def _role(self, at: int, roles: tuple[str, ...]) -> str:
        asked = self._seen.asked_roles.get(self._places[at].kind, frozenset())
        return next((role for role in roles if role in asked), roles[0] if roles else "")


def _thread(text: str) -> str:
    read = parse_designation(text)
    return read.thread if read else ""


def _expected(seen: Survey) -> Mapping[str, frozenset[str]]:
    """Return the families that each kind expects."""
    found: dict[str, set[str]] = defaultdict(set)
    frame = seen.catalogs.expectations
    for kind, family in zip(frame["kind"].tolist(), frame["family"].tolist(), strict=True):
        found[kind].update(split_list(family))
    return {kind: frozenset(families) for kind, families in found.items()}
