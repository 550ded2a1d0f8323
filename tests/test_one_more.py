"""Where one more reading tells most: where none is, and the same however the survey lies."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import at, demo, solved
from spots import fitted, grid, rotation

from estimator.solve.one_more import OneMore, one_more

BASE = np.array([[8.0, 9.0], [31.0, 9.0], [31.0, 31.0], [8.0, 31.0]])


def found(points: np.ndarray, heights: np.ndarray, base: np.ndarray = BASE) -> OneMore:
    there = one_more(fitted(points, heights), base)
    assert there is not None
    return there


def uneven(points: np.ndarray) -> np.ndarray:
    return np.asarray(100 + 0.2 * np.sin(points[:, 0] / 5) + 0.2 * np.cos(points[:, 1] / 7))


@pytest.mark.parametrize("gap", [(10.0, 20.0), (20.0, 10.0), (20.0, 20.0)])
def test_one_more_reading_is_asked_for_where_one_of_a_grid_is_left_out(
    gap: tuple[float, float],
) -> None:
    points = grid(5, 5)
    points = points[(points != gap).any(axis=1)]
    place = found(points, uneven(points))
    assert np.hypot(place.x_ft - gap[0], place.y_ft - gap[1]) < 4
    assert place.then_ft3 < place.now_ft3


def test_beyond_the_readings_it_is_asked_for_first() -> None:
    """Readings on the left half of the base alone."""
    points = grid(3, 5)
    place = found(points, uneven(points))
    assert place.x_ft > 28
    assert place.then_ft3 < 0.8 * place.now_ft3


@given(st.floats(0, 360), st.floats(-500, 500))
@settings(max_examples=25, deadline=None)
def test_turning_survey_and_base_and_moving_the_datum_change_nothing(
    deg: float, datum: float
) -> None:
    points = grid(5, 4)[:-3]
    turn = rotation(deg)
    here = found(points, uneven(points))
    there = found(points @ turn, uneven(points) + datum, BASE @ turn)
    assert there.now_ft3 == pytest.approx(here.now_ft3, rel=1e-6)
    assert there.then_ft3 == pytest.approx(here.then_ft3, rel=1e-6)
    assert [there.x_ft, there.y_ft] == pytest.approx(
        list(np.array([here.x_ft, here.y_ft]) @ turn), abs=1e-6
    )


def test_four_readings_tell_nothing_of_how_the_ground_strays() -> None:
    points = grid(2, 2, 40.0)
    assert one_more(fitted(points, uneven(points)), BASE) is None


def test_the_survey_tells_it_for_the_chosen_option() -> None:
    values = solved(demo())
    chosen = int(at(values, "chosen_no")) - 1
    assert at(values, "one_more_chosen") == str(values["one_more"][chosen, 0])
    assert " becomes " in at(values, "one_more_chosen")
