"""How often the part that was taken out of a kit is among the first ten that seem missing.

Run as a script: ``python tests/speed/bench_together.py``. The kits are 1,356 published part sets,
read in place from the folder ``shared`` beside the project's own. A quarter of the sets is held
back; from each of them six part numbers, one at a time, are taken out (all lines that are no
spares) and the parts that the kit does not hold are ranked: once for parts drawn from all, once
for hardware (pins, bushes, axles, gears, connectors). Sets of which a known kit shares seven
tenths of the parts are near-copies and reported apart. Floors: the parts that most kits hold,
item-item cosine, the 30 nearest kits. The constants of the model were found on other splits of the
three quarters that are known here.
"""

from __future__ import annotations

import csv
import sys
from collections import defaultdict
from pathlib import Path
from time import perf_counter

import numpy as np
from scipy.sparse import diags

from kitting.audit import together

KITS = Path(__file__).resolve().parents[3] / "shared" / "real" / "kits"
HARDWARE = ("Pin", "Bush", "Axle", "Gear", "Connector")
SEED, EACH, NEAR = 2026, 6, 0.7


def rows(name):
    with (KITS / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read():
    """Return the kits as a matrix, and which parts are hardware."""
    held = defaultdict(set)
    for line in rows("kits_train_lines.csv"):
        if line["is_spare"] == "f":
            held[line["set_num"]].add(line["part_num"])
    parts = {p: n for n, p in enumerate(sorted({p for kit in held.values() for p in kit}))}
    kind = {c["id"]: c["name"] for c in rows("part_categories.csv")}
    of = {p["part_num"]: kind[p["part_cat_id"]] for p in rows("parts.csv")}
    hardware = np.array([any(w in of.get(p, "") for w in HARDWARE) for p in parts])
    kits = [[parts[p] for p in held[name]] for name in sorted(held)]
    return together.kit_matrix(kits, len(parts)), hardware


def split(count, seed=SEED):
    """Return the kits that are known, and the quarter held back."""
    order = np.random.default_rng(seed).permutation(count)
    return np.sort(order[count // 4 :]), np.sort(order[: count // 4])


def taken_out(kits, wanted, seed=SEED):
    """Return kits without one part each, the part, and which kit it was."""
    rng = np.random.default_rng(seed)
    left, hidden, number = [], [], []
    for n in range(kits.shape[0]):
        held = kits.indices[kits.indptr[n] : kits.indptr[n + 1]]
        for part in rng.permutation(held[wanted[held]])[:EACH]:
            left.append([p for p in held.tolist() if p != part])
            hidden.append(int(part))
            number.append(n)
    return together.kit_matrix(left, kits.shape[1]), np.array(hidden), np.array(number)


def popularity(known, kits):
    """Return how many known kits hold each part, the same for every kit."""
    return np.tile(np.asarray(known.sum(axis=0)).ravel(), (kits.shape[0], 1))


def cosine(known, kits):
    """Return the sum over a kit's parts of their cosine with each part, over the known kits."""
    unit = known @ diags(1 / np.sqrt(np.maximum(np.asarray(known.sum(axis=0)).ravel(), 1.0)))
    like = (unit.T @ unit).tolil()
    like.setdiag(0)
    return (kits @ like.tocsr()).toarray()


def hits(scores, kits, hidden, first=10):
    """Tell for each kit whether the hidden part is among the first; equal scores share places."""
    scores = together.without_held(scores, kits)
    own = scores[np.arange(len(hidden)), hidden][:, None]
    place = (scores > own).sum(axis=1) + ((scores == own).sum(axis=1) - 1) / 2
    return place < first


def likeness(known, kits):
    """Return the greatest share of parts in common with a known kit, of each kit."""
    both = (kits @ known.T).toarray()
    sizes = np.asarray(kits.sum(axis=1)) + np.asarray(known.sum(axis=1)).T
    return (both / (sizes - both)).max(axis=1)


def measure(seed=SEED):
    """Return rows of the table: what was hidden, the way, share of hits, of those no near-copy."""
    kits, hardware = read()
    known_at, back_at = split(kits.shape[0], seed)
    known, back = kits[known_at], kits[back_at]
    copies = likeness(known, back) >= NEAR
    models = {"plain closed form": together.fit(known, 20.0, 0.0, 0.0), "ours": together.fit(known)}
    table = []
    for what, wanted in (("any part", np.ones(len(hardware), bool)), ("hardware", hardware)):
        left, hidden, number = taken_out(back, wanted, seed)
        ways = {
            "most frequent": popularity(known, left),
            "item-item cosine": cosine(known, left),
            "30 nearest kits": together.nearest(known, left),
            "plain closed form": models["plain closed form"].scores(left),
            "ours": together.missing_scores(models["ours"], left),
        }
        for way, scores in ways.items():
            hit = hits(scores, left, hidden)
            fresh = ~copies[number]
            table.append((what, way, len(hit), hit.mean(), hit[fresh].mean(), hit[~fresh].mean()))
    return table


def seconds():
    """Return how long it takes to fit all kits and to score every one."""
    kits, _ = read()
    began = perf_counter()
    together.missing_scores(together.fit(kits), kits)
    return perf_counter() - began, kits.shape


def main():
    """Print the table."""
    if not KITS.is_dir():
        print("the published part sets are not beside the project (shared/real/kits)")
        return 1
    print(f"{'hidden':10} {'way':20} {'cases':>6} {'hit@10':>7} {'fresh':>7} {'copies':>7}")
    found = measure()
    for what, way, cases, share, fresh, copy in found:
        print(f"{what:10} {way:20} {cases:6} {share:7.3f} {fresh:7.3f} {copy:7.3f}")
    for what in ("any part", "hardware"):
        by = {way: share for w, way, _, share, *_ in found if w == what}
        floor = max(by["most frequent"], by["item-item cosine"], by["30 nearest kits"])
        ours, plain = by["ours"], by["plain closed form"]
        print(f"{what}: {ours / floor:.2f} times the better floor, {ours / plain:.2f} times plain")
    spent, shape = seconds()
    print(f"fit and score {shape[0]} kits of {shape[1]} parts: {spent:.1f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
