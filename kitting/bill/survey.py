"""What the checks of a bill look at: each joint of a build with everything that serves it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from kitting.bill.families import Families, words
from kitting.errors import UnitError
from kitting.terms.units import Dimension, unit
from kitting.terms.words import SingleUse

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from kitting.bill.locating import Locator
    from kitting.tables.catalogs import Catalogs
    from kitting.tables.shop import Shop


class Gap(NamedTuple):
    """One row of table ``gaps`` in the making; the level is settled by the catalog of checks."""

    build: str
    assembly: str
    stage: str
    joint: str
    role: str
    message: str
    level: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Filler:
    """A required row seen from its joint.

    Parameters
    ----------
    each
        Number for one closing of all the joint's alike places; a measured part counts once in
        each place.
    total
        Quantity required [base units].
    """

    stage: str
    role: str
    part: str
    name: str
    family: str
    each: int
    total: int
    line: int
    from_set: str
    source: str
    note: str

    @property
    def called(self) -> str:
        """The part by name, or by number when it has none."""
        return self.name or self.part


@dataclass(frozen=True, slots=True)
class Place:
    """A joint of a build and what serves it there.

    Parameters
    ----------
    kin
        The families of its fillers and all that these belong to.
    """

    build: str
    assembly: str
    stage: str
    joint: str
    kind: str
    joins: str
    count: int
    disturbances: int
    fillers: tuple[Filler, ...]
    kin: frozenset[str] = frozenset()

    @property
    def key(self) -> tuple[str, str, str]:
        """What names it: build, assembly, joint."""
        return (self.build, self.assembly, self.joint)

    def having(self, role: str) -> tuple[Filler, ...]:
        """Return what serves one role."""
        return tuple(f for f in self.fillers if f.role == role)

    def gap(self, role: str, message: str, level: str = "", source: str = "") -> Gap:
        """Return a gap at this joint."""
        return Gap(self.build, self.assembly, self.stage, self.joint, role, message, level, source)


@dataclass(frozen=True)
class Survey:
    """A shop's bills, laid out for the checks; nothing in it is altered.

    Parameters
    ----------
    shop, catalogs
        The shop and the reference data.
    families
        Families by words.
    places
        Every joint that a build closes.
    loose
        Required rows without a joint, by (build, assembly).
    part_names, part_families, single_use
        By part number.
    left_overs
        Table ``left_overs``.
    choices
        Chosen value by build and option.
    """

    shop: Shop
    catalogs: Catalogs
    families: Families
    places: tuple[Place, ...]
    loose: Mapping[tuple[str, str], tuple[Filler, ...]]
    part_names: Mapping[str, str]
    part_families: Mapping[str, str]
    single_use: Mapping[str, str]
    left_overs: pd.DataFrame
    choices: Mapping[str, Mapping[str, str]]

    @cached_property
    def groups(self) -> Mapping[tuple[str, str], list[Place]]:
        """The joints by (build, assembly)."""
        found: dict[tuple[str, str], list[Place]] = defaultdict(list)
        for place in self.places:
            found[place.build, place.assembly].append(place)
        return found

    @cached_property
    def locator(self) -> Locator:
        """Finds the likely joint of a part."""
        from kitting.bill.locating import Locator

        return Locator(self)

    @cached_property
    def asked_roles(self) -> Mapping[str, frozenset[str]]:
        """The roles that each kind asks for."""
        kinds = self.catalogs.kinds
        found: dict[str, set[str]] = defaultdict(set)
        for kind, role in zip(kinds["kind"].tolist(), kinds["role"].tolist(), strict=True):
            found[kind].add(role)
        return {kind: frozenset(roles) for kind, roles in found.items()}

    @cached_property
    def other_options(self) -> tuple[Place, ...]:
        """The joints that no build closes, with the lines that carry no condition.

        Their build is blank. They belong to other options and show what such a joint has.
        """
        closed = {(p.assembly, p.joint) for p in self.places}
        within = {p.assembly for p in self.places}
        joints = self.shop["joints"]
        columns = ("assembly", "stage", "joint", "kind", "joins", "count", "disturbances")
        others: dict[tuple[str, str], tuple[Any, ...]] = {
            (row[0], row[2]): row
            for row in zip(*(joints[c].tolist() for c in columns), strict=True)
            if row[0] in within and (row[0], row[2]) not in closed
        }
        if not others:
            return ()
        lines = self.shop["lines"]
        at: dict[tuple[str, str], list[Filler]] = defaultdict(list)
        fields = ("assembly", "joint", "stage", "role", "part", "quantity", "line", "when")
        for assembly, joint, stage, role, part, quantity, line, when in zip(
            *(lines[c].tolist() for c in fields), strict=True
        ):
            if not when and (assembly, joint) in others:
                named = (self.part_names.get(part, ""), self.part_families.get(part, ""))
                at[assembly, joint].append(
                    Filler(stage, role, part, *named, quantity, quantity, line, "", "", "")
                )
        return tuple(
            Place("", row[0], row[1], row[2], row[3], row[4], row[5], row[6], tuple(at[key]))
            for key, row in others.items()
            if at[key]
        )

    @cached_property
    def owners(self) -> tuple[tuple[str, str], ...]:
        """Return every (build, assembly) that has joints or loose parts."""
        return tuple(dict.fromkeys((*self.groups, *self.loose)))

    def all_fillers(self, owner: tuple[str, str]) -> Iterable[tuple[Place | None, Filler]]:
        """Yield everything that a (build, assembly) asks for, with its joint or ``None``."""
        for place in self.groups.get(owner, ()):
            for filler in place.fillers:
                yield place, filler
        for filler in self.loose.get(owner, ()):
            yield None, filler

    def is_a(self, filler: Filler, families: Iterable[str]) -> bool:
        """Tell whether a filler belongs to one of some families."""
        return self.families.is_a(filler.family, families)


def survey(
    shop: Shop,
    required: pd.DataFrame,
    joints: pd.DataFrame,
    left_overs: pd.DataFrame,
    choices: pd.DataFrame,
    catalogs: Catalogs,
) -> Survey:
    """Lay out the bills of some builds for the checks.

    Parameters
    ----------
    shop
        The shop.
    required, joints, left_overs, choices
        Tables ``required``, ``build_joints``, ``left_overs`` and ``choices``.
    catalogs
        The reference data.
    """
    families = _families(catalogs)
    parts = _Parts(shop["parts"], families)
    keys = list(zip(*(joints[c].tolist() for c in ("build", "assembly", "joint")), strict=True))
    fields = ("stage", "kind", "joins", "count", "disturbances")
    rows = list(zip(*(joints[c].tolist() for c in fields), strict=True))
    times = {key: (row[3], row[4]) for key, row in zip(keys, rows, strict=True)}
    at_joint, loose = _fillers(required, times, parts)
    places = []
    for (b, a, j), (stage, kind, joins, count, closed) in zip(keys, rows, strict=True):
        here = tuple(at_joint.get((b, a, j), ()))
        kin = frozenset().union(*(families.kin(f.family) for f in here))
        places.append(Place(b, a, stage, j, kind, joins, count, closed, here, kin))
    chosen: dict[str, dict[str, str]] = defaultdict(dict)
    for build, option, value in zip(
        *(choices[c].tolist() for c in ("build", "option", "value")), strict=True
    ):
        chosen[build][option] = value
    return Survey(
        shop,
        catalogs,
        families,
        tuple(places),
        {owner: tuple(fillers) for owner, fillers in loose.items()},
        parts.names,
        parts.families,
        parts.single_use,
        left_overs,
        chosen,
    )


@lru_cache(maxsize=2)
def _families(catalogs: Catalogs) -> Families:
    """Return the families of the catalogs; names once read are kept."""
    return Families(catalogs.families)


class _Parts:
    """The parts of the shop by number."""

    def __init__(self, frame: pd.DataFrame, families: Families) -> None:
        numbers, names = frame["part"].tolist(), frame["name"].tolist()
        stated, units = frame["family"].tolist(), frame["unit"].tolist()
        of = families.of
        self.names: dict[str, str] = dict(zip(numbers, names, strict=True))
        self.families: dict[str, str] = {
            number: of(family, name)
            for number, family, name in zip(numbers, stated, names, strict=True)
        }
        self.single_use: dict[str, str] = dict(
            zip(numbers, frame["single_use"].tolist(), strict=True)
        )
        counted = {u for u in set(units) if _is_counted(u)}
        self.measured = {p for p, u in zip(numbers, units, strict=True) if u not in counted}
        self._of = of

    def family(self, part: str) -> str:
        """Return the family of a part, listed or not."""
        found = self.families.get(part)
        return self._of("", part) if found is None else found


def _is_counted(name: str) -> bool:
    """Tell whether a unit counts pieces; one that is not known does."""
    try:
        return unit(name).dimension is Dimension.COUNT
    except UnitError:
        return True


_Joint = tuple[str, str, str]


def _fillers(
    required: pd.DataFrame, times: Mapping[_Joint, tuple[int, int]], parts: _Parts
) -> tuple[dict[_Joint, list[Filler]], dict[tuple[str, str], list[Filler]]]:
    """Return the required rows at their joints, and those without one by (build, assembly).

    The pieces into which sets split a line are one filler again.
    """
    at_joint: dict[_Joint, list[Filler]] = defaultdict(list)
    loose: dict[tuple[str, str], list[Filler]] = defaultdict(list)
    columns = ("build", "assembly", "joint", "stage", "role", "part", "quantity", "line")
    rest = ("from_set", "source", "note")
    totals: dict[tuple[str, str, str, int], int] = defaultdict(int)
    rows = list(zip(*(required[c].tolist() for c in (*columns, *rest)), strict=True))
    for build, assembly, joint, _, _, _, quantity, line, *_ in rows:
        totals[build, assembly, joint, line] += quantity
    for build, assembly, joint, stage, role, part, quantity, line, *others in rows:
        key = (build, assembly, joint)
        if line:
            quantity = totals.pop((*key, line), None)
            if quantity is None:
                continue
        count, closed = times.get(key, (1, 1))
        if parts.measured and part in parts.measured:
            each = count
        else:
            once = parts.single_use.get(part) == SingleUse.NEVER
            each = quantity // max(closed, 1) if once else quantity
        named = (parts.names.get(part, ""), parts.family(part))
        filler = Filler(stage, role, part, *named, each, quantity, line, *others)
        if key in times:
            at_joint[key].append(filler)
        else:
            loose[build, assembly].append(filler)
    return at_joint, loose


def listed(names: Iterable[str], most: int = 4) -> str:
    """Write some names as ``a, b and 3 more``."""
    distinct = list(dict.fromkeys(names))
    shown = ", ".join(distinct[:most])
    more = len(distinct) - most
    return f"{shown} and {more} more" if more > 0 else shown


@lru_cache(maxsize=1 << 16)
def said(*texts: str) -> frozenset[str]:
    """Return the words of some texts as a set."""
    return frozenset(w for text in texts for w in words(text))
