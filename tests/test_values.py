"""The engine's arrays round, compare and reduce as the workbook's formulas do."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.values import Values, as_values, lower, same

SCENARIOS, OPTIONS, ROWS = 7, 3, 5


@pytest.mark.parametrize(
    ("value", "shape"),
    [
        (3.0, (1, 1)),
        ("oak", (1, 1)),
        (True, (1, 1)),
        (np.zeros(OPTIONS), (OPTIONS, 1)),
        (np.zeros((1, ROWS)), (1, ROWS)),
        (np.zeros((SCENARIOS, OPTIONS, ROWS)), (SCENARIOS, OPTIONS, ROWS)),
    ],
)
def test_every_quantity_has_an_option_axis_and_a_block_axis(
    value: object, shape: tuple[int, ...]
) -> None:
    assert as_values(value).shape == shape


def test_numbers_and_texts_in_one_quantity_are_refused() -> None:
    with pytest.raises(TypeError, match="mixed types"):
        as_values(np.array(["oak", 1.0], dtype=object))


@pytest.mark.parametrize(
    ("packs", "whole"),
    [(4.0000000000001, 4), (3.9999999999999, 4), (4.000000002, 5), (-1.5, -1), (0.0, 0)],
)
def test_packs_are_rounded_up_but_not_for_dust(packs: float, whole: int) -> None:
    assert np.ceil(as_values(packs)).item() == whole


@pytest.mark.parametrize(
    ("courses", "whole"), [(2.9999999999999, 3), (2.999999998, 2), (-1.5, -2), (3.0, 3)]
)
def test_courses_are_rounded_down_but_not_for_dust(courses: float, whole: int) -> None:
    assert np.floor(as_values(courses)).item() == whole


def test_comparisons_overlook_dust() -> None:
    four, dusty = as_values(4.0), as_values(4.0000000000001)
    assert (four == dusty).item()
    assert not (four != dusty).item()
    assert not (four < dusty).item()
    assert not (dusty > four).item()
    assert (four >= dusty).item()
    assert (dusty <= four).item()
    assert (four < as_values(4.00000001)).item()
    assert np.equal(4.0, dusty).item()


@given(
    st.floats(-1e6, 1e6, allow_nan=False),
    st.floats(-4e-10, 4e-10, allow_nan=False),
)
def test_a_number_equals_itself_with_less_than_half_a_billionth_added(
    number: float, dust: float
) -> None:
    if abs((number + dust) - number) < 4.9e-10:
        assert (as_values(number) == as_values(number + dust)).item()
        assert not (as_values(number) < as_values(number + dust)).item()


def test_texts_are_compared_without_regard_to_case() -> None:
    wood = as_values(np.array([["Pine", "OAK", ""]]))
    assert (wood == "pine").tolist() == [[True, False, False]]
    assert (wood != "oak").tolist() == [[True, False, True]]
    assert (wood == as_values("")).tolist() == [[False, False, True]]


def test_same_is_what_a_look_up_calls_equal() -> None:
    assert same(["Pine", ""], ["PINE", "x"]).tolist() == [True, False]
    assert same([1.0, 2.0], [1.0 + 1e-12, 2.1]).tolist() == [True, False]


@pytest.mark.parametrize(
    ("reduce", "expected"),
    [(np.sum, [10.0, 35.0]), (np.min, [0.0, 5.0]), (np.max, [4.0, 9.0])],
)
def test_a_reduction_runs_over_the_block_and_never_over_options_or_scenarios(
    reduce: object, expected: list[float]
) -> None:
    block = as_values(np.arange(10.0).reshape(2, 5))
    assert reduce(block).tolist() == [[expected[0]], [expected[1]]]  # type: ignore[operator]
    many = as_values(np.broadcast_to(block, (SCENARIOS, 2, 5)))
    result = reduce(many)  # type: ignore[operator]
    assert isinstance(result, Values)
    assert result.shape == (SCENARIOS, 2, 1)
    assert result[3].tolist() == [[expected[0]], [expected[1]]]


def test_any_and_all_run_over_the_block() -> None:
    block = as_values(np.array([[1.0, 0.0], [1.0, 1.0], [0.0, 0.0]]))
    assert np.any(block > 0).tolist() == [[True], [True], [False]]
    assert np.all(block > 0).tolist() == [[False], [True], [False]]


def test_a_column_meets_an_option_row_as_a_block_for_every_option() -> None:
    column = as_values(np.arange(ROWS)[np.newaxis, :])
    row = as_values(np.arange(OPTIONS))
    assert (column * row).shape == (OPTIONS, ROWS)
    assert np.sum(column * row).tolist() == [[0.0], [10.0], [20.0]]


def test_truths_add_up_as_ones_and_zeros() -> None:
    """numpy's own truths add up to True and can't be subtracted; a sheet's are 1 and 0."""
    truth = as_values(np.array([[True, False, True]]))
    assert (truth + truth).tolist() == [[2.0, 0.0, 2.0]]
    assert (1 - truth).tolist() == [[0.0, 1.0, 0.0]]
    assert (truth - truth).tolist() == [[0.0, 0.0, 0.0]]
    assert (-truth).tolist() == [[-1.0, 0.0, -1.0]]
    assert np.sum(truth).tolist() == [[2]]


def test_a_truth_that_a_row_keeps_as_1_or_0_still_takes_and_or_not() -> None:
    kept = as_values(np.array([[1.0, 0.0]]))
    tested = as_values(np.array([[True, True]]))
    assert (kept & tested).tolist() == [[True, False]]
    assert (kept | tested).tolist() == [[True, True]]
    assert (~kept).tolist() == [[False, True]]


def test_whole_numbers_take_a_negative_power() -> None:
    assert (as_values(np.array([[2, 4]])) ** -1).tolist() == [[0.5, 0.25]]


def test_an_option_that_is_not_used_stays_quiet_through_arithmetic() -> None:
    cost = as_values(np.array([[120.0], [np.nan]]))
    assert np.isnan(np.ceil(cost * 2)[1, 0])
    assert not (cost > 0)[1, 0]


def test_a_choice_keeps_scenarios_in_front() -> None:
    slope = as_values(np.linspace(0, 0.3, SCENARIOS)[:, np.newaxis, np.newaxis])
    courses = np.where(slope > 0.1, np.ceil(slope * 10), as_values(np.ones(OPTIONS)))
    assert isinstance(courses, Values)
    assert courses.shape == (SCENARIOS, OPTIONS, 1)
    assert courses[:, 1, 0].tolist() == [1.0, 1.0, 1.0, 2.0, 2.0, 3.0, 3.0]


def test_results_may_be_written_into_an_array() -> None:
    out = np.zeros((1, 1))
    np.add(as_values(1.0), as_values(2.0), out=out)
    assert out.item() == 3.0


@given(st.lists(st.lists(st.text(max_size=6), min_size=2, max_size=2), min_size=1, max_size=4))
def test_small_letters_are_those_of_each_text_by_itself(texts: list[list[str]]) -> None:
    array = np.array(texts)
    for given_texts in (array, array[:, :1], array.T, np.array([["Nail, 16d", "NAIL, 16D"]])):
        expected = [[text.lower() for text in row] for row in given_texts.tolist()]
        assert lower(given_texts).tolist() == np.array(expected).tolist()
