"""From builds to everything they need: options, assemblies in assemblies, rules and sets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.bill.columns import columns_of, spread, text
from kitting.bill.graph import assembly_names, stage_orders
from kitting.bill.options import Variants, holding, resolve
from kitting.bill.rules import judge, rule_lines
from kitting.bill.sets import cover
from kitting.bill.totals import levels, product, total_requirements
from kitting.tables.flow import BUILD_JOINTS, BUILT_IN, CAUTIONS, LEFT_OVERS, REQUIRED
from kitting.terms.words import LENT_ROLES, SingleUse

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from kitting.bill.columns import Columns
    from kitting.tables.shop import Shop
    from kitting.terms.findings import Finding

    Whole = NDArray[np.int64]
    Flags = NDArray[np.bool_]

_JOINT = ("assembly", "stage", "joint", "kind", "joins", "count", "disturbances", "when")
_LINE = (
    *("line", "assembly", "stage", "joint", "role", "part", "quantity", "when"),
    *("source", "note"),
)
_BUILT_IN = ("assembly", "stage", "child")
_RULE = (
    *("rule", "assembly", "when", "needs_part", "quantity", "stage", "needs_option", "forbids"),
    *("caution", "source"),
)


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

    Lines of rules stand after those of the bill. ``holder`` and ``joint_at`` are the assemblies
    of lines and joints, ``joint`` is the row of a line's joint and -1 without one, ``child`` the
    assembly that it builds in and -1 for a part, ``places`` the alike places. ``line_on``,
    ``joint_on`` and ``rule_on`` are rows x variants; ``number`` counts each assembly in a build
    and ``depth`` is its level there, assemblies x variants.
    """

    assemblies: dict[str, int]
    lines: Columns
    joints: Columns
    rules: Columns
    holder: Whole
    joint_at: Whole
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
    orders = stage_orders(shop["stages"], dict.fromkeys(a for r in variants.reach for a in r))
    sheets = _sheets(shop, variants, orders)
    required, left_overs = _required(shop, sheets, orders)
    cautions = judge(
        sheets.rules,
        sheets.rule_on,
        lambda assembly, variant: bool(sheets.number[sheets.assemblies[assembly], variant]),
        variants,
        (sheets.lines, sheets.line_on),
    )
    names, of_build = builds["build"], variants.of_build
    return Bills(
        choices,
        spread(BUILD_JOINTS, _joints(sheets), names, of_build),
        spread(REQUIRED, required, names, of_build),
        spread(LEFT_OVERS, left_overs, names, of_build),
        spread(CAUTIONS, cautions, names, of_build),
        spread(BUILT_IN, _built_in(sheets), names, of_build),
        tuple(findings),
    )


def _sheets(shop: Shop, variants: Variants, orders: dict[str, list[str]]) -> _Sheets:
    """Gather the rows below the variants' assemblies and settle which hold."""
    code = {name: n for n, name in enumerate(orders)}
    within = np.zeros((len(code), len(variants)), dtype=bool)
    for n, reach in enumerate(variants.reach):
        within[[code[a] for a in reach], n] = True
    joints = columns_of(shop["joints"], _JOINT, code)
    rules = columns_of(shop["rules"], _RULE, code)
    rule_on = holding(rules["when"], variants, "rules", rules["rule"])
    bill, pulled = columns_of(shop["lines"], _LINE, code), rule_lines(rules, orders)
    lines = {c: np.concatenate([bill[c], pulled[c]]) for c in _LINE}
    joint_at, holder, rule_at = (_codes(t["assembly"], code) for t in (joints, lines, rules))
    joint_on = within[joint_at] & holding(joints["when"], variants, "joints", joints["joint"])
    pairs = zip(joints["assembly"], joints["joint"], strict=True)
    row_of = {pair: n for n, pair in enumerate(pairs)}
    asked = zip(lines["assembly"], lines["joint"], strict=True)
    joint = np.array([row_of.get(pair, -1) for pair in asked], dtype=np.int64)
    known = assembly_names(shop)
    child = np.array([code[p] if p in known else -1 for p in lines["part"]], dtype=np.int64)
    line_on = within[holder] & holding(lines["when"], variants, "lines", lines["line"])
    line_on &= np.vstack([joint_on, np.ones((1, len(variants)), dtype=bool)])[joint]
    places = np.append(joints["count"], 1)[joint]
    each = product(lines["quantity"], places)
    tops = _codes(text(list(variants.assembly)), code)
    number, depth = _numbers(tuple(code), tops, (holder, child, each), line_on)
    return _Sheets(
        code,
        lines,
        joints,
        rules,
        holder,
        joint_at,
        joint,
        child,
        places,
        line_on & (number[holder] > 0),
        joint_on & (number[joint_at] > 0),
        rule_on & (number[rule_at] > 0),
        number,
        depth,
    )


def _codes(names: NDArray[np.object_], code: dict[str, int]) -> Whole:
    return np.array([code[n] for n in names.tolist()], dtype=np.int64)


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


def _required(shop: Shop, sheets: _Sheets, orders: dict[str, list[str]]) -> tuple[Columns, Columns]:
    """Return the required rows and the left-overs of each variant, in order of work."""
    lines = sheets.lines
    place, deferred = _stages(shop, sheets, orders)
    line, variant = np.nonzero(sheets.line_on & (sheets.child < 0)[:, None])
    at = sheets.holder[line]
    order = np.lexsort((line, place[line], at, -sheets.depth[at, variant], variant))
    line, variant, at = line[order], variant[order], at[order]
    # What is lent serves every alike place, closing and assembly in turn.
    lent = np.isin(lines["role"].astype(str), [str(r) for r in LENT_ROLES])[line]
    quantity = product(
        lines["quantity"][line],
        np.where(lent, 1, sheets.places[line]),
        np.where(lent, 1, _closings(shop, sheets)[line]),
        np.where(lent, 1, sheets.number[at, variant]),
    )
    covered = cover(shop["sets"], variant, lines["part"][line], quantity, deferred[line])
    rows = line[covered.row]
    kept = ("assembly", "stage", "joint", "role", "part", "line", "source", "note")
    required = {c: lines[c][rows] for c in kept} | {
        "variant": variant[covered.row],
        "quantity": covered.quantity,
        "from_set": covered.from_set,
        "deferred": deferred[rows],
    }
    return required, covered.left_overs


def _stages(shop: Shop, sheets: _Sheets, orders: dict[str, list[str]]) -> tuple[Whole, Flags]:
    """Return, for each line, its stage's position in the assembly's work and whether deferred."""
    place = {(a, s): n for a, order in orders.items() for n, s in enumerate(order)}
    stages = columns_of(shop["stages"], ("assembly", "stage", "deferred"))
    late = stages["deferred"]
    later = set(zip(stages["assembly"][late], stages["stage"][late], strict=True))
    keys = list(zip(sheets.lines["assembly"], sheets.lines["stage"], strict=True))
    return (
        np.array([place.get(key, len(place)) for key in keys], dtype=np.int64),
        np.array([key in later for key in keys], dtype=bool),
    )


def _closings(shop: Shop, sheets: _Sheets) -> Whole:
    """Return how many of a part each alike place uses up: one, or one at each closing.

    A joint is closed at least once, whatever the sheet says: a part must not vanish.
    """
    parts = columns_of(shop["parts"], ("part", "single_use"))
    never = set(parts["part"][parts["single_use"] == SingleUse.NEVER].tolist())
    once = np.array([p in never for p in sheets.lines["part"]], dtype=bool) & (sheets.joint >= 0)
    closed = np.append(sheets.joints["disturbances"], 1)[sheets.joint]
    return np.where(once, np.maximum(closed, 1), 1)


def _joints(sheets: _Sheets) -> Columns:
    """Return the joints that each variant closes."""
    row, variant = np.nonzero(sheets.joint_on)
    joints = {c: values[row] for c, values in sheets.joints.items()}
    number = sheets.number[sheets.joint_at[row], variant]
    return joints | {"variant": variant, "count": product(joints["count"], number)}


def _built_in(sheets: _Sheets) -> Columns:
    """Return which assembly goes into which stage of which other, in each variant."""
    line, variant = np.nonzero(sheets.line_on & (sheets.child >= 0)[:, None])
    each = product(sheets.lines["quantity"][line], sheets.places[line])
    names = (sheets.lines[c][line].tolist() for c in ("assembly", "stage", "part"))
    total: dict[tuple[int, str, str, str], int] = {}
    for v, a, s, part, quantity in zip(variant.tolist(), *names, each.tolist(), strict=True):
        total[v, a, s, part] = total.get((v, a, s, part), 0) + quantity
    out: Columns = {"variant": np.array([key[0] for key in total], dtype=np.int64)}
    out |= {c: text([str(key[n]) for key in total]) for n, c in enumerate(_BUILT_IN, start=1)}
    return out | {"quantity": np.array(list(total.values()), dtype=np.int64)}
