"""Which options are marked, and why the cheapest is cheapest."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from jobs import at, changed, demo, solved, used

from estimator.evaluation import evaluate
from estimator.model import build_model
from estimator.model.cost.groups import LARGEST, NAMES
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


def test_what_is_told_adds_up_where_half_a_dollar_more_is_rounded() -> None:
    values = with_forced(group_saved={(0, 0): -1160.5, (0, 1): 1200.5, (0, 2): 1300.0})
    keys = ("why_first", "why_second", "why_third", "why_rest")
    total = sum(told(values, key)[1] for key in keys)
    assert told(values, "why_third")[1] == -1161
    assert total == pytest.approx(at(values, "next_over"), abs=0.5 + 1e-9)


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
