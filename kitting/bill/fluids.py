"""Fluid choice: what conflicts with the use of a build, and what of the shop's own would fit.

Rules are data, in the catalog ``fluid_rules``; limits of grades are published. Nothing here
decides against the maker's manual, and every caution says so.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

import pandas as pd

from kitting.bill.families import words
from kitting.bill.grades import Bands, Grade, bands, classify, parse_grade
from kitting.tables.flow import CAUTIONS
from kitting.terms.conditions import holds, parse_when, split_list
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from kitting.tables.references import References
    from kitting.tables.shop import Shop
    from kitting.terms.conditions import Condition

_DECIDES = "the maker's manual decides"
_OILS = ("engine oil", "run-in oil")
_FLUID = (
    *("part", "kind", "grade", "base", "viscosity_40", "viscosity_100", "zinc_ppm"),
    *("phosphorus_ppm", "spec"),
)
_RULE = (
    *("rule", "kind", "use", "when", "property", "words", "least", "most", "level", "message"),
    "source",
)


class _Bills(Protocol):
    """The frames of some exploded builds that are read."""

    @property
    def required(self) -> pd.DataFrame: ...
    @property
    def choices(self) -> pd.DataFrame: ...


@dataclass(frozen=True, slots=True)
class Fluid:
    """One row of table ``fluids``."""

    part: str
    kind: str
    grade: str
    base: str
    viscosity_40: float
    viscosity_100: float
    zinc_ppm: int | None
    phosphorus_ppm: int | None
    spec: str

    @property
    def read(self) -> Grade | None:
        """Its grade, read."""
        return parse_grade(self.grade, self.kind)


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of table ``fluid_rules``, read."""

    rule: str
    kind: str
    use: frozenset[str]
    when: tuple[Condition, ...]
    column: str
    words: tuple[str, ...]
    least: int | None
    most: int | None
    level: str
    message: str
    source: str


@dataclass(frozen=True, slots=True)
class Build:
    """What a build is for, what it chooses, and which fluids its bill asks for."""

    name: str
    use: frozenset[str]
    choices: Mapping[str, str]
    fluids: tuple[Fluid, ...]


def fluid_cautions(shop: Shop, bills: _Bills, references: References) -> pd.DataFrame:
    """Compare the fluids of some builds with their use, their grades and each other.

    Parameters
    ----------
    shop
        The shop; one without the sheet ``fluids`` has no cautions here.
    bills
        The exploded builds.
    references
        Tables ``viscosity``, ``phosphorus`` and ``fluid_rules``.

    Returns
    -------
    DataFrame
        Table ``cautions``: warn or note, never stop.
    """
    if not shop.has("fluids"):
        return CAUTIONS.empty()
    fluids, rules = _fluids(shop), _rules(references)
    known, licences = bands(references), _licences(references)
    own = {f.part: [*_own_faults(f, known, licences)] for f in fluids.values()}
    asked = _asked_grades(shop)
    rows = []
    for build in _builds(shop, bills, fluids):
        told: list[tuple[str, str, str, str]] = []
        for fluid in build.fluids:
            told += own[fluid.part]
            broken = list(breaches(fluid, build, rules))
            for rule, seen in broken:
                fit = _would_fit(fluid, build, fluids.values(), rules)
                told.append((fluid.part, rule.level, f"{seen}: {rule.message}{fit}", rule.source))
        told += _too_thin(build, bills, fluids, asked)
        rows += [
            (build.name, part, level, f"{message}; {_DECIDES}", source)
            for part, level, message, source in told
        ]
    if not rows:
        return CAUTIONS.empty()
    return CAUTIONS.conform(pd.DataFrame(rows, columns=CAUTIONS.names))


def breaches(fluid: Fluid, build: Build, rules: Iterable[Rule]) -> Iterator[tuple[Rule, str]]:
    """Yield the rules that a fluid breaks in a build, with what was seen.

    What the sheet leaves blank breaks no rule.
    """
    for rule in rules:
        if rule.kind != fluid.kind or not holds(rule.when, build.choices):
            continue
        if rule.use and not rule.use & build.use:
            continue
        if rule.column == "alone":
            others = [f for f in build.fluids if f.kind == "engine oil" and f.part != fluid.part]
            if not others:
                yield rule, f"{fluid.part} ({fluid.kind})"
            continue
        value = getattr(fluid, rule.column)
        if isinstance(value, int):
            least, most = rule.least or 0, value if rule.most is None else rule.most
            if not least <= value <= most:
                yield rule, f"{fluid.part} ({fluid.kind}) has {value} ppm {_metal(rule.column)}"
        elif value and rule.words and not any(_says(value, word) for word in rule.words):
            yield rule, f"{fluid.part} ({fluid.kind}) is {value}"


def _metal(column: str) -> str:
    return column.removesuffix("_ppm")


def _says(value: str, word: str) -> bool:
    return value.casefold().strip() == word.casefold()


def _would_fit(fluid: Fluid, build: Build, fluids: Iterable[Fluid], rules: Iterable[Rule]) -> str:
    """Name the shop's own fluids of the same kind and grade that break no rule here."""
    rules = tuple(rules)
    fit = [
        f.part
        for f in fluids
        if f.part != fluid.part
        and f.kind == fluid.kind
        and (f.read == fluid.read or fluid.read is None)
        and not any(True for _ in breaches(f, build, rules))
    ]
    if not fit:
        return f"; no {fluid.kind} of the sheet fluids fits better"
    return f"; of the shop's own {', '.join(fit)} would fit"


def _own_faults(
    fluid: Fluid, known: Bands, licences: Mapping[str, tuple[int, int, tuple[str, ...], str]]
) -> Iterator[tuple[str, str, str, str]]:
    """Yield what contradicts itself in a row of the sheet fluids."""
    grade = fluid.read
    if grade is not None:
        yield from _wrong_grade(fluid, grade, known)
    spec = fluid.spec.casefold()
    for standard, (least, most, grades, source) in licences.items():
        if standard.casefold() not in spec:
            continue
        ppm = fluid.phosphorus_ppm
        if ppm is not None and not least <= ppm <= most:
            message = (
                f"{fluid.part} says {standard} and has {ppm} ppm phosphorus; {standard} is "
                f"{least} to {most} ppm: read the data sheet again"
            )
            yield fluid.part, str(Level.WARN), message, source
        if grades and grade is not None and grade.name.removeprefix("SAE ") not in grades:
            message = (
                f"{fluid.part} says {standard} and is {grade.name}; {standard} covers "
                f"{', '.join(grades)} only: read the data sheet again"
            )
            yield fluid.part, str(Level.WARN), message, source


def _wrong_grade(fluid: Fluid, grade: Grade, known: Bands) -> Iterator[tuple[str, str, str, str]]:
    """Yield where the viscosity of the sheet is not that of the grade."""
    for name in (grade.winter and f"{grade.winter}W", grade.warm):
        band = known.get((grade.system, name)) if name else None
        if name and band is None:
            message = f"{fluid.part}: {grade.system} has no grade {name}; read the can again"
            yield fluid.part, str(Level.WARN), message, grade.system
        if band is None:
            continue
        viscosity = fluid.viscosity_40 if band.at == 40 else fluid.viscosity_100
        if viscosity != viscosity or band.holds(viscosity):
            continue
        of = {k: b for k, b in known.items() if k[0] == grade.system}
        is_in = " or ".join(classify(viscosity, band.at, of)) or f"in no grade of {grade.system}"
        message = (
            f"{fluid.part} says {grade.name} and has {viscosity:g} mm2/s at {band.at} C; {name} "
            f"is {band.told}, and {viscosity:g} is {is_in}: read the data sheet again"
        )
        yield fluid.part, str(Level.WARN), message, grade.system


def _too_thin(
    build: Build,
    bills: _Bills,
    fluids: Mapping[str, Fluid],
    asked: Mapping[tuple[str, str], tuple[str, str]],
) -> Iterator[tuple[str, str, str, str]]:
    """Yield the fluids that are thinner than the grade their circuit asks for."""
    if not asked:
        return
    required = bills.required
    mine = required[(required["build"] == build.name) & required["part"].isin(fluids)]
    pairs = dict.fromkeys(zip(mine["assembly"].tolist(), mine["part"].tolist(), strict=True))
    for assembly, part in pairs:
        if (assembly, part) not in asked:
            continue
        written, source = asked[assembly, part]
        fluid = fluids[part]
        least, have = parse_grade(written, fluid.kind), fluid.read
        if least is None or have is None or have.system != least.system:
            continue
        if not (least.warm and have.warm) or int(have.warm) >= int(least.warm):
            continue
        fit = [
            f.part
            for f in fluids.values()
            if f.kind in ({*_OILS} if fluid.kind in _OILS else {fluid.kind})
            and (g := f.read) is not None
            and g.system == least.system
            and g.warm
            and int(g.warm) >= int(least.warm)
        ]
        own = f"of the shop's own {', '.join(fit)} would" if fit else "none of the shop's own does"
        message = (
            f"{part} is {have.name} and {assembly} asks for {least.name} or heavier; {own} fit"
        )
        yield part, str(Level.WARN), message, source or "the sheet circuits"


def _asked_grades(shop: Shop) -> dict[tuple[str, str], tuple[str, str]]:
    """Return the least grade and its source, by assembly and fluid."""
    if not shop.has("circuits"):
        return {}
    frame = shop["circuits"]
    columns = (frame[c].tolist() for c in ("assembly", "part", "grade", "source"))
    return {(a, part): (grade, source) for a, part, grade, source in zip(*columns, strict=True)
            if grade}  # fmt: skip


def _fluids(shop: Shop) -> dict[str, Fluid]:
    frame = shop["fluids"]
    out = {}
    for row in zip(*(frame[c].tolist() for c in _FLUID), strict=True):
        part, kind, grade, base, at_40, at_100, *metals, spec = row
        zinc, phosphorus = (m if isinstance(m, int) else None for m in metals)
        kind = kind.casefold().strip()
        out[part] = Fluid(part, kind, grade, base, at_40, at_100, zinc, phosphorus, spec)
    return out


def _rules(references: References) -> tuple[Rule, ...]:
    frame = references["fluid_rules"]
    out = []
    for row in zip(*(frame[c].tolist() for c in _RULE), strict=True):
        rule, kind, use, when, column, spoken, least, most, *rest = row
        lowest, highest = (n if isinstance(n, int) else None for n in (least, most))
        used = frozenset(w for phrase in split_list(use) for w in words(phrase))
        said, conditions = split_list(spoken), parse_when(when)
        out.append(Rule(rule, kind, used, conditions, column, said, lowest, highest, *rest))
    return tuple(out)


def _licences(references: References) -> dict[str, tuple[int, int, tuple[str, ...], str]]:
    frame = references["phosphorus"]
    columns = (frame[c].tolist() for c in ("standard", "least", "most", "grades", "source"))
    return {
        standard: (least, most, split_list(grades), source)
        for standard, least, most, grades, source in zip(*columns, strict=True)
    }


def _builds(shop: Shop, bills: _Bills, fluids: Mapping[str, Fluid]) -> list[Build]:
    """Return the builds whose bills ask for fluids."""
    required = bills.required
    mine = required[required["part"].isin(fluids)]
    used: dict[str, dict[str, None]] = defaultdict(dict)
    for build, part in zip(mine["build"].tolist(), mine["part"].tolist(), strict=True):
        used[build][part] = None
    chosen: dict[str, dict[str, str]] = defaultdict(dict)
    columns: Any = (bills.choices[c].tolist() for c in ("build", "option", "value"))
    for build, option, value in zip(*columns, strict=True):
        chosen[build][option] = value
    frame = shop["builds"]
    uses = dict(zip(frame["build"].tolist(), frame["use"].tolist(), strict=True))
    return [
        Build(name, frozenset(words(uses.get(name, ""))), chosen[name],
              tuple(fluids[p] for p in parts))
        for name, parts in used.items()
    ]  # fmt: skip
