"""The room ``reading``: from a shop's sheets to frames, with every fault told in one go.

A folder of csv files or a workbook becomes grids of cells (``files``, ``workbook``), each grid a
sheet by its headings (``headings``, ``sheets``), each cell a value (``cells``), quantities base
units once the parts are known (``measures``). Then the sheets are checked together (``cross``,
``choices``, ``loops``, ``doubles``, ``settings``). ``template`` writes empty sheets and
``writing`` writes a shop's tables back as sheets. Libraries that are slow to load are loaded
where they are used.
"""

from kitting.reading.grids import Limits
from kitting.reading.read import Reading, read_sheets
from kitting.reading.template import write_template
from kitting.reading.writing import write_sheets

__all__ = ["Limits", "Reading", "read_sheets", "write_sheets", "write_template"]
