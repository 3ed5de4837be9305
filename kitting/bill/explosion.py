"""From builds to everything they need: options, assemblies in assemblies, rules and sets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.bill.graph import assembly_names, stage_order
from kitting.bill.options import Variants, holding, resolve
from kitting.bill.rules import judge, rule_lines
from kitting.bill.sets import cover
from kitting.bill.totals import levels, product, ranges, total_requirements
from kitting.tables.flow import BUILD_JOINTS, BUILT_IN, CAUTIONS, LEFT_OVERS, REQUIRED
from kitting.terms.words import SingleUse

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from kitting.tables.contract import Table
    from kitting.tables.shop import Shop
    from kitting.terms.findings import Finding

    Whole = NDArray[np.int64]
    Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Bills:
    """What some builds need, exploded; contracts in ``tables.flow``.

    Parameters
    ----------
    choices
        Table ``choices``: value of every option of each build.
    joints
        Table ``build_joints``: the joints that each build closes.
    required
        Table ``required``, in order of builds and of work.
    left_overs
        Table ``left_overs``.
    cautions
        Table ``cautions``: what the rules say; a stop must be put right before the build starts.
    built_in
        Table ``built_in``.
    findings
        What is wrong with the builds' own cells; ``about`` names the build.
    """

    choices: pd.DataFrame
    joints: pd.DataFrame
    required: pd.DataFrame
    left_overs: pd.DataFrame
    cautions: pd.DataFrame
    built_in: pd.DataFrame
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class _Sheets:
    """The rows below the assemblies of some builds, and which of them hold in which variant.

    Lines of rules stand after those of the bill. ``joint`` is the row of a line's joint and -1
    without one, ``child`` the assembly that it builds in and -1 for a part. ``line_on``,
    ``joint_on`` and ``rule_on`` are rows x variants; ``number`` counts each assembly in a build
    and ``depth`` is its level there, assemblies x variants.
    """

    assemblies: tuple[str, ...]
    lines: pd.DataFrame
    joints: pd.DataFrame
    rules: pd.DataFrame
    holder: Whole
    joint: Whole
    child: Whole
    places: Whole
    line_on: Flags
    joint_on: Flags
    rule_on: Flags
    number: Whole
    depth: Whole


def explode(shop: Shop, builds: pd.DataFrame) -> Bills:
    """Explode builds into all that they need.

    Everything is worked out once for each distinct assembly and choices, then copied to the
    builds. A line asks for ``quantity`` in each alike place of its joint; a part that may never
    be used again is asked for at each closing. Rules add their parts; sets then cover what they
    contain.

    Parameters
    ----------
    shop
        The shop.
    builds
        Any rows of table ``builds``, open or past.

    Raises
    ------
    LoopError
        When assemblies, sets or stages go round in a circle.
    InputError
        When a condition cannot be read or a quantity is too large to count.
    """
    variants, choices, findings = resolve(shop, builds)
    sheets = _sheets(shop, variants)
    required, left_overs = _required(shop, sheets)
    present = dict(zip(sheets.assemblies, sheets.number, strict=True))
    cautions = judge(
        sheets.rules,
        sheets.rule_on,
        lambda assembly, variant: bool(present[assembly][variant]),
        variants,
        (sheets.lines, sheets.line_on),
    )
    names = builds["build"].array
    of_build = variants.of_build
    out = _spread(required, names, of_build)
    out["required"] = np.arange(1, len(out) + 1, dtype=np.int64)
    return Bills(
        choices,
        BUILD_JOINTS.conform(_spread(_joints(sheets), names, of_build)),
        REQUIRED.conform(out),
        _table(LEFT_OVERS, left_overs, names, of_build),
        _table(CAUTIONS, cautions, names, of_build),
        _table(BUILT_IN, _built_in(sheets), names, of_build),
        tuple(findings),
    )


def _table(table: Table, rows: pd.DataFrame, names: Any, of_build: Whole) -> pd.DataFrame:
    """Return the contract's frame for all builds."""
    return table.conform(_spread(rows, names, of_build)) if len(rows) else table.empty()


def _spread(rows: pd.DataFrame, names: Any, of_build: Whole) -> pd.DataFrame:
    """Copy the rows of each variant to each of its builds, in order of builds."""
    variant = rows["variant"].to_numpy(dtype=np.int64)
    order = np.argsort(variant, kind="stable")
    count = int(of_build.max(initial=-1)) + 1
    first = np.searchsorted(variant[order], np.arange(count + 1)).astype(np.int64)
    begin, end = first[of_build], first[of_build + 1]
    picked = order[ranges(begin, end)]
    out = {c: rows[c].array.take(picked) for c in rows.columns if c != "variant"}
    build = np.repeat(np.arange(len(of_build)), end - begin)
    return pd.DataFrame({"build": names.take(build), **out})


def _sheets(shop: Shop, variants: Variants) -> _Sheets:
    """Gather the rows below the variants' assemblies and settle which hold."""
    names = tuple(dict.fromkeys(a for reach in variants.reach for a in reach))
    code = {name: n for n, name in enumerate(names)}
    within = np.zeros((len(names), len(variants)), dtype=bool)
    for n, reach in enumerate(variants.reach):
        within[[code[a] for a in reach], n] = True
    joints, rules, bill = (_below(shop[t], code) for t in ("joints", "rules", "lines"))
    lines = pd.concat([bill, rule_lines(rules, shop["stages"])], ignore_index=True)
    joint_at = _codes(joints["assembly"], code)
    joint_on = within[joint_at] & holding(joints["when"], variants, "joints")
    pairs = zip(joints["assembly"], joints["joint"], strict=True)
    row_of = {pair: n for n, pair in enumerate(pairs)}
    asked = zip(lines["assembly"], lines["joint"], strict=True)
    joint = np.array([row_of.get(pair, -1) for pair in asked], dtype=np.int64)
    holder = _codes(lines["assembly"], code)
    known = assembly_names(shop)
    child = np.array([code[p] if p in known else -1 for p in lines["part"]], dtype=np.int64)
    line_on = within[holder] & holding(lines["when"], variants, "lines", lines["line"])
    line_on &= np.vstack([joint_on, np.ones((1, len(variants)), dtype=bool)])[joint]
    places = np.append(joints["count"].to_numpy(dtype=np.int64), 1)[joint]
    each = product(lines["quantity"].to_numpy(dtype=np.int64), places)
    tops = np.array([code[a] for a in variants.assembly], dtype=np.int64)
    number, depth = _numbers(names, tops, (holder, child, each), line_on)
    rule_at = _codes(rules["assembly"], code)
    rule_on = (number[rule_at] > 0) & holding(rules["when"], variants, "rules", rules["rule"])
    return _Sheets(
        names,
        lines,
        joints,
        rules,
        holder,
        joint,
        child,
        places,
        line_on & (number[holder] > 0),
        joint_on & (number[joint_at] > 0),
        rule_on,
        number,
        depth,
    )


def _below(frame: pd.DataFrame, code: dict[str, int]) -> pd.DataFrame:
    """Return the rows of some assemblies."""
    return frame[frame["assembly"].isin(list(code))].reset_index(drop=True)


def _codes(names: pd.Series, code: dict[str, int]) -> Whole:
    return np.array([code[n] for n in names], dtype=np.int64)


def _numbers(
    names: tuple[str, ...], tops: Whole, lines: tuple[Whole, Whole, Whole], on: Flags
) -> tuple[Whole, Whole]:
    """Count each assembly in one build of each variant, and its level there.

    The variants are laid side by side as one bill without edges between them, so that each may
    hold other lines and all are exploded in one go.
    """
    holder, child, each = lines
    width, count = len(names), len(tops)
    line, variant = np.nonzero(on & (child >= 0)[:, None])
    shift = variant * width
    up, down = holder[line] + shift, child[line] + shift
    demand = np.zeros((width * count, 1), dtype=np.int64)
    demand[tops + np.arange(count) * width] = 1
    labels = names * count
    total = total_requirements(up, down, each[line], demand, labels, "assemblies")
    depth = levels(up, down, width * count, labels, "assemblies")
    return total.reshape(count, width).T, depth.reshape(count, width).T


def _required(shop: Shop, sheets: _Sheets) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the required rows and the left-overs of each variant, in order of work."""
    lines = sheets.lines
    place, deferred = _stages(shop, sheets)
    line, variant = np.nonzero(sheets.line_on & (sheets.child < 0)[:, None])
    at = sheets.holder[line]
    order = np.lexsort((line, place[line], at, -sheets.depth[at, variant], variant))
    line, variant, at = line[order], variant[order], at[order]
    quantity = product(
        lines["quantity"].to_numpy(dtype=np.int64)[line],
        sheets.places[line],
        _closings(shop, sheets)[line],
        sheets.number[at, variant],
    )
    part = lines["part"].to_numpy(dtype=object)[line]
    covered = cover(shop["sets"], variant, part, quantity, deferred[line])
    rows = line[covered.row]
    kept = ("assembly", "stage", "joint", "role", "part", "line", "source", "note")
    out = {c: lines[c].array.take(rows) for c in kept}
    frame = pd.DataFrame(
        {
            "variant": variant[covered.row],
            "required": 0,
            **out,
            "quantity": covered.quantity,
            "from_set": pd.array(covered.from_set, dtype="str"),
            "deferred": deferred[rows],
        }
    )
    return frame, covered.left_overs


def _stages(shop: Shop, sheets: _Sheets) -> tuple[Whole, Flags]:
    """Return, for each line, its stage's position in the assembly's work and whether deferred."""
    stages = shop["stages"]
    place: dict[tuple[str, str], int] = {}
    for assembly in sheets.assemblies:
        place |= {(assembly, s): n for n, s in enumerate(stage_order(stages, assembly))}
    later = stages[stages["deferred"]]
    late = set(zip(later["assembly"], later["stage"], strict=True))
    keys = list(zip(sheets.lines["assembly"], sheets.lines["stage"], strict=True))
    return (
        np.array([place.get(key, len(place)) for key in keys], dtype=np.int64),
        np.array([key in late for key in keys], dtype=bool),
    )


def _closings(shop: Shop, sheets: _Sheets) -> Whole:
    """Return how many of a part each alike place uses up: one, or one at each closing.

    A joint is closed at least once, whatever the sheet says: a part must not vanish.
    """
    parts = shop["parts"]
    never = parts.loc[parts["single_use"] == SingleUse.NEVER, "part"]
    once = sheets.lines["part"].isin(never.tolist()).to_numpy() & (sheets.joint >= 0)
    closed = np.append(sheets.joints["disturbances"].to_numpy(dtype=np.int64), 1)[sheets.joint]
    return np.where(once, np.maximum(closed, 1), 1)


def _joints(sheets: _Sheets) -> pd.DataFrame:
    """Return the joints that each variant closes."""
    row, variant = np.nonzero(sheets.joint_on)
    joints = sheets.joints.iloc[row].reset_index(drop=True)
    code = {name: n for n, name in enumerate(sheets.assemblies)}
    at = _codes(joints["assembly"], code)
    each = joints["count"].to_numpy(dtype=np.int64)
    return joints.assign(variant=variant, count=product(each, sheets.number[at, variant]))


def _built_in(sheets: _Sheets) -> pd.DataFrame:
    """Return which assembly goes into which stage of which other, in each variant."""
    line, variant = np.nonzero(sheets.line_on & (sheets.child >= 0)[:, None])
    rows = sheets.lines.iloc[line].reset_index(drop=True)
    each = product(rows["quantity"].to_numpy(dtype=np.int64), sheets.places[line])
    frame = rows.assign(variant=variant, quantity=each, child=rows["part"])
    keys = ["variant", "assembly", "stage", "child"]
    return frame.groupby(keys, sort=False, as_index=False)["quantity"].sum()
