"""Contours on the plan of the lot, and where they bear their heights."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import block, demo, drawn_jobs, on_ground, slope, solved

from estimator.inputs import TypedJob
from estimator.model.pictures import CONTOURS, MARKS
from estimator.model.siting_sheet import PLACES
from estimator.model.solvers.contours import (
    Drawn,
    contour_dots,
    contour_marks,
    contour_step_ft,
)
from estimator.model.solvers.outlines import OUTLINES, solve_outlines
from estimator.solve.surface import fit_ground

GRID = tuple((x, y, 100 - 0.03 * x - 0.02 * y) for x in range(0, 50, 10) for y in range(0, 50, 10))
LETTER_WIDE, LETTER_HIGH, READING = 0.0155, 0.039, 0.01
"""Of the plan's extent, as measured on a page: letters, and half of the mark of a reading."""

Box = tuple[float, float, float, float]


def test_contour_dots_stand_at_their_height_on_the_ground() -> None:
    places = np.array([(x + 0.3, y + 0.1) for x, y, _ in GRID])
    heights = np.array([p[2] for p in GRID]) + 0.3 * np.sin(places[:, 0])
    ground = fit_ground(places, heights, [str(i) for i in range(len(GRID))])
    dots, step = contour_dots(ground)
    assert dots.shape == (CONTOURS, 3)
    assert ground.at(dots[:, :2])[0] == pytest.approx(dots[:, 2], abs=1e-9)
    assert np.allclose(dots[:, 2] / step, np.round(dots[:, 2] / step), atol=1e-9)


def test_contours_are_a_round_height_apart_and_at_most_nine() -> None:
    for relief in (0.05, 0.7, 1.0, 3.3, 17.0, 140.0):
        step = contour_step_ft(relief)
        assert math.floor(relief / step) <= 8
    assert contour_step_ft(1.2) == 0.25
    assert contour_step_ft(0.0) == 0.0


def test_level_ground_has_no_contours_but_a_picture() -> None:
    ground = fit_ground([p[:2] for p in slope(0)], [100.0] * 9, [str(i) for i in range(9)])
    dots, step = contour_dots(ground)
    assert step == 0
    assert np.ptp(dots, axis=0) == pytest.approx([0, 0, 0])


@pytest.mark.parametrize(
    ("points", "named"),
    [
        (slope(0), ["level ground"] * MARKS),
        (slope(0)[:5:2], ["level ground"] * MARKS),
        ((), ["no ground yet"] * MARKS),
    ],
)
def test_no_name_of_a_contour_is_blank_where_a_picture_would_show_a_nought(
    points: Any, named: list[str]
) -> None:
    told = block(solved(on_ground(demo(), tuple(points))), "contour_mark")
    assert [str(text) for text in told] == named


def test_a_contour_at_the_datum_bears_its_height_too() -> None:
    lot = tuple((x, y, 0.02 * y - 0.4) for x, y, _ in GRID)
    assert "0.00 ft" in block(solved(on_ground(demo(), lot)), "contour_mark")


@given(st.integers(0, 10**6), st.sampled_from([0.0, 0.05, 0.3]), st.integers(1, 12))
@settings(max_examples=40, deadline=None)
def test_heights_of_contours_keep_clear_of_names_and_of_each_other(
    seed: int, fall: float, names: int
) -> None:
    rng = np.random.default_rng(seed)
    places = np.array([p[:2] for p in GRID]) + rng.uniform(-3, 3, (len(GRID), 2))
    heights = fall * places[:, 1] - 1.0
    ground = fit_ground(places, heights, [str(i) for i in range(len(GRID))])
    dots, step = contour_dots(ground)
    middle, half = rng.uniform(0, 40, (names, 2)), rng.uniform(1, 4, (names, 2))
    marks = contour_marks(dots, step, Drawn(50.0, middle, half, middle))
    assert len(marks) <= MARKS
    assert bool(len(marks)) == (fall > 0)
    assert all(tuple(mark) in set(map(tuple, dots)) for mark in marks)
    boxes: list[Box] = [(*p, *h) for p, h in zip(middle.tolist(), half.tolist(), strict=True)]
    for x, y, level in marks:
        wide = LETTER_WIDE * len(f"{level:.2f} ft")
        text = (x, y, 50 * wide / 2, 50 * LETTER_HIGH / 2)
        assert len(marks) == 1 or not any(over(text, other) for other in boxes)
        boxes.append(text)


def over(one: Box, other: Box) -> bool:
    """Whether boxes (middle, half of the size) lie over each other."""
    return abs(one[0] - other[0]) < one[2] + other[2] and abs(one[1] - other[1]) < one[3] + other[3]


def named(values: Any, x: str, y: str, text: str, extent: float) -> list[Box]:
    """Boxes of the different texts of a series."""
    told = dict.fromkeys(zip(*(block(values, key) for key in (x, y, text)), strict=True))
    words = [(x, y, str(t).removeprefix("{").partition("|")[0]) for x, y, t in told]
    wide, high = extent * LETTER_WIDE / 2, extent * LETTER_HIGH / 2
    return [(float(x), float(y), wide * len(word), high) for x, y, word in words]


def readings_of(values: Any) -> set[Box]:
    """Boxes of the marks of readings."""
    extent = extent_of(values)
    return {
        (float(x), float(y), READING * extent, READING * extent)
        for each in ("dot", "stake_dot")
        for x, y in zip(block(values, f"{each}_x_ft"), block(values, f"{each}_y_ft"), strict=True)
    }


def extent_of(values: Any) -> float:
    """How wide and high the plan is, ft."""
    return float(
        max(
            np.ptp(
                np.concatenate(
                    [
                        block(values, f"{each}_{way}_ft")
                        for each in ("dot", "stake_dot", "lot", "base")
                    ]
                ).astype(float)
            )
            for way in "xy"
        )
    )


@pytest.mark.slow
@pytest.mark.parametrize("job", [demo(), *drawn_jobs(91, 12, most_options=1)])
def test_on_the_plan_heights_touch_no_name_no_reading_and_no_side_of_the_base(
    job: TypedJob,
) -> None:
    values = solved(job)
    extent = extent_of(values)
    heights = named(values, "contour_mark_x_ft", "contour_mark_y_ft", "contour_mark", extent)
    names = named(values, "named_x_ft", "named_y_ft", "named_text", extent)
    base = np.array([block(values, f"base_{way}_ft") for way in "xy"], dtype=float).T
    shares = np.linspace(0, 1, 200)[:, None]
    line = np.vstack([a + shares * (b - a) for a, b in itertools.pairwise(base)])
    sides = {(float(at_x), float(at_y), 0.0, 0.0) for at_x, at_y in line}
    for i, height in enumerate(heights):
        beside = [*heights[:i], *names, *readings_of(values), *sides]
        assert not [other for other in beside if over(height, other)]


@pytest.mark.slow
@pytest.mark.parametrize("number", range(12))
def test_on_the_plan_no_two_texts_touch_and_none_a_reading(number: int) -> None:
    """Best places found about the base, as near to it and to each other as a search finds them."""
    job = [demo(), *drawn_jobs(91, 11, most_options=1)][number]
    values = dict(solved(job))
    rng = np.random.default_rng(number)
    for key, middle, spread in (
        ("place_x_ft", "site_x_ft", 6.0),
        ("place_y_ft", "site_y_ft", 6.0),
        ("place_turn_deg", "turn_deg", 20.0),
    ):
        values[key] = block(values, middle) + rng.uniform(-spread, spread, (1, PLACES))
    values["place_cost"] = np.full((1, PLACES), 1000.0)
    found = values | dict(solve_outlines({key: values[key] for key in OUTLINES.reads}))
    extent = extent_of(values)
    found["number"] = np.array([[str(n + 1) for n in range(PLACES)]])
    texts = [
        *named(found, "named_x_ft", "named_y_ft", "named_text", extent),
        *named(found, "number_x_ft", "number_y_ft", "number", extent),
        *named(found, "contour_mark_x_ft", "contour_mark_y_ft", "contour_mark", extent),
    ]
    assert len(texts) >= len(("front", "right", "back", "left")) + PLACES
    for one, other in itertools.combinations(texts, 2):
        assert not over(one, other)
    for text, reading in itertools.product(texts, readings_of(values)):
        assert not over(text, reading)
