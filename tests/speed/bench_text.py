"""How well the rules of ``text_rules.csv`` find texts that tell of missing parts.

Run as a script: ``python tests/speed/bench_text.py``. The texts belong to other people and are
read in place, from the folder ``shared`` beside the project's own:

- excavator work orders, labelled by their owners "Missing / Loose": once as labelled, by all rules;
  once without the rows whose text says loose, by the rules for missing parts and waiting alone;
- notes on mobile plant, labelled word by word: texts with the word missing labelled as a state;
- a piston-engine log without labels: texts in which a wide net found a word of missing or waiting,
  judged by hand; what is not meant so is listed by number here.
"""

from __future__ import annotations

import csv
import json
import re
import sys
from pathlib import Path

import pandas as pd

from kitting.audit import mentions, wilson
from kitting.reading.texts import text_rules
from kitting.tables.audit import TEXTS
from kitting.tables.shop import PARTS

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "real" / "maintenance"
NET = re.compile(
    r"missing|misisng|on order|\border(ed)?\b|waiting|await|fell off|fell out|is gone|left off"
    r"|not installed|not fitted|back ?order|out of stock",
    re.IGNORECASE,
)
# An engine that runs unevenly, and plugs whose fingers or tabs wore away: no part is missing.
NOT_MEANT = re.compile(r'"MISSING" ON RUN UP|MISSING (FINGERS|TEETH|TABS)|TABS MISSING')


def rows(name):
    with (FOLDER / name).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def found(texts, kinds=("missing", "waiting", "loose")):
    """Return whether the rules find each text."""
    frame = pd.DataFrame({"row": range(len(texts)), "build": "", "text": texts})
    hits = mentions(TEXTS.conform(frame), text_rules(), PARTS.empty())
    told = set(hits.loc[hits["kind"].isin(kinds), "row"])
    return [n in told for n in range(len(texts))]


def scored(texts, truth, kinds=("missing", "waiting", "loose")):
    """Return precision, recall, how many were found, how many are true."""
    told = found(texts, kinds)
    both = sum(a and b for a, b in zip(told, truth, strict=True))
    return both / max(sum(told), 1), both / max(sum(truth), 1), sum(told), sum(truth)


def measure():
    """Return rows of the table: which texts, how many, precision, recall, found, true."""
    orders = rows("excavator_work_orders_a.csv")
    texts = [r["OriginalShorttext"] for r in orders]
    label = ["Missing / Loose" in r["FM"] for r in orders]
    strict = [a and "loose" not in t.casefold() for a, t in zip(label, texts, strict=True)]
    some = ("missing", "waiting")
    table = [
        ("excavator, as labelled", len(texts), *scored(texts, label)),
        ("excavator, loose aside", len(texts), *scored(texts, strict, some)),
    ]
    lines = (FOLDER / "maintie_gold_a.jsonl").read_text(encoding="utf-8").splitlines()
    notes = [json.loads(line) for line in lines]
    states = [
        any(
            "missing" in n["tokens"][e["start"] : e["end"]] and "State" in e["type"]
            for e in n["entities"]
        )
        for n in notes
    ]
    table.append(("mobile plant", len(notes), *scored([n["text"] for n in notes], states, some)))
    log = rows("aircraft_engine_log_a.csv")
    both = [f"{r['PROBLEM']} | {r['ACTION']}" for r in log]
    meant = [bool(NET.search(t)) and not NOT_MEANT.search(t) for t in both]
    table.append(("piston engines, by hand", len(both), *scored(both, meant, some)))
    return table


def main():
    """Print the table."""
    if not FOLDER.is_dir():
        print("the maintenance texts are not beside the project (shared/real/maintenance)")
        return 1
    head = ("texts", "of", "precision", "recall", "found", "true")
    print("{:24} {:>6} {:>9} {:>7} {:>6} {:>5}  recall 95 %".format(*head))
    for name, count, precision, recall, told, true in measure():
        low, high = wilson(round(recall * true), true)
        print(
            f"{name:24} {count:6} {precision:9.2f} {recall:7.2f} {told:6} {true:5}"
            f"  {float(low):.2f}-{float(high):.2f}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
