"""Writes the sheet Made From into a new template; see ``made_from``."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from openpyxl import Workbook
from openpyxl.workbook.defined_name import DefinedName

from estimator.rows import MARKS_SHEET
from estimator.workbook.package.a1 import (
    Range,
    listed_ranges,
    parse_range,
    range_text,
    shift_formula,
    split_target,
)
from estimator.workbook.package.references import absolute
from estimator.workbook.template.finish import finish_record
from estimator.workbook.template.made_from import (
    FORMULA,
    FORMULAS,
    MADE_CHECK,
    MADE_LINES,
    MADE_SHEET,
    PRINTS,
    RULES,
    TEXTS,
    Line,
    Spot,
    checksum,
    entry_checksum,
    is_constant,
    packed,
    rule_checksum,
    seal,
)
from estimator.workbook.template.painter import Painter
from estimator.workbook.template.snapshot import SNAPSHOT

_CHECK_ROW, _FIRST_ROW = 4, 5
_MOST = 7_000
"""Characters of a line that puts many cells together."""
_PURPOSE = (
    "What this workbook was made with: by it later versions tell what you changed. Below stand a"
    " checksum and, many lines a cell, every name with its cells and their formulas as they were."
    " Leave them as they are."
)


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
    cells = list(packed(lines))
    painter = Painter(book.create_sheet(MADE_SHEET))
    painter.widen(1, 120)
    painter.put(1, 1, "Made From", "Sheet title")
    painter.put(2, 1, _PURPOSE, "Sheet purpose")
    painter.put(_CHECK_ROW, 1, seal(cells), "Working text")
    for row, text in enumerate(cells, start=_FIRST_ROW):
        painter.put(row, 1, text, "Working text")
    finish_record(painter, _FIRST_ROW)
    painter.sheet.sheet_state = "hidden"
    last = _FIRST_ROW + len(cells) - 1
    for name, first, end in ((MADE_LINES, _FIRST_ROW, last), (MADE_CHECK, _CHECK_ROW, _CHECK_ROW)):
        area = absolute(MADE_SHEET, Range(first, 1, end, 1))
        book.defined_names[name] = DefinedName(name, attr_text=area)


def _names(book: Workbook, found: Mapping[str, str]) -> Iterator[Line]:
    for name, reference in found.items():
        target = split_target(reference)
        assert target is not None
        if name.startswith(SNAPSHOT):  # made anew with every template, and nobody's own
            yield name, reference, ""
            continue
        cells_of_sheet, area = _cells(book[target[0]]), parse_range(target[1])
        run: tuple[Spot, str] | None = None
        begun = False
        for row, column in area.cells():
            cell = cells_of_sheet.get((row, column))
            text = None if cell is None else _formula(cell)
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

    def goes_on(begun: str, down: int, text: str) -> bool:
        return shift_formula(begun, down, 0) == text

    for sheet in book.worksheets:
        if sheet.title == MARKS_SHEET:
            continue
        for area, text in _runs(_others(sheet, named, _formula), goes_on):
            yield FORMULAS, absolute(sheet.title, area), text


def _texts(book: Workbook, named: Mapping[str, set[Spot]]) -> Iterator[Line]:
    """Pieces such as ``A7=1a2b`` and ``C8:C30=f``, equal ones below each other put together."""

    def what(cell: Any) -> str | None:
        if cell.value is None:
            return None
        return FORMULA if cell.data_type == "f" else checksum(cell.value)

    for sheet in book.worksheets:
        runs = _runs(_others(sheet, named, what), lambda begun, _, text: begun == text)
        pieces = (f"{range_text(area)}={text}" for area, text in runs)
        yield from _chunks(TEXTS, sheet.title, pieces)


Columns = Mapping[int, list[tuple[int, str]]]
"""By column the row and what is to be kept of its cells, downwards."""


def _others(
    sheet: Any, named: Mapping[str, set[Spot]], kept: Callable[[Any], str | None]
) -> Columns:
    """What is kept of the cells of a sheet that belong to no name."""
    known, found = named.get(sheet.title, set()), dict[int, list[tuple[int, str]]]()
    for (row, column), cell in sorted(_cells(sheet).items()):
        text = kept(cell)
        if text is not None and (row, column) not in known:
            found.setdefault(column, []).append((row, text))
    return found


def _cells(sheet: Any) -> Mapping[Spot, Any]:
    """The cells that a sheet has; asking for them one by one makes those that it has not."""
    cells: Mapping[Spot, Any] = sheet._cells
    return cells


def _runs(
    columns: Columns, goes_on: Callable[[str, int, str], bool]
) -> Iterator[tuple[Range, str]]:
    """Stretches of cells below each other in which the first text goes on, and that text."""
    for column, cells in sorted(columns.items()):
        (first, begun), *rest = cells
        last = first
        for row, text in rest:
            if row == last + 1 and goes_on(begun, row - first, text):
                last = row
                continue
            yield Range(first, column, last, column), begun
            first, last, begun = row, row, text
        yield Range(first, column, last, column), begun


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
