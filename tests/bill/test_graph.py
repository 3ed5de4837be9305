"""The graph of an assembly, and the order of stages."""

from __future__ import annotations

from typing import TYPE_CHECKING

import networkx as nx
import pytest
from bill.sheets import shop

from kitting.bill import graph
from kitting.bill.graph import stage_orders
from kitting.errors import LoopError, UnknownName

if TYPE_CHECKING:
    from kitting.tables.shop import Shop


@pytest.fixture
def engine() -> Shop:
    return shop(
        stages="""
            assembly | stage | name       | after
            engine   | close | close up   | open
            engine   | open  | strip      |
            pump     | p     | build pump |
            other    | o     | other      |
        """,
        joints="""
            assembly | stage | joint | kind   | count
            engine   | close | head  | flange | 2
        """,
        lines="""
            assembly | stage | joint | part  | quantity | when
            engine   | close | head  | BOLT  | 5        |
            engine   | close | head  | BOLT  | 1        | size=large
            engine   | close |       | pump  | 2        |
            engine   | close |       | SET   | 1        |
            pump     | p     |       | SCREW | 6        |
            other    | o     |       | SCREW | 1        |
        """,
        sets="""
            set   | part  | quantity | fits
            SET   | INNER | 1        | needed
            INNER | RING  | 3        | do not fit
        """,
    )


def test_every_kind_of_thing_below_the_assembly_is_a_node(engine: Shop) -> None:
    """Assemblies, stages, joints and parts, sets opened; what is not below is not there."""
    found = graph(engine, "engine")
    kinds: dict[str, set[str]] = {}
    for node, kind in found.nodes(data="kind"):
        assert node[0] == kind
        kinds.setdefault(kind, set()).add(node[-1])
    assert kinds == {
        "assembly": {"engine", "pump"},
        "stage": {"open", "close", "p"},
        "joint": {"head"},
        "part": {"BOLT", "SET", "INNER", "RING", "SCREW"},
    }
    assert nx.is_directed_acyclic_graph(found)
    assert set(nx.descendants(found, ("assembly", "engine"))) == set(found) - {
        ("assembly", "engine")
    }


def test_edges_carry_quantities(engine: Shop) -> None:
    """Places of a joint, parts in a place (two lines added up), parts in a set."""
    found = graph(engine, "engine")
    head = ("joint", "engine", "head")
    assert found.edges[("stage", "engine", "close"), head]["quantity"] == 2
    bolts = found.edges[head, ("part", "BOLT")]
    assert (bolts["quantity"], bolts["when"]) == (6, ("size=large",))
    assert found.edges[("stage", "engine", "close"), ("assembly", "pump")]["quantity"] == 2
    ring = found.edges[("part", "INNER"), ("part", "RING")]
    assert (ring["relation"], ring["quantity"], ring["fits"]) == ("contains", 3, "do not fit")
    stages = found.edges[("stage", "engine", "open"), ("stage", "engine", "close")]
    assert stages["relation"] == "after"


def test_a_stage_that_only_lines_name_is_there_too() -> None:
    """A sheet of lines alone is enough to draw from; what two rows share is drawn once."""
    lines = """
        assembly | stage | part
        a        | s     | P
        a        | s     | b
        b        | t     | P
        a        | s     | b
    """
    found = graph(shop(lines=lines), "a")
    assert found.nodes[("stage", "a", "s")]["kind"] == "stage"
    assert found.edges[("stage", "a", "s"), ("assembly", "b")]["quantity"] == 2
    assert set(found.predecessors(("part", "P"))) == {("stage", "a", "s"), ("stage", "b", "t")}


def test_loops_stay_in_the_graph_to_be_looked_at(engine: Shop) -> None:
    """The graph shows a pump that contains its engine; networkx names the circle."""
    lines = engine["lines"].copy()
    lines.loc[lines["part"] == "SCREW", "part"] = "engine"
    found = graph(engine.replaced(lines=lines), "engine")
    circle = {node for edge in nx.find_cycle(found) for node in edge[:2]}
    assert ("assembly", "pump") in circle


def test_an_unknown_assembly_is_refused_with_the_nearest(engine: Shop) -> None:
    """A slip of the pen is answered with what is there."""
    with pytest.raises(UnknownName, match='"engin"; nearest: engine'):
        graph(engine, "engin")


def test_stages_follow_what_they_come_after() -> None:
    """As in the sheet where nothing else is said; unknown names are passed over."""
    stages = shop(
        stages="""
            assembly | stage | after
            a        | 4     | 2; 3
            a        | 1     |
            a        | 3     | 1
            a        | 2     | 1, gone
            b        | 1     |
        """
    )["stages"]
    assert stage_orders(stages, ["a", "b", "c"]) == {
        "a": ["1", "3", "2", "4"],
        "b": ["1"],
        "c": [],
    }


def test_a_circle_of_stages_is_named_in_its_assembly_only() -> None:
    """Stages of an assembly that nobody asks about do no harm."""
    stages = shop(stages="assembly | stage | after\na | 1 | 2\na | 2 | 1\nb | 1 |")["stages"]
    with pytest.raises(LoopError, match="stages go round in a circle: 1 -> 2 -> 1"):
        stage_orders(stages, ["a"])
    assert stage_orders(stages, ["b"]) == {"b": ["1"]}
