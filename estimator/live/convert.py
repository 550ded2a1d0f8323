"""What a spreadsheet hands to a live function, read into numbers; and what goes back, as blocks.

A range arrives as rows of cells: floats, texts, None for blanks, an error as its text. A cell that
a person typed a length into is read as ``estimator.units`` reads it. Nothing is calculated here.
"""

from __future__ import annotations

import datetime as dt
import logging
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeAlias

from estimator.errors import EstimatorError, InputError, in_quotes
from estimator.units import BareUnit, parse_length

_LOG = logging.getLogger(__name__)

Cell: TypeAlias = float | str
Block: TypeAlias = tuple[tuple[Cell, ...], ...]
Frozen: TypeAlias = Any
"""A cell, or a tuple of rows of cells."""

OK = "OK"
"""How the status in the first cell of a good block begins; anything else is not a result."""
ERROR = "ERROR: "
"""How the text of a cell begins that could not be worked out."""
LONGEST_TEXT = 255
MOST = 1e9
"""Feet, pounds, dollars: nothing that is built has more, and squares of more leave the numbers."""
CACHED = 512
"""Answers kept; the least recently used go first."""

_ERROR_CODES = range(-2146826300, -2146826200)
"""Cell errors that the conversion layer leaves as whole numbers (#SPILL! and newer)."""


def answer(function: Callable[..., Block], *arguments: Any) -> Block:
    """The block that a function gives, from the cache if nothing changed.

    An error becomes a block of one cell whose text begins with ``ERROR: ``. A function must
    depend on its arguments alone.
    """
    try:
        return _kept(function, tuple(freeze(a) for a in arguments))
    except Exception:
        return ((unexpected(),),)


def unexpected() -> str:
    """The text of a cell at the last stop, whatever went wrong; the log tells what it was."""
    _LOG.exception("A live function failed")
    return f"{ERROR}it can't be worked out. Look at the numbers that it reads."


@lru_cache(maxsize=CACHED)
def _kept(function: Callable[..., Block], arguments: tuple[Frozen, ...]) -> Block:
    try:
        return function(*(_thaw(a) for a in arguments))
    except EstimatorError as error:
        return ((error_text(error),),)


def forget() -> None:
    """Empty the cache."""
    _kept.cache_clear()


def error_text(error: EstimatorError) -> str:
    """The text that a cell shows for an error."""
    return f"{ERROR}{error}"[:LONGEST_TEXT]


def freeze(value: Any) -> Frozen:
    """A value or a range as something that a cache can look up by content.

    Equal numbers of different kind (1, 1.0, TRUE) are told apart.
    """
    if isinstance(value, (list, tuple)):
        return tuple(freeze(v) for v in value)
    return type(value), value


def _thaw(value: Frozen) -> Any:
    if len(value) == 2 and isinstance(value[0], type):
        return value[1]
    return tuple(_thaw(v) for v in value)


@dataclass(frozen=True, slots=True)
class Line:
    """One row of a table argument, its blanks as None.

    Args:
        name: The argument's name, for messages.
        row: Row within the range, counted from 1.
        cells: What the row holds.
    """

    name: str
    row: int
    cells: tuple[Any, ...]

    def where(self, column: int) -> str:
        """The place of a cell for messages; columns count from 0."""
        return f"{self.name}, row {self.row}, column {column + 1}"

    def has(self, column: int) -> bool:
        """Whether there is anything in a column."""
        return column < len(self.cells) and self.cells[column] is not None

    def text(self, column: int) -> str:
        """The text of a cell; a whole number without its decimals."""
        value = self._cell(column)
        return f"{value:g}" if isinstance(value, float) else str(value).strip()

    def number(self, column: int, default: float | None = None) -> float:
        """The number in a cell.

        Raises:
            InputError: If it is no number, or blank without a default.
        """
        return number(self.cells[column] if column < len(self.cells) else None,
                      self.where(column), default)  # fmt: skip

    def length_ft(self, column: int, bare: BareUnit = "ft") -> float:
        """The length in a cell, as typed, in feet."""
        return length_ft(self._cell(column), self.where(column), bare)

    def count(self, column: int) -> int:
        """The whole number in a cell, 0 or more."""
        found = self.number(column)
        if found < 0 or found != int(found):
            raise InputError(f"{found:g} is not a whole number.", where=self.where(column))
        return int(found)

    def _cell(self, column: int) -> Any:
        if not self.has(column):
            raise InputError("there is nothing in this cell.", where=self.where(column))
        return self.cells[column]


def lines(table: Any, name: str, least_columns: int = 1) -> tuple[Line, ...]:
    """The rows of a range that hold anything.

    Raises:
        InputError: If all are blank, there are too few columns, or a cell holds an error.
    """
    rows = table if isinstance(table, (list, tuple)) else ((table,),)
    found = []
    for at, row in enumerate(rows, start=1):
        cells = tuple(plain(v, f"{name}, row {at}, column {c + 1}") for c, v in enumerate(row))
        if any(v is not None for v in cells):
            found.append(Line(name, at, cells))
    if not found:
        raise InputError("the range is blank.", where=name)
    width = max(len(line.cells) for line in found)
    if width < least_columns:
        raise InputError(
            f"the range has {width} column{'s'[: width - 1]}, it takes at least {least_columns}.",
            where=name,
        )
    return tuple(found)


def cells(table: Any, name: str) -> Iterator[tuple[str, Any]]:
    """Every cell of a range with its place, row by row."""
    rows = table if isinstance(table, (list, tuple)) else ((table,),)
    for at, row in enumerate(rows, start=1):
        for column, value in enumerate(row, start=1):
            yield f"{name}, row {at}, column {column}", value


def filled(table: Any, name: str) -> Iterator[tuple[str, Any]]:
    """The cells of a range that hold anything, each with its place.

    Raises:
        InputError: If a cell holds an error.
    """
    return ((w, v) for w, v in cells(table, name) if plain(v, w) is not None)


def plain(value: Any, where: str) -> Any:
    """A cell's value with blanks as None.

    Raises:
        InputError: If it is an error value, or the error text of another live function.
    """
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    if isinstance(value, tuple):
        raise InputError("one cell is wanted here, not a range.", where=where)
    if isinstance(value, int) and not isinstance(value, bool):
        if value in _ERROR_CODES:
            raise InputError("the cell holds an error.", where=where, cure="Mend that cell first.")
        return float(value)
    if isinstance(value, str) and (value.startswith("#") or value.startswith(ERROR)):
        raise InputError(f"the cell says {in_quotes(value)}.", where=where, cure="Mend that first.")
    return value


def number(value: Any, where: str, default: float | None = None) -> float:
    """The number of a cell; ``default`` where it is blank.

    Raises:
        InputError: If it is no number, or blank without a default.
    """
    found = plain(value, where)
    if found is None:
        if default is None:
            raise InputError("a number is missing.", where=where)
        return default
    if isinstance(found, str):
        try:
            found = float(found)
        except ValueError:
            found = math.nan
    if isinstance(found, (bool, dt.date)) or not math.isfinite(found):
        raise InputError(f"{value!r} is not a number.", where=where)
    return within(float(found), where)


def within(found: float, where: str) -> float:
    """A number that is none of a slip's.

    Raises:
        InputError: If it is greater than anything that is built.
    """
    if not abs(found) <= MOST:
        raise InputError(f"{found:g} is more than anything that is built.", where=where)
    return found


def length_ft(value: Any, where: str, bare: BareUnit = "ft", default: float | None = None) -> float:
    """The length of a cell in feet, a bare number in the unit ``bare``.

    Raises:
        InputError: If it can't be read as one length.
    """
    found = plain(value, where)
    if found is None and default is not None:
        return default
    try:
        length = parse_length(found, bare)
    except InputError as error:
        raise InputError(error.what, where=where, cure=error.cure) from None
    return within(length, where)


def word(value: Any, where: str, choices: Sequence[str], default: str) -> str:
    """One of a few words; the case does not matter.

    Raises:
        InputError: If it is another.
    """
    found = plain(value, where)
    text = default if found is None else str(found).strip().lower()
    if text not in choices:
        raise InputError(f"{text!r} is unknown.", where=where, cure=f"Use {', '.join(choices)}.")
    return text


def block(status: str, headings: Sequence[str], rows: Sequence[Sequence[Cell]]) -> Block:
    """A rectangle: the status and the headings of the other columns, then the rows.

    The status stands where the first column's heading would, so that a formula in a heading row
    puts its results beside the rows that it was asked about.
    """
    return ((status[:LONGEST_TEXT], *headings), *(tuple(row) for row in rows))


def row_by_row(
    table: Any,
    name: str,
    least_columns: int,
    headings: Sequence[str],
    one: Callable[[Line], Sequence[Cell]],
) -> Block:
    """A block with a row of results for every row of the range, so that they stand side by side.

    A row that fails shows its own error, and the status of the whole block is an error then.
    """
    blank: tuple[Cell, ...] = ("",) * (len(headings) + 1)
    rows: list[Sequence[Cell]] = [blank] * (len(table) if isinstance(table, tuple) else 1)
    failed: list[EstimatorError] = []
    for line in lines(table, name, least_columns):
        try:
            rows[line.row - 1] = one(line)
        except EstimatorError as error:
            rows[line.row - 1] = (error_text(error), *blank[1:])
            failed.append(error)
    return block(error_text(failed[0]) if failed else OK, headings, rows)


def cell_by_cell(table: Any, name: str, one: Callable[[str, Any], Cell]) -> Block:
    """A block in the shape of the range; a cell that fails shows its own error."""
    width = len(table[0]) if isinstance(table, tuple) and table else 1
    found: list[Cell] = []
    for where, value in cells(table, name):
        try:
            found.append(one(where, value))
        except EstimatorError as error:
            found.append(error_text(error))
    return tuple(tuple(found[i : i + width]) for i in range(0, len(found), width))
