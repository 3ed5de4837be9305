"""Netting as a plain loop over the rows: slow, and easy to believe."""

from __future__ import annotations

from math import gcd
from typing import TYPE_CHECKING, NamedTuple

import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Iterable

LATE = pd.Timestamp.max


class Try(NamedTuple):
    """A stand-in to try: ``take`` of it for ``give`` of the part."""

    stand_in: str
    take: int
    give: int


class Plain:
    """Needs and lots as dictionaries, and the picks so far."""

    def __init__(
        self, needs: pd.DataFrame, supply: pd.DataFrame, customers: dict[str, str]
    ) -> None:
        self.customers = customers
        self.needs = {row["need"]: row for row in needs.to_dict("records")}
        self.lots = {row["supply"]: row for row in supply.to_dict("records")}
        days = [row["day"] for row in self.needs.values() if pd.notna(row["day"])]
        days += [row["from_day"] for row in self.lots.values()]
        self.last = max(days, default=LATE)
        self.by_part: dict[str, list[dict]] = {}
        for lot in sorted(self.lots.values(), key=self.order_of_lot):
            self.by_part.setdefault(lot["part"], []).append(lot)
        self.picks: list[tuple[int, int, str, int, int]] = []

    def day(self, need: dict) -> pd.Timestamp:
        """Return a need's day, the last day known when it is blank."""
        return self.last if pd.isna(need["day"]) else need["day"]

    def order_of_need(self, need: dict) -> tuple:
        """Priority, day, number."""
        return need["priority"], self.day(need), need["need"]

    @staticmethod
    def order_of_lot(lot: dict) -> tuple:
        """Soonest to spoil, earliest, shelf before order, number."""
        end = LATE if pd.isna(lot["use_by"]) else lot["use_by"]
        return end, lot["from_day"], lot["order"] != "", lot["supply"]

    def may(self, need: dict, lot: dict, tier: str) -> bool:
        """Tell whether a lot of a tier may serve a need."""
        if tier == "kit":
            stage = ("assembly", "stage")
            ours = all(need[c] == lot[c] for c in stage) and need["build"] == lot["held_for"]
            return bool(lot["kit"]) and ours
        if tier == "held":
            return lot["kit"] != "fitted" and need["build"] == lot["held_for"]
        if lot["held_for"]:
            return False
        if tier == "owned":
            return lot["owner"] != "" and self.customers.get(need["build"]) == lot["owner"]
        return lot["owner"] == ""

    def serve(self, need: dict, part: str, take: int, give: int, tiers: tuple[str, ...]) -> None:
        """Serve one need from the lots of a part, tier by tier."""
        day = self.day(need)
        for tier in tiers:
            for lot in self.by_part.get(part, ()):
                fits = lot["from_day"] <= day and not lot["use_by"] < day
                if not self.may(need, lot, tier) or not fits:
                    continue
                batches = min(need["quantity"] // give, lot["quantity"] // take)
                if batches:
                    need["quantity"] -= batches * give
                    if need["role"] != "tool":
                        lot["quantity"] -= batches * take
                    pick = (need["need"], lot["supply"], part, batches * take, batches * give)
                    self.picks.append(pick)

    def serve_all(
        self, needs: Iterable[dict], tries: dict[int, Try], tiers: tuple[str, ...]
    ) -> None:
        """Serve needs in order; ``tries`` says from what, the part itself when blank."""
        ordered = sorted(needs, key=self.order_of_need)
        for tier in tiers:
            for need in ordered:
                self.serve(need, *tries.get(need["need"], Try(need["part"], 1, 1)), (tier,))


def tried(stand_ins: pd.DataFrame, part: str) -> list[Try]:
    """Return a part's stand-ins in order: supersessions step by step, then alternates."""
    columns = (stand_ins[c].tolist() for c in ("part", "stand_in", "kind", "take", "give"))
    rows = list(zip(*columns, strict=True))
    found: list[Try] = []
    front = [Try(part, 1, 1)]
    while front:
        steps = [
            lowest(stand_in, held.take * take, held.give * give)
            for held in front
            for old, stand_in, kind, take, give in rows
            if kind == "supersedes" and old == held.stand_in
        ]
        front = []
        for step in sorted(steps):
            if step.stand_in not in {part, *(t.stand_in for t in found)}:
                found.append(step)
                front.append(step)
    alternates: list[Try] = []
    for asked, other, turned in [(0, 1, False), (1, 0, True)]:
        for row in rows:
            if row[2] == "alternate" and row[asked] == part and row[other] != part:
                ratio = (row[4], row[3]) if turned else (row[3], row[4])
                if row[other] not in {t.stand_in for t in (*found, *alternates)}:
                    alternates.append(lowest(row[other], *ratio))
    return found + sorted(alternates)


def lowest(stand_in: str, take: int, give: int) -> Try:
    """Return a ratio in lowest terms."""
    return Try(stand_in, take // gcd(take, give), give // gcd(take, give))


def net(
    needs: pd.DataFrame,
    supply: pd.DataFrame,
    stand_ins: pd.DataFrame,
    customers: dict[str, str] | None = None,
) -> tuple[list[tuple[int, int, str, int, int]], dict[int, int]]:
    """Return picks by need in the order taken, and what is short by need."""
    plain = Plain(needs, supply, customers or {})
    named = {*stand_ins["part"], *stand_ins["stand_in"]}
    ranked = {part: tried(stand_ins, part) if part in named else [] for part in set(needs["part"])}
    passes = sorted(
        {(rank, t.take, t.give) for found in ranked.values() for rank, t in enumerate(found)}
    )
    others = ("held", "owned", "free")
    for tools, tiers in ((False, ("kit",)), (False, others), (True, others)):
        served = [n for n in plain.needs.values() if (n["role"] == "tool") is tools]
        plain.serve_all(served, {}, tiers)
        for priority in sorted(set(needs["priority"])):
            for rank, take, give in passes:
                tries = {
                    need["need"]: ranked[need["part"]][rank]
                    for need in served
                    if need["priority"] == priority
                    and len(ranked[need["part"]]) > rank
                    and ranked[need["part"]][rank][1:] == (take, give)
                }
                plain.serve_all((plain.needs[number] for number in tries), tries, tiers)
    short = {number: n["quantity"] for number, n in sorted(plain.needs.items()) if n["quantity"]}
    return sorted(plain.picks, key=lambda pick: pick[0]), short
