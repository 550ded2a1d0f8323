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
from books import edited, printed_scale, refilled
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import FLAT, at, block, changed, demo, on_flat, on_ground, one_option, slope, solved
from libreoffice import convert
from office import needs_office

from estimator.model import build_model
from estimator.model.kinds import BLOCKS, CAST, FRAMED, KIND_NAMES, OPEN, PIERS, SLAB
from estimator.model.set_out import GUESSED, STATIONS
from estimator.model.solvers.ground_beside import stake_ends
from estimator.units import parse_length
from estimator.workbook.template.build import workbook_bytes
from estimator.workbook.template.layout import layout
from estimator.workbook.template.plans import SectionPlan
from estimator.workbook.template.text_size import SPARE, text_width


def places(values: dict[str, Any], key: str) -> Any:
    """x and y of four corners or stakes."""
    return np.column_stack([block(values, f"{key}_{axis}_ft") for axis in "xy"])


@settings(max_examples=5, deadline=None)
@given(st.floats(-180, 180))
def test_stakes_stand_three_feet_beyond_the_corners_on_their_strings(turn: float) -> None:
    values = solved(changed(on_flat(one_option(FRAMED)), turn_deg=turn))
    corner = places(values, "stake")
    stakes = stake_ends(corner, at(values, "stake_off_ft"))
    assert math.dist(corner[0], corner[2]) == pytest.approx(math.hypot(14, 12), abs=1e-9)
    assert math.dist(corner[1], corner[3]) == pytest.approx(math.hypot(14, 12), abs=1e-9)
    front, side = stakes[:4] - corner, stakes[4:] - corner
    for number in range(4):
        # In line with the corner and its neighbour on that string, on the far side of it.
        for arm, other in ((front, number ^ 1), (side, 3 - number)):
            line = corner[number] - corner[other]
            assert np.linalg.norm(arm[number]) == pytest.approx(3, abs=1e-9)
            along = arm[number] @ line / np.linalg.norm(line)
            assert along == pytest.approx(3, abs=1e-9)


def inches(text: str) -> float:
    """A depth as the Field Sheet prints it, fill negative."""
    filled = text.startswith("fill ")
    bare = text.removeprefix("fill ").removesuffix(GUESSED)
    unit = "" if bare.endswith("in") else " in"  # else the heading of the column says it
    return (-12 if filled else 12) * parse_length(f"{bare}{unit}")


def test_strings_are_printed_above_the_ground_at_corners_and_stakes() -> None:
    # Five percent down to the back; the base is 12 ft wide, its stakes stand 3 ft farther out.
    values = solved(on_ground(one_option(FRAMED, reckoned_from="original"), slope(5)))
    string = at(values, "top_ft") * 12 + 12  # at the stakes uphill the ground is over the top
    assert at(values, "string_ft") * 12 == pytest.approx(string, abs=1e-9)
    corner = places(values, "stake")
    stakes = stake_ends(corner, 3)
    for key, where in (("stake_a", stakes[:4]), ("stake_b", stakes[4:]), ("stake_at", corner)):
        ground = (100 - 0.05 * where[:, 1]) * 12
        printed = [inches(text) for text in block(values, key)]
        assert printed == pytest.approx(string - ground, abs=1 / 8 + 1e-9)


def test_strings_run_at_the_top_itself_where_no_ground_is_in_their_way() -> None:
    values = solved(on_flat(one_option(OPEN, reckoned_from="original")))
    assert at(values, "string_offset_in") == 0
    assert at(values, "field_strings").endswith("strings level with the pad")


def test_strings_clear_a_hump_between_the_stations_and_beyond_a_corner() -> None:
    level = on_flat(one_option(OPEN, height_mode="by hand", hand_height_ft=100.5))
    corner = places(solved(level), "stake")
    along = (corner[1] - corner[0]) / math.dist(*corner[:2])
    inward = np.array([-along[1], along[0]])
    for far in (5.0, -1.5):  # stations stand at 4 and 6 ft; the stake 3 ft beyond the corner
        middle = corner[0] + far * along
        foot = [middle + 0.5 * (i * along + j * inward) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        hump = [(x, y, 101.0 if n == 4 else 100.0) for n, (x, y) in enumerate(foot)]
        values = solved(on_ground(level, (*FLAT, *hump)))
        assert at(values, "string_ground_ft") == pytest.approx(101, abs=1e-9)
        assert at(values, "string_ft") == pytest.approx(100.5 + 1, abs=1e-9)


def test_on_level_ground_every_point_of_the_grid_is_dug_to_the_stone() -> None:
    values = solved(on_flat(one_option(OPEN, reckoned_from="original", stone_depth_in=4)))
    for column in range(1, 6):
        # Of them 4 in are gone with the sod.
        assert block(values, f"heat_{column}_in") == pytest.approx([4 - 4] * 5, abs=1e-9)


def test_the_grid_lies_as_seen_from_above_the_back_at_the_top() -> None:
    # Five percent down to the back over 12 ft: flush in front, 7.2 in low at the back.
    values = solved(on_ground(one_option(OPEN, reckoned_from="original"), slope(5)))
    assert block(values, "heat_row").tolist() == ["back", "3/4", "half", "1/4", "front"]
    for column in range(1, 6):
        depths = block(values, f"heat_{column}_in")
        # After 4 in of sod: what lies below the subgrade then is filled.
        assert depths == pytest.approx([-7.2, -5.4, -3.6, -1.8, 0], abs=1e-9)


def test_the_corners_of_the_grid_are_the_corners_of_the_base() -> None:
    values = solved(demo())
    for option in range(4):
        corner = [at(values, f"ground_corner_{n}_ft", option) for n in (1, 2, 3, 4)]
        left, right = (block(values, f"grid_{n}_ft", option) for n in (1, 5))
        assert [left[-1], right[-1], right[0], left[0]] == pytest.approx(corner, abs=1e-9)


def test_piers_have_no_subgrade_to_dig() -> None:
    values = solved(one_option(PIERS))
    assert not any(block(values, f"heat_{n}_in").any() for n in range(1, 6))


def lines(values: dict[str, Any], key: str) -> tuple[Any, Any]:
    """A column of the lines of the Field Sheet: of the stations, and of the lower courses."""
    column = block(values, f"line_{key}")
    return column[:STATIONS], column[STATIONS:]


def test_lower_courses_are_listed_with_their_ends() -> None:
    values = solved(demo())
    side, start, end = (lines(values, k)[1] for k in ("number", "from_ft", "to_ft"))
    course, below = lines(values, "count")[1], lines(values, "below_in")[1]
    on = side > 0
    assert (end[on] - start[on]).sum() == pytest.approx(at(values, "frame_lower_ft"), abs=1e-9)
    offset = at(values, "string_offset_in")
    assert below[on] == pytest.approx(offset + course[on] * 5.5, abs=1e-12)
    # A station within a lower course has at least that many.
    sides, places_ft, courses = (lines(values, k)[0] for k in ("number", "from_ft", "count"))
    for s, c, a, b in zip(side[on], course[on], start[on], end[on], strict=True):
        here = (sides == s) & (places_ft >= a) & (places_ft <= b)
        assert (courses[here] >= c).all()


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
    side = lines(values, "number")[1]
    ends = np.stack([lines(values, "from_ft")[1], lines(values, "to_ft")[1]], axis=1)
    for number in range(4):
        steps = along[number, 1:][~level[number]]
        inside = [e for e in ends[side == number + 1].ravel() if 0 < e < along[number, -1]]
        assert sorted(steps) == pytest.approx(sorted(inside), abs=1e-9)
        # At every station the line runs through the bottom of the courses that stand there.
        stations = slice(10 * number, 10 * number + 10)
        used = lines(values, "number")[0][stations] > 0
        for place, courses in zip(
            lines(values, "from_ft")[0][stations][used],
            lines(values, "count")[0][stations][used],
            strict=True,
        ):
            here = (along[number, :-1] <= place) & (place <= along[number, 1:])
            assert -courses * 5.5 in bottom[number, :-1][here]
    # Less the strip that the courses are reckoned from, no timber has air under it.
    used = lines(values, "number")[0] > 0
    lowest = -lines(values, "count")[0] * 5.5
    assert (lowest <= block(values, "line_ground_in") - 4 + 1e-9)[used].all()


def test_the_plan_draws_the_base_where_the_stakes_stand() -> None:
    values = solved(changed(demo(), turn_deg=25))
    corners = places(values, "stake")[[0, 1, 2, 3, 0]]
    drawn = list(zip(block(values, "base_x_ft"), block(values, "base_y_ft"), strict=True))
    assert np.array(drawn) == pytest.approx(corners, abs=1e-9)


def printed(values: dict[str, Any], key: str) -> list[str]:
    """A column of the four tables of lines, one after the other."""
    tables = ("upper_1", "upper_2", "lower_1", "lower_2")
    return [str(text) for table in tables for text in block(values, f"{table}_{key}")]


def test_every_support_is_printed_in_order_with_its_place_cut_off_and_depth() -> None:
    job = one_option(PIERS, support_rows=6, supports_per_row=10)
    values = solved(changed(job, building_length_ft=30, building_width_ft=16))
    assert at(values, "support_count") == 60
    assert printed(values, "no") == [str(n) for n in range(1, 61)] + [""] * 4
    for shown, key in (
        ("place", "x_ft"),
        ("back", "y_ft"),
        ("above", "rise_in"),
        ("grade", "dig_in"),
    ):
        scale = 12 if key.endswith("ft") else 1
        read = [inches(text) for text in printed(values, shown)[:60]]
        assert read == pytest.approx(block(values, f"support_{key}") * scale, abs=1 / 8 + 1e-9)
        assert printed(values, shown)[60:] == [""] * 4


def test_blocks_are_printed_with_how_many_stand_on_each_other() -> None:
    values = solved(on_ground(one_option(BLOCKS, support_rows=2, supports_per_row=3), slope(12)))
    told = [f"{count:.0f} high" for count in block(values, "support_blocks")[:6]]
    assert len(set(told)) > 1
    assert printed(values, "below")[:6] == told


def test_every_station_of_every_side_is_printed_with_its_depths() -> None:
    values = solved(demo())
    columns = {"place": "from_ft", "above": "above_in", "below": "below_in", "grade": "grade_in"}
    for shown, key in columns.items():
        stations = lines(values, key)[0] * (12 if key.endswith("ft") else 1)
        used = lines(values, "number")[0] > 0
        texts = [t for t in printed(values, shown)[:STATIONS] if t]
        assert [inches(t) for t in texts] == pytest.approx(stations[used], abs=1 / 8 + 1e-9)


def test_an_open_pad_is_dug_or_filled_to_its_subgrade_at_the_stations() -> None:
    # Five percent down to the back over 12 ft, flush in front: 4 in of stone, 7.2 in low there.
    values = solved(on_ground(one_option(OPEN, reckoned_from="original"), slope(5)))
    side = lines(values, "number")[0]
    offset = at(values, "string_offset_in")
    assert lines(values, "below_in")[0][side > 0] == pytest.approx(4 + offset, abs=1e-9)
    assert lines(values, "dig_in")[0][side == 3] == pytest.approx(4 - 7.2, abs=1e-9)
    # Behind the sod, 4 in, that is a fill of all the 7.2 in.
    dug = zip(printed(values, "no"), printed(values, "grade"), strict=True)
    assert {text for number, text in dug if number == "3"} == {"fill 7 1/4"}


def test_ground_outside_the_readings_is_marked_where_it_is_dug() -> None:
    # The readings end at y = 40; the base stands with its back half beyond.
    job = changed(on_flat(one_option(FRAMED)), site_x_ft=10, site_y_ft=34)
    values = solved(job)
    assert at(values, "field_guessed").endswith(
        "read there first. Marked ? below, not in the grid."
    )
    marked = [text.endswith(GUESSED) for text in block(values, "stake_at")]
    assert marked == [False, False, True, True]
    side = printed(values, "no")[:STATIONS]
    depths = printed(values, "grade")[:STATIONS]
    assert all(text.endswith(GUESSED) for n, text in zip(side, depths, strict=True) if n == "3")
    assert not any(text.endswith(GUESSED) for n, text in zip(side, depths, strict=True) if n == "1")


def test_a_base_between_readings_far_off_is_told() -> None:
    # The readings stand along two sides of the lot and at its far corner; none is near the middle.
    along = [(float(x), 0.0, 100.0) for x in range(0, 121, 15)]
    lot = (*along, *((y, x, z) for x, y, z in along[1:]), (120.0, 120.0, 100.0))
    base = on_ground(one_option(FRAMED), lot)
    for corner, told in ((40.0, "39"), (15.0, "")):  # of the base 1 ft less
        values = solved(changed(base, site_x_ft=corner, site_y_ft=corner, turn_deg=0))
        check, line = at(values, "check_survey"), at(values, "field_guessed")
        assert (f"the nearest reading lies {told} ft off the base" in check) == bool(told)
        assert (f"the nearest reading lies {told} ft off the base" in line) == bool(told)


def test_edges_and_sides_at_corners_without_readings_are_marked_too() -> None:
    job = changed(on_flat(one_option(SLAB)), site_x_ft=10, site_y_ft=34)
    values = solved(job)
    marked = [text.endswith(GUESSED) for text in block(values, "stake_edge")]
    assert marked == [False, False, True, True]
    names = [text.removesuffix(GUESSED) for text in block(values, "named_text")]
    sides = [name for name in block(values, "named_text") if name.endswith(GUESSED)]
    assert sides == [f"{name}{GUESSED}" for name in names[1:]]


def test_the_order_of_work_is_that_of_the_base() -> None:
    def work(kind: str) -> list[str]:
        return [str(text) for text in block(solved(one_option(kind)), "work_text") if text]

    piers, framed, floor = work(PIERS), work(FRAMED), work(SLAB)
    assert not any(word in text for text in piers for word in ("Strip sod", "timbers", "Skids"))
    assert any(text.startswith("Holes") for text in piers)
    assert any(text.startswith("Trench") for text in framed)
    assert any("forms" in text for text in floor)


def test_the_first_line_is_the_call_with_the_notice_that_it_needs() -> None:
    values = solved(changed(demo(), notice_days=5))
    plan = layout(build_model()).sheets["Field Sheet"]
    assert next(iter(plan.parts[0].rows)) == "field_call"
    assert "utility locating service; wait 5 days" in at(values, "field_call")


def test_holds_and_cure_are_those_of_what_is_built() -> None:
    pad = solved(one_option(FRAMED))
    assert "before stone" in at(pad, "field_holds")
    assert "days before framing" not in at(pad, "field_material")
    piers = solved(one_option(PIERS))
    assert "before concrete" in at(piers, "field_holds")
    assert f"cures {at(piers, 'cure_days'):.0f} days before framing" in at(piers, "field_material")


def test_permit_and_tools_are_those_of_the_job() -> None:
    """What is taken to the lot follows what is built and how; common practice, no source."""
    pad = solved(changed(one_option(FRAMED), permit_wanted="yes", compact_method="with a plate"))
    assert at(pad, "field_permit").startswith("building permit: in hand before work begins")
    assert "plate compactor" in at(pad, "field_digging_tools")
    assert "drill" in at(pad, "field_frame_tools")
    assert "concrete" not in at(pad, "field_worn")
    by_hand = solved(changed(one_option(FRAMED), permit_wanted="no", compact_method="by hand"))
    assert at(by_hand, "field_permit").startswith("none by its size")
    assert "hand tamper" in at(by_hand, "field_digging_tools")
    piers = solved(changed(one_option(PIERS), dig_method="by hand"))
    assert "plate" not in at(piers, "field_digging_tools")
    assert "excavator" not in at(piers, "field_digging_tools")
    assert "auger" in at(piers, "field_base_tools")
    assert "wet concrete" in at(piers, "field_worn")
    for way, mixed in (("bags", True), ("ready-mix", False)):
        floor = solved(one_option(SLAB, concrete_by=way))
        assert ("mixer" in at(floor, "field_base_tools")) == mixed
        assert at(floor, "field_frame_tools") == ""


@pytest.mark.parametrize("kind", KIND_NAMES)
@pytest.mark.parametrize("way", ["by hand", "machine"])
def test_what_is_taken_to_the_lot_fits_in_its_lines(kind: str, way: str) -> None:
    cells = {"concrete_by": "bags"} if kind in CAST else {}
    values = solved(changed(one_option(kind, **cells), dig_method=way, permit_wanted="yes"))
    plan = layout(build_model()).sheets["Field Sheet"]
    part = next(p for p in plan.parts if isinstance(p, SectionPlan) and "field_care" in p.rows)
    state = plan.columns.state
    room = sum(plan.widths[column] for column in range(plan.columns.value, state))
    for key in part.rows:
        assert text_width(str(at(values, key)), plan.size) / SPARE <= room


PRINTED_JOBS = {
    "the demo": {},
    "piers": {"in_chosen_option": "C"},
    "a large frame": {"in_building_length_ft": "28", "in_building_width_ft": "16"},
}
LEAST_PT = 9.0
"""Least size in points of anything on paper, on US Letter; A4 is 3% narrower."""
PAPERS = {"Letter": 1, "A4": 9}


@pytest.mark.slow
@needs_office
@pytest.mark.parametrize("job", PRINTED_JOBS)
@pytest.mark.parametrize("paper", PAPERS)
def test_the_field_sheet_prints_on_three_pages_with_all_its_blank_lines(
    job: str, paper: str, demo_book: bytes
) -> None:
    book = openpyxl.load_workbook(io.BytesIO(_filled(job, demo_book)), data_only=True)
    for sheet in list(book):
        if sheet.title != "Field Sheet":
            book.remove(sheet)
    book["Field Sheet"].page_setup.paperSize = PAPERS[paper]
    pages = re.findall(rb"/Type\s*/Page\b", convert(workbook_bytes(book), "pdf"))
    assert 1 <= len(pages) <= 3


def test_nothing_on_the_field_sheet_is_printed_too_small_to_read_at_arms_length(
    demo_book: bytes,
) -> None:
    plan = layout(build_model()).sheets["Field Sheet"]
    sheet = openpyxl.load_workbook(io.BytesIO(demo_book))["Field Sheet"]
    scale = printed_scale(plan, sheet)
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


def test_strings_are_told_from_a_bench_mark_where_there_is_one() -> None:
    """The sill lies 1.5 ft over the lot at 100 ft; the rod stands on it from the first set-up."""
    flat = on_flat(one_option(FRAMED))
    sill = {"bench_name": "the door sill"}
    values = solved(changed(flat, **sill, bench_reading_ft=101.5))
    below = 12 * (101.5 - at(values, "string_ft"))
    told = re.fullmatch(r".*\. Strings (.+) below the door sill", at(values, "field_points"))
    assert told is not None
    assert inches(told[1]) == pytest.approx(below, abs=1 / 16)
    assert "below" not in at(solved(flat), "field_points")
    rod = changed(
        flat,
        **sill,
        survey_method="rod readings",
        setup_name="S1",
        setup_instrument_ft=104,
        point_reading_ft=dict.fromkeys(range(9), 4.0),
        bench_reading_ft=2.5,
    )
    values = solved(rod)
    assert at(values, "bench_height_ft") == pytest.approx(101.5, abs=1e-12)
    assert at(values, "field_rod").startswith("where it reads 2.50 ft at the door sill, it reads ")
