"""Which column belongs to which option, from the letters that stand over the columns.

A person may insert columns, move an option's column or change letters. The letters are typed on
one sheet; every other heading is a formula that leads there, so that the formulas tell what
belongs together, wherever it stands now.
"""

from __future__ import annotations

from collections.abc import Iterator

from estimator.errors import FileError
from estimator.rows import OPTION_KEYS
from estimator.workbook.a1 import Range, column_letters, parse_cell, tokens
from estimator.workbook.names import OPTION_KEY
from estimator.workbook.port import Content, Port, range_of

ROWS_ABOVE = 30
"""How far above its cells a heading is looked for."""


class OptionColumns:
    """Offsets of the options A to F within ranges of option columns.

    Raises:
        FileError: If the column of an option is gone.
    """

    def __init__(self, port: Port) -> None:
        self._port = port
        self._sheet, self._area = range_of(port, OPTION_KEY)
        heads = [str(c.value or "").strip().upper() for c in port.read(self._sheet, self._area)[0]]
        missing = [key for key in OPTION_KEYS if heads.count(key) != 1]
        if missing:
            found = "is gone" if missing[0] not in heads else "stands twice"
            raise FileError(
                f"the column of option {missing[0]} {found}.",
                where=f"{port.label}, {self._sheet}",
                cure=f"Type {missing[0]} over its column alone, or go back to the version before.",
            )
        self.typed = tuple(heads.index(key) for key in OPTION_KEYS)
        self._found: dict[tuple[str, int, int, int], tuple[int, ...]] = {}

    def of(self, sheet: str, area: Range, *, typed: bool, table: bool) -> tuple[int, ...]:
        """Offsets of the options' columns within a range.

        Args:
            sheet: The range's sheet.
            area: The range.
            typed: Whether it is what a person types for the options.
            table: Whether it is a column block of a table, whose headings stand right above it.
        """
        if typed:
            return self.typed
        band = area.row1 if table else 0
        key = sheet, area.column1, area.column2, band
        if key not in self._found:
            self._found[key] = self._search(sheet, area, table)
        return self._found[key]

    def _search(self, sheet: str, area: Range, table: bool) -> tuple[int, ...]:
        first = max(1, area.row1 - ROWS_ABOVE) if table else 1
        last = area.row1 - 1 if table else min(area.row1 - 1, ROWS_ABOVE)
        above = self._port.read(sheet, Range(first, area.column1, last, area.column2))
        for row in reversed(above) if table else above:
            letters = [self._letter(sheet, content, 0) for content in row]
            if all(letters.count(key) == 1 for key in OPTION_KEYS):
                return tuple(letters.index(key) for key in OPTION_KEYS)
        if area.column2 - area.column1 + 1 == len(OPTION_KEYS) and self.typed == (0, 1, 2, 3, 4, 5):
            return self.typed
        raise FileError(
            "the headings of the option columns are gone.",
            where=f"{self._port.label}, {sheet}!{column_letters(area.column1)}{area.row1}",
            cure="Undo that, or go back to the previous version kept beside the file.",
        )

    def _letter(self, sheet: str, content: Content, depth: int) -> str:
        """Letter of the option that a heading leads to; empty if it leads to none."""
        if content.formula is None or depth > 3:
            return ""
        for owner, row, column in _cells(content.formula, sheet):
            if owner == self._sheet and self._area.holds(row, column):
                offset = column - self._area.column1
                return OPTION_KEYS[self.typed.index(offset)] if offset in self.typed else ""
            if owner == self._sheet:
                there = self._port.read(owner, Range(row, column, row, column))[0][0]
                found = self._letter(owner, there, depth + 1)
                if found:
                    return found
        return ""


def _cells(formula: str, sheet: str) -> Iterator[tuple[str, int, int]]:
    """Sheet, row and column of every cell that a formula names."""
    owner = sheet
    for kind, text in tokens(formula):
        if kind == "sheet":
            owner = text[:-1].removeprefix("'").removesuffix("'").replace("''", "'")
            continue
        if kind == "cell":
            try:
                yield owner, *parse_cell(text)
            except FileError:
                continue
        owner = sheet
