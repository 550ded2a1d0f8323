"""Sheet Field Sheet, second page: depths along the sides, lower courses, supports."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from estimator.appearance import Appearance
from estimator.model.field_sheet import (
    EACH_SIDE,
    FIELD_SHEET,
    SHOWN_LINES,
    SIDE_NAMES,
    STATIONS,
    STEPS,
    THIRDS,
)
from estimator.model.footings import FOOTINGS
from estimator.model.grading import GRADING
from estimator.rows import Table
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, nth, pick

__all__ = ["FIELD_SHEET"]
"""The sheet, whole only once this module has added its second page."""

Row = Callable[..., Any]

DIG = GRADING.table(
    "station",
    "Dig depths along the sides, chosen option",
    STATIONS,
    "Side 1 is the front, 2 right, 3 back, 4 left, each from its first corner.",
    shows=Appearance(workings=True),
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


@DIG.column(
    "Dig below the string",
    "in",
    fmt="0.0",
    note="To the trench's bottom, or an open pad's subgrade.",
)
def dig_below_string_in(
    dig_courses: Q,
    field_timber_in: Q,
    field_bedding_in: Q,
    dig_side: Q,
    field_subgrade_in: Q,
    on_pad: Q,
    chosen_no: Q,
) -> Q:
    trench = dig_courses * field_timber_in + field_bedding_in
    below = np.where(dig_courses > 0, trench, field_subgrade_in * pick(on_pad, chosen_no))
    return np.where(dig_side > 0, below, 0)


@DIG.column("Dig below the ground", "in", fmt="0.0", note="Ground before stripping.")
def dig_below_ground_in(dig_below_string_in: Q, dig_string_in: Q) -> Q:
    return np.where(dig_below_string_in > 0, dig_below_string_in - dig_string_in, 0)


def _add(table: Table, prefix: str, columns: Iterable[tuple[Row, str, str, str]]) -> None:
    """Add columns (function, heading, unit, format); their keys begin alike."""
    for function, heading, unit, fmt in columns:
        function.__name__ = f"{prefix}_{function.__name__}"
        table.column(heading, unit, fmt=fmt)(function)


BESIDE_SIDE, BESIDE_THIRD = (0, 6, 11, 16), (0, 7, 13)
"""First column of the table of each side, and of each third of a list; 0 below what is before."""


def _side_table(side: int) -> None:
    """What is dug at the stations of one side."""
    title = f"Side {side}, {SIDE_NAMES[side - 1]}"
    table = FIELD_SHEET.table(
        "dig_line", title, EACH_SIDE, shows=Appearance(beside=BESIDE_SIDE[side - 1])
    )
    before = EACH_SIDE * (side - 1)

    def at_ft(dig_line_no: Q, dig_at_ft: Q, dig_below_string_in: Q) -> Q:
        number = dig_line_no + before
        return np.where(nth(dig_below_string_in, number) > 0, nth(dig_at_ft, number), 0)

    def courses(dig_line_no: Q, dig_courses: Q) -> Q:
        return nth(dig_courses, dig_line_no + before)

    def string_in(dig_line_no: Q, dig_below_string_in: Q) -> Q:
        return nth(dig_below_string_in, dig_line_no + before)

    def ground_in(dig_line_no: Q, dig_below_ground_in: Q) -> Q:
        return nth(dig_below_ground_in, dig_line_no + before)

    columns = (
        (at_ft, "At", "ft", "0.00"),
        (courses, "Crs.", "", "0;-0;"),
        (string_in, "Below string", "in", "0.0"),
        (ground_in, "Below grade", "in", "0.0"),
    )
    _add(table, f"side_{side}", columns)


FIELD_SHEET.notes(
    "Dig along the sides",
    "From each side's first corner, anticlockwise. To the trench's bottom or an open pad's subgrade, below the string and below grade,"
    " the ground before stripping (negative: fill). Crs.: courses. Supports beyond 24 stand on Footings.",
)
for _side in range(1, len(SIDE_NAMES) + 1):
    _side_table(_side)

COURSES = GRADING.table(
    "step", "Lower courses of the chosen option", STEPS, shows=Appearance(workings=True)
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


def _course_table(third: int) -> None:
    """A third of the lower courses, in order of sides."""
    title = "Lower courses, from the side's first corner; low: bottom below the string"
    table = FIELD_SHEET.table(
        "shown_line",
        title if third == 1 else "",
        SHOWN_LINES,
        shows=Appearance(beside=BESIDE_THIRD[third - 1]),
    )
    before = SHOWN_LINES * (third - 1)

    def side(shown_line_no: Q, low_side: Q) -> Q:
        return nth(low_side, shown_line_no + before)

    def course(shown_line_no: Q, low_course: Q) -> Q:
        return nth(low_course, shown_line_no + before)

    def start_ft(shown_line_no: Q, low_start_ft: Q) -> Q:
        return nth(low_start_ft, shown_line_no + before)

    def end_ft(shown_line_no: Q, low_end_ft: Q) -> Q:
        return nth(low_end_ft, shown_line_no + before)

    def bottom_in(shown_line_no: Q, low_bottom_in: Q) -> Q:
        return nth(low_bottom_in, shown_line_no + before)

    columns = (
        (side, "Side", "", "0;-0;"),
        (course, "Crs.", "", "0;-0;"),
        (start_ft, "From", "ft", "0.00"),
        (end_ft, "To", "ft", "0.00"),
        (bottom_in, "Low", "in", "0.0"),
    )
    _add(table, f"low_{third}", columns)


for _third in range(1, THIRDS + 1):
    _course_table(_third)

SPOTS = FOOTINGS.table(
    "support",
    "Supports of the chosen option",
    60,
    "Measured from corner 1 of the building.",
    shows=Appearance(workings=True),
)


@SPOTS.column("In use", fmt="0;-0;")
def spot_on(support_on: Q, chosen_no: Q) -> Q:
    return pick(support_on, chosen_no)


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


def _support_table(third: int) -> None:
    """A third of the supports that are printed."""
    title = "Supports, from the building's corner 1: cut off above grade, dig below it"
    table = FIELD_SHEET.table(
        "shown_line",
        title if third == 1 else "",
        SHOWN_LINES,
        shows=Appearance(beside=BESIDE_THIRD[third - 1]),
    )
    before = SHOWN_LINES * (third - 1)

    def no(shown_line_no: Q, spot_on: Q) -> Q:
        number = shown_line_no + before
        return number * nth(spot_on, number)

    def x_ft(shown_line_no: Q, spot_x_ft: Q) -> Q:
        return nth(spot_x_ft, shown_line_no + before)

    def y_ft(shown_line_no: Q, spot_y_ft: Q) -> Q:
        return nth(spot_y_ft, shown_line_no + before)

    def rise_in(shown_line_no: Q, spot_rise_in: Q) -> Q:
        return nth(spot_rise_in, shown_line_no + before)

    def dig_in(shown_line_no: Q, spot_dig_in: Q) -> Q:
        return nth(spot_dig_in, shown_line_no + before)

    def blocks(shown_line_no: Q, spot_blocks: Q) -> Q:
        return nth(spot_blocks, shown_line_no + before)

    columns = (
        (no, "No.", "", "0;-0;"),
        (x_ft, "Right", "ft", "0.00"),
        (y_ft, "Back", "ft", "0.00"),
        (rise_in, "Cut off", "in", "0.0"),
        (dig_in, "Dig", "in", "0.0"),
        (blocks, "Blks", "", "0;-0;"),
    )
    _add(table, f"spot_{third}", columns)


for _third in range(1, THIRDS + 1):
    _support_table(_third)
