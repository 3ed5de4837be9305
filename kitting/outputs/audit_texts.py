"""Texts that tell of missing parts, for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.outputs.text import plural, wrapped

if TYPE_CHECKING:
    import pandas as pd


def texts_text(mentions: pd.DataFrame) -> str:
    """Write what was found, and how to note each once it is confirmed.

    Parameters
    ----------
    mentions
        Table ``mentions``.
    """
    if mentions.empty:
        return "No text tells of a missing part."
    told = plural(len(mentions), "text tells", "texts tell")
    lines = [f"{told} of a missing part, or of waiting for one. Note what is true:", ""]
    for row in mentions.to_dict("records"):
        lines += list(wrapped(f"  row {row['row']} {row['kind']}: {row['text']}", 4))
        build, part = (f'"{row[n]}"' if row[n] else n.upper() for n in ("build", "part"))
        cause = f'"{row["cause"]}"' if row["cause"] else "CAUSE"
        lines.append(f"    kitting forgot {build} {part} --cause {cause}")
    return "\n".join(lines)
