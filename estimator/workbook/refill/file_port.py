"""The port's adapter for a closed file, read from its bytes."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.workbook.package.a1 import Range, parse_range
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import CellError, CellValue, Value, read_area
from estimator.workbook.refill.port import CellContent, Content, Rows

_BLANK = Content(None)
_RANGES = "ranges of names"


def _content(cell: CellValue) -> Content:
    if cell.value is None and cell.formula is None and not cell.date:
        return _BLANK
    return Content(plain(cell.value), cell.formula, cell.date)


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
        """Contents of a range."""
        return tuple(tuple(map(_content, row)) for row in read_area(self.package, sheet, area))
