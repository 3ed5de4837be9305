"""What must be true of an order, whatever happens to it in whatever order."""

from __future__ import annotations

import functools
import os
import sqlite3
from datetime import date

import pandas as pd
import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from kitting import records
from kitting.dealings import order_states
from kitting.errors import InputError
from kitting.records import Amendment, Answer, Arrival, Claim
from kitting.records.hands import FileHand
from kitting.records.order_lines import come, lines
from kitting.tables.shop import ORDERS, PARTS

DAY = date(2026, 3, 9)
DAYS = st.integers(1, 28).map(lambda n: date(2026, 4, n))
QUANTITY, PRICE = 12, 1000


@functools.cache
def made():
    """Return the bytes of a shop with one order line."""
    orders = {"order": "K1", "line": 1, "supplier": "s", "part": "P", "quantity": QUANTITY,
              "unit": "piece", "price": PRICE, "ordered": "2026-03-01"}  # fmt: skip
    frames = {}
    for table, row in ((ORDERS, orders), (PARTS, {"part": "P", "unit": "piece"})):
        blanks = {"text": "", "yes or no": False, "whole": 0}
        full = {c.name: row.get(c.name, blanks.get(c.kind)) for c in table.columns}
        frames[table.name] = table.conform(pd.DataFrame([full]))
    with records.open_shop(":memory:", create=True) as shop:
        records.apply(shop, frames, DAY)
        return shop._hand._connection.serialize()


class Life(RuleBasedStateMachine):
    """An order of one line, which may become many."""

    @initialize()
    def begin(self):
        """Open a new shop."""
        connection = sqlite3.connect(":memory:", isolation_level=None)
        connection.deserialize(made())
        self.shop = records.Records(":memory:", FileHand(connection))
        self.asked, self.come, self.off = {1: QUANTITY}, {1: 0}, set()
        self.promised, self.facts, self.waiting = {}, 1, {}
        self.settled, self.credited, self.without = set(), {}, set()

    def teardown(self):
        """Look at what everybody reads, and let the shop go."""
        if hasattr(self, "shop"):
            try:
                self.read_by_all()
            finally:
                self.shop.close()

    def line(self, pick):
        """Return one of the lines."""
        return sorted(self.asked)[pick % len(self.asked)]

    def still(self, line):
        """Return what is still to come of a line."""
        return 0 if line in self.off else max(0, self.asked[line] - self.come[line])

    @rule(pick=st.integers(0, 9), amount=st.integers(1, 5))
    def receive(self, pick, amount):
        """Goods come, over or not."""
        line = self.line(pick)
        before = self.come[line]
        got = records.receive(self.shop, Arrival("K1", amount, "A", DAY, line=line))
        assert (got.before, got.cancelled) == (before, line in self.off)
        self.come[line] += amount

    @rule(pick=st.integers(0, 9), day=DAYS)
    def promise(self, pick, day):
        """Promise a line anew; one that was called off or is promised so is refused."""
        line = self.line(pick)
        change = Amendment("K1", DAY, line, promised=day)
        if line in self.off or self.promised.get(line) == day:
            self.refused(lambda: records.amend(self.shop, change))
            return
        records.amend(self.shop, change)
        self.promised[line] = day
        self.facts += 1

    @rule(pick=st.integers(0, 9))
    def call_off(self, pick):
        """Call a line off, or let it stand again."""
        line = self.line(pick)
        off = line in self.off
        records.amend(self.shop, Amendment("K1", DAY, line, cancelled=not off, stands=off))
        self.off ^= {line}
        self.credited.pop(line, None)
        self.facts += 1

    @rule(pick=st.integers(0, 9), amount=st.integers(1, QUANTITY))
    def split(self, pick, amount):
        """Part off what is still to come, never more, never all."""
        line = self.line(pick)
        change = Amendment("K1", DAY, line)
        if amount > self.still(line) or amount == self.asked[line]:
            self.refused(lambda: records.split(self.shop, change, amount))
            return
        self.parted(line, records.split(self.shop, change, amount), amount)

    def parted(self, line, new, amount):
        """Take a split into the model."""
        self.asked[line] -= amount
        self.asked[new], self.come[new] = amount, 0
        if line in self.promised:
            self.promised[new] = self.promised[line]
        self.facts += 2

    @rule(
        pick=st.integers(0, 9),
        amount=st.integers(1, 5),
        what=st.sampled_from(["damaged", "short"]),
        credit=st.booleans(),
    )
    def claim(self, pick, amount, what, credit):
        """Damaged goods wait apart; a credit calls off what is still to come of them."""
        line = self.line(pick)
        off = min(amount, self.still(line)) if credit else 0
        whole, new = off == self.asked[line], max(self.asked) + 1
        claim = Claim("K1", line, what, amount, DAY, next="credit" if credit else "replace")
        done = records.claim(self.shop, claim)
        self.waiting[done.claim] = (what, line, amount)
        self.without |= {done.claim} if what == "short" else set()
        if off:
            if not whole:
                self.parted(line, new, off)
            gone = line if whole else new
            self.off.add(gone)
            self.credited[gone] = done.claim
            self.facts += 1

    @rule(pick=st.integers(0, 99), event=st.sampled_from(["sent back", "kept", "settled"]))
    def answer(self, pick, event):
        """Goods go back or are kept, and their credit falls; settled only when they are gone."""
        if not self.waiting:
            return
        number = sorted(self.waiting)[pick % len(self.waiting)]
        what, line, amount = self.waiting[number]
        said = Answer(number, event, DAY, "A")
        fits = {"sent back": what != "back", "kept": what == "damaged"}.get(
            event, what != "damaged"
        )
        if not fits:
            self.refused(lambda: records.answer(self.shop, said))
            return
        records.answer(self.shop, said)
        if event == "kept":
            self.come[line] += amount
            self.no_credit(number)
        if event == "sent back":
            self.waiting[number] = ("back", line, amount)
        else:
            del self.waiting[number]
            self.settled.add(number)

    def no_credit(self, number):
        """Let stand again what a claim called off."""
        back = {n for n, claim in self.credited.items() if claim == number}
        self.off -= back
        self.facts += len(back)
        self.credited = {n: c for n, c in self.credited.items() if n not in back}

    @rule(pick=st.integers(0, 99))
    def slip(self, pick):
        """Undo the last move of a claim's goods: they never came, or did not leave."""
        goods = [n for n, (what, *_) in sorted(self.waiting.items()) if what != "short"]
        goods = [n for n in goods if n not in self.without]
        if not goods:
            return
        number = goods[pick % len(goods)]
        what, line, amount = self.waiting[number]
        with self.shop.reading() as hand:
            ((last,),) = hand.rows(
                "SELECT MAX(move) FROM moves WHERE lot = :lot AND reverses IS NULL AND NOT EXISTS "
                "(SELECT 1 FROM moves AS m WHERE m.reverses = moves.move)",
                {"lot": number},
            )
        records.reverse(self.shop, int(last), "a slip", day=DAY)
        if what == "back":
            self.waiting[number] = ("damaged", line, amount)
        else:
            del self.waiting[number]
            self.settled.add(number)
            self.no_credit(number)

    def refused(self, work):
        """Check that work is refused."""
        try:
            work()
        except InputError:
            return
        raise AssertionError("it should have been refused")

    @invariant()
    def all_is_as_it_should_be(self):
        """Lines, stock, facts and claims are the model's; nothing asked or paid for is lost."""
        if not hasattr(self, "shop"):
            return
        with self.shop.reading() as hand:
            kept = {int(row["line"]): row for row in lines(hand, "K1", None)}
            assert {n: row["quantity"] for n, row in kept.items()} == self.asked
            assert sum(row["price"] for row in kept.values()) == PRICE
            assert {n for n, row in kept.items() if row["cancelled"]} == self.off
            assert come(hand, "K1") == self.come
            count = "SELECT (SELECT COUNT(*) FROM order_facts), (SELECT SUM(quantity) FROM on_hand "
            ((facts, there),) = hand.rows(f"{count} WHERE place NOT LIKE 'outside:%')")
        assert (facts, there or 0) == (self.facts, sum(self.come.values()))
        assert {c.claim for c in records.claims(self.shop) if c.open} == set(self.waiting)

    def read_by_all(self):
        """See that the frames, the states of the lines and the proof say the same."""
        held = records.snapshot(self.shop)
        states = order_states(held).set_index("line")
        assert states["quantity"].to_dict() == self.asked
        assert states["come"].to_dict() == self.come
        assert states["owed"].to_dict() == {n: self.still(n) for n in self.asked}
        assert states["quantity"].sum() == QUANTITY
        assert states["price"].sum() == PRICE
        told = {n: d.date() for n, d in states["promised"].dropna().items()}
        assert told == self.promised
        assert states["claims"].sum() == len(self.waiting)
        assert held["stock"]["quantity"].sum() == sum(self.come.values())
        assert len(held["order_facts"]) == self.facts
        assert records.prove(self.shop).faults == ()


def often(examples):
    """Return settings for so many runs of twenty steps."""
    return settings(
        max_examples=examples,
        stateful_step_count=20,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
    )


ASKED = int(os.environ.get("KITTING_EXAMPLES", "0"))


class TestLife(Life.TestCase):
    """A few runs, each time others."""

    settings = often(ASKED or 10)


@pytest.mark.slow
class TestLongLife(Life.TestCase):
    """The same, many more times."""

    settings = often(ASKED or 500)
