"""A small world of quantities, and what three spreadsheet engines make of formulas over it."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import formualizer
import numpy as np
import openpyxl
import pytest
from libreoffice import recalculated
from openpyxl.utils import get_column_letter

from estimator.expression import Kind, Node, as_node, quantity
from estimator.formula import emit
from estimator.values import Values, as_values

OPTIONS = 3
ROWS = {"part": 5, "bin": 4}
FIRST_ROW = 2
DATA, RESULTS = "Data", "Results"

Function = Callable[[Mapping[str, Any]], Any]


@dataclass(frozen=True, slots=True)
class Known:
    """A quantity of the world; None is a cell that nobody filled."""

    typed: Any
    kind: Kind = "number"
    axis: str | None = None
    by_option: bool = False

    def engine(self) -> Values:
        """What the engine reads: a blank is 0 or an empty text."""
        blank: Any = "" if self.kind == "text" else 0.0
        cells = np.array(self.typed, dtype=object)
        filled = np.where(np.equal(cells, None), blank, cells)
        return as_values(filled.astype(str if self.kind == "text" else float))

    def cell(self, option: int, row: int) -> Any:
        """What stands in the cell of an option and a row."""
        cells = np.array(self.typed, dtype=object)
        while cells.ndim < 2:
            cells = cells[..., np.newaxis]
        value = cells[option if self.by_option else 0, row if self.axis else 0]
        return "" if isinstance(value, float) and np.isnan(value) else value


NAN = float("nan")
WORLD: dict[str, Known] = {
    "width": Known(12.5),
    "debt": Known(-3.0),
    "count": Known(4.0),
    "share": Known(0.1),
    "none": Known(0.0),
    "wood": Known("Pine", "text"),
    "third": Known(3.0),
    # One number an option; the last option is not in use.
    "cost": Known([[120.25], [80.0], [NAN]], by_option=True),
    "drop": Known([[-2.5], [6.0], [NAN]], by_option=True),
    "style": Known([["pad"], ["piers"], [""]], "text", by_option=True),
    # A table, its last line blank.
    "part_name": Known([["Oak beam", "pine", "stone", "PINE cap", None]], "text", "part"),
    "part_size": Known([[2.5, 0.75, 4.0, 12.0, None]], axis="part"),
    "part_rise": Known([[-1.5, 2.0, 0.5, -8.0, 3.0]], axis="part"),
    "part_rank": Known([[3.0, 1.0, 5.0, 2.0, 4.0]], axis="part"),
    "part_note": Known([[None, "wet", "WET", None, "dry"]], "text", "part"),
    "part_need": Known(
        [[1.0, 2.0, 3.0, 0.0, 0.5], [0.25, 0.0, 7.0, 1.0, 2.0], [NAN] * 5],
        axis="part",
        by_option=True,
    ),
    "bin_name": Known([["stone", "Pine", "sand", None]], "text", "bin"),
    "bin_price": Known([[21.5, 3.25, 17.0, None]], axis="bin"),
    "bin_word": Known([["rock", "wood", None, None]], "text", "bin"),
}
USED_OPTIONS = 2

_COLUMNS: dict[str, int] = {}
for _key, _known in WORLD.items():
    _COLUMNS[_key] = 1 + sum(OPTIONS if WORLD[k].by_option else 1 for k in _COLUMNS)


@dataclass(frozen=True, slots=True)
class At:
    """The cell of one option and one row, as a formula sees the data from there."""

    option: int = 0
    row: int = 0

    def cell(self, key: str) -> str:
        """Address of a quantity for this option and row."""
        row = FIRST_ROW + (self.row if WORLD[key].axis else 0)
        return f"{DATA}!${self._column(key)}${row}"

    def block(self, key: str) -> str:
        """Range of a quantity over its table."""
        column, last = self._column(key), FIRST_ROW + ROWS[str(WORLD[key].axis)] - 1
        return f"{DATA}!${column}${FIRST_ROW}:${column}${last}"

    def options(self, key: str) -> str:
        """Range of a quantity over the options."""
        row = FIRST_ROW + (self.row if WORLD[key].axis else 0)
        first, last = (get_column_letter(_COLUMNS[key] + n) for n in (0, OPTIONS - 1))
        return f"{DATA}!${first}${row}:${last}${row}"

    def area(self, key: str) -> str:
        """Range of a quantity over the options and its table."""
        last = FIRST_ROW + ROWS[str(WORLD[key].axis)] - 1
        first, end = (get_column_letter(_COLUMNS[key] + n) for n in (0, OPTIONS - 1))
        return f"{DATA}!${first}${FIRST_ROW}:${end}${last}"

    def _column(self, key: str) -> str:
        return get_column_letter(_COLUMNS[key] + (self.option if WORLD[key].by_option else 0))


def references() -> dict[str, Any]:
    """Every quantity as a symbolic reference."""
    return {
        key: quantity(key, kind=k.kind, axis=k.axis, by_option=k.by_option)
        for key, k in WORLD.items()
    }


def numbers() -> dict[str, Values]:
    """Every quantity as the engine's values."""
    return {key: known.engine() for key, known in WORLD.items()}


@dataclass(frozen=True, slots=True)
class Asked:
    """One formula and what the engine says that it gives."""

    function: Function
    option: int
    row: int
    text: str
    expected: Any


def node_of(function: Function) -> Node:
    """The expression of a function of the world."""
    return as_node(function(references()))


def value_of(function: Function) -> Values:
    """The engine's values of a function of the world."""
    with np.errstate(all="ignore"):
        return as_values(function(numbers()))


def formula_of(function: Function, at: At | None = None) -> str:
    """Formula text of a function of the world, from the first option and row if not told."""
    return emit(node_of(function), at or At())


def ask(function: Function) -> list[Asked]:
    """The function's formula in every used option and row, each with the engine's value."""
    node, values = node_of(function), value_of(function)
    found = []
    for option in range(USED_OPTIONS if node.by_option else 1):
        for row in range(ROWS[node.axis] if node.axis else 1):
            text = emit(node, At(option, row))
            if node.kind == "flag":  # a truth is written as 1 or 0, as the workbook does
                text = f"IF({text},1,0)"
            value = values[min(option, values.shape[-2] - 1), min(row, values.shape[-1] - 1)]
            expected = str(value) if node.kind == "text" else float(value)
            found.append(Asked(function, option, row, text, expected))
    return found


def workbook(asked: Sequence[Asked]) -> bytes:
    """A file without cached values: the world's data and the formulas, one a row."""
    book = openpyxl.Workbook()
    data = book.active
    data.title = DATA
    for key, known in WORLD.items():
        for option in range(OPTIONS if known.by_option else 1):
            data.cell(1, _COLUMNS[key] + option, key)
            for row in range(ROWS[known.axis] if known.axis else 1):
                value = known.cell(option, row)
                cell = data.cell(FIRST_ROW + row, _COLUMNS[key] + option)
                if value == "":  # a quiet cell of an option that is not in use
                    cell.value = '=""'
                elif value is not None:
                    cell.value = value
    results = book.create_sheet(RESULTS)
    for row, one in enumerate(asked, 1):
        results.cell(row, 1, f"={one.text}")
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def by_formualizer(asked: Sequence[Asked]) -> list[Any]:
    """Value of each formula by the engine that writes the caches."""
    data = formualizer.recalculate_xlsx_bytes(workbook(asked))["bytes"]
    sheet = openpyxl.load_workbook(io.BytesIO(data), data_only=True)[RESULTS]
    return [sheet.cell(row, 1).value for row in range(1, len(asked) + 1)]


def by_libreoffice(asked: Sequence[Asked]) -> list[Any]:
    """Value of each formula by LibreOffice."""
    sheet = recalculated(workbook(asked))[RESULTS]
    return [sheet.cell(row, 1).value for row in range(1, len(asked) + 1)]


def by_formulas_library(asked: Sequence[Asked], folder: Path) -> list[Any]:
    """Value of each formula by the ``formulas`` library."""
    import formulas

    path = folder / "world.xlsx"
    path.write_bytes(workbook(asked))
    solution = formulas.ExcelModel().loads(str(path)).finish().calculate()
    found = {}
    for key, ranges in solution.items():
        sheet, _, cell = str(key).rpartition("!")
        if sheet.strip("'").upper().endswith(RESULTS.upper()) and hasattr(ranges, "value"):
            found[cell.upper()] = ranges.value.ravel()[0]
    return [found[f"A{row}"] for row in range(1, len(asked) + 1)]


def disagreements(asked: Sequence[Asked], values: Sequence[Any]) -> list[str]:
    """Formulas whose value is not the engine's, to 1e-9 relative.

    Differences that cancel leave dust; as everywhere in the project the tenth decimal of a
    number is nothing, so an absolute 1e-9 is allowed as well. An error is the engine's NaN.
    """
    return [
        f"{one.text}  [{one.option},{one.row}]: engine {one.expected!r}, sheet {value!r}"
        for one, value in zip(asked, values, strict=True)
        if not _alike(one.expected, value)
    ]


def _alike(expected: Any, value: Any) -> bool:
    if value is None:
        value = ""
    text = str(value)
    if isinstance(expected, str):
        return text == expected or (expected == "" and text.startswith("#"))
    if np.isnan(expected):
        return text.startswith("#")
    if isinstance(value, str) or text.startswith("#"):
        return False
    return bool(float(value) == pytest.approx(expected, rel=1e-9, abs=1e-9))
