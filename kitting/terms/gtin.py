"""Trade item numbers of GS1 and their check digit."""

from __future__ import annotations

LENGTHS = (8, 12, 13, 14)
"""Digits that a trade item number may have (GTIN-8, -12, -13, -14)."""


def check_digit(body: str) -> int:
    """Return the digit that belongs behind some digits.

    From the right the digits count three times and once in turn; the check digit fills the sum up
    to a multiple of ten (GS1 General Specifications, section 7.9.1).

    Parameters
    ----------
    body
        The digits without the check digit.
    """
    weighed = sum(int(d) * (3 if i % 2 == 0 else 1) for i, d in enumerate(reversed(body)))
    return -weighed % 10


def gtin_fault(text: str) -> str:
    """Say what is wrong with a trade item number; blank when it is right."""
    if not (text.isascii() and text.isdigit()):
        return f'"{text}" is not a GTIN; write the digits under the bar code'
    if len(text) not in LENGTHS:
        return (
            f'"{text}" has {len(text)} digits, and a GTIN has 8, 12, 13 or 14; if leading zeros '
            "were lost, format the column as text and type it again"
        )
    right = check_digit(text[:-1])
    if text[-1] != str(right):
        return (
            f'"{text}" does not end in the check digit {right} of its other digits; compare it '
            "with the bar code"
        )
    return ""
