"""The fixed vocabularies: what a cell may say."""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    """What a joint needs."""

    LOCATE = "locate"
    SEAL = "seal"
    CLAMP = "clamp"
    SECURE = "secure"
    LUBRICATE = "lubricate"
    PREPARE = "prepare"
    TOOL = "tool"
    FIGURE = "figure"
    VERIFY = "verify"


# What serves a stage and is put back: one torque wrench or manual serves every joint in turn.
LENT_ROLES = (Role.TOOL, Role.FIGURE)


class SingleUse(StrEnum):
    """May a part be fitted again after it was disturbed."""

    NEVER = "never"
    MEASURE = "measure"
    REUSE = "reuse"


class Fits(StrEnum):
    """What becomes of a part that a set contains."""

    NEEDED = "needed"
    LEFT_OVER = "left over"
    DO_NOT_FIT = "do not fit"


class StandInKind(StrEnum):
    """How one part may serve for another."""

    SUPERSEDES = "supersedes"
    ALTERNATE = "alternate"


class Level(StrEnum):
    """How much a finding matters."""

    STOP = "stop"
    WARN = "warn"
    NOTE = "note"


class Way(StrEnum):
    """How the amount of a consumable is computed."""

    BEAD = "bead"
    THREAD = "thread"
    LIP = "lip"
    FILM = "film"
    CLEAN = "clean"
    FILL = "fill"
    MIX = "mix"


WAY_NEEDS: dict[Way, tuple[str, ...]] = {
    Way.BEAD: ("length", "diameter"),
    Way.THREAD: ("thread",),
    Way.LIP: ("diameter",),
    Way.FILM: ("length", "diameter"),
    Way.CLEAN: ("length",),
    Way.FILL: ("quantity",),
    Way.MIX: ("quantity", "share"),
}
"""Columns of the sheet amounts that each way cannot do without."""


class Cause(StrEnum):
    """Why a part was not in the kit."""

    NOT_IN_BILL = "not in the bill"
    NOT_PICKED = "in the bill but not picked"
    WRONG_COUNT = "wrong count"
    WRONG_PART = "wrong part"
    DAMAGED = "damaged on fitting"
    LATE = "late"
    MEASURED = "measured size"
    OPTION = "changed option"


# How the note of a forgotten part begins that was asked for a second time on one day, and what it
# says when a pick made the entry: with the moves it is withdrawn when all of them are undone.
ONCE_MORE = "once more"
PICKED_LATE = "picked late: move "


class Lesson(StrEnum):
    """What to change so that a part is not forgotten again."""

    ADD_LINE = "add a line"
    RAISE_COUNT = "raise the count"
    CARRY_SPARE = "carry a spare"
    KEEP = "keep on the shelf"
    ORDER_SOONER = "order sooner"
    LOOK = "look at the bin"


class Decision(StrEnum):
    """What a person made of a proposal."""

    ACCEPTED = "accepted"
    REJECTED = "rejected"


class InKit(StrEnum):
    """How a part stands with a stage's kit."""

    PICKED = "picked"
    FITTED = "fitted"


class KitMove(StrEnum):
    """What a move did to a kit."""

    PICKED = "picked"
    TAKEN = "taken from another kit"
    BACK = "put back"
    OUT_OF_SET = "out of a set"
    FITTED = "fitted"


class StageState(StrEnum):
    """How a stage's kit stands, worst last."""

    WHOLE = "whole"
    COMING = "coming"
    DEFERRED = "deferred"
    SHORT = "short"
    LATE = "late"
