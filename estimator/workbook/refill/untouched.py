"""What helper formulas show after a refill where nobody touched them, so that no engine need ask.

They are the workings that take typed lengths apart, and the marks and counts of the sheet Solved
From: these are 0 once everything that the solvers read and gave is written there. A formula counts
as untouched where it is the very one that the template has in that cell.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from estimator.engine import Model
from estimator.length_formula import formulas_give
from estimator.rows import MARKS_SHEET, USED
from estimator.workbook.package.a1 import Range, address
from estimator.workbook.package.same_formula import spelt_alike
from estimator.workbook.refill.port import Content, Edit, Port
from estimator.workbook.refill.refill import Refill, Value
from estimator.workbook.template.checksums import LONGEST, weights
from estimator.workbook.template.layout import layout
from estimator.workbook.template.length_cells import LengthCells, length_cells, unit_given
from estimator.workbook.template.shipped_formulas import Shipped
from estimator.workbook.template.snapshot import (
    AMISS,
    CHANGED_COLUMN,
    FIRST,
    FRESH,
    NOW,
    SHORT_COLUMN,
    SPOILT,
    STATE_COLUMN,
    VALUE_COLUMN,
    WIDTH,
    SnapshotPlan,
    offset,
    snapshot_plan,
)


def workings(port: Port, model: Model, shipped: Shipped) -> dict[Edit, Value]:
    """What the cells show that take lengths apart.

    Left out are those of a cell that holds a formula, which is worked out yet.
    """
    there = {sheet for sheet, _ in port.ranges().values()}
    found: dict[Edit, Value] = {}
    for name, cells in length_cells(layout(model)):
        if name in there:
            found.update(_taken_apart(port, shipped, name, cells))
    return found


def _taken_apart(
    port: Port, shipped: Shipped, sheet: str, cells: list[LengthCells]
) -> Iterator[tuple[Edit, Value]]:
    columns = [
        _column(port, sheet, [getattr(each, role) for each in cells])
        for role in ("typed", "normal", "length")
    ]
    for each, typed, normal, length in zip(cells, *columns, strict=True):
        if typed.formula is not None or typed.date or isinstance(typed.value, bool):
            continue
        given = formulas_give(typed.value, each.entry.bare_unit, gives=unit_given(each.entry))
        if given is None:
            continue
        for place, content, value in zip(
            (each.normal, each.length), (normal, length), given, strict=True
        ):
            if not untouched(shipped, sheet, place, content):
                break
            yield (sheet, *place), value


def _column(port: Port, sheet: str, cells: list[tuple[int, int]]) -> list[Content]:
    """Contents of cells of one column or of one row."""
    (top, left), (bottom, right) = cells[0], cells[-1]
    rows = port.read(sheet, Range(top, left, bottom, right))
    return [content for row in rows for content in row]


def untouched(shipped: Shipped, sheet: str, place: tuple[int, int], content: Content) -> bool:
    """Whether a cell holds the formula that the template has there."""
    text, at = content.formula, address(*place)
    if text is None:
        return False
    ours = shipped.formula(sheet, at)
    return ours is not None and spelt_alike(text, ours)


def marks(port: Port, model: Model, refill: Refill, shipped: Shipped) -> dict[Edit, Value]:
    """The marks of Solved From, which are 0: what stands in the workbook is what was written.

    Where that holds of all of them, so is what is made of them. Known besides is what is counted of
    the computed cells: none is typed over, and each holds what its row gives.

    There are none where something may stand in a cell that the model does not know of.
    """
    plan = snapshot_plan(model)
    if not undisturbed(port, refill, shipped) or not _weights_stand(port, model):
        return {}
    area = Range(plan.first_row, CHANGED_COLUMN, plan.last_row, CHANGED_COLUMN + WIDTH - 1)
    found: dict[Edit, Value] = {}
    lines = zip(plan.lines, port.read(MARKS_SHEET, area), strict=True)
    for row, (line, contents) in enumerate(lines, start=plan.first_row):
        for at in map(offset, line.options):
            then = refill.writes.get((MARKS_SHEET, row, VALUE_COLUMN + at), "")
            cut = isinstance(then, str) and len(then) >= LONGEST
            place = row, CHANGED_COLUMN + at
            if not cut and untouched(shipped, MARKS_SHEET, place, contents[at]):
                found[MARKS_SHEET, *place] = 0.0
    if len(found) == sum(len(line.options) for line in plan.lines):
        found.update(_all_fresh(port, plan, refill, shipped))
    found.update(_counts(port, plan, shipped))
    return found


def _counts(port: Port, plan: SnapshotPlan, shipped: Shipped) -> Iterator[tuple[Edit, Value]]:
    """How many computed cells of each part are typed over, and how many hold no number: none.

    They are what an engine gives that can't tell a formula from a number.
    """
    rows = range(plan.first_row, plan.first_row + len(plan.computed))
    counted = {(row, plan.weights_column + at): 0.0 for row in rows for at in (SPOILT, NOW, AMISS)}
    for place, value in {(plan.title_row, plan.weights_column + SPOILT): 1.0, **counted}.items():
        ((content,),) = port.read(MARKS_SHEET, Range(*place, *place))
        if untouched(shipped, MARKS_SHEET, place, content):
            yield (MARKS_SHEET, *place), value


def _all_fresh(
    port: Port, plan: SnapshotPlan, refill: Refill, shipped: Shipped
) -> Iterator[tuple[Edit, Value]]:
    """The state of every solver, and of what rests on several, where no line tells of a change."""
    quiet = [0.0 if used > 0 else "" for used in np.asarray(refill.values[USED])[:, 0]]
    options: dict[int, Value] = {FIRST + option: value for option, value in enumerate(quiet)}
    fresh: dict[int, Value] = options | {STATE_COLUMN: FRESH}
    silent: dict[int, Value] = options | dict.fromkeys(
        (plan.words_column, STATE_COLUMN, SHORT_COLUMN), ""
    )
    rows = dict.fromkeys(plan.mark_rows.values(), fresh)
    rows |= dict.fromkeys(plan.states.values(), silent)
    for row, said in rows.items():
        (contents,) = port.read(MARKS_SHEET, Range(row, 1, row, max(said)))
        for column, value in said.items():
            if untouched(shipped, MARKS_SHEET, (row, column), contents[column - 1]):
                yield (MARKS_SHEET, row, column), value


def undisturbed(port: Port, refill: Refill, shipped: Shipped) -> bool:
    """Whether all that stands in a workbook's cells is known to the model: nobody typed over
    something, put formulas in or moved cells, and nothing is still to be typed."""
    book = refill.book
    return not (
        not refill.caches
        or refill.answered
        or refill.restored
        or refill.typed_over
        or book.typed_over
        or book.entries_computed
        or any(not isinstance(typed, (float, str)) for typed in book.typed.cells.values())
        or not shipped.ranges.items() <= port.ranges().items()
    )


def _weights_stand(port: Port, model: Model) -> bool:
    """Whether the weights of checksums are those that the engine reckons with."""
    plan = snapshot_plan(model)
    at, count = plan.weights_column, plan.weights
    rows = port.read(MARKS_SHEET, Range(plan.first_row, at, plan.first_row + count - 1, at))
    return tuple(content.value for (content,) in rows) == weights(count)
