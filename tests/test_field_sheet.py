"""The Field Sheet's stakes, grid of cut and fill, lower courses and lines for the pictures."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, on_flat, on_ground, one_option, slope, solved

from estimator.model.field_sheet import STATIONS
from estimator.model.options import FRAMED, OPEN, PIERS


def stakes(values: dict[str, Any]) -> dict[str, tuple[float, float]]:
    names, x, y = (block(values, f"stake_{k}") for k in ("name", "x_ft", "y_ft"))
    return {str(n): (float(a), float(b)) for n, a, b in zip(names, x, y, strict=True)}


@settings(max_examples=5, deadline=None)
@given(st.floats(-180, 180))
def test_stakes_stand_three_feet_beyond_the_corners_on_their_strings(turn: float) -> None:
    values = solved(changed(on_flat(one_option(FRAMED)), turn_deg=turn))
    at_stake = stakes(values)
    corner = [np.array(at_stake[f"corner {n}"]) for n in (1, 2, 3, 4)]
    assert math.dist(corner[0], corner[2]) == pytest.approx(math.hypot(14, 12), abs=1e-9)
    assert math.dist(corner[1], corner[3]) == pytest.approx(math.hypot(14, 12), abs=1e-9)
    for name, place in at_stake.items():
        if "," not in name:
            continue
        number = int(name[0]) - 1
        arm = np.array(place) - corner[number]
        assert np.linalg.norm(arm) == pytest.approx(3, abs=1e-9)
        # On a string: in line with the corner and one of its neighbours, on the far side of it.
        lines = [corner[number] - corner[(number + step) % 4] for step in (1, 3)]
        along = [float(arm @ line / np.linalg.norm(line)) for line in lines]
        assert max(along) == pytest.approx(3, abs=1e-9)


def test_on_level_ground_every_point_of_the_grid_is_dug_to_the_stone() -> None:
    values = solved(on_flat(one_option(OPEN, reckoned_from="original", stone_depth_in=4)))
    for column in range(1, 6):
        assert block(values, f"heat_{column}_in") == pytest.approx([4] * 5, abs=1e-9)


def test_the_grid_lies_as_seen_from_above_the_back_at_the_top() -> None:
    # Five percent down to the back over 12 ft: flush in front, 7.2 in low at the back.
    values = solved(on_ground(one_option(OPEN, reckoned_from="original"), slope(5)))
    assert block(values, "heat_back_ft") == pytest.approx([12, 9, 6, 3, 0])
    for column in range(1, 6):
        depths = block(values, f"heat_{column}_in")
        assert depths == pytest.approx([4 - 7.2, 4 - 5.4, 4 - 3.6, 4 - 1.8, 4], abs=1e-9)


def test_the_corners_of_the_grid_are_the_corners_of_the_base() -> None:
    values = solved(demo())
    for option in range(4):
        corner = [at(values, f"ground_corner_{n}_ft", option) for n in (1, 2, 3, 4)]
        left, right = (block(values, f"grid_{n}_ft", option) for n in (1, 5))
        assert [left[-1], right[-1], right[0], left[0]] == pytest.approx(corner, abs=1e-9)


def test_piers_have_no_subgrade_to_dig() -> None:
    values = solved(one_option(PIERS))
    assert not any(block(values, f"heat_{n}_in").any() for n in range(1, 6))


def test_lower_courses_are_listed_with_their_ends() -> None:
    values = solved(demo())
    side, start, end = (block(values, f"low_{k}") for k in ("side", "start_ft", "end_ft"))
    on = side > 0
    assert (end[on] - start[on]).sum() == pytest.approx(at(values, "frame_lower_ft"), abs=1e-9)
    assert block(values, "low_bottom_in")[on] == pytest.approx(
        block(values, "low_course")[on] * 5.5, abs=1e-12
    )
    # A station within a lower course has at least that many.
    for s, course, a, b in zip(
        side[on], block(values, "low_course")[on], start[on], end[on], strict=True
    ):
        here = (block(values, "dig_side") == s) & (block(values, "dig_at_ft") >= a)
        here &= block(values, "dig_at_ft") <= b
        assert (block(values, "dig_courses")[here] >= course).all()


def test_each_side_has_its_own_ten_lines_in_the_picture() -> None:
    values = solved(demo())
    each = STATIONS // 4
    ground = block(values, "line_ground_in").reshape(4, each)
    along = block(values, "line_at_ft").reshape(4, each)
    # From corner to corner: a side ends where the next begins.
    assert along[:, 0] == pytest.approx(0)
    assert along[:, -1] == pytest.approx([14, 12, 14, 12])
    assert ground[:, -1] == pytest.approx(np.roll(ground[:, 0], -1), abs=1e-9)
    assert (np.diff(along, axis=1) >= 0).all()
    bottom = block(values, "line_bottom_in")
    # Less the strip that the courses are reckoned from, no timber has air under it.
    assert (bottom <= block(values, "line_ground_in") - 4 + 1e-9).all()


def test_the_plan_draws_the_base_where_the_stakes_stand() -> None:
    values = solved(changed(demo(), turn_deg=25))
    corners = [stakes(values)[f"corner {n}"] for n in (1, 2, 3, 4, 1)]
    drawn = list(zip(block(values, "base_x_ft"), block(values, "base_y_ft"), strict=True))
    assert np.array(drawn) == pytest.approx(np.array(corners), abs=1e-9)


def test_supports_are_listed_in_order_with_their_cut_off() -> None:
    values = solved(one_option(PIERS, support_rows=2, supports_per_row=3))
    count = int(at(values, "support_count"))
    assert block(values, "cut_off_in")[:count] == pytest.approx(
        block(values, "support_rise_in")[:count], abs=1e-12
    )
    assert not block(values, "cut_off_in")[count:].any()
