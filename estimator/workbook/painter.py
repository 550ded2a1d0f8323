"""Puts texts and styles into the cells of one sheet, and keeps track of the room they need."""

from __future__ import annotations

import math
import textwrap
from copy import copy
from typing import Any

from openpyxl.worksheet.worksheet import Worksheet

from estimator.workbook.a1 import column_letters
from estimator.workbook.styles import BY_NAME

LINE_PT = 13.5
"""Height of one line of text; rows of several lines are set, for not every program fits them."""
_PLAIN_WIDTH = 8.43
_ROOM, _BOLD_ROOM = 1.15, 1.0
"""Characters of plain and of bold text that fit in a column's nominal character."""


class Painter:
    """One sheet under construction.

    Args:
        sheet: The sheet, in a workbook that has the named styles already.
    """

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet = sheet
        self.widths: dict[int, float] = {}
        self._formats: dict[tuple[str, str], Any] = {}
        self._wrapped: list[tuple[int, int, str, float]] = []
        self._lines: dict[int, float] = {}

    def put(
        self, row: int, column: int, value: Any, style: str, fmt: str = "", *, width: float = 0
    ) -> None:
        """Write a constant (or None) and its style; a text that begins with ``=`` stays a text."""
        cell: Any = self.sheet.cell(row, column)
        look = BY_NAME[style]
        if value is not None:
            cell.value = value
            if isinstance(value, str):
                cell.data_type = "s"
                if look.wrap:
                    self._wrapped.append((row, column, value, _BOLD_ROOM if look.bold else _ROOM))
        made = self._formats.get((style, fmt))
        if made is None:
            cell.style = style
            cell.number_format = fmt or look.fmt
            self._formats[style, fmt] = copy(cell._style)
        else:
            cell._style = copy(made)
        if width:
            self.widen(column, width)

    def widen(self, column: int, width: float) -> None:
        """Make a column at least this many characters wide."""
        self.widths[column] = max(self.widths.get(column, 0), width)

    def heighten(self, row: int, lines: float) -> None:
        """Make a row at least this many lines high."""
        self._lines[row] = max(self._lines.get(row, 1), lines)

    def apply_sizes(self) -> None:
        """Set the widths that were asked for, and the heights that wrapped texts need."""
        for column, width in sorted(self.widths.items()):
            self.sheet.column_dimensions[column_letters(column)].width = width
        for row, column, text, share in self._wrapped:
            room = math.floor(self.widths.get(column, _PLAIN_WIDTH) * share)
            self.heighten(row, len(textwrap.wrap(text, max(room, 4))))
        for row, lines in sorted(self._lines.items()):
            if lines > 1:
                self.sheet.row_dimensions[row].height = lines * LINE_PT + 2
