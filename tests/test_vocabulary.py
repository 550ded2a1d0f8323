"""What rows may say beyond numpy, in the engine; the formulas are tested in ``test_formula``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from forms import ACROSS, FORMS
from three_readings import (
    OPTIONS,
    ROWS,
    WORLD,
    formula_of,
    node_of,
    numbers,
    references,
    value_of,
)

from estimator.errors import RowError
from estimator.values import Values, as_values
from estimator.vocabulary import (
    across,
    as_text,
    count_starting,
    count_up_to,
    first_starting,
    join,
    lookup,
    most_if,
    nth,
    nth_largest,
    option_where,
    pick,
    position,
    rounded,
    sum_if,
    sum_up_to,
)

NAMES = as_values(np.array([["Stone", "Pine", "sand", "pine", ""]]))
PRICES = as_values(np.array([[21.5, 3.25, 17.0, 4.0, 9.0]]))
UNITS = as_values(np.array([["yd3", "ft", "yd3", "", "lb"]]))


def test_an_option_is_found_by_what_its_row_shows() -> None:
    costs = as_values(np.array([[21.5], [np.nan], [17.0], [17.0]]))
    assert option_where(costs, as_values(17.0)).tolist() == [[3.0]]
    assert option_where(costs, as_values(5.0)).tolist() == [[0.0]]
    kinds = as_values(np.array([["pad"], ["Piers"], [""]]))
    assert option_where(kinds, "piers").tolist() == [[2.0]]


def test_a_price_is_that_of_the_first_line_with_the_key() -> None:
    assert lookup("PINE", NAMES, PRICES).tolist() == [[3.25]]
    assert lookup("pine", NAMES, UNITS).tolist() == [["ft"]]


def test_a_key_that_is_not_there_gives_what_was_asked_for_instead() -> None:
    assert np.isnan(lookup("gold", NAMES, PRICES)).all()
    assert lookup("gold", NAMES, UNITS).tolist() == [[""]]
    assert lookup("gold", NAMES, PRICES, -1.0).tolist() == [[-1.0]]
    assert lookup("gold", NAMES, UNITS, "each").tolist() == [["each"]]


def test_a_blank_key_meets_no_line_not_even_a_blank_one() -> None:
    assert lookup("", NAMES, PRICES, 0.0).tolist() == [[0.0]]
    assert sum_if(PRICES, NAMES, "").tolist() == [[0.0]]
    assert np.isnan(position("", NAMES)).all()


def test_whole_numbers_are_looked_up_but_for_dust() -> None:
    order = as_values(np.array([[3.0, 1.0, 2.0]]))
    assert lookup(1 + 1e-12, order, order * 10).tolist() == [[10.0]]
    assert position(2.0, order).tolist() == [[3.0]]


def test_each_option_looks_up_its_own_key() -> None:
    keys = as_values(np.array([["pine"], ["sand"], ["gold"]]))
    assert lookup(keys, NAMES, PRICES, 0.0).tolist() == [[3.25], [17.0], [0.0]]
    assert sum_if(PRICES, NAMES, keys).tolist() == [[7.25], [17.0], [0.0]]
    assert position(keys, NAMES)[:2].tolist() == [[2.0], [3.0]]


def test_each_line_of_a_table_looks_into_another_table() -> None:
    lines = as_values(np.array([["sand", "sand", "STONE"]]))
    assert lookup(lines, NAMES, PRICES).tolist() == [[17.0, 17.0, 21.5]]


def test_a_running_sum_follows_the_order_not_the_place() -> None:
    rises = as_values(np.array([[1.0, 10.0, 100.0]]))
    order = as_values(np.array([[2.0, 1.0, 3.0]]))
    assert sum_up_to(rises, order).tolist() == [[11.0, 10.0, 111.0]]


def test_entries_are_counted_from_one() -> None:
    assert nth(PRICES, 1).tolist() == [[21.5]]
    assert nth(UNITS, as_values(np.array([[2.0, 3.0]]))).tolist() == [["ft", "yd3"]]


@pytest.mark.parametrize("place", [0, -1, 6, np.nan, np.inf])
def test_an_entry_that_is_not_there_is_an_error_not_another_entry(place: float) -> None:
    assert np.isnan(nth(PRICES, place)).all()
    assert nth(UNITS, place).tolist() == [[""]]
    assert np.isnan(nth_largest(PRICES, place)).all()


def test_the_largest_come_first() -> None:
    assert nth_largest(PRICES, as_values(np.array([[1.0, 2.0, 5.0]]))).tolist() == [
        [21.5, 17.0, 3.25]
    ]


def test_texts_are_found_by_their_beginning() -> None:
    checks = as_values(np.array([["ok", "FAIL: too deep", "fail: no drain", "LOOK"]]))
    assert count_starting(checks, "FAIL").tolist() == [[2.0]]
    assert first_starting(checks, "fail").tolist() == [["FAIL: too deep"]]
    assert first_starting(checks, "X").tolist() == [[""]]


COST = as_values(np.array([[120.0], [80.0], [np.nan]]))


@pytest.mark.parametrize(
    ("how", "result"), [("MIN", 80.0), ("MAX", 120.0), ("SUM", 200.0), ("COUNT", 2.0)]
)
def test_options_that_are_not_used_don_t_count(how: Any, result: float) -> None:
    assert across(how, COST).tolist() == [[result]]


@pytest.mark.parametrize("how", ["MIN", "MAX", "SUM", "COUNT"])
def test_no_option_in_use_gives_zero_as_the_sheet_s_functions_do(how: Any) -> None:
    assert across(how, as_values(np.full((3, 1), np.nan))).tolist() == [[0.0]]


def test_the_chosen_option_is_picked() -> None:
    assert pick(COST, 2).tolist() == [[80.0]]
    block = as_values(np.arange(6.0).reshape(3, 2))
    assert pick(block, 3).tolist() == [[4.0, 5.0]]
    assert pick(as_values(np.array([["pad"], ["piers"]])), 1).tolist() == [["pad"]]


def test_an_entry_of_the_chosen_option_s_column_is_picked() -> None:
    block = as_values(np.arange(6.0).reshape(3, 2))
    assert pick(block, 3, 2).tolist() == [[5.0]]
    assert pick(block, 2, as_values(np.array([[2.0, 1.0, 2.0]]))).tolist() == [[3.0, 2.0, 3.0]]
    assert np.isnan(pick(block, 2, 3)).all()
    assert np.isnan(pick(block, 4, 1)).all()


@pytest.mark.parametrize("option", [0, 4, np.nan])
def test_an_option_that_is_not_there_is_an_error_not_another_option(option: float) -> None:
    assert np.isnan(pick(COST, option)).all()
    assert pick(as_values(np.array([["pad"], ["piers"]])), option).tolist() == [[""]]


def test_a_row_that_is_alike_in_every_option_is_picked_for_any() -> None:
    assert pick(as_values(7.0), 3).tolist() == [[7.0]]


@pytest.mark.parametrize(
    ("value", "digits", "result"),
    [
        (1.005, 2, 1.01),
        (2.675, 2, 2.68),
        (12.345, 2, 12.35),
        (0.5, 0, 1.0),
        (2.5, 0, 3.0),
        (-1.5, 0, -1.0),  # the nudge that puts a half up puts a negative half up as well
        (-0.3, 0, 0.0),
        (1234.5, -2, 1200.0),
        (1.0049999, 2, 1.0),
    ],
)
def test_halves_are_rounded_up(value: float, digits: int, result: float) -> None:
    assert rounded(as_values(value), digits).item() == pytest.approx(result, rel=1e-15, abs=0)


def test_nothing_is_rounded_to_minus_nothing() -> None:
    assert str(rounded(as_values(-0.3), 0).item()) == "0.0"
    assert as_text(as_values(-0.3), "0").item() == "0"
    assert join("n ", as_values(-0.0)).item() == "n 0"


@pytest.mark.parametrize(
    ("value", "pattern", "text"),
    [
        (12.5, "0", "13"),
        (1.005, "0.00", "1.01"),
        (0.25, "0.0", "0.3"),
        (1234567.0, "#,##0", "1,234,567"),
        (1234.505, "#,##0.00", "1,234.51"),
        (-4.25, "0.0", "-4.2"),
    ],
)
def test_a_number_is_written_as_every_spreadsheet_writes_it(
    value: float, pattern: Any, text: str
) -> None:
    assert as_text(as_values(value), pattern).item() == text


def test_texts_and_whole_numbers_are_joined() -> None:
    woods = as_values(np.array([["oak", "pine"]]))
    assert join(woods, " x", as_values(4.0)).tolist() == [["oak x4", "pine x4"]]


def test_a_number_that_is_an_error_is_joined_as_nothing() -> None:
    assert join("n ", as_values(np.nan)).item() == "n "
    assert as_text(as_values(np.nan), "0.0").item() == ""


# Scenarios in front

SCENARIOS = 6
STATES = {
    "width": (1.0, 30.0),
    "debt": (-9.0, 9.0),
    "share": (0.05, 0.9),
    "cost": (50.0, 150.0),
    "drop": (-6.0, 6.0),
    "part_size": (0.5, 13.0),
    "part_rise": (-9.0, 9.0),
    "part_need": (0.0, 8.0),
    "bin_price": (1.0, 30.0),
}


def scenarios() -> dict[str, Values]:
    """The world with its prices and sizes drawn at random, one a scenario."""
    chance = np.random.default_rng(11)
    world = numbers()
    for key, (low, high) in STATES.items():
        drawn = chance.uniform(low, high, (SCENARIOS, *world[key].shape))
        world[key] = as_values(np.where(np.isnan(world[key]), np.nan, drawn))
    texts = np.array([["stone"], ["pine"], ["sand"], ["oak"], [""], ["PINE"]])[:, np.newaxis, :]
    world["wood"] = as_values(texts)
    return world


@pytest.mark.parametrize("name", FORMS)
def test_scenarios_at_once_give_what_they_give_one_by_one(name: str) -> None:
    form = FORMS[name]
    many = scenarios()
    with np.errstate(all="ignore"):
        together = np.asarray(as_values(form(many)))
        for n in range(SCENARIOS):
            alone = {k: as_values(v[n]) if v.ndim == 3 else v for k, v in many.items()}
            one = np.asarray(as_values(form(alone)))
            part = together[n] if together.ndim == 3 else together
            assert part.shape == one.shape
            np.testing.assert_array_equal(part, one)


@pytest.mark.parametrize("name", FORMS)
def test_what_is_worked_out_has_the_shape_that_its_formula_says(name: str) -> None:
    """A block keeps its trailing axis; what is reduced, looked up or picked has none left."""
    node, values = node_of(FORMS[name]), value_of(FORMS[name])
    assert values.shape[-1] == (ROWS[node.axis] if node.axis else 1)
    assert values.shape[-2] == (OPTIONS if node.by_option else 1)


# What a formula can't say


@pytest.mark.parametrize(
    ("function", "match"),
    [
        (lambda q: lookup("x", q["part_name"], q["bin_price"]), "two columns of the same table"),
        (lambda q: sum_if(q["part_size"], q["bin_name"], "x"), "two columns of the same table"),
        (lambda q: sum_up_to(q["part_size"], q["bin_price"]), "two columns of the same table"),
        (lambda q: most_if(q["bin_price"], q["part_name"], "x"), "two columns of the same table"),
        (lambda q: count_up_to(q["bin_price"] + 1, 1), "plain quantity"),
        (lambda q: lookup("x", q["bin_name"], q["bin_price"] * 2), "plain quantity"),
        (
            lambda q: sum_if(q["bin_price"] * 2, q["part_name"], "x"),
            "two columns of the same table",
        ),
        (lambda q: nth(q["bin_price"] + 1, 1), "plain quantity"),
        (lambda q: across("SUM", q["cost"] + 1), "plain quantity"),
        (lambda q: pick(q["cost"] * 2, 1), "plain quantity"),
        (lambda q: pick(q["cost"], q["drop"]), "one option for the whole job"),
        (lambda q: pick(q["part_need"], q["bin_price"]), "different tables"),
        (lambda q: pick(q["part_need"], 1, q["drop"]), "one entry for the whole job"),
        (lambda q: lookup("x", q["bin_name"], q["bin_price"], "none"), "a text and a number"),
        (lambda q: lookup("x", q["bin_name"], q["bin_word"], 0), "a text and a number"),
        (
            lambda q: lookup(q["part_name"], q["bin_name"], q["bin_price"], q["bin_price"]),
            "different tables",
        ),
    ],
)
def test_a_look_that_has_no_formula_is_refused(
    function: Callable[[dict[str, Any]], Any], match: str
) -> None:
    with pytest.raises(RowError, match=match):
        function(references())


def test_a_function_of_constants_alone_is_a_number_in_a_formula() -> None:
    def form(q: dict[str, Any]) -> Any:
        return rounded(1.005, 2) + q["width"] + rounded(2.675, 2)

    assert value_of(form).item() == pytest.approx(1.01 + 12.5 + 2.68, rel=1e-15)
    assert formula_of(form) == "1.01+Data!$A$2+2.68"


def test_the_answer_over_all_options_is_one_for_the_job() -> None:
    assert all(not node_of(f).by_option for n, f in ACROSS.items() if n != "above the least")
    assert WORLD["cost"].by_option
