"""Ask a real browser how a page lies at some width."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

CHROMIUM = shutil.which("chromium")
# The page itself holds no script, so it is looked at from outside, in a frame of the width.
_FRAME = """<!doctype html><meta charset="utf-8"><body>
<iframe id="page" width="{width}" height="2000" style="border:0" srcdoc="{page}"></iframe>
<script>
addEventListener("load", () => {{
  const held = document.getElementById("page").contentDocument, root = held.documentElement;
  const over = [...held.querySelectorAll("body *")].filter(
    (e) => e.getBoundingClientRect().right > root.clientWidth + 1
      && !(root.clientWidth > 640 && e.closest(".scroll")));
  const said = {{wide: root.scrollWidth, over: over.length, text: held.body.innerText,
    drawn: [...held.querySelectorAll("svg.draw")].filter((e) => e.clientWidth > 0).length}};
  const out = document.createElement("pre");
  out.id = "said";
  out.textContent = JSON.stringify(said);
  document.body.append(out);
}});
</script>"""


def looked_at(page: str, width: int, folder: Path) -> dict[str, Any]:
    """Return how wide a page is, what sticks out, what is read, and how many drawings show."""
    file = folder / f"frame-{width}.html"
    file.write_text(_FRAME.format(width=width, page=html.escape(page)), encoding="utf-8")
    done = subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--window-size=1400,2100",
         f"--user-data-dir={folder / 'profile'}", "--virtual-time-budget=5000", "--dump-dom",
         str(file)],
        check=True, capture_output=True, timeout=90,
    )  # fmt: skip
    found = re.search(r'<pre id="said">(.*?)</pre>', done.stdout.decode(), re.DOTALL)
    assert found, done.stdout[-500:]
    said: dict[str, Any] = json.loads(html.unescape(found[1]))
    return said
