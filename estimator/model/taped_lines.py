"""Of the sheet Survey: lines taken with a long level and a tape, where no instrument stands."""

from __future__ import annotations

import math

import numpy as np

from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.model.quick_survey import NO_READING_FT, READING_FMT
from estimator.rows import Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup, position, sum_if, sum_up_to

TAPED = Chapter()
AT_READING = "Blank where the line starts at a reading."

LINES = TAPED.table(
    "tape",
    "A long level and a tape: lines",
    6,
    "The quick way. One line a string or a run of the level; its steps stand below and join the readings above.",
    index=True,
    shows=Appearance(characters={"line_name": 13, "line_at": 13, "line_to": 13}),
)
LINES.typed(Field("line_name", "Line", kind="text", needed=False))
LINES.typed(
    Field(
        "line_at",
        "Starts at reading",
        kind="key",
        refers="point_name",
        needed=False,
        note="A point of the readings above.",
        when_blank="Blank: at the x, y and height here.",
    )
)
LINES.typed(
    Field(
        "line_to",
        "Ends at reading",
        kind="key",
        refers="point_name",
        needed=False,
        note="Its last length ends there: the line is laid towards it, and what it misses it by is its closing error.",
        when_blank="Blank: it ends at no reading.",
    )
)
for _key, _label in (("line_x_ft", "Start x"), ("line_y_ft", "Start y")):
    LINES.typed(
        Field(
            _key,
            _label,
            "ft",
            "length",
            None,
            -2000,
            2000,
            needed=False,
            absent=NO_READING_FT,
            fmt=READING_FMT,
            when_blank=AT_READING,
        )
    )
LINES.typed(
    Field(
        "line_height_ft",
        "Start height",
        "ft",
        "length",
        None,
        -10000,
        10000,
        needed=False,
        absent=NO_READING_FT,
        note="On the datum of the readings.",
        fmt=READING_FMT,
        when_blank=AT_READING,
    )
)
LINES.typed(
    Field(
        "line_deg",
        "Direction",
        "deg",
        default=None,
        low=-360,
        high=360,
        needed=False,
        note="Anticlockwise from the x axis.",
        when_blank="Blank: along it, or towards the reading that the line ends at.",
    )
)


@LINES.column("Starts at x", "ft")
def line_start_x_ft(line_name: Q, line_at: Q, line_x_ft: Q, point_name: Q, point_x_ft: Q) -> Q:
    tied = lookup(line_at, point_name, point_x_ft, 0)
    return np.where(line_name == "", 0, np.where(line_at == "", line_x_ft, tied))


@LINES.column("Starts at y", "ft")
def line_start_y_ft(line_name: Q, line_at: Q, line_y_ft: Q, point_name: Q, point_y_ft: Q) -> Q:
    tied = lookup(line_at, point_name, point_y_ft, 0)
    return np.where(line_name == "", 0, np.where(line_at == "", line_y_ft, tied))


@LINES.column("Starts at height", "ft", fmt="0.000")
def line_start_ft(
    line_name: Q, line_at: Q, line_height_ft: Q, point_name: Q, point_height_ft: Q
) -> Q:
    tied = lookup(line_at, point_name, point_height_ft, 0)
    return np.where(line_name == "", 0, np.where(line_at == "", line_height_ft, tied))


DROPS = TAPED.table(
    "drop",
    "A long level and a tape: drops",
    20,
    "One line a length of the level, in order: how far its end stands above the ground, and how far it reaches where that is not the whole level.",
    index=True,
    shows=Appearance(characters={"drop_name": 13, "drop_line": 13}),
)
DROPS.typed(Field("drop_name", "Point", kind="text", needed=False))
DROPS.typed(Field("drop_line", "Line", kind="key", refers="line_name", default=None))
DROPS.typed(
    Field(
        "drop_length_ft",
        "Length",
        "ft",
        "length",
        None,
        0.1,
        200,
        needed=False,
        note="Level, not along the ground.",
        when_blank="Blank: the whole of the long level.",
    )
)
DROPS.typed(
    Field(
        "drop_in",
        "Drop over it",
        "in",
        "length",
        None,
        -120,
        120,
        note="Bare numbers are {inches|millimetres}; a rise is negative.",
        fmt="0.00",
    )
)
LINE_ORDER = 1000


@DROPS.column("Order", fmt="0", note="Line by line, then as typed.")
def drop_order(drop_name: Q, drop_line: Q, line_name: Q, drop_no: Q) -> Q:
    return np.where(drop_name == "", 0, position(drop_line, line_name) * LINE_ORDER + drop_no)


@DROPS.column("Reach", "ft")
def drop_reach_ft(drop_name: Q, drop_length_ft: Q, long_level_ft: Q) -> Q:
    reach = np.where(drop_length_ft > 0, drop_length_ft, long_level_ft)
    return np.where(drop_name == "", 0, reach)


@LINES.column("Length of all", "ft")
def line_run_ft(line_name: Q, drop_reach_ft: Q, drop_line: Q) -> Q:
    return sum_if(drop_reach_ft, drop_line, line_name)


@LINES.column(
    "East, share of its length",
    fmt="0.000",
    note="Less where the tape was longer than the way to its end.",
)
def line_east(
    line_name: Q,
    line_to: Q,
    line_deg: Q,
    line_run_ft: Q,
    line_start_x_ft: Q,
    point_name: Q,
    point_x_ft: Q,
) -> Q:
    free = np.cos(line_deg * math.pi / 180)
    return _share_along(
        line_name, line_to, free, line_run_ft, line_start_x_ft, point_name, point_x_ft
    )


@LINES.column("North, share of its length", fmt="0.000")
def line_north(
    line_name: Q,
    line_to: Q,
    line_deg: Q,
    line_run_ft: Q,
    line_start_y_ft: Q,
    point_name: Q,
    point_y_ft: Q,
) -> Q:
    free = np.sin(line_deg * math.pi / 180)
    return _share_along(
        line_name, line_to, free, line_run_ft, line_start_y_ft, point_name, point_y_ft
    )


def _share_along(name: Q, to: Q, free: Q, run_ft: Q, start_ft: Q, points: Q, places_ft: Q) -> Q:
    """How far a line goes along an axis, of its length; one that ends at a reading goes there."""
    whole = np.where(run_ft > 0, run_ft, 1)
    tied = (lookup(to, points, places_ft, 0) - start_ft) / whole
    return np.where(name == "", 0, np.where(to == "", free, tied))


@LINES.column(
    "Closing error",
    "in",
    fmt="+0.0;-0.0;",
    note="Its end less the reading that it ends at; shared out over its length.",
    source="Levelling: misclosure spread in proportion to the run",
)
def line_off_in(
    line_name: Q,
    line_to: Q,
    line_run_ft: Q,
    line_start_ft: Q,
    drop_in: Q,
    drop_line: Q,
    point_name: Q,
    point_height_ft: Q,
) -> Q:
    end = lookup(line_to, point_name, point_height_ft, 0)
    off = (line_start_ft - end) * IN_PER_FT - sum_if(drop_in, drop_line, line_name)
    return np.where((line_to == "") | (line_run_ft == 0), 0, off)


@DROPS.column("Run of all", "ft", note="With the lines before it.")
def drop_run_ft(drop_reach_ft: Q, drop_order: Q) -> Q:
    return sum_up_to(drop_reach_ft, drop_order)


@DROPS.column("Fall of all", "in")
def drop_fall_in(drop_in: Q, drop_order: Q) -> Q:
    return sum_up_to(drop_in, drop_order)


@DROPS.column("Run before it", "ft")
def drop_before_ft(drop_name: Q, drop_run_ft: Q, drop_reach_ft: Q) -> Q:
    return np.where(drop_name == "", 0, drop_run_ft - drop_reach_ft)


@DROPS.column("Fall before it", "in")
def drop_before_in(drop_name: Q, drop_fall_in: Q, drop_in: Q) -> Q:
    return np.where(drop_name == "", 0, drop_fall_in - drop_in)


@DROPS.column("From the line's start", "ft")
def drop_at_ft(drop_name: Q, drop_run_ft: Q, drop_line: Q, drop_before_ft: Q) -> Q:
    before = lookup(drop_line, drop_line, drop_before_ft, 0)
    return np.where(drop_name == "", 0, drop_run_ft - before)


@DROPS.column("Below the line's start", "in")
def drop_sum_in(drop_name: Q, drop_fall_in: Q, drop_line: Q, drop_before_in: Q) -> Q:
    before = lookup(drop_line, drop_line, drop_before_in, 0)
    return np.where(drop_name == "", 0, drop_fall_in - before)


@DROPS.column("x", "ft")
def drop_x_ft(
    drop_name: Q, drop_line: Q, drop_at_ft: Q, line_name: Q, line_start_x_ft: Q, line_east: Q
) -> Q:
    east = lookup(drop_line, line_name, line_east, 0)
    start = lookup(drop_line, line_name, line_start_x_ft, 0)
    return np.where(drop_name == "", 0, start + drop_at_ft * east)


@DROPS.column("y", "ft")
def drop_y_ft(
    drop_name: Q, drop_line: Q, drop_at_ft: Q, line_name: Q, line_start_y_ft: Q, line_north: Q
) -> Q:
    north = lookup(drop_line, line_name, line_north, 0)
    start = lookup(drop_line, line_name, line_start_y_ft, 0)
    return np.where(drop_name == "", 0, start + drop_at_ft * north)


@DROPS.column("Height", "ft", fmt="0.000")
def drop_height_ft(
    drop_name: Q,
    drop_line: Q,
    drop_at_ft: Q,
    drop_sum_in: Q,
    line_name: Q,
    line_start_ft: Q,
    line_run_ft: Q,
    line_off_in: Q,
) -> Q:
    start = lookup(drop_line, line_name, line_start_ft, 0)
    run = lookup(drop_line, line_name, line_run_ft, 0)
    shared = lookup(drop_line, line_name, line_off_in, 0) * drop_at_ft / np.where(run > 0, run, 1)
    return np.where(drop_name == "", 0, start - (drop_sum_in + shared) / IN_PER_FT)
