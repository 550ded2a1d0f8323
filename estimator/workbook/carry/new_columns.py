"""Typed columns that a workbook lacks: filled with the template's entries for the same lines."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from estimator.workbook.package.a1 import Range, address
from estimator.workbook.package.cells import Edit
from estimator.workbook.package.reading import Grid, grid
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import place_text


def fill_new_columns(
    edits: dict[tuple[str, str], Edit],
    template: FilePort,
    old: Collection[str],
    titles: Mapping[str, str],
    sheets: Collection[str],
) -> list[str]:
    """Write into typed columns that a table had not the template's entry for the same line.

    A line is the same where a typed column says the same that says it of one line only; if there
    is none, where all of them say the same of the same line. Other lines are blank.

    Args:
        edits: What is written into the workbook so far, by title and cell; these are added.
        template: The template.
        old: Names that the workbook has, as the template calls them.
        titles: Titles of the template's sheets in the workbook.
        sheets: Sheets of the template that are put in; elsewhere a name alone may be missing.

    Returns:
        A sentence for each column with lines that the template has not.
    """
    notes = []
    for name, (home, area) in template.ranges().items():
        if home not in sheets or not name.startswith("in_") or name in old or area.rows == 1:
            continue
        beside = _beside(template, old, home, area)
        if not beside:
            continue
        cells, title, blank = grid(template.package, home), titles[home], 0
        rows = range(area.row1, area.row2 + 1)
        telling = _telling(cells, beside, rows)
        usual = {_entries(cells, row, telling): row for row in rows}
        for row in rows:
            line = tuple(edits.get((title, address(row, column))) for column in telling)
            like = usual.get(line) if len(telling) == 1 else row
            free = all(entry is None for entry in line)
            same = like is not None and line == _entries(cells, like, telling)
            value = None
            if like is not None and same and not free:
                value = cells.value(like, area.column1).value
            blank += not same and not free
            edits[title, address(row, area.column1)] = value
        if blank:
            where = place_text(title, area.row1, area.column1)
            notes.append(f"A column came in at {where}: look at its {blank} blank lines.")
    return notes


def _telling(cells: Grid, beside: Sequence[int], rows: range) -> Sequence[int]:
    """The first of these columns that tells lines apart, each that says anything; else all."""
    lines = [_entries(cells, row, beside) for row in rows]
    lines = [line for line in lines if any(entry is not None for entry in line)]
    for at, column in enumerate(beside):
        entries = {line[at] for line in lines} - {None}
        if lines and len(entries) == len(lines):
            return (column,)
    return beside


def _entries(cells: Grid, row: int, columns: Sequence[int]) -> tuple[object, ...]:
    values = (cells.value(row, column).value for column in columns)
    return tuple(None if value == "" else value for value in values)


def _beside(template: FilePort, old: Collection[str], home: str, area: Range) -> list[int]:
    """The typed columns of the same lines that the workbook has."""
    return sorted(
        other.column1
        for name, (sheet, other) in template.ranges().items()
        if name in old
        and name.startswith("in_")
        and sheet == home
        and (other.row1, other.row2) == (area.row1, area.row2)
    )
