"""The bill as a graph: the order of stages, and everything below an assembly to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kitting.bill.totals import levels
from kitting.errors import UnknownName
from kitting.terms.conditions import split_list
from kitting.terms.nearest import nearest

if TYPE_CHECKING:
    from collections.abc import Iterable

    import networkx as nx
    import pandas as pd

    from kitting.tables.shop import Shop


def stage_orders(stages: pd.DataFrame, assemblies: Iterable[str]) -> dict[str, list[str]]:
    """Return the stages of assemblies in an order of work, as in the sheet where free.

    Parameters
    ----------
    stages
        Table ``stages``.
    assemblies
        The assemblies, each of which the answer holds.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    """
    out: dict[str, list[str]] = {assembly: [] for assembly in assemblies}
    wanted = stages[["assembly", "stage", "after"]].to_numpy(dtype=object).tolist()
    rows = [row for row in wanted if row[0] in out]
    number = {(assembly, stage): n for n, (assembly, stage, _) in enumerate(rows)}
    edges = [
        (number[assembly, before], number[assembly, stage])
        for assembly, stage, after in rows
        for before in split_list(after)
        if (assembly, before) in number
    ]
    pairs = np.array(edges, dtype=np.int64).reshape(-1, 2)
    level = levels(pairs[:, 0], pairs[:, 1], len(rows), [stage for _, stage, _ in rows], "stages")
    for n in np.argsort(level, kind="stable").tolist():
        out[rows[n][0]].append(rows[n][1])
    return out


def graph(shop: Shop, assembly: str) -> nx.DiGraph:
    """Return everything below an assembly as a graph, whatever the options.

    Nodes are ``(kind, ...)`` tuples: ``("assembly", name)``, ``("stage", assembly, stage)``,
    ``("joint", assembly, joint)`` and ``("part", part)``, with attributes ``kind`` and ``name``
    (joints also ``joint_kind``). Edges carry ``relation`` (``holds``, ``after``, ``contains``)
    and ``quantity``: stages of one assembly, alike places of a joint, base units of a part in one
    place, or of a part in one set; several lines for one part add up, and ``when`` lists their
    conditions.

    Parameters
    ----------
    shop
        The shop.
    assembly
        Name of the assembly at the top.

    Raises
    ------
    UnknownName
        When no sheet describes the assembly.
    """
    import networkx as nx

    known = assembly_names(shop)
    if assembly not in known:
        raise UnknownName(f'no assembly is called "{assembly}"{nearest(assembly, known)}')
    out = nx.DiGraph()
    todo, seen = [assembly], {assembly}
    while todo:
        top = todo.pop()
        for child in _add_assembly(out, shop, top, known):
            if child not in seen:
                seen.add(child)
                todo.append(child)
    _add_contents(out, shop)
    return out


def assembly_names(shop: Shop) -> dict[str, None]:
    """Return the names that have rows in stages, lines or joints, in order of appearance."""
    tables = ("stages", "joints", "lines")
    return dict.fromkeys(n for t in tables for n in shop[t]["assembly"].tolist())


def _add_assembly(out: nx.DiGraph, shop: Shop, top: str, known: dict[str, None]) -> list[str]:
    """Add one assembly's stages, joints and lines; return the assemblies it builds in."""
    root = ("assembly", top)
    out.add_node(root, kind="assembly", name=top)
    stages, joints, lines = (
        shop[t][shop[t]["assembly"] == top] for t in ("stages", "joints", "lines")
    )
    for row in stages.itertuples():
        node = ("stage", top, row.stage)
        out.add_node(node, kind="stage", name=row.name)
        _tie(out, root, node, 1)
        for before in split_list(row.after):
            out.add_edge(("stage", top, before), node, relation="after", quantity=0, when=())
    for row in joints.itertuples():
        node = ("joint", top, row.joint)
        out.add_node(node, kind="joint", name=row.joint, joint_kind=row.kind)
        _tie(out, _stage(out, top, row.stage), node, int(row.count), row.when)
    children = []
    for row in lines.itertuples():
        kind = "assembly" if row.part in known else "part"
        out.add_node((kind, row.part), kind=kind, name=row.part)
        joint = ("joint", top, row.joint)
        holder = joint if joint in out else _stage(out, top, row.stage)
        _tie(out, holder, (kind, row.part), int(row.quantity), row.when)
        if kind == "assembly":
            children.append(str(row.part))
    return children


def _stage(out: nx.DiGraph, top: str, stage: str) -> tuple[str, ...]:
    """Return the node of a stage, added when the sheet of stages does not tell of it."""
    node = ("stage", top, stage)
    if node not in out:
        out.add_node(node, kind="stage", name=stage)
        _tie(out, ("assembly", top), node, 1)
    return node


def _tie(
    out: nx.DiGraph,
    holder: tuple[str, ...],
    held: tuple[str, ...],
    quantity: int,
    when: str = "",
) -> None:
    """Add an edge, or its quantity to the one that is there."""
    before = out.get_edge_data(holder, held, {"quantity": 0, "when": ()})
    out.add_edge(
        holder,
        held,
        relation="holds",
        quantity=before["quantity"] + quantity,
        when=(*before["when"], when) if when else before["when"],
    )


def _add_contents(out: nx.DiGraph, shop: Shop) -> None:
    """Add the contents of every set that the graph holds, sets in sets too."""
    sets = shop["sets"]
    todo = [node[1] for node, kind in out.nodes(data="kind") if kind == "part"]
    seen = set(todo)
    while todo:
        top = todo.pop()
        for row in sets[sets["set"] == top].itertuples():
            node = ("part", row.part)
            if row.part not in seen:
                seen.add(row.part)
                todo.append(row.part)
                out.add_node(node, kind="part", name=row.part)
            out.add_edge(
                ("part", top), node, relation="contains", quantity=int(row.quantity), fits=row.fits
            )
