"""Part numbers that may be one and the same."""

from __future__ import annotations

import pytest

from kitting.terms.numbers import fold


@pytest.mark.parametrize("other", ["ab-12", "AB 12", "ab12", "A.B/12", "\uff21\uff2212"])
def test_look_alikes_fold_together(other: str) -> None:
    """Case, spaces, dashes and wide letters do not tell two numbers apart."""
    assert fold(other) == fold("AB-12")


@pytest.mark.parametrize("other", ["AB-21", "AB-120", "0AB-12", "AB-12Ä"])
def test_different_numbers_stay_apart(other: str) -> None:
    """Another digit, a leading zero or another letter does."""
    assert fold(other) != fold("AB-12")
