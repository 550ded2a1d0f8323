"""Sheet Field Sheet: what to dig and set, for the chosen option; and the stations it is read from."""

from __future__ import annotations

import numpy as np

from estimator.model.grading import GRADING
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, pick

STATIONS = 72
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
    "String above corner 1",
    "in",
    fmt="0.0",
    scope="job",
    note="Front left; negative: the string lies below the ground.",
)
def string_1_in(top_ft: Q, ground_corner_1_ft: Q, chosen_no: Q) -> Q:
    return (pick(top_ft, chosen_no) - pick(ground_corner_1_ft, chosen_no)) * IN_PER_FT


@FIELD_SHEET.row("String above corner 2", "in", fmt="0.0", scope="job", note="Front right.")
def string_2_in(top_ft: Q, ground_corner_2_ft: Q, chosen_no: Q) -> Q:
    return (pick(top_ft, chosen_no) - pick(ground_corner_2_ft, chosen_no)) * IN_PER_FT


@FIELD_SHEET.row("String above corner 3", "in", fmt="0.0", scope="job", note="Back right.")
def string_3_in(top_ft: Q, ground_corner_3_ft: Q, chosen_no: Q) -> Q:
    return (pick(top_ft, chosen_no) - pick(ground_corner_3_ft, chosen_no)) * IN_PER_FT


@FIELD_SHEET.row("String above corner 4", "in", fmt="0.0", scope="job", note="Back left.")
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
def dig_at_ft(station_at_ft: Q, chosen_no: Q) -> Q:
    return pick(station_at_ft, chosen_no)


@DIG.column("String above ground", "in", fmt="0.0")
def dig_string_in(dig_side: Q, station_ground_ft: Q, chosen_no: Q, field_string_ft: Q) -> Q:
    ground = pick(station_ground_ft, chosen_no)
    return np.where(dig_side > 0, (field_string_ft - ground) * IN_PER_FT, 0)


@DIG.column("Courses", fmt="0;-0;")
def dig_courses(station_courses: Q, chosen_no: Q) -> Q:
    return pick(station_courses, chosen_no)


@DIG.column("Trench below the string", "in", fmt="0.0")
def dig_below_string_in(dig_courses: Q, field_timber_in: Q, field_bedding_in: Q, dig_side: Q) -> Q:
    return np.where(
        (dig_side > 0) & (dig_courses > 0), dig_courses * field_timber_in + field_bedding_in, 0
    )


@DIG.column("Trench below the ground", "in", fmt="0.0", note="Ground before stripping.")
def dig_below_ground_in(dig_below_string_in: Q, dig_string_in: Q) -> Q:
    return np.where(dig_below_string_in > 0, dig_below_string_in - dig_string_in, 0)


SPOTS = FIELD_SHEET.table(
    "support", "Supports: cut-off and depth", 60, "Measured from corner 1 of the building."
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


FIELD_SHEET.notes(
    "Order of work",
    "1. Locate utilities; look up for lines; know septic and wells. 2. Stake corners a few feet outside, string, check both diagonals.",
    "3. Strip sod and topsoil; heap them apart. 4. Trench; bed the trench with stone; set timbers, level, pin, screw. Inspection hold where the permit asks.",
    "5. Fill and tamp in lifts. 6. Fabric before stone, strips lapped downhill over uphill. 7. Leave one side open for the truck and tip the stone inside the frame after it stands; spread and compact in two lifts.",
    "8. Drain: in soil that holds water leave an outlet through the low side. 9. Skids or beams, square; joists; blocking; sheets with gaps, ends on joists.",
    "Concrete: inspection before pouring where asked; wait the cure days before framing.",
)
