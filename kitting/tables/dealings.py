"""What happens between the shop and its suppliers: facts of orders, claims, invoices.

``order_facts`` and ``claims`` are written as things happen and only ever added to; ``invoices`` is
a sheet of facts. Quantities are whole base units of the part's dimension, money is cents.
"""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_BASE = "base units"

ORDER_FACTS = Table("order_facts", "what happened to order lines, in its order", "records", (
    _c("day", "day", "when it happened"),
    _c("what", "text", "drafted, sent, promised, priced, called off, stands or split"),
    _c("order", "text", "our order number"),
    _c("line", "whole", "line on the order"),
    _c("quantity", "whole", "how much the line asks for from then on", _BASE),
    _c("price", "whole or blank", "amount of the line from then on", "cents"),
    _c("promised", "day", "day promised from then on; blank = not known"),
    _c("cancelled", "day", "day it was called off; blank = stands"),
    _c("reason", "text", "why, or who said so"),
    _c("by", "text", "who noted it"),
    _c("made_at", "text", "when it was written [UTC]"),
))

CLAIMS = Table("claims", "what came short, over, wrong or damaged, cores; and what came of it",
               "records", (
    _c("claim", "text", "number of the claim; later rows of it say what happened since"),
    _c("day", "day", "when it was found, or when this happened"),
    _c("event", "text", "opened, sent back, scrapped, kept, settled or withdrawn"),
    _c("what", "text", "short, over, wrong, damaged or core"),
    _c("order", "text", "our order number"),
    _c("line", "whole", "line on the order"),
    _c("part", "text", "what it is about; of wrong goods what came"),
    _c("quantity", "whole", "how much", _BASE),
    _c("unit", "text", "unit as written"),
    _c("next", "text", "what happens next: replace, credit or return"),
    _c("due", "day", "by when; blank = not said"),
    _c("note", "text", "anything else"),
    _c("by", "text", "who noted it"),
    _c("made_at", "text", "when it was written [UTC]"),
))

INVOICES = Table("invoices", "what suppliers charged", "records", (
    _c("invoice", "text", "the supplier's number"),
    _c("order", "text", "our order number"),
    _c("line", "whole or blank", "line of the order; blank = by part"),
    _c("part", "text", "our part number"),
    _c("quantity", "whole", "how much is charged", _BASE),
    _c("unit", "text", "unit as written"),
    _c("amount", "whole", "amount of the line", "cents"),
    _c("dated", "day", "day of the invoice"),
    _c("note", "text", "anything else"),
), ("invoice", "order", "part", "line"))

ORDER_STATES = Table("order_states", "order lines and what became of them", "dealings", (
    _c("order", "text", "our order number"),
    _c("line", "whole", "line on the order"),
    _c("supplier", "text", "the supplier"),
    _c("part", "text", "our part number"),
    _c("unit", "text", "unit as written"),
    _c("build", "text", "build it is for; blank = stock"),
    _c("quantity", "whole", "how much it asks for", _BASE),
    _c("come", "whole", "how much of it came and was kept", _BASE),
    _c("owed", "whole", "how much is still to come", _BASE),
    _c("state", "text", "sent, promised, part received, closed or cancelled"),
    _c("since", "day", "day of the fact that made it so"),
    _c("promised", "day", "day it is promised; blank = not known"),
    _c("first_promised", "day", "day it was promised first"),
    _c("price", "whole or blank", "amount of the line", "cents"),
    _c("claims", "whole", "claims that are open on it"),
), ("order", "line"))

MATCHED = Table("matched", "invoice lines against orders and receipts", "dealings", (
    _c("invoice", "text", "the supplier's number"),
    _c("order", "text", "our order number"),
    _c("line", "whole or blank", "line of the order; blank = none answers"),
    _c("part", "text", "our part number"),
    _c("unit", "text", "unit as written"),
    _c("ordered", "whole", "how much the order asks for", _BASE),
    _c("come", "whole", "how much of it came and was kept", _BASE),
    _c("charged", "whole", "how much this invoice charges", _BASE),
    _c("before", "whole", "how much of it earlier invoices charged", _BASE),
    _c("amount", "whole", "what this invoice asks", "cents"),
    _c("expected", "whole or blank", "what the order's price comes to; blank = none", "cents"),
    _c("difference", "text", "what does not agree; blank = all agrees"),
))

DEALINGS: tuple[Table, ...] = (ORDER_FACTS, CLAIMS)
