"""The Field Sheet's stakes, grid of cut and fill, lower courses and lines for the pictures."""

from __future__ import annotations

import io
import math
import re
from functools import cache
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import edited, refilled
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, on_flat, on_ground, one_option, slope, solved
from libreoffice import convert, needs_libreoffice

from estimator.model import build_model
from estimator.model.field_sheet import STATIONS
from estimator.model.kinds import FRAMED, OPEN, PIERS
from estimator.workbook.template.build import workbook_bytes
from estimator.workbook.template.grid import LANDSCAPE, PORTRAIT
from estimator.workbook.template.layout import layout


def places(values: dict[str, Any], key: str) -> Any:
    """x and y of four corners or stakes."""
    return np.column_stack([block(values, f"{key}_{axis}_ft") for axis in "xy"])


@settings(max_examples=5, deadline=None)
@given(st.floats(-180, 180))
def test_stakes_stand_three_feet_beyond_the_corners_on_their_strings(turn: float) -> None:
    values = solved(changed(on_flat(one_option(FRAMED)), turn_deg=turn))
    corner = places(values, "stake")
    assert math.dist(corner[0], corner[2]) == pytest.approx(math.hypot(14, 12), abs=1e-9)
    assert math.dist(corner[1], corner[3]) == pytest.approx(math.hypot(14, 12), abs=1e-9)
    front = places(values, "stake_front") - corner
    side = places(values, "stake_side") - corner
    for number in range(4):
        # In line with the corner and its neighbour on that string, on the far side of it.
        for arm, other in ((front, number ^ 1), (side, 3 - number)):
            line = corner[number] - corner[other]
            assert np.linalg.norm(arm[number]) == pytest.approx(3, abs=1e-9)
            along = arm[number] @ line / np.linalg.norm(line)
            assert along == pytest.approx(3, abs=1e-9)


def test_the_string_at_the_corners_is_the_top_less_the_ground_there() -> None:
    values = solved(demo())
    top = at(values, "top_ft")
    ground = [at(values, f"ground_corner_{n}_ft") for n in (1, 2, 3, 4)]
    expected = [(top - g) * 12 for g in ground]
    assert block(values, "stake_string_in") == pytest.approx(expected, abs=1e-9)


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


def test_the_line_under_the_courses_is_level_or_upright_and_ends_where_a_course_ends() -> None:
    values = solved(demo())
    along = block(values, "bottom_at_ft").reshape(4, -1)
    bottom = block(values, "bottom_in").reshape(4, -1)
    assert along[:, 0] == pytest.approx(0)
    assert along[:, -1] == pytest.approx([14, 12, 14, 12])
    level, upright = np.diff(bottom, axis=1) == 0, np.diff(along, axis=1) == 0
    assert (level | upright).all()
    side = block(values, "low_side")
    ends = np.stack([block(values, "low_start_ft"), block(values, "low_end_ft")], axis=1)
    for number in range(4):
        steps = along[number, 1:][~level[number]]
        inside = [e for e in ends[side == number + 1].ravel() if 0 < e < along[number, -1]]
        assert sorted(steps) == pytest.approx(sorted(inside), abs=1e-9)
        # At every station the line runs through the bottom of the courses that stand there.
        stations = slice(10 * number, 10 * number + 10)
        used = block(values, "dig_side")[stations] > 0
        for place, courses in zip(
            block(values, "dig_at_ft")[stations][used],
            block(values, "dig_courses")[stations][used],
            strict=True,
        ):
            here = (along[number, :-1] <= place) & (place <= along[number, 1:])
            assert -courses * 5.5 in bottom[number, :-1][here]
    # Less the strip that the courses are reckoned from, no timber has air under it.
    used = block(values, "dig_side") > 0
    lowest = -block(values, "dig_courses") * 5.5
    assert (lowest <= block(values, "line_ground_in") - 4 + 1e-9)[used].all()


def test_the_plan_draws_the_base_where_the_stakes_stand() -> None:
    values = solved(changed(demo(), turn_deg=25))
    corners = places(values, "stake")[[0, 1, 2, 3, 0]]
    drawn = list(zip(block(values, "base_x_ft"), block(values, "base_y_ft"), strict=True))
    assert np.array(drawn) == pytest.approx(corners, abs=1e-9)


def thirds(values: dict[str, Any], key: str) -> Any:
    """A column of the supports or lower courses, its three thirds joined."""
    lead, _, rest = key.partition("_")
    return np.concatenate([block(values, f"{lead}_{third}_{rest}") for third in (1, 2, 3)])


def test_supports_are_listed_in_order_with_their_cut_off() -> None:
    values = solved(one_option(PIERS, support_rows=3, supports_per_row=5))
    count = int(at(values, "support_count"))
    assert count == 15
    for shown, of in (("x", "x"), ("y", "y"), ("rise", "rise"), ("dig", "dig")):
        unit = "in" if of in ("rise", "dig") else "ft"
        listed = thirds(values, f"spot_{shown}_{unit}")
        assert listed[:count] == pytest.approx(
            block(values, f"support_{of}_{unit}")[:count], abs=1e-12
        )
        assert not listed[count:].any()
    assert thirds(values, "spot_no")[:count].tolist() == list(range(1, count + 1))
    assert not thirds(values, "spot_no")[count:].any()


def test_every_station_of_every_side_is_printed_with_its_depths() -> None:
    values = solved(demo())
    printed = ("at_ft", "courses", "string_in", "ground_in")
    behind = ("dig_at_ft", "dig_courses", "dig_below_string_in", "dig_below_ground_in")
    for shown, key in zip(printed, behind, strict=True):
        sides = np.concatenate([block(values, f"side_{n}_{shown}") for n in (1, 2, 3, 4)])
        assert sides == pytest.approx(block(values, key), abs=1e-12)
    for shown in ("side", "course", "start_ft", "end_ft", "bottom_in"):
        assert thirds(values, f"low_{shown}") == pytest.approx(
            block(values, f"low_{shown}"), abs=1e-12
        )


def test_an_open_pad_is_dug_to_its_subgrade_at_the_stations() -> None:
    # Five percent down to the back over 12 ft, flush in front: 4 in of stone, 7.2 in low there.
    values = solved(on_ground(one_option(OPEN, reckoned_from="original"), slope(5)))
    used = block(values, "dig_side") > 0
    assert block(values, "dig_below_string_in")[used] == pytest.approx(4, abs=1e-9)
    back = block(values, "dig_side") == 3
    assert block(values, "dig_below_ground_in")[back] == pytest.approx(4 - 7.2, abs=1e-9)


def test_the_first_line_is_the_call_with_the_notice_that_it_needs() -> None:
    values = solved(changed(demo(), notice_days=5))
    plan = layout(build_model()).sheets["Field Sheet"]
    assert next(iter(plan.parts[0].rows)) == "field_call"
    assert "utility locating service; wait 5 days" in at(values, "field_call")


def test_holds_and_cure_are_those_of_what_is_built() -> None:
    pad = solved(one_option(FRAMED))
    assert "before stone" in at(pad, "field_holds")
    assert at(pad, "field_cure") == 0
    piers = solved(one_option(PIERS))
    assert "before concrete" in at(piers, "field_holds")
    assert at(piers, "field_cure") == at(piers, "cure_days") > 0


PRINTED_JOBS = {
    "the demo": {},
    "piers": {"in_chosen_option": "C"},
    "a large frame": {"in_building_length_ft": "28", "in_building_width_ft": "16"},
}
LEAST_PT = 9.0
"""Least size in points of anything on paper, on US Letter; A4 is 3% narrower."""
PAPERS = {"Letter": 1, "A4": 9}


@pytest.mark.slow
@needs_libreoffice
@pytest.mark.parametrize("job", PRINTED_JOBS)
@pytest.mark.parametrize("paper", PAPERS)
def test_the_field_sheet_prints_on_two_pages(job: str, paper: str, demo_book: bytes) -> None:
    book = openpyxl.load_workbook(io.BytesIO(_filled(job, demo_book)), data_only=True)
    for sheet in list(book):
        if sheet.title != "Field Sheet":
            book.remove(sheet)
    book["Field Sheet"].page_setup.paperSize = PAPERS[paper]
    pages = re.findall(rb"/Type\s*/Page\b", convert(workbook_bytes(book), "pdf"))
    assert 1 <= len(pages) <= 2


def test_nothing_on_the_field_sheet_is_printed_too_small_to_read_at_arms_length(
    demo_book: bytes,
) -> None:
    plan = layout(build_model()).sheets["Field Sheet"]
    sheet = openpyxl.load_workbook(io.BytesIO(demo_book))["Field Sheet"]
    page = LANDSCAPE if sheet.page_setup.orientation == "landscape" else PORTRAIT
    scale = min(1.0, page / plan.printed_width)
    assert sheet.page_setup.fitToHeight == 0  # scaled to the width alone
    for area in plan.printed:
        for row in sheet.iter_rows(area.row1, area.row2, area.column1, area.column2):
            sizes = [cell.font.size for cell in row if cell.value is not None]
            assert all(size * scale >= LEAST_PT for size in sizes)


@cache
def _filled(job: str, demo_book: bytes) -> bytes:
    """The demo workbook with cells of a job typed in, solved."""
    changes = PRINTED_JOBS[job]
    return refilled(edited(demo_book, changes)).data if changes else demo_book
