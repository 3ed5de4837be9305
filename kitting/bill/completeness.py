"""What a bill lacks, found without any history: the checks run, waived and ranked."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Protocol

import pandas as pd

from kitting.bill.checks import CHECKS
from kitting.bill.survey import Gap, survey
from kitting.tables import catalogs as tables
from kitting.tables.catalogs import Catalogs
from kitting.tables.flow import GAPS
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from kitting.tables.shop import Shop

_RANK = {Level.STOP: 0, Level.WARN: 1, Level.NOTE: 2}
# What is checked when only the joint kinds are at hand.
_LEAST = {"roles": Level.STOP, "unknown kind": Level.WARN, "unknown role": Level.WARN}


class _Bills(Protocol):
    """The frames of some exploded builds that the checks read."""

    @property
    def required(self) -> pd.DataFrame: ...
    @property
    def joints(self) -> pd.DataFrame: ...
    @property
    def left_overs(self) -> pd.DataFrame: ...
    @property
    def choices(self) -> pd.DataFrame: ...


def gaps(shop: Shop, bills: _Bills, kinds: pd.DataFrame | Catalogs) -> pd.DataFrame:
    """Find what the bills of some builds lack.

    Parameters
    ----------
    shop
        The shop.
    bills
        The exploded builds: ``required``, ``joints``, ``left_overs`` and ``choices``.
    kinds
        All catalogs; or table ``joint_kinds`` alone, and then only roles are checked.

    Returns
    -------
    DataFrame
        Table ``gaps``, what stops a build first; a signed waiver with a reason removes what it
        names.
    """
    catalogs = kinds if isinstance(kinds, Catalogs) else _only(kinds)
    seen = survey(shop, bills.required, bills.joints, bills.left_overs, bills.choices, catalogs)
    rows: list[tuple[Gap, Level, str, str]] = []
    for name, (most, source) in _switched_on(shop, catalogs).items():
        for gap in CHECKS[name](seen):
            level = Level(gap.level) if gap.level else most
            if _RANK[level] < _RANK[most]:
                level = most
            rows.append((gap, level, name, gap.source or source))
    waived, faulty = _waivers(shop)
    kept = [row for row in rows if not _is_waived(row[0], waived)]
    kept += [(gap, Level.WARN, "waiver", "the shop's own sheet") for gap in _complain(rows, faulty)]
    kept.sort(key=lambda row: _RANK[row[1]])
    if not kept:
        return GAPS.empty()
    return GAPS.conform(
        pd.DataFrame(
            [
                (*g[:4], str(g.role), str(level), g.message, name, source)
                for g, level, name, source in kept
            ],
            columns=GAPS.names,
        )
    )


def _only(kinds: pd.DataFrame) -> Catalogs:
    return Catalogs(
        kinds,
        tables.EXPECTATIONS.empty(),
        tables.FAMILIES.empty(),
        tables.HOLDS_BACK.empty(),
        tables.CHECKS.empty(),
    )


def _switched_on(shop: Shop, catalogs: Catalogs) -> Mapping[str, tuple[Level, str]]:
    """Return the checks that apply, each with the most that it may say and its source.

    The shop's setting ``checks_off`` names checks, with ``;`` between, that it does without.
    """
    frame = catalogs.checks
    if frame.empty:
        return {name: (level, "") for name, level in _LEAST.items()}
    off = {name.strip() for name in shop.setting("checks_off").split(";")}
    columns = ("check", "rule", "on", "level", "source")
    return {
        name: (Level(level), source)
        for name, rule, on, level, source in zip(*(frame[c].tolist() for c in columns), strict=True)
        if on and name in CHECKS and not {name, rule} & off
    }


_Key = tuple[str, str, str]


def _waivers(shop: Shop) -> tuple[dict[_Key, set[str]], dict[_Key, set[str]]]:
    """Return waivers that count and waivers that do not, as builds by (assembly, joint, role)."""
    good: dict[_Key, set[str]] = defaultdict(set)
    bad: dict[_Key, set[str]] = defaultdict(set)
    frame = shop["waivers"]
    columns = ("assembly", "joint", "role", "build", "reason", "signed")
    for assembly, joint, role, build, reason, signed in zip(
        *(frame[c].tolist() for c in columns), strict=True
    ):
        whole = reason.strip() and signed.strip()
        (good if whole else bad)[assembly, joint, role].add(build)
    return good, bad


def _is_waived(gap: Gap, waivers: Mapping[_Key, set[str]]) -> bool:
    builds = waivers.get((gap.assembly, gap.joint, gap.role), set())
    return "" in builds or gap.build in builds


def _complain(
    rows: Iterable[tuple[Gap, Level, str, str]], faulty: Mapping[_Key, set[str]]
) -> Iterator[Gap]:
    """Say once for each place that its waiver does not count."""
    told = set()
    for gap, *_ in rows:
        key = (gap.build, gap.assembly, gap.joint, gap.role)
        if key not in told and _is_waived(gap, faulty):
            told.add(key)
            yield gap._replace(
                message="the waiver here lacks its reason or its signature and does not count; "
                "fill both in"
            )
