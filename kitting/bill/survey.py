"""What the checks of a bill look at: each joint of a build with everything that serves it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from kitting.bill.families import Families, words
from kitting.terms.words import SingleUse

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from kitting.tables.catalogs import Catalogs
    from kitting.tables.shop import Shop

BLANK_ROLES = ("",)


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
        Quantity for one closing of all the joint's alike places [base units].
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
    """A joint of a build and what serves it there."""

    build: str
    assembly: str
    stage: str
    joint: str
    kind: str
    joins: str
    count: int
    disturbances: int
    fillers: tuple[Filler, ...]

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
    _others: list[Place] = field(default_factory=list)
    _by_build: dict[tuple[str, str], list[Place]] = field(default_factory=dict)

    def groups(self) -> Mapping[tuple[str, str], list[Place]]:
        """Return the joints by (build, assembly)."""
        if not self._by_build:
            for place in self.places:
                self._by_build.setdefault((place.build, place.assembly), []).append(place)
        return self._by_build

    def other_options(self) -> list[Place]:
        """Return the joints that no build closes, with the lines that carry no condition.

        Their build is blank. They belong to other options and show what such a joint has.
        """
        if not self._others:
            closed = {(p.assembly, p.joint) for p in self.places}
            within = {p.assembly for p in self.places}
            lines = self.shop["lines"]
            at: dict[tuple[str, str], list[Filler]] = defaultdict(list)
            columns = ("assembly", "joint", "stage", "role", "part", "quantity", "line", "when")
            for assembly, joint, stage, role, part, quantity, line, when in zip(
                *(lines[c].tolist() for c in columns), strict=True
            ):
                if joint and not when and assembly in within and (assembly, joint) not in closed:
                    name, family = self.part_names.get(part, ""), self.part_families.get(part, "")
                    at[assembly, joint].append(
                        Filler(
                            stage, role, part, name, family, quantity, quantity, line, "", "", ""
                        )
                    )
            joints = self.shop["joints"]
            columns = ("assembly", "stage", "joint", "kind", "joins", "count", "disturbances")
            self._others.extend(
                Place("", *row, tuple(at[row[0], row[2]]))
                for row in zip(*(joints[c].tolist() for c in columns), strict=True)
                if (row[0], row[2]) in at
            )
        return self._others

    def owners(self) -> tuple[tuple[str, str], ...]:
        """Return every (build, assembly) that has joints or loose parts."""
        return tuple(dict.fromkeys((*self.groups(), *self.loose)))

    def all_fillers(self, owner: tuple[str, str]) -> Iterable[tuple[Place | None, Filler]]:
        """Yield everything that a (build, assembly) asks for, with its joint or ``None``."""
        for place in self.groups().get(owner, ()):
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
    families = Families(catalogs.families)
    parts = shop["parts"]
    numbers, names = parts["part"].tolist(), parts["name"].tolist()
    stated = parts["family"].tolist()
    part_names = dict(zip(numbers, names, strict=True))
    part_families = {
        number: families.of(family, name)
        for number, family, name in zip(numbers, stated, names, strict=True)
    }
    single_use = dict(zip(numbers, parts["single_use"].tolist(), strict=True))
    keys = list(zip(*(joints[c].tolist() for c in ("build", "assembly", "joint")), strict=True))
    closings = dict(zip(keys, joints["disturbances"].tolist(), strict=True))
    at_joint: dict[tuple[str, str, str], list[Filler]] = defaultdict(list)
    loose: dict[tuple[str, str], list[Filler]] = defaultdict(list)
    columns = ("build", "assembly", "joint", "stage", "role", "part", "quantity", "line")
    rest = ("from_set", "source", "note")
    for row in zip(*(required[c].tolist() for c in (*columns, *rest)), strict=True):
        build, assembly, joint, stage, role, part, quantity, line, from_set, source, note = row
        key = (build, assembly, joint)
        times = closings.get(key, 1) if single_use.get(part) == SingleUse.NEVER else 1
        name = part_names.get(part, "")
        family = part_families.get(part)
        if family is None:
            family = families.of("", part)
        filler = Filler(
            stage, role, part, name, family, quantity // max(times, 1), quantity, line,
            from_set, source, note,
        )  # fmt: skip
        if key in closings:
            at_joint[key].append(filler)
        else:
            loose[build, assembly].append(filler)
    fields = ("stage", "kind", "joins", "count", "disturbances")
    places = tuple(
        Place(b, a, stage, j, kind, joins, count, times, tuple(at_joint.get((b, a, j), ())))
        for (b, a, j), stage, kind, joins, count, times in zip(
            keys, *(joints[c].tolist() for c in fields), strict=True
        )
    )
    chosen: dict[str, dict[str, str]] = defaultdict(dict)
    for build, option, value in zip(
        *(choices[c].tolist() for c in ("build", "option", "value")), strict=True
    ):
        chosen[build][option] = value
    return Survey(
        shop,
        catalogs,
        families,
        places,
        {owner: tuple(rows) for owner, rows in loose.items()},
        part_names,
        part_families,
        single_use,
        left_overs,
        chosen,
    )


def listed(names: Iterable[str], most: int = 4) -> str:
    """Write some names as ``a, b and 3 more``."""
    distinct = list(dict.fromkeys(names))
    shown = ", ".join(distinct[:most])
    more = len(distinct) - most
    return f"{shown} and {more} more" if more > 0 else shown


def said(*texts: str) -> frozenset[str]:
    """Return the words of some texts as a set."""
    return frozenset(w for text in texts for w in words(text))
