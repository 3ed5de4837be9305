"""The internet shopping problem (Blazewicz et al. 2010; examples of Romero and Alegria 2022).

Each shop that is used charges its delivery once: 33 and 189 are the published answers.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from sourcing.shops import TODAY, days, shop, short

from kitting import sourcing

DATA = Path(__file__).parent / "data" / "internet_shopping_examples.json"
EXAMPLES = json.loads(DATA.read_text(encoding="utf-8"))["examples"]


def asked(example):
    """Make the example's shop and choose, parcels and waiting at no cost."""
    names = [f"shop {number}" for number in range(1, example["shops"] + 1)]
    sellers = [
        {"supplier": name, "freight": 100 * delivery}
        for name, delivery in zip(names, example["delivery"], strict=True)
    ]
    offers = [
        {"supplier": name, "part": item, "price": 100 * price}
        for item, prices in example["price"].items()
        for name, price in zip(names, prices, strict=True)
    ]
    the_shop = shop(sellers, offers, {"parcel_cost": "0", "late_cost_per_day": "0"})
    wants = short(*((item, 1, 9) for item in example["wanted"]))
    return the_shop, wants, days(the_shop), TODAY


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e["id"])
def test_the_published_total_is_reached(example):
    """The proved total and the shops that it uses."""
    compared = sourcing.compare(*asked(example))
    row = compared.answers.set_index("answer").loc["balanced"]
    assert row["total"] == 100 * example["expected"]["total"]
    assert row["gap"] == 0
    used = {int(name.split()[1]) for name in compared.bought("balanced").buys["supplier"]}
    assert used == set(example["expected"]["shops_used"])


def test_the_published_assignment_is_found():
    """Which item comes from which of the six shops."""
    expected = EXAMPLES[1]["expected"]["assignment"]
    buys, _, _ = sourcing.choose(*asked(EXAMPLES[1]), how="proved")
    found = {
        part: int(name.split()[1])
        for part, name in zip(buys["part"], buys["supplier"], strict=True)
    }
    assert found == expected


def test_the_simple_choice_pays_what_cheapest_item_by_item_costs():
    """210 with the deliveries, as published: that is what the proof saves on."""
    example = EXAMPLES[1]
    buys, _, _ = sourcing.choose(*asked(example))
    used = {int(name.split()[1]) for name in buys["supplier"]}
    delivery = sum(100 * example["delivery"][number - 1] for number in used)
    published = example["expected"]["cheapest_item_by_item_then_delivery"]
    assert buys["cost"].sum() + delivery == 100 * published
