"""Workbooks of the project edited and read back in tests; cells are found by defined names."""

from __future__ import annotations

import copy
import dataclasses
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from jobs import changed

from estimator.engine import Model
from estimator.model import build_model
from estimator.rows import OPTION_KEYS, Quantity
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Edit, Formula, apply, read_cell
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.book import Book, read_book
from estimator.workbook.refill.file import refill_bytes, typed_edits
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import Refill
from estimator.workbook.template.grid import LANDSCAPE, PORTRAIT
from estimator.workbook.template.plans import SheetPlan

Spot = str | tuple[str, int] | tuple[str, int, int]
"""A defined name, with a column (option) and a row from 0 where it is a block."""


@dataclass(frozen=True, slots=True)
class Refilled:
    """A refilled workbook and what was said."""

    data: bytes
    refill: Refill
    notes: tuple[str, ...]


def refilled(data: bytes, label: str = "book.xlsx", model: Model | None = None) -> Refilled:
    """The workbook as ``estimator refill`` leaves it; of another model if one is given."""
    return Refilled(*refill_bytes(data, model or build_model(), label))


def retyped(data: bytes, **cells: Any) -> tuple[bytes, Refill]:
    """A workbook in feet with cells of option A, or of the job, typed, and refilled."""
    model, package = build_model(), opened(data)
    port = FilePort(package)
    typed = changed(read_book(port, model).typed, **cells)
    return refill_bytes(apply(package, typed_edits(port, model, typed)), model, "book.xlsx")[:2]


def spot(data: bytes | Package, where: Spot) -> tuple[str, str]:
    """Sheet and address of a cell by the name that it belongs to."""
    package = data if isinstance(data, Package) else opened(data)
    name, option, row = (where, 0, 0) if isinstance(where, str) else (*where, 0, 0)[:3]
    sheet, area = FilePort(package).ranges()[name]
    return sheet, address(area.row1 + int(row), area.column1 + int(option))


def cells_of(
    model: Model, book: Book, values: Mapping[str, Any], *roles: str
) -> Iterator[tuple[Quantity, tuple[int, int], tuple[str, int, int], Any]]:
    """Every cell of the quantities of some roles: which, its option and row, where, its value."""
    for key, item in model.quantities.items():
        if item.role not in roles:
            continue
        rows = model.capacity(item.axis) if item.axis else 1
        options = len(OPTION_KEYS) if item.by_option else 1
        wanted = np.broadcast_to(np.asarray(values[key]), (options, rows))
        for option in range(options):
            for row in range(rows):
                yield item, (option, row), book.cell(item, option, row), wanted[option, row]


@lru_cache(maxsize=8)
def opened(data: bytes) -> Package:
    """The package of a workbook, kept for the next question."""
    return Package.open(data, label="book.xlsx")


def edited(data: bytes, cells: Mapping[Spot, Any]) -> bytes:
    """The workbook with cells typed; a text that begins with ``=`` is a formula, None clears."""
    package = opened(data)
    edits: dict[tuple[str, str], Edit] = {}
    for where, value in cells.items():
        formula = isinstance(value, str) and value.startswith("=")
        edits[spot(package, where)] = Formula(value[1:]) if formula else value
    return apply(package, edits)


def value(data: bytes, where: Spot) -> Any:
    """What a cell shows."""
    return read_cell(opened(data), *spot(data, where)).value


def formula(data: bytes, where: Spot) -> str | None:
    """The formula of a cell."""
    return read_cell(opened(data), *spot(data, where)).formula


def meanwhile(model: Model, happens: Callable[[], Any], solver: str = "ground") -> Model:
    """The model, with something that happens after the book was read and before it is written."""
    found = copy.copy(model)
    usual = model.solvers[solver]

    def solve(values: Any) -> Any:
        happens()
        return usual.function(values)

    found.solvers = {**model.solvers, solver: dataclasses.replace(usual, function=solve)}
    return found


def printed_scale(plan: SheetPlan, sheet: Any) -> float:
    """How much smaller a sheet is printed than it is shown, to fit the width of its page."""
    page = LANDSCAPE if sheet.page_setup.orientation == "landscape" else PORTRAIT
    last = max(area.column2 for area in plan.printed)
    return min(1.0, page / sum(plan.widths.get(column, 8.43) for column in range(1, last + 1)))
