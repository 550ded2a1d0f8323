"""A refill: reads the inputs of a workbook, solves, and says what to write where."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from estimator.job import read_inputs
from estimator.model.refusals import refuse
from estimator.report import CheckedBook
from estimator.rows import OPTION_KEYS, Model, Quantity, evaluate
from estimator.values import Values
from estimator.workbook.book import Book, read_book
from estimator.workbook.port import Edit, Port, range_of
from estimator.workbook.snapshot import SnapshotLine, snapshot_plan

Value = float | str | None


@dataclass(frozen=True, slots=True)
class Refill:
    """What a refill found and is about to write.

    Args:
        book: The workbook as read.
        values: Every quantity for these inputs.
        writes: New content of the owned cells: solved values and the snapshot.
        caches: Value that each computed cell shows.
    """

    book: Book
    values: Mapping[str, Values]
    writes: Mapping[Edit, Value]
    caches: Mapping[Edit, Value]


def plan_refill(port: Port, model: Model) -> Refill:
    """Read a workbook, check its inputs and solve everything.

    Raises:
        EstimatorError: One sentence on what is wrong, where, and what to do. Nothing is written.
    """
    book = read_book(port, model)
    inputs = read_inputs(model, book.typed)
    values = evaluate(model, inputs, overrides=book.overrides)
    refuse(values, book.typed)
    writes: dict[Edit, Value] = {}
    caches: dict[Edit, Value] = {}
    for item in model.quantities.values():
        if item.role == "solved":
            writes.update(_cells(model, book, item, values[item.key]))
        elif item.role == "row":
            kept = book.overrides.get(item.key, {})
            for edit, value, place in _places(model, book, item, values[item.key]):
                if place not in kept:
                    caches[edit] = value
    writes.update(_snapshot(port, model, book, values))
    return Refill(book, values, writes, caches)


def check_book(port: Port, model: Model) -> CheckedBook:
    """Every number of a workbook for its inputs as they are, with its solved parts as they are.

    Raises:
        EstimatorError: If an input can't be used.
    """
    book = read_book(port, model)
    inputs = read_inputs(model, book.typed)
    solved = {
        item.key: _solved(port, model, book, item)
        for item in model.quantities.values()
        if item.role == "solved"
    }
    values = evaluate(model, inputs, solved=solved, overrides=book.overrides)
    return CheckedBook(values, _stale(port, model, book, values))


def _solved(port: Port, model: Model, book: Book, item: Quantity) -> Any:
    rows = model.capacity(item.axis) if item.axis else 1
    options = len(OPTION_KEYS) if item.by_option else 1
    sheet, area = book.places[item.key]
    contents = port.read(sheet, area)
    text = item.kind == "text"
    found: Any = np.full((options, rows), "" if text else 0.0, dtype=object)
    for option in range(options):
        for row in range(rows):
            _, at_row, at_column = book.cell(item, option, row)
            value = contents[at_row - area.row1][at_column - area.column1].value
            found[option, row] = str(value or "") if text else float(value or 0)
    return found.astype(str if text else float)


def _stale(port: Port, model: Model, book: Book, values: Mapping[str, Values]) -> dict[str, int]:
    """Level of every solver whose snapshot differs from the inputs as they are."""
    _, types = range_of(port, "snapshot_type")
    sheet, thens = range_of(port, "snapshot_value")
    kinds, held = port.read(sheet, types), port.read(sheet, thens)
    plan = snapshot_plan(model)
    found: dict[str, int] = {}
    for number, line in enumerate(plan.lines):
        kind, then = _seen(port, model, book, values, line)
        was = held[number][0].value
        same = kind == kinds[number][0].value and (
            abs(float(then or 0) - float(was or 0)) < 5e-10
            if kind == "number"
            else str(then or "") == str(was or "")
        )
        if not same:
            for solver, mark in zip(plan.solvers, line.marks, strict=True):
                level = {"x": 2, "p": 1}.get(mark, 0)
                if level:
                    found[solver] = max(level, found.get(solver, 0))
    return found


def _cells(model: Model, book: Book, item: Quantity, value: Values) -> dict[Edit, Value]:
    return {edit: content for edit, content, _ in _places(model, book, item, value)}


def _places(
    model: Model, book: Book, item: Quantity, value: Values
) -> Iterator[tuple[Edit, Value, tuple[int, int]]]:
    rows = model.capacity(item.axis) if item.axis else 1
    options = len(OPTION_KEYS) if item.by_option else 1
    full = np.broadcast_to(np.asarray(value), (options, rows))
    for option in range(options):
        for row in range(rows):
            yield book.cell(item, option, row), _plain(full[option, row]), (option, row)


def _plain(value: Any) -> Value:
    if isinstance(value, str):
        return str(value)
    number = float(value)
    return "" if np.isnan(number) else number


def _snapshot(
    port: Port, model: Model, book: Book, values: Mapping[str, Values]
) -> dict[Edit, Value]:
    """What the solvers read, as the workbook shows it: type and value, line by line."""
    type_sheet, types = range_of(port, "snapshot_type")
    _, thens = range_of(port, "snapshot_value")
    found: dict[Edit, Value] = {}
    for number, line in enumerate(snapshot_plan(model).lines):
        kind, then = _seen(port, model, book, values, line)
        found[type_sheet, types.row1 + number, types.column1] = kind
        found[type_sheet, thens.row1 + number, thens.column1] = then
    return found


def _seen(
    port: Port, model: Model, book: Book, values: Mapping[str, Values], line: SnapshotLine
) -> tuple[str, Value]:
    item = model.quantities[line.key]
    if line.size:
        area = book.places[line.key][1]
        return "number", float(area.row2 - area.row1 + 1)
    if item.role == "input" and range_of(port, f"in_{line.key}") == book.places[line.key]:
        typed = book.typed.cells.get((line.key, line.row or 0))
        if typed is None:
            return "blank", None
        return ("text", typed) if isinstance(typed, str) else ("number", float(typed))
    rows = model.capacity(item.axis) if item.axis else 1
    options = len(OPTION_KEYS) if item.by_option else 1
    full = np.broadcast_to(np.asarray(values[line.key]), (options, rows))
    value = _plain(full[line.option or 0, line.row or 0])
    if isinstance(value, str):
        return "text", value or None
    return "number", value
