"""The tables of shipped reference data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.tables.contract import Column, Kind, Table

if TYPE_CHECKING:
    import pandas as pd


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


JOINT_KINDS = Table("joint_kinds", "what each kind of joint needs, role by role", "reading", (
    _c("kind", "text", "name of the joint kind"),
    _c("role", "text", "role at the joint"),
    _c("level", "text", "stop, warn or note: how much an empty role matters"),
    _c("usual", "text", "what is usually there"),
    _c("rule", "text", "how many, in words"),
    _c("first", "text", "what must be known or done first"),
    _c("trap", "text", "how it goes wrong"),
    _c("source", "text", "who says so"),
), ("kind", "role"))

EXPECTATIONS = Table("joint_expectations", "families that go together at one joint", "reading", (
    _c("kind", "text", "joint kind; blank = any"),
    _c("named", "text", "words of which the joint's name holds one, ; between; blank = any"),
    _c("role", "text", "role that the family has there"),
    _c("family", "text", "families of which one is expected, ; between"),
    _c("per", "text", "families whose number it goes by, ; between; blank = at least one line"),
    _c("times", "whole", "how many for one of those"),
    _c("level", "text", "warn or note: never stops a build"),
    _c("usual", "text", "what is expected, in words"),
    _c("source", "text", "who says so"),
))

FAMILIES = Table("families", "words by which a part's family is known", "reading", (
    _c("family", "text", "name of the family"),
    _c("parent", "text", "wider family that it belongs to; blank = none"),
    _c("roles", "text", "roles that such a part has at a joint, the usual one first, ; between"),
    _c("words", "text", "words for it in names of parts, ; between"),
), ("family",))

HOLDS_BACK = Table("holds_back", "words that tell what a joint holds back", "reading", (
    _c("word", "text", "word in the joint's name or in what it joins"),
    _c("holds", "text", "what it holds back"),
    _c("up_to", "text", "level up to which an empty seal rises by one step"),
    _c("source", "text", "who says so"),
), ("word",))

CHECKS = Table("checks", "the checks of a bill, each of which can be switched off", "reading", (
    _c("check", "text", "name of the check"),
    _c("rule", "text", "short mark of the rule behind it"),
    _c("on", "yes or no", "whether it applies"),
    _c("level", "text", "level of what it finds; it may find less, never more"),
    _c("title", "text", "what it looks for"),
    _c("why", "text", "why it matters"),
    _c("waive", "text", "what to do when it does not apply"),
    _c("source", "text", "who says so"),
), ("check",))

LEAD_CLASSES = Table("lead_classes", "how offers come while no orders tell", "reading", (
    _c("class", "text", "name of the class"),
    _c("also", "text", "other words for it in suppliers, column kind, ; between"),
    _c("by_days", "yes or no", "an offer is of it by its stated days, where no kind is given"),
    _c("stated_from", "whole", "from how many stated days", "working days"),
    _c("p50", "whole", "days within which half comes", "working days"),
    _c("p90", "whole", "days within which nine in ten come", "working days"),
    _c("on_time", "whole", "share that comes by the stated day", "%"),
    _c("source", "text", "who says so"),
), ("class",))

CATALOGS: tuple[Table, ...] = (
    JOINT_KINDS, EXPECTATIONS, FAMILIES, HOLDS_BACK, CHECKS, LEAD_CLASSES,
)
# fmt: on


@dataclass(frozen=True, eq=False)
class Catalogs:
    """The reference data that the checks of a bill read, and what is assumed of offers.

    Parameters
    ----------
    kinds
        Table ``joint_kinds``.
    expectations, families, holds_back, checks
        The other tables of ``CATALOGS``; without them only the roles of the kinds are checked.
    lead_classes
        Table ``lead_classes``; ``None`` = stated days are taken to the letter.
    """

    kinds: pd.DataFrame
    expectations: pd.DataFrame
    families: pd.DataFrame
    holds_back: pd.DataFrame
    checks: pd.DataFrame
    lead_classes: pd.DataFrame | None = None
