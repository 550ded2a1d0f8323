"""No number is silently stale: every input cell of the demo is edited with no Python in sight.

LibreOffice holds the workbook open and recalculates after each edit, as it does for a person.
Every number shown must then be what a fresh run of the engine gives for those inputs, or carry
its mark, or be blank under a flag that says so. The counts of outcomes are printed (``-s``).

Every typed cell that an option in use reads is changed to another valid value; of the long tables
of prices and factors, two lines, and of every table a blank one. Text, blank and negative entries
are tried in one cell of every seventh input. Of all these edits one in twenty-three is made. With
the environment variable STALE_RULE set to ``all`` every cell, of options not in use too, is tried
with everything (an hour); set to ``2/4``, the second of four shares of that. Of the boards one in
three loses its price, and six pairs of cells are changed together; all of them, and twenty, where
all are asked.
"""

from __future__ import annotations

import dataclasses
import math
import os
import random
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from jobs import used
from office import Office, Values, needs_office

from estimator.engine import Model, Solver
from estimator.errors import EstimatorError
from estimator.evaluation import evaluate
from estimator.inputs import Field, TypedJob
from estimator.model import build_model
from estimator.model.prices import ITEMS
from estimator.model.refusals import refuse
from estimator.rows import MARKS_SHEET, NOT_PRICED, OPTION_KEYS, Quantity
from estimator.typed_job import read_inputs
from estimator.units import IN_PER_FT, parse_length
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.book import Book, read_book
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import Edit, place_text
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.plans import SectionPlan, TablePlan
from estimator.workbook.template.snapshot import CHECKSUM_COLUMN

ASKED = os.environ.get("STALE_RULE", "").replace("all", "1/1")
ALL = bool(ASKED)
LINES_OF_A_TABLE = 2
"""Lines of a table in which every column is edited when not all are."""
SPOILED_ONE_IN = 7
"""Of how many inputs one is also made blank, negative and a text when not all are."""
PAIRS = 20 if ALL else 6
BOARDS_ONE_IN = 1 if ALL else 3
ONE_IN = 23
"""Edits of which one is tried when not all are."""
OVERALL = "overall_flag"
TOLERANCE = 1e-9
"""As everywhere, the tenth decimal of a number is nothing, so the same is allowed absolutely."""

pytestmark = [pytest.mark.slow, needs_office]


@dataclass(frozen=True, slots=True)
class Try:
    """One edit of one typed cell."""

    key: str
    place: int
    cell: Edit
    value: float | str | None
    kind: str


@dataclass(frozen=True, slots=True)
class Shown:
    """Where a quantity's values stand and where the words on their state."""

    item: Quantity
    sheet: str
    area: Range
    state: tuple[int, int] | None


def remembering(model: Model) -> Model:
    """The model with solvers that keep their answers: the same reads always give the same."""
    copy = object.__new__(Model)
    copy.__dict__.update(model.__dict__)
    copy.solvers = {name: _remembered(solver) for name, solver in model.solvers.items()}
    return copy


def _remembered(solver: Solver) -> Solver:
    answers: dict[Any, Any] = {}

    def solve(reads: Mapping[str, Any]) -> Any:
        key = tuple((k, v.dtype.str, v.shape, v.tobytes()) for k, v in reads.items())
        if key not in answers:
            try:
                answers[key] = solver.function(reads), None
            except EstimatorError as error:
                answers[key] = None, error
        answer, error = answers[key]
        if error is not None:
            raise error
        return answer

    return dataclasses.replace(solver, function=solve)


class World:
    """The demo workbook: where everything stands, and the engine beside it."""

    def __init__(self, data: bytes) -> None:
        self.model = build_model()
        self.quick = remembering(self.model)
        self.port = FilePort(Package.open(data))
        self.book: Book = read_book(self.port, self.model)
        self.layout: Layout = layout(self.model)
        self.shown = list(self._shown())
        self.sizes: dict[str, tuple[int, int]] = {
            MARKS_SHEET: (self.layout.snapshot.title_row, CHECKSUM_COLUMN)
        }
        for shown in self.shown:
            rows, columns = self.sizes.get(shown.sheet, (1, 1))
            row, column = shown.state or (1, 1)
            area = shown.area
            self.sizes[shown.sheet] = max(rows, area.row2, row), max(columns, area.column2, column)

    def _shown(self) -> Iterator[Shown]:
        for sheet in self.layout.sheets.values():
            for part in sheet.parts:
                if isinstance(part, SectionPlan):
                    for key, row in part.rows.items():
                        yield from self._of(key, (row, min(sheet.columns.state, part.last)))
                elif isinstance(part, TablePlan):
                    for key in part.table.keys:
                        yield from self._of(key, (part.state_row, part.left))

    def _of(self, key: str, state: tuple[int, int]) -> Iterator[Shown]:
        item = self.model.quantities[key]
        if item.role in ("row", "solved"):
            sheet, area = self.book.places[key]
            marked = self.model.upstream(key) and all(state)
            yield Shown(item, sheet, area, state if marked else None)

    def typed(self, edits: Mapping[tuple[str, int], Any]) -> TypedJob:
        """The job with cells edited."""
        cells = dict(self.book.typed.cells)
        for cell, value in edits.items():
            if value is None:
                cells.pop(cell, None)
            else:
                cells[cell] = value
        return TypedJob(cells, self.book.typed.where)

    def engine(
        self, typed: TypedJob, marks: Mapping[str, Any] = MappingProxyType({})
    ) -> tuple[Mapping[str, Any] | None, str]:
        """A fresh run, and what the engine says against it.

        ``marks`` are the solvers' marks as the workbook shows them, so that the words that tell
        of them can be compared too.
        """
        try:
            values = evaluate(self.quick, read_inputs(self.model, typed) | dict(marks))
        except EstimatorError as error:
            return None, str(error)
        if any(reasons := np.asarray(values[NOT_PRICED])[:, 0]):
            return None, "; ".join(reasons)
        try:
            refuse(values, typed)
        except EstimatorError as error:
            return values, str(error)
        return values, ""

    def marks(self, seen: Values) -> dict[str, Any]:
        """The solvers' marks as the workbook shows them; a blank one belongs to no option."""
        found = {}
        for key, item in self.model.quantities.items():
            if item.role == "mark" and item.by_option:
                sheet, area = self.book.places[key]
                cells = [
                    self._cell(seen, sheet, area.row1, area.column1 + option)
                    for option in range(len(OPTION_KEYS))
                ]
                found[key] = np.array([0.0 if c == "" else float(c) for c in cells])[:, np.newaxis]
        return found

    def compare(
        self,
        seen: Values,
        values: Mapping[str, Any] | None,
        refused: str,
        before: Before | None = None,
    ) -> Outcome:
        """What became of every number shown; ``before`` tells which are as they were, and right."""
        outcome = Outcome()
        flag = str(self._cell(seen, *self._job_cell(OVERALL)))
        if refused and flag.startswith(("OK", "LOOK")):
            outcome.wrong.append(f"the engine refuses ({refused}) and the workbook says: {flag}")
        if values is None:
            outcome.counts["engine refuses, flagged"] += 1
            return outcome
        invalid = flag.startswith("NOT VALID")
        for shown in self.shown:
            if before is not None and before.stands(shown, values):
                outcome.counts["equal"] += shown.area.size
            else:
                self._compare(seen, values, shown, invalid, outcome)
        return outcome

    def _compare(
        self,
        seen: Values,
        values: Mapping[str, Any],
        shown: Shown,
        invalid: bool,
        outcome: Outcome,
    ) -> None:
        item, area = shown.item, shown.area
        rows = self.model.capacity(item.axis) if item.axis else 1
        options = len(OPTION_KEYS) if item.by_option else 1
        wanted = np.broadcast_to(np.asarray(values[item.key]), (options, rows))
        marked = shown.state is not None and bool(self._cell(seen, shown.sheet, *shown.state))
        for option in range(options):
            for row in range(rows):
                place = area.row1 + (row if item.axis else 0), area.column1 + option
                cell = self._cell(seen, shown.sheet, *place)
                if alike(cell, wanted[option, row], dust=item.solver != ""):
                    outcome.counts["equal"] += 1
                elif marked:
                    outcome.counts["marked"] += 1
                elif invalid and (cell in ("", "?") or str(cell).startswith("#")):
                    outcome.counts["no number, under NOT VALID"] += 1
                else:
                    outcome.wrong.append(
                        f"{place_text(shown.sheet, *place)} ({item.key}) shows {cell!r};"
                        f" the engine gives {wanted[option, row]!r}"
                    )

    def _job_cell(self, key: str) -> Edit:
        sheet, area = self.book.places[key]
        return sheet, area.row1, area.column1

    @staticmethod
    def _cell(seen: Values, sheet: str, row: int, column: int) -> Any:
        rows = seen[sheet]
        if row > len(rows) or column > len(rows[row - 1]):
            return ""
        return rows[row - 1][column - 1]


@dataclass(frozen=True, slots=True)
class Before:
    """The unedited workbook, in which every number was right: what the engine gave for it.

    ``rows`` are those of each sheet that show something else now.
    """

    values: Mapping[str, Any]
    rows: Mapping[str, Mapping[int, Any]]

    def stands(self, shown: Shown, values: Mapping[str, Any]) -> bool:
        """Whether a quantity's cells show what they did and the engine gives what it did."""
        changed = self.rows.get(shown.sheet, {})
        first, last = shown.area.row1 - 1, shown.area.row2
        if changed and any(row in changed for row in range(first, last)):
            return False
        was, now = np.asarray(self.values[shown.item.key]), np.asarray(values[shown.item.key])
        numbers = was.dtype.kind == now.dtype.kind == "f"
        return np.array_equal(was, now, equal_nan=numbers)


class Outcome:
    """Counts of what was found, and every number that is neither right nor marked."""

    def __init__(self) -> None:
        self.counts: Counter[str] = Counter()
        self.wrong: list[str] = []


def alike(cell: Any, wanted: Any, *, dust: bool = False) -> bool:
    """Whether a cell shows what the engine gives; NaN is shown as an empty text or an error."""
    if isinstance(wanted, str):
        return str(cell) == wanted
    if math.isnan(wanted):
        return cell == "" or str(cell).startswith("#")
    if isinstance(cell, str):
        return cell == "" and wanted == 0 and dust
    return math.isclose(cell, wanted, rel_tol=TOLERANCE, abs_tol=TOLERANCE)


# --- what is typed ---


def cells_to_edit(world: World, values: Mapping[str, Any]) -> Iterator[tuple[Quantity, int]]:
    """Every typed cell, of the blank lines of a table one; a sample unless all are asked."""
    model, chance = world.model, random.Random(7)
    for item in model.quantities.values():
        if item.role != "input":
            continue
        assert item.field is not None
        if item.axis is not None:
            first = next(
                q.key
                for q in model.quantities.values()
                if q.role == "input" and q.axis == item.axis
            )
            filled = [
                row
                for row in range(model.capacity(item.axis))
                if world.book.typed.cells.get((first, row))
            ]
            spare = [row for row in range(model.capacity(item.axis)) if row not in filled][:1]
            whole = ALL or item.axis in ("point", "setup")
            lines = filled if whole else chance.sample(filled, min(LINES_OF_A_TABLE, len(filled)))
            yield from ((item, row) for row in sorted([*lines, *spare]))
        elif item.by_option:
            kinds = np.asarray(values["option_kind"])[:, 0]
            yield from (
                (item, option)
                for option in (range(len(OPTION_KEYS)) if ALL else used(values))
                if ALL or not item.field.kinds or kinds[option] in item.field.kinds
            )
        else:
            yield item, 0


def tries(world: World, values: Mapping[str, Any]) -> Iterator[Try]:
    """The edits, cell by cell."""
    spoiled: set[str] = set()
    for item, place in cells_to_edit(world, values):
        field = item.field
        assert field is not None
        now = world.book.typed.cells.get((item.key, place))
        sheet, area = world.port.ranges()[f"in_{item.key}"]
        cell = (
            sheet,
            area.row1 + (place if item.axis else 0),
            area.column1 + (place if item.by_option else 0),
        )
        other = another(world, field, now)
        if other is not None:
            yield Try(item.key, place, cell, other, "another")
        if item.key not in spoiled or ALL:
            spoiled.add(item.key)
            if len(spoiled) % SPOILED_ONE_IN and not ALL:
                continue
            yield Try(item.key, place, cell, None, "blank")
            if field.value_kind == "number":
                yield Try(item.key, place, cell, "some text", "text")
                negative: float | str = "-5" if field.kind == "length" else -5.0
                yield Try(item.key, place, cell, negative, "negative")
            elif field.kind != "text":
                yield Try(item.key, place, cell, "no such thing", "text")


def another(world: World, field: Field, now: Any) -> float | str | None:
    """Another valid entry for a cell; None if there is none."""
    if field.kind == "text":
        return f"{now or ''} too".strip()
    if field.kind in ("choice", "key"):
        listed = field.choices if field.kind == "choice" else known(world, field.refers)
        rest = [entry for entry in listed if entry.casefold() != str(now or "").casefold()]
        place = list(listed).index(str(now)) if now in listed else 0
        return rest[place % len(rest)] if rest else None
    value = 0.0
    if field.kind == "length":
        feet = parse_length(now, field.bare_unit) if now not in (None, "") else 0.0
        value = feet * IN_PER_FT if field.bare_unit == "in" else feet
    elif now is not None:
        value = float(now)
    steps = (
        (1.0, -1.0)
        if field.kind in ("whole", "date")
        else (
            max(abs(value) / 10, min(0.5, (field.high - field.low) / 10)),
            -min(abs(value) / 10, (value - field.low) / 2),
        )
    )
    for step in steps:
        new = round(value + step, 4)
        if field.low <= new <= field.high and new != value:
            return f"{new:g}" if field.kind == "length" else new
    return None


def known(world: World, key: str) -> list[str]:
    """Entries of a table's first column."""
    cells = world.book.typed.cells
    return [str(v) for (k, _), v in cells.items() if k == key]


class Run:
    """The open workbook beside the engine: edits, comparisons and what came of them."""

    def __init__(self, world: World, office: Office) -> None:
        self.world, self.office = world, office
        self.counts: Counter[str] = Counter()
        self.wrong: list[str] = []
        self.kept = office.keep(world.sizes)
        self.undo: list[tuple[Edit, Any]] = []
        values, refused = world.engine(world.book.typed)
        assert values is not None
        assert not refused
        self.values = values

    def unedited(self) -> None:
        """Compare the workbook as it is: everything must be right, and nothing marked."""
        changed = self.office.differing(self.undo)
        self.undo = []
        assert not any(changed.values())
        outcome = self.world.compare(self.kept, self.values, "")
        assert outcome.wrong == []
        assert outcome.counts.keys() == {"equal"}

    def edit(self, *edits: Try) -> None:
        """Type back what was there before the last edits, type into cells, and compare."""
        world = self.world
        before = {one: world.book.typed.cells.get((one.key, one.place)) for one in edits}
        rows = self.office.differing([*self.undo, *((one.cell, one.value) for one in edits)])
        self.undo = [(one.cell, as_typed(before[one])) for one in edits]
        seen = {sheet: over(self.kept[sheet], changed) for sheet, changed in rows.items()}
        typed = world.typed({(one.key, one.place): one.value for one in edits})
        fresh, said = world.engine(typed, world.marks(seen))
        outcome = world.compare(seen, fresh, said, Before(self.values, rows))
        self.counts.update(outcome.counts)
        self.counts[f"edits: {edits[0].kind}"] += 1
        change = ", ".join(
            f"{place_text(*one.cell)} ({one.key}) from {before[one]!r} to {one.value!r}"
            for one in edits
        )
        self.wrong += [f"{change}: {text}" for text in outcome.wrong[:4]]

    def tell(self) -> None:
        """Print the counts; fail on every number that is neither right nor marked."""
        print(f"\nnumbers and texts: {dict(sorted(self.counts.items()))}")
        listed = "\n".join(self.wrong[:60])
        assert not self.wrong, f"{len(self.wrong)} not right and not marked:\n{listed}"


def over(rows: list[list[Any]], changed: Mapping[int, list[Any]]) -> list[list[Any]]:
    """Rows with some of them replaced."""
    found = list(rows)
    for place, row in changed.items():
        found[place] = row
    return found


@pytest.fixture(scope="module")
def run(demo_book: bytes) -> Iterator[Run]:
    """The demo open in LibreOffice."""
    world = World(demo_book)
    with Office(demo_book) as office:
        yield Run(world, office)


@pytest.fixture(scope="module")
def edits(run: Run) -> list[Try]:
    """Every edit to try; of a sheet that the sample leaves out, its first."""
    share, shares = map(int, ASKED.split("/")) if ALL else (1, ONE_IN)
    every = list(tries(run.world, run.values))
    some = every[share - 1 :: shares]
    met = {one.cell[0] for one in some}
    left = {one.cell[0]: one for one in reversed(every) if one.cell[0] not in met}
    return some if ALL else [*some, *left.values()]


def test_every_input_edited_leaves_right_or_marked_numbers(run: Run, edits: list[Try]) -> None:
    run.unedited()
    for one in edits:
        run.edit(one)
    run.unedited()
    run.tell()


def test_a_board_without_a_price_is_flagged_also_where_no_plan_has_it(run: Run) -> None:
    sheet, area = run.world.port.ranges()["in_item_price"]
    typed = run.world.book.typed.cells
    boards = [row for row in range(ITEMS) if typed.get(("item_category", row)) == "lumber"]
    refused = run.counts["engine refuses, flagged"]
    for row in boards[::BOARDS_ONE_IN]:
        cell = sheet, area.row1 + row, area.column1
        run.edit(Try("item_price", row, cell, None, "blank"))
    run.unedited()
    run.tell()
    assert run.counts["engine refuses, flagged"] > refused + 3


def test_pairs_of_inputs_edited_leave_right_or_marked_numbers(run: Run, edits: list[Try]) -> None:
    chance = random.Random(11)
    valid = [one for one in edits if one.kind == "another"]
    for _ in range(PAIRS):
        first, second = chance.sample(valid, 2)
        run.edit(first, second)
    run.unedited()
    run.tell()


def as_typed(value: Any) -> float | str | None:
    """A typed value as LibreOffice is given it."""
    return value if value is None or isinstance(value, str) else float(value)
