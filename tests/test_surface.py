"""The ground surface: what it passes through, what it refuses, and what must not move it."""

from __future__ import annotations

import numpy as np
import pytest
from footprints import footprint_corners
from ground_fall import fall
from hypothesis import given, settings
from hypothesis import strategies as st
from spots import fitted, grid, names, rotation

from estimator.errors import SurveyError
from estimator.solve.mesh import NoSurfaceError, triangulate


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


@given(surveys(), st.integers(0, 2**32 - 1))
@settings(max_examples=20, deadline=None)
def test_a_few_places_lie_in_the_triangles_that_they_have_among_many(
    survey: tuple[np.ndarray, np.ndarray], seed: int
) -> None:
    ground = fitted(*survey)
    rng = np.random.default_rng(seed)
    apart = rng.dirichlet(np.ones(3), 20) @ ground.vertices_ft[ground.triangles[0]]
    places = np.vstack([rng.uniform(-10, 70, (4000, 2)), apart + ground.centre_ft])
    many = ground.locate(places)
    few = np.concatenate([ground.locate(some) for some in np.split(places, 201)])
    np.testing.assert_array_equal(few, many)


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


@pytest.mark.parametrize("aside", [1e-8, 1e-12])
def test_places_of_which_slivers_alone_are_made_span_no_triangle(aside: float) -> None:
    places = np.array([[-10, 0], [10, 0], [0, aside], [3, aside]])
    with pytest.raises(NoSurfaceError, match="span no triangle"):
        triangulate(places, np.zeros(4))


def test_places_typed_a_hundredth_apart_are_one_in_whatever_order() -> None:
    points = np.array([[0, 0], [50, 0], [50, 40], [0, 40], [5.76, 12.36], [5.77, 12.36]])
    for order in ([0, 1, 2, 3, 4, 5], [5, 3, 2, 4, 1, 0], [4, 5, 2, 1, 0, 3]):
        for east in (0.0, 0.37, 1000.13):
            assert len(fitted(points[order] + [east, 0], np.full(6, 100.0)).points_ft) == 5


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


@given(surveys(), st.integers(1, 6), st.integers(0, 2**32 - 1))
@settings(max_examples=40, deadline=None)
def test_readings_that_lie_on_the_surface_change_no_height(
    survey: tuple[np.ndarray, np.ndarray], count: int, seed: int
) -> None:
    points, heights = survey
    rng = np.random.default_rng(seed)
    places = rng.uniform(-10, 70, (60, 2))
    ground = fitted(points, heights)
    z, guessed = ground.at(places)
    more = rng.dirichlet(np.ones(len(points)), count) @ points  # within the readings
    told = ground.at(more)[0]
    with_them = fitted(np.vstack([points, more]), np.append(heights, told))
    z2, guessed2 = with_them.at(places)
    np.testing.assert_array_equal(guessed2, guessed)
    np.testing.assert_allclose(z2, z, atol=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_readings_on_the_cells_of_a_grid_change_no_height(seed: int) -> None:
    """Between four readings on one circle the surface is a fan; several lie on one such cell."""
    rng = np.random.default_rng(seed)
    points = grid(4, 3)
    heights = 100 + rng.normal(0, 0.3, len(points)).round(2)
    ground = fitted(points, heights)
    low, high = points.min(axis=0), points.max(axis=0)
    places = rng.uniform(low, high, (200, 2))
    more = rng.uniform(low, low + (high - low) * [0.6, 0.9], (5, 2))
    with_them = fitted(np.vstack([points, more]), np.append(heights, ground.at(more)[0]))
    np.testing.assert_allclose(with_them.at(places)[0], ground.at(places)[0], atol=1e-9)


def _shaped(points: np.ndarray, shape: str) -> np.ndarray:
    x, y = (points - points.mean(axis=0)).T
    across = 0.8 * x + 0.6 * y
    rise = {
        "plane": 0 * x,
        "ridge": -0.1 * np.abs(across),
        "bank": np.clip(0.2 * across, -1, 1),
        "saddle": x * y / 300,
    }[shape]
    return 100 + 0.03 * x - 0.02 * y + rise


@pytest.mark.parametrize("shape", ["plane", "ridge", "valley", "bank", "saddle"])
@pytest.mark.parametrize("decimals", [1, 12])
def test_readings_between_stakes_whose_heights_agree_by_chance_change_no_height(
    shape: str, decimals: int
) -> None:
    """Exact saddles and rounded heights: many a stake lies on the surface through the others."""
    rng = np.random.default_rng(11)
    points = grid(5, 4) @ rotation(33)
    up = -1 if shape == "valley" else 1
    heights = np.round(up * _shaped(points, "ridge" if shape == "valley" else shape), decimals)
    ground = fitted(points, heights)
    corners = ground.vertices_ft[ground.triangles] + ground.centre_ft
    face = corners[rng.integers(len(corners), size=3)]
    anywhere = np.einsum("ij,ijk->ik", rng.dirichlet(np.ones(3), 3), face)
    on_sides = face[:, 0] + rng.uniform(0.2, 0.8, (3, 1)) * (face[:, 1] - face[:, 0])
    places = rng.uniform(-20, 60, (200, 2))
    for more in (anywhere[:1], anywhere, on_sides):
        with_them = fitted(np.vstack([points, more]), np.append(heights, ground.at(more)[0]))
        np.testing.assert_allclose(with_them.at(places)[0], ground.at(places)[0], atol=1e-9)


def test_cells_of_a_grid_on_a_saddle_keep_their_stakes() -> None:
    """The surveyors' grid method: a cell's volume is its area times the mean of its corners."""
    points = grid(5, 4)
    heights = points[:, 0] * points[:, 1] / 300
    middles = 5 + 10 * np.indices((4, 3)).reshape(2, -1).T
    z, _ = fitted(points, heights).at(middles)
    np.testing.assert_allclose(z, middles.prod(axis=1) / 300, atol=1e-12)


def test_the_plane_beyond_the_readings_is_that_of_the_surface() -> None:
    points = np.array([[0, 0], [40, 0], [40, 20], [0, 20], [20, 0], [20, 20]], dtype=float)
    heights = 100 - 0.1 * np.abs(points[:, 0] - 20)
    beyond = fitted(points, heights).at([[-30, 5], [90, 5]])
    assert beyond[1].all()
    np.testing.assert_allclose(beyond[0], 99, atol=1e-9)  # the mean of a ridge 2 ft high


def test_readings_on_the_surface_through_the_others_shape_none_of_it() -> None:
    """A ridge along the middle of a grid: its crest and the outer corners make the surface."""
    points = grid(5, 3)
    ground = fitted(points, 100 - 0.1 * np.abs(points[:, 0] - 20))
    places = np.random.default_rng(6).uniform([0, 0], [40, 20], (50, 2))
    np.testing.assert_allclose(
        ground.at(places)[0], 100 - 0.1 * np.abs(places[:, 0] - 20), atol=1e-12
    )
    assert len(ground.points_ft) == 15
    assert len(ground.vertices_ft) < 15


def test_readings_on_the_surface_over_wide_cells_of_staked_ground_change_nothing() -> None:
    """Few of the stakes of a bank shape it, so that the corners of a cell stand far apart."""
    points = np.round(grid(7, 4, step=12.0) @ [[0.8, 0.6], [-0.6, 0.8]], 2)
    from_middle = points - points.mean(axis=0)
    bank = np.clip(0.2 * from_middle @ [0.5**0.5, 0.5**0.5], -1, 1)
    heights = 100 + from_middle @ [0.03, -0.02] + bank
    ground = fitted(points, heights)
    rng = np.random.default_rng(10)
    places = points.min(axis=0) + rng.uniform(size=(800, 2)) * np.ptp(points, axis=0)
    places = places[~ground.at(places)[1]]
    for added in places[:40].reshape(-1, 4, 2):
        more = fitted(np.vstack([points, added]), np.append(heights, ground.at(added)[0]))
        assert more.at(places)[0] == pytest.approx(ground.at(places)[0], abs=1e-9)
