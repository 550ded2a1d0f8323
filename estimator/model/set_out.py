"""Of the sheet Grading: what is set out and dug from, as solvers give it, and where strings run."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.model.grading import CORNER_NAMES, GRADING
from estimator.model.tape import inches
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, pick

STATIONS = 40
"""Ten for each of the four sides."""
STEPS = 24
GRID = 5
"""Points of the grid of heights along each side of the base."""
BENDS = 96
"""Corners of the line under the courses, 24 for each of the four sides."""
TIES = 2
"""Points of the survey that corners are taped from."""
SET_TO = 8
"""Parts of an inch that a tape is laid to over the ground."""
GUESSED = " ?"
"""Behind what no reading stands beyond."""
SIDE_NAMES = ("front", "right", "back", "left")

GRADING.section("Strings")
GRADING.solved(
    "string_ground_ft",
    "Highest ground on the lines of the strings",
    "ft",
    solver="ground_beside",
    fmt="0.000",
    note="Anywhere from stake to stake.",
)


@GRADING.row(
    "That ground over the top",
    "in",
    fmt="0.0",
    note="Over the forms of a slab.",
)
def string_over_in(string_ground_ft: Q, top_ft: Q, slab_thick_used_in: Q) -> Q:
    return np.maximum((string_ground_ft - top_ft) * IN_PER_FT - slab_thick_used_in, 0)


@GRADING.row(
    "Strings above the top",
    "in",
    fmt="0.0",
    note="By the step on Factors where ground is in their way; else at the top itself.",
)
def string_offset_in(string_over_in: Q, string_step_in: Q) -> Q:
    steps = np.ceil(string_over_in / np.where(string_step_in > 0, string_step_in, 1))
    return np.where(string_step_in > 0, steps * string_step_in, string_over_in)


@GRADING.row("Height of the strings", "ft", fmt="0.000", note="Over timbers, pad, forms, supports.")
def string_ft(top_ft: Q, slab_thick_used_in: Q, string_offset_in: Q) -> Q:
    return top_ft + (slab_thick_used_in + string_offset_in) / IN_PER_FT


@GRADING.row("Trench, as the Field Sheet tells it", kind="text", scope="job")
def trench_told(
    trench_width_in: Q,
    timber_width_in: Q,
    timber_depth_in: Q,
    bedding_in: Q,
    chosen_no: Q,
) -> Q:
    timber = pick(timber_width_in, chosen_no)
    deep = pick(timber_depth_in, chosen_no)
    wide = np.maximum(pick(trench_width_in, chosen_no), timber)
    told = join(
        inches(wide, SET_TO),
        " wide, ",
        inches((wide - timber) / 2, SET_TO),
        " of it outside; bedding ",
        inches(pick(bedding_in, chosen_no), SET_TO),
        "; courses of ",
        inches(deep, SET_TO),
    )
    return np.where(deep > 0, told, "")


GRADING.solved(
    "one_more",
    "One more reading narrows the earth most at",
    solver="ground_beside",
    kind="text",
    note="x and y of the survey; to one standard deviation, how well the readings can tell the earth under the base, now and with one there.",
    source="Kriging over a plane, its variogram from the readings",
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
STATION_TABLE.solved(
    "station_guessed",
    "Guessed",
    solver="frame",
    fmt="0;-0;",
    note="1 outside the readings.",
    by_option=True,
)

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

STAKE_ENDS = GRADING.table(
    "stake_end",
    "Ground at stakes and corners",
    3 * len(CORNER_NAMES),
    "On the strings beyond the corners: stakes A of corners 1 to 4, then stakes B; then the corners.",
)
STAKE_ENDS.solved(
    "stake_ground_ft", "Ground", "ft", solver="ground_beside", fmt="0.000", by_option=True
)
STAKE_ENDS.solved(
    "stake_guessed",
    "Guessed",
    solver="ground_beside",
    fmt="0;-0;",
    note="1 outside the readings.",
    by_option=True,
)

TIE_TABLE = GRADING.table(
    "tie",
    "Points of the survey that corners are taped from",
    TIES,
    "Those two from which the tapes cross best at every corner.",
    index=True,
    shows=Appearance(workings=True),
)
TIE_TABLE.solved("tie_name", "Point", solver="ground_beside", kind="text")
TIE_TABLE.solved("tie_x_ft", "x", "ft", solver="ground_beside")
TIE_TABLE.solved("tie_y_ft", "y", "ft", solver="ground_beside")
TIE_TABLE.solved("tie_height_ft", "Height", "ft", solver="ground_beside", fmt="0.000")
