"""Sheet Field Sheet: what to dig and set, for the chosen option; and the stations it is read from."""

from __future__ import annotations

import math

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.contributions import GatherNotes
from estimator.model.adds import Step, numbered
from estimator.model.grading import GRADING
from estimator.model.kinds import KINDS, by_kind
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, amount, as_text, join, pick

STATIONS = 40
"""Ten for each of the four sides."""
STEPS = 24
GRID = 5
"""Points of the grid of heights along each side of the base."""
BENDS = 96
"""Corners of the line under the courses, 24 for each of the four sides."""
SIGNED = "+0.0;-0.0;0.0"
EACH_SIDE = STATIONS // 4
SHOWN_LINES = 8
"""Lines of each third of the supports and of the lower courses."""
THIRDS = 3
CORNER_NAMES = ("front left", "front right", "back right", "back left")
SIDE_NAMES = ("front", "right", "back", "left")
FIELD_SHEET = Sheet(
    "Field Sheet",
    "Field Sheet: stakes, strings, depths, order of work",
    "For the chosen option. Measure from the string; check both diagonals before you dig.",
    shows=SheetAppearance(
        role="take-along",
        large=True,
        widths=(
            *(5.4, 5.8, 6.7, 6.7, 5.8),
            *(5.6, 5.3, 8.0, 6.7, 5.3),
            *(5.4, 5.2, 6.7, 6.7, 5.8),
            *(5.4, 5.3, 6.7, 6.7),
        ),
        label_columns=6,
    ),
)

STATION_TABLE = GRADING.table(
    "station",
    "Stations along the sides",
    STATIONS,
    "Side 1 is the front, then anticlockwise. Ground before stripping.",
    shows=Appearance(workings=True),
)
STATION_TABLE.solved("station_side", "Side", solver="frame", fmt="0", by_option=True)
STATION_TABLE.solved("station_at_ft", "From its corner", "ft", solver="frame", by_option=True)
STATION_TABLE.solved(
    "station_ground_ft", "Ground", "ft", solver="frame", fmt="0.000", by_option=True
)
STATION_TABLE.solved("station_courses", "Courses", solver="frame", fmt="0", by_option=True)

STEP_TABLE = GRADING.table(
    "step",
    "Lower courses",
    STEPS,
    "Every length of timber below the top course.",
    shows=Appearance(workings=True),
)
STEP_TABLE.solved("step_side", "Side", solver="frame", fmt="0", by_option=True)
STEP_TABLE.solved("step_course", "Course", solver="frame", fmt="0", by_option=True)
STEP_TABLE.solved("step_start_ft", "From", "ft", solver="frame", by_option=True)
STEP_TABLE.solved("step_end_ft", "To", "ft", solver="frame", by_option=True)

BEND_TABLE = GRADING.table(
    "bend",
    "Line under the courses",
    BENDS,
    "It is level along a course and upright where one ends; 24 lines a side, the last repeated.",
)
BEND_TABLE.solved("bend_at_ft", "From its corner", "ft", solver="frame", by_option=True)
BEND_TABLE.solved("bend_courses", "Courses", solver="frame", fmt="0", by_option=True)

GRID_TABLE = GRADING.table(
    "grid",
    "Ground on a grid over the base",
    GRID,
    "Five points across by five back, edges included; the first line is the back.",
    index=True,
)
for _column in range(1, GRID + 1):
    GRID_TABLE.solved(
        f"grid_{_column}_ft",
        f"Column {_column}",
        "ft",
        solver="ground_beside",
        fmt="0.000",
        by_option=True,
    )

LINES = GRADING.table(
    "dig_line",
    "Lines of a side on the Field Sheet",
    EACH_SIDE,
    index=True,
    shows=Appearance(workings=True),
)
SHOWN = GRADING.table(
    "shown_line",
    "Lines of a third on the Field Sheet",
    SHOWN_LINES,
    index=True,
    shows=Appearance(workings=True),
)

FIELD_SHEET.section("First")


@FIELD_SHEET.row("Before any digging", kind="text", scope="job")
def field_call(notice_days: Q) -> Q:
    return join(
        "call the utility locating service; wait ",
        as_text(notice_days, "0"),
        " days; then dig by hand near the marks",
    )


@FIELD_SHEET.row("Option", kind="text", scope="job")
def field_title(chosen_title: Q) -> Q:
    return chosen_title


@FIELD_SHEET.row("Inspections, where the permit asks", kind="text", scope="job")
def field_holds(option_kind: Q, chosen_no: Q, chosen_used: Q) -> Q:
    told = {kind.name: kind.inspected for kind in KINDS}
    holds = by_kind(pick(option_kind, chosen_no), told)
    return np.where(chosen_used == 1, holds, "")


@FIELD_SHEET.row("Lead water round the sides uphill", kind="text", scope="job")
def field_water(uphill_sides: Q, uphill_water: Q, uphill_run_ft: Q, chosen_no: Q) -> Q:
    run = pick(uphill_run_ft, chosen_no)
    what = join(
        pick(uphill_water, chosen_no),
        ", ",
        amount(run, "ft", "0"),
        ": ",
        pick(uphill_sides, chosen_no),
    )
    return np.where(run > 0, what, "none")


@FIELD_SHEET.row("Drain outlet through the low side", kind="text", scope="job")
def field_outlet(outlet_used: Q, chosen_no: Q, chosen_used: Q) -> Q:
    outlet = np.where(pick(outlet_used, chosen_no) == 1, "yes, at the lowest corner", "none")
    return np.where(chosen_used == 1, outlet, "")


FIELD_SHEET.section("Set out, heights, depths")


@FIELD_SHEET.row("Length, outside", "ft", scope="job")
def field_length_ft(frame_length_ft: Q, chosen_no: Q) -> Q:
    return pick(frame_length_ft, chosen_no)


@FIELD_SHEET.row("Width, outside", "ft", scope="job")
def field_width_ft(frame_width_ft: Q, chosen_no: Q) -> Q:
    return pick(frame_width_ft, chosen_no)


@FIELD_SHEET.row("Both diagonals", "ft", fmt="0.000", scope="job")
def field_diagonal_ft(frame_diagonal_ft: Q, chosen_no: Q) -> Q:
    return pick(frame_diagonal_ft, chosen_no)


@FIELD_SHEET.row("Diagonals of the floor frame", "in", fmt="0.0", scope="job")
def field_floor_diagonal_in(floor_diagonal_in: Q, chosen_no: Q) -> Q:
    return pick(floor_diagonal_in, chosen_no)


@FIELD_SHEET.row("Stakes beyond the corners", "ft", scope="job")
def field_stakes_ft(stake_off_ft: Q) -> Q:
    return stake_off_ft


@FIELD_SHEET.row("String, survey's height", "ft", fmt="0.000", scope="job")
def field_string_ft(top_ft: Q, chosen_no: Q) -> Q:
    return pick(top_ft, chosen_no)


@FIELD_SHEET.row("Sod and topsoil to strip", "in", fmt="0.0", scope="job")
def field_strip_in(strip_ft: Q, chosen_no: Q) -> Q:
    return pick(strip_ft, chosen_no) * IN_PER_FT


@FIELD_SHEET.row("Stone depth: subgrade below string", "in", fmt="0.0", scope="job")
def field_subgrade_in(stone_depth_in: Q, chosen_no: Q) -> Q:
    return pick(stone_depth_in, chosen_no)


@FIELD_SHEET.row("Timber depth", "in", scope="job")
def field_timber_in(timber_depth_in: Q, chosen_no: Q) -> Q:
    return pick(timber_depth_in, chosen_no)


@FIELD_SHEET.row("Bedding of stone in the trench", "in", scope="job")
def field_bedding_in(bedding_in: Q, chosen_no: Q) -> Q:
    return pick(bedding_in, chosen_no)


@FIELD_SHEET.row("Tamping lifts, soil", "lifts", fmt="0", scope="job")
def field_lifts(lifts: Q, chosen_no: Q) -> Q:
    return pick(lifts, chosen_no)


@FIELD_SHEET.row("Tamping lifts, stone below the pad", "lifts", fmt="0", scope="job")
def field_stone_lifts(stone_fill_lifts: Q, chosen_no: Q) -> Q:
    return pick(stone_fill_lifts, chosen_no)


@FIELD_SHEET.row("Stone to order", "yd3", fmt="0.0", scope="job")
def field_stone_yd3(stone_order_yd3: Q, chosen_no: Q) -> Q:
    return pick(stone_order_yd3, chosen_no)


@FIELD_SHEET.row("Concrete", "yd3", fmt="0.00", scope="job")
def field_concrete_yd3(concrete_yd3: Q, chosen_no: Q) -> Q:
    return pick(concrete_yd3, chosen_no)


@FIELD_SHEET.row("Concrete cures before framing", "days", fmt="0", scope="job")
def field_cure(field_concrete_yd3: Q, cure_days: Q) -> Q:
    return np.where(field_concrete_yd3 > 0, cure_days, 0)


HEAT = FIELD_SHEET.table(
    "grid",
    "Dig or fill to the subgrade",
    GRID,
    "Seen from above, back at the top. From the ground before stripping: + dig, - fill.",
    shows=Appearance(
        beside=14, colour_scale=("heat_1_in", "heat_2_in", "heat_3_in", "heat_4_in", "heat_5_in")
    ),
)


@HEAT.column("From front", "ft")
def heat_back_ft(grid_no: Q, field_width_ft: Q) -> Q:
    return (GRID - grid_no) / (GRID - 1) * field_width_ft


def _heat(ground_ft: Q, string_ft: Q, subgrade_in: Q, pad: Q) -> Q:
    return pad * ((ground_ft - string_ft) * IN_PER_FT + subgrade_in)


@HEAT.column("Left", "in", fmt=SIGNED)
def heat_1_in(grid_1_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, on_pad: Q) -> Q:
    return _heat(
        pick(grid_1_ft, chosen_no), field_string_ft, field_subgrade_in, pick(on_pad, chosen_no)
    )


@HEAT.column("1/4", "in", fmt=SIGNED)
def heat_2_in(grid_2_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, on_pad: Q) -> Q:
    return _heat(
        pick(grid_2_ft, chosen_no), field_string_ft, field_subgrade_in, pick(on_pad, chosen_no)
    )


@HEAT.column("Half", "in", fmt=SIGNED)
def heat_3_in(grid_3_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, on_pad: Q) -> Q:
    return _heat(
        pick(grid_3_ft, chosen_no), field_string_ft, field_subgrade_in, pick(on_pad, chosen_no)
    )


@HEAT.column("3/4", "in", fmt=SIGNED)
def heat_4_in(grid_4_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, on_pad: Q) -> Q:
    return _heat(
        pick(grid_4_ft, chosen_no), field_string_ft, field_subgrade_in, pick(on_pad, chosen_no)
    )


@HEAT.column("Right", "in", fmt=SIGNED)
def heat_5_in(grid_5_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, on_pad: Q) -> Q:
    return _heat(
        pick(grid_5_ft, chosen_no), field_string_ft, field_subgrade_in, pick(on_pad, chosen_no)
    )


STAKES = FIELD_SHEET.table(
    "stake",
    "Corners of the base; stake A on the front or back string, B on the side's",
    len(CORNER_NAMES),
    "Right and back of corner 1; x and y in the survey's grid. Grade: the ground before stripping.",
    index=True,
)


@STAKES.column("Corner", kind="text")
def stake_name(stake_no: Q) -> Q:
    text: Q = ""
    for number, name in enumerate(CORNER_NAMES, 1):
        text = np.where(stake_no == number, name, text)
    return text


def _right(number: Q) -> Q:
    """1 for a corner at the right, else 0."""
    return np.where((number == 2) | (number == 3), 1, 0)


def _back(number: Q) -> Q:
    """1 for a corner at the back, else 0."""
    return np.where((number == 3) | (number == 4), 1, 0)


@STAKES.column("Right", "ft")
def stake_along_ft(stake_no: Q, field_length_ft: Q) -> Q:
    return _right(stake_no) * field_length_ft


@STAKES.column("Back", "ft")
def stake_back_ft(stake_no: Q, field_width_ft: Q) -> Q:
    return _back(stake_no) * field_width_ft


@STAKES.column("x", "ft")
def stake_x_ft(
    stake_along_ft: Q,
    stake_back_ft: Q,
    site_x_ft: Q,
    turn_deg: Q,
    field_length_ft: Q,
    field_width_ft: Q,
    building_length_ft: Q,
    building_width_ft: Q,
) -> Q:
    angle = turn_deg * math.pi / 180
    along = stake_along_ft - (field_length_ft - building_length_ft) / 2
    back = stake_back_ft - (field_width_ft - building_width_ft) / 2
    return site_x_ft + along * np.cos(angle) - back * np.sin(angle)


@STAKES.column("y", "ft")
def stake_y_ft(
    stake_along_ft: Q,
    stake_back_ft: Q,
    site_y_ft: Q,
    turn_deg: Q,
    field_length_ft: Q,
    field_width_ft: Q,
    building_length_ft: Q,
    building_width_ft: Q,
) -> Q:
    angle = turn_deg * math.pi / 180
    along = stake_along_ft - (field_length_ft - building_length_ft) / 2
    back = stake_back_ft - (field_width_ft - building_width_ft) / 2
    return site_y_ft + along * np.sin(angle) + back * np.cos(angle)


@STAKES.column("A x", "ft", note="On the string of the front or the back.")
def stake_front_x_ft(stake_no: Q, stake_x_ft: Q, field_stakes_ft: Q, turn_deg: Q) -> Q:
    outward = 2 * _right(stake_no) - 1
    return stake_x_ft + outward * field_stakes_ft * np.cos(turn_deg * math.pi / 180)


@STAKES.column("A y", "ft")
def stake_front_y_ft(stake_no: Q, stake_y_ft: Q, field_stakes_ft: Q, turn_deg: Q) -> Q:
    outward = 2 * _right(stake_no) - 1
    return stake_y_ft + outward * field_stakes_ft * np.sin(turn_deg * math.pi / 180)


@STAKES.column("B x", "ft", note="On the string of the left or the right.")
def stake_side_x_ft(stake_no: Q, stake_x_ft: Q, field_stakes_ft: Q, turn_deg: Q) -> Q:
    outward = 2 * _back(stake_no) - 1
    return stake_x_ft - outward * field_stakes_ft * np.sin(turn_deg * math.pi / 180)


@STAKES.column("B y", "ft")
def stake_side_y_ft(stake_no: Q, stake_y_ft: Q, field_stakes_ft: Q, turn_deg: Q) -> Q:
    outward = 2 * _back(stake_no) - 1
    return stake_y_ft + outward * field_stakes_ft * np.cos(turn_deg * math.pi / 180)


@STAKES.column("String above grade", "in", fmt="0.0")
def stake_string_in(
    stake_no: Q,
    field_string_ft: Q,
    ground_corner_1_ft: Q,
    ground_corner_2_ft: Q,
    ground_corner_3_ft: Q,
    ground_corner_4_ft: Q,
    chosen_no: Q,
) -> Q:
    ground: Q = pick(ground_corner_1_ft, chosen_no)
    corners = (ground_corner_2_ft, ground_corner_3_ft, ground_corner_4_ft)
    for number, corner_ft in enumerate(corners, 2):
        ground = np.where(stake_no == number, pick(corner_ft, chosen_no), ground)
    return (field_string_ft - ground) * IN_PER_FT


FIELD_SHEET.gathers_notes("Order of work", GatherNotes(Step, numbered))
