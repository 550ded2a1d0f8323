"""Reads a workbook of ours: what was typed, what was typed over, what went missing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from estimator.engine import Model
from estimator.errors import FileError, InputError, in_quotes, on_command_line
from estimator.inputs import DATE_ORIGIN, TypedJob
from estimator.rows import OPTION_KEYS, Quantity
from estimator.workbook.package.a1 import Range
from estimator.workbook.refill.damage import faults
from estimator.workbook.refill.live_blocks import GUARD_BEGINS, live_solvers, unwrapped
from estimator.workbook.refill.option_columns import OptionColumns
from estimator.workbook.refill.port import (
    CellContent,
    Content,
    Edit,
    Port,
    Rows,
    lost,
    place_text,
    range_of,
)
from estimator.workbook.refill.solved_cells import Given, Place, SolvedCells
from estimator.workbook.template.layout import layout
from estimator.workbook.template.names import TEMPLATE_VERSION, VERSION, named_ranges

Cell = tuple[str, int]
ERRORS = frozenset(("#N/A", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#NULL!"))
"""Error values, as a cell shows them."""
TypedOverValues = dict[str, dict[Place, float | str]]


class FormulaCell(NamedTuple):
    """A computed cell that holds a formula: whose it is, where it stands, what it holds."""

    key: str
    place: Place
    edit: Edit
    content: Content


@dataclass(frozen=True, slots=True)
class Book:
    """What a workbook of ours holds.

    Args:
        typed: The inputs as typed.
        typed_over: Typed-over computed cells: key -> {(option, row): value}.
        missing: Computed cells without content, whose formula is to come back.
        places: Sheet and cells of every quantity.
        offsets: By key, offsets of the options A to F within its cells.
        formulas: Computed cells with a formula, in the model's order.
        given: What the solvers gave where single values were typed over.
        entries_computed: Whether a formula of a person's own gives an entry.
        solved: The solved cells, beside what the last refill wrote there.
    """

    typed: TypedJob
    typed_over: TypedOverValues
    missing: tuple[Edit, ...]
    places: Mapping[str, tuple[str, Range]]
    offsets: Mapping[str, tuple[int, ...]]
    formulas: tuple[FormulaCell, ...] = ()
    owners: Mapping[Edit, tuple[str, Place]] = field(default_factory=dict)
    given: Given = field(default_factory=dict)
    entries_computed: bool = False
    solved: SolvedCells = field(kw_only=True)

    def cell(self, item: Quantity, option: int, row: int) -> Edit:
        """Where a value of a quantity stands."""
        sheet, area = self.places[item.key]
        return _at(sheet, area, item, option, row, self.offsets.get(item.key, ()))

    def column(self, item: Quantity, option: int, rows: int) -> list[Edit]:
        """Where the values of a quantity stand for an option, row by row."""
        sheet, row, column = self.cell(item, option, 0)
        return [(sheet, at, column) for at in range(row, row + rows)]


def read_book(port: Port, model: Model) -> Book:
    """Inputs, formulas and what is typed over, of a workbook.

    Raises:
        FileError: If it is not a workbook of ours, names are missing, or the lines of a table
            were inserted or deleted.
        InputError: If a text stands over a computed number.
    """
    if VERSION in port.ranges():
        version = version_of(port)
        if version != TEMPLATE_VERSION:
            raise other_version(port, version)
    _refuse_missing(port, model)
    columns = OptionColumns(port)
    reader = _Reader(port, model, columns)
    for item in model.quantities.values():
        reader.read(item)
    reader.read_solved()
    _refuse_damage(port, model)
    return reader.book()


def _refuse_damage(port: Port, model: Model) -> None:
    """Refuse a workbook whose blocks were cut, moved apart or laid over each other."""
    template = named_ranges(layout(model))
    found = next((fault for fault in faults(port, template) if fault.place), None)
    if found is not None:
        raise FileError(
            f"the cells of {found.name} {found.what}.",
            where=f"{port.label}, {found.place}",
            cure=lost(port),
        )


def not_ours(port: Port) -> FileError:
    """What to say of a workbook that none of our names stands in."""
    return FileError(
        "is not a workbook made by this estimator.",
        where=port.label,
        cure="Make one with: estimator new FILE.xlsx",
    )


def _refuse_missing(port: Port, model: Model) -> None:
    """Refuse a workbook of which a sheet or a name is gone, and say which."""
    names: dict[str, list[str]] = {}
    for name, (sheet, _) in named_ranges(layout(model)).items():
        names.setdefault(sheet, []).append(name)
    ranges = port.ranges()
    gone = {sheet: [n for n in found if n not in ranges] for sheet, found in names.items()}
    if gone == names:
        raise not_ours(port)
    for sheet, missing in gone.items():
        if missing and missing == names[sheet]:
            raise FileError(f"the sheet {sheet} is missing.", where=port.label, cure=lost(port))
    for sheet, missing in gone.items():
        if missing:
            item = model.quantities.get(missing[0].removeprefix("in_"))
            label = f"{item.label}, " if item is not None else ""
            raise FileError(
                f"the defined name {missing[0]} ({label}on the sheet {sheet}) is missing or its"
                " cells were deleted.",
                where=port.label,
                cure=lost(port),
            )


def version_of(port: Port) -> str:
    """Version of the template that a workbook was made from; empty where the cell is blank."""
    value = port.read(*range_of(port, VERSION))[0][0].value
    return f"{value:g}" if isinstance(value, float) else str(value or "").strip()


def other_version(port: Port, version: str) -> FileError:
    """What to say of a workbook that an older or a newer template made."""
    if version.isdecimal() and int(version) > int(TEMPLATE_VERSION):
        return FileError(
            "was made by a newer version of the estimator than this one.",
            where=port.label,
            cure="Bring the estimator up to date, then refill.",
        )
    return FileError(
        "was made by an older version of the template.",
        where=port.label,
        cure=f"Bring it to the present one, with all that is yours, by: estimator upgrade"
        f" {on_command_line(port.label)}",
    )


class _Reader:
    """Collects what the cells of one quantity after another hold."""

    def __init__(self, port: Port, model: Model, columns: OptionColumns) -> None:
        self.port, self.model, self.columns = port, model, columns
        self.places = {key: range_of(port, key) for key in model.quantities}
        self.offsets: dict[str, tuple[int, ...]] = {}
        self.cells: dict[Cell, Any] = {}
        self.spots: dict[Cell, Edit] = {}
        self.typed_over: TypedOverValues = {}
        self.missing: list[Edit] = []
        self.owners: dict[Edit, tuple[str, Place]] = {}
        self.formulas: list[FormulaCell] = []
        self.entries_computed = False
        live = live_solvers(model, port.ranges())
        self.solved = SolvedCells(port, model, self.places, self.offsets, live)
        self.given: dict[tuple[str, Place], CellContent] = {}

    def read(self, item: Quantity) -> None:
        """Read one quantity."""
        sheet, area = self.places[item.key]
        if item.role == "stack":
            return
        self._check_height(item, sheet, area)
        typed = range_of(self.port, f"in_{item.key}") if item.role == "input" else None
        if item.by_option:
            self.offsets[item.key] = self.columns.of(
                sheet, area, typed=typed == (sheet, area), table=item.axis is not None
            )
        if typed is not None:
            self._check_height(item, *typed)
            self._read_typed(item, *typed)
        if item.role in ("row", "mark") or (typed is not None and typed != (sheet, area)):
            self._read_computed(item, sheet, area)

    def read_solved(self) -> None:
        """Read what was typed over single values that solvers gave."""
        for item, place, content, given in self.solved.decisions():
            edit = _at(*self.places[item.key], item, *place, self.offsets.get(item.key, ()))
            if content.value in ERRORS:
                raise InputError(
                    f"the error {content.value} stands over the solved {item.label}.",
                    where=place_text(*edit),
                    cure="Type what you decide, or clear the cell to get what was solved back.",
                )
            self.typed_over.setdefault(item.key, {})[place] = _value_over(item, content, edit)
            self.given[item.key, place] = given

    def book(self) -> Book:
        """All that was read."""
        spots = self.spots

        def where(key: str, place: int) -> str:
            return place_text(*spots[key, place]) if (key, place) in spots else key

        return Book(
            TypedJob(self.cells, where),
            self.typed_over,
            tuple(self.missing),
            self.places,
            self.offsets,
            tuple(self.formulas),
            self.owners,
            self.given,
            self.entries_computed,
            solved=self.solved,
        )

    def _check_height(self, item: Quantity, sheet: str, area: Range) -> None:
        """Refuse a table that is longer or shorter: its lines are watched one by one."""
        if item.axis is None:
            return
        lines, capacity = area.row2 - area.row1 + 1, self.model.capacity(item.axis)
        if lines == capacity:
            return
        count = (
            f"{lines - capacity} inserted" if lines > capacity else f"{capacity - lines} deleted"
        )
        raise FileError(
            f"the table has {lines} lines and must have {capacity} ({count}).",
            where=f"{self.port.label}, {place_text(sheet, area.row1, area.column1)}",
            cure=f"Delete the inserted rows; new entries go on the free lines. {lost(self.port)}"
            if lines > capacity
            else f"To clear a line, empty its cells. {lost(self.port)}",
        )

    def _read_typed(self, item: Quantity, sheet: str, area: Range) -> None:
        kind = item.field.kind if item.field else ""
        rows = self.port.read(sheet, area)
        for (option, row), content, edit in _walk(item, sheet, area, rows, self.columns.typed):
            place = row if item.axis else option
            self.spots[item.key, place] = edit
            if content.blank:
                continue
            if isinstance(content.value, str) and content.value in ERRORS:
                raise _error_for_an_entry(item, content.value, edit)
            if kind == "date" and isinstance(content.value, str) and content.value.strip():
                raise _text_for_a_day(item, content.value, edit)
            self.entries_computed = self.entries_computed or content.formula is not None
            self.cells[item.key, place] = _typed_value(content, kind)

    def _read_computed(self, item: Quantity, sheet: str, area: Range) -> None:
        rows = self.port.read(sheet, area)
        offsets = self.offsets.get(item.key, ())
        for place, content, edit in _walk(item, sheet, area, rows, offsets):
            if content.formula is not None:
                if content.formula.startswith(GUARD_BEGINS):
                    content = content._replace(formula=unwrapped(content.formula))
                self.formulas.append(FormulaCell(item.key, place, edit, content))
            elif content.blank or item.role == "mark":
                self.missing.append(edit)
                self.owners[edit] = item.key, place
            else:
                self.typed_over.setdefault(item.key, {})[place] = _value_over(item, content, edit)


def _error_for_an_entry(item: Quantity, error: str, edit: Edit) -> InputError:
    """What to say of an entry that is an error value."""
    return InputError(
        f"{item.label} shows the error {error}.",
        where=place_text(*edit),
        cure="Correct its formula, or type the entry.",
    )


def _text_for_a_day(item: Quantity, text: str, edit: Edit) -> InputError:
    """What to say of a date that is a text: only this program would know what day it means."""
    return InputError(
        f"{item.label} holds the text {in_quotes(text)}, which is not a date.",
        where=place_text(*edit),
        cure="Type a date such as 2026-05-01 into a cell that is not formatted as text.",
    )


def _typed_value(content: Content, kind: str) -> Any:
    """A typed value; a number that the sheet shows as a date is one, unless a date is asked for."""
    value = content.value
    if content.date and kind != "date" and isinstance(value, float) and abs(value) < 1e6:
        return dt.datetime.combine(DATE_ORIGIN + dt.timedelta(days=int(value)), dt.time())
    return value


def _value_over(item: Quantity, content: Content, edit: Edit) -> float | str:
    value = content.value
    if item.kind == "text":
        return str(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise InputError(
            f"the text {in_quotes(value)} stands over the {_made(item)} number {item.label}.",
            where=place_text(*edit),
            cure=f"Type a number, or clear the cell to get its {_back(item)} back.",
        )
    return float(value)


def _made(item: Quantity) -> str:
    return "solved" if item.role == "solved" else "computed"


def _back(item: Quantity) -> str:
    return "number" if item.role == "solved" else "formula"


def _at(
    sheet: str, area: Range, item: Quantity, option: int, row: int, offsets: tuple[int, ...]
) -> Edit:
    offset = offsets[option] if item.by_option else 0
    return sheet, area.row1 + (row if item.axis else 0), area.column1 + offset


def _walk(
    item: Quantity, sheet: str, area: Range, rows: Rows, offsets: tuple[int, ...]
) -> Iterator[tuple[Place, Content, Edit]]:
    count = area.row2 - area.row1 + 1 if item.axis else 1
    columns = [offsets[option] for option in range(len(OPTION_KEYS))] if item.by_option else [0]
    for row, contents in enumerate(rows[:count]):
        for option, offset in enumerate(columns):
            edit = sheet, area.row1 + row, area.column1 + offset
            yield (option, row), contents[offset], edit
