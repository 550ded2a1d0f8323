"""Numbers typed over computed cells, formulas changed: kept, used downstream, listed, cleared."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from books import edited, formula, opened, refilled, spot, value
from office import Office, needs_office
from rich_workbooks import parts_of

from estimator.errors import InputError
from estimator.model import build_model
from estimator.workbook.package.a1 import tokens
from estimator.workbook.package.same_formula import normal_form
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book

OPTION = 0


def engine(done: Any, key: str, option: int = OPTION) -> Any:
    """The engine's value of a row."""
    array = np.asarray(done.refill.values[key])
    return array[min(option, array.shape[0] - 1), 0].item()


def listed(data: bytes) -> list[tuple[str, ...]]:
    """The list on Checks, blank lines left out."""
    rows = []
    for row in range(5):
        line = tuple(
            str(value(data, (f"typed_over_{column}", 0, row)) or "")
            for column in ("cell", "label", "value", "engine", "what")
        )
        if line[0]:
            rows.append(line)
    return rows


@pytest.fixture(scope="module")
def typed_over(demo_book: bytes) -> Any:
    """The demo with the ordered stone of option A typed over, refilled."""
    return refilled(edited(demo_book, {("stone_order_yd3", OPTION): 7.0}))


def test_a_number_typed_over_a_computed_cell_is_kept(typed_over: Any) -> None:
    assert value(typed_over.data, ("stone_order_yd3", OPTION)) == 7.0
    assert formula(typed_over.data, ("stone_order_yd3", OPTION)) is None
    assert engine(typed_over, "stone_order_yd3") == 7.0


def test_it_is_used_downstream_in_the_file_and_in_the_engine(
    typed_over: Any, demo_book: bytes
) -> None:
    before = value(demo_book, ("total_cost", OPTION))
    after = value(typed_over.data, ("total_cost", OPTION))
    assert after > before
    assert after == pytest.approx(engine(typed_over, "total_cost"), rel=1e-9)
    assert value(typed_over.data, ("total_cost", 1)) == value(demo_book, ("total_cost", 1))


def test_it_is_listed_on_checks_with_what_the_engine_would_give(
    typed_over: Any, demo_book: bytes
) -> None:
    sheet, cell = spot(demo_book, ("stone_order_yd3", OPTION))
    ours = value(demo_book, ("stone_order_yd3", OPTION))
    label = build_model().quantities["stone_order_yd3"].label
    assert listed(typed_over.data) == [
        (f"{sheet}!{cell}", label, "7", f"{ours:.10g}", "typed over")
    ]
    assert value(typed_over.data, "typed_over_listed") == 1
    assert any(f"{sheet}!{cell}" in note and "7" in note for note in typed_over.notes)


def test_check_names_it_too(typed_over: Any) -> None:
    found = check_book(FilePort(opened(typed_over.data)), build_model())
    assert len(found.typed_over) == 1
    assert found.stale == {}


def test_clearing_the_cell_and_refilling_brings_the_formula_back(
    typed_over: Any, demo_book: bytes
) -> None:
    cleared = refilled(edited(typed_over.data, {("stone_order_yd3", OPTION): None}))
    assert formula(cleared.data, ("stone_order_yd3", OPTION)) == formula(
        demo_book, ("stone_order_yd3", OPTION)
    )
    assert listed(cleared.data) == []
    assert "1 blank computed cells got their formulas back." in cleared.notes
    ours, theirs = parts_of(cleared.data), parts_of(demo_book)
    assert {n for n in ours if ours[n] != theirs.get(n)} <= {
        n for n in ours if n.startswith("xl/worksheets/")
    }
    assert value(cleared.data, ("total_cost", OPTION)) == value(demo_book, ("total_cost", OPTION))


def test_a_refill_with_numbers_typed_over_is_the_same_twice(typed_over: Any) -> None:
    assert refilled(typed_over.data).data == typed_over.data


def test_a_text_over_a_computed_number_is_refused_with_its_cell(demo_book: bytes) -> None:
    sheet, cell = spot(demo_book, ("stone_order_yd3", OPTION))
    with pytest.raises(InputError) as caught:
        refilled(edited(demo_book, {("stone_order_yd3", OPTION): "two loads"}))
    assert caught.value.where == f"{sheet}!{cell}"
    assert "clear the cell" in caught.value.cure


@pytest.fixture(scope="module")
def own_formula(demo_book: bytes) -> Any:
    """The demo with the wall's ordered stone as a formula of a person's own, refilled."""
    sheet, cell = spot(demo_book, ("stone_net_yd3", OPTION))
    return refilled(edited(demo_book, {("stone_order_yd3", OPTION): f"='{sheet}'!{cell}*2+1"}))


def test_a_changed_formula_is_kept_evaluated_and_used(own_formula: Any, demo_book: bytes) -> None:
    net = value(own_formula.data, ("stone_net_yd3", OPTION))
    assert formula(own_formula.data, ("stone_order_yd3", OPTION)).endswith("*2+1")
    assert value(own_formula.data, ("stone_order_yd3", OPTION)) == pytest.approx(
        2 * net + 1, rel=1e-12
    )
    assert engine(own_formula, "stone_order_yd3") == pytest.approx(2 * net + 1, rel=1e-12)
    assert value(own_formula.data, ("total_cost", OPTION)) == pytest.approx(
        engine(own_formula, "total_cost"), rel=1e-9
    )
    assert value(own_formula.data, ("total_cost", OPTION)) > value(
        demo_book, ("total_cost", OPTION)
    )


def test_a_changed_formula_is_listed_as_ones_own(own_formula: Any) -> None:
    (line,) = listed(own_formula.data)
    assert line[4] == "own formula"


def test_a_changed_formula_follows_the_inputs_at_the_next_refill(own_formula: Any) -> None:
    again = refilled(edited(own_formula.data, {("in_stone_depth_in", OPTION): "6"}))
    net = value(again.data, ("stone_net_yd3", OPTION))
    assert net > value(own_formula.data, ("stone_net_yd3", OPTION))
    assert engine(again, "stone_order_yd3") == pytest.approx(2 * net + 1, rel=1e-12)
    assert value(again.data, ("total_cost", OPTION)) == pytest.approx(
        engine(again, "total_cost"), rel=1e-9
    )


def test_a_formula_that_gives_an_error_is_refused_with_its_cell(demo_book: bytes) -> None:
    sheet, cell = spot(demo_book, ("stone_order_yd3", OPTION))
    with pytest.raises(InputError) as caught:
        refilled(edited(demo_book, {("stone_order_yd3", OPTION): "=1/0"}))
    assert caught.value.where == f"{sheet}!{cell}"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ('IF(A1="","",ROUND(B1,9)+1E-09)', 'if( A1="" , "", round(b1, 9)+0.000000001)'),
        ("IFERROR('Solved From'!$A$1,TRUE)", "IFERROR('solved from'!$A$1,TRUE())"),
        ("_xlfn.CONCAT(Job!A1)*0.7853981633974483", "CONCAT('Job'!A1)*0.785398163397448"),
    ],
)
def test_spellings_of_one_formula_are_the_same(one: str, other: str) -> None:
    assert normal_form(tokens(one)) == normal_form(tokens(other))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("A1+B1", "A1-B1"),
        ("A1", "$A1"),
        ('IF(A1="a",1,2)', 'IF(A1="A",1,2)'),
        ("A1*1.05", "A1*1.06"),
        ("Job!A1", "Options!A1"),
    ],
)
def test_other_formulas_are_not(one: str, other: str) -> None:
    assert normal_form(tokens(one)) != normal_form(tokens(other))


@pytest.mark.slow
@needs_office
def test_numbers_typed_over_survive_a_save_by_libreoffice_with_rows_inserted(
    typed_over: Any,
) -> None:
    package = opened(typed_over.data)
    sheet, cell = spot(package, ("stone_order_yd3", OPTION))
    with Office(typed_over.data) as office:
        office.do(["insert_rows", sheet, 2, 3], ["insert_columns", sheet, 2, 1])
        moved = office.saved()
    again = refilled(moved)
    assert value(again.data, ("stone_order_yd3", OPTION)) == 7.0
    assert spot(again.data, ("stone_order_yd3", OPTION)) != (sheet, cell)
    assert [line[2:] for line in listed(again.data)] == [
        line[2:] for line in listed(typed_over.data)
    ]
    assert value(again.data, ("total_cost", OPTION)) == pytest.approx(
        value(typed_over.data, ("total_cost", OPTION)), rel=1e-9
    )
