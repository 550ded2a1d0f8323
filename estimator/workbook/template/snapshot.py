"""Where the sheet Solved From keeps what the solvers read: marks, states and the snapshot lines.

A quantity that a solver reads is one line, its options side by side: what it held when the solvers
last ran, and whether it differs now. Of a column of a list the texts are kept behind each other in
one cell, of its numbers a checksum alone, for there are many; so of single values that the very
same solvers read, where there are several: a mark adds up what one solver reads for one option, and
is the same whichever of them changed.

Below stand lines of what the solvers gave, kept alike. Another content in a single value is the
builder's decision; a column of a list is watched against accidents.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from operator import ne
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
from estimator.workbook.template.checksums import (
    Cell,
    amiss_room,
    answers_checksum,
    answers_room,
    checksum,
    given_texts,
    joined,
    joined_room,
    number_room,
    sum_of_singles,
    text_room,
    texts_of_singles,
    typed_room,
)

FIRST = 3
"""Column of the first option's marks."""
STATE_COLUMN = 9
SHORT_COLUMN = 10
CHECKSUM_COLUMN = 11
EVERY = "all"
"""Stands for the option of what belongs to none of them."""
FRESH = "fresh"
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
    ("snapshot_key", "Given quantity"),
    ("snapshot_label", "Label"),
    ("snapshot_rows", "Rows"),
)
"""Defined names and headings of the first columns of the snapshot."""
SNAPSHOT_VALUE, SNAPSHOT_CHANGED = "snapshot_value", "snapshot_changed"
"""Defined names of what was there and of what is said of it now: a column for what belongs to no
option and one for each option."""
LABEL_COLUMN, ROWS_COLUMN, VALUE_COLUMN = 2, 3, 4
WIDTH = 1 + len(OPTION_KEYS)
CHANGED_COLUMN = VALUE_COLUMN + WIDTH
SWITCH_COLUMN = CHECKSUM_COLUMN + 1
"""Beside a solver's marks; with :data:`OFF` in it no line counts for that solver."""
OFF = "off"


def offset(option: int | None) -> int:
    """Place of an option, counted from 0, or of None among the columns of values."""
    return 0 if option is None else 1 + option


Holds = Literal["single", "numbers", "answers", "texts", "beside texts"]
GIVEN = "s"
"""Mark of a line of what a solver gave, for that solver."""
DECISION, UNUSABLE = -1, -2
"""What a line says of a single value that was typed over what a solver gave; 1: it was emptied."""
MOST_CHARACTERS = 540
"""Of the terms of one formula of a line, so that a person can follow it; what calls for more is
told by several lines."""
SEVERAL = 3
"""From how many single values on they are kept together."""


@dataclass(frozen=True, slots=True)
class SnapshotLine:
    """What a solver reads, or the number of rows of a table, or what a solver gave.

    Args:
        key: Its quantity; for a size, the first typed column of the table.
        options: The options counted from 0, or None alone.
        first: Of a column of a list, its first block row on this line, counted from 0.
        rows: Of a column of a list, how many of its rows are on this line; else 0.
        size: Whether the line holds the table's number of rows.
        marks: For each solver "x" (reads it), "p" (a price), "s" (gave it) or "".
        holds: A single value, the checksum of numbers typed or computed, that of numbers which a
            solver gave (rows that hold nothing are blank there, and a blank is 0), texts, or the
            checksum of what else stands among the texts of a column.
        given: Whether a solver gave it.
        members: The quantities of single values, or of answers in columns of one table, that are
            kept together; ``key`` is the first.
    """

    key: str
    options: tuple[int | None, ...]
    first: int
    rows: int
    size: bool
    marks: tuple[str, ...]
    holds: Holds = "single"
    given: bool = False
    members: tuple[str, ...] = ()


def kept(line: SnapshotLine, cells: Sequence[Cell]) -> float | str:
    """What a line keeps of single values together, or of the cells of a list's whole column.

    Of answers it is given the columns of its members, behind each other.
    """
    if line.holds == "answers":
        return answers_checksum(
            [cells[at : at + line.rows] for at in range(0, len(cells), line.rows)]
        )
    if line.members:
        return sum_of_singles(cells) if line.holds == "numbers" else texts_of_singles(cells)
    cells = cells[line.first : line.first + line.rows]
    if line.holds == "texts":
        return given_texts(cells) if line.given else joined(cells)
    return checksum(cells, texts=line.holds == "beside texts")


@dataclass(frozen=True, slots=True)
class ComputedLine:
    """The computed cells of sections and tables, watched for what is typed over them.

    Args:
        label: Their sheet and the titles of the first and the last.
        sheet: Its sheet.
        numbers, texts: Its quantities.
    """

    label: str
    sheet: str
    numbers: tuple[str, ...]
    texts: tuple[str, ...]


PART, SPOILT, NOW, THEN, AMISS = 2, 3, 4, 5, 6
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

    def changed_cell(self, key: str, option: int) -> tuple[int, int]:
        """Row and column of what is said of a read number, for an option or for all of them."""
        for number, line in enumerate(self.lines):
            if line.key == key and not line.given and not line.size:
                own = option if option in line.options else None
                return self.first_row + number, CHANGED_COLUMN + offset(own)
        raise KeyError(key)

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

    def runs(self, solver: str, mark: str, *, by_option: bool) -> list[tuple[int, int]]:
        """First and last rows of the lines that have a mark for a solver.

        Lines that say nothing of any option may lie between those that do, and the other way
        round: their cells are blank in the columns that are asked for.
        """
        at = self.solvers.index(solver)
        found: list[tuple[int, int]] = []
        broken = True
        for row, line in enumerate(self.lines, start=self.first_row):
            if (line.options != (None,)) is not by_option:
                continue
            if line.marks[at] != mark:
                broken = True
            elif broken:
                found.append((row, row))
                broken = False
            else:
                found[-1] = found[-1][0], row
        return found

    @property
    def weights_column(self) -> int:
        """Column of the weights of checksums, from the first line down."""
        return self.words_column + 2

    @property
    def weights(self) -> int:
        """Rows of the longest column that has a checksum."""
        sums = [line for line in self.lines if line.holds not in ("single", "texts")]
        return max((line.rows or len(line.members) for line in sums), default=0)

    @property
    def words_column(self) -> int:
        """Helper column that lists the solvers of a state, right of everything else."""
        return CHANGED_COLUMN + WIDTH + 5


def upstream_solvers(model: Model, *keys: str) -> tuple[str, ...]:
    """Names of the solvers that any of the quantities depends on, in the model's order."""
    found = frozenset[str]().union(*(model.upstream(key) for key in keys))
    return tuple(name for name in model.solvers if name in found)


def level_name(solvers: tuple[str, ...]) -> str:
    """Defined name of the marks, one an option, of all that depends on these solvers."""
    return "level_" + "_".join(solvers)


@lru_cache(maxsize=4)
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
        (*_alike_together(_lines(model)), *_given(model)),
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
    together = _together(model, marks)
    apart = {key for group in together for key in group}
    sized: set[str] = set()
    for key, mark in marks.items():
        item = model.quantities[key]
        if item.axis in model.tables and item.axis not in sized and item.role == "input":
            sized.add(item.axis)
            yield SnapshotLine(key, (None,), 0, 0, True, _size_marks(model, marks, item.axis))
        if key not in apart:
            yield from _of(model, item, mark)
    for group in together:
        texts = [key for key in group if model.quantities[key].kind == "text"]
        numbers = [key for key in group if key not in texts]
        kinds: list[tuple[Holds, list[str], Callable[[str], int]]] = [
            ("numbers", numbers, number_room),
            ("texts", texts, text_room),
        ]
        for holds, keys, room in kinds:
            for members in _chunks(model, keys, room):
                options = _options(model.quantities[members[0]])
                mark = marks[members[0]]
                yield SnapshotLine(members[0], options, 0, 0, False, mark, holds, members=members)


def _chunks(
    model: Model, keys: Sequence[str], room: Callable[[str], int]
) -> Iterator[tuple[str, ...]]:
    """Keys in their order, as many together as a formula has room for, by their sheets."""
    chunk: list[str] = []
    left = MOST_CHARACTERS
    for key in keys:
        needed = room(model.quantities[key].sheet)
        if chunk and needed > left:
            yield tuple(chunk)
            chunk, left = [], MOST_CHARACTERS
        chunk.append(key)
        left -= needed
    if chunk:
        yield tuple(chunk)


def _alike_together(lines: Iterable[SnapshotLine]) -> Iterator[SnapshotLine]:
    """Lines in an order in which those of a solver stand in few runs.

    First those of no option, then the others; the next are the lines whose marks differ least.
    """
    groups: dict[tuple[bool, tuple[str, ...]], list[SnapshotLine]] = {}
    for line in lines:
        groups.setdefault((line.options != (None,), line.marks), []).append(line)
    for by_option in (False, True):
        left = [marks for own, marks in groups if own is by_option]
        last = left[0] if left else ()
        while left:
            last = min(left, key=lambda marks: sum(map(ne, marks, last)))
            left.remove(last)
            yield from groups[by_option, last]


def _together(model: Model, marks: Mapping[str, tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Single values that the same solvers read alike; by option, and those not.

    One that a mark asks for by itself is none of them.
    """
    asked = {solver.counts_when for solver in model.solvers.values()}
    found: dict[tuple[object, ...], list[str]] = {}
    for key, mark in marks.items():
        item = model.quantities[key]
        if item.axis is None and key not in asked:
            found.setdefault((mark, item.by_option), []).append(key)
    return [tuple(keys) for keys in found.values() if len(keys) >= SEVERAL]


def _options(item: Quantity) -> tuple[int | None, ...]:
    return tuple(range(len(OPTION_KEYS))) if item.by_option else (None,)


def _of(
    model: Model, item: Quantity, marks: tuple[str, ...], given: bool = False
) -> Iterator[SnapshotLine]:
    """Lines of one value, or of one column of a list: what is a number there, and its texts.

    Where a solver gave texts nothing else belongs, and one line tells all.
    """
    options = _options(item)
    if item.axis is None:
        yield SnapshotLine(item.key, options, 0, 0, False, marks, "single", given)
        return
    count = model.capacity(item.axis)
    numbers: Holds = "answers" if item.role == "solved" else "numbers"
    holds: Holds = "beside texts" if item.kind == "text" else numbers
    if holds == "answers":
        yield SnapshotLine(
            item.key, options, 0, count, False, marks, holds, given, members=(item.key,)
        )
        return
    if not (given and item.kind == "text"):
        yield SnapshotLine(item.key, options, 0, count, False, marks, holds, given)
    if item.kind == "text":
        most = (MOST_CHARACTERS - (60 if given else 0)) // joined_room(item.sheet)
        for first in range(0, count, most):
            rows = min(most, count - first)
            yield SnapshotLine(item.key, options, first, rows, False, marks, "texts", given)


def _computed(model: Model) -> Iterator[ComputedLine]:
    """The parts of all sheets, several on a line; not what depends on what is counted here."""
    counting = {TYPED_OVER, SPOILED}
    for key in model.order:
        item = model.quantities.get(key)
        if item is not None and counting.intersection(model.stacks.get(key, item.reads)):
            counting.add(key)
    for sheet in model.sheets:
        together: list[Quantity] = []
        titles: dict[str, None] = {}
        amiss, typed = amiss_room(sheet.name), typed_room(sheet.name)
        left = [MOST_CHARACTERS, MOST_CHARACTERS]
        parts = [part for part in sheet.parts if isinstance(part, (Section, Table))]
        for part in parts:
            # Where columns have set widths, not all stand in the order of their keys.
            apart = bool(sheet.shows.widths) and isinstance(part, Table)
            items = [model.quantities[key] for key in part.keys if key not in counting]
            aside = part.shows.aside if isinstance(part, Table) else ()
            for run in _runs(items, aside, most=4 if apart else len(items)):
                ranges = (len(run) + 1) // 2 if apart else 1
                room = 0 if run[0].kind == "text" else ranges * amiss, ranges * typed
                if together and (room[0] > left[0] or room[1] > left[1]):
                    yield _watched(sheet.name, tuple(titles), together)
                    together, titles, left = [], {}, [MOST_CHARACTERS, MOST_CHARACTERS]
                together += run
                titles[part.title] = None
                left = [most - own for most, own in zip(left, room, strict=True)]
            if part is parts[0]:
                titles[part.title] = None
        if titles:
            yield _watched(sheet.name, tuple(titles), together)


def _runs(items: Iterable[Quantity], aside: Collection[str], most: int) -> Iterator[list[Quantity]]:
    """Computed quantities that stand one after the other, texts apart from numbers."""
    run: list[Quantity] = []
    sort: object = None
    for item in items:
        last, sort = sort, (item.role, item.kind == "text", item.by_option, item.key in aside)
        if run and (sort != last or len(run) == most):
            yield run
            run = []
        if item.role == "row":
            run.append(item)
    if run:
        yield run


def _watched(sheet: str, titles: Sequence[str], items: Sequence[Quantity]) -> ComputedLine:
    ends = titles[:1] if len(titles) == 1 else [titles[0], titles[-1]]
    return ComputedLine(
        f"{sheet}: {' to '.join(ends)}",
        sheet,
        tuple(item.key for item in items if item.kind != "text"),
        tuple(item.key for item in items if item.kind == "text"),
    )


def _given(model: Model) -> Iterator[SnapshotLine]:
    """What the solvers gave: single values, then lists; the numbers of a table together."""
    solved = [item for item in model.quantities.values() if item.role == "solved"]
    places = {name: place for place, name in enumerate(model.solvers)}
    solved.sort(key=lambda item: (item.axis is not None, places[item.solver], not item.by_option))
    together: dict[tuple[object, ...], list[SnapshotLine]] = {}
    for item in solved:
        for line in _of(model, item, _own(model, item), given=True):
            if line.holds == "answers":
                together.setdefault((item.axis, item.solver, line.options), []).append(line)
            else:
                yield line
    for alike in together.values():
        keys = [line.key for line in alike]
        for members in _chunks(model, keys, answers_room):
            yield replace(alike[0], key=members[0], members=members)


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
