"""Rules on steps and ramps that hold for every height, width and board."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from estimator.solve import steps

heights = st.floats(-24, 140, allow_nan=False)
greatest = st.floats(5, 9)
runs = st.floats(8, 20)


@given(heights, greatest)
def test_no_rise_is_over_the_greatest(total: float, limit: float) -> None:
    count = steps.rises(total, limit)
    assert steps.rise_in(total, count) <= limit * (1 + 1e-12)


@given(heights, greatest)
def test_no_rise_fewer_would_do(total: float, limit: float) -> None:
    count = float(steps.rises(total, limit))
    assert count == 0 or count * limit >= total > (count - 1) * limit * (1 - 1e-12)


@given(heights, st.floats(0, 60), greatest, runs)
def test_more_height_never_takes_fewer_rises_or_shorter_stringers(
    total: float, more: float, limit: float, run: float
) -> None:
    def flight(height: float) -> tuple[float, float]:
        count = steps.rises(height, limit)
        tread_count = steps.treads(count)
        one = steps.rise_in(height, count)
        return float(count), float(steps.stringer_in(tread_count, one, run, 6.0))

    (low, short), (high, long) = flight(total), flight(total + more)
    assert high >= low
    assert long >= short - 1e-9


@given(st.floats(-24, 0), greatest, runs)
def test_a_floor_at_the_ground_or_below_needs_no_piece(
    total: float, limit: float, run: float
) -> None:
    count = steps.rises(total, limit)
    one = steps.rise_in(total, count)
    assert (count, one, steps.treads(count)) == (0, 0, 0)
    assert steps.stringer_in(steps.treads(count), one, run, 6.0) == 0
    assert steps.ramp_run_in(total, 8.0) == 0
    assert steps.rail_posts(steps.ramp_run_in(total, 8.0), 72.0) == 0


@given(st.floats(4, 9), runs, st.floats(7, 13))
def test_the_notched_board_is_the_deepest_triangle_that_fits(
    rise: float, run: float, depth: float
) -> None:
    """The throat by the notch's angle, d - r cos(a) with tan(a) = r / t."""
    angle = math.atan2(rise, run)
    assert math.isclose(
        steps.throat_in(depth, rise, run), depth - rise * math.cos(angle), abs_tol=1e-9
    )


@given(st.floats(12, 120), st.floats(1, 4), st.floats(8, 30))
def test_stringers_stand_no_farther_apart_than_asked(
    width: float, thick: float, spacing: float
) -> None:
    count = float(steps.stringers(width, thick, spacing))
    assert count >= 2
    assert (width - thick) / (count - 1) <= spacing * (1 + 1e-12)


@given(st.floats(1, 300), st.floats(2, 12), st.floats(0, 0.5))
def test_boards_cover_the_run_and_none_is_idle(run: float, board: float, gap: float) -> None:
    count = float(steps.boards_across(run, board, gap))
    assert count * board + (count - 1) * gap >= run - 1e-6
    assert (count - 1) * board + (count - 2) * gap < run + 1e-6


@given(heights, st.floats(0.5, 20), st.sampled_from([8.0, 12.0]))
def test_a_ramp_is_longer_than_its_run_and_its_rise(
    total: float, more: float, slope: float
) -> None:
    run = steps.ramp_run_in(total, slope)
    length = steps.slope_length_in(total, run)
    assert length >= max(float(run), total) - 1e-9
    assert steps.ramp_run_in(total + more, slope) >= run


def test_a_whole_column_of_heights_goes_through_the_same_formulas() -> None:
    heights_in = np.array([-5.0, 0.0, 7.75, 7.76, 28.0])
    count = steps.rises(heights_in, 7.75)
    assert count.tolist() == [0, 0, 1, 2, 4]
    assert steps.treads(count).tolist() == [0, 0, 0, 1, 3]
