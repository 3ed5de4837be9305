"""Stage sheets of machines from technical manuals: every torque with its page, in both units."""

from __future__ import annotations

import re

import pytest
from real.convert_engine_tm import Fact, facts, sheets
from real.folder import planned, write

from kitting.outputs.kit_lines import gather_kit
from kitting.terms.torque import newton_metres


@pytest.fixture(scope="module")
def tight() -> list[Fact]:
    """Return the steps of which the manuals give a torque."""
    return [f for f in facts() if f["torque"] and f["action"] == "tighten"]


@pytest.fixture(scope="module")
def told(tight, tmp_path_factory) -> dict[str, list[str]]:
    """Return what the stage sheets say, by machine."""
    plan = planned(write(tmp_path_factory.mktemp("tm"), sheets(facts())))
    kits = [gather_kit(plan, build) for build in plan.builds]
    return {
        kit.assembly: [r.what for s in kit.stages for _, rows in s.groups for r in rows]
        for kit in kits
    }


def test_every_torque_stands_on_its_sheet_with_its_source(tight, told) -> None:
    """The maker's words, where they stand, and a line for what was set; none is lost."""
    assert len(tight) == 10
    for fact in tight:
        source = f"[{fact['manual']} {fact['page_or_para']}]"
        rows = [r for r in told[fact["machine"]] if source in r and fact["torque"] in r]
        assert rows, (fact["torque"], source)
        assert all("________" in r for r in rows)


def test_the_other_unit_is_right_to_three_digits(tight, told) -> None:
    """1 lbf ft = 1.355818 N m (NIST SP 811, appendix B.8), for every range of the manuals."""
    seen = 0
    for rows in told.values():
        for low, high, one, other in re.findall(
            r"(\d+)-(\d+) lb-ft \(([\d.]+)-([\d.]+) N m\)", "\n".join(rows)
        ):
            seen += 1
            assert float(one) == pytest.approx(1.355818 * float(low), rel=0.005)
            assert float(other) == pytest.approx(newton_metres(float(high), "lbf ft"), rel=0.005)
    assert seen > 5
