"""Puts texts and styles into the cells of one sheet, and keeps track of the room they need."""

from __future__ import annotations

from collections.abc import Collection
from copy import copy
from typing import Any

from openpyxl.cell import Cell
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.properties import Outline
from openpyxl.worksheet.worksheet import Worksheet

from estimator.workbook.package.a1 import column_letters
from estimator.workbook.template.styles import BY_NAME, LARGE
from estimator.workbook.template.text_size import LARGE_ROW_PT, ROW_PT, line_count, row_height

_PLAIN_WIDTH = 8.43
GAP_PT, LOW_PT, THIN_PT = 9.0, 13.0, 3.0


class Painter:
    """One sheet under construction.

    Args:
        sheet: The sheet, in a workbook that has the named styles already.
        large: Whether its texts are to be read at arm's length.
    """

    def __init__(self, sheet: Worksheet, *, large: bool = False) -> None:
        self.sheet = sheet
        self.large = large
        self.widths: dict[int, float] = {}
        self._formats: dict[tuple[str, str], Any] = {}
        self._wrapped: list[tuple[int, int, str, str]] = []
        self._heights: dict[int, float] = {}
        self._gaps: set[int] = set()
        self._low: set[int] = set()
        self._thin: set[int] = set()
        self._folded: set[int] = set()

    def style(self, name: str) -> str:
        """Name of a style, or of its larger twin on a sheet that has large texts."""
        return name + LARGE if self.large and name + LARGE in BY_NAME else name

    def put(
        self, row: int, column: int, value: Any, style: str, fmt: str = "", *, width: float = 0
    ) -> None:
        """Write a constant (or None) and its style; a text that begins with ``=`` stays a text."""
        cell: Any = self.sheet.cell(row, column)
        name = self.style(style)
        look = BY_NAME[name]
        if value is not None:
            cell.value = value
            if isinstance(value, str):
                cell.data_type = "s"
                if look.wrap:
                    self._wrapped.append((row, column, value, name))
        made = self._formats.get((name, fmt))
        if made is None:
            cell.style = name
            cell.number_format = fmt or look.fmt
            self._formats[name, fmt] = copy(cell._style)
        else:
            cell._style = copy(made)
        if style != "Way back":  # small enough for the gap over the headings
            self._heights.setdefault(row, 0.0)
        if style in ("Foot note", "Table state", "Not printed"):
            self._low.add(row)
        if width:
            self.widen(column, width)

    def stand(self, row: int) -> None:
        """Give a row the height of those that hold something, though nothing stands in it."""
        self._heights.setdefault(row, 0.0)

    def without_empty(self, styles: Collection[str]) -> dict[str, list[tuple[int, int]]]:
        """Take out the cells of these styles that hold nothing, and say where they were."""
        cells: Any = self.sheet
        found: dict[str, list[tuple[int, int]]] = {}
        for place, cell in list(cells._cells.items()):
            style = cell.style.removesuffix(LARGE)
            if cell.value in (None, "") and cell.hyperlink is None and style in styles:
                found.setdefault(style, []).append(place)
                del cells._cells[place]
        return found

    def link(self, row: int, column: int, name: str, tip: str) -> None:
        """Let a cell lead to the cells of a defined name, which follows them wherever they go."""
        cell: Any = self.sheet.cell(row, column)
        cell.hyperlink = Hyperlink(ref=cell.coordinate, location=name, tooltip=tip)

    def row_look(self, row: int, style: str) -> None:
        """Give a row the look that its cells have which are not in the file."""
        name = self.style(style)
        if (name, "") not in self._formats:
            cell: Any = Cell(self.sheet, row=1, column=1)
            cell.style = name
            self._formats[name, ""] = copy(cell._style)
        rows: Any = self.sheet.row_dimensions
        rows[row]._style = copy(self._formats[name, ""])

    def widen(self, column: int, width: float) -> None:
        """Make a column at least this many characters wide."""
        self.widths[column] = max(self.widths.get(column, 0), width)

    def heighten(self, row: int, lines: float, style: str) -> None:
        """Make a row at least as high as this many lines of a style."""
        height = row_height(lines, BY_NAME[self.style(style)].size)
        self._heights[row] = max(self._heights.get(row, 0.0), height)

    def thin(self, row: int) -> None:
        """Make a row a thin band, whatever stands in it."""
        self._thin.add(row)

    def gap(self, row: int) -> None:
        """Make a blank row a low one."""
        self._gaps.add(row)

    def fold(self, heading: int, first: int, last: int) -> None:
        """Hide the rows of a group, which a person opens at its heading above them."""
        self._folded.update(range(first, last + 1))
        self.sheet.sheet_properties.outlinePr = Outline(summaryBelow=False, summaryRight=True)
        self.sheet.row_dimensions[heading].collapsed = True
        for row in range(first, last + 1):
            dimension = self.sheet.row_dimensions[row]
            dimension.outlineLevel, dimension.hidden = 1, True

    def apply_sizes(self) -> None:
        """Set the widths that were asked for, and the height of every row that was written to."""
        for column, width in sorted(self.widths.items()):
            self.sheet.column_dimensions[column_letters(column)].width = width
        for row, column, text, style in self._wrapped:
            look = BY_NAME[style]
            width = self.widths.get(column, _PLAIN_WIDTH) - 1.5 * look.indent
            lines = line_count(text, width, look.size, bold=look.bold)
            self._heights[row] = max(self._heights[row], row_height(lines, look.size))
        for row in self._gaps - set(self._heights):
            self.sheet.row_dimensions[row].height = GAP_PT
        for row in sorted(self._heights):
            self.sheet.row_dimensions[row].height = self._opened_height(row)

    def height(self, row: int) -> float:
        """Height of a row in points, as it stands: none of one that is folded away."""
        return 0.0 if row in self._folded else self._opened_height(row)

    def _opened_height(self, row: int) -> float:
        if row in self._thin:
            return THIN_PT
        if row in self._heights:
            if row in self._low and not self._heights[row]:
                return LOW_PT
            return max(self._heights[row], LARGE_ROW_PT if self.large else ROW_PT)
        return GAP_PT if row in self._gaps else ROW_PT
