"""The port that a refill works through: what it asks of a workbook, wherever that is open.

Two things only: cells by defined name, and blocks of values written back. The file on disk is
one adapter; an open book is another.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple, Protocol

from estimator.errors import FileError, on_command_line
from estimator.workbook.package.a1 import Range, address

CellContent = float | str | bool | None


class Content(NamedTuple):
    """What one cell holds: its value (an error as its code) and the formula that gives it."""

    value: CellContent
    formula: str | None = None
    date: bool = False

    @property
    def blank(self) -> bool:
        """Whether there is nothing in the cell."""
        return self.formula is None and (self.value is None or self.value == "")


Rows = tuple[tuple[Content, ...], ...]


class Port(Protocol):
    """A workbook to read from and write to."""

    @property
    def label(self) -> str:
        """Name of the workbook for messages."""

    def ranges(self) -> Mapping[str, tuple[str, Range]]:
        """Sheet and cells of every defined name that stands for one range."""

    def read(self, sheet: str, area: Range) -> Rows:
        """Contents of a range."""


Edit = tuple[str, int, int]
"""Sheet, row and column of a cell, rows and columns counted from 1."""


def range_of(port: Port, name: str) -> tuple[str, Range]:
    """Sheet and cells of a defined name.

    Raises:
        FileError: If the name is gone.
    """
    found = port.ranges().get(name)
    if found is None:
        raise FileError(
            f"the defined name {name} is missing or its cells were deleted.",
            where=port.label,
            cure=lost(port),
        )
    return found


def lost(port: Port) -> str:
    """How to get a lost sheet or name back."""
    book = on_command_line(port.label)
    return f"Undo that, or get it back from the template by: estimator restore {book}"


def place_text(sheet: str, row: int, column: int) -> str:
    """A cell as a person finds it: ``Options!D12``."""
    return f"{sheet}!{address(row, column)}"
