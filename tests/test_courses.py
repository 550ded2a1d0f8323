"""The timber frame: courses, steps, trench and pieces."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from footprints import footprint_corners
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.errors import InputError, SolveError
from estimator.solve.courses import (
    Frame,
    FrameSpec,
    courses_for_drop,
    profile,
    profiles,
    side_lines,
    solve_frame,
    string_height_ft,
    trench_below_string_ft,
)
from estimator.solve.surface import Ground, fit_ground

INCH = 1 / 12
TIMBER = FrameSpec(
    timber_depth_ft=5.5 * INCH, timber_width_ft=5.5 * INCH, bedding_ft=2 * INCH, run_step_ft=0.0
)
CORNERS = [[0, 0], [14, 0], [14, 12], [0, 12]]


def ground_of(points: object, heights: object) -> Ground:
    return fit_ground(points, heights, [f"Survey row {i}" for i in range(len(np.asarray(heights)))])


def falling(inches: float) -> Ground:
    """Falls evenly along the 14 ft side."""
    points = np.array([[-7, -6], [21, -6], [21, 18], [-7, 18], [7, 6]], dtype=float)
    return ground_of(points, -inches * INCH * points[:, 0] / 14)


@st.composite
def frames(draw: st.DrawFn) -> tuple[Ground, np.ndarray, FrameSpec]:
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    x, y = np.meshgrid(np.arange(5) * 9.0, np.arange(4) * 9.0)
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    heights = points @ rng.uniform(-0.08, 0.08, 2) + rng.normal(0, 0.25, len(points))
    corners = footprint_corners(
        rng.uniform([8, 8], [28, 19]),
        rng.uniform(6, 32),
        rng.uniform(6, 16),
        draw(st.floats(0, 360)),
    )
    spec = replace(
        TIMBER,
        least_embedment_ft=draw(st.sampled_from([0.0, 1 * INCH, 0.25])),
        strip_ft=draw(st.sampled_from([0.0, 4 * INCH])),
        reckon=draw(st.sampled_from(["stripped", "original"])),
        run_step_ft=draw(st.sampled_from([0.0, 1.0, 2.0])),
    )
    return ground_of(points, heights), corners, spec


def solved(case: tuple[Ground, np.ndarray, FrameSpec]) -> Frame:
    ground, corners, spec = case
    string = string_height_ft(ground, corners, strip_ft=spec.reckoned_strip_ft)
    return solve_frame(ground, corners, string, spec)


@pytest.mark.parametrize(
    ("fall_in", "courses"), [(0, 1), (3, 1), (5.5, 1), (5.51, 2), (6.5, 2), (11, 2), (11.1, 3)]
)
def test_fall_up_to_one_timber_needs_one_course_and_more_needs_a_second(
    fall_in: float, courses: int
) -> None:
    # Common practice, no source: string at the high point, bottom never above the ground.
    ground = falling(fall_in)
    frame = solve_frame(ground, CORNERS, string_height_ft(ground, CORNERS), TIMBER)
    assert frame.courses_by_side == (courses, courses, courses, 1)
    assert int(courses_for_drop(fall_in * INCH, 5.5 * INCH)) == courses


def test_second_course_begins_where_the_fall_exceeds_the_timber() -> None:
    ground = falling(6.5)
    frame = solve_frame(ground, CORNERS, string_height_ft(ground, CORNERS), TIMBER)
    side0 = [r for r in frame.runs if r.side == 0 and r.course == 2]
    # 5.5 in of 6.5 in over 14 ft is at 11.846 ft; two feet at least, so from there to the corner.
    assert len(side0) == 1
    assert side0[0].start_ft == pytest.approx(14 * 5.5 / 6.5, abs=1e-9)
    assert side0[0].end_ft == 14
    whole = solve_frame(
        ground, CORNERS, string_height_ft(ground, CORNERS), replace(TIMBER, run_step_ft=1.0)
    )
    assert [r.start_ft for r in whole.runs if r.side == 0 and r.course == 2] == [11.0]


def test_trench_below_the_string() -> None:
    # One 5.5 in course on 2 in of bedding: 7.5 in; a second course: 13 in.
    np.testing.assert_allclose(
        12 * trench_below_string_ft([1, 2, 3], 5.5 * INCH, 2 * INCH), [7.5, 13.0, 18.5], atol=1e-12
    )


def test_stations_give_the_trench_below_string_and_ground_apart() -> None:
    ground = falling(6.5)
    frame = solve_frame(ground, CORNERS, string_height_ft(ground, CORNERS), TIMBER)
    side0 = {s.at_ft: s for s in frame.stations(7.0) if s.side == 0}
    assert sorted(side0) == pytest.approx([0, 7, 14 * 5.5 / 6.5, 14], abs=1e-8)
    assert 12 * side0[0].trench_below_string_ft == pytest.approx(7.5, abs=1e-9)
    assert 12 * side0[0].trench_below_ground_ft == pytest.approx(7.5, abs=1e-9)
    assert 12 * side0[7].trench_below_ground_ft == pytest.approx(7.5 - 3.25, abs=1e-9)
    assert 12 * side0[14].trench_below_string_ft == pytest.approx(13.0, abs=1e-9)
    assert 12 * side0[14].trench_below_ground_ft == pytest.approx(6.5, abs=1e-9)
    assert 12 * side0[14].exposed_ft == pytest.approx(6.5, abs=1e-9)
    assert 12 * frame.exposed_ft == pytest.approx(6.5, abs=1e-9)


def test_a_hump_in_the_middle_of_a_side_sets_the_string() -> None:
    points = [[0, 0], [7, 0], [14, 0], [14, 12], [7, 12], [0, 12]]
    ground = ground_of(points, [0, 3 * INCH, 0, 0, 0, 0])
    assert string_height_ft(ground, CORNERS) == pytest.approx(3 * INCH, abs=1e-12)
    assert string_height_ft(ground, CORNERS, strip_ft=0.25, above_high_ft=0.5) == pytest.approx(0.5)


def test_a_hump_between_the_corners_splits_the_lower_course() -> None:
    points = [[0, 0], [16, 0], [32, 0], [32, 12], [16, 12], [0, 12]]
    ground = ground_of(points, [-8 * INCH, 0, -8 * INCH, -8 * INCH, 0, -8 * INCH])
    frame = solve_frame(ground, [[0, 0], [32, 0], [32, 12], [0, 12]], 0.0, TIMBER)
    lower = [(r.start_ft, r.end_ft) for r in frame.runs if r.side == 0 and r.course == 2]
    np.testing.assert_allclose(lower, [(0, 5), (27, 32)], atol=1e-9)


def test_a_dip_narrower_than_a_station_still_gets_its_course() -> None:
    points = [[0, 0], [7, 0], [7.5, 0], [8, 0], [14, 0], [14, 12], [0, 12]]
    ground = ground_of(points, [0, 0, -7 * INCH, 0, 0, 0, 0])
    frame = solve_frame(ground, CORNERS, 0.0, TIMBER)
    lower = [r for r in frame.runs if r.side == 0 and r.course == 2]
    assert len(lower) == 1
    assert lower[0].start_ft < 7.5 < lower[0].end_ft
    assert lower[0].end_ft - lower[0].start_ft >= TIMBER.least_piece_ft


def test_reckoning_from_the_stripped_ground_asks_for_more_at_the_same_string() -> None:
    ground = falling(4.0)
    spec = replace(TIMBER, strip_ft=4 * INCH)
    stripped = solve_frame(ground, CORNERS, 0.0, spec)
    original = solve_frame(ground, CORNERS, 0.0, replace(spec, reckon="original"))
    assert max(original.courses_by_side) == 1
    assert max(stripped.courses_by_side) == 2
    station = stripped.stations(14.0)[0]
    assert station.stripped_ft == pytest.approx(station.ground_ft - 4 * INCH, abs=1e-12)
    below = station.trench_below_ground_ft - station.trench_below_stripped_ft
    assert below == pytest.approx(4 * INCH, abs=1e-12)


def test_profile_breaks_at_every_triangle_side() -> None:
    points = [[0, 0], [10, 0], [20, 0], [0, 10], [10, 10], [20, 10]]
    line = profile(ground_of(points, [0, 1, 0, 0, 1, 0]), [0, 5], [20, 5])
    np.testing.assert_allclose(line.at([0, 5, 10, 15, 20]), [0, 0.5, 1, 0.5, 0], atol=1e-12)
    assert line.highest_ft == pytest.approx(1)
    np.testing.assert_allclose(line.below(0.25), [(0, 2.5), (17.5, 20)], atol=1e-9)


def test_profile_marks_what_lies_beyond_the_readings() -> None:
    line = profile(ground_of([[0, 0], [10, 0], [0, 10], [10, 10]], [0, 1, 0, 1]), [5, 5], [20, 5])
    assert line.guessed.tolist()[-1] is True
    assert line.start_ft[line.guessed].min() == pytest.approx(5, abs=1e-9)
    np.testing.assert_allclose(line.at([0, 5, 15]), [0.5, 1, 2], atol=1e-9)


def test_corners_are_lapped_alternately() -> None:
    ground = falling(0.0)
    frame = solve_frame(ground, CORNERS, 8 * INCH, replace(TIMBER, stock_lengths_ft=(16.0,)))
    w = TIMBER.timber_width_ft
    lengths = {(p.side, p.course): p.length_ft for p in frame.pieces}
    assert len(frame.pieces) == 8
    assert [lengths[s, 1] for s in range(4)] == pytest.approx([14, 12 - 2 * w, 14, 12 - 2 * w])
    assert [lengths[s, 2] for s in range(4)] == pytest.approx([14 - 2 * w, 12, 14 - 2 * w, 12])


def test_a_frame_too_deep_says_what_to_do() -> None:
    with pytest.raises(SolveError, match="courses"):
        solve_frame(falling(0.0), CORNERS, 12.0, replace(TIMBER, most_courses=20))


def test_stock_too_short_for_any_legal_joint_says_what_to_do() -> None:
    with pytest.raises(SolveError, match="joints"):
        solve_frame(falling(0.0), CORNERS, 8 * INCH, replace(TIMBER, stock_lengths_ft=(1.5,)))


@pytest.mark.parametrize(
    "change",
    [{"timber_depth_ft": 0.0}, {"bedding_ft": -0.1}, {"stock_lengths_ft": ()}],
)
def test_a_frame_that_makes_no_sense_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(InputError):
        replace(TIMBER, **change)  # type: ignore[arg-type]


@given(frames())
@settings(max_examples=60, deadline=None)
def test_no_timber_ever_has_air_under_it(case: tuple[Ground, np.ndarray, FrameSpec]) -> None:
    ground, corners, spec = case
    frame = solved(case)
    for side in range(4):
        a, b = corners[side], corners[(side + 1) % 4]
        length = float(np.linalg.norm(b - a))
        s = np.linspace(0, length, 400)
        courses = frame.courses_at(side, s)
        bottom = frame.string_ft - courses * spec.timber_depth_ft
        inward = (corners[(side + 3) % 4] - a) / np.linalg.norm(corners[(side + 3) % 4] - a)
        for shift in (0.0, spec.timber_width_ft):
            places = a + s[:, None] * (b - a) / length + shift * inward
            z = ground.at(places)[0] - spec.reckoned_strip_ft
            assert (bottom <= z - spec.least_embedment_ft + 1e-7).all()


@given(frames())
@settings(max_examples=60, deadline=None)
def test_pieces_fill_every_run_from_stock_with_staggered_joints(
    case: tuple[Ground, np.ndarray, FrameSpec],
) -> None:
    corners, spec = case[1], case[2]
    frame = solved(case)
    w = spec.timber_width_ft
    joints: dict[tuple[int, int], list[float]] = {}
    for run in frame.runs:
        inside = [
            p
            for p in frame.pieces
            if (p.side, p.course) == (run.side, run.course)
            and run.start_ft - 1e-9 <= p.start_ft < run.end_ft
        ]
        ends = [(p.start_ft, p.start_ft + p.length_ft) for p in inside]
        for (_, end), (start, _) in pairwise(ends):
            assert end == pytest.approx(start, abs=1e-9)
        gaps = (ends[0][0] - run.start_ft, run.end_ft - ends[-1][1])
        assert all(min(abs(g), abs(g - w)) < 1e-9 for g in gaps)
        joints.setdefault((run.side, run.course), []).extend(e for _, e in ends[:-1])
    assert all(p.length_ft <= p.stock_ft + 1e-9 for p in frame.pieces)
    assert {p.stock_ft for p in frame.pieces} <= set(spec.stock_lengths_ft)
    for (side, course), places in joints.items():
        for joint in places:
            for above in joints.get((side, course - 1), []):
                assert abs(joint - above) >= spec.stagger_ft - 1e-9
    # Every corner square is filled once in every course that reaches it: timber volume adds up.
    sides = [float(np.linalg.norm(corners[(i + 1) % 4] - corners[i])) for i in range(4)]
    for course in range(1, max(frame.courses_by_side) + 1):
        run_ft = sum(r.end_ft - r.start_ft for r in frame.runs if r.course == course)
        shared = sum(
            any(r.side == i and r.course == course and r.start_ft < 1e-9 for r in frame.runs)
            and any(
                r.side == (i - 1) % 4 and r.course == course and r.end_ft > sides[r.side] - 1e-9
                for r in frame.runs
            )
            for i in range(4)
        )
        got = sum(p.length_ft for p in frame.pieces if p.course == course)
        assert got == pytest.approx(run_ft - shared * w, abs=1e-8)


@given(frames())
@settings(max_examples=40, deadline=None)
def test_more_courses_never_reduce_the_trench_bottom(
    case: tuple[Ground, np.ndarray, FrameSpec],
) -> None:
    ground, corners, spec = case
    frame = solved(case)
    stations = frame.stations(2.0)
    for a in stations:
        for b in stations:
            if a.courses > b.courses:
                assert a.trench_below_string_ft > b.trench_below_string_ft
        assert a.trench_below_ground_ft >= spec.bedding_ft + spec.least_embedment_ft - 1e-7
    # A run made up to the shortest piece reaches past where it is needed, to one side or the other.
    bare = replace(spec, run_step_ft=0.0, least_piece_ft=1e-6)
    more = replace(bare, least_embedment_ft=spec.least_embedment_ft + 0.3)
    deeper = solve_frame(ground, corners, frame.string_ft, more)
    exact = solve_frame(ground, corners, frame.string_ft, bare)
    for side in range(4):
        s = np.linspace(0, exact.profiles[side].length_ft, 100)
        assert (deeper.courses_at(side, s) >= exact.courses_at(side, s)).all()


@given(frames(), st.floats(-500, 500), st.floats(0, 360))
@settings(max_examples=30, deadline=None)
def test_moving_the_datum_and_turning_the_lot_change_no_course(
    case: tuple[Ground, np.ndarray, FrameSpec], datum: float, deg: float
) -> None:
    ground, corners, spec = case
    t = np.deg2rad(deg)
    turn = np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
    moved = fit_ground(
        (ground.points_ft + ground.centre_ft) @ turn, ground.heights_ft + datum, ground.labels
    )
    spec = replace(spec, run_step_ft=0.0)
    first = solved((ground, corners, spec))
    second = solved((moved, corners @ turn, spec))
    assert second.string_ft - datum == pytest.approx(first.string_ft, abs=1e-9)
    assert second.courses_by_side == first.courses_by_side
    got = [(r.side, r.course, r.start_ft, r.end_ft) for r in second.runs]
    np.testing.assert_allclose(
        got, [(r.side, r.course, r.start_ft, r.end_ft) for r in first.runs], atol=1e-7
    )


@given(frames())
@settings(max_examples=20, deadline=None)
def test_the_ground_along_several_lines_is_that_along_each(
    given_frame: tuple[Ground, np.ndarray, FrameSpec],
) -> None:
    ground, corners, _ = given_frame
    lines = side_lines(corners)
    for together, (start, end) in zip(profiles(ground, lines), lines, strict=True):
        alone = profile(ground, start, end)
        for name in ("start_ft", "end_ft", "start_z_ft", "end_z_ft", "guessed"):
            np.testing.assert_array_equal(getattr(together, name), getattr(alone, name))
        places = start + np.outer(np.linspace(0.01, 0.99, 30), end - start)
        along = np.linspace(0.01, 0.99, 30) * alone.length_ft
        inside = ~together.guessed_at(along)
        heights = ground.at(places)[0]
        np.testing.assert_allclose(together.at(along)[inside], heights[inside], atol=1e-6)
