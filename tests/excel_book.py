"""A stand-in for a book open in Excel, below xlwings: xlwings' own classes work on it.

It implements only what xlwings asks of it for the calls of the open-book adapter; a test compares
every member with the base classes of the installed xlwings. Like Excel it reads a written text
that looks like a number, a date or a formula as one, unless an apostrophe stands before it.
"""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache
from typing import Any

from estimator.live.blocks import BLANK, Content
from estimator.workbook.package.a1 import Range as Area
from estimator.workbook.package.a1 import address
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file_port import FilePort

ERRORS = {
    "#DIV/0!": -2146826281, "#N/A": -2146826246, "#NAME?": -2146826259, "#NULL!": -2146826288,
    "#NUM!": -2146826252, "#REF!": -2146826265, "#VALUE!": -2146826273,
}  # fmt: skip


class DisconnectedError(Exception):
    """What a call to a closed book raises here; Windows and macOS have classes of their own."""


class Data:
    """What the book holds, and what befalls it."""

    def __init__(self, data: bytes) -> None:
        names, cells = _load(data)
        self.names = dict(names)
        self.cells = {sheet: dict(held) for sheet, held in cells.items()}
        self.formats: dict[tuple[str, int, int], str] = {}
        self.closed = False
        self.writes: list[str] = []
        self.fail_at: int | None = None
        self.close_at: int | None = None
        self.attempts = 0
        self.calculated = 0

    def snapshot(self) -> dict[str, dict[tuple[int, int], Content]]:
        return {sheet: dict(held) for sheet, held in self.cells.items()}

    def reach(self) -> None:
        if self.closed:
            raise DisconnectedError("the object invoked has disconnected from its clients")


@lru_cache(maxsize=2)
def _load(data: bytes) -> tuple[dict[str, str], dict[str, dict[tuple[int, int], Content]]]:
    """Names of a workbook, and the cells of its sheets as far as the names reach."""
    package = Package.open(data, label="demo.xlsx")
    port = FilePort(package)
    names = {
        name: "='" + target.sheet.replace("'", "''") + "'!" + target.ref
        for name, target in package.names.items()
    }
    ends: dict[str, tuple[int, int]] = {}
    for sheet, area in port.ranges().values():
        row, column = ends.get(sheet, (1, 1))
        ends[sheet] = (max(row, area.row2), max(column, area.column2))
    cells = {
        sheet: {
            (r, c): content
            for r, row in enumerate(port.read(sheet, Area(1, 1, *end)), start=1)
            for c, content in enumerate(row, start=1)
            if not content.blank
        }
        for sheet, end in ends.items()
    }
    return names, cells


class App:
    def __init__(self, data: Data, engine: Any) -> None:
        self._data = data
        self.engine = engine.impl
        self.pid = 1
        self.screen_updating = True
        self.display_alerts = True
        self.calculation = "automatic"

    def calculate(self) -> None:
        self._data.calculated += 1


class Book:
    def __init__(self, data: bytes, engine: Any) -> None:
        self.data = Data(data)
        self.app = App(self.data, engine)

    @property
    def name(self) -> str:
        self.data.reach()
        return "demo.xlsx"

    @property
    def sheets(self) -> Sheets:
        self.data.reach()
        return Sheets(self, self.data)

    @property
    def names(self) -> Names:
        self.data.reach()
        return Names(self.data)


class Names:
    def __init__(self, data: Data) -> None:
        self._data = data

    def __len__(self) -> int:
        return len(self._data.names)

    def __call__(self, name_or_index: Any) -> Name:
        return Name(self._data, list(self._data.names)[name_or_index - 1])

    def snapshot(self) -> list[tuple[str, Name]]:
        return [(name, Name(self._data, name)) for name in self._data.names]


class Name:
    def __init__(self, data: Data, name: str) -> None:
        self._data = data
        self.name = name

    @property
    def refers_to(self) -> str:
        return self._data.names[self.name]


class Sheets:
    def __init__(self, book: Book, data: Data) -> None:
        self._book, self._data = book, data

    def __call__(self, name_or_index: Any) -> Sheet:
        if name_or_index not in self._data.cells:
            raise KeyError(name_or_index)
        return Sheet(self._book, self._data, name_or_index)


class Sheet:
    def __init__(self, book: Book, data: Data, name: str) -> None:
        self.book, self._data, self.name = book, data, name

    @property
    def used_range(self) -> Range:
        self._data.reach()
        places = self._data.cells[self.name]
        rows, columns = [r for r, _ in places], [c for _, c in places]
        return Range(self, self._data, Area(min(rows), min(columns), max(rows), max(columns)))

    def range(self, arg1: Any, arg2: Any = None) -> Range:
        if isinstance(arg1, tuple):
            return Range(self, self._data, Area(*arg1, *(arg2 or arg1)))
        last = (arg2 or arg1)._area
        return Range(self, self._data, Area(*arg1._area[:2], *last[2:]))


class Range:
    def __init__(self, sheet: Sheet, data: Data, area: Area) -> None:
        self.sheet, self._data, self._area = sheet, data, area

    api = True
    max_cells_per_read = None
    max_cells_per_write = None

    @property
    def row(self) -> int:
        return self._area.row1

    @property
    def column(self) -> int:
        return self._area.column1

    @property
    def shape(self) -> tuple[int, int]:
        a = self._area
        return a.row2 - a.row1 + 1, a.column2 - a.column1 + 1

    def __call__(self, arg1: Any, arg2: Any = None) -> Range:
        row, column = self.row + arg1 - 1, self.column + arg2 - 1
        return Range(self.sheet, self._data, Area(row, column, row, column))

    @property
    def number_format(self) -> str | None:
        found = {self._data.formats.get(place, "General") for place in self._places()}
        return found.pop() if len(found) == 1 else None

    @number_format.setter
    def number_format(self, pattern: str) -> None:
        self._data.formats.update(dict.fromkeys(self._places(), pattern))

    def _places(self) -> list[tuple[str, int, int]]:
        return [(self.sheet.name, *place) for place in self._area.cells()]

    @property
    def raw_value(self) -> Any:
        return self._each(_excel_value)

    @property
    def formula(self) -> Any:
        return self._each(_excel_formula)

    @raw_value.setter
    def raw_value(self, value: Any) -> None:
        self._data.reach()
        place = f"{self.sheet.name}!{address(self.row, self.column)}"
        self._data.attempts += 1
        if self._data.attempts - 1 == self._data.close_at:
            self._data.closed = True
            self._data.reach()
        if self._data.attempts - 1 == self._data.fail_at:
            raise DisconnectedError(f"{place}: the cell is protected")
        self._data.writes.append(place)
        cells = self._data.cells[self.sheet.name]
        for r, row in enumerate(value, start=self.row):
            for c, v in enumerate(row, start=self.column):
                content = _typed(v)
                cells.pop((r, c), None)
                if content != BLANK:
                    cells[r, c] = content

    def _each(self, of: Any) -> Any:
        """Rows as the connection hands them over: a single cell as it is, else tuples."""
        self._data.reach()
        cells, a = self._data.cells[self.sheet.name], self._area
        rows = tuple(
            tuple(of(cells.get((r, c), BLANK)) for c in range(a.column1, a.column2 + 1))
            for r in range(a.row1, a.row2 + 1)
        )
        return rows[0][0] if self.shape == (1, 1) else rows


def _excel_value(content: Content) -> Any:
    if isinstance(content.value, str) and content.value in ERRORS:
        return ERRORS[content.value]
    if content.date and isinstance(content.value, float):
        return dt.datetime(1899, 12, 30) + dt.timedelta(days=content.value)
    return content.value


def _excel_formula(content: Content) -> Any:
    if content.formula is not None:
        return "=" + content.formula
    return "" if content.value is None else str(content.value)


def _typed(value: Any) -> Content:
    """What a cell of the format General holds after a value is written into it."""
    if value is None or value == "":
        return BLANK
    if not isinstance(value, str):
        return Content(value if isinstance(value, bool) else float(value))
    if value.startswith("'"):
        return Content(value[1:])
    if value.startswith("="):
        return Content(None, value[1:])
    if value.upper() in ("TRUE", "FALSE"):
        return Content(value.upper() == "TRUE")
    if re.fullmatch(r"\d{1,2}[-/]\d{1,2}", value):
        return Content(45000.0, date=True)
    try:
        return Content(float(value))
    except ValueError:
        return Content(value)
