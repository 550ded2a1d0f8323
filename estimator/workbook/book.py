"""Reads a workbook of ours: what was typed, what was typed over, what went missing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from estimator.errors import FileError, InputError
from estimator.inputs import DATE_ORIGIN, TypedJob
from estimator.rows import OPTION_KEYS, Model, Quantity
from estimator.workbook.a1 import Range
from estimator.workbook.names import OPTION_KEY, VERSION
from estimator.workbook.port import Content, Edit, Port, Rows, place_text, range_of

Cell = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Book:
    """What a workbook of ours holds.

    Args:
        typed: The inputs as typed.
        overrides: Typed-over computed cells: key -> {(option, row): value}.
        missing: Computed cells without content, whose formula is to come back.
        places: Sheet and cells of every quantity.
        columns: Column offsets of the options A to F within a range of all option columns.
    """

    typed: TypedJob
    overrides: dict[str, dict[tuple[int, int], float | str]]
    missing: tuple[Edit, ...]
    places: Mapping[str, tuple[str, Range]]
    columns: tuple[int, ...]
    contents: dict[str, Rows] = field(default_factory=dict)

    def cell(self, item: Quantity, option: int, row: int) -> Edit:
        """Where a value of a quantity stands."""
        sheet, area = self.places[item.key]
        return _at(sheet, area, item, option, row, self.columns)


def read_book(port: Port, model: Model) -> Book:
    """Inputs and overrides of a workbook.

    Raises:
        FileError: If it is not a workbook of ours, or names are missing.
        InputError: If a text stands over a computed number.
    """
    if VERSION not in port.ranges():
        raise FileError(
            "is not a workbook made by this estimator.",
            where=port.label,
            cure="Make one with: estimator new FILE.xlsx",
        )
    columns = _option_columns(port)
    places = {key: range_of(port, key) for key in model.quantities}
    cells: dict[Cell, Any] = {}
    spots: dict[Cell, Edit] = {}
    overrides: dict[str, dict[tuple[int, int], float | str]] = {}
    missing: list[Edit] = []
    contents: dict[str, Rows] = {}
    for key, item in model.quantities.items():
        if item.role == "input":
            sheet, area = range_of(port, f"in_{key}")
            contents[key] = port.read(sheet, area)
            for option, row, content, edit in _walk(item, sheet, area, contents[key], columns):
                place = row if item.axis else option
                spots[key, place] = edit
                if not content.blank:
                    cells[key, place] = _typed_value(content, item.field.kind if item.field else "")
        elif item.role == "row":
            sheet, area = places[key]
            for option, row, content, edit in _walk(
                item, sheet, area, port.read(sheet, area), columns
            ):
                if content.formula is not None:
                    continue
                if content.blank:
                    missing.append(edit)
                else:
                    overrides.setdefault(key, {})[option, row] = _override(item, content, edit)

    def where(key: str, place: int) -> str:
        return place_text(*spots[key, place]) if (key, place) in spots else key

    return Book(TypedJob(cells, where), overrides, tuple(missing), places, columns, contents)


def _typed_value(content: Content, kind: str) -> Any:
    """A typed value; a number that the sheet shows as a date is one, unless a date is asked for."""
    value = content.value
    if content.date and kind != "date" and isinstance(value, float) and abs(value) < 1e6:
        return dt.datetime.combine(DATE_ORIGIN + dt.timedelta(days=int(value)), dt.time())
    return value


def _override(item: Quantity, content: Content, edit: Edit) -> float | str:
    value = content.value
    if item.kind == "text":
        return str(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise InputError(
            f'the text "{value}" stands over the computed number {item.label}.',
            where=place_text(*edit),
            cure="Type a number, or clear the cell to get its formula back.",
        )
    return float(value)


def _option_columns(port: Port) -> tuple[int, ...]:
    sheet, area = range_of(port, OPTION_KEY)
    heads = [str(c.value or "").strip().upper() for c in port.read(sheet, area)[0]]
    missing = [key for key in OPTION_KEYS if key not in heads]
    if missing:
        raise FileError(
            f"the column of option {missing[0]} is gone.",
            where=f"{port.label}, {sheet}",
            cure=f"Type {missing[0]} over its column again, or go back to the previous version.",
        )
    return tuple(heads.index(key) for key in OPTION_KEYS)


def _at(
    sheet: str, area: Range, item: Quantity, option: int, row: int, columns: tuple[int, ...]
) -> Edit:
    offset = 0
    if item.by_option:
        width = area.column2 - area.column1 + 1
        offset = option if width == len(OPTION_KEYS) else columns[option]
    return sheet, area.row1 + (row if item.axis else 0), area.column1 + offset


def _walk(
    item: Quantity, sheet: str, area: Range, rows: Rows, columns: tuple[int, ...]
) -> list[tuple[int, int, Content, Edit]]:
    found = []
    count = area.row2 - area.row1 + 1 if item.axis else 1
    for row in range(count):
        for option in range(len(OPTION_KEYS) if item.by_option else 1):
            edit = _at(sheet, area, item, option, row, columns)
            content = rows[edit[1] - area.row1][edit[2] - area.column1]
            found.append((option, row, content, edit))
    return found
