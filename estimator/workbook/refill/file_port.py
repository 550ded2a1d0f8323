"""The port's adapter for a closed file, read from its bytes."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.workbook.package.a1 import Range, parse_range
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import (
    BLANK,
    CellError,
    CellValue,
    Grid,
    Value,
    grid,
    refuse_large,
)
from estimator.workbook.refill.port import CellContent, Content, Rows

_BLANK = Content(None)
_RANGES = "ranges of names"
_SEEN = "contents"
Place = tuple[int, int]


def _content(cell: CellValue) -> Content:
    if cell is BLANK:
        return _BLANK
    value, formula, _, _, date = cell
    if value is None and formula is None and not date:
        return _BLANK
    return Content(value.code if isinstance(value, CellError) else value, formula, date)


def plain(value: Value) -> CellContent:
    """A cell's value, an error as its code."""
    return value.code if isinstance(value, CellError) else value


class FilePort:
    """A closed workbook, read from its bytes."""

    def __init__(self, package: Package) -> None:
        self.package = package

    @property
    def label(self) -> str:
        """File name for messages."""
        return self.package.label

    def ranges(self) -> Mapping[str, tuple[str, Range]]:
        """Sheet and cells of every defined name that stands for one range; read once a package."""
        found: Mapping[str, tuple[str, Range]] | None = self.package.memo.get(_RANGES)
        if found is None:
            found = self.package.memo[_RANGES] = {
                name: (target.sheet, parse_range(target.ref))
                for name, target in self.package.names.items()
                if not target.broken and target.ref
            }
        return found

    def read(self, sheet: str, area: Range) -> Rows:
        """Contents of a range, each cell's made once a package."""
        refuse_large(self.package, sheet, area)
        cells, seen = self._seen(sheet)
        row1, column1, row2, column2 = area
        columns = range(column1, column2 + 1)
        rows = []
        for row in range(row1, row2 + 1):
            found = []
            for column in columns:
                content = seen.get((row, column))
                if content is None:
                    there = (row, column) in cells.cells
                    content = _content(cells.value(row, column)) if there else _BLANK
                    seen[row, column] = content
                found.append(content)
            rows.append(tuple(found))
        return tuple(rows)

    def _seen(self, sheet: str) -> tuple[Grid, dict[Place, Content]]:
        """The cells of a sheet, and the contents that were made of them."""
        memo = self.package.memo
        found: tuple[Grid, dict[Place, Content]]
        if (_SEEN, sheet) not in memo:
            memo[_SEEN, sheet] = grid(self.package, sheet), {}
        found = memo[_SEEN, sheet]
        return found
