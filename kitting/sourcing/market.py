"""What the shop could buy: sellers, deals with their price steps, stand-ins and sets."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from kitting.sourcing.cores import read_cores
from kitting.sourcing.sellers import Seller, read_sellers
from kitting.tables.hazards import refused
from kitting.terms.money import amount

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from kitting.sourcing.cores import Cores
    from kitting.tables.shop import Shop

FAR = 10**7
"""A need without a day: everything is in time for it [days after 1970-01-01]."""
NEVER = FAR + 1
"""An offer without a day: it is in time for nothing."""


@dataclass(frozen=True, slots=True)
class Step:
    """One row of a deal's price breaks: this price holds for all packs from ``from_packs``."""

    offer: int
    from_packs: int
    least_packs: int
    price: int
    per: int


class Quote(NamedTuple):
    """The cheapest way to buy at least some units by a deal, in the seller's cents.

    Parameters
    ----------
    step
        The price step that holds.
    cost
        Price of the packs.
    deposit, lost
        Deposit on their old parts, and how much of it is not expected back.
    """

    step: Step
    packs: int
    cost: int
    deposit: int = 0
    lost: int = 0


@dataclass(frozen=True, slots=True)
class Deal:
    """Price rows of one supplier for one part and pack that are usable on one day.

    Parameters
    ----------
    deposit
        Paid for each pack besides its price until the old part is back [cents of the seller].
    """

    seller: Seller
    part: str
    supplier_part: str
    pack: int
    steps: tuple[Step, ...]
    arrives: int
    usable: int
    deposit: int = 0

    def quote(self, units: int) -> Quote:
        """Find the cheapest purchase of at least ``units``, a higher price break included.

        What is not expected back of the deposit counts as the price does. Within one step the cost
        rises with the packs, so the least packs of each step suffice.
        """
        wanted = max(1, -(-units // self.pack))
        best: Quote | None = None
        for step, until in zip(self.steps, (*self.steps[1:], None), strict=True):
            packs = max(wanted, step.from_packs, step.least_packs)
            if until is not None and packs >= until.from_packs:
                continue
            cost = sum(price for _, _, price in self.chunks(step, packs))
            deposit = packs * self.deposit
            lost = self.seller.not_back(deposit) if deposit else 0
            if best is None or cost + lost < best.cost + best.lost:
                best = Quote(step, packs, cost, deposit, lost)
        assert best is not None  # the last step has no upper end
        return best

    def chunks(self, last: Step, packs: int) -> list[tuple[Step, int, int]]:
        """Return the step, packs and cents of each line on the order for some packs.

        One line at the price of the last step; with incremental breaks one line for each step.
        """
        if not self.seller.incremental:
            return [(last, packs, amount(packs * self.pack, last.price, last.per))]
        lines, below = [], 0
        reached = [step for step in self.steps if step.from_packs <= packs]
        for step, until in zip(reached, (*reached[1:], None), strict=True):
            here = (packs if until is None else until.from_packs - 1) - below
            below += here
            if here:
                lines.append((step, here, amount(here * self.pack, step.price, step.per)))
        return lines

    def cost(self, units: int) -> int:
        """Return the cost of at least ``units`` in cents of the shop's currency."""
        return self.paid(self.quote(units))

    def paid(self, quote: Quote) -> int:
        """Return price and lost deposit of a quote in cents of the shop's currency."""
        cost = self.seller.in_shop_money(quote.cost)
        return cost + self.seller.in_shop_money(quote.lost) if quote.lost else cost


@dataclass(frozen=True, slots=True)
class Way:
    """A deal that covers a part: by itself, by a stand-in, or as a set that holds it.

    Parameters
    ----------
    take, give
        Base units of the deal's part that serve, and for how many of the part.
    inside
        The part is taken out of the set that the deal buys.
    """

    deal: Deal
    part: str
    take: int = 1
    give: int = 1
    inside: bool = False

    def units(self, quantity: int) -> int:
        """Return the units of the deal's part that serve for a quantity of the part."""
        return -(-quantity * self.take // self.give)

    def cost(self, quantity: int) -> int:
        """Return the cost of covering a quantity in cents of the shop's currency."""
        return self.deal.cost(self.units(quantity))


@dataclass(frozen=True)
class Market:
    """Everything that could be bought for some short parts.

    Parameters
    ----------
    currency
        The shop's currency, in which costs are compared.
    deals
        Deals by the part that is bought.
    ways
        Ways to cover each short part alone, the part's own deals first.
    sets
        Deals that buy a set, with how many of each short part one set holds.
    expired, asked, unusable
        Offers that ended before the day, offers whose price or lead time is not known yet, and
        offers whose pack or price basis is not above zero: frames in the columns of ``offers``.
    not_sent
        Offers of hazardous parts by sellers who bring none, or by carriers who take none, in the
        columns of ``offers``; ``carrier`` is blank where it is the seller.
    bad_rates
        Currencies for which no rate can be read.
    hazardous
        Parts with a hazard, of all that could be bought.
    cores
        How many old parts come back accepted.
    faults
        Settings that could not be read, in words.
    """

    currency: str
    deals: Mapping[str, tuple[Deal, ...]]
    ways: Mapping[str, tuple[Way, ...]]
    sets: tuple[tuple[Deal, Mapping[str, int]], ...]
    expired: pd.DataFrame
    asked: pd.DataFrame
    unusable: pd.DataFrame
    not_sent: pd.DataFrame
    bad_rates: tuple[str, ...]
    hazardous: frozenset[str]
    cores: Cores
    faults: tuple[str, ...]


def day_numbers(days: pd.Series, blank: int) -> list[int]:
    """Return days after 1970-01-01; ``blank`` stands for a missing day."""
    values = days.to_numpy().astype("datetime64[D]")
    numbers = np.where(np.isnat(values), blank, values.astype("int64"))
    found: list[int] = numbers.tolist()
    return found


def read_market(shop: Shop, short: Iterable[str], offer_days: pd.DataFrame, today: int) -> Market:
    """Gather what could cover the short parts.

    Parameters
    ----------
    short
        Part numbers with shortages.
    offer_days
        Table ``offer_days``.
    today
        Day of the plan [days after 1970-01-01].
    """
    wanted = tuple(dict.fromkeys(short))
    links = _links(shop["stand_ins"])
    serves = {part: _stand_ins(part, links) for part in wanted}
    contents = _contents(shop["sets"], wanted)
    looked_for = {*wanted, *contents, *(s for found in serves.values() for s, _, _ in found)}
    offers = shop["offers"]
    offers = offers[offers["part"].isin(looked_for)]
    expired = offers["valid_to"].to_numpy() < np.datetime64(today, "D")
    asked = (offers["price"].isna() | offers["lead_days"].isna()).to_numpy() & ~expired
    pack, per, price = (offers[c].to_numpy("int64", na_value=0) for c in ("pack", "per", "price"))
    broken = (pack <= 0) | (per <= 0) | (price < 0)
    cores, faults = read_cores(shop)
    sellers, unread = read_sellers(shop, cores.percent)
    hazardous = _hazardous(shop, looked_for)
    refuse, refuses = refused(shop, offers)
    deals = _deals(offers[~expired & ~asked & ~broken & ~refuse], offer_days, sellers, shop)
    ways = {
        part: (
            *(Way(deal, part) for deal in deals.get(part, ())),
            *(Way(d, part, take, give) for s, take, give in found for d in deals.get(s, ())),
        )
        for part, found in serves.items()
    }
    used = [d.seller for found in deals.values() for d in found]
    return Market(
        currency=shop.setting("currency"),
        deals=deals,
        ways=ways,
        sets=tuple((deal, held) for name, held in contents.items() for deal in deals.get(name, ())),
        expired=offers[expired],
        asked=offers[asked],
        unusable=offers[~expired & ~asked & broken],
        not_sent=offers.assign(carrier=refuses)[~expired & ~asked & ~broken & refuse],
        bad_rates=tuple(sorted({seller.currency for seller in used if seller.rate is None})),
        hazardous=hazardous,
        cores=cores,
        faults=(*faults, *unread),
    )


def _hazardous(shop: Shop, wanted: set[str]) -> frozenset[str]:
    """Return the parts that have hazard words."""
    parts = shop["parts"]
    marked = parts.loc[(parts["hazard"] != "") & parts["part"].isin(wanted), "part"]
    return frozenset(marked)


def _deals(
    offers: pd.DataFrame, offer_days: pd.DataFrame, sellers: Mapping[str, Seller], shop: Shop
) -> dict[str, tuple[Deal, ...]]:
    """Group price rows into deals; of two rows with the same ``from_packs`` the cheaper stands."""
    arrives = dict(zip(offer_days["offer"], day_numbers(offer_days["arrives"], NEVER), strict=True))
    usable = dict(zip(offer_days["offer"], day_numbers(offer_days["usable"], NEVER), strict=True))
    key = ("offer", "supplier", "part", "supplier_part", "pack", "core_deposit")
    columns = (*key, "from_packs", "least_packs", "price", "per")
    rows = zip(*(offers[c].tolist() for c in columns), strict=True)
    groups: dict[tuple[str, str, str, int, int, int], dict[int, Step]] = defaultdict(dict)
    for offer, supplier, part, number, pack, core, from_packs, least, price, per in rows:
        steps = groups[part, supplier, number, pack, max(0, core), usable.get(offer, NEVER)]
        step = Step(offer, max(1, from_packs), max(1, least), price, per)
        known = steps.get(step.from_packs)
        if known is None or price * known.per < known.price * per:
            steps[step.from_packs] = step
    home = shop.setting("currency")
    deals: dict[str, list[Deal]] = defaultdict(list)
    for (part, supplier, number, pack, core, day), steps in groups.items():
        ordered = tuple(steps[n] for n in sorted(steps))
        seller = sellers.get(supplier) or Seller(supplier, home, Fraction(1))
        door = min(arrives.get(step.offer, NEVER) for step in ordered)
        deals[part].append(Deal(seller, part, number, pack, ordered, door, day, core))
    return {part: tuple(found) for part, found in deals.items()}


def _links(stand_ins: pd.DataFrame) -> dict[str, list[tuple[str, int, int, bool]]]:
    """List for each part what may serve for it directly, and whether by supersession."""
    links: dict[str, list[tuple[str, int, int, bool]]] = defaultdict(list)
    columns = ("part", "stand_in", "kind", "take", "give")
    for part, other, kind, take, give in zip(*(stand_ins[c] for c in columns), strict=True):
        if take > 0 and give > 0:
            links[part].append((other, int(take), int(give), kind == "supersedes"))
            if kind == "alternate":
                links[other].append((part, int(give), int(take), False))
    return links


def _stand_ins(
    part: str, links: Mapping[str, list[tuple[str, int, int, bool]]]
) -> list[tuple[str, int, int]]:
    """List what may serve for a part; a chain of supersessions is followed to its end."""
    found: dict[str, tuple[int, int]] = {}
    ahead = [(part, 1, 1)]
    while ahead:
        here, take, give = ahead.pop(0)
        for other, more_take, more_give, newer in links.get(here, ()):
            if other == part or other in found or not (newer or here == part):
                continue
            ratio = Fraction(take * more_take, give * more_give)
            found[other] = (ratio.numerator, ratio.denominator)
            if newer:
                ahead.append((other, *found[other]))
    return [(name, take, give) for name, (take, give) in found.items()]


def _contents(sets: pd.DataFrame, wanted: tuple[str, ...]) -> dict[str, dict[str, int]]:
    """Tell how many of each wanted part one set brings, sets in sets included.

    What a set holds and must not be fitted (``do not fit``) covers nothing.
    """
    inside: dict[str, list[tuple[str, int]]] = defaultdict(list)
    holders: dict[str, set[str]] = defaultdict(set)
    columns = ("set", "part", "quantity", "fits")
    for name, part, quantity, fits in zip(*(sets[c] for c in columns), strict=True):
        if fits != "do not fit":
            inside[name].append((part, int(quantity)))
            holders[part].add(name)
    reached: set[str] = set()
    ahead = list(wanted)
    while ahead:
        for name in holders.get(ahead.pop(), ()):
            if name not in reached:
                reached.add(name)
                ahead.append(name)
    found = {name: _held(name, inside, set(wanted), (name,)) for name in sorted(reached)}
    return {name: held for name, held in found.items() if held}


def _held(
    name: str,
    inside: Mapping[str, list[tuple[str, int]]],
    wanted: set[str],
    above: tuple[str, ...],
) -> dict[str, int]:
    """Count the wanted parts in one set; a set that contains itself is not entered again."""
    held: dict[str, int] = defaultdict(int)
    for part, quantity in inside.get(name, ()):
        if part in above:
            continue
        if part in wanted:
            held[part] += quantity
        elif part in inside:
            for deeper, count in _held(part, inside, wanted, (*above, part)).items():
                held[deeper] += quantity * count
    return dict(held)
