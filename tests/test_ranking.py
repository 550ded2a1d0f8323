"""Which options are marked, why the cheapest is cheapest, and the range of its cost."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import at, changed, demo, solved, used

from estimator.engine import evaluate
from estimator.model import build_model
from estimator.model.cost.groups import LARGEST, NAMES
from estimator.model.solvers.cost_range import COST_READS, simulate
from estimator.report import answer
from estimator.rows import OPTION_KEYS
from estimator.typed_job import read_inputs

Forced = dict[tuple[int, int], Any]


def with_forced(chosen: str = "A", **rows: Forced) -> Mapping[str, Any]:
    """The demo with numbers typed over: by row, by option and place."""
    model = build_model()
    before = _demo()
    held = {key: before[key] for key, item in model.quantities.items() if item.role == "solved"}
    job = changed(demo(), chosen_option=chosen)
    return evaluate(model, read_inputs(model, job), solved=held, typed_over=rows)


_known: dict[str, Mapping[str, Any]] = {}


def _demo() -> Mapping[str, Any]:
    if "demo" not in _known:
        _known["demo"] = solved(demo())
    return _known["demo"]


def marked(values: Mapping[str, Any]) -> list[str]:
    return [str(at(values, "compare_mark", option)) for option in used(values)]


# --- marks ---


def test_an_option_that_fails_is_shown_without_a_mark_and_with_its_reason() -> None:
    before = _demo()
    cheapest = OPTION_KEYS.index(at(before, "cheapest_name")[0])
    reason = "FAIL: the skids bend"
    values = with_forced(check_skids={(cheapest, 0): reason})
    assert at(values, "compare_mark", cheapest) == ""
    assert at(values, "compare_first", cheapest) == reason
    assert at(values, "total_cost", cheapest) == at(before, "total_cost", cheapest)
    others = [o for o in used(values) if o != cheapest]
    least = min(others, key=lambda o: at(values, "total_cost", o))
    assert "cheapest" in at(values, "compare_mark", least)
    assert at(values, "cheapest_name") == OPTION_KEYS[least]
    assert at(values, "over_least", cheapest) < 0


def test_a_chosen_option_that_fails_while_another_passes_is_told_by_name() -> None:
    before = _demo()
    cheapest = OPTION_KEYS.index(at(before, "cheapest_name")[0])
    letter = OPTION_KEYS[cheapest]
    values = with_forced(letter, check_skids={(cheapest, 0): "FAIL: the skids bend"})
    said = at(values, "choice_fails")
    other = OPTION_KEYS.index(at(values, "cheapest_name")[0])
    assert said.startswith(f"{letter} {at(values, 'option_name', cheapest)} (")
    assert f"fails; {OPTION_KEYS[other]} {at(values, 'option_name', other)} (" in said
    assert at(values, "overall_flag") == (
        "CHECK: the chosen option fails checks and another passes; see Start"
    )
    assert said in answer(values)
    assert at(before, "choice_fails") == ""


def test_where_none_passes_none_is_marked_and_start_says_so() -> None:
    failing: Forced = {(option, 0): "FAIL: no" for option in range(len(OPTION_KEYS))}
    values = with_forced(check_skids=failing)
    assert set(marked(values)) == {""}
    for key in ("cheapest_name", "why_compared"):
        assert at(values, key) == "no option passes"
    for key in ("why_first", "why_second", "why_third", "why_rest"):
        assert at(values, key) == ""
    assert at(values, "choice_fails").endswith(
        "fails; no other option passes, or put right what fails"
    )
    assert at(values, "overall_flag") == "CHECK: no option passes every check; see Checks"


def test_one_option_that_passes_alone_is_compared_with_none() -> None:
    failing: Forced = {(option, 0): "FAIL: no" for option in range(1, len(OPTION_KEYS))}
    values = with_forced(check_skids=failing)
    assert marked(values) == ["cheapest, fewest hours, soonest", "", "", ""]
    assert at(values, "why_compared") == "no other option passes than A"
    assert at(values, "why_first") == ""


def test_options_that_cost_the_same_are_both_marked_and_compared_with_the_next() -> None:
    twins: Forced = {(0, 0): 1000.0, (3, 0): 1000.0, (1, 0): 1200.0, (2, 0): 1300.0}
    values = with_forced(total_cost=twins)
    assert [("cheapest" in mark) for mark in marked(values)] == [True, False, False, True]
    assert at(values, "cheapest_name") == "A, and others alike"
    assert at(values, "why_compared").startswith("A: $200.00 less than B ")
    alike = with_forced(total_cost={(option, 0): 1000.0 for option in range(4)})
    assert at(alike, "why_compared") == "those that pass cost the same"
    assert at(alike, "why_first") == ""


def test_soonest_goes_by_the_days_with_notice_and_cure() -> None:
    values = with_forced(elapsed_days={(0, 0): 4.0, (1, 0): 5.0, (2, 0): 13.0, (3, 0): 4.0})
    assert [("soonest" in mark) for mark in marked(values)] == [True, False, False, True]


# --- the flag on top ---


def test_the_flag_counts_what_is_to_look_at_and_says_ok_of_nothing_else() -> None:
    assert at(with_forced(checks_look={(0, 0): 7.0}), "nothing_fails").startswith(
        "LOOK: nothing fails; 7 points to look at"
    )
    one = at(with_forced(checks_look={(0, 0): 1.0}), "nothing_fails")
    assert one.startswith("LOOK: nothing fails; 1 point to look at")
    none = at(with_forced(checks_look={(0, 0): 0.0}), "nothing_fails")
    assert none.startswith("OK: nothing fails in the chosen option")
    assert at(with_forced(checks_look={(1, 0): 7.0, (0, 0): 0.0}), "nothing_fails") == none


# --- why the cheapest is cheapest ---


def told(values: Mapping[str, Any], key: str) -> tuple[str, int]:
    """A difference as Start says it: the group, and dollars that the cheapest saves."""
    words = at(values, key)
    if not words:
        return "", 0
    name, _, rest = words.partition(" $")
    number, _, way = rest.partition(" ")
    return name, int(number.replace(",", "")) * (1 if way == "less" else -1)


def saved_by_group(values: Mapping[str, Any], one: int, other: int) -> dict[str, float]:
    """What one option pays less than another, by group, from their costs alone."""
    costs = np.asarray(values["group_cost"])
    return dict(zip(NAMES, costs[other] - costs[one], strict=True))


@pytest.mark.parametrize("failing", [None, 0, 1, 3])
def test_the_three_largest_differences_to_the_next_are_told_in_order(failing: int | None) -> None:
    forced: dict[str, Forced] = {} if failing is None else {"checks_failed": {(failing, 0): 1.0}}
    values = with_forced(**forced)
    passing = [o for o in used(values) if at(values, "checks_failed", o) == 0]
    assert failing not in passing
    ranked = sorted(passing, key=lambda o: at(values, "total_cost", o))
    saved = saved_by_group(values, *ranked[:2])
    largest = sorted(saved, key=lambda name: -abs(saved[name]))[:LARGEST]
    keys = ("why_first", "why_second", "why_third")
    found = [told(values, key) for key in keys]
    assert [name for name, _ in found] == largest
    for name, dollars in found:
        assert dollars == pytest.approx(saved[name], abs=0.5 + 1e-9)
    over = at(values, "total_cost", ranked[1]) - at(values, "total_cost", ranked[0])
    assert at(values, "next_over") == pytest.approx(over, abs=1e-9)
    total = sum(dollars for _, dollars in found) + told(values, "why_rest")[1]
    assert total == pytest.approx(over, abs=0.5 + 1e-9), "what is told adds up"


def test_a_saving_in_one_group_alone_is_the_only_one_told() -> None:
    """Twins but for the earthwork of B: 8 h at the wage more."""
    model = build_model()
    cells = {
        key: {1: entry}
        for (key, place), entry in demo().cells.items()
        if place == 0 and model.quantities[key].by_option
    }
    cells["option_kind"] |= {2: None, 3: None}
    job = changed(demo(), **cells)
    before = solved(job)
    held = {key: before[key] for key, item in model.quantities.items() if item.role == "solved"}
    task = next(k for k in model.stacks["task_hours"] if "earth" in k or "strip" in k)
    more = {(1, 0): at(before, task, 0) + 8}
    values = evaluate(model, read_inputs(model, job), solved=held, typed_over={task: more})
    wage = at(values, "wage_per_h")
    assert told(values, "why_first") == ("labour: earthwork", round(8 * wage))
    assert at(values, "why_second") == at(values, "why_third") == ""
    share = at(values, "contingency_share")
    assert told(values, "why_rest")[1] == pytest.approx(8 * wage * share, abs=1)


# --- the range ---


def priced_values(chance: np.random.Generator) -> dict[str, Any]:
    """What the simulation reads of a random job: prices with ranges of any lean, or none."""
    items = int(chance.integers(1, 30))
    price = np.round(chance.uniform(0, 200, items) * (chance.random(items) < 0.9), 2)
    lean = chance.choice([0.0, 0.02, 0.9])
    low = np.round(price * (1 - chance.uniform(0, lean, items)), 2)
    high = np.round(price * (1 + chance.uniform(0, chance.choice([0.0, 0.1, 4.0]), items)), 2)
    packs = chance.integers(0, 20, (6, items))
    category = chance.choice(["lumber", "stone", "rental", "delivery", "fee"], items)
    keys = np.array([f"item {n}" for n in range(items)])
    material = np.isin(category, ["lumber", "stone"])
    cost = np.round(packs * price, 2)
    fee = np.round(chance.uniform(0, 100, (6, 2)), 2) * (chance.random() < 0.7)
    spent = np.round(np.sum(cost * material, axis=1, keepdims=True), 2)
    hire = np.sum(cost * (category == "rental"), axis=1, keepdims=True)
    taxed = hire * chance.choice([0, 1])
    values: dict[str, Any] = {
        "option_used": np.array([[1.0], [1], [0], [1], [0], [1]]),
        "item_name": keys[None],
        "item_category": category[None],
        "item_brought_no": material[None].astype(float),
        "item_price": price[None],
        "item_low": (low * (chance.random(items) < 0.8))[None],
        "item_high": (high * (chance.random(items) < 0.8))[None],
        "item_cost": cost,
        "supplier_delivery": np.array([[keys[0], ""]]),
        "supplier_fee": fee,
        "material_cost": spent,
        "delivery_cost": np.sum(fee, axis=1, keepdims=True)
        + np.sum(cost * np.isin(category, ["delivery", "fee"]), axis=1, keepdims=True),
        "rental_cost": hire,
        "taxed_hire": taxed,
        "tax_cost": np.round((spent + taxed) * chance.choice([0, 0.0725]), 2),
        "labour_cost": np.round(chance.uniform(0, 4000, (6, 1)), 2) * (chance.random() < 0.8),
    }
    parts = ("material_cost", "delivery_cost", "rental_cost", "tax_cost", "labour_cost")
    base = sum(values[key] for key in parts)
    values["before_contingency"] = np.round(base * chance.choice([1.0, 1.1, 1.32]), 2)
    spare = chance.choice([0.0, 0.1, 0.5])
    values["total_cost"] = np.round(values["before_contingency"] * (1 + spare), 2)
    assert set(values) == set(COST_READS)
    return values


@pytest.mark.parametrize("seed", range(300))
def test_the_estimate_before_contingency_lies_inside_its_own_range(seed: int) -> None:
    values = priced_values(np.random.default_rng(seed))
    found = simulate(values, seed)
    for option in (0, 1, 3, 5):
        low, middle, high = (
            found[key][option, 0] for key in ("total_low", "total_middle", "total_high")
        )
        estimate = values["before_contingency"][option, 0]
        assert low <= estimate <= high
        assert low <= middle <= high
        assert 1 / 8 <= found["total_covers"][option, 0] <= 1
    assert found["total_low"][2, 0] == found["total_high"][4, 0] == 0


def test_labour_alone_ranges_as_reckoned_by_hand() -> None:
    """Hours 0.8 to 1.4 about the estimate of $1,000, half the draws on either side of it.

    One draw in ten lies below where 2 x 0.1 of the lower triangle does, 0.8 + 0.2 sqrt(0.2) =
    0.8894 of it, and one in ten above 1.4 - 0.4 sqrt(0.2) = 1.2211. $1,100 are enough for half
    and of the other half for 1 - (0.3 / 0.4)^2 = 0.4375: 0.71875 of the draws.
    """
    values = priced_values(np.random.default_rng(0))
    for key in COST_READS:
        if key.endswith(("_cost", "_fee", "_hire")):
            values[key] = np.zeros_like(np.asarray(values[key], dtype=float))
    values["labour_cost"] = values["before_contingency"] = np.full((6, 1), 1000.0)
    values["total_cost"] = np.full((6, 1), 1100.0)
    found = simulate(values)
    assert found["total_low"][0, 0] == pytest.approx(889.4, abs=8)
    assert found["total_middle"][0, 0] == pytest.approx(1000, abs=1)
    assert found["total_high"][0, 0] == pytest.approx(1221.1, abs=16)
    assert found["total_covers"][0, 0] == pytest.approx(0.719, abs=0.03)


@given(st.integers(0, 2**31), st.floats(1, 3))
@settings(max_examples=20, deadline=None)
def test_a_wider_range_of_prices_never_gives_a_lower_high(seed: int, wider: float) -> None:
    values = priced_values(np.random.default_rng(seed))
    far = values | {"item_high": np.maximum(values["item_high"], values["item_price"]) * wider}
    near = values | {"item_high": np.maximum(values["item_high"], values["item_price"])}
    a, b = simulate(near), simulate(far)
    assert (b["total_high"] >= a["total_high"] - 0.011).all()
    assert (b["total_covers"] <= a["total_covers"] + 1e-12).all()


def test_a_total_with_more_set_aside_is_enough_for_no_fewer_draws() -> None:
    values = priced_values(np.random.default_rng(3))
    shares = [
        simulate(values | {"total_cost": values["before_contingency"] * (1 + share)})[
            "total_covers"
        ][0, 0]
        for share in (0, 0.05, 0.1, 0.3, 5)
    ]
    assert shares == sorted(shares)
    assert shares[-1] == 1
