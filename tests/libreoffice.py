"""LibreOffice as a referee: recalculates a workbook with no Python near it."""

from __future__ import annotations

import math
from typing import Any

import openpyxl
from office import Office

from estimator.workbook.package.a1 import address
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import formula_cells


def convert(data: bytes, kind: str = "xlsx") -> bytes:
    """The workbook as LibreOffice saves it after working out every formula anew."""
    with Office(data) as office:
        return office.saved(kind)


def recalculated(data: bytes) -> Any:
    """The values of the recalculated workbook, as one without formulas; a day is its number."""
    with Office(data) as office:
        shown = office.values()
    book = openpyxl.Workbook()
    book.remove(book.active)
    states = {info.name: info.state for info in Package.open(data).sheets}
    for name, rows in shown.items():
        sheet = book.create_sheet(name)
        sheet.sheet_state = states[name]
        for row, cells in enumerate(rows, 1):
            for column, value in enumerate(cells, 1):
                if value != "":
                    cell = sheet.cell(row, column, value)
                    cell.data_type = "s" if isinstance(value, str) else "n"
    return book


def shown_otherwise(data: bytes) -> list[str]:
    """Formula cells of a workbook that LibreOffice, working out all, shows otherwise."""
    with Office(data) as office:
        fresh = office.values()
    found, formulas = [], 0
    for sheet, row, column, cell in formula_cells(Package.open(data)):
        formulas += 1
        one, other = cell.value, fresh[sheet][row - 1][column - 1]
        if isinstance(one, (int, float)) and isinstance(other, (int, float)):
            same = math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)
        else:
            same = one == other or (one in (None, "") and other == "")
        if not same:
            found.append(f"{sheet}!{address(row, column)}: {one!r}, {other!r}")
    assert formulas > 10_000
    return found


def faults(book: Any) -> list[str]:
    """Cells of a recalculated workbook that show an error."""
    return [
        f"{sheet.title}!{cell.coordinate}: {cell.value}"
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value.startswith(("#", "Err:"))
    ]
