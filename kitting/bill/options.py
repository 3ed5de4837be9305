"""Which builds are open, what each of them chooses, and which conditions then hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.bill.graph import assembly_names
from kitting.errors import InputError
from kitting.tables.flow import CHOICES
from kitting.tables.shop import BUILDS
from kitting.terms.conditions import holds, parse_choices, parse_when, split_list
from kitting.terms.findings import Finding
from kitting.terms.nearest import nearest
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Mapping

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


def reachable(shop: Shop, top: str) -> tuple[str, ...]:
    """Return an assembly and all that it may build in under any options, level by level."""
    names = assembly_names(shop)
    lines, rules = shop["lines"], shop["rules"]
    inside: dict[str, list[str]] = {}
    for frame, column in ((lines, "part"), (rules, "needs_part")):
        for row in frame.loc[frame[column].isin(list(names)), ["assembly", column]].to_numpy():
            inside.setdefault(row[0], []).append(row[1])
    found = {top: None}
    level = [top]
    while level:
        level = list(dict.fromkeys(c for a in level for c in inside.get(a, ()) if c not in found))
        found |= dict.fromkeys(level)
    return tuple(found)


def resolve(shop: Shop, builds: pd.DataFrame) -> tuple[Variants, pd.DataFrame, list[Finding]]:
    """Settle what each build chooses: defaults of all it may build in, then its own options.

    Where two assemblies give one option different defaults, the one nearer the top wins.

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
    codes, pairs = pd.factorize(
        pd.MultiIndex.from_frame(builds[["assembly", "options"]]), use_na_sentinel=False
    )
    known = assembly_names(shop)
    reaches = {top: reachable(shop, top) for top in dict.fromkeys(a for a, _ in pairs)}
    offered = {top: _offered(shop, reach) for top, reach in reaches.items()}
    settled: list[dict[str, str]] = []
    faults: list[list[Finding]] = []
    for top, text in pairs:
        choices, found = _settle(offered[top], text)
        settled.append(choices)
        faults.append(found if top in known else [_unknown_assembly(top, known)])
    keys = [(top, *sorted(c.items())) for (top, _), c in zip(pairs, settled, strict=True)]
    distinct = {key: n for n, key in enumerate(dict.fromkeys(keys))}
    first = {distinct[key]: n for n, key in reversed(list(enumerate(keys)))}
    picked = [first[n] for n in range(len(distinct))]
    tops = tuple(pairs[n][0] for n in picked)
    variants = Variants(
        tops,
        tuple(settled[n] for n in picked),
        tuple(reaches[top] for top in tops),
        np.array([distinct[keys[c]] for c in codes], dtype=np.int64),
    )
    named = builds["build"].tolist()
    findings = [
        Finding(f.level, f.message, about=build)
        for build, code in zip(named, codes, strict=True)
        for f in faults[code]
    ]
    return variants, _choices(named, variants), findings


def holding(
    when: pd.Series, variants: Variants, sheet: str, rows: pd.Series | None = None
) -> NDArray[np.bool_]:
    """Tell which conditions hold in which variant; each distinct text is read once.

    Parameters
    ----------
    when
        Conditions, one cell each.
    variants
        The variants.
    sheet, rows
        The sheet and the row numbers of the cells, for the error.

    Returns
    -------
    ndarray
        Cells x variants.

    Raises
    ------
    InputError
        When a cell is not a condition.
    """
    codes, texts = pd.factorize(when)
    matrix = np.ones((len(texts), len(variants)), dtype=bool)
    for n, text in enumerate(texts):
        try:
            conditions = parse_when(text)
        except ValueError as fault:
            at = int(np.flatnonzero(codes == n)[0])
            place = f"{sheet} row {rows.iloc[at]}" if rows is not None else sheet
            raise InputError(f"{place}, when: {fault}") from None
        if conditions:
            matrix[n] = [holds(conditions, choices) for choices in variants.choices]
    out: NDArray[np.bool_] = matrix[codes]
    return out


@dataclass(frozen=True)
class _Offer:
    """What one assembly and all below it let a build choose."""

    choices: Mapping[str, tuple[str, ...]]
    defaults: Mapping[str, str]
    differing: Mapping[str, Finding]


def _offered(shop: Shop, reach: tuple[str, ...]) -> _Offer:
    """Gather the options of assemblies, the nearest to the top first."""
    options = shop["options"]
    rank = {assembly: n for n, assembly in enumerate(reach)}
    rows = options[options["assembly"].isin(list(reach))]
    ordered = sorted(rows.to_dict("records"), key=lambda row: rank[row["assembly"]])
    choices: dict[str, tuple[str, ...]] = {}
    defaults: dict[str, str] = {}
    origin: dict[str, str] = {}
    differing = {}
    for row in ordered:
        name, default, assembly = row["option"], row["default"], row["assembly"]
        listed = split_list(row["choices"])
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


def _settle(offer: _Offer, text: str) -> tuple[dict[str, str], list[Finding]]:
    """Return the choices of one options cell over the defaults, and what is wrong with it."""
    findings = []
    try:
        own = parse_choices(text)
    except ValueError as fault:
        own = {}
        findings.append(Finding(Level.STOP, f"{fault}; the defaults are used"))
    for option, value in own.items():
        if option not in offer.choices:
            findings.append(
                Finding(
                    Level.WARN,
                    f'option "{option}" is not known for this assembly and changes nothing'
                    + nearest(option, offer.choices),
                )
            )
        elif offer.choices[option] and value not in offer.choices[option]:
            findings.append(
                Finding(
                    Level.STOP,
                    f'option "{option}" cannot be "{value}"; choose one of '
                    + ", ".join(offer.choices[option]),
                )
            )
    choices = {**offer.defaults, **own}
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


def _unknown_assembly(name: str, known: dict[str, None]) -> Finding:
    return Finding(
        Level.STOP,
        f'assembly "{name}" has no stages, joints or lines, so nothing can be planned for it'
        + nearest(name, known),
    )


def _choices(builds: list[str], variants: Variants) -> pd.DataFrame:
    rows = [
        (build, option, value)
        for build, variant in zip(builds, variants.of_build.tolist(), strict=True)
        for option, value in variants.choices[variant].items()
    ]
    if not rows:
        return CHOICES.empty()
    return CHOICES.conform(pd.DataFrame(rows, columns=CHOICES.names))
