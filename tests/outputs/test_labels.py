"""Bag labels: what another reader of QR codes finds on the printed page."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pytest
import zxingcpp

from kitting.outputs.kit import together
from kitting.outputs.kit_lines import gather_kit
from kitting.outputs.labels import LABEL_SHEETS, code_path, code_text, label_page

TOOLS = [t for t in ("chromium", "pdftoppm") if not shutil.which(t)]


@pytest.fixture(scope="module")
def kit(demo_plan):
    return gather_kit(demo_plan, "B26-01")


def bags(kit):
    return [t for s in kit.stages for t in together(s.taken) if t.bag]


@pytest.mark.parametrize("sheet", LABEL_SHEETS.values(), ids=LABEL_SHEETS)
def test_the_labels_lie_in_the_middle_of_the_page(sheet):
    """What is left of A4 (ISO 216: 210 x 297 mm) is the same on both sides, to a tenth of a mm."""
    wide = sheet.across * sheet.width + (sheet.across - 1) * sheet.gap
    assert 210 - wide == pytest.approx(2 * sheet.left, abs=0.1)
    assert 297 - sheet.down * sheet.height == pytest.approx(2 * sheet.top, abs=0.1)


def test_the_code_is_a_field_a_line(kit):
    """Name, space, value; what is blank leaves its name alone."""
    one = next(t for t in bags(kit) if t.part == "PL-2011")
    assert code_text(kit.build, one) == (
        "build B26-01\nassembly PLOVER\nstage shafts\npart PL-2011\nquantity 1 piece\nlot"
    )


def test_every_bag_has_its_label(kit):
    """Labels that are gone from the first sheet are left out, and the rest follows."""
    page, count = label_page(kit, "3x8", skip=23)
    assert count == len(bags(kit)) == page.count('class="label"')
    assert page.count('class="sheet"') == 1 + -(-(count - 1) // 24)


def test_names_are_text_and_nothing_else(kit):
    """A part that is called like a piece of a page is shown, not run."""
    stage = kit.stages[0]
    bad = replace(stage.taken[0], name="<script>alert(1)</script>", lot='"><img src=x>', order="")
    stage = replace(stage, taken=[bad])
    page, count = label_page(replace(kit, stages=(stage,)), "3x7")
    assert count == 1
    assert "<script" not in page
    assert "<img" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_what_no_code_can_hold_has_a_label_without_one(kit):
    """A code of level M holds 2331 bytes at most (ISO/IEC 18004, table 7)."""
    assert code_path("x" * 2331) is not None
    assert code_path("x" * 2332) is None
    one = replace(kit.stages[0].taken[0], lot="\u7eb8" * 800, order="")
    page, count = label_page(replace(kit, stages=(replace(kit.stages[0], taken=[one]),)), "3x7")
    assert count == 1
    assert "<svg" not in page


@pytest.mark.skipif(bool(TOOLS), reason=f"needs {', '.join(TOOLS)}")
def test_another_reader_reads_every_code_of_the_printed_page(kit, tmp_path):
    """Printed by a browser, read back by ZXing (another library than the one that writes)."""
    page, count = label_page(kit, "3x7")
    (tmp_path / "labels.html").write_text(page, encoding="utf-8")
    subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--no-pdf-header-footer",
         f"--user-data-dir={tmp_path / 'profile'}",
         f"--print-to-pdf={tmp_path / 'labels.pdf'}", str(tmp_path / "labels.html")],
        check=True, capture_output=True, timeout=60,
    )  # fmt: skip
    subprocess.run(
        ["pdftoppm", "-gray", "-r", "150", tmp_path / "labels.pdf", tmp_path / "page"],
        check=True, timeout=60,
    )  # fmt: skip
    sheets = sorted(tmp_path.glob("page*.pgm"))
    assert len(sheets) == -(-count // 21)
    found = [c.text for s in sheets for c in zxingcpp.read_barcodes(grey(s))]
    assert sorted(found) == sorted(code_text(kit.build, t) for t in bags(kit))


def grey(file):
    """Read a picture of the plainest kind (PGM, binary)."""
    _, size, _, pixels = file.read_bytes().split(b"\n", 3)
    width, height = map(int, size.split())
    return np.frombuffer(pixels, dtype=np.uint8).reshape(height, width)
