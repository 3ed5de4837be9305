"""Tubes by their clock: how many are opened, when, and what of them is thrown away."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from kitting.bill.containers import MOST, NEVER, Container, Use, open_containers, thrown_away


def days(opened) -> list[tuple[int, int, str, int]]:
    return [(o.opened, o.last, o.container.comes, o.used) for o in opened]


def test_one_tube_serves_while_it_keeps() -> None:
    """Two stages inside thirty days share a tube, on the thirtieth day too."""
    uses = [Use(0, 13), Use(30, 15)]
    assert days(open_containers(uses, [], 80, 30)) == [(0, 30, "buy", 28)]


def test_two_stages_further_apart_need_two() -> None:
    """A day later the tube is spoilt: a second one, and what was left of the first goes."""
    opened = open_containers([Use(0, 13), Use(31, 15)], [], 80, 30)
    assert days(opened) == [(0, 30, "buy", 13), (31, 61, "buy", 15)]
    assert thrown_away(opened, 31) == 67
    assert thrown_away(opened, 30) == 0


def test_one_use_may_take_several() -> None:
    """A tube is emptied before the next is opened."""
    assert [o.used for o in open_containers([Use(0, 200)], [], 80, 30)] == [80, 80, 40]


def test_what_stands_open_is_used_first() -> None:
    """An opened tube on the shelf serves until its own last day."""
    there = [Container(80, 0), Container(20, 0, use_by=10, opened=-20)]
    opened = open_containers([Use(5, 15), Use(12, 15)], there, 80, 30)
    assert days(opened) == [(-20, 10, "shelf", 15), (12, 42, "shelf", 15)]
    assert thrown_away(opened, 12) == 5


def test_the_sealed_one_that_spoils_first_is_opened() -> None:
    """Use-by counts for sealed tubes, and limits an opened one."""
    there = [Container(80, 0, use_by=90), Container(80, 0, use_by=20)]
    assert days(open_containers([Use(5, 1)], there, 80, 30)) == [(5, 20, "shelf", 1)]
    assert days(open_containers([Use(21, 1)], there, 80, 30)) == [(21, 51, "shelf", 1)]
    assert days(open_containers([Use(91, 1)], there, 80, 30)) == [(91, 121, "buy", 1)]


def test_an_order_serves_from_the_day_it_comes() -> None:
    """A tube on order cannot be opened before it is here."""
    there = [Container(80, 7, comes="order")]
    opened = open_containers([Use(6, 1), Use(40, 1)], there, 80, 30)
    assert [o.container.comes for o in opened] == ["buy", "order"]


def test_a_held_tube_is_for_its_build() -> None:
    """A tube held for one build serves that one first, and no other."""
    there = [Container(80, 0, use_by=10), Container(80, 0, held_for="B1")]
    mine = open_containers([Use(0, 1, "B1")], there, 80, 30)
    other = open_containers([Use(0, 1, "B2"), Use(20, 1, "B2")], there, 80, 15)
    assert mine[0].container.held_for == "B1"
    assert [o.container.comes for o in other] == ["shelf", "buy"]
    assert all(not o.container.held_for for o in other)


def test_there_is_an_end() -> None:
    """A content of next to nothing does not open tubes for ever."""
    assert len(open_containers([Use(0, 10**9)], [], 1, 30)) == MOST


uses = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 9)), max_size=6)


def fewest(taken: list[tuple[int, int]], content: int, life: int) -> int:
    """Return the fewest alike containers, by trying every way of sharing each use."""
    best = sum(-(-quantity // content) for _, quantity in taken)

    def go(at: int, stood: tuple[tuple[int, int], ...], number: int) -> None:
        nonlocal best
        if number >= best:
            return
        if at == len(taken):
            best = number
            return
        day, quantity = taken[at]
        live = [(last, left) for last, left in stood if last >= day and left > 0]
        share(at, day, quantity, live, (), number)

    def share(at, day, quantity, live, kept, number) -> None:
        if not live:
            more = -(-quantity // content)
            rest = more * content - quantity
            fresh = ((day + life, rest),) if more else ()
            go(at + 1, (*kept, *fresh), number + more)
            return
        last, left = live[0]
        for part in range(min(left, quantity) + 1):
            share(at, day, quantity - part, live[1:], (*kept, (last, left - part)), number)

    go(0, (), 0)
    return best


@given(uses, st.integers(2, 8), st.integers(0, 40))
def test_no_other_order_opens_fewer(taken, content: int, life: int) -> None:
    """While all containers are alike, every way of sharing opens as many or more."""
    taken = sorted(taken)[:4]
    opened = open_containers([Use(*t) for t in taken], [], content, life)
    assert len(opened) == fewest(taken, content, life)


@given(uses, st.integers(1, 8), st.integers(0, 40))
def test_nothing_is_made_and_nothing_is_lost(taken, content: int, life: int) -> None:
    """What is taken is what is used; no container gives more than it holds or after its day."""
    opened = open_containers([Use(*t) for t in taken], [], content, life)
    assert sum(o.used for o in opened) == sum(quantity for _, quantity in taken)
    for one in opened:
        assert 0 <= one.left <= one.container.content
        assert sum(u.quantity for u in one.uses) == one.used > 0
        assert all(one.opened <= u.day <= one.last for u in one.uses)


@given(uses, st.integers(1, 8), st.integers(0, 40), st.integers(0, 40))
def test_what_keeps_longer_is_never_opened_more(taken, content: int, life: int, more: int) -> None:
    """A longer opened life needs no more containers."""
    some = [Use(*t) for t in taken]
    short = open_containers(some, [], content, life)
    longer = open_containers(some, [], content, life + more)
    assert len(open_containers(some, [], content, NEVER)) <= len(longer) <= len(short)
