"""The tables of shipped reference data."""

from __future__ import annotations

from kitting.tables.contract import Column, Table

JOINT_KINDS = Table(
    "joint_kinds",
    "what each kind of joint needs, role by role",
    "reading",
    (
        Column("kind", "text", "name of the joint kind"),
        Column("role", "text", "role at the joint"),
        Column("level", "text", "stop, warn or note: how much an empty role matters"),
        Column("usual", "text", "what is usually there"),
        Column("rule", "text", "how many, in words"),
        Column("first", "text", "what must be known or done first"),
        Column("trap", "text", "how it goes wrong"),
        Column("source", "text", "who says so"),
    ),
    ("kind", "role"),
)
