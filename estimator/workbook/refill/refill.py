"""A refill: reads the inputs of a workbook, solves, and says what to write where."""

from __future__ import annotations

import copy
import dataclasses
import itertools
import logging
import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from estimator.engine import Keep, Model, Solve, Solver
from estimator.errors import InputError, in_quotes
from estimator.evaluation import evaluate
from estimator.metric import suited
from estimator.model.refusals import refuse
from estimator.report import CheckedBook, open_points
from estimator.rows import OPTION_KEYS, TYPED_OVER, USED, Quantity
from estimator.since import OptionCost, option_costs, read_cost
from estimator.typed_job import read_inputs, told_where_typed
from estimator.values import Values, as_values
from estimator.workbook.package.a1 import Range
from estimator.workbook.refill.book import Book, FormulaCell, TypedOverValues, read_book
from estimator.workbook.refill.changes import Formulas
from estimator.workbook.refill.empty_rows import solved_lists, with_filled_gaps, without_empty_rows
from estimator.workbook.refill.kept_answers import KeptAnswers, from_cells, shown
from estimator.workbook.refill.live_blocks import guarded_as, live_cells, live_solvers
from estimator.workbook.refill.made_with import record_damage
from estimator.workbook.refill.port import CellContent, Edit, Port, place_text, range_of
from estimator.workbook.refill.solved_cells import (
    CHECKED,
    PUT_RIGHT,
    GivenLine,
    differ,
    given_lines,
    spoiled_sentences,
)
from estimator.workbook.refill.typed_over import (
    TypedOverCell,
    cells_typed_over,
    followed,
    listed,
    sentences,
)
from estimator.workbook.template.checksums import (
    CHECKSUM_DIGITS,
)
from estimator.workbook.template.names import COSTS_THEN
from estimator.workbook.template.snapshot import (
    OVER_THEN,
    SNAPSHOT_VALUE,
    TYPED_OVER_MARK,
    SnapshotLine,
    kept,
    offset,
    snapshot_plan,
)

_LOG = logging.getLogger(__name__)

Value = float | str | None
Columns = Callable[[str], list[list[float | str]]]
"""By key, a quantity's values as cells show them, row by row for each option."""
ROUNDS = 8
"""How often a person's own formulas are worked out again until they and the engine agree."""


Calculate = Callable[
    [Mapping[Edit, Value], Mapping[Edit, Value], Sequence[Edit]], Mapping[Edit, CellContent]
]
"""What the given cells give once the writes are made; one that can't be evaluated is left out.

The second are values that computed cells show: they need no working out.
"""


@dataclass(frozen=True, slots=True)
class Refill:
    """What a refill found and is about to write.

    Args:
        book: The workbook as read.
        values: Every quantity for these inputs.
        writes: New content of the owned cells: solved values and the snapshot.
        caches: Value that each computed cell shows, once nothing is left to be typed: until then
            formulas keep quiet where the model reckons on.
        answered: What the live blocks show: functions in cells give it, no one writes it.
        restored: Formulas for blank computed cells.
        typed_over: Numbers typed over and formulas changed.
        notes: Sentences for the person.
        costs_then: What each option cost at the refill before, as far as known.
        alike: Sheets and cells of solved lists and of the record, where what is filled looks as
            the first row does.
    """

    book: Book
    values: Mapping[str, Values]
    writes: Mapping[Edit, Value]
    caches: Mapping[Edit, Value]
    answered: Mapping[Edit, Value] = field(default_factory=dict)
    restored: Mapping[Edit, str] = field(default_factory=dict)
    typed_over: tuple[TypedOverCell, ...] = ()
    notes: tuple[str, ...] = ()
    costs_then: tuple[OptionCost | None, ...] = ()
    alike: tuple[tuple[str, Range], ...] = ()


def plan_refill(port: Port, model: Model, calculate: Calculate | None = None) -> Refill:
    """Read a workbook, check its inputs and solve everything.

    Args:
        port: The workbook.
        model: The rows and solvers.
        calculate: Evaluates formulas that a person changed; without it the values that they show
            now are taken.

    Raises:
        EstimatorError: One sentence on what is wrong, where, and what to do. Nothing is written.
    """
    _LOG.info("Reading %s", port.label)
    model = suited(model, port.ranges())
    book = read_book(port, model)
    inputs = read_inputs(model, book.typed)
    formulas = Formulas(model, book, port)
    changed = tuple(formulas.changed())
    live = live_solvers(model, port.ranges())
    restored = {
        edit: guarded_as(model, book.owners[edit][0], text, live)
        for edit, text in formulas.restored().items()
    }
    own = {cell.edit: cell.content.value for cell in changed}
    kept_answers = KeptAnswers(port, _remembering(port, model, book), book)
    answers: dict[str, Any] = {}
    solving = _recording(kept_answers.model(), answers)
    inputs = {**inputs, TYPED_OVER: _counted(model, book)}
    notes = spoiled_sentences(model, book.solved.typed_into(), PUT_RIGHT)
    if sentence := formulas.displaced(changed):
        notes.append(sentence)
    for _ in range(ROUNDS):
        with told_where_typed(model, book.typed):
            values = evaluate(
                solving,
                inputs,
                typed_over=_in_force(model, book, changed, own),
                refuse=lambda values: refuse(values, book.typed),
            )
        solved = _solved_values(model, values, answers)
        solved.update(with_filled_gaps(model, solved, live))
        writes = _writes(port, model, book, values, solved, live)
        if not changed or calculate is None:
            break
        known = () if open_points(values) else _caches(model, book, values)
        fresh = calculate(writes, {e: v for e, v in known if e not in own}, tuple(own))
        if all(_same(fresh.get(edit, value), value) for edit, value in own.items()):
            notes += [_not_evaluated(edit, own[edit]) for edit in own if edit not in fresh]
            break
        own.update(fresh)
    else:
        places = ", ".join(place_text(*edit) for edit in list(own)[:3])
        notes.append(f"Formulas of your own do not come to rest ({places}); refill again.")
    found = cells_typed_over(model, book, {**inputs, **solved}, values, changed)
    list_of_them = listed(model, found)
    values.update(list_of_them)
    values.update(followed(model, values, list_of_them))
    for key, value in list_of_them.items():
        writes.update(_solved_cells(model, book, model.quantities[key], value))
    again = {**solved, **list_of_them}
    writes.update(_given_cells(port, model, book, again, list_of_them.keys()))
    writes.update(kept_answers.writes({**writes, **_solvers_own(model, book, solved)}))
    writes.update(_costs(port, option_costs(values)))
    answering = live_cells(model, port, live)
    answered = {edit: writes.pop(edit) for edit in answering}
    if restored:
        notes.append(f"{len(restored)} blank computed cells got their formulas back.")
    said = (*sentences(found), *notes)
    kept = {o.edit for o in found} | own.keys()
    known = () if open_points(values) else _caches(model, book, values)
    caches = {edit: value for edit, value in known if edit not in kept}
    then = _costs_then(port)
    alike = (*solved_lists(model, book.places), range_of(port, SNAPSHOT_VALUE))
    return Refill(book, values, writes, caches, answered, restored, found, said, then, alike)


def _costs(port: Port, now: Sequence[OptionCost | None]) -> dict[Edit, Value]:
    """What the workbook keeps of what the options cost; what it has, where nothing is answered."""
    if not any(now):
        return {}
    sheet, area = range_of(port, COSTS_THEN)
    return {
        (sheet, *place): None if cost is None else cost.text
        for place, cost in zip(area.cells(), now, strict=True)
    }


def _costs_then(port: Port) -> tuple[OptionCost | None, ...]:
    """What the options cost at the last refill."""
    return tuple(read_cost(cell.value) for cell in port.read(*range_of(port, COSTS_THEN))[0])


def _remembering(port: Port, model: Model, book: Book) -> Model:
    """The model, with solvers that remember reading what the workbook holds of their answers."""
    found = copy.copy(model)
    found.solvers = dict(model.solvers)
    for name, solver in model.solvers.items():
        if solver.keep is not None:
            last_answer = {key: shown(port, model, book, key) for key in model.writes[name]}
            function = _with_memory(solver.keep, last_answer)
            found.solvers[name] = dataclasses.replace(solver, function=function)
    return found


def _recording(model: Model, answers: dict[str, Any]) -> Model:
    """The model, with solvers whose last answers are kept in ``answers``, by quantity."""

    of = len(model.solvers)
    begun: dict[str, int] = {}

    def recorded(solver: Solver) -> Solver:
        def solve(reads: Mapping[str, Values]) -> Mapping[str, Any]:
            number = begun.setdefault(solver.name, len(begun) + 1)
            _LOG.info("Solving %d of %d: %s", number, of, solver.label)
            answer = solver.function(reads)
            answers.update({key: answer[key] for key in model.writes[solver.name]})
            return answer

        return dataclasses.replace(solver, function=solve)

    found = copy.copy(model)
    found.solvers = {name: recorded(solver) for name, solver in model.solvers.items()}
    return found


def _solved_values(
    model: Model, values: Mapping[str, Values], answers: Mapping[str, Any]
) -> dict[str, Values]:
    """What the solvers gave, whatever is typed over it; nothing in an option not in use."""
    found = {}
    for key, answer in answers.items():
        plain = np.asarray(as_values(answer))
        by_option = model.quantities[key].by_option and key not in model.spoken
        if by_option and USED in values:
            blank: Any = "" if plain.dtype.kind == "U" else np.nan
            plain = np.where(np.asarray(values[USED]) > 0, plain, blank)
        found[key] = as_values(plain)
    return found


def _solvers_own(model: Model, book: Book, solved: Mapping[str, Values]) -> dict[Edit, Value]:
    """Content that the solvers would give the cells over which something else was typed."""
    found: dict[Edit, Value] = {}
    for key, place in book.given:
        item = model.quantities[key]
        edit = book.cell(item, *place)
        found[edit] = _solved_cells(model, book, item, solved[key])[edit]
    return found


def _counted(model: Model, book: Book) -> float:
    """How many solved single values and computed cells are typed over."""
    return len(book.given) + sum(_over_then(model, book))


def _over_then(model: Model, book: Book) -> list[float]:
    """The computed cells typed over, line by line of those that watch them."""
    return [
        float(sum(len(book.typed_over.get(key, ())) for key in (*line.numbers, *line.texts)))
        for line in snapshot_plan(model).computed
    ]


def _with_memory(keep: Keep, last_answer: Mapping[str, Any]) -> Solve:
    return lambda reads: keep(reads, last_answer)


def _in_force(
    model: Model, book: Book, changed: Sequence[FormulaCell], own: Mapping[Edit, CellContent]
) -> TypedOverValues:
    """The numbers typed over, and what the changed formulas give."""
    found: TypedOverValues = {key: dict(cells) for key, cells in book.typed_over.items()}
    for cell in changed:
        item = model.quantities[cell.key]
        value = _own_value(item, cell, own[cell.edit])
        found.setdefault(cell.key, {})[cell.place] = value
    return found


def _own_value(item: Quantity, cell: FormulaCell, value: CellContent) -> float | str:
    if item.kind == "text":
        return "" if value is None else str(value)
    if value is None or value == "":
        return float("nan")
    if isinstance(value, (bool, int, float)):
        return float(value)
    raise InputError(
        f"the formula of your own over {item.label} gives {in_quotes(value)} where a number"
        " belongs.",
        where=place_text(*cell.edit),
        cure="Correct it, or clear the cell and refill to get the estimator's formula back.",
    )


def _same(one: CellContent, other: CellContent) -> bool:
    return one == other or (not one and not other and one != 0 and other != 0)


def _not_evaluated(edit: Edit, value: CellContent) -> str:
    return (
        f"The formula in {place_text(*edit)} can't be evaluated here; the value that it showed"
        f" ({value}) is used. Open the file in a spreadsheet, save it and refill to be sure."
    )


def _writes(
    port: Port,
    model: Model,
    book: Book,
    values: Mapping[str, Values],
    solved: Mapping[str, Values],
    live: Collection[str],
) -> dict[Edit, Value]:
    writes: dict[Edit, Value] = {}
    empty = without_empty_rows(model, values, live)
    shown = {**values, **empty, **with_filled_gaps(model, values, live)}
    for item in model.quantities.values():
        if item.role == "solved":
            writes.update(_solved_cells(model, book, item, shown[item.key]))
    writes.update(_snapshot(port, model, book, values))
    writes.update(_given_cells(port, model, book, solved))
    if snapshot_plan(model).computed:
        sheet, area = range_of(port, OVER_THEN)
        for number, count in enumerate(_over_then(model, book)):
            writes[sheet, area.row1 + number, area.column1] = count
    return writes


def _given_cells(
    port: Port,
    model: Model,
    book: Book,
    solved: Mapping[str, Values],
    keys: Collection[str] = (),
) -> dict[Edit, Value]:
    """What the solvers gave, as the snapshot keeps it; of these quantities, or of all."""
    sheet, area = range_of(port, SNAPSHOT_VALUE)
    return {
        (sheet, area.row1 + row, area.column1 + column): _given(model, book, solved, given)
        for given in given_lines(model)
        if not keys or any(key in keys for key in given.line.members or (given.line.key,))
        for row, column in (given.place,)
    }


def _given(model: Model, book: Book, solved: Mapping[str, Values], given: GivenLine) -> Value:
    """What a line that tells what a solver gave is to hold."""
    line, option = given.line, given.option or 0
    columns = [
        _columns(model, model.quantities[key], solved[key])[option]
        for key in line.members or (line.key,)
    ]
    if line.holds != "single":
        return kept(line, list(itertools.chain.from_iterable(columns)))
    value = columns[0][0]
    typed = book.typed_over.get(line.key, {}).get((option, 0))
    if typed is not None and not differ(typed, value):
        return TYPED_OVER_MARK
    return None if value == "" else value


def _caches(model: Model, book: Book, values: Mapping[str, Values]) -> Iterator[tuple[Edit, Value]]:
    for item in model.quantities.values():
        if item.role == "row":
            yield from _places(model, book, item, values[item.key])


def check_book(port: Port, model: Model) -> CheckedBook:
    """Every number of a workbook for its inputs as they are, with its solved parts as they are.

    Live blocks, which functions in cells keep up to date, are solved here.

    Raises:
        EstimatorError: If an input can't be used.
    """
    model = suited(model, port.ranges())
    book = read_book(port, model)
    inputs = read_inputs(model, book.typed)
    formulas = Formulas(model, book, port)
    changed = tuple(formulas.changed())
    inputs = {**inputs, TYPED_OVER: _counted(model, book)}
    own = {cell.edit: cell.content.value for cell in changed}
    in_force = _in_force(model, book, changed, own)
    live = live_solvers(model, port.ranges())
    others = [name for name in model.solvers if name not in live]
    with told_where_typed(model, book.typed):
        values = evaluate(from_cells(port, model, book, others), inputs, typed_over=in_force)
    found = cells_typed_over(model, book, {**inputs, **_then(model, book)}, values, changed)
    return CheckedBook(
        values,
        _stale(port, model, book, values),
        (
            *sentences(found),
            *spoiled_sentences(model, book.solved.typed_into(), CHECKED),
            *(() if live else formulas.overwritten()),
        ),
        {name: solver.label for name, solver in model.solvers.items()},
        formulas.displaced(changed, formulas.nameless() if not live else ()) or record_damage(port),
    )


def _then(model: Model, book: Book) -> dict[str, Values]:
    """What the solvers gave at the last refill for what is typed over, by quantity."""
    found: dict[str, Any] = {}
    for (key, (option, _)), value in book.given.items():
        text = model.quantities[key].kind == "text"
        blank = [""] * len(OPTION_KEYS) if text else [float("nan")] * len(OPTION_KEYS)
        column = found.setdefault(key, blank)
        column[option] = str(value or "") if text else float("nan") if value is None else value
    return {key: as_values(np.array(column)[:, np.newaxis]) for key, column in found.items()}


def _stale(port: Port, model: Model, book: Book, values: Mapping[str, Values]) -> dict[str, int]:
    """Level of every solver whose snapshot differs from the inputs as they are."""
    snapshot = port.read(*range_of(port, SNAPSHOT_VALUE))
    plan, columns = snapshot_plan(model), _columns_once(model, values)
    live = live_solvers(model, port.ranges())
    found: dict[str, int] = {}
    for given in (*book.solved.spoiled(), *book.solved.cleared()):
        found[model.quantities[given.line.key].solver] = 2
    changed = [
        (line, option)
        for number, line in enumerate(plan.lines)
        if not line.given
        for option in line.options
        if _other(
            _seen(port, model, book, columns, line, option),
            snapshot[number][offset(option)].value,
            line,
        )
    ]
    for line, option in changed:
        for solver, mark in zip(plan.solvers, line.marks, strict=True):
            level = {"x": 2, "p": 1}.get(mark, 0)
            uses = level and solver not in live
            if uses and _uses(model.solvers[solver], values, option, changed):
                found[solver] = max(level, found.get(solver, 0))
    return found


def _other(now: Value, then: CellContent, line: SnapshotLine) -> bool:
    if isinstance(now, float) and isinstance(then, float):
        digits = 9 if line.holds == "single" else CHECKSUM_DIGITS
        return round(now - then, digits) != 0
    return type(now) is not type(then) or now != then


def _uses(
    solver: Solver,
    values: Mapping[str, Values],
    option: int | None,
    changed: Sequence[tuple[SnapshotLine, int | None]],
) -> bool:
    """Whether an option that a change concerns uses the solver's answer, or used it."""
    if not solver.counts_when:
        return True
    uses = np.nan_to_num(np.asarray(values[solver.counts_when])[..., 0]) > 0
    for other, its in changed:
        if other.key == solver.counts_when and not other.size:
            uses[its or 0] = True
    return bool(uses.any() if option is None else uses[min(option, len(uses) - 1)])


def _solved_cells(model: Model, book: Book, item: Quantity, value: Values) -> dict[Edit, Value]:
    """Content of solved cells; an empty text is an empty cell, as LibreOffice reads it anyway."""
    return {edit: None if v == "" else v for edit, v in _places(model, book, item, value)}


def _places(
    model: Model, book: Book, item: Quantity, value: Values
) -> Iterator[tuple[Edit, Value]]:
    for option, column in enumerate(_columns(model, item, value)):
        yield from zip(book.column(item, option, len(column)), column, strict=True)


def _columns(model: Model, item: Quantity, value: Values) -> list[list[float | str]]:
    """A quantity's values as cells show them, row by row for each option: "" for no number."""
    rows = model.capacity(item.axis) if item.axis else 1
    options = len(OPTION_KEYS) if item.by_option else 1
    given = np.asarray(value)
    whole = given if given.shape == (options, rows) else np.broadcast_to(given, (options, rows))
    if whole.dtype.kind in "UT":
        texts: list[list[float | str]] = whole.tolist()
        return texts
    numbers: list[list[float]] = whole.astype(float, copy=False).tolist()
    return [["" if math.isnan(each) else each for each in column] for column in numbers]


def _snapshot(
    port: Port, model: Model, book: Book, values: Mapping[str, Values]
) -> dict[Edit, Value]:
    """What the solvers read, as the workbook shows it, line by line."""
    sheet, area = range_of(port, SNAPSHOT_VALUE)
    columns = _columns_once(model, values)
    return {
        (sheet, area.row1 + number, area.column1 + offset(option)): _seen(
            port, model, book, columns, line, option
        )
        for number, line in enumerate(snapshot_plan(model).lines)
        if not line.given
        for option in line.options
    }


def _columns_once(model: Model, values: Mapping[str, Values]) -> Columns:
    """What gives a quantity's columns, each quantity's made once for all lines and options."""
    return cache(lambda key: _columns(model, model.quantities[key], values[key]))


def _seen(
    port: Port,
    model: Model,
    book: Book,
    columns: Columns,
    line: SnapshotLine,
    option: int | None,
) -> Value:
    """What a line watches holds now; None for a blank and for an empty text."""
    if line.size:
        area = book.places[line.key][1]
        return float(area.row2 - area.row1 + 1)
    keys = line.members or (line.key,)
    held = [_column(port, model, book, columns, key, option) for key in keys]
    if line.members:
        cells = [cell for each in held for cell in (each if line.rows else each[:1])]
        return kept(line, cells)
    column = held[0]
    return column[0] if line.holds == "single" else kept(line, column)


def _column(
    port: Port,
    model: Model,
    book: Book,
    columns: Columns,
    key: str,
    option: int | None,
) -> list[Value]:
    """What the cells of a quantity hold for an option, row by row."""
    item = model.quantities[key]
    if item.role == "input" and range_of(port, f"in_{key}") == book.places[key]:
        rows = model.capacity(item.axis) if item.axis else 1
        return [_typed(book.typed.cells.get((key, row))) for row in range(rows)]
    return [None if v == "" else v for v in columns(key)[option or 0]]


def _typed(content: CellContent) -> Value:
    """A typed entry as a line of the snapshot keeps it."""
    if content is None or content == "":
        return None
    return content if isinstance(content, str) else float(content)
