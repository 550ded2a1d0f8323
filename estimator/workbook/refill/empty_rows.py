"""Rows of solved lists that hold nothing: they are blank in a workbook, whatever their capacity."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import Model
from estimator.rows import OPTION_KEYS, Quantity
from estimator.values import Values, as_values
from estimator.workbook.package.a1 import Range


def lists_with_blanks(model: Model, without: Collection[str] = ()) -> Iterator[list[Quantity]]:
    """Columns that a solver gives of a table, one an option or of the whole job; not of solvers
    ``without``.

    Left out are lists that a chart draws as they stand, unless their table shows gaps: a blank
    would be a gap in a line.
    """
    found: dict[tuple[str, str, bool], list[Quantity]] = {}
    for item in model.quantities.values():
        if item.role == "solved" and item.axis and item.solver not in without:
            found.setdefault((item.axis, item.solver, item.by_option), []).append(item)
    drawn = {key for sheet in model.sheets for key in sheet.shows.keys()}  # noqa: SIM118
    for columns in found.values():
        if has_gaps(model, columns[0]) or not any(column.key in drawn for column in columns):
            yield columns


def has_gaps(model: Model, item: Quantity) -> bool:
    """Whether a quantity is a column of a table that shows gaps."""
    return item.axis in model.tables and model.tables[item.axis].shows.gaps


def without_empty_rows(
    model: Model, values: Mapping[str, Values], live: Collection[str]
) -> dict[str, Values]:
    """Solved lists, NaN in rows of an option, or of the job, that hold nothing: no number is other
    than 0 and no text stands.

    Args:
        model: The rows and solvers.
        values: Every quantity: options by rows.
        live: Solvers that functions in cells answer: these fill their rows with zeros.
    """
    found: dict[str, Values] = {}
    for columns in lists_with_blanks(model, live):
        options = len(OPTION_KEYS) if columns[0].by_option else 1
        shape = options, model.capacity(str(columns[0].axis))
        full = {c.key: np.broadcast_to(np.asarray(values[c.key]), shape) for c in columns}
        used = np.zeros(shape, dtype=bool)
        for column in full.values():
            used |= column != "" if column.dtype.kind in "UT" else np.nan_to_num(column) != 0
        for key, column in full.items():
            if column.dtype.kind not in "UT":
                found[key] = as_values(np.where(used, column, np.nan))
    return found


def filled_gaps(column: NDArray[Any]) -> NDArray[Any]:
    """Numbers with each repeated down the last axis to the next one.

    A function's cell can't be blank, and a chart draws an empty text as 0.
    """
    numbers = column.astype(float)
    rows = np.arange(numbers.shape[-1])
    last = np.maximum.accumulate(np.where(np.isnan(numbers), 0, rows), axis=-1)
    return np.take_along_axis(column, last, axis=-1)


def with_filled_gaps(
    model: Model, values: Mapping[str, Values], live: Collection[str]
) -> dict[str, Values]:
    """Lists that functions in cells answer and whose tables show gaps, without any."""
    return {
        key: as_values(filled_gaps(np.asarray(values[key])))
        for key, item in model.quantities.items()
        if item.solver in live and item.kind != "text" and has_gaps(model, item)
    }


def solved_lists(
    model: Model, places: Mapping[str, tuple[str, Range]]
) -> Iterator[tuple[str, Range]]:
    """Sheet and cells of every solved list."""
    for item in model.quantities.values():
        if item.role == "solved" and item.axis:
            yield places[item.key]
