"""What is on the shelf of parts that a build is short of, and which other builds get it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kitting.outputs.text import wrapped

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.tables.plan import Plan

Document = dict[str, Any]


def go_elsewhere(plan: Plan, build: str) -> dict[str, list[tuple[str, int, int]]]:
    """Return by part which other builds take lots from the shelf of what a build is short of.

    Parameters
    ----------
    plan
        A plan that covers the build.
    build
        Name of an open build.

    Returns
    -------
    dict
        Build, its priority, and how much it takes [base units]; the best priority first. Lots in
        a kit, those of an owner, and what each customer brings for his own build are left out.
    """
    parts = plan.shop["parts"]
    brought = set(parts.loc[parts["customer_supplied"], "part"])
    short = set(plan.shortages.loc[plan.shortages["build"] == build, "part"]) - brought
    if not short:
        return {}
    lots = plan.supply[(plan.supply[["order", "kit", "owner"]] == "").all(axis=1)]
    picks = plan.picks[plan.picks["part"].isin(short) & plan.picks["supply"].isin(lots["supply"])]
    wants = plan.needs.loc[plan.needs["build"] != build, ["need", "build", "priority"]]
    taken = picks.merge(wants, on="need").groupby(["part", "priority", "build"])["quantity"].sum()
    found: dict[str, list[tuple[str, int, int]]] = {}
    for (part, priority, other), quantity in taken.items():
        found.setdefault(part, []).append((str(other), int(priority), int(quantity)))
    return found


def told_elsewhere(shortages: list[Document]) -> Iterator[str]:
    """Say which builds get what is on the shelf of a short part."""
    goes = shortages[0]["elsewhere"] if shortages else []
    if not goes:
        return
    parts = []
    for n, one in enumerate(goes):
        much = f"{one['quantity']:g}" + ("" if one["unit"] == "piece" else f" {one['unit']}")
        verb = f" on the shelf {'goes' if one['quantity'] == 1 else 'go'}" if n == 0 else ""
        parts.append(f"{much}{verb} to {one['build']} (priority {one['priority']})")
    yield from wrapped(f"       {', '.join(parts)}", 7)


def first_stages(stages: list[Document]) -> Mapping[str, int]:
    """Return by part the place of the first stage that is short of it."""
    found: dict[str, int] = {}
    for n, stage in enumerate(stages):
        for part in stage["parts"]:
            if part["short"]:
                found.setdefault(part["part"], n)
    return found
