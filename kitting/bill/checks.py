"""The checks by name; which of them apply is data, in the catalog ``checks``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.bill import checks_roles

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from kitting.bill.survey import Gap, Survey

CHECKS: Mapping[str, Callable[[Survey], Iterable[Gap]]] = {
    "roles": checks_roles.roles,
    "unknown kind": checks_roles.unknown_kinds,
    "unknown role": checks_roles.unknown_roles,
}
