"""Many cells kept in one on Solved From: every edit is told, by the engine and by the formula."""

from __future__ import annotations

import random
from typing import Any

import openpyxl
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculate
from estimator.workbook.template.build import workbook_bytes
from estimator.workbook.template.checksums import (
    answers_checksum,
    answers_formula,
    checksum,
    checksum_formula,
    given_formula,
    given_texts,
    joined,
    joined_formula,
    sum_formula,
    sum_of_singles,
    texts_formula,
    texts_of_singles,
    weights,
)

NUMBERS = st.floats(-9, 9).map(lambda number: round(number, 3) + 0.0)
CELLS = st.one_of(st.none(), st.text("ab1.|", max_size=3), NUMBERS)
COLUMNS = st.lists(CELLS, min_size=1, max_size=30)


def test_a_checksum_tells_every_edit_of_a_number_a_blank_and_a_text() -> None:
    column: list[Any] = [3.0, None, 0.0, 12.5, ""]
    was = checksum(column)
    for row, now in ((0, 4.0), (0, None), (0, "3"), (1, 0.0), (1, "x"), (2, None), (2, "zero")):
        assert abs(checksum([*column[:row], now, *column[row + 1 :]]) - was) > 1e-3


def test_a_checksum_tells_numbers_that_changed_places_and_edits_whose_sum_is_nothing() -> None:
    rows = 240
    column = [float(row % 7) for row in range(rows)]
    was = checksum(column)
    chance = random.Random(5)
    for _ in range(2000):
        one, other = chance.sample(range(rows), 2)
        edit = chance.choice((1.0, 0.5, -2.0, 12.0))
        changed = list(column)
        changed[one] += edit
        changed[other] -= edit
        assert abs(checksum(changed) - was) > 1e-6
    assert len(set(weights(rows))) == rows


@given(COLUMNS, st.data())
def test_any_edit_of_a_column_of_texts_or_of_single_values_is_told(
    column: list[Any], data: st.DataObject
) -> None:
    row, now = data.draw(st.integers(0, len(column) - 1)), data.draw(CELLS)
    before = column[row]
    assume((before, type(before)) != (now, type(now)))
    assume({before, now} != {None, ""})
    changed = [*column[:row], now, *column[row + 1 :]]
    of_column = joined(changed) != joined(column)
    assert of_column or abs(checksum(changed, texts=True) - checksum(column, texts=True)) > 1e-6
    texts = texts_of_singles(changed) != texts_of_singles(column)
    assert texts or abs(sum_of_singles(changed) - sum_of_singles(column)) > 1e-6


def _shown(column: list[Any], formulas: dict[str, str]) -> dict[str, Any]:
    """What formulas give over a column, whose cells are A1 downwards, weights beside them."""
    book = openpyxl.Workbook()
    sheet: Any = book.active
    for row, cell in enumerate(column, start=1):
        sheet.cell(row, 1).value = cell
        sheet.cell(row, 1).data_type = "s" if isinstance(cell, str) else "n"
        sheet.cell(row, 2).value = weights(len(column))[row - 1]
    for row, text in enumerate(formulas.values(), start=1):
        sheet.cell(row, 4).value = f"={text}"
    found = recalculate(Package.open(workbook_bytes(book))).values
    return {name: found["Sheet", f"D{row}"] for row, name in enumerate(formulas, start=1)}


@settings(max_examples=25, deadline=None)
@given(COLUMNS)
def test_the_formulas_give_what_the_engine_keeps(column: list[Any]) -> None:
    count = len(column)
    cells = [f"A{row}" for row in range(1, count + 1)]
    shown = _shown(
        column,
        {
            "texts": joined_formula(cells),
            "column": checksum_formula(f"A1:A{count}", f"B1:B{count}", texts=True),
            "singles": texts_formula([(cell, False) for cell in cells]),
            "sum": sum_formula(cells, [f"B{row}" for row in range(1, count + 1)]),
        },
    )
    assert shown["texts"] == joined(column)
    assert shown["singles"] == texts_of_singles(column)
    assert shown["column"] == pytest.approx(checksum(column, texts=True), abs=1e-9)
    assert shown["sum"] == pytest.approx(sum_of_singles(column), abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.one_of(st.none(), st.just(0.0), NUMBERS), min_size=1, max_size=30))
def test_a_zero_that_a_solver_gave_is_a_blank_in_formula_and_engine(column: list[Any]) -> None:
    count = len(column)
    cells, by_row = f"A1:A{count}", f"B1:B{count}"
    alone = answers_formula([cells], ["2"], by_row)
    shown = _shown(column, {"alone": alone, "twice": answers_formula([cells] * 2, "23", by_row)})
    one = answers_checksum([column]) / weights(1)[0]
    assert shown["alone"] == pytest.approx(2 * one, abs=1e-9)
    assert shown["twice"] == pytest.approx(5 * one, abs=1e-9)
    blanked = [None if cell == 0.0 else cell for cell in column]
    assert answers_checksum([blanked]) == answers_checksum([column])


@settings(max_examples=25, deadline=None)
@given(COLUMNS)
def test_whatever_stands_among_answers_formula_and_engine_say_the_same(column: list[Any]) -> None:
    texts = [
        cell for cell in column if isinstance(cell, str) and cell.strip(" +-.($")[:1].isdigit()
    ]
    assume(not texts)  # one engine multiplies by the number of a text that reads like one
    count = len(column)
    formula = answers_formula([f"A1:A{count}"], [str(weights(1)[0])], f"B1:B{count}")
    assert _shown(column, {"sum": formula})["sum"] == pytest.approx(
        answers_checksum([column]), abs=1e-9
    )


def test_a_checksum_of_answers_tells_a_text_and_every_number_but_a_zero() -> None:
    column: list[Any] = [3.0, None, 0.0]
    was = answers_checksum([column])
    for row, now in ((0, 4.0), (0, None), (0, 0.0), (0, "3"), (1, 2.0), (2, 1.0), (2, "0")):
        changed = [*column[:row], now, *column[row + 1 :]]
        assert abs(answers_checksum([changed]) - was) > 1e-3


def test_a_number_that_slips_into_the_next_column_of_answers_is_told() -> None:
    columns: list[list[Any]] = [[3.0, 5.0], [None, 5.0], [2.0, None]]
    slipped: list[list[Any]] = [[None, 5.0], [3.0, 5.0], [2.0, None]]
    assert abs(answers_checksum(slipped) - answers_checksum(columns)) > 1e-3
    assert answers_checksum(columns[::-1]) != answers_checksum(columns)


@settings(max_examples=25, deadline=None)
@given(COLUMNS)
def test_in_a_list_of_given_texts_whatever_else_stands_is_told(column: list[Any]) -> None:
    texts = [cell if isinstance(cell, str) else None for cell in column]
    cells = [f"A{row}" for row in range(1, len(column) + 1)]
    same = given_formula(cells, f"A1:A{len(column)}", f'"{given_texts(texts)}"')
    shown = _shown(column, {"same": f"IF({same},1,0)"})["same"]
    assert (shown == 1) == (given_texts(column) == given_texts(texts)) == (column == texts)


def test_a_formula_of_many_cells_is_told_when_one_was_emptied() -> None:
    formula = texts_formula([("A1", True), ("A2", True)])
    assert _shown([None, 2.0], {"texts": formula})["texts"] == "|?|2"
    assert texts_of_singles([None, 2.0]) == "||2"
