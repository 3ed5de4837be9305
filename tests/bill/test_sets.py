"""Sets in a build: what they cover, where they are cut, what they leave over."""

from __future__ import annotations

import pytest
from bill.sheets import shop, table

from kitting.bill import Bills, explode
from kitting.errors import LoopError

STAGES = """
    assembly | stage | after | deferred
    engine   | last  | first |
    engine   | first |       |
    engine   | away  |       | yes
"""
COLUMNS = ("stage", "part", "quantity", "from_set")
LEFT = ("set", "part", "quantity", "fits")


def bills(sets: str, lines: str) -> Bills:
    """Explode one build of a sheet of sets and lines `stage | part | quantity`."""
    rows = [f"engine | {row.strip()}" for row in lines.strip().splitlines()]
    of = shop(
        stages=STAGES,
        sets="set | part | quantity | fits\n" + sets.strip(),
        lines="assembly | stage | part | quantity\n" + "\n".join(rows),
        builds="build | assembly\nB1 | engine",
    )
    return explode(of, of["builds"])


def test_a_set_covers_what_it_contains_and_is_bought_itself() -> None:
    """The gasket comes with the set; the set's own row is bought; the bolt is no content."""
    found = bills(
        "SET | GASKET | 1 | needed", "first | SET | 1\n first | GASKET | 1\n first | BOLT | 4"
    )
    assert table(found.required, *COLUMNS) == [
        ("first", "SET", 1, ""),
        ("first", "GASKET", 1, "SET"),
        ("first", "BOLT", 4, ""),
    ]
    assert found.left_overs.empty


def test_a_row_that_is_covered_in_part_is_split_in_two() -> None:
    """Six rings of eight come with the set, two are bought; both rows are of the same line."""
    found = bills("SET | RING | 6 | needed", "first | SET | 1\n last | RING | 8")
    assert table(found.required, *COLUMNS, "line", "required") == [
        ("first", "SET", 1, "", 1, 1),
        ("last", "RING", 6, "SET", 2, 2),
        ("last", "RING", 2, "", 2, 3),
    ]


def test_contents_go_to_the_first_stage_first_and_to_deferred_ones_last() -> None:
    """In order of work, whatever the order of the sheet."""
    found = bills(
        "SET | RING | 5 | needed",
        "away | RING | 2\n last | RING | 3\n first | RING | 3\n first | SET | 1",
    )
    rings = found.required[found.required["part"] == "RING"]
    assert table(rings, "stage", "quantity", "from_set") == [
        ("first", 3, "SET"),
        ("away", 2, ""),
        ("last", 2, "SET"),
        ("last", 1, ""),
    ]


def test_more_than_the_bill_asks_is_left_over() -> None:
    """Surplus of needed contents and expected surplus both stand there, each under its word."""
    found = bills(
        "SET | RING | 6 | needed\nSET | CLIP | 2 | left over\nSET | OLD | 1 | do not fit",
        "first | SET | 2\n first | RING | 7",
    )
    assert table(found.left_overs, *LEFT) == [
        ("SET", "RING", 5, "needed"),
        ("SET", "CLIP", 4, "left over"),
        ("SET", "OLD", 2, "do not fit"),
    ]


@pytest.mark.parametrize("fits", ["left over", "do not fit"])
def test_what_does_not_fit_or_is_surplus_never_covers(fits: str) -> None:
    """The part is bought beside the set, and the set's own one is left over."""
    found = bills(f"SET | RING | 6 | {fits}", "first | SET | 1\n first | RING | 2")
    assert ("first", "RING", 2, "") in table(found.required, *COLUMNS)
    assert table(found.left_overs, *LEFT) == [("SET", "RING", 6, fits)]


def test_one_content_may_be_needed_in_part() -> None:
    """Four seals of a set are needed, one more of the same number must not be fitted."""
    found = bills(
        "SET | SEAL | 4 | needed\nSET | SEAL | 1 | do not fit", "first | SET | 1\n first | SEAL | 5"
    )
    seals = found.required[found.required["part"] == "SEAL"]
    assert table(seals, "quantity", "from_set") == [(4, "SET"), (1, "")]
    assert table(found.left_overs, *LEFT) == [("SET", "SEAL", 1, "do not fit")]


def test_a_set_in_a_set_is_opened() -> None:
    """The overhaul set holds two top sets of three rings each."""
    found = bills(
        "FULL | TOP | 2 | needed\nTOP | RING | 3 | needed\nFULL | RING | 1 | needed",
        "first | FULL | 1\n first | RING | 9",
    )
    rings = found.required[found.required["part"] == "RING"]
    assert table(rings, "quantity", "from_set") == [(7, "FULL"), (2, "")]
    assert found.left_overs.empty


def test_a_set_that_comes_with_another_is_not_bought_alone() -> None:
    """One top set of two comes with the full set, the other is bought; all rings count once."""
    found = bills(
        "FULL | TOP | 1 | needed\nTOP | RING | 3 | needed",
        "first | TOP | 2\n first | FULL | 1\n first | RING | 7",
    )
    assert table(found.required, *COLUMNS) == [
        ("first", "TOP", 1, "FULL"),
        ("first", "TOP", 1, ""),
        ("first", "FULL", 1, ""),
        ("first", "RING", 3, "FULL"),
        ("first", "RING", 3, "TOP"),
        ("first", "RING", 1, ""),
    ]


def test_contents_of_a_set_that_does_not_fit_do_not_fit() -> None:
    """A set for another variant, packed with ours, supplies nothing."""
    found = bills(
        "FULL | OTHER | 1 | do not fit\nOTHER | RING | 3 | needed",
        "first | FULL | 1\n first | RING | 3",
    )
    assert ("first", "RING", 3, "") in table(found.required, *COLUMNS)
    assert table(found.left_overs, *LEFT) == [("FULL", "RING", 3, "do not fit")]


def test_sets_of_one_build_never_cover_another() -> None:
    """Each build opens its own set."""
    of = shop(
        stages=STAGES,
        sets="set | part | quantity | fits\nSET | RING | 6 | needed",
        lines="""
            assembly | stage | part | quantity | when
            engine   | first | SET  | 1        | with=set
            engine   | first | RING | 4        |
        """,
        options="assembly | option | choices | default\nengine | with | set; loose | loose",
        builds="build | assembly | options\nB1 | engine | with=set\nB2 | engine |",
    )
    found = explode(of, of["builds"])
    assert table(found.required, "build", "part", "quantity", "from_set") == [
        ("B1", "SET", 1, ""),
        ("B1", "RING", 4, "SET"),
        ("B2", "RING", 4, ""),
    ]
    assert table(found.left_overs, "build", *LEFT) == [("B1", "SET", "RING", 2, "needed")]


def test_sets_that_contain_each_other_are_named_in_full() -> None:
    """The circle is told from its first to its first."""
    with pytest.raises(LoopError, match=r"sets go round in a circle: (\w+) -> \w+ -> \1"):
        bills("ONE | TWO | 1 | needed\nTWO | ONE | 1 | needed", "first | ONE | 1")


def test_a_set_that_nobody_asks_for_covers_nothing() -> None:
    """A sheet of sets alone buys no set: that is for the room that chooses suppliers."""
    found = bills("SET | RING | 6 | needed", "first | RING | 2")
    assert table(found.required, *COLUMNS) == [("first", "RING", 2, "")]
    assert found.left_overs.empty
