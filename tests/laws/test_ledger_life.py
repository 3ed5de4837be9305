"""Everything that happens to stock, in any order, beside the simplest model of it.

A few runs by default; 500 in the tests marked slow; as many as ``KITTING_EXAMPLES`` says, such as
10000 at night: ``KITTING_EXAMPLES=10000 pytest -m slow tests/laws/test_ledger_life.py``.
"""

from __future__ import annotations

import os
from collections import Counter
from datetime import date, datetime, timedelta

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from laws.test_ledger import STOCK, build, fresh

from kitting import records
from kitting.errors import InputError
from kitting.records import Arrival, Count, on_hand, places
from kitting.records.carrying import Carry, carry
from kitting.records.completing import Back, complete, fit, put_back
from kitting.records.on_hand import Lot
from kitting.records.picking import Pick, pick
from kitting.records.places import CUSTOMER, SCRAP, Kit, kit_of
from kitting.records.together import together
from kitting.tables.shop import BY_NAME

DAY = date(2026, 3, 9)
PARTS = ("0012", "OIL")
BINS = ("A1", "B2", "")
BUILDS = {"E-0": "ann", "E-1": ""}
KITS = tuple(Kit(b, "engine", s) for b in BUILDS for s in ("bottom", "top/1"))
PLACES = ("A1", "B2", SCRAP, CUSTOMER, places.site_place("north"), places.outwork_place("grinder"))

PART, BIN, KIT = (st.sampled_from(x) for x in (PARTS, BINS, KITS))
HELD, OWNER = st.sampled_from(("", "E-0")), st.sampled_from(("", "", "ann", "bob"))
FEW, SOME, MANY = st.integers(1, 3), st.integers(1, 6), st.integers(0, 6)
USE_BY = st.none() | st.integers(0, 3).map(lambda n: DAY + timedelta(days=n))
ON = st.integers(0, 3).map(lambda n: DAY + timedelta(days=n))
AT = st.sampled_from(PLACES)


def sheet(name, *rows):
    """Return a sheet from rows that name the columns that are not blank."""
    blanks = {"text": "", "whole": 0, "real": 0.0, "yes or no": False}
    table = BY_NAME[name]
    return build(table, [[r.get(c.name, blanks.get(c.kind)) for c in table.columns] for r in rows])


class Bench(RuleBasedStateMachine):
    """A shop, and beside it how much of which lot is where, and until when it may be used."""

    @initialize()
    def start(self):
        """Open a shop with two parts, an order line of each, two builds of two stages, stock."""
        self.shop = fresh()
        orders = [
            {"order": "K1", "line": n, "part": p, "quantity": 9, "build": f"E-{n}"}
            for n, p in enumerate(PARTS)
        ]
        sheets = {
            "parts": sheet("parts", *({"part": p, "unit": "piece"} for p in PARTS)),
            "builds": sheet(
                "builds",
                *({"build": b, "assembly": "engine", "customer": c} for b, c in BUILDS.items()),
            ),
            "orders": sheet("orders", *orders),
        }
        records.apply(self.shop, sheets, DAY)
        self.there: Counter[Lot] = Counter()
        self.until: dict[Lot, date | None] = {}
        self.come = dict.fromkeys(PARTS, 0)
        self.sheet: dict[Lot, tuple[int, date | None]] = {}
        self.moves = []
        self.receipts: set[int] = set()
        self.undone: set[int] = set()
        for line in (0, 1):  # something of every kind is there, so that little is refused
            self.receive(line, 4, "A1", None)
        for part in PARTS:
            self.count(part, "B2", "", "ann", 3, None)
            self.count(part, "B2", "", "", 6, DAY + timedelta(days=2))
            for kit in KITS:
                self.pick(part, kit, 3, DAY)

    def teardown(self):
        """See that the snapshot shows the same shelf and the same kits, and close the shop."""
        held = records.snapshot(self.shop).check()
        shelf = held["stock"][["part", "lot", "place", "held_for", "owner", "quantity"]]
        assert {Lot(*row[:5]): row[5] for row in shelf.itertuples(False, None)} == {
            lot: n for lot, n in self.there.items() if places.is_shelf(lot.place)
        }
        kits = Counter()
        for row in held["kitted"].to_dict("records"):
            kit = Kit(row["build"], row["assembly"], row["stage"], row["fitted"])
            kits[kit, row["part"]] += row["quantity"]
        assert kits == Counter(
            {
                key: n
                for key, n in self.sums(lambda lot: (kit_of(lot.place), lot.part)).items()
                if key[0]
            }
        )
        self.shop.close()

    def sums(self, key):
        """Return how much there is by a key of each lot."""
        found = Counter()
        for lot, n in self.there.items():
            found[key(lot)] += n
        return found

    def follow(self, moves):
        """Take moves into the model; nothing may leave a place that is not there."""
        for move in moves:
            for place, sign in ((move.from_place, -1), (move.to_place, 1)):
                if places.is_open(place):
                    continue
                lot = move.at(place)
                self.there[lot] += sign * move.quantity
                self.until[lot] = move.use_by
                assert self.there[lot] >= 0
                if not self.there[lot]:
                    del self.there[lot]
        self.moves += moves

    @rule(line=st.integers(0, 1), amount=SOME, place=BIN, by=USE_BY)
    def receive(self, line, amount, place, by):
        """Put what comes on the shelf, held for its build, and tell when it is too much."""
        part = PARTS[line]
        got = records.receive(self.shop, Arrival("K1", amount, place, DAY, line=line, use_by=by))
        assert (got.before, got.part) == (self.come[part], part)
        assert got.open == max(0, 9 - self.come[part] - amount)
        assert got.over == max(0, min(amount, self.come[part] + amount - 9))
        self.come[part] += amount
        assert got.move.at(place) == Lot(part, "", place, f"E-{line}")
        self.follow([got.move])
        self.receipts.add(got.move.move)

    @rule(part=PART, place=BIN, held_for=HELD, owner=OWNER, amount=MANY, by=USE_BY)
    def count(self, part, place, held_for, owner, amount, by):
        """After a count there is what was counted."""
        lot = Lot(part, "", place, held_for, owner)
        done = records.count(
            self.shop,
            Count(part, place, amount, DAY, held_for=held_for, owner=owner, use_by=by),
        )
        assert done.before == self.there[lot]
        self.follow(done.moves)
        assert self.there[lot] == amount

    def usable(self, part, build, day):
        """Return the lots that may be picked for a build, by whether they are kept for it."""
        tiers = ([], [], [])
        for lot, n in self.there.items():
            until = self.until[lot]
            fits = lot.part == part and places.is_shelf(lot.place) and (not until or until >= day)
            if fits and lot.held_for == build:
                tiers[0].append((lot, n))
            elif fits and not lot.held_for and lot.owner in ("", BUILDS[build]):
                tiers[1 if lot.owner else 2].append((lot, n))
        return tiers

    @rule(part=PART, kit=KIT, amount=MANY, day=ON)
    def pick(self, part, kit, amount, day):
        """Take what is kept for the build first, all or nothing, and nothing of others."""
        tiers = self.usable(part, kit.build, day)
        have = [sum(n for _, n in tier) for tier in tiers]
        try:
            (done,) = pick(self.shop, Pick(kit, part, amount, day))
        except InputError:
            assert not 0 < amount <= sum(have)
            return
        taken = Counter({m.at(m.from_place): m.quantity for m in done.moves})
        assert sum(taken.values()) == amount
        left = amount
        for tier, there in zip(tiers, have, strict=True):
            assert sum(taken[lot] for lot, _ in tier) == min(left, there)
            left -= min(left, there)
        assert {m.to_place for m in done.moves} == {kit.place}
        self.follow(done.moves)

    @rule(part=PART, kit=KIT, amount=FEW)
    def rob(self, part, kit, amount):
        """Take from the kits of the other build what is the shop's or the customer's own."""
        giver = next(b for b in BUILDS if b != kit.build)
        have = sum(
            n
            for lot, n in self.there.items()
            if (at := kit_of(lot.place)) and at.build == giver and not at.fitted
            if lot.part == part and lot.owner in ("", BUILDS[kit.build])
        )
        try:
            (done,) = pick(
                self.shop, Pick(kit, part, amount, DAY, from_build=giver, reason="sooner")
            )
        except InputError:
            assert amount > have
            return
        assert amount <= have
        self.follow(done.moves)

    @rule(
        part=PART,
        build=st.sampled_from(list(BUILDS)),
        amount=FEW,
        place=st.sampled_from(("A1", "A1", "B2", SCRAP, CUSTOMER, PLACES[-1])),
    )
    def give_back(self, part, build, amount, place):
        """Put back what is left over: no longer held, and still its owner's."""
        there = {
            lot: n
            for lot, n in self.there.items()
            if (at := kit_of(lot.place)) and at.build == build and not at.fitted
            if lot.part == part and (place != CUSTOMER or lot.owner)
        }
        possible = place in ("A1", "B2", SCRAP, CUSTOMER) and amount <= sum(there.values())
        back = Back(build, part, amount, place, DAY, reason="left over")
        try:
            moves = put_back(self.shop, back)
        except InputError:
            assert not possible
            return
        assert possible
        self.follow(moves)
        for move in moves:
            assert move.to_place != place or not places.is_shelf(place) or move.held_for != build

    @rule(build=st.sampled_from(list(BUILDS)))
    def close(self, build):
        """Close the kits of a build: what lies in them counts as fitted from then on."""
        before = self.sums(lambda lot: ((at := kit_of(lot.place)) and at[:3], lot.part))
        try:
            moves = fit(self.shop, build, [], DAY, ("jo", "mk"))
        except InputError:
            return
        self.follow(moves)
        assert before == self.sums(lambda lot: ((at := kit_of(lot.place)) and at[:3], lot.part))
        assert not any(
            (at := kit_of(lot.place)) and at.build == build and not at.fitted for lot in self.there
        )

    @rule(kit=KIT, short=MANY)
    def complete(self, kit, short):
        """Call a kit complete: nothing moves."""
        row = {"joint": "", "role": "", "part": "OIL", "quantity": short, "unit": "", "why": ""}
        complete(self.shop, kit, DAY, ("jo", "mk"), [row])

    @rule(part=PART, ends=st.tuples(AT, AT), amount=SOME, owner=OWNER)
    def carry(self, part, ends, amount, owner):
        """Take what is there from one place to another, and never what is not there."""
        source, target = ends
        there = sum(
            n
            for lot, n in self.there.items()
            if (lot.part, lot.place) == (part, source) and (target != CUSTOMER or lot.owner)
        )
        comes = places.is_open(source) and places.is_shelf(target)
        comes = comes and bool(owner or source != CUSTOMER)
        possible = comes or (not places.is_open(source) and source != target and there >= amount)
        what = Carry(
            part, amount, source, target, DAY, owner=owner if comes else None, reason="why"
        )
        try:
            moves = carry(self.shop, what)
        except InputError:
            assert not possible
            return
        assert possible
        self.follow(moves)

    @rule(
        rows=st.dictionaries(
            st.builds(Lot, PART, st.just(""), BIN, HELD, OWNER),
            st.tuples(MANY, USE_BY),
            max_size=4,
        ),
        same=st.booleans(),
    )
    def read_stock(self, rows, same):
        """Read a stock sheet: it sets what it tells anew, and only that."""
        rows = dict(self.sheet) if same else rows
        frame = build(
            STOCK,
            [
                (lot.part, "", lot.place, n, "piece", by and datetime(by.year, by.month, by.day),
                 None, lot.held_for, lot.owner)
                for lot, (n, by) in rows.items()
            ],
        )  # fmt: skip
        number = self.moves[-1].move if self.moves else 0
        told = records.apply(self.shop, {"stock": frame}, DAY)
        assert told.empty or not same
        want = dict(self.there)
        for lot in {*rows, *self.sheet}:
            before, after = self.sheet.get(lot), rows.get(lot)
            if before != after and not (before and after and before[0] == after[0]):
                want[lot] = after[0] if after else 0
        with self.shop.reading() as hand:
            wrote = [m for m in records.ledger.all_moves(hand) if m.move > number]
        self.follow(wrote)
        assert self.there == Counter({lot: n for lot, n in want.items() if n})
        self.sheet = rows

    @rule(which=st.integers(0, 10**6))
    def reverse(self, which):
        """Undo a move, once, unless what it brought is gone."""
        if not self.moves:
            return
        move = self.moves[which % len(self.moves)]
        number = self.moves[-1].move
        written = [m for m in self.moves if m.made_at == move.made_at]
        whole = together(written, move) if move.reverses is None else [move]
        there, possible = Counter(self.there), move.reverses is None
        for one in reversed(whole):
            left, entered = one.at(one.to_place), one.at(one.from_place)
            fits = places.is_open(one.to_place) or there[left] >= one.quantity
            possible = possible and fits and one.move not in self.undone
            there[left] -= one.quantity
            there[entered] += one.quantity
        try:
            records.reverse(self.shop, move.move, "slip", day=DAY)
        except InputError:
            assert not possible
            return
        assert possible
        self.undone |= {one.move for one in whole}
        if move.move in self.receipts:
            self.come[move.part] -= move.quantity
        with self.shop.reading() as hand:
            self.follow([m for m in records.ledger.all_moves(hand) if m.move > number])

    @invariant()
    def no_label_takes_stock_away(self):
        """See that what left a lot for another label entered it: nothing stays between."""
        with self.shop.reading() as hand:
            between = hand.rows(
                "SELECT part, SUM(CASE WHEN to_place = :label THEN quantity ELSE -quantity END) "
                "AS n FROM moves WHERE :label IN (to_place, from_place) GROUP BY part "
                "HAVING SUM(CASE WHEN to_place = :label THEN quantity ELSE -quantity END) <> 0",
                {"label": places.LABEL},
            )
        assert between == []

    @invariant()
    def what_is_where_is_the_model(self):
        """See that the kept sums agree lot by lot, none below zero, and that the shop proves."""
        with self.shop.reading() as hand:
            held = on_hand.on_hand(hand, "1 = 1")
        assert {lot: seen.quantity for lot, seen in held.items()} == dict(self.there)
        assert records.prove(self.shop).faults == ()

    @invariant()
    def every_part_sums_to_zero(self):
        """Over all places, what left one entered another."""
        with self.shop.reading() as hand:
            balance = hand.rows(
                "SELECT part, SUM(n) FROM (SELECT part, quantity AS n FROM moves UNION ALL "
                "SELECT part, -quantity FROM moves) GROUP BY part HAVING SUM(n) <> 0"
            )
        assert balance == []


def often(examples):
    """Return settings for so many runs of thirty steps."""
    return settings(
        max_examples=examples,
        stateful_step_count=30,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
    )


ASKED = int(os.environ.get("KITTING_EXAMPLES", "0"))


class TestBench(Bench.TestCase):
    """A few runs, each time others."""

    settings = often(ASKED or 12)


@pytest.mark.slow
class TestBenchLong(Bench.TestCase):
    """Many runs."""

    settings = often(ASKED or 500)
