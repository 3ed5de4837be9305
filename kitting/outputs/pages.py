"""Pages of HTML: one file each, everything in it escaped, nothing fetched from elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

_FOLDER = Path(__file__).with_name("templates")


def page(template: str, **values: Any) -> str:
    """Fill in a template of this room; text is escaped wherever it stands.

    Parameters
    ----------
    template
        Its file name.
    values
        What the template names.
    """
    environment = Environment(
        loader=FileSystemLoader(_FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(template).render(**values)
