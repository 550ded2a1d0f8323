"""Where everything stands in the template: pure functions from a model to addresses.

Only the builder of the template and the writers of formulas use these addresses. Once people own
the file they move and insert, so that a refill finds things by the defined names of ``names``.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from estimator.errors import RowError
from estimator.inputs import Field
from estimator.rows import (
    MARKS_SHEET,
    PROBLEMS,
    Model,
    Notes,
    Quantity,
    Section,
    Sheet,
    Table,
)
from estimator.workbook.a1 import Range, address
from estimator.workbook.lists import LISTS_SHEET, ListsPlan, lists_plan
from estimator.workbook.plans import (
    COLUMNS,
    FIRST_ROW,
    HEADER_ROW,
    OPTIONS,
    Columns,
    NotesPlan,
    Part,
    Place,
    SectionPlan,
    SheetKind,
    SheetPlan,
    TableColumn,
    TablePlan,
)
from estimator.workbook.references import check_name
from estimator.workbook.snapshot import SnapshotPlan, snapshot_plan


@dataclass(frozen=True, slots=True)
class Layout:
    """The whole template. Addresses count from 1; ``places`` has every quantity of the model."""

    model: Model
    sheets: Mapping[str, SheetPlan]
    places: Mapping[str, Place]
    lists: ListsPlan
    snapshot: SnapshotPlan
    options_sheet: str

    @property
    def order(self) -> tuple[str, ...]:
        """Names of all sheets, left to right."""
        return (*self.sheets, LISTS_SHEET, MARKS_SHEET)

    def typed_header(self, option: int) -> tuple[str, str]:
        """Sheet and address of the cell that holds an option's key."""
        return self.options_sheet, address(HEADER_ROW, COLUMNS["options"].typed + option)

    def used_header(self, option: int) -> tuple[str, str]:
        """Sheet and address of the option's heading, empty text if the option is not used."""
        return self.options_sheet, address(HEADER_ROW, COLUMNS["options"].read + option)

    def quantity(self, key: str) -> Quantity:
        """The quantity of a key."""
        return self.model.quantities[key]

    def entry(self, key: str) -> Field:
        """The field of an input.

        Raises:
            RowError: If the quantity is not an input.
        """
        entry = self.model.quantities[key].field
        if entry is None:
            raise RowError("is not an input.", where=key)
        return entry


def layout(model: Model) -> Layout:
    """Where every quantity, heading, list and snapshot line of the model stands.

    Raises:
        RowError: If a key can't be a defined name, or no sheet has typed option rows.
    """
    places: dict[str, Place] = {}
    sheets = {sheet.name: _sheet_plan(model, sheet, places) for sheet in model.sheets}
    options = [name for name, plan in sheets.items() if plan.kind == "options"]
    if len(options) != 1:
        raise RowError("exactly one sheet must hold the typed rows of options.")
    lists = lists_plan(model)
    snapshot = snapshot_plan(model)
    places[PROBLEMS] = Place(PROBLEMS, LISTS_SHEET, _cell(lists.total_row, 2))
    for key, row in snapshot.mark_rows.items():
        places[key] = Place(
            key, MARKS_SHEET, Range(row, 3, row, 2 + OPTIONS), axis=None, by_option=True
        )
    for key in places:
        check_name(key)
    return Layout(model, sheets, places, lists, snapshot, options[0])


def _cell(row: int, column: int) -> Range:
    return Range(row, column, row, column)


def _section_quantities(model: Model, sheet: Sheet) -> list[Quantity]:
    return [
        model.quantities[key]
        for part in sheet.parts
        if isinstance(part, Section)
        for key in part.keys
    ]


def sheet_kind(model: Model, sheet: Sheet) -> SheetKind:
    """How the rows of a sheet are laid out, from what they are."""
    rows = _section_quantities(model, sheet)
    if not rows:
        return "plain"
    typed = [q for q in rows if q.role == "input"]
    if any(q.by_option for q in typed):
        return "options"
    if len(typed) * 2 >= len(rows) and not any(q.by_option for q in rows):
        return "job"
    return "computed"


def _sheet_plan(model: Model, sheet: Sheet, places: dict[str, Place]) -> SheetPlan:
    kind = sheet_kind(model, sheet)
    columns = COLUMNS[kind]
    header = HEADER_ROW if kind != "plain" else 0
    row = FIRST_ROW + (1 if header else 0)
    parts: list[Part] = []
    last_column = columns.last
    for part in sheet.parts:
        if isinstance(part, Table):
            last_column = max(last_column, _table_width(model, part))
    helper = last_column + 2
    for part in sheet.parts:
        plan: Part
        if isinstance(part, Section):
            plan, row = _section_plan(model, part, columns, row, places)
        elif isinstance(part, Table):
            plan, row = _table_plan(model, part, row, helper, places)
        else:
            plan, row = _notes_plan(part, row)
        parts.append(plan)
        row += 1
    return SheetPlan(
        sheet.name,
        sheet.title,
        sheet.purpose,
        kind,
        tuple(parts),
        header,
        max(row - 2, HEADER_ROW),
        last_column,
        helper,
        any(item.by_option for item in _section_quantities(model, sheet)),
    )


def _section_plan(
    model: Model, part: Section, columns: Columns, row: int, places: dict[str, Place]
) -> tuple[SectionPlan, int]:
    rows: dict[str, int] = {}
    for offset, key in enumerate(part.keys, start=1):
        item = model.quantities[key]
        at = row + offset
        rows[key] = at
        width = OPTIONS if item.by_option else 1
        first = columns.read if item.role == "input" else columns.value
        typed = (
            Range(at, columns.typed, at, columns.typed + width - 1)
            if item.role == "input"
            else None
        )
        area = Range(at, first, at, first + width - 1)
        places[key] = Place(key, item.sheet, area, typed, None, item.by_option)
    if part.stack:
        item = model.quantities[part.stack]
        block = Range(row + 1, columns.value, row + len(part.keys), columns.value + OPTIONS - 1)
        places[part.stack] = Place(part.stack, item.sheet, block, None, item.axis, True)
    return SectionPlan(part, row, rows), row + len(part.keys) + 1


def _table_width(model: Model, part: Table) -> int:
    items = [model.quantities[key] for key in part.keys]
    lengths = sum(1 for q in items if q.field and q.field.kind == "length")
    check = any(q.role == "input" for q in items)
    return sum(OPTIONS if q.by_option else 1 for q in items) + lengths + check


def _table_plan(
    model: Model, part: Table, row: int, helper: int, places: dict[str, Place]
) -> tuple[TablePlan, int]:
    items = [model.quantities[key] for key in part.keys]
    typed = [q.key for q in items if q.role == "input"]
    by_option = any(q.by_option for q in items)
    stale = any(model.upstream(q.key) for q in items)
    note_row = row + 1 if part.note else 0
    state_row = row + (2 if part.note else 1) if stale else 0
    header = row + 1 + bool(part.note) + stale
    first = header + (3 if by_option else 2)
    last = first + part.capacity - 1
    columns: list[TableColumn] = []
    helpers: list[TableColumn] = []
    at = 1
    for item in items:
        width = OPTIONS if item.by_option else 1
        role: Literal["index", "typed", "value"] = (
            "typed" if item.role == "input" else "index" if item.role == "index" else "value"
        )
        for option in range(width):
            columns.append(
                TableColumn(role, at + option, item.key, option if item.by_option else None)
            )
        area = typed_area = Range(first, at, last, at + width - 1)
        at += width
        if item.field and item.field.kind == "length":
            columns.append(TableColumn("read", at, item.key))
            area = Range(first, at, last, at)
            at += 1
            for role_of_helper in ("normal", "feet"):
                helpers.append(
                    TableColumn(
                        "normal" if role_of_helper == "normal" else "feet",
                        helper + len(helpers),
                        item.key,
                    )
                )
        places[item.key] = Place(
            item.key,
            item.sheet,
            area,
            typed_area if item.role == "input" else None,
            item.axis,
            item.by_option,
        )
        if typed and item.key == typed[-1]:
            columns.append(TableColumn("check", at, ""))
            at += 1
    plan = TablePlan(
        part,
        row,
        note_row,
        state_row,
        header,
        header + 1,
        header + 2 if by_option else 0,
        first,
        last,
        (*columns, *helpers),
    )
    return plan, last + 1


NOTE_WIDTH = 110


def _notes_plan(part: Notes, row: int) -> tuple[NotesPlan, int]:
    lines: list[str] = []
    for paragraph in part.lines:
        lines.extend(textwrap.wrap(paragraph, NOTE_WIDTH) or [""])
    return NotesPlan(part, row, tuple(lines)), row + len(lines) + 1
