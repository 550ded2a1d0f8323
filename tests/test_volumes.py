"""Earth volumes against closed forms, and the properties that hold on any ground."""

from __future__ import annotations

import numpy as np
import pytest
from earthwork import borrow_pit_volume, mean_height_ft, prismoidal_volume
from footprints import footprint_corners
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.spatial.distance import pdist

from estimator.errors import InputError
from estimator.solve.surface import Ground, fit_ground
from estimator.solve.volumes import Patch, balanced_height, clip, cut_ft3, fill_ft3


def ground_of(points: object, heights: object) -> Ground:
    return fit_ground(points, heights, [f"Survey row {i}" for i in range(len(np.asarray(heights)))])


def grid(columns: int, rows: int, step: float = 10.0) -> np.ndarray:
    x, y = np.meshgrid(np.arange(columns) * step, np.arange(rows) * step)
    return np.stack([x.ravel(), y.ravel()], axis=1)


@st.composite
def cases(draw: st.DrawFn) -> tuple[Ground, np.ndarray]:
    """A yard and a footprint that may hang over its edge."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    points = grid(5, 4) if draw(st.booleans()) else rng.uniform(0, 40, (25, 2))
    assume(pdist(points).min() > 0.02)  # at one place heights can't differ
    heights = points @ rng.uniform(-0.1, 0.1, 2) + rng.normal(0, 0.4, len(points))
    corners = footprint_corners(
        rng.uniform(0, 40, 2), rng.uniform(6, 32), rng.uniform(6, 16), draw(st.floats(0, 360))
    )
    return ground_of(points, heights), corners


def test_level_ground_is_a_box() -> None:
    patch = clip(ground_of(grid(4, 3), np.full(12, 2.0)), footprint_corners((15, 10), 14, 12, 30))
    assert patch.area_ft2 == pytest.approx(168, rel=1e-12)
    np.testing.assert_allclose(cut_ft3(patch, [0.5, 2.0, 3.0]), [252, 0, 0], atol=1e-9)
    np.testing.assert_allclose(fill_ft3(patch, [0.5, 2.0, 3.0]), [0, 0, 168], atol=1e-9)


def test_tilted_plane_cut_at_its_own_level_is_a_wedge() -> None:
    # Slope s over length L, width W, level through the middle: cut = fill = W s L^2 / 8.
    points = grid(4, 3)
    patch = clip(ground_of(points, 0.05 * points[:, 0]), footprint_corners((15, 10), 14, 12))
    wedge = 12 * 0.05 * 14**2 / 8
    assert float(cut_ft3(patch, 0.75)) == pytest.approx(wedge, abs=1e-9)
    assert float(fill_ft3(patch, 0.75)) == pytest.approx(wedge, abs=1e-9)


def test_plane_tilted_both_ways_leaves_a_corner_pyramid() -> None:
    # Level t below the high corner of a plane with slopes a and b: pyramid t^3 / (6 a b).
    points = grid(4, 4)
    patch = clip(
        ground_of(points, 0.06 * points[:, 0] + 0.04 * points[:, 1]),
        [[5, 5], [25, 5], [25, 25], [5, 25]],
    )
    top, t = 0.1 * 25, 0.3
    assert float(cut_ft3(patch, top - t)) == pytest.approx(t**3 / (6 * 0.06 * 0.04), abs=1e-9)


def test_ridge_is_a_tent() -> None:
    # Ridge of height h along the middle of a footprint 2b wide and L long: L b h above its foot.
    points = [[0, 0], [0, 20], [10, 0], [10, 20], [20, 0], [20, 20]]
    ground = ground_of(points, [0, 0, 1.5, 1.5, 0, 0])
    patch = clip(ground, [[2, 3], [18, 3], [18, 17], [2, 17]])
    foot = 1.5 * 0.2
    assert float(cut_ft3(patch, foot)) == pytest.approx(14 * 8 * (1.5 - foot), abs=1e-9)
    z = 0.9  # part way up: similar triangle, half width 10 (1.5 - z) / 1.5
    assert float(cut_ft3(patch, z)) == pytest.approx(14 * 10 * (1.5 - z) ** 2 / 1.5, abs=1e-9)


def test_pit_is_a_pyramid_upside_down() -> None:
    # Square pit of half-width 10 and depth 2: base area x depth / 3, less by (z/d)^3 part way.
    points = [[0, 0], [20, 0], [20, 20], [0, 20], [10, 10]]
    patch = clip(ground_of(points, [0, 0, 0, 0, -2.0]), [[0, 0], [20, 0], [20, 20], [0, 20]])
    assert float(fill_ft3(patch, 0.0)) == pytest.approx(400 * 2 / 3, abs=1e-9)
    assert float(fill_ft3(patch, -1.5)) == pytest.approx(400 * 2 / 3 * 0.25**3, abs=1e-9)
    assert float(cut_ft3(patch, 0.0)) == pytest.approx(0, abs=1e-9)


def test_sloped_pit_agrees_with_the_prismoidal_formula() -> None:
    # Flat bottom 12 x 8 at depth 3, sides at 1:1 up to 18 x 14.
    inner, outer = footprint_corners((15, 15), 12, 8), footprint_corners((15, 15), 18, 14)
    points = np.vstack([inner, outer, footprint_corners((15, 15), 30, 30)])
    ground = ground_of(points, [-3.0] * 4 + [0.0] * 8)
    dug = float(fill_ft3(clip(ground, outer), 0.0))
    assert dug == pytest.approx(float(prismoidal_volume(12 * 8, 15 * 11, 18 * 14, 3)), abs=1e-9)


def test_grid_method_is_exact_on_a_surveyed_grid() -> None:
    depths = np.random.default_rng(6).uniform(0.1, 2.0, (4, 5))
    patch = clip(ground_of(grid(5, 4), depths.ravel()), [[0, 0], [40, 0], [40, 30], [0, 30]])
    assert float(cut_ft3(patch, 0.0)) == pytest.approx(borrow_pit_volume(100, depths), abs=1e-9)


def test_borrow_pit_leaves_out_cells_without_four_readings() -> None:
    depths = np.array([[1.0, 1.0, 2.0], [1.0, 1.0, 2.0], [3.0, 3.0, np.nan]])
    assert borrow_pit_volume(100, depths) == pytest.approx(100 * (1.0 + 1.5 + 2.0), abs=1e-9)


@given(cases())
@settings(max_examples=80, deadline=None)
def test_triangles_cover_the_footprint_exactly(case: tuple[Ground, np.ndarray]) -> None:
    ground, corners = case
    patch = clip(ground, corners)
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    whole = float(sides[0] * sides[1])
    assert patch.area_ft2 == pytest.approx(whole, rel=1e-11)
    assert 0 <= patch.guessed_ft2 <= whole * (1 + 1e-11)
    assert (patch.areas_ft2 > 0).all()
    assert (patch.low_ft <= patch.mid_ft).all()
    assert (patch.mid_ft <= patch.high_ft).all()


@given(cases(), st.floats(-1, 5))
@settings(max_examples=25, deadline=None)
def test_exact_volume_agrees_with_counting_many_small_cells(
    case: tuple[Ground, np.ndarray], z: float
) -> None:
    ground, corners = case
    n = 300
    u, v = np.meshgrid((np.arange(n) + 0.5) / n, (np.arange(n) + 0.5) / n)
    places = corners[0] + u.reshape(-1, 1) * (corners[1] - corners[0])
    places = places + v.reshape(-1, 1) * (corners[3] - corners[0])
    height, guessed = ground.at(places)
    patch = clip(ground, corners)
    # 90,000 midpoints: within 0.002 ft of mean depth where the ground is continuous, and one row
    # of cells along the outline where it steps to the fitted plane.
    slack = 2e-3 + 0.02 * (guessed.any() and not guessed.all()) * (1 + np.ptp(height))
    counted = np.maximum(height - z, 0).mean() * patch.area_ft2
    assert float(cut_ft3(patch, z)) == pytest.approx(counted, abs=slack * patch.area_ft2)


@given(cases(), st.floats(-1000, 1000), st.floats(-0.2, 1.2))
@settings(max_examples=50, deadline=None)
def test_moving_the_datum_changes_no_volume(
    case: tuple[Ground, np.ndarray], datum: float, share: float
) -> None:
    ground, corners = case
    patch = clip(ground, corners)
    z = patch.lowest_ft + share * (patch.highest_ft - patch.lowest_ft)
    moved = clip(
        fit_ground(ground.points_ft + ground.centre_ft, ground.heights_ft + datum, ground.labels),
        corners,
    )
    # 512 ft2 times heights near 1,000 carried to 1e-13: a few 1e-10 ft3.
    assert float(cut_ft3(moved, z + datum)) == pytest.approx(float(cut_ft3(patch, z)), abs=2e-9)
    assert float(fill_ft3(moved, z + datum)) == pytest.approx(float(fill_ft3(patch, z)), abs=2e-9)


@given(cases(), st.floats(0, 360), st.floats(-0.2, 1.2))
@settings(max_examples=50, deadline=None)
def test_rotating_survey_and_footprint_together_changes_no_volume(
    case: tuple[Ground, np.ndarray], deg: float, share: float
) -> None:
    ground, corners = case
    t = np.deg2rad(deg)
    turn = np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
    patch = clip(ground, corners)
    z = patch.lowest_ft + share * (patch.highest_ft - patch.lowest_ft)
    turned = clip(
        fit_ground((ground.points_ft + ground.centre_ft) @ turn, ground.heights_ft, ground.labels),
        corners @ turn,
    )
    assert float(cut_ft3(turned, z)) == pytest.approx(float(cut_ft3(patch, z)), abs=1e-9)
    assert float(fill_ft3(turned, z)) == pytest.approx(float(fill_ft3(patch, z)), abs=1e-9)


@given(cases(), st.floats(-3, 8))
@settings(max_examples=50, deadline=None)
def test_cut_less_fill_is_area_times_mean_depth(case: tuple[Ground, np.ndarray], z: float) -> None:
    patch = clip(*case)
    net = float(cut_ft3(patch, z) - fill_ft3(patch, z))
    assert net == pytest.approx(patch.area_ft2 * (mean_height_ft(patch) - z), abs=1e-9)


@given(cases(), st.floats(0.5, 1.3), st.floats(0, 0.5), st.floats(0, 0.5))
@settings(max_examples=60, deadline=None)
def test_balanced_height_really_balances(
    case: tuple[Ground, np.ndarray], factor: float, strip_ft: float, waste: float
) -> None:
    patch = clip(*case)
    z = balanced_height(patch, factor, strip_ft=strip_ft, waste_share=waste)
    stripped = patch.lowered(strip_ft)
    made = factor * (1 - waste) * float(cut_ft3(stripped, z))
    assert made == pytest.approx(float(fill_ft3(stripped, z)), abs=1e-9)
    assert made > 0


def test_soil_that_shrinks_lowers_the_balanced_height() -> None:
    points = grid(4, 3)
    patch = clip(ground_of(points, 0.05 * points[:, 0]), footprint_corners((15, 10), 14, 12))
    assert balanced_height(patch, 1.0) == pytest.approx(0.75, abs=1e-9)
    # On a plane with k = compacted per bank, fill / cut = (b / a)^2 = k for fill width b, cut a.
    share = np.sqrt(0.9) / (1 + np.sqrt(0.9))
    assert balanced_height(patch, 0.9) == pytest.approx(0.05 * (8 + 14 * share), abs=1e-9)


def test_level_ground_is_balanced_as_it_lies() -> None:
    patch = Patch(np.array([50.0]), *(np.array([4.0]) for _ in range(3)))
    assert balanced_height(patch, 0.9, strip_ft=0.25) == 3.75


@pytest.mark.parametrize("corners", [[[0, 0], [5, 0], [10, 0]], [[0, 0], [9, 0], [3, 3], [0, 9]]])
def test_a_footprint_that_is_none_is_refused(corners: list[list[float]]) -> None:
    with pytest.raises(InputError):
        clip(ground_of(grid(2, 2), np.zeros(4)), corners)


def test_a_soil_that_vanishes_is_refused() -> None:
    patch = Patch(np.array([50.0]), *(np.array([4.0]) for _ in range(3)))
    with pytest.raises(InputError):
        balanced_height(patch, 0.0)
