"""What comes together, against three textbook baskets.

J. Han and M. Kamber, Data Mining: Concepts and Techniques (nine baskets); P.-N. Tan, M. Steinbach
and V. Kumar, Introduction to Data Mining (five); R. Agrawal and R. Srikant, VLDB 1994 (four). The
printed numbers in ``association_rules.json`` are from memory and recomputed by counting.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kitting.audit import frequent, rule

FILE = Path(__file__).parent / "data" / "association_rules.json"
EXAMPLES = {e["id"]: e for e in json.loads(FILE.read_text())["examples"]}


def baskets(name):
    return [frozenset(b) for b in EXAMPLES[name]["transactions"]]


CASES = [(name, r) for name, e in EXAMPLES.items() for r in e.get("rules", ())]


@pytest.mark.parametrize(
    ("name", "known"), CASES, ids=lambda c: c if isinstance(c, str) else "+".join(c["antecedent"])
)
def test_rules(name, known):
    """Support, confidence and lift, and the printed two decimals."""
    found = rule(baskets(name), known["antecedent"], known["consequent"])
    assert found.support == pytest.approx(known["support"], abs=1e-6)
    assert found.confidence == pytest.approx(known["confidence"], abs=1e-6)
    assert found.lift == pytest.approx(known["lift"], abs=1e-6)
    assert found.confidence == pytest.approx(known["published_confidence"], abs=0.005)


def test_nine_baskets_frequent_sets():
    """All thirteen sets that two of nine baskets hold, with their shares."""
    known = EXAMPLES["han_kamber_nine"]
    found = frequent(baskets("han_kamber_nine"), known["min_support_count"])
    shares = {"|".join(sorted(s)): n / 9 for s, n in found.items()}
    assert shares == pytest.approx(known["frequent_itemsets"], abs=1e-6)


def test_four_baskets_frequent_sets():
    """All nine sets that two of four baskets hold."""
    known = EXAMPLES["agrawal_srikant_four"]
    found = frequent(baskets("agrawal_srikant_four"), 2)
    assert set(found) == {frozenset(s) for s in known["frequent_itemsets"]}


def test_what_no_basket_holds_has_no_rule():
    with pytest.raises(ValueError, match="no basket"):
        rule(baskets("agrawal_srikant_four"), ["9"], ["1"])
