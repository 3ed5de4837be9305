"""Warehouse location instances of the OR-Library as problems of the sourcing room."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from kitting.sourcing.problem import Links, Order, Problem, Rung

HERE = Path(__file__).resolve().parents[1] / "published" / "data" / "facility_location"
FOLDER = Path(__file__).resolve().parents[3] / "shared" / "checks" / "facility_location"


def optima() -> list[tuple[str, bool, float]]:
    """List instance, whether its capacities hold, and the published optimum."""
    with (HERE / "optima.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    kinds = ((True, "published_optimum_capacitated"), (False, "published_optimum_uncapacitated"))
    return [
        (row["instance"], limited, float(row[column]))
        for row in rows
        for limited, column in kinds
        if row[column]
    ]


def path_of(instance: str) -> Path | None:
    """Find an instance beside the tests, else in the folder beside the project."""
    for folder in (HERE, FOLDER / "instances"):
        if (folder / f"{instance}.txt").exists():
            return folder / f"{instance}.txt"
    return None


def problem_of(path: Path, *, limited: bool) -> Problem:
    """Read an instance: customers are parts, warehouses are sellers, the fixed cost is freight.

    With capacities a demand may be divided, and the load of an order is limited.
    """
    numbers = [float(text) for text in path.read_text(encoding="ascii").split()]
    sites, customers = int(numbers[0]), int(numbers[1])
    head = np.array(numbers[2 : 2 + 2 * sites]).reshape(sites, 2)
    body = np.array(numbers[2 + 2 * sites :]).reshape(customers, sites + 1)
    size = sites * customers
    site = np.tile(np.arange(sites), customers)
    orders = tuple(
        Order(place, (Rung(freight=fixed),), most=capacity if limited else None)
        for place, (capacity, fixed) in enumerate(head.tolist())
    )
    return Problem(
        parts=customers,
        part=np.repeat(np.arange(customers), sites),
        cost=body[:, 1:].ravel(),
        needs=Links(np.arange(size), site, np.ones(size)),
        switch_cost=np.zeros(sites),
        parent=np.full(sites, -1),
        orders=orders,
        goods=Links(np.arange(size), site, np.repeat(body[:, 0], sites)),
        divisible=limited,
    )
