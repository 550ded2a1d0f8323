"""Formulas for which an engine refuses a whole workbook: found, so that the others get values."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping, Sequence

from estimator.workbook.package.a1 import Cell, address, shift_formula
from estimator.workbook.package.lean_copy import MAIN, RELATION, WORD, assembled, lean_names
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import CellValue

MOST_ASKED = 400
"""How often the engine is asked; files that hold more sorts of such formulas are given up."""
_ROW, _COLUMN = 500_000, 8_000
"""Where formulas are laid beside each other to see which of them are copies of one."""


class EngineRefuses(Exception):  # noqa: N818
    """The engine of formulas takes no such workbook."""


def refused_cells(
    package: Package, formulas: Mapping[Cell, CellValue], evaluated: Callable[[bytes], bytes]
) -> frozenset[Cell]:
    """The cells whose formulas the engine refuses by themselves, whatever their inputs hold.

    Args:
        package: The workbook.
        formulas: All its formula cells.
        evaluated: The engine: gives a workbook's file back, or raises EngineRefuses.

    Raises:
        EngineRefuses: If there are too many sorts of them.
    """
    sorts: dict[tuple[str, str], list[Cell]] = {}
    for (sheet, row, column), content in formulas.items():
        alike = shift_formula(content.formula or "", _ROW - row, _COLUMN - column)
        sorts.setdefault((sheet, alike), []).append((sheet, row, column))
    asked = 0

    def accepted(groups: Sequence[Sequence[Cell]]) -> bool:
        nonlocal asked
        asked += 1
        if asked > MOST_ASKED:
            raise EngineRefuses("too many formulas that can't be evaluated")
        first = {group[0]: formulas[group[0]].formula or "" for group in groups}
        try:
            evaluated(_formulas_alone(package, first))
        except EngineRefuses:
            return False
        return True

    def refused(groups: Sequence[Sequence[Cell]]) -> list[Cell]:
        if not groups or accepted(groups):
            return []
        if len(groups) == 1:
            return list(groups[0])
        half = len(groups) // 2
        return refused(groups[:half]) + refused(groups[half:])

    return frozenset(refused(list(sorts.values())))


def _formulas_alone(package: Package, formulas: Mapping[Cell, str]) -> bytes:
    """A workbook of these formulas on its sheets, with the names that they use and no values."""
    words = {m[1].casefold() for text in formulas.values() for m in WORD.finditer(text) if m[1]}
    links, sheets, parts = [], [], {}
    for number, info in enumerate(package.sheets, 1):
        rows: dict[int, list[str]] = {}
        for sheet, row, column in sorted(formulas):
            if sheet == info.name:
                text = html.escape(formulas[sheet, row, column], quote=False)
                cell = f'<c r="{address(row, column)}"><f>{text}</f></c>'
                rows.setdefault(row, []).append(cell)
        data = "".join(f'<row r="{row}">{"".join(cells)}</row>' for row, cells in rows.items())
        parts[f"xl/worksheets/sheet{number}.xml"] = (
            f'<worksheet xmlns="{MAIN}"><sheetData>{data}</sheetData></worksheet>'.encode()
        )
        links.append((f"s{number}", "worksheet", f"worksheets/sheet{number}.xml"))
        name = html.escape(info.name)
        sheets.append(f'<sheet name="{name}" sheetId="{number}" r:id="s{number}"/>')
    book = (
        f'<workbook xmlns="{MAIN}" xmlns:r="{RELATION}"><sheets>{"".join(sheets)}</sheets>'
        f"{lean_names(package, words)}</workbook>"
    )
    return assembled(book.encode("utf-8", "replace"), links, parts)
