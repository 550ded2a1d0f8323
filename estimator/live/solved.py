"""The solved blocks of the workbook as a function: the model's own solver, cut to a block.

A block's formula hands over what its solver reads, range by range in the solver's order. Nothing
is calculated here.
"""

from __future__ import annotations

import datetime as dt
import marshal
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, lru_cache
from typing import Any

import numpy as np

from estimator.engine import Model, Solver
from estimator.errors import EstimatorError, InputError, in_quotes
from estimator.inputs import DATE_ORIGIN, Field, read
from estimator.live.convert import ERROR, LONGEST_TEXT, Block, error_text, plain, unexpected
from estimator.metric import metric
from estimator.model import build_model
from estimator.rows import OPTION_KEYS, USED, Quantity
from estimator.values import Values, as_values
from estimator.workbook.refill.empty_rows import filled_gaps, has_gaps
from estimator.workbook.refill.live_blocks import can_be_live, keys_between, parse_label

KEPT_ANSWERS = 64
KEPT_BLOCKS = 256
KEPT_RANGES = 1024
_NO_REFERENCES = 2
"""Version of the packing in which equal cells always give equal bytes."""

Answer = Mapping[str, Values]


def solved_block(label: Any, *reads: Any) -> Block:
    """The rectangle that a solver writes, from the ranges that it reads.

    Args:
        label: The first and the last quantity in the rectangle, ``cut_cost:cut_waste_ft``.
        reads: Contents of the solver's reads, then of its prices, in their order.

    Returns:
        The full rectangle. Where there is no answer every cell says why, after ``ERROR: ``.
    """
    try:
        return _block(str(label), tuple(map(_packed, reads)))
    except Exception:
        return ((unexpected(),),)


def forget() -> None:
    """Empty the cache."""
    _block.cache_clear()
    _answer.cache_clear()
    _read.cache_clear()


def _packed(table: Any) -> bytes:
    """A range as bytes to look up by; much faster than cell by cell."""
    try:
        return marshal.dumps(table, _NO_REFERENCES)
    except ValueError:  # a date among them
        return marshal.dumps(_undated(table), _NO_REFERENCES)


def _undated(value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return [_undated(v) for v in value]
    if isinstance(value, dt.datetime):
        return float((value.date() - DATE_ORIGIN).days)
    return value


@lru_cache(maxsize=KEPT_BLOCKS)
def _block(label: str, reads: tuple[bytes, ...]) -> Block:
    first, last, is_metric = parse_label(label)
    model = _model(is_metric)
    try:
        item = model.quantities.get(first)
        if item is None or item.solver not in can_be_live(model):
            raise InputError(
                f"no solver gives {in_quotes(first)}.", cure="Make the live copy again."
            )
        keys = keys_between(model, item.solver, first, last)
    except (EstimatorError, ValueError) as error:
        return ((f"{ERROR}{error}"[:LONGEST_TEXT],),)
    found = _answer(item.solver, is_metric, reads)
    if isinstance(found, EstimatorError):
        rows, columns = _shape(model, keys)
        return ((error_text(found),) * columns,) * rows
    return _cut(model, keys, found)


@lru_cache(maxsize=KEPT_ANSWERS)
def _answer(name: str, is_metric: bool, ranges: tuple[bytes, ...]) -> Answer | EstimatorError:
    """Everything that a solver gives, or why it can't."""
    model = _model(is_metric)
    solver = model.solvers[name]
    keys = (*solver.reads, *solver.prices)
    try:
        if len(ranges) != len(keys):
            raise InputError(
                f"{len(ranges)} ranges came, {solver.label} reads {len(keys)}.",
                cure="Make the live copy again with this version.",
            )
        found = {key: _read(key, is_metric, table) for key, table in zip(keys, ranges, strict=True)}
        values = _values(model, solver, found)
        with np.errstate(all="ignore"):
            given = solver.function(values)
    except EstimatorError as error:
        return error
    return {key: _quiet(model, key, given[key], values) for key in model.writes[name]}


def _model(is_metric: bool) -> Model:
    return metric(build_model()) if is_metric else build_model()


def _values(model: Model, solver: Solver, found: dict[str, Values]) -> dict[str, Values]:
    """What the engine would hand to the solver: options by rows of the table."""
    if USED in found:
        used = np.asarray(found[USED])[:, 0] > 0
        for key in solver.reads:
            item, value = model.quantities[key], np.asarray(found[key])
            counted = item.role == "row" and item.by_option and item.kind != "text"
            if counted and np.isnan(value[used]).any():
                raise InputError("blank for an option in use.", where=item.label)
    return found


@lru_cache(maxsize=KEPT_RANGES)
def _read(key: str, is_metric: bool, packed: bytes) -> Values:
    """A range as values; of many, a change alters one or a few."""
    item, table = _model(is_metric).quantities[key], marshal.loads(packed)
    rows = table if isinstance(table, (list, tuple)) else [[table]]
    cells = [
        [_cell(item, value, r, c) for c, value in enumerate(row)] for r, row in enumerate(rows)
    ]
    width = len(OPTION_KEYS) if item.by_option else 1
    if any(len(row) != width for row in cells):
        raise InputError(
            f"the range has {len(cells[0])} columns and must have {width}.", where=item.label
        )
    values = as_values(np.array(cells, dtype=str if item.kind == "text" else float).T)
    values.setflags(write=False)
    return values


def _cell(item: Quantity, value: Any, row: int, column: int) -> float | str:
    if type(value) is float and item.kind != "text" and item.role != "input":
        return value
    where = f"{item.label}, row {row + 1}, column {column + 1}"
    found = plain(value, where)
    if item.field is not None:
        if item.axis is not None:  # as typed; other inputs have a cell that checks and reads them
            if found is not None and found == item.field.blank:
                return item.field.blank
            return read(_as_shown(item.field), found, where)
        if found == "?":
            raise InputError("the input can't be read.", where=item.label, cure="Correct it.")
        if found is None:
            return item.field.blank
        if isinstance(found, dt.datetime):
            return float((found.date() - DATE_ORIGIN).days)
    if found is None:
        if item.kind != "text" and item.role == "row" and not item.by_option:
            raise InputError("blank.", where=where, cure="Correct the inputs.")
        return "" if item.kind == "text" else float("nan")
    if item.kind == "text":
        return f"{found:.15g}" if isinstance(found, float) else str(found)
    if isinstance(found, str):
        raise InputError(f"the text {in_quotes(found)} where a number belongs.", where=where)
    return float(found)


@cache
def _as_shown(field: Field) -> Field:
    """A field of a table's column: a blank line is blank, a key is looked up by its readers.

    What stands in the cell was read already, a blank length as 0, whatever the least one is.
    """
    kind = "text" if field.kind == "key" else field.kind
    return replace(field, needed=False, kind=kind, low=min(field.low, 0.0))


def _quiet(model: Model, key: str, value: Any, read_values: Mapping[str, Values]) -> Values:
    """An answer with the options that are not in use blank, as the engine keeps it."""
    item, plain_values = model.quantities[key], np.asarray(as_values(value))
    if not item.by_option:
        return as_values(plain_values)
    blank: Any = "" if plain_values.dtype.kind == "U" else np.nan
    return as_values(np.where(np.asarray(read_values[USED]) > 0, plain_values, blank))


def _shape(model: Model, keys: tuple[str, ...]) -> tuple[int, int]:
    items = [model.quantities[key] for key in keys]
    widths = [len(OPTION_KEYS) if item.by_option else 1 for item in items]
    if items[0].axis is None:
        return len(items), widths[0]
    return model.capacity(items[0].axis), sum(widths)


def _cut(model: Model, keys: tuple[str, ...], answer: Answer) -> Block:
    rows, _ = _shape(model, keys)
    parts = []
    for key in keys:
        item = model.quantities[key]
        lines = model.capacity(item.axis) if item.axis else 1
        shape = len(OPTION_KEYS) if item.by_option else 1, lines
        given = np.broadcast_to(np.asarray(answer[key]), shape)
        if item.kind != "text" and has_gaps(model, item):
            given = filled_gaps(given)
        full = given.T.astype(object)
        if item.kind != "text":
            full = np.where(np.isnan(full.astype(float)), "", full)
        parts.append(full)
    if model.quantities[keys[0]].axis is None:
        found = np.concatenate(parts, axis=0)
    else:
        found = np.concatenate(parts, axis=1)
    assert len(found) == rows
    return tuple(map(tuple, found.tolist()))
