"""What to pick for a build, stage by stage and bin by bin: what ``kitting pick`` prints."""

from __future__ import annotations

from collections import Counter, defaultdict
from fractions import Fraction
from operator import add
from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.outputs.kit import walking
from kitting.outputs.text import WIDTH, fit, long_day, middle, plural, short_day, wrapped
from kitting.terms.units import counted, unit
from kitting.terms.words import LENT_ROLES, InKit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from kitting.tables.plan import Plan
    from kitting.terms.units import Unit

Document = dict[str, Any]


def pick_document(plan: Plan, build: str, stage: tuple[str, str] | None = None) -> Document:
    """Return the pick list of a build, ready for JSON.

    ``lines`` are to be picked, in walking order; ``picked`` lies in the stage's kit or was fitted;
    ``lent`` are tools to take along and put back; ``lacking`` is coming or short.

    Parameters
    ----------
    plan
        A plan that covers the build.
    build
        Name of an open build.
    stage
        Assembly and stage; ``None`` for all stages in the order of work.
    """
    rows = _Rows(plan, build)
    days = plan.stage_days[plan.stage_days["build"] == build].sort_values("order", kind="stable")
    stages = [
        rows.stage(row)
        for row in days.itertuples(index=False)
        if stage in (None, (row.assembly, row.stage))
    ]
    return {"build": build, "as_of": plan.day.isoformat(), "stages": stages}


class _Rows:
    """The needs of a build with what the plan picks for them."""

    def __init__(self, plan: Plan, build: str) -> None:
        self.build = build
        parts = plan.shop["parts"]
        self.names = dict(zip(parts["part"], parts["name"], strict=True))
        self.units: dict[str, Unit] = defaultdict(lambda: unit(""))
        self.units |= {p: unit(u) for p, u in zip(parts["part"], parts["unit"], strict=True)}
        self.needs = plan.needs[plan.needs["build"] == build]
        kits = plan.shop["kits"]
        self.kits = kits[kits["build"] == build].drop_duplicates(["assembly", "stage"], keep="last")
        supply = plan.supply.drop(columns=["part", "quantity"])
        supply = supply.rename(columns={"assembly": "kit_assembly", "stage": "kit_stage"})
        wanted = self.needs[["need", "assembly", "stage", "role", "joint"]]
        self.picks = plan.picks.merge(wanted, on="need").merge(supply, on="supply")
        short = plan.shortages[plan.shortages["build"] == build]
        self.short = short[["assembly", "stage", "joint", "role", "part", "quantity"]]

    def stage(self, row: Any) -> Document:
        """Return the pick list of one stage."""
        own = (row.assembly, row.stage)
        picks = self._of(self.picks, own)
        lent = picks["role"].isin(LENT_ROLES)
        shelf = (picks["order"] == "") & (picks["kit"] == "")
        coming = picks[(picks["order"] != "") & ~lent]
        lacking = [
            self._line(r, why=f"order {r['order']}", day=r["from_day"]) for r in _each(coming)
        ]
        short = self._of(self.short, own)
        lacking += [self._line(r, why="short") for r in _each(short)]
        done = self._of(self.kits, own)
        lines = _gathered(self._line(r) for r in _each(picks[shelf & ~lent]))
        return {
            "assembly": row.assembly,
            "stage": row.stage,
            "name": row.name,
            "start": None if pd.isna(row.start) else row.start.date().isoformat(),
            "complete": _complete(done),
            "lines": sorted(lines, key=lambda e: (walking(e["place"]), e["part"])),
            "picked": _gathered(
                self._line({**r, "place": _in_kit(r, own)})
                for r in _each(picks[picks["kit"] != ""])
            ),
            "lent": _gathered((self._line(r) for r in _each(picks[shelf & lent])), max),
            "lacking": lacking,
        }

    @staticmethod
    def _of(frame: pd.DataFrame, stage: tuple[str, str]) -> pd.DataFrame:
        """Return the rows of a stage."""
        return frame[(frame["assembly"] == stage[0]) & (frame["stage"] == stage[1])]

    def _line(self, row: dict[str, Any], *, why: str = "", day: Any = pd.NaT) -> Document:
        """Return one line of a list."""
        part = str(row["part"])
        use_by = row.get("use_by", pd.NaT)
        told: Document = {
            "part": part,
            "name": self.names.get(part, ""),
            "quantity": door(int(row["quantity"]), self.units[part]),
            "base": int(row["quantity"]),
            "unit": self.units[part].name,
            "amount": counted(int(row["quantity"]), self.units[part]),
            "place": row.get("place", ""),
            "lot": row.get("lot", ""),
            "use_by": None if pd.isna(use_by) else use_by.date().isoformat(),
            "owner": row.get("owner", ""),
            "from_set": row.get("from_set", ""),
            "joints": [row["joint"]] if row["joint"] else [],
        }
        if why:
            told |= {"role": row["role"], "why": why}
            told["comes"] = None if pd.isna(day) else day.date().isoformat()
        return told


def _in_kit(row: dict[str, Any], own: tuple[str, str]) -> str:
    """Say in whose kit a part lies, or that it was fitted."""
    if (row["kit_assembly"], row["kit_stage"]) != own:
        return f"in the kit of {row['kit_stage']}"
    return "fitted" if row["kit"] == InKit.FITTED else "already in the kit"


def door(quantity: int, of: Unit) -> int | float:
    """Return base units as a number of a unit."""
    value = Fraction(quantity) / of.factor
    return value.numerator if value.denominator == 1 else round(float(value), 6)


def _each(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a frame."""
    rows: list[dict[str, Any]] = frame.to_dict("records")
    return rows


def _complete(done: pd.DataFrame) -> Document | None:
    """Tell when and by whom a kit was called complete."""
    if not len(done):
        return None
    row = done.iloc[-1]
    return {"day": row["day"].date().isoformat(), "by": row["by"], "checked": row["checked"]}


def _gathered(
    lines: Iterator[Document], together: Callable[[int, int], int] = add
) -> list[Document]:
    """Put lines of one part and lot together: one action is one line."""
    found: dict[tuple[str, ...], Document] = {}
    for line in lines:
        key = tuple(line[k] for k in ("part", "place", "lot", "owner", "from_set"))
        if key not in found:
            found[key] = line
            continue
        there = found[key]
        of = unit(there["unit"])
        there["base"] = together(there["base"], line["base"])
        there["quantity"] = door(there["base"], of)
        there["amount"] = counted(there["base"], of)
        there["joints"] += [j for j in line["joints"] if j not in there["joints"]]
    return list(found.values())


def pick_text(document: Document) -> str:
    """Write the pick list for a terminal, a box at the left of each line."""
    lines = [f"{document['build']}: to pick, as of {long_day(document['as_of'])}"]
    for stage in document["stages"]:
        lines += ["", *_stage(stage)]
    return "\n".join(lines)


def _stage(stage: Document) -> Iterator[str]:
    """Write one stage."""
    title = f"{stage['stage']}: {stage['name']}"
    yield f"{fit(title, 55)} starts {short_day(stage['start'])}".rstrip()
    done = stage["complete"]
    if done:
        signed = f"{done['by']}, checked {done['checked']}"
        yield f"     kit called complete {short_day(done['day'])} by {signed}"
    for line in stage["lines"]:
        yield from _line("[ ]", line, line["place"] or "bin not known")
    where = Counter(line["place"] for line in stage["picked"])
    for place, lines in where.items():
        yield f"     {plural(lines, 'line', 'lines')} {place}"
    for line in stage["lent"]:
        yield from _line(" ~ ", line, f"{line['place']}, put it back")
    for line in stage["lacking"]:
        comes = f", usable {short_day(line['comes'])}" if line["comes"] else ""
        yield from _line(" ! ", line, f"{line['why'].upper()}{comes}")
    if not any(stage[k] for k in ("lines", "picked", "lent", "lacking")):
        yield "     needs no part"


def _line(box: str, line: Document, where: str) -> Iterator[str]:
    """Write one line: box, how much, what, and where."""
    amount = line["amount"].removesuffix(" piece")
    amount += " x" if line["unit"] == "piece" else ""
    name = middle(line["name"] or line["part"], 26)
    mark = f" lot {line['lot']}" if line["lot"] else ""
    mark += f", open set {line['from_set']}" if line["from_set"] else ""
    until = f", use by {line['use_by']}" if line["use_by"] else ""
    whose = f", {line['owner']}'s" if line["owner"] else ""
    text = f"  {box} {amount:>8} {fit(line['part'], 14)} {name}  {where}{mark}{until}{whose}"
    if len(text) <= WIDTH:
        yield text
        return
    yield f"  {box} {amount:>8} {fit(line['part'], 14)} {name}".rstrip()
    yield from wrapped(f"{' ' * 15}{where}{mark}{until}{whose}", 15)


def issued_text(build: str, rows: list[Document], *, everything: bool = False) -> str:
    """Write issued against fitted for a terminal: what does not come out, or every part.

    Parameters
    ----------
    rows
        What ``kitting return --json`` tells of each part.
    everything
        List the parts that come out, and consumables, too.
    """
    wrong = [row for row in rows if row["named"]]
    even = len(rows) - len(wrong)
    lines = [
        f"{build}: {plural(len(wrong), 'part does', 'parts do')} not come out, "
        f"{even} do or are not counted"
    ]
    shown = rows if everything else wrong
    if shown:
        lines.append(
            f"   {'part':14} {'what':27} {'issued':>7} {'fitted':>7} {'left':>6} {'diff':>5}"
        )
    for row in shown:
        mark = "!" if row["named"] else " "
        lines.append(
            f" {mark} {fit(row['part'], 14)} {middle(row['name'], 27)} {row['issued']:>7} "
            f"{row['fitted']:>7} {row['left_over']:>6} {row['difference']:>5}"
        )
    if wrong:
        lines.append("diff above 0: issued, neither in the bill nor back: find it, or put it back")
        lines.append("diff below 0: the bill fits it, but it was not in a kit: was it fitted?")
    return "\n".join(lines)
