"""What to expect of a supplier, learned from its orders, and assumed while there are few.

What is learned is by how many of the supplier's working days a line comes after its stated day.
Levels, each drawn towards the one above as if that were ``STRENGTH`` more deliveries: the
assumption for the class of offer, the shop's orders of that class, the supplier's orders of it,
and those of them that one carrier brings, where the shop's offers tell which.
An order's lines with one promise are one delivery together, and a delivery counts for half after
each ``HALF_LIFE``, since suppliers change.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import erf, exp, log, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.errors import InputError
from kitting.tables.outlook import LIKELY_DAYS
from kitting.terms.findings import Finding
from kitting.terms.words import Level
from kitting.timing.received import delivered
from kitting.timing.roads import carriers_of_offers
from kitting.timing.survival import CELLS, EARLIEST, LATEST, learned_by, quantile

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.survival import Real

STRENGTH = 5.0
"""Deliveries that the level above counts for: at ten own ones, two thirds of the weight is own."""
HALF_LIFE = 365.25
"""Days after which a delivery counts for half; chosen on public orders that changed with time."""
TAIL = 5.0
"""[A] Nine in ten late deliveries are late by less than this many times the middle one."""
_NINE_TENTHS = 0.9


@dataclass(frozen=True, slots=True)
class LeadClass:
    """What is assumed of a kind of offer while there are no orders of it.

    Parameters
    ----------
    name
        Its name.
    also
        Other words for it in ``suppliers``, column ``kind``.
    stated_from
        Stated days from which offers are of this class; ``None`` = only by the supplier's kind.
    spread
        Days after the stated day within which nine in ten come [working days].
    on_time
        Share that comes by the stated day.
    """

    name: str
    also: tuple[str, ...]
    stated_from: int | None
    spread: int
    on_time: float

    def share(self) -> Real:
        """Return the cumulative share that comes by each day from ``EARLIEST`` to ``LATEST``.

        ``on_time`` by the stated day; the days of the late ones are log-normal with the ratio
        ``TAIL``, so that nine in ten of all come within ``spread``.
        """
        days = np.arange(EARLIEST, LATEST + 1)
        if self.on_time >= _NINE_TENTHS or self.spread <= 0:
            return np.where(days < 0, 0.0, 1.0)
        sigma = log(TAIL) / NormalDist().inv_cdf(_NINE_TENTHS)
        late = (_NINE_TENTHS - self.on_time) / (1.0 - self.on_time)
        middle = self.spread * exp(-NormalDist().inv_cdf(late) * sigma)
        tail = [0.5 * (1 + erf(log(d / middle) / (sigma * sqrt(2)))) for d in range(1, LATEST + 1)]
        share = np.zeros(CELLS)
        share[-EARLIEST:] = self.on_time + (1.0 - self.on_time) * np.array([0.0, *tail])
        return share


PLAIN = LeadClass("", (), 0, 0, 1.0)
"""Stands for every offer when no classes are given: the stated days, to the letter."""


@dataclass(frozen=True, eq=False)
class LeadTimes:
    """How long each supplier takes, as a distribution over working days after the stated day.

    Parameters
    ----------
    classes
        Classes of offers.
    kinds
        Class by supplier, where the supplier's kind says it.
    assumed
        Cumulative share by day from ``EARLIEST`` to ``LATEST``, by class.
    learned
        The same by class, by class and supplier, and by class, supplier and carrier, where there
        are orders.
    confidence
        The shop's confidence: the share within which it plans.
    past
        Table ``delivered``.
    """

    classes: tuple[LeadClass, ...]
    kinds: Mapping[str, str]
    assumed: Mapping[str, Real]
    learned: Mapping[tuple[str, ...], Real]
    confidence: float
    past: pd.DataFrame

    def class_of(self, supplier: str, stated: int) -> str:
        """Return the class of an offer: the supplier's kind, else by the stated days."""
        return _class_of(self.classes, self.kinds, supplier, stated)

    def share(self, supplier: str, of_class: str, carrier: str = "") -> Real:
        """Return the cumulative share that comes by each day after the stated one.

        Parameters
        ----------
        supplier
            The supplier.
        of_class
            Class of its offer.
        carrier
            Who brings it; blank = whoever does.
        """
        for path in ((of_class, supplier, carrier), (of_class, supplier), (of_class,)):
            if path in self.learned:
                return self.learned[path]
        return self.assumed[of_class]

    def days(self, supplier: str, stated: int, carrier: str = "") -> int:
        """Return the days from order to door within which the shop's confidence is reached.

        Parameters
        ----------
        supplier
            The supplier.
        stated
            The days that it states [working days].
        carrier
            Who brings it; blank = whoever does.

        Returns
        -------
        int
            [working days of the supplier, and the carrier's on the road]
        """
        share = self.share(supplier, self.class_of(supplier, stated), carrier)
        return max(stated + quantile(share, self.confidence), 0)


def confidence(shop: Shop) -> float:
    """Return the share within which the shop plans, setting ``confidence``; 0.9 unless given.

    Raises
    ------
    InputError
        When it is not from 50 to 99.9 %.
    """
    text = shop.setting("confidence").replace("%", "").strip() or "90"
    try:
        share = float(text) / 100
    except ValueError:
        share = 0.0
    if 0.5 <= share <= 0.999:
        return share
    message = f'confidence is "{text}"; write a number from 50 to 99.9, such as 90'
    raise InputError(message, (Finding(Level.STOP, message, "shop", column="value"),))


def lead_times(
    shop: Shop,
    day: date,
    calendars: Mapping[str, Calendar],
    classes: pd.DataFrame | None = None,
) -> LeadTimes:
    """Learn how long each supplier takes, from what was known on a day.

    Parameters
    ----------
    shop
        Reads ``orders``, ``receipts``, ``offers``, ``suppliers``, ``carriers`` and ``shop``
        (setting ``confidence``).
    day
        The day of the plan; what came later does not count.
    calendars
        From ``calendars``.
    classes
        Table ``lead_classes``; without it stated days are kept to the letter until orders tell
        otherwise.

    Raises
    ------
    InputError
        When the setting ``confidence`` is not a share.
    UnknownName
        When an order's supplier is not in ``suppliers``.
    """
    known = read_classes(classes)
    kinds = _kinds(shop["suppliers"], known)
    past = delivered(shop, day, calendars)
    return LeadTimes(known, kinds, *learn(past, known, kinds, day), confidence(shop), past)


def likely_days(shop: Shop, times: LeadTimes) -> pd.DataFrame:
    """Return how long to allow for each offer with the shop's confidence, table ``likely_days``.

    Parameters
    ----------
    shop
        Reads ``offers``, ``suppliers`` and ``carriers``.
    times
        From ``lead_times``.
    """
    offers = shop["offers"]
    names = (offers[c].tolist() for c in ("supplier", "lead_days"))
    pairs = list(zip(*names, carriers_of_offers(shop, offers), strict=True))
    answers = {
        (supplier, stated, carrier): (
            times.class_of(supplier, stated),
            times.days(supplier, stated, carrier),
        )
        for supplier, stated, carrier in dict.fromkeys(pairs)
    }
    frame = pd.DataFrame(
        {
            "offer": offers["offer"].array,
            "class": [answers[pair][0] for pair in pairs],
            "stated": offers["lead_days"].array,
            "likely": [answers[pair][1] for pair in pairs],
        }
    )
    return LIKELY_DAYS.conform(frame)


def read_classes(classes: pd.DataFrame | None) -> tuple[LeadClass, ...]:
    """Return the classes of table ``lead_classes``; ``PLAIN`` alone without one."""
    if classes is None or classes.empty:
        return (PLAIN,)
    return tuple(
        LeadClass(
            name=str(row["class"]),
            also=tuple(w.strip() for w in str(row["also"]).split(";") if w.strip()),
            stated_from=int(row["stated_from"]) if row["by_days"] else None,
            spread=int(row["p90"]) - int(row["p50"]),
            on_time=int(row["on_time"]) / 100,
        )
        for row in classes.to_dict("records")
    )


def learn(
    past: pd.DataFrame, classes: tuple[LeadClass, ...], kinds: Mapping[str, str], day: date
) -> tuple[dict[str, Real], dict[tuple[str, ...], Real]]:
    """Learn the days after the stated day, by class, by supplier in it, and by its carriers.

    Parameters
    ----------
    past
        Table ``delivered``.
    classes
        What is assumed.
    kinds
        Class by supplier.
    day
        The day from which the age of orders counts.

    Returns
    -------
    tuple
        Cumulative share by day from ``EARLIEST`` to ``LATEST``: assumed by class, and learned by
        class, by class and supplier, and by those and the carrier.
    """
    assumed = {c.name: c.share() for c in classes}
    came = past["came"].to_numpy("bool")
    # What is open may still come on the last day that is counted: it was awaited to the one before.
    slip = (past["days"] - past["stated"]).to_numpy("int64") - ~came
    data = slip, came, weights(past, day)
    names = classes_of(past, classes, kinds)
    columns = (past["supplier"].tolist(), past["carrier"].tolist())
    paths = [
        (name, supplier, carrier) if carrier else (name, supplier)
        for name, supplier, carrier in zip(names, *columns, strict=True)
    ]
    return assumed, learned_by(data, paths, assumed, STRENGTH)


def weights(past: pd.DataFrame, day: date) -> Real:
    """Return what each line counts for: its part of its delivery, halved with each half-life."""
    promised = past["promised"].to_numpy("datetime64[s]").astype("int64").tolist()
    together = list(zip(past["order"].tolist(), promised, strict=True))
    size = Counter(together)
    age = (np.datetime64(day, "s") - past["ordered"].to_numpy("datetime64[s]")).astype("int64")
    shared = np.array([size[key] for key in together], dtype="float64")
    return np.asarray(np.power(0.5, age / 86_400 / HALF_LIFE) / np.maximum(shared, 1.0))


def _kinds(suppliers: pd.DataFrame, classes: tuple[LeadClass, ...]) -> dict[str, str]:
    """Return the class of each supplier whose kind names one."""
    if "kind" not in suppliers.columns:
        return {}
    words = {w.casefold(): c.name for c in classes for w in (c.name, *c.also) if w}
    pairs = zip(suppliers["supplier"], suppliers["kind"], strict=True)
    found = {s: words.get(" ".join(k.split()).casefold()) for s, k in pairs}
    return {str(s): c for s, c in found.items() if c is not None}


def _class_of(
    classes: tuple[LeadClass, ...], kinds: Mapping[str, str], supplier: str, stated: int
) -> str:
    if supplier in kinds:
        return kinds[supplier]
    fits = [c for c in classes if c.stated_from is not None and c.stated_from <= stated]
    return max(fits, key=lambda c: c.stated_from or 0).name if fits else classes[0].name


def classes_of(
    rows: pd.DataFrame, classes: tuple[LeadClass, ...], kinds: Mapping[str, str]
) -> list[str]:
    """Return the class of each row by its ``supplier`` and ``stated`` days."""
    found: dict[tuple[str, int], str] = {}
    out = []
    for key in zip(rows["supplier"].tolist(), rows["stated"].tolist(), strict=True):
        if key not in found:
            found[key] = _class_of(classes, kinds, *key)
        out.append(found[key])
    return out
