"""Numbers typed over computed cells, formulas changed: kept, used downstream, listed, cleared.

What is listed, and the money that comes of it, in a whole workbook; the rest in a small one.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import planters
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


VOLUME = ("volume_ft3", OPTION)
"""A computed cell of the small model, from which its soil, trips, cost and price come."""


@pytest.fixture(scope="module")
def small() -> Any:
    """The planters with a volume typed over, refilled."""
    return planters.refilled(edited(planters.planted(), {VOLUME: 50.0}))


def test_clearing_the_cell_and_refilling_brings_the_formula_back(small: Any) -> None:
    book = planters.planted()
    assert value(small.data, "typed_over_now") == 1
    assert value(small.data, ("price_usd", OPTION)) != value(book, ("price_usd", OPTION))
    cleared = planters.refilled(edited(small.data, {VOLUME: None}))
    assert formula(cleared.data, VOLUME) == formula(book, VOLUME)
    assert value(cleared.data, "typed_over_now") == 0
    assert "1 blank computed cells got their formulas back." in cleared.notes
    ours, theirs = parts_of(cleared.data), parts_of(book)
    assert {n for n in ours if ours[n] != theirs.get(n)} <= {
        n for n in ours if n.startswith("xl/worksheets/")
    }
    for key in ("volume_ft3", "trips", "price_usd"):
        assert value(cleared.data, (key, OPTION)) == value(book, (key, OPTION))


def test_a_refill_with_numbers_typed_over_is_the_same_twice(small: Any) -> None:
    assert planters.refilled(small.data).data == small.data


@pytest.mark.parametrize("entry", ["two loads", "=1/0"])
def test_what_is_no_number_over_a_computed_one_is_refused_with_its_cell(entry: str) -> None:
    sheet, cell = spot(planters.planted(), VOLUME)
    with pytest.raises(InputError) as caught:
        planters.refilled(edited(planters.planted(), {VOLUME: entry}))
    assert caught.value.where == f"{sheet}!{cell}"
    assert "clear the cell" in caught.value.cure


@pytest.fixture(scope="module")
def own_formula() -> Any:
    """The planters with a volume as a formula of a person's own, refilled."""
    sheet, cell = spot(planters.planted(), ("depth_in", OPTION))
    return planters.refilled(edited(planters.planted(), {VOLUME: f"='{sheet}'!{cell}*4+1"}))


def test_a_changed_formula_is_kept_evaluated_and_used(own_formula: Any) -> None:
    assert formula(own_formula.data, VOLUME).endswith("*4+1")
    assert value(own_formula.data, VOLUME) == engine(own_formula, "volume_ft3") == 49
    assert value(own_formula.data, ("trips", OPTION)) == 9, "49 by 6 a trip"
    assert value(own_formula.data, ("price_usd", OPTION)) == pytest.approx(
        engine(own_formula, "price_usd"), rel=1e-9
    )


def test_a_changed_formula_is_told_as_ones_own(own_formula: Any) -> None:
    (told,) = own_formula.refill.typed_over
    assert (told.label, told.what) == ("Volume", "own formula")


def test_a_changed_formula_follows_the_inputs_at_the_next_refill(own_formula: Any) -> None:
    again = planters.refilled(edited(own_formula.data, {("in_depth_in", OPTION): "14"}))
    assert value(again.data, VOLUME) == engine(again, "volume_ft3") == 57
    assert value(again.data, ("trips", OPTION)) == 10
    assert value(again.data, ("price_usd", OPTION)) == pytest.approx(
        engine(again, "price_usd"), rel=1e-9
    )


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
