"""Laws of the bill: the explosion is the inverse matrix, and sets neither make nor lose parts."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.bill import explode, total_requirements
from kitting.bill.sets import cover
from kitting.tables.shop import BUILDS, LINES, SETS, empty_shop


@st.composite
def bills(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return a bill without loops: parents, children, quantities, demand."""
    nodes = draw(st.integers(1, 12))
    shuffled = np.array(draw(st.permutations(range(nodes))))
    pairs = st.tuples(st.integers(0, nodes - 1), st.integers(0, nodes - 1), st.integers(0, 4))
    rows = [row for row in draw(st.lists(pairs, max_size=40)) if row[0] < row[1]]
    table = np.array(rows, dtype=np.int64).reshape(-1, 3)
    builds = draw(st.integers(1, 4))
    cells = draw(st.lists(st.integers(0, 9), min_size=nodes * builds, max_size=nodes * builds))
    demand = np.array(cells, dtype=np.int64).reshape(nodes, builds)
    return shuffled[table[:, 0]], shuffled[table[:, 1]], table[:, 2], demand


@given(bills())
def test_total_requirements_are_the_inverse_times_demand(
    bill: tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray],
) -> None:
    """Equal to (I - A)^-1 d, here summed as I + A + A^2 + ... in whole numbers of any size."""
    up, down, quantity, demand = bill
    nodes = len(demand)
    matrix = np.zeros((nodes, nodes), dtype=object)
    for parent, child, each in zip(up, down, quantity, strict=True):
        matrix[child, parent] += int(each)
    expected, power = demand.astype(object), demand.astype(object)
    for _ in range(nodes):
        power = matrix @ power
        expected = expected + power
    assert (total_requirements(up, down, quantity, demand) == expected).all()
    inverse = np.linalg.solve(np.eye(nodes) - matrix.astype(float), demand)
    assert np.allclose(inverse, expected.astype(float), rtol=1e-9, atol=1e-6)


SET_ROWS = st.lists(
    st.tuples(
        st.integers(0, 5),
        st.integers(0, 9),
        st.integers(1, 4),
        st.sampled_from(["needed", "needed", "left over", "do not fit"]),
    ),
    max_size=14,
    unique_by=lambda row: (row[0], row[1], row[3]),
)


def sheet(rows: list[tuple[int, int, int, str]]) -> pd.DataFrame:
    """Return a sheet of sets in which a set only contains names of larger numbers."""
    kept = [(f"P{s}", f"P{p}", q, f, "") for s, p, q, f in rows if s < p]
    return SETS.conform(pd.DataFrame(kept, columns=SETS.names))


REQUIRED_ROWS = st.lists(
    st.tuples(st.integers(0, 2), st.integers(0, 9), st.integers(0, 6), st.booleans()), max_size=16
)


@settings(max_examples=200, deadline=None)
@given(SET_ROWS, REQUIRED_ROWS)
def test_sets_conserve_every_quantity(
    contents: list[tuple[int, int, int, str]], rows: list[tuple[int, int, int, bool]]
) -> None:
    """Pieces add up to rows; what a set brings is either used or left over, to the piece."""
    sets = sheet(contents)
    variant = np.array([r[0] for r in rows], dtype=np.int64)
    part = np.array([f"P{r[1]}" for r in rows], dtype=object)
    quantity = np.array([r[2] for r in rows], dtype=np.int64)
    last = np.array([r[3] for r in rows], dtype=bool)
    found = cover(sets, variant, part, quantity, last)

    back = np.zeros(len(rows), dtype=np.int64)
    np.add.at(back, found.row, found.quantity)
    assert (back == quantity).all()
    assert set(found.row.tolist()) == set(range(len(rows)))
    assert ((found.quantity > 0) | (quantity[found.row] == 0)).all()

    held = sets.to_numpy().tolist()
    is_set = {holder for holder, *_ in held}
    alone = found.from_set == ""
    bought: Counter[tuple[int, str]] = Counter()
    used: Counter[tuple[int, str, str]] = Counter()
    for row, size, source in zip(found.row, found.quantity, found.from_set, strict=True):
        if source:
            used[int(variant[row]), source, part[row]] += int(size)
        elif part[row] in is_set:
            bought[int(variant[row]), part[row]] += int(size)
    brought: Counter[tuple[int, str, str]] = Counter()
    never: Counter[tuple[int, str, str]] = Counter()

    def open_set(v: int, top: str, name: str, number: int, fits: bool) -> None:
        for holder, content, each, how, _ in held:
            if holder == name:
                inside = fits and how == "needed"
                (brought if inside else never)[v, top, content] += number * each
                open_set(v, top, content, number * each, inside)

    for (v, name), number in bought.items():
        open_set(v, name, name, number, True)
    spare = {
        (row.variant, row.set, row.part, row.fits): row.quantity
        for row in pd.DataFrame(found.left_overs).itertuples()
    }
    assert len(spare) == len(found.left_overs["part"])
    for key, number in brought.items():
        assert used[key] <= number
        if key[2] not in is_set:
            assert used[key] + spare.get((*key, "needed"), 0) == number
    assert set(+used) <= set(brought)
    for key, number in never.items():
        if key[2] not in is_set:
            odd = spare.get((*key, "left over"), 0) + spare.get((*key, "do not fit"), 0)
            assert odd == number
    supplied: Counter[tuple[int, str]] = Counter()
    for (v, _, name), number in brought.items():
        supplied[v, name] += number
    wanted: Counter[tuple[int, str]] = Counter()
    for v, name, number, _ in rows:
        wanted[v, f"P{name}"] += number
    left: Counter[tuple[int, str]] = Counter()
    for row in np.flatnonzero(alone):
        left[int(variant[found.row[row]]), part[found.row[row]]] += int(found.quantity[row])
    for key, number in wanted.items():
        assert left[key] == max(0, number - supplied[key])


EMPTY = empty_shop()


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 4), st.integers(0, 7), st.integers(1, 3)), min_size=1, max_size=20
    ),
    st.integers(0, 4),
)
def test_parts_of_nested_assemblies_follow_a_walk_of_the_tree(
    rows: list[tuple[int, int, int]], top: int
) -> None:
    """What a build requires equals what a person would count, walking down every branch."""
    lines = [(f"A{a}", f"A{p}" if p <= 4 else f"N{p}", q) for a, p, q in rows if a < p]
    frame = pd.DataFrame(lines, columns=["assembly", "part", "quantity"]).assign(
        line=range(1, len(lines) + 1), stage="s", joint="", role="", unit="", when="", source=""
    )
    build = {**dict.fromkeys(BUILDS.names, ""), "build": "B", "assembly": f"A{top}"}
    build |= {"priority": 1, "start": pd.NaT, "finished": pd.NaT}
    shop = EMPTY.replaced(
        lines=LINES.conform(frame.assign(note="")), builds=BUILDS.conform(pd.DataFrame([build]))
    )
    expected: Counter[str] = Counter()
    known = {a for a, _, _ in lines}

    def walk(assembly: str, number: int) -> None:
        for holder, part, each in lines:
            if holder == assembly and part in known:
                walk(part, number * each)
            elif holder == assembly:
                expected[part] += number * each

    walk(f"A{top}", 1)
    required = explode(shop, shop["builds"]).required
    assert required.groupby("part")["quantity"].sum().to_dict() == dict(expected)
