"""Order workbooks: one for each supplier's order, and one that sums them up."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    import pandas as pd

    from kitting.outputs.folder import Staging
    from kitting.tables.shop import Shop


def write_orders(
    buys: pd.DataFrame,
    shop: Shop,
    orders: pd.DataFrame,
    folder: Path,
    freight: Mapping[str, int] | None = None,
) -> list[Path]:
    """Write a workbook for each order and one that sums them up, all or none.

    Each order sheet tells who orders, from whom, what to quote, when it is needed at the door and
    where it goes; its lines, priced; goods, freight, hazard charge and total, as formulas that
    carry their values. Text never runs as a formula. It prints on A4 and Letter (setting
    ``paper``), one page wide, black on white.

    The settings ``name``, ``address``, ``contact``, ``ship_to`` (the address unless given) and
    ``paper`` of the sheet ``shop`` are used. ``orders.note`` is printed for the supplier to read;
    builds and the reasons for a supplier stand only in the summary.

    Parameters
    ----------
    buys
        Table ``buys``: prices, days and reasons. May be empty when an order is printed again.
    shop
        The shop.
    orders
        Table ``orders``: the lines to print.
    folder
        Where the files go; made when it is not there.
    freight
        Freight by order number [cents]; for others the supplier's flat freight.

    Returns
    -------
    list
        The files, the summary last; none when there are no lines.

    Raises
    ------
    KittingError
        When a file is there already or cannot be written; nothing is changed then.
    """
    with staged_orders(buys, shop, orders, folder, freight) as staged:
        return staged.place()


@contextmanager
def staged_orders(
    buys: pd.DataFrame,
    shop: Shop,
    orders: pd.DataFrame,
    folder: Path,
    freight: Mapping[str, int] | None = None,
    ubl: bool = False,
) -> Iterator[Staging]:
    """Write the workbooks of ``write_orders`` beside the folder; ``place()`` puts them into it.

    With ``ubl`` each order is written as UBL 2.1 too, under the name of its workbook.

    Between the two the caller can record the orders: a full disk shows before anything is
    recorded, and when recording fails no file is left behind.
    """
    from kitting.outputs.folder import staging
    from kitting.outputs.order_book import order_book, sender_of
    from kitting.outputs.order_lines import gather
    from kitting.outputs.order_summary import summary_book

    sender = sender_of(shop)
    found = gather(buys, shop, orders, freight)
    with staging(folder) as staged:
        for order in found:
            name = f"{order.number} {order.supplier}"
            staged.add(name, ".xlsx", order_book(order, sender))
            if ubl:
                from kitting.outputs.order_xml import order_xml

                staged.add(name, ".xml", order_xml(order, sender))
        if found:
            first, last = found[0].number, found[-1].number
            span = first if first == last else f"{first} to {last}"
            staged.add(f"summary {span}", ".xlsx", summary_book(found, sender))
        yield staged
