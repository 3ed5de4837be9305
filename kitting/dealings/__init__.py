"""The state of each order line; invoices against orders and receipts."""

from kitting.dealings.invoices import matched
from kitting.dealings.states import order_states

__all__ = ["matched", "order_states"]
