"""Which column belongs to which option: by the letters over the typed columns.

Columns may be inserted among the typed ones. The columns of a computed block must stay together
and in order, as its formulas count them; that is checked by where their headings lead.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from estimator.errors import FileError
from estimator.rows import OPTION_KEYS
from estimator.workbook.package.a1 import Range, named_sheet, parse_cell, tokens
from estimator.workbook.refill.port import Content, Port, place_text, range_of
from estimator.workbook.template.names import OPTION_KEY

ROWS_ABOVE = 30
"""How far above its cells a heading is looked for."""
ROWS_READ = 4
"""How many of these rows are read at a time."""
MOST_STEPS = 3
"""Over how many other headings one may lead to an option's letter."""


class OptionColumns:
    """Offsets of the options A to F within ranges of option columns.

    Raises:
        FileError: If the column of an option is gone, or they are out of order.
    """

    def __init__(self, port: Port) -> None:
        self._port = port
        self._sheet, self._area = range_of(port, OPTION_KEY)
        heads = [str(c.value or "").strip().upper() for c in port.read(self._sheet, self._area)[0]]
        for key in OPTION_KEYS:
            if heads.count(key) != 1:
                raise FileError(
                    f"the column of option {key} {'stands twice' if key in heads else 'is gone'}.",
                    where=f"{port.label}, {self._sheet}",
                    cure=f"Type {key} over its column alone, or undo what was deleted.",
                )
        self.typed = tuple(heads.index(key) for key in OPTION_KEYS)
        if list(self.typed) != sorted(self.typed):
            raise self._out_of_order(self._sheet)
        self._seen: set[tuple[str, int, int, int]] = set()
        self._letters: dict[tuple[str, str], str] = {}

    def of(self, sheet: str, area: Range, *, typed: bool, table: bool) -> tuple[int, ...]:
        """Offsets of the options' columns within a range.

        Args:
            sheet: The range's sheet.
            area: The range.
            typed: Whether it is what a person types for the options; what is computed in the very
                columns of that follows it.
            table: Whether it is a column block of a table, whose headings stand right above it.

        Raises:
            FileError: If columns of a computed block were inserted, deleted or moved.
        """
        beside = sheet == self._sheet and area[1::2] == self._area[1::2]
        if typed or beside:
            return self.typed
        block = sheet, area.column1, area.column2, area.row1 if table else 0
        if block not in self._seen:
            self._check(sheet, area, table)
            self._seen.add(block)
        return tuple(range(len(OPTION_KEYS)))

    def _check(self, sheet: str, area: Range, table: bool) -> None:
        if area.column2 - area.column1 + 1 != len(OPTION_KEYS):
            raise FileError(
                "columns were inserted or deleted among those of the options.",
                where=f"{self._port.label}, {place_text(sheet, area.row1, area.column1)}",
                cure="Undo that; insert columns to the left or to the right of them.",
            )
        first = max(1, area.row1 - ROWS_ABOVE) if table else 1
        last = area.row1 - 1 if table else min(area.row1 - 1, ROWS_ABOVE)
        for row in self._headings(sheet, area, first, last, upwards=table):
            letters = [self._letter(sheet, content.formula) for content in row]
            if all(key in letters for key in OPTION_KEYS):
                if tuple(letters) != OPTION_KEYS:
                    raise self._out_of_order(sheet)
                return

    def _headings(
        self, sheet: str, area: Range, first: int, last: int, *, upwards: bool
    ) -> Iterator[Sequence[Content]]:
        """Rows above a range, a few at a time, as the headings are soon found."""
        for start in range(0, last - first + 1, ROWS_READ):
            size = min(ROWS_READ, last - first + 1 - start)
            top = last - start - size + 1 if upwards else first + start
            rows = self._port.read(sheet, Range(top, area.column1, top + size - 1, area.column2))
            yield from reversed(rows) if upwards else rows

    def _out_of_order(self, sheet: str) -> FileError:
        return FileError(
            "the columns of the options do not follow each other from A to F.",
            where=f"{self._port.label}, {sheet}",
            cure="Move them back; to reorder options, exchange what is typed in their columns.",
        )

    def _letter(self, sheet: str, formula: str | None) -> str:
        """Letter of the option that a heading leads to; empty if it leads to none."""
        if formula is None:
            return ""
        if (sheet, formula) not in self._letters:
            self._letters[sheet, formula] = self._led_to(sheet, formula, 0)
        return self._letters[sheet, formula]

    def _led_to(self, sheet: str, formula: str, depth: int) -> str:
        for owner, row, column in _cells(formula, sheet):
            if owner == self._sheet and self._area.holds(row, column):
                offset = column - self._area.column1
                return OPTION_KEYS[self.typed.index(offset)] if offset in self.typed else ""
            if owner == self._sheet:
                there = self._port.read(owner, Range(row, column, row, column))[0][0].formula
                if there is not None and depth < MOST_STEPS:
                    found = self._led_to(owner, there, depth + 1)
                    if found:
                        return found
        return ""


def _cells(formula: str, sheet: str) -> Iterator[tuple[str, int, int]]:
    """Sheet, row and column of every cell that a formula names."""
    owner = sheet
    for kind, text in tokens(formula):
        if kind == "sheet":
            owner = named_sheet(text)
            continue
        if kind == "cell":
            try:
                yield owner, *parse_cell(text)
            except FileError:
                continue
        owner = sheet
