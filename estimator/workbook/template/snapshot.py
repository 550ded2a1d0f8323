"""Where the sheet Solved From keeps what the solvers read: marks, states and the snapshot lines.

A single value that a solver reads is one line: what it held when the solvers last ran, and whether
it differs now. Of a column of a list all texts are kept, a group of lines whose first says whether
any differs; of its numbers a checksum alone, for there are many. A mark adds up what one solver
reads for one option.

Below stand lines of what the solvers gave, kept alike. Another content in a single value is the
builder's decision; a column of a list is watched against accidents.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from estimator.engine import Model
from estimator.rows import (
    OPTION_KEYS,
    SPOILED,
    TYPED_OVER,
    Quantity,
    Section,
    Table,
    mark_of,
)

STATE_COLUMN = 9
SHORT_COLUMN = 10
CHECKSUM_COLUMN = 11
EVERY = "all"
"""Option of a line that belongs to none of them."""
OUT_OF_DATE = "out of date"
NOT_CHEAPEST = "may no longer be cheapest"
PRICES_CHANGED = "prices changed"
"""The same in short, for the narrow columns beside numbers."""
TYPED_OVER_MARK = "typed over"
"""Beside a solved number over which another was typed; also kept in place of the solver's answer
where that is the very same, so that the decision stands."""

SNAPSHOT = "snapshot_"
"""What the defined names of the snapshot begin with."""

SNAPSHOT_COLUMNS = (
    ("snapshot_key", "Quantity"),
    ("snapshot_label", "Label"),
    ("snapshot_option", "Option"),
    ("snapshot_rows", "Rows"),
    ("snapshot_value", "Value then"),
    ("snapshot_now", "Checksum now; typed over"),
    ("snapshot_changed", "Changed"),
)
"""Defined names and headings of the columns of the snapshot; the solvers' columns follow."""


LABEL_COLUMN, OPTION_COLUMN, ROWS_COLUMN, VALUE_COLUMN, NOW_COLUMN, CHANGED_COLUMN = range(2, 8)


def reads_name(solver: str) -> str:
    """Defined name of a solver's column of the snapshot."""
    return f"snapshot_reads_{solver}"


Holds = Literal["single", "numbers", "texts"]
GIVEN = "s"
"""Mark of a line of what a solver gave, in the column of that solver."""
CHECKSUM_DIGITS = 6
DECISION, UNUSABLE = 1, 2
"""What a line of a single value says of one that was typed over it."""
_STEP = 0.6180339887498949
_FILLED, _NUMBER = 1234.5671, 3571.0137
"""What a filled cell (times its row's weight) and a number add to a checksum."""


def weights(count: int) -> tuple[float, ...]:
    """Weights of the rows of a column in its checksum, each another one between 1 and 2.

    Two edits of a column would have to differ by their ratio to cancel.
    """
    return tuple(round(1 + row * _STEP % 1, 6) for row in range(1, count + 1))


def checksum(cells: Sequence[float | str | bool | None]) -> float:
    """Checksum of a column of numbers: of its numbers, of which cells are filled, of how many are.

    The formula of the same stands in :mod:`marks`. An edit that changes a number by less than
    half a millionth is not seen.
    """
    found = 0.0
    for weight, cell in zip(weights(len(cells)), cells, strict=True):
        if cell is None or cell == "":
            continue
        found += _FILLED * weight
        if isinstance(cell, float):
            found += cell * weight + _NUMBER
    return found


def checksum_formula(column: str, weights_of_rows: str) -> str:
    """The same of a column's cells as they are now, in a formula."""
    return (
        f'SUMPRODUCT({column},{weights_of_rows})+SUMPRODUCT(({column}<>"")*{weights_of_rows})'
        f"*{_FILLED}+COUNT({column})*{_NUMBER}"
    )


@dataclass(frozen=True, slots=True)
class SnapshotLine:
    """What a solver reads, or the number of rows of a table, or what a solver gave.

    Args:
        key: Its quantity; for a size, the first typed column of the table.
        option: Option counted from 0, or None.
        row: Block row counted from 0, or None; of a column of numbers, how many rows it has.
        size: Whether the line holds the table's number of rows.
        group: Lines of its group if it is the first of them, else 0.
        marks: For each solver "x" (reads it), "p" (a price), "s" (gave it) or "".
        holds: A single value, the checksum of a column of numbers, or a text of a column.
        given: Whether a solver gave it.
    """

    key: str
    option: int | None
    row: int | None
    size: bool
    group: int
    marks: tuple[str, ...]
    holds: Holds = "single"
    given: bool = False


@dataclass(frozen=True, slots=True)
class ComputedLine:
    """The computed cells of a section or table, watched for what is typed over them.

    Args:
        label: Its sheet and title.
        sheet: Its sheet.
        numbers, texts: Its quantities.
    """

    label: str
    sheet: str
    numbers: tuple[str, ...]
    texts: tuple[str, ...]


PART, SPOILT, NOW, THEN = 2, 3, 4, 5
"""Columns of those lines, right of the weights."""
OVER_THEN = f"{SNAPSHOT}over_then"
"""Name of the cells that keep how many were typed over when the workbook was refilled."""


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
    computed: tuple[ComputedLine, ...]

    @property
    def last_row(self) -> int:
        """Row of the last line (the first row if there is none)."""
        return max(self.first_row, self.first_row + len(self.lines) - 1)

    def line_row(self, key: str, option: int) -> int:
        """Row of the line of a quantity that is one number, for an option or for all of them."""
        return self.first_row + next(
            number
            for number, line in enumerate(self.lines)
            if line.key == key
            and not line.given
            and not line.size
            and line.option in (option, None)
        )

    def singles(self, key: str = "") -> tuple[int, int]:
        """First and last row of the lines of single values that solvers gave; of one, or of all.

        They stand below each other. Both are 0 where there is none.
        """
        rows = [
            self.first_row + number
            for number, line in enumerate(self.lines)
            if line.given and line.holds == "single" and key in ("", line.key)
        ]
        return (rows[0], rows[-1]) if rows else (0, 0)

    @property
    def last_column(self) -> int:
        """Column of the last solver."""
        return max(CHECKSUM_COLUMN, len(SNAPSHOT_COLUMNS) + len(self.solvers))

    @property
    def weights_column(self) -> int:
        """Column of the weights of checksums, from the first line down."""
        return self.words_column + 2

    @property
    def weights(self) -> int:
        """Rows of the longest column that has a checksum."""
        return max((line.row or 0 for line in self.lines if line.holds == "numbers"), default=0)

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
        (*_lines(model), *_given(model)),
        tuple(_computed(model)),
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
        for option in _options(item):
            yield from _of(model, item, option, mark)


def _of(
    model: Model,
    item: Quantity,
    option: int | None,
    marks: tuple[str, ...],
    given: bool = False,
) -> Iterator[SnapshotLine]:
    """Lines of one value, or of one column of a list."""
    if item.axis is None:
        yield SnapshotLine(item.key, option, None, False, 1, marks, "single", given)
        return
    count = model.capacity(item.axis)
    if item.kind == "text":
        for row in range(count):
            group = 0 if row else count
            yield SnapshotLine(item.key, option, row, False, group, marks, "texts", given)
    else:
        yield SnapshotLine(item.key, option, count, False, 1, marks, "numbers", given)


def _computed(model: Model) -> Iterator[ComputedLine]:
    """The parts of all sheets; not what itself depends on what is counted here."""
    counting = {TYPED_OVER, SPOILED}
    for key in model.order:
        item = model.quantities.get(key)
        if item is not None and counting.intersection(model.stacks.get(key, item.reads)):
            counting.add(key)
    for sheet in model.sheets:
        parts = [part for part in sheet.parts if isinstance(part, (Section, Table))]
        for part in parts:
            found = [model.quantities[key] for key in part.keys if key not in counting]
            found = [item for item in found if item.role == "row"]
            numbers = tuple(item.key for item in found if item.kind != "text")
            texts = tuple(item.key for item in found if item.kind == "text")
            if found or part is parts[0]:
                label = f"{sheet.name}: {part.title}"
                yield ComputedLine(label, sheet.name, numbers, texts)


def _given(model: Model) -> Iterator[SnapshotLine]:
    """What the solvers gave: single values, then lists."""
    solved = [item for item in model.quantities.values() if item.role == "solved"]
    for item in sorted(solved, key=lambda item: item.axis is not None):
        for option in _options(item):
            yield from _of(model, item, option, _own(model, item), given=True)


def _options(item: Quantity) -> Sequence[int | None]:
    return range(len(OPTION_KEYS)) if item.by_option else (None,)


def _own(model: Model, item: Quantity) -> tuple[str, ...]:
    return tuple(GIVEN if name == item.solver else "" for name in model.solvers)


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
