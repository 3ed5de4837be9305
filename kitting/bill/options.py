"""Which builds are open, what each of them chooses, and which conditions then hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.bill.graph import assembly_names
from kitting.errors import InputError
from kitting.tables.flow import CHOICES
from kitting.tables.shop import BUILDS
from kitting.terms.conditions import (
    USE,
    holds,
    parse_choices,
    parse_when,
    plain_use,
    split_list,
)
from kitting.terms.findings import Finding
from kitting.terms.nearest import nearest
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop


@dataclass(frozen=True)
class Variants:
    """The distinct things that are built; builds that choose alike share one.

    Parameters
    ----------
    assembly
        The assembly of each variant.
    choices
        Value by option of each variant.
    reach
        Every assembly that each variant may build in, itself first, then level by level.
    of_build
        The variant of each build.
    """

    assembly: tuple[str, ...]
    choices: tuple[Mapping[str, str], ...]
    reach: tuple[tuple[str, ...], ...]
    of_build: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.assembly)


def open_builds(shop: Shop) -> pd.DataFrame:
    """Return the builds that are not finished, in order of service.

    Returns
    -------
    DataFrame
        Table ``builds``, by priority, start (unknown last) and name.
    """
    builds = shop["builds"]
    rows = builds[builds["finished"].isna()]
    return BUILDS.conform(rows.sort_values(["priority", "start", "build"], na_position="last"))


def reachable(shop: Shop, tops: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Return, for each assembly, itself and all that it may build in, level by level.

    Conditions play no part: what only some options build in is included.
    """
    names = assembly_names(shop)
    inside: dict[str, list[str]] = {}
    for sheet, column in (("lines", "part"), ("rules", "needs_part")):
        frame = shop[sheet]
        for holder, part in zip(frame["assembly"].tolist(), frame[column].tolist(), strict=True):
            if part in names:
                inside.setdefault(holder, []).append(part)
    out = {}
    for top in tops:
        found = {top: None}
        level = [top]
        while level:
            below = (c for a in level for c in inside.get(a, ()) if c not in found)
            level = list(dict.fromkeys(below))
            found |= dict.fromkeys(level)
        out[top] = tuple(found)
    return out


def resolve(shop: Shop, builds: pd.DataFrame) -> tuple[Variants, pd.DataFrame, list[Finding]]:
    """Settle what each build chooses: defaults of all it may build in, then its own options.

    Where two assemblies give one option different defaults, the one nearer the top wins. What the
    build is for, its column ``use``, is the choice of the option ``use`` where it is not blank.

    Parameters
    ----------
    shop
        The shop.
    builds
        Any rows of table ``builds``.

    Returns
    -------
    Variants
        The distinct assemblies and choices.
    DataFrame
        Table ``choices``.
    list of Finding
        Options or values that nobody knows, options without a value, defaults that differ.
    """
    uses = [plain_use(use) for use in builds["use"].tolist()]
    tops = builds["assembly"].tolist()
    cells = list(zip(tops, builds["options"].tolist(), uses, strict=True))
    pairs = list(dict.fromkeys(cells))
    known = assembly_names(shop)
    reaches = reachable(shop, dict.fromkeys(tops))
    offered = {top: _offered(shop, reach) for top, reach in reaches.items()}
    settled: list[dict[str, str]] = []
    faults: list[list[Finding]] = []
    for top, text, use in pairs:
        choices, found = _settle(offered[top], text, use)
        settled.append(choices)
        faults.append(found if top in known else [_unknown_assembly(top, known)])
    keys = [(top, *sorted(c.items())) for (top, *_), c in zip(pairs, settled, strict=True)]
    distinct = list(dict.fromkeys(keys))
    number = {key: n for n, key in enumerate(distinct)}
    choices_of = dict(zip(keys, settled, strict=True))
    cell_at = {cell: n for n, cell in enumerate(pairs)}
    variants = Variants(
        tuple(key[0] for key in distinct),
        tuple(choices_of[key] for key in distinct),
        tuple(reaches[key[0]] for key in distinct),
        np.array([number[keys[cell_at[cell]]] for cell in cells], dtype=np.int64),
    )
    named = builds["build"].tolist()
    findings = [
        Finding(f.level, f.message, about=build)
        for build, cell in zip(named, cells, strict=True)
        for f in faults[cell_at[cell]]
    ]
    return variants, _choices(named, variants), findings


def holding(
    when: NDArray[np.object_],
    variants: Variants,
    sheet: str,
    labels: NDArray[Any],
) -> NDArray[np.bool_]:
    """Tell which conditions hold in which variant; each distinct text is read once.

    Parameters
    ----------
    when
        Conditions, one cell each.
    variants
        The variants.
    sheet, labels
        The sheet, and the row number or name of each cell's row, for the error.

    Returns
    -------
    ndarray
        Cells x variants.

    Raises
    ------
    InputError
        When a cell is not a condition.
    """
    cells = when.tolist()
    texts = {cell: n for n, cell in enumerate(dict.fromkeys(cells))}
    matrix = np.ones((len(texts), len(variants)), dtype=bool)
    for cell, n in texts.items():
        try:
            conditions = parse_when(cell)
        except ValueError as fault:
            label = labels[cells.index(cell)]
            row = f'"{label}"' if isinstance(label, str) else f"row {label}"
            raise InputError(f"{sheet} {row}, when: {fault}") from None
        if conditions:
            matrix[n] = [holds(conditions, choices) for choices in variants.choices]
    out: NDArray[np.bool_] = matrix[np.array([texts[cell] for cell in cells], dtype=np.int64)]
    return out


@dataclass(frozen=True)
class _Offer:
    """What one assembly and all below it let a build choose."""

    choices: Mapping[str, tuple[str, ...]]
    defaults: Mapping[str, str]
    differing: Mapping[str, Finding]


def _offered(shop: Shop, reach: tuple[str, ...]) -> _Offer:
    """Gather the options of assemblies, the nearest to the top first."""
    rank = {assembly: n for n, assembly in enumerate(reach)}
    names = ("assembly", "option", "choices", "default")
    rows = zip(*(shop["options"][name].tolist() for name in names), strict=True)
    ordered = sorted((row for row in rows if row[0] in rank), key=lambda row: rank[row[0]])
    choices: dict[str, tuple[str, ...]] = {}
    defaults: dict[str, str] = {}
    origin: dict[str, str] = {}
    differing = {}
    for assembly, name, cell, default in ordered:
        listed = split_list(cell)
        choices[name] = tuple(dict.fromkeys((*choices.get(name, ()), *listed)))
        if not default:
            continue
        if defaults.setdefault(name, default) != default:
            differing[name] = Finding(
                Level.WARN,
                f'option "{name}" is {defaults[name]} by default for {origin[name]} and '
                f"{default} for {assembly}; {defaults[name]} is taken for both, write the "
                "option in the build to be sure",
            )
        origin.setdefault(name, assembly)
    return _Offer(choices, defaults, differing)


def _settle(offer: _Offer, text: str, use: str) -> tuple[dict[str, str], list[Finding]]:
    """Return the choices of one build over the defaults, and what is wrong with them."""
    findings = []
    try:
        own = parse_choices(text)
    except ValueError as fault:
        own = {}
        findings.append(Finding(Level.STOP, f"{fault}; the defaults are used"))
    if use:
        findings += _two_uses(own.get(USE, use), use)
    for option, value in own.items():
        listed = offer.choices.get(option, ())
        if option == USE:
            listed = tuple(plain_use(one) for one in listed)
        if option not in offer.choices and option != USE:
            findings.append(
                Finding(
                    Level.WARN,
                    f'option "{option}" is not known for this assembly and changes nothing'
                    + nearest(option, offer.choices),
                )
            )
        elif listed and value not in listed:
            findings.append(
                Finding(
                    Level.STOP,
                    f'option "{option}" cannot be "{value}"; choose one of {", ".join(listed)}',
                )
            )
    choices = {**offer.defaults, **own} | ({USE: use} if use else {})
    if USE in choices:
        choices[USE] = plain_use(choices[USE])
    findings += [
        Finding(
            Level.WARN,
            f'option "{option}" is not chosen and has no default; choose one of '
            + ", ".join(offer.choices[option]),
        )
        for option in offer.choices
        if option not in choices
    ]
    findings += [finding for option, finding in offer.differing.items() if option not in own]
    return choices, findings


def _two_uses(chosen: str, use: str) -> list[Finding]:
    if chosen == use:
        return []
    return [
        Finding(
            Level.STOP,
            f'the build is for "{use}" by its column use and for "{chosen}" by its options; write '
            "it in the column alone",
        )
    ]


def _unknown_assembly(name: str, known: dict[str, None]) -> Finding:
    return Finding(
        Level.STOP,
        f'assembly "{name}" has no stages, joints or lines, so nothing can be planned for it'
        + nearest(name, known),
    )


def _choices(builds: list[str], variants: Variants) -> pd.DataFrame:
    """Write out every build's choices."""
    cells = [
        (build, option, value)
        for build, variant in zip(builds, variants.of_build.tolist(), strict=True)
        for option, value in variants.choices[variant].items()
    ]
    columns = zip(*cells, strict=True) if cells else ((), (), ())
    text = {c: pd.array(list(v), dtype="str") for c, v in zip(CHOICES.names, columns, strict=True)}
    return CHOICES.conform(pd.DataFrame(text))
