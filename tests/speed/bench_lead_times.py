"""How well learned lead times foretell later deliveries, on real public orders.

Run as a script: ``python tests/speed/bench_lead_times.py``. The orders (a US government delivery
history of health supplies) are read in place from the folder ``shared`` beside the project's own.
They are no engine parts: only days, vendors and destinations are used, in weekdays.

Month by month the orders up to its first day are learned from, open ones censored, and the orders
of that month are foretold; nothing that came later is known. A vendor's orders are drawn towards
all vendors', and those to one country towards the vendor's.

The file holds one promise for each line, the last: where a delivery slipped, its promise was
re-dated to fit, and more than eight in ten come to the day. Nobody who orders knows that promise.
So the stated promise is what the vendor's orders so far had been promised, as a catalog states it
(the middle of it), and the re-dated promise is told apart in the second table.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path

import numpy as np

from kitting.timing.lead_times import HALF_LIFE, STRENGTH, LeadClass
from kitting.timing.survival import learned_by, quantile

FILE = Path(__file__).resolve().parents[3] / "shared" / "real" / "orders" / "scms_past.csv"
FIRST, LAST = date(2008, 1, 1), date(2011, 4, 1)
"""Months that are foretold. The file leaves out what was due after 4 December 2011, so that of
orders sent late in it only the quick ones are there; the last eight months are left off."""
LEVELS = (0.5, 0.8, 0.9)
ASSUMED = LeadClass("", (), 0, 10, 0.6)


@dataclass(frozen=True)
class Orders:
    """Lines with usable days, as arrays.

    Parameters
    ----------
    sent, promised, came
        Days.
    vendor, path, order
        Vendor; all, vendor and country; order number.
    odd
        How many lines were left out since they are said to come before they were sent.
    """

    sent: np.ndarray
    promised: np.ndarray
    came: np.ndarray
    vendor: np.ndarray
    path: list[tuple[str, str, str]]
    order: np.ndarray
    odd: int


def day_sent(text: str) -> np.datetime64 | None:
    """Read ``M/D/YY`` or ``MM/DD/YYYY``; other texts say that the day is not known."""
    parts = text.split("/")
    if len(parts) != 3:
        return None
    month, day, year = (int(p) for p in parts)
    return np.datetime64(date(year + 2000 if year < 100 else year, month, day), "D")


def read() -> Orders:
    """Read the lines that tell when they were sent."""
    rows, odd = [], 0
    with FILE.open(encoding="utf-8-sig", newline="") as file:
        for row in csv.DictReader(file):
            sent = day_sent(row["PO Sent to Vendor Date"])
            if sent is None:
                continue
            promised, came = (
                np.datetime64(datetime.strptime(row[name], "%d-%b-%y").date(), "D")
                for name in ("Scheduled Delivery Date", "Delivered to Client Date")
            )
            if came < sent or promised < sent:
                odd += 1
                continue
            path = ("", row["Vendor"], row["Country"])
            rows.append((sent, promised, came, row["Vendor"], path, row["PO / SO #"]))
    sent, promised, came, vendor, path, order = zip(*rows, strict=True)
    days = (np.array(d, dtype="datetime64[D]") for d in (sent, promised, came))
    return Orders(*days, np.array(vendor), list(path), np.array(order), odd)


def weights(orders: Orders, known: np.ndarray, today: np.datetime64) -> np.ndarray:
    """Return what each known line counts for: a part of its delivery, older ones less."""
    keys = list(zip(orders.order[known], orders.promised[known], strict=True))
    size = Counter(keys)
    age = (today - orders.sent[known]).astype(int) / HALF_LIFE
    return 0.5**age / np.array([size[key] for key in keys])


def foretell(orders: Orders, base: str) -> dict[str, np.ndarray]:
    """Foretell each line month by month.

    Parameters
    ----------
    base
        ``sent``: days from the day of ordering; ``promised``: days after the last promise.

    Returns
    -------
    dict
        Days that came true, the days foretold at each level, and the two plain answers.
    """
    from_day = orders.sent if base == "sent" else orders.promised
    truth = np.busday_count(from_day, orders.came)
    stated = np.busday_count(orders.sent, orders.promised)
    months = np.arange(np.datetime64(FIRST, "M"), np.datetime64(LAST, "M") + 1).astype("M8[D]")
    rows: list[tuple] = []
    for today, following in pairwise(months):
        known = np.flatnonzero(orders.sent <= today)
        came = orders.came[known] <= today
        until = np.where(came, orders.came[known], today)
        slip = np.busday_count(from_day[known], until)
        data = slip, came, weights(orders, known, today)
        found = learned_by(data, [orders.path[n] for n in known], {"": ASSUMED.share()}, STRENGTH)
        plain = _plain(orders, known, came, truth, stated)
        for n in np.flatnonzero((orders.sent > today) & (orders.sent <= following)):
            path = orders.path[n]
            share = next(found[path[:d]] for d in (3, 2, 1) if path[:d] in found)
            vendor = orders.vendor[n] if orders.vendor[n] in plain else ""
            said, mean = plain[vendor] if base == "sent" else (0.0, plain[vendor][1])
            rows.append((truth[n], *(quantile(share, level) for level in LEVELS), said, mean))
    columns = np.array(rows, dtype="float64").T
    return dict(zip(("truth", *LEVELS, "stated", "mean"), columns, strict=True))


def _plain(
    orders: Orders, known: np.ndarray, came: np.ndarray, truth: np.ndarray, stated: np.ndarray
) -> dict[str, tuple[float, float]]:
    """Return the middle of what was promised and the mean of what came, by vendor and of all."""
    done = known[came]
    answers = {"": (float(np.median(stated[known])), float(truth[done].mean()))}
    for vendor in set(orders.vendor[done]):
        mine = done[orders.vendor[done] == vendor]
        said = stated[known[orders.vendor[known] == vendor]]
        answers[str(vendor)] = (float(np.median(said)), float(truth[mine].mean()))
    return answers


def loss(truth: np.ndarray, told: np.ndarray, level: float) -> float:
    """Return the mean pinball loss [weekdays]."""
    over = truth - told
    return float(np.maximum(level * over, (level - 1) * over).mean())


def table(found: dict[str, np.ndarray]) -> list[tuple[float, float, float, float, float]]:
    """Return level, loss of learned, stated and mean, and the share that came by the day told."""
    truth = found["truth"]
    return [
        (
            level,
            *(loss(truth, found[name], level) for name in (level, "stated", "mean")),
            float((truth <= found[level]).mean()),
        )
        for level in LEVELS
    ]


def main() -> int:
    """Print both tables."""
    if not FILE.is_file():
        print("shared/real/orders/scms_past.csv is not beside the project; nothing measured")
        return 0
    orders = read()
    print(
        f"{len(orders.sent)} lines with a day of ordering ({orders.odd} left out: they came, or "
        f"were promised, before they were sent); strength {STRENGTH:g}, half-life {HALF_LIFE:g} d"
    )
    for base, title in (
        ("sent", "from the day of ordering; stated = what the vendor's orders had been promised"),
        ("promised", "after the last promise, re-dated; stated = that promise, in hindsight"),
    ):
        found = foretell(orders, base)
        print(f"\n{title}\n{len(found['truth'])} lines sent {FIRST} to {LAST}, month by month")
        print("level   learned  stated    mean   came by the day told")
        for level, ours, stated, mean, share in table(found):
            print(f" {level:4.0%}  {ours:8.2f}{stated:8.2f}{mean:8.2f}   {share:6.1%}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
