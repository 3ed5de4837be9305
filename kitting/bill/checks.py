"""The checks by name; which of them apply is data, in the catalog ``checks``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.bill import (
    checks_belts,
    checks_company,
    checks_counts,
    checks_figures,
    checks_openings,
    checks_options,
    checks_parts,
    checks_roles,
    checks_stages,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from kitting.bill.survey import Gap, Survey

CHECKS: Mapping[str, Callable[[Survey], Iterable[Gap]]] = {
    "roles": checks_roles.roles,
    "unknown kind": checks_roles.unknown_kinds,
    "unknown role": checks_roles.unknown_roles,
    "companions": checks_company.companions,
    "fastener counts": checks_counts.fastener_counts,
    "holes": checks_counts.holes,
    "single use": checks_counts.single_use,
    "alike joints": checks_company.alike_joints,
    "named in joins": checks_company.named_in_joins,
    "unasked part": checks_parts.unasked_parts,
    "used before": checks_parts.used_before,
    "sets": checks_parts.sets,
    "left over": checks_parts.left_overs,
    "open ports": checks_openings.open_ports,
    "boundaries": checks_openings.boundaries,
    "wet threads": checks_openings.wet_threads,
    "measure first": checks_options.measure_first,
    "follows option": checks_options.follows_option,
    "belts": checks_belts.belts,
    "hands": checks_options.hands,
    "figures": checks_figures.figures,
    "chemistry": checks_stages.chemistry,
    "temporary": checks_stages.temporary,
    "outwork": checks_stages.outwork,
    "circuits": checks_stages.circuits,
    "sealant clock": checks_stages.sealant_clock,
    "two views": checks_stages.two_views,
}
