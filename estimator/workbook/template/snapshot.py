"""Where the sheet Solved From keeps what the solvers read: marks, states and the snapshot lines.

Every cell that a solver reads is one line: what it held when the solvers last ran, and whether it
differs now. The rows of a table are a group of lines, whose first says what they are and how many
of them differ. A mark adds up the groups of one solver for one option.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from estimator.engine import Model
from estimator.rows import OPTION_KEYS, Section, Table, mark_of

STATE_COLUMN = 9
SHORT_COLUMN = 10
CHECKSUM_COLUMN = 11
EVERY = "all"
"""Option of a line that belongs to none of them."""
OUT_OF_DATE = "out of date"
NOT_CHEAPEST = "may no longer be cheapest"
PRICES_CHANGED = "prices changed"
"""The same in short, for the narrow columns beside numbers."""

SNAPSHOT_COLUMNS = (
    ("snapshot_key", "Quantity"),
    ("snapshot_label", "Label"),
    ("snapshot_option", "Option"),
    ("snapshot_rows", "Rows"),
    ("snapshot_value", "Value then"),
    ("snapshot_row_changed", "Row changed"),
    ("snapshot_changed", "Changed"),
)
"""Defined names and headings of the columns of the snapshot; the solvers' columns follow."""


LABEL_COLUMN, OPTION_COLUMN, ROWS_COLUMN, VALUE_COLUMN, ROW_CHANGED_COLUMN, CHANGED_COLUMN = range(
    2, 8
)


def reads_name(solver: str) -> str:
    """Defined name of a solver's column of the snapshot."""
    return f"snapshot_reads_{solver}"


@dataclass(frozen=True, slots=True)
class SnapshotLine:
    """One source cell, or the number of rows of a table.

    Args:
        key: Its quantity; for a size, the first typed column of the table.
        option: Option counted from 0, or None.
        row: Block row counted from 0, or None.
        size: Whether the line holds the table's number of rows.
        group: Lines of its group if it is the first of them, else 0.
        marks: For each solver "x" (reads it), "p" (a price) or "".
    """

    key: str
    option: int | None
    row: int | None
    size: bool
    group: int
    marks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SnapshotPlan:
    """Rows of the sheet; ``states`` by the solvers that a quantity depends on.

    ``counts_when`` names, for some solvers, the quantity that is 0 while nothing else leaves a
    mark.
    """

    solvers: tuple[str, ...]
    counts_when: Mapping[str, str]
    mark_rows: Mapping[str, int]
    states_title_row: int
    states: Mapping[tuple[str, ...], int]
    title_row: int
    header_row: int
    first_row: int
    lines: tuple[SnapshotLine, ...]

    @property
    def last_row(self) -> int:
        """Row of the last line (the first row if there is none)."""
        return max(self.first_row, self.first_row + len(self.lines) - 1)

    def line_row(self, key: str, option: int) -> int:
        """Row of the line of a quantity that is one number, for an option or for all of them."""
        return self.first_row + next(
            number
            for number, line in enumerate(self.lines)
            if line.key == key and not line.size and line.option in (option, None)
        )

    @property
    def last_column(self) -> int:
        """Column of the last solver."""
        return max(CHECKSUM_COLUMN, len(SNAPSHOT_COLUMNS) + len(self.solvers))

    @property
    def words_column(self) -> int:
        """Helper column that lists the solvers of a state, right of everything else."""
        return self.last_column + 6


def upstream_solvers(model: Model, *keys: str) -> tuple[str, ...]:
    """Names of the solvers that any of the quantities depends on, in the model's order."""
    found = frozenset[str]().union(*(model.upstream(key) for key in keys))
    return tuple(name for name in model.solvers if name in found)


def level_name(solvers: tuple[str, ...]) -> str:
    """Defined name of the marks, one an option, of all that depends on these solvers."""
    return "level_" + "_".join(solvers)


def snapshot_plan(model: Model) -> SnapshotPlan:
    """Rows of the sheet, in a fixed order."""
    row = 6
    mark_rows: dict[str, int] = {}
    for solver in model.solvers:
        mark_rows[mark_of(solver)] = row
        row += 1
    states_title = row + 1
    row = states_title + 2
    states: dict[tuple[str, ...], int] = {}
    for solvers in _dependencies(model):
        if solvers and solvers not in states:
            states[solvers] = row
            row += 1
    title = row + 1
    return SnapshotPlan(
        tuple(model.solvers),
        {name: s.counts_when for name, s in model.solvers.items() if s.counts_when},
        mark_rows,
        states_title,
        states,
        title,
        title + 1,
        title + 2,
        tuple(_lines(model)),
    )


def _dependencies(model: Model) -> Iterator[tuple[str, ...]]:
    for sheet in model.sheets:
        for part in sheet.parts:
            if isinstance(part, Section):
                for key in part.keys:
                    yield upstream_solvers(model, key)
            elif isinstance(part, Table):
                yield upstream_solvers(model, *part.keys)
                for key in part.keys:
                    yield upstream_solvers(model, key)


def _lines(model: Model) -> Iterator[SnapshotLine]:
    marks = _marks(model)
    sized: set[str] = set()
    for key, mark in marks.items():
        item = model.quantities[key]
        if item.axis in model.tables and item.axis not in sized and item.role == "input":
            sized.add(item.axis)
            yield SnapshotLine(key, None, None, True, 1, _size_marks(model, marks, item.axis))
        options = range(len(OPTION_KEYS)) if item.by_option else (None,)
        rows = range(model.capacity(item.axis)) if item.axis else (None,)
        for option in options:
            for row in rows:
                group = 0 if row else len(rows)
                yield SnapshotLine(key, option, row, False, group, mark)


def _size_marks(model: Model, marks: Mapping[str, tuple[str, ...]], axis: str) -> tuple[str, ...]:
    columns = [m for key, m in marks.items() if model.quantities[key].axis == axis]
    return tuple(
        "x" if "x" in each else "p" if "p" in each else "" for each in zip(*columns, strict=True)
    )


def _marks(model: Model) -> dict[str, tuple[str, ...]]:
    """For each key that a solver reads, stacks taken apart, the mark of every solver."""
    found: dict[str, dict[str, str]] = {}
    for name, solver in model.solvers.items():
        for letter, keys in (("p", solver.prices), ("x", solver.reads)):
            for key in keys:
                for part in model.stacks.get(key, (key,)):
                    if model.quantities[part].role not in ("index", "mark"):
                        found.setdefault(part, {})[name] = letter
    return {key: tuple(m.get(name, "") for name in model.solvers) for key, m in found.items()}
