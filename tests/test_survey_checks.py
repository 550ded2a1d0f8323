"""The survey's quick form, and the readings it tells to check."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, on_ground, one_option, solved, solved_whole

from estimator.engine import Model
from estimator.errors import InputError, SurveyError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import OPEN
from estimator.model.solvers.readings import READINGS, solve_readings
from estimator.solve.no_ground import beyond_reach
from estimator.typed_job import default_cells, read_inputs, told_where_typed

GRID = tuple((x, y, 100 - 0.03 * x - 0.02 * y) for x in range(0, 50, 10) for y in range(0, 50, 10))


def quick(job: TypedJob, lines: list[dict[str, Any]], drops: list[dict[str, Any]]) -> TypedJob:
    """The job with lines of a long level and a tape besides its readings."""
    cells: dict[str, dict[int, Any]] = {}
    for rows in (lines, drops):
        for row, entries in enumerate(rows):
            for key, value in entries.items():
                cells.setdefault(key, {})[row] = value
    return changed(job, **cells)


def drop(name: str, line: str, length_ft: float, inches: float) -> dict[str, Any]:
    return {"drop_name": name, "drop_line": line, "drop_length_ft": length_ft, "drop_in": inches}


def line(name: str, x: float, y: float, height: float, deg: float = 0) -> dict[str, Any]:
    return {
        "line_name": name,
        "line_x_ft": x,
        "line_y_ft": y,
        "line_height_ft": height,
        "line_deg": deg,
    }


def test_three_inches_over_seven_feet_and_two_and_a_half_more_are_five_and_a_half() -> None:
    # Common practice, no source.
    job = quick(demo(), [line("A", 40, 0, 100)], [drop("A1", "A", 7, 3), drop("A2", "A", 7, 2.5)])
    values = solved(job)
    assert block(values, "drop_at_ft")[:2] == pytest.approx([7, 14], abs=1e-12)
    assert block(values, "drop_sum_in")[:2] == pytest.approx([3, 5.5], abs=1e-12)
    assert block(values, "drop_height_ft")[1] == pytest.approx(100 - 5.5 / 12, abs=1e-12)
    assert block(values, "drop_x_ft")[1] == pytest.approx(54, abs=1e-12)


@pytest.mark.parametrize("level_ft", [4, 6.5, 10])
def test_a_step_without_a_length_reaches_as_far_as_the_level(level_ft: float) -> None:
    """Two whole lengths and 3 ft more: statements of the sum, by hand."""
    steps = [drop("A1", "A", 0, 3), drop("A2", "A", 3, 1), drop("A3", "A", 0, 2)]
    for step in (steps[0], steps[2]):
        del step["drop_length_ft"]
    job = quick(changed(demo(), long_level_ft=level_ft), [line("A", 40, 0, 100)], steps)
    values = solved(job)
    ends = [level_ft, level_ft + 3, 2 * level_ft + 3]
    assert block(values, "drop_at_ft")[:3] == pytest.approx(ends, abs=1e-12)
    assert block(values, "drop_x_ft")[:3] == pytest.approx([40 + e for e in ends], abs=1e-12)
    assert block(values, "drop_height_ft")[2] == pytest.approx(99.5, abs=1e-12)
    assert not np.any(block(values, "drop_reach_ft")[3:])


def test_the_long_level_is_one_that_a_builder_has() -> None:
    feet, metres = (default_cells(m) for m in (build_model(), metric(build_model())))
    assert (feet["long_level_ft", 0], metres["long_level_m", 0]) == (7, 2)


def test_every_line_has_its_own_sum_whatever_order_its_steps_are_typed_in() -> None:
    lines = [line("A", 40, 0, 100), line("B", 40, 0, 100, 90)]
    drops = [
        drop("B1", "B", 6, -1),
        drop("A1", "A", 7, 3),
        drop("B2", "B", 4, 2),
        drop("A2", "A", 5, 1),
    ]
    values = solved(quick(demo(), lines, drops))
    assert block(values, "drop_at_ft")[:4] == pytest.approx([6, 7, 10, 12], abs=1e-12)
    assert block(values, "drop_sum_in")[:4] == pytest.approx([-1, 3, 1, 4], abs=1e-12)
    # Line B runs along y.
    assert block(values, "drop_x_ft")[:4] == pytest.approx([40, 47, 40, 52], abs=1e-9)
    assert block(values, "drop_y_ft")[:4] == pytest.approx([6, 0, 10, 0], abs=1e-9)


def test_a_line_that_starts_at_a_reading_takes_its_place_and_height() -> None:
    start = {"line_name": "A", "line_at": "P4"}
    values = solved(quick(demo(), [start], [drop("A1", "A", 7, 6)]))
    height = block(values, "point_height_ft")[3]
    assert block(values, "line_start_x_ft")[0] == 29
    assert block(values, "drop_height_ft")[0] == pytest.approx(height - 0.5, abs=1e-12)
    assert block(values, "drop_x_ft")[0] == pytest.approx(36, abs=1e-12)


def test_level_and_tape_alone_give_the_same_ground_as_heights_at_the_same_spots() -> None:
    # Three strings 14 ft apart on a plane that falls 3 in in 7 ft along x and 1 in a foot along y.
    spots = [(x, y, 100 - x * 3 / 84 - y / 12) for y in (0, 14, 28) for x in (0, 7, 14, 21, 28)]
    lines = [line(f"L{y}", 0, y, 100 - y / 12) for y in (0, 14, 28)]
    drops = [drop(f"L{y}-{n}", f"L{y}", 7, 3) for y in (0, 14, 28) for n in range(4)]
    job = one_option(OPEN)
    typed = solved(on_ground(job, tuple(spots)))
    taped = solved(quick(on_ground(job, ()), lines, drops))
    for key in ("ground_high_ft", "ground_low_ft", "ground_mean_ft", "cut_yd3", "fill_yd3"):
        assert at(taped, key) == pytest.approx(at(typed, key), abs=1e-9)
    assert at(taped, "guessed_share") == pytest.approx(0, abs=1e-12)


def test_a_step_of_a_line_that_is_not_there_is_refused_by_name() -> None:
    with pytest.raises(InputError, match=r'Line: "B" is not known'):
        read_inputs(build_model(), quick(demo(), [line("A", 0, 0, 9)], [drop("1", "B", 7, 3)]))


def test_a_line_at_odds_with_a_reading_at_the_same_spot_names_both() -> None:
    with pytest.raises(SurveyError, match=r"P4.*A1"):
        solved_whole(quick(demo(), [line("A", 22, 2.0, 99)], [drop("A1", "A", 7, 24)]))


@pytest.mark.parametrize("reading", [-9999.0, 230.0])
def test_a_reading_that_cannot_be_is_refused_by_name_and_line(reading: float) -> None:
    points = tuple((x, y, reading if n == 6 else z) for n, (x, y, z) in enumerate(GRID))
    with pytest.raises(SurveyError, match=r"Survey point Q7 \(line 7\): its height"):
        solved_whole(on_ground(one_option(OPEN), points))


@pytest.mark.parametrize(
    ("heights", "wrong"),
    [
        ({12: 130.0}, {12}),  # a reading of another lot, among readings near and far
        ({0: 130.0}, {0}),
        ({3: -9999.0, 4: -9999.0, 20: -9999.0}, {3, 4, 20}),  # the mark of no data, thrice
        (dict.fromkeys(range(0, 25, 3), 50 / 0.3048), set(range(0, 25, 3))),  # feet among metres
        (dict.fromkeys(range(0, 25, 3), 600.0), set(range(0, 25, 3))),  # inches among feet
    ],
)
def test_a_reading_that_no_ground_reaches_is_told_and_no_good_one_in_its_place(
    heights: dict[int, float], wrong: set[int]
) -> None:
    places = [(15.0 * (n % 5), 15.0 * (n // 5)) for n in range(25)]
    z = [heights.get(n, 50 - 0.02 * x) for n, (x, _) in enumerate(places)]
    assert beyond_reach(places, z) in wrong


@pytest.mark.parametrize("seed", range(20))
def test_steep_lots_and_retaining_walls_are_ground_all_the_same(seed: int) -> None:
    rng = np.random.default_rng(seed)
    places = rng.uniform(0, rng.choice([30, 60, 200]), (rng.integers(4, 40), 2))
    wall = np.where(places[:, 0] > 15, rng.uniform(0, 12), 0)
    z = 300 + places @ rng.uniform(-0.5, 0.5, 2) + wall + rng.normal(0, 0.3, len(places))
    assert beyond_reach(places, z) is None


def test_a_reading_that_cannot_be_is_told_by_where_it_was_typed() -> None:
    """By the cell or the line that a job names, in the model's own measure; by its key not."""
    points = tuple((x, y, 230.0 if n == 6 else z) for n, (x, y, z) in enumerate(GRID))
    job = on_ground(one_option(OPEN), points)
    model = build_model()

    def told(typed: TypedJob, of: Model) -> str:
        with pytest.raises(SurveyError) as caught, told_where_typed(of, typed):
            evaluate(model, read_inputs(model, job))
        return str(caught.value)

    listed = TypedJob(job.cells, lambda key, row: f"yard.csv, {key}, line {row + 2}")
    begins = "Survey point Q7 (yard.csv, point_reading_ft, line 8): its height"
    assert told(listed, model).startswith(begins)
    assert "point_reading_m, line 8)" in told(listed, metric(model))
    nowhere = TypedJob(job.cells, lambda key, _: key)
    assert told(nowhere, model).startswith("Survey point Q7 (line 7): its height")


def test_readings_at_odds_are_named_with_their_lines() -> None:
    points = (*GRID, (GRID[2][0], GRID[2][1], 101.0))
    last = len(points)
    with pytest.raises(SurveyError) as told:
        solved_whole(on_ground(one_option(OPEN), points))
    for number in (3, last):
        assert f"Survey point Q{number} (line {number})" in str(told.value)


def readings_of(points: tuple[tuple[float, float, float], ...]) -> dict[str, Any]:
    """What the solver of the survey makes of points P1, P2, ..."""
    values: dict[str, Any] = {key: np.zeros((1, 1)) for key in READINGS.reads}
    values["survey_method"] = np.array([["heights"]])
    for key in ("point_name", "quick_name", "line_name", "drop_name", "bench_name"):
        values[key] = np.array([[""]])
    values["point_name"] = np.array([[f"P{n}" for n in range(1, len(points) + 1)]])
    for i, key in enumerate(("point_x_ft", "point_y_ft", "point_height_ft")):
        values[key] = np.array([[p[i] for p in points]])
    values["point_reading_ft"] = values["point_height_ft"]
    return dict(solve_readings(values))


def with_error(
    place: int, feet: float, datum: float = 0.0
) -> tuple[tuple[float, float, float], ...]:
    return tuple((x, y, z + datum + feet * (i == place)) for i, (x, y, z) in enumerate(GRID))


def test_a_reading_a_foot_off_is_named_on_checks_and_not_smoothed_away() -> None:
    job = on_ground(one_option(OPEN), with_error(12, 1.0))
    values = solved(job)
    assert at(values, "readings_text") == at(values, "check_readings")
    assert at(values, "readings_text") == "LOOK: read again: point Q13"
    # On a plane its neighbours say exactly how far it is off.
    assert block(values, "suspect_off_in")[0] == pytest.approx(12, abs=1e-9)
    assert (20.0, 20.0, 100 - 1.0 + 1.0) in zip(
        block(values, "point_x_ft"),
        block(values, "point_y_ft"),
        np.round(block(values, "point_height_ft"), 9),
        strict=True,
    )


def test_what_a_reading_looks_like_stands_beside_it() -> None:
    """A foot too much on a plane; and 96.4 written for 94.6 among heights near 94.6."""
    told = readings_of(with_error(12, 1.0))["suspect_to_do"][0]
    assert told.tolist() == ["read it again: looks like a slip of {1 ft|1 m}", *[""] * 5]
    swapped = tuple((x, y, 96.4 if i == 12 else z - 4.4) for i, (x, y, z) in enumerate(GRID))
    assert [swapped[i][2] for i in (11, 13)] == pytest.approx([94.8, 94.4])
    assert readings_of(swapped)["suspect_to_do"][0, 0] == (
        "read it again: looks like 96.40 for 94.60"
    )


def test_sound_readings_are_not_accused() -> None:
    assert at(solved(on_ground(one_option(OPEN), GRID)), "check_readings") == "ok"
    assert at(solved(demo()), "readings_text") == "ok"


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 24), st.sampled_from([-1.5, -0.6, 0.6, 2.0]), st.floats(-2000, 2000))
def test_moving_the_datum_changes_no_name_and_no_residual(
    place: int, feet: float, datum: float
) -> None:
    here, there = readings_of(with_error(place, feet)), readings_of(with_error(place, feet, datum))
    assert here["suspect_name"].tolist() == there["suspect_name"].tolist()
    assert here["suspect_name"][0, 0] == f"point P{place + 1}"
    assert there["suspect_off_in"] == pytest.approx(here["suspect_off_in"], abs=1e-6)
    assert np.sign(here["suspect_off_in"][0, 0]) == np.sign(feet)


def test_no_survey_yet_is_no_error() -> None:
    found = readings_of(())
    assert not found["suspect_name"].any() or set(found["suspect_name"].ravel()) == {""}
    assert found["contour_step_ft"] == 0


def ended(name: str, at: str, to: str) -> dict[str, Any]:
    """A line from one reading to another."""
    return {"line_name": name, "line_at": at, "line_to": to}


def test_a_line_that_ends_at_a_reading_shares_its_closing_error_out_over_its_length() -> None:
    """30 ft by tape from Q1 to Q16, 30 ft east of it and 0.9 ft lower; the drops come to 12 in."""
    job = on_ground(one_option(OPEN), GRID)
    steps = [drop(f"A{n}", "A", 10, inches) for n, inches in ((1, 4), (2, 3), (3, 5))]
    values = solved(quick(job, [ended("A", "Q1", "Q16")], steps))
    assert block(values, "drop_x_ft")[:3] == pytest.approx([10, 20, 30], abs=1e-12)
    assert block(values, "line_off_in")[0] == pytest.approx(-12 + 0.9 * 12, abs=1e-9)
    told = [100 - (s - 1.2 * k / 3) / 12 for k, s in ((1, 4), (2, 7), (3, 12))]
    assert block(values, "drop_height_ft")[:3] == pytest.approx(told, abs=1e-9)
    assert at(values, "closing_at") == "line A at point Q16"
    assert at(values, "closing_ft") == pytest.approx(0.1, abs=1e-9)
    assert at(values, "closing_allowed_ft") == pytest.approx(0.1, abs=1e-12)  # root of 1 + 3


def test_a_line_that_misses_its_end_by_more_than_is_allowed_is_told() -> None:
    job = on_ground(one_option(OPEN), GRID)
    steps = [drop(f"A{n}", "A", 10, 5) for n in (1, 2, 3)]
    values = solved(quick(job, [ended("A", "Q1", "Q16")], steps))
    assert at(values, "check_readings") == (
        "LOOK: line A at point Q16 closes 0.35 ft off, allowed are 0.10 ft: measure again"
    )


RODS = {"survey_method": "rod readings", "setup_instrument_ft": {0: 104}}
SECOND = {"setup_name": {0: "S1", 1: "S2"}, "point_setup": {3: "S2"}}


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        (RODS | SECOND, r"set-up S2 \(line 2\): it is not tied"),
        (RODS | SECOND | {"setup_foresight_ft": {1: 4}}, r"set-up S2 \(line 2\): it is not tied"),
        (
            RODS | SECOND | {"setup_instrument_ft": {0: 104, 1: 105}},
            r"an instrument height is typed",
        ),
        (
            RODS | {"setup_name": "S1", "setup_foresight_ft": 4},
            r"set-up S1 \(line 1\): it is the first",
        ),
        (
            ended("A", "Q1", "Q1") | drop("A1", "A", 7, 1),
            r"line A \(line 1\): it ends at the reading",
        ),
        (
            ended("A", "Q1", "Q16") | drop("A1", "A", 7, 1),
            r"come to 7.0 ft, and point Q16 lies 30.0 ft",
        ),
        ({"line_name": "A", "line_x_ft": 3} | drop("A1", "A", 7, 1), r"starts at no reading"),
        (
            {"bench_reading_ft": 9000},
            r"bench mark \(line 1\): its height, 9000.0 ft, is out of reach",
        ),
        ({"bench_name": "the door sill"}, r"bench mark \(line 1\): it is named, and no reading"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_name_and_line(cells: dict[str, Any], said: str) -> None:
    job = on_ground(one_option(OPEN), GRID)
    bare = changed(job, setup_name=dict.fromkeys(range(6)))
    with pytest.raises(SurveyError, match=f"Survey .*{said}") as told:
        solved_whole(changed(bare, **cells))
    assert told.value.cure
    assert told.value.cells


def test_a_set_up_of_a_list_without_any_is_told_so() -> None:
    job = changed(on_ground(one_option(OPEN), GRID), setup_name=dict.fromkeys(range(6)))
    with pytest.raises(
        InputError, match=r'Set-up: "S9" is not known, and there is none yet\. Type it in'
    ):
        read_inputs(build_model(), changed(job, point_setup={3: "S9"}))


@pytest.mark.parametrize(("off_ft", "told"), [(0.06, False), (0.2, True)])
def test_a_spot_read_again_from_the_next_set_up_tells_the_closing_error(
    off_ft: float, told: bool
) -> None:
    """One set-up farther 0.05 ft times the root of 2 are allowed; within that the mean counts."""
    rods = {n: 104 - z for n, (_, _, z) in enumerate(GRID)}
    job = changed(
        on_ground(one_option(OPEN), (*GRID, (*GRID[7][:2], 0.0))),
        survey_method="rod readings",
        point_reading_ft=rods | {len(GRID): 105 - (GRID[7][2] + off_ft)},
        point_setup={len(GRID): "S2"},
        setup_name={0: "S1", 1: "S2"},
        setup_instrument_ft={0: 104, 1: None},
        setup_foresight_ft={1: 4.0},
        setup_backsight_ft={1: 5.0},
    )
    values = solved(job)
    assert at(values, "closing_at") == "point Q26 at point Q8"
    assert at(values, "closing_ft") == pytest.approx(off_ft, abs=1e-9)
    assert at(values, "closing_allowed_ft") == pytest.approx(0.05 * math.sqrt(2), abs=1e-12)
    assert ("closes 0.20 ft off" in at(values, "check_readings")) == told


def test_a_survey_in_which_nothing_is_read_twice_has_no_closing_error() -> None:
    assert at(solved(demo()), "closing_at") == ""
    assert at(solved(demo()), "closing_ft") == 0
