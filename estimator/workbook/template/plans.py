"""What a laid-out sheet consists of: places of quantities, sections, tables, notes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from estimator.appearance import SheetRole
from estimator.errors import RowError
from estimator.rows import OPTION_KEYS, Notes, Section, Table
from estimator.workbook.package.a1 import Range

OPTIONS = len(OPTION_KEYS)
FOOTER = ("&A", "Page &P of &N")
"""What stands at the foot of a page, at its left and its right, in codes of the file format."""
HEADER_ROW = 5
FIRST_ROW = 5

SheetKind = Literal["job", "options", "computed", "plain"]
ColumnRole = Literal["index", "typed", "read", "check", "value", "normal", "feet", "part"]
HELPERS = ("normal", "feet", "part")
"""Roles of the workings of a table: steps in which a length is read, parts of the row's check."""


@dataclass(frozen=True, slots=True)
class Columns:
    """First sheet column of each part of a row; 0 where the sheet has none.

    ``value`` is the first of the options' columns and ``job`` the column of a row of the whole
    job; ``state`` says whether a solved number is out of date. A label may run over the columns
    up to the next part. ``last`` is the right end of what lines are drawn under, ``paper`` of what
    is printed: notes for those who type, and limits, stand right of it.
    """

    label: int
    unit: int
    typed: int
    least: int
    most: int
    read: int
    value: int
    job: int
    check: int
    state: int
    note: int
    last: int
    paper: int


OPTIONS_COLUMNS = Columns(1, 2, 3, 17, 18, 11, 11, 11, 9, 9, 10, 10, 9)
"""The sheet of the options' inputs: what is typed stands before what is read."""


@dataclass(frozen=True, slots=True)
class Place:
    """The cells of one quantity.

    Args:
        area: Cells that hold the value which formulas and engine use.
        typed: Cells that a person types into; None unless it is an input. They may be the same.
        axis: Block along which the rows of ``area`` run.
    """

    key: str
    sheet: str
    area: Range
    typed: Range | None = None
    axis: str | None = None
    by_option: bool = False

    def cell(self, option: int = 0, row: int = 0) -> tuple[int, int]:
        """Row and column of the value for an option and a block row, both counted from 0."""
        return self._at(self.area, option, row)

    def typed_cell(self, option: int = 0, row: int = 0) -> tuple[int, int]:
        """Row and column of the typed cell for an option and a block row.

        Raises:
            RowError: If the quantity is not an input.
        """
        if self.typed is None:
            raise RowError("is not an input and has no typed cell.", where=self.key)
        return self._at(self.typed, option, row)

    def cells(self) -> list[tuple[int, int, int, int]]:
        """Option, block row, sheet row and sheet column of every value cell."""
        options = range(OPTIONS if self.by_option else 1)
        rows = range(self.area.row2 - self.area.row1 + 1 if self.axis else 1)
        return [(o, i, *self.cell(o, i)) for i in rows for o in options]

    def _at(self, area: Range, option: int, row: int) -> tuple[int, int]:
        return (
            area.row1 + (row if self.axis else 0),
            area.column1 + (option if self.by_option else 0),
        )


@dataclass(frozen=True, slots=True)
class SectionPlan:
    """Where a section stands; ``rows`` gives the sheet row of each key.

    ``foot`` are the notes of its rows by sheet row, on a sheet that has no column for them, and
    ``noted`` the key that each line is of;
    ``last`` is the last column that its lines are drawn over.
    """

    section: Section
    title_row: int
    rows: Mapping[str, int]
    foot: tuple[str, ...]
    noted: tuple[str, ...]
    last: int

    @property
    def foot_row(self) -> int:
        """Row of the first line of the foot."""
        return self.title_row + len(self.rows) + 1

    @property
    def last_row(self) -> int:
        """Row of its last line."""
        return self.title_row + len(self.rows) + len(self.foot)


@dataclass(frozen=True, slots=True)
class TableColumn:
    """One sheet column of a table: a value, a read-as column, the check, or a helper.

    ``option`` counts from 0 in a column that belongs to one option. A text may run over ``span``
    sheet columns, of which it fills the first.
    """

    role: ColumnRole
    column: int
    key: str
    option: int | None = None
    span: int = 1


@dataclass(frozen=True, slots=True)
class TablePlan:
    """Where a table stands; rows are 0 where it has no such row.

    Args:
        more_row: Line that tells when rows below ``printed_row`` are in use.
        printed_row: Last row that is printed; 0 for workings, which are not.
    """

    table: Table
    title_row: int
    note_row: int
    note_lines: tuple[str, ...]
    state_row: int
    more_row: int
    header_row: int
    unit_row: int
    option_row: int
    first_row: int
    last_row: int
    printed_row: int
    columns: tuple[TableColumn, ...]

    def find(self, role: str, key: str = "") -> TableColumn:
        """The first column of a role (and key)."""
        return next(c for c in self.columns if c.role == role and key in ("", c.key))

    @property
    def typed_keys(self) -> list[str]:
        """Keys of the typed columns, left to right."""
        return [c.key for c in self.columns if c.role == "typed"]

    @property
    def left(self) -> int:
        """Its first sheet column."""
        return min(c.column for c in self.columns)

    @property
    def by_option(self) -> bool:
        """Whether it has a column an option."""
        return any(c.option is not None for c in self.columns)


@dataclass(frozen=True, slots=True)
class NotesPlan:
    """Where paragraphs stand: one physical line of text a row."""

    notes: Notes
    title_row: int
    lines: tuple[str, ...]
    links: tuple[str, ...] = ()
    """Names that the lines lead to, where they do."""

    @property
    def last_row(self) -> int:
        """Row of its last line."""
        return self.title_row + len(self.lines)


Part = SectionPlan | TablePlan | NotesPlan


def sheet_top(sheet: str) -> str:
    """Defined name of the first cell of a sheet, to which links lead."""
    return "at_" + re.sub("[^a-z0-9]+", "_", sheet.casefold())


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """One sheet of the model.

    Args:
        columns: Columns of the rows of its sections.
        widths: Width in characters of its columns.
        header_row: Row of the headings over the sections; 0 if it has none.
        last_row: Last row of all.
        workings_row: Row of the line that says where the workings stand; 0 without.
        helper: First column of the workings that take lengths apart.
        by_option: Whether any row of its sections has a cell an option.
        printed: What is printed.
        titles: First and last of the rows that are repeated on every page.
        size: Size in points of its texts.
    """

    name: str
    title: str
    purpose: str
    kind: SheetKind
    role: SheetRole
    columns: Columns
    widths: Mapping[int, float]
    parts: tuple[Part, ...]
    header_row: int
    last_row: int
    workings_row: int
    helper: int
    by_option: bool
    printed: tuple[Range, ...]
    titles: tuple[int, int]
    size: float

    @property
    def label_runs(self) -> bool:
        """Whether labels run over several columns."""
        return self.columns.label + 1 not in (self.columns.unit, self.columns.typed)
