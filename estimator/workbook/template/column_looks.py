"""Looks of blank cells of long tables, carried by their columns instead of a cell each.

A spreadsheet gives a cell that is not in the file the look of its row or else of its column, and
so does whatever fills it here. The rows above and below the table have a look of their own.
"""

from __future__ import annotations

from copy import copy
from typing import Any

from estimator.workbook.package.a1 import MAX_ROW, Range, column_letters
from estimator.workbook.template.painter import Painter
from estimator.workbook.template.plans import SheetPlan, TablePlan

LEAST = 40
"""Blank cells of a column from which on its look is the column's."""
BESIDE = "Beside a table"
"""Style of the rows above and below such a table, where nothing stands."""


def carry_blanks(painter: Painter, plan: SheetPlan) -> tuple[Range, int] | None:
    """Let columns carry the looks of typed cells that are blank, in the sheet's longest table.

    Returns:
        These columns, from the first cell to the last, and the row below which a column's look is
        to be covered; None where no table has as many blank cells.
    """
    tables = [part for part in plan.parts if isinstance(part, TablePlan) and part.typed_keys]
    if not tables:
        return None
    table = max(tables, key=lambda part: part.table.capacity)
    sheet: Any = painter.sheet
    cells = sheet._cells
    carried: list[int] = []
    for column in (c.column for c in table.columns if c.role == "typed"):
        places = [(row, column) for row in range(table.first_row, table.last_row + 1)]
        blank = [place for place in places if cells[place].value in (None, "")]
        if len(blank) >= LEAST:
            look = copy(cells[blank[0]]._style)
            for place in blank:
                del cells[place]
            sheet.column_dimensions[column_letters(column)]._style = look
            carried.append(column)
    if not carried:
        return None
    last = plan.last_row + 1
    for row in range(1, last + 1):
        if not table.first_row <= row <= table.last_row:
            painter.row_look(row, BESIDE)
    return Range(1, min(carried), MAX_ROW, max(carried)), last
