"""Sheet Field Sheet: what to dig and set, for the chosen option; and the stations it is read from."""

from __future__ import annotations

import math

import numpy as np

from estimator.model.around import GRID
from estimator.model.footings import FOOTINGS
from estimator.model.grading import GRADING
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, as_text, join, nth, pick

STATIONS = 40
"""Ten for each of the four sides."""
STEPS = 24
SPOTS_MOST = 24
SIGNED = "+0.0;-0.0;0.0"
STAKES_OUT = (
    # name, share of length along the front, of width back, stakes' offset along and back
    ("corner 1", 0, 0, 0, 0),
    ("corner 2", 1, 0, 0, 0),
    ("corner 3", 1, 1, 0, 0),
    ("corner 4", 0, 1, 0, 0),
    ("1, on the front string", 0, 0, -1, 0),
    ("1, on the left string", 0, 0, 0, -1),
    ("2, on the front string", 1, 0, 1, 0),
    ("2, on the right string", 1, 0, 0, -1),
    ("3, on the back string", 1, 1, 1, 0),
    ("3, on the right string", 1, 1, 0, 1),
    ("4, on the back string", 0, 1, -1, 0),
    ("4, on the left string", 0, 1, 0, 1),
)
FIELD_SHEET = Sheet(
    "Field Sheet",
    "Field Sheet: stakes, strings, depths, order of work",
    "For the chosen option. Measure from the string; check both diagonals before you dig.",
)

STATION_TABLE = GRADING.table(
    "station",
    "Stations along the sides",
    STATIONS,
    "Side 1 is the front, then anticlockwise. Ground before stripping.",
)
STATION_TABLE.solved("station_side", "Side", solver="frame", fmt="0", by_option=True)
STATION_TABLE.solved("station_at_ft", "From its corner", "ft", solver="frame", by_option=True)
STATION_TABLE.solved(
    "station_ground_ft", "Ground", "ft", solver="frame", fmt="0.000", by_option=True
)
STATION_TABLE.solved("station_courses", "Courses", solver="frame", fmt="0", by_option=True)

STEP_TABLE = GRADING.table(
    "step", "Lower courses", STEPS, "Every length of timber below the top course."
)
STEP_TABLE.solved("step_side", "Side", solver="frame", fmt="0", by_option=True)
STEP_TABLE.solved("step_course", "Course", solver="frame", fmt="0", by_option=True)
STEP_TABLE.solved("step_start_ft", "From", "ft", solver="frame", by_option=True)
STEP_TABLE.solved("step_end_ft", "To", "ft", solver="frame", by_option=True)

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
        solver="around",
        fmt="0.000",
        by_option=True,
    )

FIELD_SHEET.notes(
    "First",
    "Call the utility locating service and wait out its notice before any digging. Dig by hand near the marks.",
)
FIELD_SHEET.section("Set out")


@FIELD_SHEET.row("Option", kind="text", scope="job")
def field_title(chosen_title: Q) -> Q:
    return np.where(chosen_title == "", "", chosen_title)


@FIELD_SHEET.row("Notice to wait", "days", fmt="0", scope="job")
def field_notice(notice_days: Q) -> Q:
    return notice_days * 1


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


@FIELD_SHEET.row(
    "String above corner 1, front left",
    "in",
    fmt="0.0",
    scope="job",
    note="Negative: the string lies below the ground.",
)
def string_1_in(top_ft: Q, ground_corner_1_ft: Q, chosen_no: Q) -> Q:
    return (pick(top_ft, chosen_no) - pick(ground_corner_1_ft, chosen_no)) * IN_PER_FT


@FIELD_SHEET.row("String above corner 2, front right", "in", fmt="0.0", scope="job")
def string_2_in(top_ft: Q, ground_corner_2_ft: Q, chosen_no: Q) -> Q:
    return (pick(top_ft, chosen_no) - pick(ground_corner_2_ft, chosen_no)) * IN_PER_FT


@FIELD_SHEET.row("String above corner 3, back right", "in", fmt="0.0", scope="job")
def string_3_in(top_ft: Q, ground_corner_3_ft: Q, chosen_no: Q) -> Q:
    return (pick(top_ft, chosen_no) - pick(ground_corner_3_ft, chosen_no)) * IN_PER_FT


@FIELD_SHEET.row("String above corner 4, back left", "in", fmt="0.0", scope="job")
def string_4_in(top_ft: Q, ground_corner_4_ft: Q, chosen_no: Q) -> Q:
    return (pick(top_ft, chosen_no) - pick(ground_corner_4_ft, chosen_no)) * IN_PER_FT


@FIELD_SHEET.row("Subgrade below the string", "in", fmt="0.0", scope="job")
def field_subgrade_in(stone_depth_in: Q, chosen_no: Q) -> Q:
    return pick(stone_depth_in, chosen_no)


@FIELD_SHEET.row("Tamping lifts", "lifts", fmt="0", scope="job")
def field_lifts(lifts: Q, chosen_no: Q) -> Q:
    return pick(lifts, chosen_no)


@FIELD_SHEET.row("Stone to order", "yd3", fmt="0.0", scope="job")
def field_stone_yd3(stone_order_yd3: Q, chosen_no: Q) -> Q:
    return pick(stone_order_yd3, chosen_no)


@FIELD_SHEET.row("Cure before framing", "days", fmt="0", scope="job", note="Concrete only.")
def field_cure(concrete_yd3: Q, chosen_no: Q, cure_days: Q) -> Q:
    return np.where(pick(concrete_yd3, chosen_no) > 0, cure_days, 0)


@FIELD_SHEET.row("Timber depth", "in", scope="job")
def field_timber_in(timber_depth_in: Q, chosen_no: Q) -> Q:
    return pick(timber_depth_in, chosen_no)


@FIELD_SHEET.row("Bedding", "in", scope="job")
def field_bedding_in(bedding_in: Q, chosen_no: Q) -> Q:
    return pick(bedding_in, chosen_no)


@FIELD_SHEET.row("String", "ft", fmt="0.000", scope="job", note="Survey's datum.")
def field_string_ft(top_ft: Q, chosen_no: Q) -> Q:
    return pick(top_ft, chosen_no)


@FIELD_SHEET.row("On a pad", fmt="0", scope="job")
def field_pad(on_pad: Q, chosen_no: Q) -> Q:
    return pick(on_pad, chosen_no)


@FIELD_SHEET.row("Lead water round", kind="text", scope="job", note="Sides with ground above them.")
def field_water(uphill_sides: Q, uphill_water: Q, uphill_run_ft: Q, chosen_no: Q) -> Q:
    run = pick(uphill_run_ft, chosen_no)
    what = join(
        pick(uphill_water, chosen_no),
        ", ",
        as_text(run, "0"),
        " ft: ",
        pick(uphill_sides, chosen_no),
    )
    return np.where(run > 0, what, "none")


@FIELD_SHEET.row("Drain outlet through the low side", kind="text", scope="job")
def field_outlet(outlet_used: Q, chosen_no: Q, chosen_used: Q) -> Q:
    outlet = np.where(pick(outlet_used, chosen_no) == 1, "yes, at the lowest corner", "none")
    return np.where(chosen_used == 1, outlet, "")


@FIELD_SHEET.row(
    "Grid step along the front", "ft", scope="job", note="For the table of cut and fill."
)
def grid_step_ft(field_length_ft: Q) -> Q:
    return field_length_ft / (GRID - 1)


STAKES = FIELD_SHEET.table(
    "stake",
    "Stakes",
    12,
    "From the base's front left corner, along the front and back; x and y in the survey's grid.",
    index=True,
)


@STAKES.column("Stake", kind="text")
def stake_name(stake_no: Q) -> Q:
    text: Q = ""
    for number, (name, *_) in enumerate(STAKES_OUT, 1):
        text = np.where(stake_no == number, name, text)
    return text


def _stake(number: Q, column: int) -> Q:
    """A share or offset of each stake, by its number."""
    value: Q = 0 * number
    for stake, row in enumerate(STAKES_OUT, 1):
        if row[column]:
            value = value + np.where(number == stake, row[column], 0)
    return value


@STAKES.column("Along the front", "ft")
def stake_along_ft(stake_no: Q, field_length_ft: Q, stake_off_ft: Q) -> Q:
    return _stake(stake_no, 1) * field_length_ft + (_stake(stake_no, 3) * stake_off_ft)


@STAKES.column("Back", "ft")
def stake_back_ft(stake_no: Q, field_width_ft: Q, stake_off_ft: Q) -> Q:
    return _stake(stake_no, 2) * field_width_ft + (_stake(stake_no, 4) * stake_off_ft)


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


HEAT = FIELD_SHEET.table(
    "grid",
    "Cut and fill to the subgrade, seen from above",
    GRID,
    "From the ground before stripping: + dig so deep, - fill so high. Back at the top, front at the bottom; left to right, edge to edge.",
)


@HEAT.column("From the front", "ft")
def heat_back_ft(grid_no: Q, field_width_ft: Q) -> Q:
    return (GRID - grid_no) / (GRID - 1) * field_width_ft


def _heat(ground_ft: Q, string_ft: Q, subgrade_in: Q, pad: Q) -> Q:
    return pad * ((ground_ft - string_ft) * IN_PER_FT + subgrade_in)


@HEAT.column("Left edge", "in", fmt=SIGNED)
def heat_1_in(
    grid_1_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, field_pad: Q
) -> Q:
    return _heat(pick(grid_1_ft, chosen_no), field_string_ft, field_subgrade_in, field_pad)


@HEAT.column("Quarter", "in", fmt=SIGNED)
def heat_2_in(
    grid_2_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, field_pad: Q
) -> Q:
    return _heat(pick(grid_2_ft, chosen_no), field_string_ft, field_subgrade_in, field_pad)


@HEAT.column("Middle", "in", fmt=SIGNED)
def heat_3_in(
    grid_3_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, field_pad: Q
) -> Q:
    return _heat(pick(grid_3_ft, chosen_no), field_string_ft, field_subgrade_in, field_pad)


@HEAT.column("Three quarters", "in", fmt=SIGNED)
def heat_4_in(
    grid_4_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, field_pad: Q
) -> Q:
    return _heat(pick(grid_4_ft, chosen_no), field_string_ft, field_subgrade_in, field_pad)


@HEAT.column("Right edge", "in", fmt=SIGNED)
def heat_5_in(
    grid_5_ft: Q, chosen_no: Q, field_string_ft: Q, field_subgrade_in: Q, field_pad: Q
) -> Q:
    return _heat(pick(grid_5_ft, chosen_no), field_string_ft, field_subgrade_in, field_pad)


FIELD_SHEET.notes(
    "Order of work",
    "1. Locate utilities; look up for lines; know septic and wells. 2. Stake corners a few feet outside, string, check both diagonals.",
    "3. Strip sod and topsoil; heap them apart. 4. Trench; bed the trench with stone; set timbers, level, pin, screw. Inspection hold where the permit asks.",
    "5. Fill and tamp in lifts. 6. Fabric before stone, strips lapped downhill over uphill. 7. Leave one side open for the truck and tip the stone inside the frame after it stands; spread and compact in two lifts.",
    "8. Drain: in soil that holds water leave an outlet through the low side. 9. Skids or beams, square; joists; blocking; sheets with gaps, ends on joists.",
    "Concrete: inspection before pouring where asked; wait the cure days before framing.",
)

DIG = FIELD_SHEET.table(
    "station",
    "Dig depths along the sides",
    STATIONS,
    "Side 1 is the front, 2 right, 3 back, 4 left, each from its first corner.",
)


@DIG.column("Side", fmt="0;-0;")
def dig_side(station_side: Q, chosen_no: Q) -> Q:
    return pick(station_side, chosen_no)


@DIG.column("From its corner", "ft", fmt="0.00")
def dig_at_ft(dig_side: Q, station_at_ft: Q, chosen_no: Q) -> Q:
    return np.where(dig_side > 0, pick(station_at_ft, chosen_no), 0)


@DIG.column("String above ground", "in", fmt="0.0")
def dig_string_in(dig_side: Q, station_ground_ft: Q, chosen_no: Q, field_string_ft: Q) -> Q:
    ground = pick(station_ground_ft, chosen_no)
    return np.where(dig_side > 0, (field_string_ft - ground) * IN_PER_FT, 0)


@DIG.column("Courses", fmt="0;-0;")
def dig_courses(dig_side: Q, station_courses: Q, chosen_no: Q) -> Q:
    return np.where(dig_side > 0, pick(station_courses, chosen_no), 0)


@DIG.column("Trench below the string", "in", fmt="0.0")
def dig_below_string_in(dig_courses: Q, field_timber_in: Q, field_bedding_in: Q, dig_side: Q) -> Q:
    return np.where(
        (dig_side > 0) & (dig_courses > 0), dig_courses * field_timber_in + field_bedding_in, 0
    )


@DIG.column("Trench below the ground", "in", fmt="0.0", note="Ground before stripping.")
def dig_below_ground_in(dig_below_string_in: Q, dig_string_in: Q) -> Q:
    return np.where(dig_below_string_in > 0, dig_below_string_in - dig_string_in, 0)


COURSES = FIELD_SHEET.table(
    "step",
    "Lower courses: where they begin and end",
    STEPS,
    "Course 1 runs all round. From the side's first corner.",
)


@COURSES.column("Side", fmt="0;-0;")
def low_side(step_side: Q, chosen_no: Q) -> Q:
    return pick(step_side, chosen_no)


@COURSES.column("Course", fmt="0;-0;")
def low_course(step_course: Q, chosen_no: Q) -> Q:
    return pick(step_course, chosen_no)


@COURSES.column("From", "ft")
def low_start_ft(step_start_ft: Q, chosen_no: Q) -> Q:
    return pick(step_start_ft, chosen_no)


@COURSES.column("To", "ft")
def low_end_ft(step_end_ft: Q, chosen_no: Q) -> Q:
    return pick(step_end_ft, chosen_no)


@COURSES.column("Its bottom below the string", "in", fmt="0.0")
def low_bottom_in(low_course: Q, field_timber_in: Q) -> Q:
    return low_course * field_timber_in


SPOTS = FOOTINGS.table(
    "support", "Supports of the chosen option", 60, "Measured from corner 1 of the building."
)


@SPOTS.column("Along the front", "ft", fmt="0.00")
def spot_x_ft(support_x_ft: Q, chosen_no: Q) -> Q:
    return pick(support_x_ft, chosen_no)


@SPOTS.column("Back", "ft", fmt="0.00")
def spot_y_ft(support_y_ft: Q, chosen_no: Q) -> Q:
    return pick(support_y_ft, chosen_no)


@SPOTS.column("Top above the ground", "in", fmt="0.0")
def spot_rise_in(support_rise_in: Q, chosen_no: Q) -> Q:
    return pick(support_rise_in, chosen_no)


@SPOTS.column("Dig below the ground", "in", fmt="0.0")
def spot_dig_in(support_dig_in: Q, chosen_no: Q) -> Q:
    return pick(support_dig_in, chosen_no)


@SPOTS.column("Blocks", fmt="0;-0;")
def spot_blocks(support_blocks: Q, chosen_no: Q) -> Q:
    return pick(support_blocks, chosen_no)


CUT_OFFS = FIELD_SHEET.table(
    "spot",
    "Supports: cut-off and depth",
    SPOTS_MOST,
    "Measured from corner 1 of the building. More than these stand on Footings.",
    index=True,
)


@CUT_OFFS.column("Along the front", "ft")
def cut_off_x_ft(spot_no: Q, spot_x_ft: Q) -> Q:
    return nth(spot_x_ft, spot_no)


@CUT_OFFS.column("Back", "ft")
def cut_off_y_ft(spot_no: Q, spot_y_ft: Q) -> Q:
    return nth(spot_y_ft, spot_no)


@CUT_OFFS.column("Top above the ground", "in", fmt="0.0", note="Where the pier is cut off.")
def cut_off_in(spot_no: Q, spot_rise_in: Q) -> Q:
    return nth(spot_rise_in, spot_no)


@CUT_OFFS.column("Dig below the ground", "in", fmt="0.0")
def cut_off_dig_in(spot_no: Q, spot_dig_in: Q) -> Q:
    return nth(spot_dig_in, spot_no)


@CUT_OFFS.column("Blocks", fmt="0;-0;")
def cut_off_blocks(spot_no: Q, spot_blocks: Q) -> Q:
    return nth(spot_blocks, spot_no)
