"""From a market and a demand to the arithmetic problem, and from its solution back to takes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.sourcing.columns import FEW_PARTS, Column, Source, Stakes, columns_of
from kitting.sourcing.demand import Take
from kitting.sourcing.lateness import in_service, serve
from kitting.sourcing.market import Way
from kitting.sourcing.pairs import pair_columns, suits
from kitting.sourcing.wiring import Tap, Wiring, order_of
from kitting.sourcing.worth import free

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.demand import Need, Needs
    from kitting.sourcing.market import Deal, Market
    from kitting.sourcing.policy import Pins, Policy
    from kitting.sourcing.problem import Problem, Whole
    from kitting.sourcing.sellers import Seller
    from kitting.sourcing.worth import Stage


@dataclass(frozen=True)
class Model:
    """A problem, and what its numbers mean.

    Parameters
    ----------
    problem
        The arithmetic.
    demand
        Needs of each part that can be bought, in the order of the problem.
    unmet
        Needs of each part that nobody sells.
    columns
        The columns in the order of the problem.
    stages
        Number of the stage of each need that costs something when late.
    waiting
        Switches that let a stage wait longer than it must.
    """

    problem: Problem
    demand: Mapping[str, Needs]
    unmet: Mapping[str, Needs]
    columns: tuple[Column, ...]
    stages: Mapping[int, int]
    waiting: tuple[int, ...]


def ways_to_buy(market: Market, demand: Mapping[str, Needs], pins: Pins) -> dict[str, list[Way]]:
    """List all ways to cover each part that the pins allow, sets that hold it included.

    Offers that cannot be compared for want of a rate are used only where there is no other.
    """
    ways = {part: list(market.ways.get(part, ())) for part in demand}
    for deal, held in market.sets:
        for part, quantity in held.items():
            if part in ways and quantity > 0:
                ways[part].append(Way(deal, part, 1, quantity, inside=True))
    for part, found in ways.items():
        found = [w for w in found if pins.allows(w.deal.seller.name)]
        found = [w for w in found if w.deal.seller.rate is not None] or found
        for name in pins.prefer:
            if any(w.deal.seller.name == name for w in found):
                found = [w for w in found if w.deal.seller.name == name]
                break
        ways[part] = found
    return ways


def formulate(
    market: Market,
    demand: Mapping[str, Needs],
    ways: Mapping[str, list[Way]],
    policy: Policy,
    keep: tuple[Seller, ...] = (),
) -> Model:
    """Write the choice as columns, switches, orders and pools.

    Parameters
    ----------
    demand
        Needs by part.
    ways
        Ways to cover each part, sets that hold it included.
    keep
        Sellers to whom an order goes in any case.
    """
    wanted = {part: needs for part, needs in demand.items() if ways[part]}
    sellers = {way.deal.seller.name: way.deal.seller for p in wanted for way in ways[p]}
    sellers = dict(sorted({**sellers, **{seller.name: seller for seller in keep}}.items()))
    numbers = {name: number for number, name in enumerate(sellers)}
    orders = [order_of(seller, numbers[name]) for name, seller in sellers.items()]
    names, stages = _stages(wanted, policy)
    stakes = Stakes(
        bonus=tuple(order.bonus for order in orders),
        rate=tuple(order.rate for order in orders),
        rising=tuple(order.rising for order in orders),
        stages=stages,
        moving=len(wanted) <= FEW_PARTS,
    )
    taps = _taps(wanted, ways)
    places = {(id(tap.deal), tap.content): number for number, tap in enumerate(taps)}
    jobs = [
        (needs, [_source(way, market, numbers, places) for way in ways[part]])
        for part, needs in wanted.items()
    ]
    found = _columns(jobs, stakes)
    columns = [column for some in found for column in some]
    part_of = [number for number, some in enumerate(found) for _ in some]
    wiring = Wiring(columns, part_of, orders, policy.parcel_cost)
    wiring.wire_orders([seller.in_shop_money(seller.hazard_charge) for seller in sellers.values()])
    wiring.wire_waits([policy.late_cost_of(build) for build, _, _ in names])
    wiring.wire_pools(taps, numbers, market.hazardous)
    kept = tuple(orders[numbers[seller.name]].switch for seller in keep)
    problem = wiring.problem(len(wanted), kept)
    unmet = {part: needs for part, needs in demand.items() if not ways[part]}
    return Model(problem, wanted, unmet, tuple(columns), stages, tuple(wiring.waiting))


def _columns(jobs: list[tuple[Needs, list[Source]]], stakes: Stakes) -> list[list[Column]]:
    """List the columns of each part, of the plain ones all at once."""
    plain = [n for n, (needs, sources) in enumerate(jobs) if suits(needs, sources, stakes)]
    found = dict(zip(plain, pair_columns([jobs[n] for n in plain]), strict=True))
    return [
        found[number] if number in found else columns_of(needs, sources, stakes)
        for number, (needs, sources) in enumerate(jobs)
    ]


def _stages(demand: Mapping[str, Needs], policy: Policy) -> tuple[list[Stage], dict[int, int]]:
    """List the stages that cost something when late, and number each need's stage."""
    costly: dict[Stage, list[int]] = defaultdict(list)
    for needs in demand.values():
        for need in needs:
            if not free(need) and policy.late_cost_of(need.build):
                costly[need.build, need.assembly, need.stage].append(need.need)
    names = sorted(costly)
    return names, {need: number for number, name in enumerate(names) for need in costly[name]}


def _taps(demand: Mapping[str, Needs], ways: Mapping[str, list[Way]]) -> list[Tap]:
    """List the taps of the deals that serve more than one part."""
    elsewhere = {id(way.deal) for part in demand for way in ways[part] if way.deal.part != part}
    users: dict[int, list[tuple[Deal, Way]]] = defaultdict(list)
    for part in demand if elsewhere else ():
        for way in ways[part]:
            if id(way.deal) in elsewhere:
                users[id(way.deal)].append((way.deal, way))
    taps: dict[tuple[int, str], Tap] = {}
    for found in users.values():
        if len({way.part for _, way in found}) > 1:
            for deal, way in found:
                content = way.part if way.inside else ""
                taps[id(deal), content] = Tap(deal, content)
    return list(taps.values())


def _source(
    way: Way,
    market: Market,
    numbers: Mapping[str, int],
    places: Mapping[tuple[int, str], int],
) -> Source:
    """Write a way as a source of columns."""
    order = numbers[way.deal.seller.name]
    marks = 1 << (2 * order)
    if way.deal.part in market.hazardous and way.deal.seller.hazard_charge:
        marks |= 2 << (2 * order)
    tap = places.get((id(way.deal), way.part if way.inside else ""), -1)
    return Source(way, marks, order, tap)


def takes_of(model: Model, chosen: Whole) -> list[Take]:
    """Return what the chosen columns buy, and which needs that covers.

    Parameters
    ----------
    chosen
        The chosen column of each part.
    """
    takes: list[Take] = []
    shared: dict[int, list[tuple[Way, list[tuple[Need, int]]]]] = defaultdict(list)
    for needs, place in zip(model.demand.values(), chosen, strict=True):
        lines = model.columns[place].lines
        arrivals = [(s.way.deal.usable, s.arrives(q)) for s, q in lines]
        covers: list[list[tuple[Need, int]]] = [[] for _ in lines]
        for need, line, quantity in serve(in_service(needs, model.stages), arrivals):
            covers[line].append((need, quantity))
        for (source, _), covered in zip(lines, covers, strict=True):
            if covered and source.tap >= 0:
                shared[id(source.way.deal)].append((source.way, covered))
            elif covered:
                asked = source.way.units(sum(q for _, q in covered))
                takes.append(Take(source.way.deal, asked, tuple(covered), ""))
    takes += [_together(found) for found in shared.values()]
    return takes


def _together(found: list[tuple[Way, list[tuple[Need, int]]]]) -> Take:
    """Join what several parts take of one deal: units add up, one set serves all it holds."""
    own, sets = 0, 0
    for way, covered in found:
        asked = way.units(sum(quantity for _, quantity in covered))
        if way.inside:
            sets = max(sets, asked)
        else:
            own += asked
    return Take(found[0][0].deal, own + sets, tuple(p for _, covered in found for p in covered), "")
