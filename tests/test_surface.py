"""The ground surface: what it passes through, what it refuses, and what must not move it."""

from __future__ import annotations

import numpy as np
import pytest
from footprints import footprint_corners
from ground_fall import fall
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.errors import SurveyError
from estimator.solve.blunders import blunders
from estimator.solve.surface import Ground, fit_ground


def names(n: int) -> tuple[str, ...]:
    return tuple(f"Survey row {i + 5}" for i in range(n))


def grid(columns: int, rows: int, step: float = 10.0) -> np.ndarray:
    x, y = np.meshgrid(np.arange(columns) * step, np.arange(rows) * step)
    return np.stack([x.ravel(), y.ravel()], axis=1)


def fitted(points: object, heights: object) -> Ground:
    return fit_ground(points, heights, names(len(np.asarray(heights))))


def rotation(deg: float) -> np.ndarray:
    t = np.deg2rad(deg)
    return np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])


@st.composite
def surveys(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """Grid surveys (the hard case: every cell on one circle) and scattered ones."""
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    if draw(st.booleans()):
        points = grid(
            draw(st.integers(2, 6)), draw(st.integers(2, 5)), draw(st.sampled_from([5, 7.5, 10]))
        )
    else:
        points = np.round(rng.uniform(0, 60, (draw(st.integers(8, 40)), 2)), 1)
        points = np.unique(points, axis=0)
    heights = points @ rng.uniform(-0.1, 0.1, 2) + rng.normal(0, 0.5, len(points))
    return points, np.round(heights, 2)


def test_surface_passes_through_every_reading() -> None:
    points = grid(4, 3)
    heights = np.random.default_rng(1).normal(0, 1, 12)
    z, guessed = fitted(points, heights).at(points)
    np.testing.assert_allclose(z, heights, atol=1e-12)
    assert not guessed.any()


def test_a_plane_stays_a_plane_inside_and_beyond_the_readings() -> None:
    points = np.vstack([grid(4, 3), [[13.3, 7.1], [22.2, 18.9]]])
    ground = fitted(points, 100 + points @ [0.05, -0.02])
    places = np.random.default_rng(2).uniform(-30, 60, (500, 2))
    z, guessed = ground.at(places)
    np.testing.assert_allclose(z, 100 + places @ [0.05, -0.02], atol=1e-10)
    inside = ((places >= 0) & (places <= [30, 20])).all(axis=1)
    np.testing.assert_array_equal(guessed, ~inside)


def test_the_middle_of_a_grid_cell_is_the_mean_of_its_corners() -> None:
    z, _ = fitted(grid(2, 2), [0.0, 1.0, 3.0, 10.0]).at([[5, 5]])
    assert z[0] == pytest.approx(3.5, abs=1e-12)


def test_between_readings_the_surface_is_linear_along_a_triangle_side() -> None:
    ground = fitted([[0, 0], [20, 0], [7, 15]], [1.0, 3.0, 0.0])
    z, _ = ground.at([[10, 0], [3.5, 7.5]])
    np.testing.assert_allclose(z, [2.0, 0.5], atol=1e-12)


def test_corners_on_the_outline_count_as_measured() -> None:
    turn = rotation(33.0)
    _, guessed = fitted(grid(3, 3) @ turn, np.arange(9.0)).at(
        np.array([[0, 0], [20, 0], [20, 20], [0, 20], [3.7, 0], [20, 11.1]]) @ turn
    )
    assert not guessed.any()


@pytest.mark.parametrize(
    ("points", "heights", "said"),
    [
        ([], [], "no readings"),
        ([[0, 0], [5, 5]], [1, 2], "only 2 readings"),
        ([[0, 0], [7, 0], [14, 0.01], [21, 0]], [0, 1, 2, 3], "in one line"),
        ([[0, 0], [7, 0], [0, 0], [0, 8]], [0, 1, 0.4, 3], "Survey row 5 and Survey row 7"),
        ([[0, 0], [7, 0], [0, 0]], [0, 1, 0], "2 different places"),
        ([[0, 0], [7, np.nan], [0, 9]], [0, 1, 0], "Survey row 6"),
        ([[0, 0], [7, 2], [0, 9]], [0, 1, np.inf], "Survey row 7"),
    ],
)
def test_a_bad_survey_gets_one_clear_sentence(
    points: list[list[float]], heights: list[float], said: str
) -> None:
    with pytest.raises(SurveyError) as caught:
        fitted(np.array(points).reshape(-1, 2), heights)
    assert said in str(caught.value)
    assert caught.value.cure


def test_the_same_reading_typed_twice_counts_once() -> None:
    points = [[0, 0], [10, 0], [0, 10], [10, 10], [10, 10]]
    ground = fitted(points, [0, 1, 2, 3.004, 3.0])
    assert ground.labels == names(4)
    assert ground.at([[10, 10]])[0][0] == pytest.approx(3.002, abs=1e-12)


@given(surveys(), st.floats(-5000, 5000), st.floats(-2000, 2000), st.floats(-2000, 2000))
@settings(max_examples=60, deadline=None)
def test_moving_the_datum_or_the_origin_changes_nothing(
    survey: tuple[np.ndarray, np.ndarray], datum: float, east: float, north: float
) -> None:
    points, heights = survey
    places = np.random.default_rng(3).uniform(-10, 70, (60, 2))
    z, guessed = fitted(points, heights).at(places)
    move = np.array([east, north])
    z2, guessed2 = fitted(points + move, heights + datum).at(places + move)
    same = guessed == guessed2  # a random place on the outline to the last bit may fall either way
    assert same.mean() > 0.95
    np.testing.assert_allclose(z2[same] - datum, z[same], atol=1e-9)


@given(surveys(), st.floats(0, 360))
@settings(max_examples=80, deadline=None)
def test_rotating_the_survey_and_the_place_together_changes_nothing(
    survey: tuple[np.ndarray, np.ndarray], deg: float
) -> None:
    points, heights = survey
    places = np.random.default_rng(4).uniform(-10, 70, (60, 2))
    z, guessed = fitted(points, heights).at(places)
    z2, guessed2 = fitted(points @ rotation(deg), heights).at(places @ rotation(deg))
    np.testing.assert_array_equal(guessed, guessed2)
    np.testing.assert_allclose(z2, z, atol=1e-9)


@given(surveys(), st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_the_order_of_typing_changes_nothing(
    survey: tuple[np.ndarray, np.ndarray], shuffler: object
) -> None:
    points, heights = survey
    order = list(range(len(points)))
    shuffler.shuffle(order)  # type: ignore[attr-defined]
    places = np.random.default_rng(5).uniform(-10, 70, (60, 2))
    np.testing.assert_allclose(
        fitted(points[order], heights[order]).at(places)[0],
        fitted(points, heights).at(places)[0],
        atol=1e-9,
    )


def test_three_inches_then_two_and_a_half_is_five_and_a_half_over_fourteen_feet() -> None:
    # Common practice, no source: drops over each length of a level of 7 ft add up.
    points = [[0, 0], [7, 0], [14, 0], [0, 12], [7, 12], [14, 12]]
    heights = np.array([0, -3, -5.5, 0, -3, -5.5]) / 12
    got = fall(fitted(points, heights), [[0, 0], [14, 0], [14, 12], [0, 12]])
    assert got.fall_in == pytest.approx(5.5, abs=1e-12)
    assert got.percent == pytest.approx(100 * 5.5 / 12 / 14, abs=1e-12)
    assert (got.high_corner, got.low_corner) == (0, 1)
    assert not got.more_than(5.5 / 12)
    assert got.more_than(5.4 / 12)
    assert not got.guessed


def test_fall_of_level_ground_is_nothing() -> None:
    got = fall(fitted(grid(2, 2), [3.0] * 4), footprint_corners((5, 5), 8, 6, 20))
    assert got.fall_ft == pytest.approx(0, abs=1e-12)
    assert got.percent == pytest.approx(0, abs=1e-9)


def test_fall_beyond_the_readings_says_that_it_is_guessed() -> None:
    assert fall(fitted(grid(2, 2), [0, 1, 0, 1]), [[0, 0], [14, 0], [14, 9], [0, 9]]).guessed


def blundered(seed: int, points: np.ndarray, error_ft: float) -> tuple[str, list]:
    """A bent slope with a quarter inch of grass and rod, and one bad reading."""
    rng = np.random.default_rng(seed)
    heights = points @ rng.uniform(-0.12, 0.12, 2) + 0.0004 * ((points - 20) ** 2).sum(axis=1)
    heights += rng.normal(0, 0.02, len(points))
    bad = int(rng.integers(len(points)))
    heights[bad] += error_ft
    return f"Survey row {bad + 5}", blunders(fitted(points, heights))


@given(st.integers(0, 2**32 - 1), st.sampled_from([-2.0, -1.0, 1.0, 2.0, 10.0]))
@settings(max_examples=20, deadline=None)
def test_a_reading_far_out_on_a_grid_is_named_alone(seed: int, error_ft: float) -> None:
    bad, found = blundered(seed, grid(6, 5, 8.0), error_ft)
    assert [label for label, _ in found] == [bad]
    # The ground bends by a few inches between readings: the residual is the error within that.
    assert found[0][1] == pytest.approx(error_ft, abs=0.35)


@given(st.integers(0, 2**32 - 1), st.sampled_from([-5.0, -3.0, 3.0, 10.0]))
@settings(max_examples=12, deadline=None)
def test_a_reading_far_out_among_scattered_ones_is_named_first(seed: int, error_ft: float) -> None:
    # Three feet and more: a lone reading far outside the others may hide less.
    points = np.random.default_rng(seed).uniform(0, 40, (40, 2))
    bad, found = blundered(seed, points, error_ft)
    assert found[0][0] == bad


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=30, deadline=None)
def test_honest_uneven_ground_accuses_nobody(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = grid(6, 5, 8.0)
    heights = points @ rng.uniform(-0.15, 0.15, 2) + 0.3 * np.sin(points[:, 0] / 15)
    heights += rng.normal(0, 0.04, len(points))
    assert blunders(fitted(points, np.round(heights, 2))) == []


def broken_ground(shape: str, points: np.ndarray, turn_deg: float) -> np.ndarray:
    """Heights of ground that bends or breaks through the middle of a lot 40 ft square."""
    u, v = ((points - 20) @ rotation(turn_deg)).T
    return {
        "plane": -0.05 * u,
        "ridge": -0.15 * np.abs(u),
        "valley": 0.15 * np.abs(u),
        "bank": 3 * np.clip(u / 4, -0.5, 0.5) + 0.02 * v,
        "saddle": 0.0075 * (u**2 - v**2),
    }[shape]


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 33.0])
@pytest.mark.parametrize("shape", ["plane", "ridge", "valley", "bank", "saddle"])
def test_clean_broken_ground_on_a_grid_accuses_nobody(shape: str, turn_deg: float) -> None:
    points = grid(5, 5)
    assert blunders(fitted(points, broken_ground(shape, points, turn_deg))) == []


@pytest.mark.parametrize("shape", ["plane", "ridge", "valley", "bank", "saddle"])
def test_noise_of_rod_and_grass_on_broken_ground_accuses_nobody_either(shape: str) -> None:
    points, rng = grid(5, 5), np.random.default_rng(4)
    for turn_deg in (0.0, 17.0, 33.0):
        heights = broken_ground(shape, points, turn_deg) + rng.normal(0, 0.05, len(points))
        assert blunders(fitted(points, heights)) == []


@pytest.mark.parametrize("shape", ["ridge", "valley"])
def test_a_slip_of_two_feet_beside_a_break_is_still_named(shape: str) -> None:
    points = grid(5, 5)
    for place in (6, 8, 16, 18):  # inside, a step beside the break through the middle
        heights = broken_ground(shape, points, 0) + 2.0 * (np.arange(25) == place)
        assert f"Survey row {place + 5}" in dict(blunders(fitted(points, heights)))


def test_a_slipped_decimal_in_a_five_point_survey_is_named() -> None:
    points = [[0, 0], [14, 0], [14, 12], [0, 12], [7, 6]]
    found = blunders(fitted(points, [5.0, 4.6, 4.4, 4.9, 47.0]))
    assert found[0][0] == "Survey row 9"


def test_four_corners_with_a_twist_accuse_nobody() -> None:
    assert blunders(fitted([[0, 0], [14, 0], [14, 12], [0, 12]], [5.0, 4.6, 4.4, 4.9])) == []
    assert blunders(fitted([[0, 0], [14, 0], [0, 12]], [5.0, 4.6, 44.4])) == []


def test_one_reading_beside_a_line_of_others_can_not_be_judged() -> None:
    points = [[0, 0], [5, 0], [10, 0], [15, 0], [20, 0], [25, 0], [12, 9]]
    assert blunders(fitted(points, [0, 0.1, 0.2, 0.3, 0.4, 0.5, 9.0])) == []
