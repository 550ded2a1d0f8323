"""Typed over what was solved: a decision in a single value, an accident in a list.

Decisions come and go in the small workbook of the planters; what they do to a whole one, with its
list of them, is seen in one refill of it.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import planters
import pytest
from books import edited, opened, refilled, spot, value
from office import Office, Values, needs_office

from estimator.errors import InputError
from estimator.model import build_model
from estimator.rows import Quantity
from estimator.workbook.package.a1 import Range, parse_cell
from estimator.workbook.package.cells import read_cell
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import Edit
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.layout import layout
from estimator.workbook.template.plans import SectionPlan, TablePlan
from estimator.workbook.template.snapshot import SNAPSHOT_VALUE, offset

SINGLE = ("ground_corner_1_ft", 0)
TYPED = 5.0
ALL = os.environ.get("SOLVED_CELLS") == "all"
"""Whether every solved quantity is tried, not a single value and a list of every solver."""


# --- a single value: a decision ---


@pytest.fixture(scope="module")
def typed(demo_book: bytes) -> bytes:
    """The demo with a corner's height typed over, not refilled yet."""
    return edited(demo_book, {SINGLE: TYPED})


@pytest.fixture(scope="module")
def kept(typed: bytes) -> Any:
    """That workbook refilled."""
    return refilled(typed)


def test_a_number_typed_over_a_solved_one_is_kept_used_and_told(
    kept: Any, demo_book: bytes
) -> None:
    assert value(kept.data, SINGLE) == TYPED
    assert np.asarray(kept.refill.values[SINGLE[0]])[0, 0] == TYPED
    ours = value(demo_book, SINGLE)
    sheet, cell = spot(demo_book, SINGLE)
    label = build_model().quantities[SINGLE[0]].label
    assert (
        f"{sheet}!{cell} ({label}) keeps the value typed over it, 5; the estimator's is"
        in (kept.notes[0])
    )
    assert value(kept.data, ("typed_over_cell", 0, 0)) == f"{sheet}!{cell}"
    assert value(kept.data, ("typed_over_engine", 0, 0)) == f"{ours:.10g}"


def test_it_moves_what_is_reckoned_from_it_alike_in_file_and_engine() -> None:
    """A word and a sum read the trips."""
    book, model = planters.planted(), planters.model()
    kept = planters.refilled(edited(book, {TRIPS: value(book, TRIPS) + 3}))
    moved = set()
    for key, item in model.quantities.items():
        if item.role != "row" or not item.by_option or item.axis:
            continue
        was, now = value(book, (key, 0)), value(kept.data, (key, 0))
        if was == now:
            continue
        moved.add(key)
        engines = np.asarray(kept.refill.values[key])[0, 0]
        assert now == (engines if item.kind == "text" else pytest.approx(engines, rel=1e-9))
    assert "trips_and_steps" in moved
    assert value(kept.data, ("trips_and_steps", 0)) == value(book, ("trips_and_steps", 0)) + 3


TRIPS = ("trips", 0)
"""A solved single value of the small model: as many as a volume, and so a length, fills."""


@pytest.fixture(scope="module")
def small_typed() -> bytes:
    """The planters with a number over the trips, not refilled yet."""
    return edited(planters.planted(), {TRIPS: TYPED})


@pytest.fixture(scope="module")
def small_kept(small_typed: bytes) -> Any:
    """That workbook refilled."""
    return planters.refilled(small_typed)


def test_it_stands_through_the_next_refills(small_kept: Any) -> None:
    again = planters.refilled(small_kept.data)
    assert again.data == small_kept.data
    assert "the estimator's is 6." in small_kept.notes[0]
    moved = planters.refilled(edited(small_kept.data, {planters.LENGTH: "20 ft"}))
    assert value(moved.data, TRIPS) == TYPED
    assert "keeps the value typed over it, 5; the estimator's is 9." in moved.notes[0]


def test_a_decision_that_the_solver_comes_to_agree_with_stays_a_decision() -> None:
    """More trips typed than are solved, then a length for which as many are solved."""
    book, longer = planters.planted(), {planters.LENGTH: "20 ft"}
    more = value(planters.refilled(edited(book, longer)).data, TRIPS)
    assert more > value(book, TRIPS)
    decided = planters.refilled(edited(book, {TRIPS: more}))
    agreed = planters.refilled(edited(decided.data, longer))
    assert value_at(agreed.data, given_cell(agreed.data, "trips", 0)) == "typed over"
    assert value(agreed.data, "typed_over_now") == 1
    assert planters.refilled(agreed.data).data == agreed.data
    back = edited(agreed.data, {planters.LENGTH: value(book, planters.LENGTH)})
    assert value(planters.refilled(back).data, TRIPS) == more


def test_clearing_it_gives_the_solvers_number_back(small_kept: Any) -> None:
    book = planters.planted()
    back = planters.refilled(edited(small_kept.data, {TRIPS: None}))
    for where in (TRIPS, ("trips_and_steps", 0)):
        assert value(back.data, where) == value(book, where)
    assert value(back.data, "typed_over_now") == 0
    assert back.refill.typed_over == ()


def test_check_names_it_and_does_not_call_it_out_of_date(typed: bytes) -> None:
    found = check_book(FilePort(opened(typed)), build_model())
    assert len(found.typed_over) == 1
    # What the range was drawn from has changed; it is drawn anew at the next refill.
    assert found.stale == {"range": 2}
    cleared = check_book(FilePort(opened(edited(typed, {SINGLE: None}))), build_model())
    assert cleared.stale == {"ground": 2, "range": 2}


@pytest.mark.parametrize("entry", ["about five", True])
def test_what_is_no_number_over_a_solved_one_is_refused_with_its_cell(entry: str | bool) -> None:
    sheet, cell = spot(planters.planted(), TRIPS)
    with pytest.raises(InputError) as caught:
        planters.refilled(edited(planters.planted(), {TRIPS: entry}))
    assert caught.value.where == f"{sheet}!{cell}"
    assert "clear the cell" in caught.value.cure


# --- a list: an accident ---


@pytest.fixture(scope="module")
def spoiled(demo_book: bytes) -> bytes:
    """The demo with the ground under a pier and a board of the cut plan typed over."""
    cells: dict[Any, Any] = {("support_ground_ft", 2, 1): 99.0, ("board_item", 0, 0): "mahogany"}
    return edited(demo_book, cells)


def test_what_was_typed_into_a_list_is_put_right_and_told_block_by_block(
    spoiled: bytes, demo_book: bytes
) -> None:
    done = refilled(spoiled)
    for where in (("support_ground_ft", 2, 1), ("board_item", 0, 0), ("total_cost", 0)):
        assert value(done.data, where) == value(demo_book, where)
    told = sorted(note for note in done.notes if "typed into this solved list" in note)
    assert len(told) == 2
    assert told[0].startswith("Cut Plan, ")
    assert told[1].startswith("Footings, ")


def test_check_says_that_a_list_was_typed_into(spoiled: bytes) -> None:
    found = check_book(FilePort(opened(spoiled)), build_model())
    assert found.stale.items() >= {"ground": 2, "cutting": 2}.items()
    assert sum("typed into this solved list" in line for line in found.typed_over) == 2


def test_a_list_that_was_put_right_stays_so() -> None:
    book = planters.planted()
    done = planters.refilled(
        edited(book, {("step_rise_in", 1, 2): 99.0, ("step_word", 0, 1): "no"})
    )
    assert sum("typed into this solved list" in note for note in done.notes) == 1
    for where in (("step_rise_in", 1, 2), ("step_word", 0, 1)):
        assert value(done.data, where) == value(book, where)
    again = planters.refilled(done.data)
    assert again.data == done.data
    assert not again.notes


# --- marked at once, with no Python in sight ---


@dataclass(frozen=True, slots=True)
class Cell:
    """One solved cell, where the words on its state stand, and what is typed."""

    item: Quantity
    cell: Edit
    state: Edit
    option: int | None
    now: Any
    entry: Any


def solved_cells(data: bytes) -> Iterator[Cell]:
    """A filled cell of every solved quantity, and a blank one of every list."""
    model, port = build_model(), FilePort(opened(data))
    plan = layout(model)
    chance = random.Random(3)
    for sheet in plan.sheets.values():
        for part in sheet.parts:
            keys = part.rows if isinstance(part, SectionPlan) else ()
            keys = part.table.keys if isinstance(part, TablePlan) else keys
            for key in keys:
                item = model.quantities[key]
                if item.role != "solved":
                    continue
                if isinstance(part, SectionPlan):
                    state = (sheet.name, part.rows[key], min(sheet.columns.state, part.last))
                else:
                    assert isinstance(part, TablePlan)
                    state = (sheet.name, part.state_row, part.left)
                yield from _tries(port, item, state, chance)


def _tries(port: FilePort, item: Quantity, state: Edit, chance: random.Random) -> Iterator[Cell]:
    sheet, area = port.ranges()[item.key]
    cells = [
        (row, column, port.read(sheet, Range(row, column, row, column))[0][0].value)
        for row, column in area.cells()
        if not item.by_option or column - area.column1 < 4
    ]
    filled = [cell for cell in cells if cell[2] not in (None, "")]
    blank = [cell for cell in cells if cell[2] in (None, "")]
    for group in (filled, blank if item.axis else []):
        if group:
            row, column, now = chance.choice(group)
            entry: Any = "typed" if item.kind == "text" else (float(now or 0) + 1.0)
            option = column - area.column1 if item.by_option else None
            yield Cell(item, (sheet, row, column), state, option, now, entry)


def at(seen: Values, cell: Edit) -> Any:
    sheet, row, column = cell
    rows = seen[sheet]
    return rows[row - 1][column - 1] if column <= len(rows[row - 1]) else ""


@pytest.mark.slow
@needs_office
def test_every_solved_cell_typed_over_is_marked_at_once(demo_book: bytes) -> None:
    tries = list(solved_cells(demo_book))
    assert len(tries) > 150
    first = [one for one in tries if one.item.key == SINGLE[0]]
    sample = {(one.item.solver, one.item.axis is None): one for one in reversed(tries)}.values()
    flag = edit_of(demo_book, "overall_flag")
    counted = edit_of(demo_book, "typed_over_now")
    wrong = []
    with Office(demo_book) as office:
        clean = office.edit({}, read=[flag[0], counted[0]])
        fine = at(clean, flag)
        assert fine.startswith("LOOK: nothing fails")
        for one in [*first, *(tries if ALL else sample)]:
            read = list({flag[0], counted[0], one.state[0], one.cell[0]})
            seen = office.edit({one.cell: one.entry}, read=read)
            said, state, count = at(seen, flag), at(seen, one.state), at(seen, counted)
            single = one.item.axis is None
            if single and (state != "typed over" or count != 1 or said == fine):
                wrong.append(f"{one.cell} {one.item.key}: {state!r}, {count}, {said!r}")
            if not single and "out of date" not in str(state):
                wrong.append(f"{one.cell} {one.item.key}: {state!r}, {said!r}")
            if single and one.now not in (None, ""):
                seen = office.edit({one.cell: None}, read=read)
                if at(seen, one.state) != "out of date":
                    wrong.append(f"{one.cell} {one.item.key} cleared: {at(seen, one.state)!r}")
            back = office.edit({one.cell: one.now}, read=read)
            if at(back, one.state) or at(back, flag) != fine:
                wrong.append(f"{one.cell} {one.item.key} typed back: {at(back, one.state)!r}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.slow
@needs_office
def test_a_decision_in_force_follows_the_inputs_without_python(kept: Any) -> None:
    """After the refill the file is up to date, says that a number is typed over, and agrees."""
    flag, state = edit_of(kept.data, "overall_flag"), edit_of(kept.data, SINGLE)
    with Office(kept.data) as office:
        seen = office.edit({}, read=[flag[0], state[0]])
    assert "OUT OF DATE" not in at(seen, flag)
    assert at(seen, flag) == value(kept.data, "overall_flag")


# --- helpers ---


def edit_of(data: bytes, where: Any) -> Edit:
    sheet, cell = spot(data, where)
    return sheet, *parse_cell(cell)


def given_cell(data: bytes, key: str, option: int) -> tuple[str, str]:
    """Where the snapshot keeps what a solver gave for an option."""
    lines = layout(planters.model()).snapshot.lines
    number = next(n for n, line in enumerate(lines) if line.given and line.key == key)
    assert option in lines[number].options
    return spot(data, (SNAPSHOT_VALUE, offset(option), number))


def value_at(data: bytes, cell: tuple[str, str]) -> Any:
    return read_cell(opened(data), *cell).value
