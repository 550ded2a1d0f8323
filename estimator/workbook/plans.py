"""What a laid-out sheet consists of: places of quantities, sections, tables, notes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from estimator.errors import RowError
from estimator.rows import OPTION_KEYS, Notes, Section, Table
from estimator.workbook.a1 import Range

OPTIONS = len(OPTION_KEYS)
HEADER_ROW = 5
FIRST_ROW = 5
KIND = "option_kind"
"""Key of the input that says what an option is; blank leaves the option unused."""

SheetKind = Literal["job", "options", "computed", "plain"]


@dataclass(frozen=True, slots=True)
class Columns:
    """First sheet column of each part of a row; 0 where the kind of sheet has none."""

    label: int
    unit: int
    typed: int
    least: int
    most: int
    read: int
    value: int
    check: int
    note: int
    source: int
    last: int


COLUMNS: Mapping[SheetKind, Columns] = {
    "job": Columns(1, 3, 2, 4, 5, 6, 6, 7, 8, 0, 8),
    "options": Columns(1, 2, 3, 9, 10, 11, 11, 17, 18, 0, 18),
    "computed": Columns(1, 2, 3, 6, 7, 4, 3, 9, 10, 11, 11),
    "plain": Columns(1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1),
}


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
    """Where a section stands; ``rows`` gives the sheet row of each key."""

    section: Section
    title_row: int
    rows: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class TableColumn:
    """One sheet column of a table: a value, a read-as column, the check, or a helper.

    ``option`` counts from 0 in a column that belongs to one option.
    """

    role: Literal["index", "typed", "read", "check", "value", "normal", "feet"]
    column: int
    key: str
    option: int | None = None


@dataclass(frozen=True, slots=True)
class TablePlan:
    """Where a table stands; rows are 0 where it has no such row."""

    table: Table
    title_row: int
    note_row: int
    state_row: int
    header_row: int
    unit_row: int
    option_row: int
    first_row: int
    last_row: int
    columns: tuple[TableColumn, ...]

    def find(self, role: str, key: str = "") -> TableColumn:
        """The first column of a role (and key)."""
        return next(c for c in self.columns if c.role == role and key in ("", c.key))

    @property
    def typed_keys(self) -> list[str]:
        """Keys of the typed columns, left to right."""
        return [c.key for c in self.columns if c.role == "typed"]


@dataclass(frozen=True, slots=True)
class NotesPlan:
    """Where paragraphs stand: one physical line of text a row."""

    notes: Notes
    title_row: int
    lines: tuple[str, ...]


Part = SectionPlan | TablePlan | NotesPlan


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """One sheet of the model.

    Args:
        last_column: Right end of its rows and tables.
        helper: First column of the workings that take lengths apart.
        by_option: Whether any row of its sections has a cell an option.
    """

    name: str
    title: str
    purpose: str
    kind: SheetKind
    parts: tuple[Part, ...]
    header_row: int
    last_row: int
    last_column: int
    helper: int
    by_option: bool

    @property
    def columns(self) -> Columns:
        """Columns of the rows of its sections."""
        return COLUMNS[self.kind]
