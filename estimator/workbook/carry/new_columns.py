"""Typed columns that a workbook lacks: filled with the template's entries for the same lines."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from estimator.workbook.package.a1 import Range, address
from estimator.workbook.package.cells import Edit
from estimator.workbook.package.reading import grid
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import place_text


def fill_new_columns(
    edits: dict[tuple[str, str], Edit],
    template: FilePort,
    old: Collection[str],
    titles: Mapping[str, str],
) -> list[str]:
    """Write into typed columns that a table had not the template's entry for the same line.

    A line is the same where the first typed column says the same; where none does, it is blank.

    Args:
        edits: What is written into the workbook so far, by title and cell; these are added.
        template: The template.
        old: Names that the workbook has, as the template calls them.
        titles: Titles of the template's sheets in the workbook.

    Returns:
        A sentence for each column with blank lines.
    """
    notes = []
    for name, (home, area) in template.ranges().items():
        if not name.startswith("in_") or name in old or area.row1 == area.row2:
            continue
        first = _first_beside(template, old, home, area)
        if first is None:
            continue
        cells = grid(template.package, home)
        usual = {
            cells.value(row, first).value: cells.value(row, area.column1).value
            for row in range(area.row1, area.row2 + 1)
        }
        title, blank = titles[home], 0
        for row in range(area.row1, area.row2 + 1):
            key = edits.get((title, address(row, first)))
            value = usual.get(key) if isinstance(key, (str, float)) else None
            blank += key is not None and value is None
            edits[title, address(row, area.column1)] = value
        if blank:
            where = place_text(title, area.row1, area.column1)
            notes.append(f"A column came in at {where}: look at its {blank} blank lines.")
    return notes


def _first_beside(template: FilePort, old: Collection[str], home: str, area: Range) -> int | None:
    """The first typed column, of those that the workbook has, of the same lines."""
    beside = [
        other.column1
        for name, (sheet, other) in template.ranges().items()
        if name in old
        and name.startswith("in_")
        and sheet == home
        and (other.row1, other.row2) == (area.row1, area.row2)
    ]
    return min(beside, default=None)
