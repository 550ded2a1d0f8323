"""Pad heights beside each other: volumes as if each were chosen, and what their earth costs."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from jobs import (
    at,
    changed,
    demo,
    on_ground,
    one_option,
    pooled_jobs,
    slope,
    solved,
    solved_or_skipped,
    used,
)

from estimator.inputs import TypedJob
from estimator.model.kinds import FRAMED, OPEN, PIERS, SLAB

BY_MODE = {"high ground": "flush", "balanced": "balanced", "by hand": "hand"}
EARTH = ("cut", "fill")


@pytest.mark.parametrize(("mode", "name"), BY_MODE.items())
def test_each_height_shows_the_earth_that_choosing_it_gives(mode: str, name: str) -> None:
    beside = solved(one_option(FRAMED, hand_height_ft=99.9))
    chosen = solved(one_option(FRAMED, hand_height_ft=99.9, height_mode=mode))
    assert at(beside, f"{name}_top_ft") == pytest.approx(at(chosen, "top_ft"), abs=1e-12)
    assert at(beside, f"{name}_cut_yd3") == pytest.approx(at(chosen, "cut_yd3"), abs=1e-12)
    assert at(beside, f"{name}_fill_yd3") == pytest.approx(at(chosen, "fill_yd3"), abs=1e-12)
    assert at(chosen, "chosen_earth_cost") == at(chosen, f"{name}_earth_cost")
    assert at(chosen, f"{name}_more_cost") == 0


@settings(max_examples=8, deadline=None)
@given(pooled_jobs())
def test_the_balanced_height_balances_and_the_chosen_one_is_among_the_three(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        shrink = at(values, "compacted_per_bank", option)
        cut, fill = at(values, "balanced_cut_yd3", option), at(values, "balanced_fill_yd3", option)
        mode = at(values, "height_mode", option)
        if at(values, "option_kind", option) != SLAB or mode == "balanced":
            assert shrink * cut == pytest.approx(fill, abs=1e-8)
        if at(values, "on_pad", option):
            cut, fill = (at(values, f"{BY_MODE[mode]}_{what}_yd3", option) for what in EARTH)
            assert cut == pytest.approx(at(values, "cut_yd3", option), abs=1e-9)
            made = at(values, "fill_yd3", option) - at(values, "slab_fill_yd3", option)
            assert fill == pytest.approx(max(made, 0), abs=1e-9)


def test_what_a_yard_of_digging_and_hauling_costs_at_thirty_dollars_an_hour() -> None:
    values = solved(changed(one_option(OPEN), wage_per_h=30, spoil_distance_ft=75))
    # Loam by hand: 0.75 yd3 an hour (shared/reference/productivity.csv).
    assert at(values, "dig_cost_yd3") == pytest.approx(30 / 0.75)
    # A barrow takes 3 min to fill and tip and a minute to walk 150 ft (both from Factors).
    loads = 27 / at(values, "barrow_ft3")
    assert at(values, "heap_cost_yd3") == pytest.approx(30 * loads * 4 / 60)
    assert at(values, "away_cost_yd3") == pytest.approx(1.25 * at(values, "heap_cost_yd3"))


def test_earth_of_a_flush_pad_costs_cut_fill_and_the_carrying_of_what_is_over() -> None:
    values = solved(on_ground(one_option(OPEN), slope(4)))
    cut, fill = at(values, "flush_cut_yd3"), at(values, "flush_fill_yd3")
    shrink = at(values, "compacted_per_bank")
    lacking, over = max(fill - shrink * cut, 0), max(cut - fill / shrink, 0)
    cost = (
        cut * at(values, "dig_cost_yd3")
        + fill * at(values, "fill_cost_yd3")
        + lacking * at(values, "bring_cost_yd3")
        + over * at(values, "away_cost_yd3")
    )
    assert at(values, "flush_earth_cost") == pytest.approx(cost, rel=1e-12)


def test_where_stone_fills_the_low_side_all_of_the_cut_goes_away() -> None:
    values = solved(on_ground(one_option(OPEN, fill_with="stone"), slope(4)))
    dig, away = at(values, "dig_cost_yd3"), at(values, "away_cost_yd3")
    cost = at(values, "flush_cut_yd3") * (dig + away) + at(values, "flush_fill_yd3") * at(
        values, "stone_cost_yd3"
    )
    assert at(values, "flush_earth_cost") == pytest.approx(cost, rel=1e-12)


def test_supports_have_no_pad_heights() -> None:
    values = solved(one_option(PIERS))
    assert at(values, "height_chosen") == "not a pad"
    assert at(values, "flush_cut_yd3") == at(values, "flush_earth_cost") == 0


def test_own_labour_without_a_wage_costs_nothing_but_soil_and_stone() -> None:
    values = solved(changed(demo(), wage_per_h=0))
    assert at(values, "dig_cost_yd3") == at(values, "away_cost_yd3") == 0
    assert at(values, "bring_cost_yd3") == pytest.approx(18 * 1.25 / 0.9)
    assert at(values, "stone_cost_yd3") == pytest.approx(43 * 1.10 * 1.05)
