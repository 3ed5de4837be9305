"""Things that contain or follow themselves: assemblies, sets and stages."""

from __future__ import annotations

from graphlib import CycleError, TopologicalSorter
from typing import TYPE_CHECKING

from kitting.terms.conditions import split_list
from kitting.terms.words import Level, StandInKind

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.reading.view import View

MOST_LOOPS = 10


def check_loops(view: View) -> None:
    """Name every loop in full, once, at a row that is part of it."""
    if view.touched("lines", "stages", "joints") and view.judged("lines", "stages", "joints"):
        lines = view.rows("lines")
        known = set(view.assemblies)
        edges = [
            (parent, child, i)
            for i, (parent, child) in enumerate(zip(lines["assembly"], lines["part"], strict=True))
            if child in known
        ]
        _tell(view, "lines", "part", edges, "assemblies are built into each other in a circle")
    if "sets" in view.sheets:
        sets = view.rows("sets")
        edges = [(s, p, i) for i, (s, p) in enumerate(zip(sets["set"], sets["part"], strict=True))]
        _tell(view, "sets", "part", edges, "sets contain each other in a circle")
    if "stand_ins" in view.sheets:
        _check_stand_ins(view)
    if "stages" in view.sheets:
        _check_stages(view)


def _check_stand_ins(view: View) -> None:
    rows = view.rows("stand_ins")
    columns = zip(rows["part"], rows["stand_in"], rows["kind"], strict=True)
    edges = [
        (part, stand_in, i)
        for i, (part, stand_in, kind) in enumerate(columns)
        if kind == StandInKind.SUPERSEDES or part == stand_in
    ]
    what = "parts serve for each other in a circle (if each serves for the other, it is alternate)"
    _tell(view, "stand_ins", "stand_in", edges, what, Level.WARN)


def _check_stages(view: View) -> None:
    rows = view.rows("stages")
    edges: dict[str, list[tuple[str, str, int]]] = {}
    columns = zip(rows["assembly"], rows["stage"], rows["after"], strict=True)
    for i, (assembly, stage, after) in enumerate(columns):
        for first in split_list(after):
            edges.setdefault(assembly, []).append((stage, first, i))
    for assembly, its_edges in edges.items():
        what = f'stages of "{assembly}" wait for each other in a circle'
        _tell(view, "stages", "after", its_edges, what)


def _tell(
    view: View,
    sheet: str,
    column: str,
    edges: Iterable[tuple[str, str, int]],
    what: str,
    level: Level = Level.STOP,
) -> None:
    places = {(a, b): i for a, b, i in reversed(list(edges))}
    faults: dict[str, list[int]] = {}
    for loop in find_loops(places):
        message = f"{what}: {' -> '.join(loop)}; take one of them out"
        faults.setdefault(message, []).append(places[loop[0], loop[1]])
    view.tell(sheet, column, faults, level)


def find_loops(edges: Iterable[tuple[str, str]]) -> list[list[str]]:
    """Return loops, each from its least name with that name repeated at the end.

    Once a loop is found its first edge is taken out and the search goes on, so that every edge
    left over lies on no loop; at most ``MOST_LOOPS`` are returned.
    """
    graph: dict[str, list[str]] = {}
    for parent, child in sorted(edges):
        graph.setdefault(parent, []).append(child)
    loops: list[list[str]] = []
    while len(loops) < MOST_LOOPS:
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as fault:
            ring = list(reversed(fault.args[1]))[:-1]
            start = ring.index(min(ring))
            loop = [*ring[start:], *ring[:start], ring[start]]
            loops.append(loop)
            graph[loop[0]].remove(loop[1])
        else:
            break
    return loops
