"""Writes the sheet Made From into a new template; see ``made_from``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from openpyxl import Workbook
from openpyxl.workbook.defined_name import DefinedName

from estimator.rows import MARKS_SHEET
from estimator.workbook.a1 import (
    Range,
    listed_ranges,
    parse_range,
    range_text,
    shift_formula,
    split_target,
)
from estimator.workbook.looks import finish_record
from estimator.workbook.made_from import (
    COLUMNS,
    FORMULA,
    FORMULAS,
    MADE_SHEET,
    PRINTS,
    RULES,
    TEXTS,
    Spot,
    checksum,
    entry_checksum,
    is_constant,
    rule_checksum,
)
from estimator.workbook.painter import Painter
from estimator.workbook.references import absolute

FIRST_ROW = 5
_MOST = 30_000
"""Characters of one line; a cell holds a few more."""


def write_made_from(book: Workbook, found: Mapping[str, str]) -> None:
    """Add the sheet, hidden, as the last one of a finished template.

    Args:
        book: The template.
        found: References of its defined names.
    """
    named = _named(found)
    lines = [
        *_names(book, found),
        *_texts(book, named),
        *_nameless(book, named),
        *_rules(book),
        *_prints(book),
    ]
    painter = Painter(book.create_sheet(MADE_SHEET))
    painter.put(1, 1, "Made From", "Sheet title")
    purpose = "What this workbook was made with; it tells later versions what you changed."
    painter.put(2, 1, purpose, "Sheet purpose")
    for column, heading in enumerate(("Name", "Cells", "Formula"), start=1):
        painter.put(FIRST_ROW - 1, column, heading, "Column heading left")
        painter.widen(column, (30, 30, 90)[column - 1])
    for row, line in enumerate(lines, start=FIRST_ROW):
        for column, text in enumerate(line, start=1):
            if text:
                painter.put(row, column, text, "Working text")
    last = FIRST_ROW + len(lines) - 1
    finish_record(painter, FIRST_ROW)
    painter.sheet.sheet_state = "hidden"
    for column, name in enumerate(COLUMNS, start=1):
        area = absolute(MADE_SHEET, Range(FIRST_ROW, column, last, column))
        book.defined_names[name] = DefinedName(name, attr_text=area)


Line = tuple[str, str, str]


def _names(book: Workbook, found: Mapping[str, str]) -> Iterator[Line]:
    for name, reference in found.items():
        target = split_target(reference)
        assert target is not None
        sheet, area = book[target[0]], parse_range(target[1])
        run: tuple[Spot, str] | None = None
        begun = False
        for row, column in area.cells():
            text = _formula(sheet.cell(row, column))
            if text is None:
                continue
            if run is not None:
                (first_row, first_column), first = run
                if shift_formula(first, row - first_row, column - first_column) == text:
                    continue
            run = (row, column), text
            cells = reference if not begun else absolute(target[0], Range(row, column, row, column))
            yield name, cells, text
            begun = True
        if not begun:
            yield name, reference, ""


def _formula(cell: Any) -> str | None:
    value = cell.value
    is_formula = cell.data_type == "f" and isinstance(value, str)
    return value.removeprefix("=") if is_formula else None


def _named(found: Mapping[str, str]) -> Mapping[str, set[Spot]]:
    """Cells that belong to a name, by sheet."""
    named: dict[str, set[Spot]] = {}
    for name, reference in found.items():
        target = split_target(reference)
        assert target is not None
        if is_constant(name, target[0]):
            continue
        named.setdefault(target[0], set()).update(parse_range(target[1]).cells())
    return named


def _nameless(book: Workbook, named: Mapping[str, set[Spot]]) -> Iterator[Line]:
    """Formulas of cells without a name, those of one pattern below each other put together."""
    for sheet in book.worksheets:
        if sheet.title == MARKS_SHEET:
            continue
        known = named.get(sheet.title, set())
        by_column: dict[int, list[tuple[int, str]]] = {}
        for cells in sheet.iter_rows():
            for cell in cells:
                text = _formula(cell)
                if text is not None and (cell.row, cell.column) not in known:
                    by_column.setdefault(int(cell.column or 0), []).append(
                        (int(cell.row or 0), text)
                    )
        for column, found in sorted(by_column.items()):
            for first, last, text in _patterns(found):
                yield FORMULAS, absolute(sheet.title, Range(first, column, last, column)), text


def _patterns(cells: Iterable[tuple[int, str]]) -> Iterator[tuple[int, int, str]]:
    """First and last row and first formula of runs of one pattern."""
    first, last, begun = 0, 0, ""
    for row, text in cells:
        if last and row == last + 1 and shift_formula(begun, row - first, 0) == text:
            last = row
            continue
        if last:
            yield first, last, begun
        first, last, begun = row, row, text
    if last:
        yield first, last, begun


def _texts(book: Workbook, named: Mapping[str, set[Spot]]) -> Iterator[Line]:
    for sheet in book.worksheets:
        known = named.get(sheet.title, set())
        by_column: dict[int, list[tuple[int, str]]] = {}
        for cells in sheet.iter_rows():
            for cell in cells:
                if cell.value is not None and (cell.row, cell.column) not in known:
                    what = FORMULA if cell.data_type == "f" else checksum(cell.value)
                    by_column.setdefault(cell.column, []).append((cell.row, what))
        yield from _chunks(TEXTS, sheet.title, _runs(by_column))


def _runs(by_column: Mapping[int, list[tuple[int, str]]]) -> Iterator[str]:
    """Pieces such as ``A7=1a2b`` and ``C8:C30=f``, equal ones below each other put together."""
    for column, cells in sorted(by_column.items()):
        first, last, what = 0, 0, ""
        for row, each in cells:
            if each == what and row == last + 1:
                last = row
                continue
            if what:
                yield f"{range_text(Range(first, column, last, column))}={what}"
            first, last, what = row, row, each
        yield f"{range_text(Range(first, column, last, column))}={what}"


def _rules(book: Workbook) -> Iterator[Line]:
    for sheet in book.worksheets:
        rules: Any = sheet.conditional_formatting
        found = {rule_checksum(r.type, r.formula or ()) for each in rules for r in each.rules}
        entries: Any = sheet.data_validations.dataValidation
        found |= {entry_checksum(e.type, e.operator, e.formula1, e.formula2) for e in entries}
        yield from _chunks(RULES, sheet.title, sorted(found))


def _prints(book: Workbook) -> Iterator[Line]:
    for sheet in book.worksheets:
        areas = listed_ranges(sheet.print_area)
        if areas:
            yield PRINTS, sheet.title, " ".join(areas)


def _chunks(what: str, sheet: str, pieces: Iterable[str]) -> Iterator[Line]:
    line: list[str] = []
    size = 0
    for piece in pieces:
        if size + len(piece) >= _MOST:
            yield what, sheet, " ".join(line)
            line, size = [], 0
        line.append(piece)
        size += len(piece) + 1
    if line:
        yield what, sheet, " ".join(line)
