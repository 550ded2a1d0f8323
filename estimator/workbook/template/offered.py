"""Formulas of the lists that show part of a table: the names of the lines of one sort."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.formula import quoted
from estimator.workbook.package.a1 import address
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.lists import LISTS_SHEET


def offer_formulas(layout: Layout) -> Iterator[tuple[tuple[str, str], str]]:
    """Formula of every cell of these lists: the next line of the sort below the one before."""
    for (names, column, entry), (_, area) in layout.lists.offers.items():
        listed, sorts = f"in_{names}", f"in_{column}"
        last = layout.model.capacity(str(layout.quantity(names).axis))
        for row, at in area.cells():
            cell = LISTS_SHEET, address(row, at)
            if row == area.row1:
                found = f"MATCH({quoted(entry)},{sorts},0)"
                yield cell, f'IFERROR(INDEX({listed},{found})&"","")'
                continue
            before = address(row - 1, at)
            place = f"MATCH({before},{listed},0)"
            rest = f"INDEX({sorts},{place}+1):INDEX({sorts},{last})"
            found = f"{place}+MATCH({quoted(entry)},{rest},0)"
            yield cell, f'IF({before}="","",IFERROR(INDEX({listed},{found})&"",""))'
