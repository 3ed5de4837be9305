"""What a person should know about the choice: whom to ask, what is missing, what was left out."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.market import FAR
from kitting.terms.findings import Finding
from kitting.terms.money import show_cents
from kitting.terms.units import counted, unit
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from kitting.sourcing.demand import Needs
    from kitting.sourcing.market import Market
    from kitting.sourcing.sellers import Seller
    from kitting.sourcing.worth import OrderTerms
    from kitting.tables.shop import Shop


def below_least(goods: Mapping[Seller, int]) -> list[Finding]:
    """Tell which orders do not reach their supplier's least value, and by how much."""
    found = []
    for seller, value in goods.items():
        missing = seller.least_order - value
        if missing > 0:
            text = (
                f"the order to {seller.name} is {show_cents(value, seller.currency)}, "
                f"{show_cents(missing, seller.currency)} below its least of "
                f"{show_cents(seller.least_order, seller.currency)}; "
                "add goods that will be used, or ask whether a smaller order is taken"
            )
            found.append(Finding(Level.WARN, text, about=seller.name))
    return found


def worth_filling(orders: Iterable[OrderTerms]) -> list[Finding]:
    """Tell which orders get cheaper freight when goods are added."""
    found = []
    for order in orders:
        seller, freight = order.seller, order.seller.freight_at(order.goods)
        if order.filling and order.goods >= seller.least_order:
            text = (
                f"adding {show_cents(order.filling, seller.currency)} of goods to the order to "
                f"{seller.name} lowers its freight from {show_cents(freight, seller.currency)} "
                f"to {show_cents(order.freight, seller.currency)}"
            )
            found.append(Finding(Level.NOTE, text, about=seller.name))
    return found


def left_out(market: Market, chosen: Iterable[Seller]) -> list[Finding]:
    """Tell which offers were not used because they ended, are broken or lack a rate."""
    found = []
    for supplier, parts in _parts_of(_without_newer(market)).items():
        text = (
            f"prices of {supplier} for {', '.join(parts)} have ended and were not used; "
            "ask for new ones"
        )
        found.append(Finding(Level.NOTE, text, "offers", about=supplier))
    for supplier, parts in _parts_of(market.asked).items():
        text = (
            f"offers of {supplier} for {', '.join(parts)} have no price or no lead time yet and "
            "were not used; ask for them"
        )
        found.append(Finding(Level.NOTE, text, "offers", about=supplier))
    for supplier, parts in _parts_of(market.unusable).items():
        text = (
            f"offers of {supplier} for {', '.join(parts)} have a pack, price or per that is "
            "not above zero and were not used; correct them"
        )
        found.append(Finding(Level.WARN, text, "offers", about=supplier))
    for carrier, offers in market.not_sent.groupby("carrier", sort=False):
        for supplier, parts in _parts_of(offers).items():
            text = (
                f"{carrier} takes nothing hazardous; offers of {supplier} that it brings were not "
                f"used for {', '.join(parts)}"
                if carrier
                else f"{supplier} sends nothing hazardous; its offers for {', '.join(parts)} "
                "were not used"
            )
            found.append(Finding(Level.NOTE, text, "offers", about=supplier))
    found += [Finding(Level.WARN, fault, "shop") for fault in market.faults]
    used = {seller.currency for seller in chosen}
    for currency in market.bad_rates:
        text = (
            f"no rate is known for {currency}, so offers in {currency} cannot be compared; "
            f'add the setting "rate {currency}": what 1 {currency} is in {market.currency}'
        )
        if currency in used:
            text += "; one of them is chosen for want of another"
        found.append(Finding(Level.WARN, text, "shop", about=currency))
    return found


def _without_newer(market: Market) -> pd.DataFrame:
    """Return the offers that ended and whose supplier has no newer one of the same part."""
    newer = {(d.seller.name, part) for part, found in market.deals.items() for d in found}
    ended = market.expired
    pairs = zip(ended["supplier"], ended["part"], strict=True)
    return ended[np.array([pair not in newer for pair in pairs], bool)]


def ask_customer(shop: Shop, demand: Mapping[str, Needs]) -> list[Finding]:
    """Ask for each part that a customer brings, with the day by which it must be there."""
    names = _names(shop, demand)
    found = []
    for part, needs in demand.items():
        builds = ", ".join(dict.fromkeys(n.build for n in needs if n.build))
        who = f"the customer of {builds}" if builds else "the customer"
        level = Level.NOTE if all(n.deferred for n in needs) else Level.WARN
        text = f"{who} brings {_much(shop, part, needs)} of {names[part]}; ask for it"
        found.append(Finding(level, text + _by(needs), about=part))
    return found


def nobody_offers(shop: Shop, unmet: Mapping[str, Needs], market: Market) -> list[Finding]:
    """Say for each part that nobody sells what is known of it and whom to ask."""
    names = _names(shop, unmet)
    found = []
    for part, needs in unmet.items():
        level = Level.WARN if all(n.deferred for n in needs) else Level.STOP
        where = ", ".join(dict.fromkeys(f"{n.build} {n.stage}".strip() for n in needs))
        known = what_is_known(market, part)
        none = "no offer can be used for" if known else "nobody offers"
        text = f"{none} {names[part]}; {_much(shop, part, needs)} short"
        text += (f" for {where}" if where else "") + _by(needs)
        text += f"; {known}" if known else ""
        asked = ", ".join(whom_to_ask(shop, market, part)) or "the maker or the customer"
        found.append(Finding(level, f"{text}; ask {asked}", "offers", about=part))
    return found


def what_is_known(market: Market, part: str) -> str:
    """Say which offers of a part have ended or cannot be used."""
    words = []
    for frame, what in (
        (market.expired, "the price of {} has ended"),
        (market.asked, "the offer of {} lacks its price or lead time"),
        (market.unusable, "the offer of {} is not complete"),
        (market.not_sent[market.not_sent["carrier"] == ""], "{} sends nothing hazardous"),
    ):
        sellers = list(dict.fromkeys(frame.loc[frame["part"] == part, "supplier"]))
        words += [what.format(name) for name in sellers]
    held = market.not_sent[(market.not_sent["part"] == part) & (market.not_sent["carrier"] != "")]
    pairs = dict.fromkeys(zip(held["supplier"], held["carrier"], strict=True))
    words += [f"{carrier} takes nothing hazardous from {supplier}" for supplier, carrier in pairs]
    return "; ".join(words)


def whom_to_ask(shop: Shop, market: Market, part: str) -> list[str]:
    """List who offered a part before, then who sells others of its maker or family."""
    before = [
        supplier
        for frame in (market.expired, market.asked)
        for supplier in frame.loc[frame["part"] == part, "supplier"]
    ]
    return list(dict.fromkeys([*before, *_who_might(shop, part)]))


def _who_might(shop: Shop, part: str) -> list[str]:
    """List up to three suppliers of other parts of the same maker, else of the same family."""
    parts, offers = shop["parts"], shop["offers"]
    own = parts[parts["part"] == part]
    for column in ("maker", "family"):
        value = str(own[column].iloc[0]) if len(own) else ""
        if value:
            alike = parts.loc[(parts[column] == value) & (parts["part"] != part), "part"]
            sellers = offers.loc[offers["part"].isin(alike), "supplier"]
            if len(sellers):
                return [str(name) for name in sellers.value_counts().index[:3]]
    return []


def _names(shop: Shop, wanted: Iterable[str]) -> dict[str, str]:
    """Write each part as its number and name."""
    keys = list(wanted)
    parts = shop["parts"]
    parts = parts[parts["part"].isin(keys)]
    known = dict(zip(parts["part"], parts["name"], strict=True))
    return {part: f"{part} ({known[part]})" if known.get(part) else part for part in keys}


def _much(shop: Shop, part: str, needs: Needs) -> str:
    """Write the quantity in the part's own unit."""
    parts = shop["parts"]
    units = parts.loc[parts["part"] == part, "unit"]
    of = unit(str(units.iloc[0]) if len(units) else "piece")
    return counted(sum(n.quantity for n in needs), of)


def _by(needs: Needs) -> str:
    day = min(n.day for n in needs)
    return "" if day >= FAR else f" by {date(1970, 1, 1) + timedelta(days=day)}"


def _parts_of(offers: pd.DataFrame) -> dict[str, list[str]]:
    """List the parts of some offers by supplier."""
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for supplier, part in zip(offers["supplier"], offers["part"], strict=True):
        found[supplier][part] = None
    return {supplier: list(parts) for supplier, parts in found.items()}
