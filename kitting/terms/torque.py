"""Units of torque, exact, and the figures a torque is written with.

Factors follow from the international foot and pound and standard gravity (NIST SP 811, appendix
B): 1 lbf = 0.45359237 x 9.80665 N, 1 ft = 0.3048 m.
"""

from __future__ import annotations

import re
from fractions import Fraction

_LBF = Fraction(45_359_237, 10**8) * Fraction(980_665, 10**5)
_FOOT = Fraction(3048, 10**4)

NEWTON_METRES: dict[str, Fraction] = {
    "N m": Fraction(1),
    "N cm": Fraction(1, 100),
    "lbf ft": _LBF * _FOOT,
    "lbf in": _LBF * _FOOT / 12,
    "ozf in": _LBF * _FOOT / 12 / 16,
    "kgf m": Fraction(980_665, 10**5),
    "kgf cm": Fraction(980_665, 10**7),
}
"""Newton metres in one of each unit, exact."""

_SPELLINGS: dict[str, str] = {
    **dict.fromkeys(("nm", "newtonmetre", "newtonmeter", "newtonmetres", "newtonmeters"), "N m"),
    **dict.fromkeys(("ncm",), "N cm"),
    **dict.fromkeys(("lbfft", "ftlb", "ftlbs", "lbft", "lbsft", "ftlbf", "footpounds"), "lbf ft"),
    **dict.fromkeys(("poundfeet", "poundfoot", "footpound"), "lbf ft"),
    **dict.fromkeys(("lbfin", "inlb", "inlbs", "lbin", "lbsin", "inlbf", "inchpounds"), "lbf in"),
    **dict.fromkeys(("poundinches", "poundinch", "inchpound"), "lbf in"),
    **dict.fromkeys(("ozfin", "ozin", "inoz", "inozf", "inchounces"), "ozf in"),
    **dict.fromkeys(("kgfm", "kgm", "mkg", "mkgf", "kpm", "mkp"), "kgf m"),
    **dict.fromkeys(("kgfcm", "kgcm", "cmkg", "cmkgf"), "kgf cm"),
}
_BETWEEN = re.compile(r"[\s.\-·*_/]+")


def torque_unit(text: str) -> str:
    """Return the unit of torque that a text names, such as ``lbf ft``; blank when it is none.

    Spaces, points and dashes do not matter: ``ft.lb``, ``Nm`` and ``in-lbs`` are read.
    """
    return _SPELLINGS.get(_BETWEEN.sub("", text).casefold(), "")


def newton_metres(value: float, unit: str) -> float:
    """Convert a torque.

    Parameters
    ----------
    value
        The figure.
    unit
        A unit of ``NEWTON_METRES``.

    Returns
    -------
    float
        [N m]
    """
    return float(Fraction(repr(float(value))) * NEWTON_METRES[unit])
