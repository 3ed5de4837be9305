"""A workbook as the bytes of its file."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from openpyxl import Workbook


def packed(book: Workbook) -> bytes:
    """Return the file of a workbook, put together in memory.

    The library's own way writes each sheet into the folder for temporary files first. When that is
    full, a sheet of few rows is cut short there without a word (lxml tells of a full disk only
    when it is full before the sheet's end), and the workbook is broken.

    Parameters
    ----------
    book
        The workbook.
    """
    from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing
    from openpyxl.worksheet._writer import WorksheetWriter
    from openpyxl.writer.excel import ExcelWriter

    class InMemory(ExcelWriter):
        """Puts each sheet into the archive without a file between."""

        def write_worksheet(self, ws: Any) -> None:
            ws._drawing = SpreadsheetDrawing()
            ws._drawing.charts, ws._drawing.images = ws._charts, ws._images
            out = io.BytesIO()
            writer: Any = WorksheetWriter(ws, out)
            writer.write()
            ws._rels = writer._rels
            archive.writestr(ws.path[1:], out.getvalue())
            self.manifest.append(ws)

    held = io.BytesIO()
    archive = zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED)
    InMemory(book, archive).save()
    return held.getvalue()
