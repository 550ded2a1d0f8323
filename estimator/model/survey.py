"""Sheet Survey: ground readings as they are taken, and the heights that they give."""

from __future__ import annotations

import math

import numpy as np

from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.model.quick_survey import QUICK
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup, nth, position, sum_up_to

SURVEY = Sheet(
    "Survey",
    "Survey: ground readings",
    "Quick: nine stakes round the building. In full: one line a reading, outside the footprint on every side.",
)
POINTS = 60
METHODS = ("rod readings", "heights", "drops")
TIE_BLANK = "Blank for the first set-up alone."
READ_AGAIN, TAKE_CHECK = "read it again", "take a check reading"
"""What is to be done about a reading: no surface explains it; one does, and so would a slip."""
AT_READING = "Blank where the line starts at a reading."

SURVEY.section("How the readings were taken")
SURVEY.typed(
    Field(
        "survey_method",
        "Readings are",
        kind="choice",
        default="rod readings",
        choices=METHODS,
        note="rod readings: down from the instrument; heights: above a datum; drops: below a level string or laser.",
    ),
    scope="job",
)
SURVEY.typed(
    Field(
        "level_height_ft",
        "Height of the level string or laser",
        "ft",
        "length",
        100,
        -10000,
        10000,
        note="For drops only. Any datum will do.",
        fmt="0.000",
    ),
    scope="job",
)
SURVEY.typed(
    Field(
        "long_level_ft",
        "Length of the long level",
        "ft",
        "length",
        7,
        1,
        20,
        note="Of a level, or a straight board under a short one. For lines taken with level and tape.",
    ),
    scope="job",
)

SURVEY.take(QUICK)

SETUPS = SURVEY.table(
    "setup",
    "Set-ups of the instrument",
    6,
    "The first has a height; each later one is tied to the one before by two readings on the same spot.",
    index=True,
    shows=Appearance(characters={"setup_name": 13}),
)
SETUPS.typed(Field("setup_name", "Set-up", kind="text", needed=False))
SETUPS.typed(
    Field(
        "setup_instrument_ft",
        "Instrument height (first only)",
        "ft",
        "length",
        None,
        -10000,
        10000,
        needed=False,
        fmt="0.000",
        when_blank="Blank for later set-ups; for the first, 0.",
    )
)
SETUPS.typed(
    Field(
        "setup_foresight_ft",
        "Tie: reading from the set-up before",
        "ft",
        "length",
        None,
        -100,
        100,
        needed=False,
        fmt="0.000",
        when_blank=TIE_BLANK,
    )
)
SETUPS.typed(
    Field(
        "setup_backsight_ft",
        "Tie: reading from this set-up",
        "ft",
        "length",
        None,
        -100,
        100,
        needed=False,
        fmt="0.000",
        when_blank=TIE_BLANK,
    )
)


@SETUPS.column("Rise of the instrument", "ft", fmt="0.000")
def setup_rise_ft(
    setup_no: Q, setup_instrument_ft: Q, setup_foresight_ft: Q, setup_backsight_ft: Q
) -> Q:
    return np.where(setup_no == 1, setup_instrument_ft, setup_backsight_ft - setup_foresight_ft)


@SETUPS.column(
    "Height of instrument",
    "ft",
    fmt="0.000",
    source="Differential levelling: HI = height + backsight.",
)
def setup_height_ft(setup_rise_ft: Q, setup_no: Q) -> Q:
    return sum_up_to(setup_rise_ft, setup_no)


TABLE = SURVEY.table(
    "point",
    "Readings of your own",
    POINTS,
    "In the place of the stakes, or with them. At least four in all, more where the ground bends.",
    shows=Appearance(characters={"point_name": 13, "point_setup": 13}),
)
TABLE.typed(Field("point_name", "Point", kind="text", needed=False))
TABLE.typed(
    Field(
        "point_setup",
        "Set-up",
        kind="key",
        refers="setup_name",
        needed=False,
        when_blank="Blank: the first set-up.",
    )
)
TABLE.typed(Field("point_x_ft", "x", "ft", "length", None, -2000, 2000, fmt="0.00"))
TABLE.typed(Field("point_y_ft", "y", "ft", "length", None, -2000, 2000, fmt="0.00"))
TABLE.typed(Field("point_reading_ft", "Reading", "ft", "length", None, -10000, 10000, fmt="0.000"))


@TABLE.column("Height", "ft", fmt="0.000")
def point_height_ft(
    point_name: Q,
    point_setup: Q,
    point_reading_ft: Q,
    survey_method: Q,
    level_height_ft: Q,
    setup_name: Q,
    setup_height_ft: Q,
) -> Q:
    instrument = np.where(
        point_setup == "",
        nth(setup_height_ft, 1),
        lookup(point_setup, setup_name, setup_height_ft, 0),
    )
    height = np.where(
        survey_method == "rod readings",
        instrument - point_reading_ft,
        np.where(survey_method == "drops", level_height_ft - point_reading_ft, point_reading_ft),
    )
    return np.where(point_name == "", 0, height)


SUSPECTS = SURVEY.table(
    "suspect",
    "Readings to check",
    6,
    "Readings that those around them contradict, the worst first. None is left out of the ground.",
    shows=Appearance(characters={"suspect_to_do": 34}),
)
SUSPECTS.solved("suspect_name", "Point", solver="readings", kind="text")
SUSPECTS.solved(
    "suspect_off_in",
    "Off by",
    "in",
    solver="readings",
    fmt="+0.0;-0.0;",
    note="Reading less what its neighbours say; above them is +.",
    source="Residual from the plainest surface through the others",
)
SUSPECTS.solved(
    "suspect_to_do",
    "What to do",
    solver="readings",
    kind="text",
    note="A check reading: a surface explains it, but so would a slip.",
)

LINES = SURVEY.table(
    "tape",
    "A long level and a tape: lines",
    6,
    "The quick way. One line a string or a run of the level; its steps stand below and join the readings above.",
    index=True,
    shows=Appearance(characters={"line_name": 13, "line_at": 13}),
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
        note="On the datum of the readings.",
        fmt="0.000",
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
        when_blank="Blank: along it.",
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


DROPS = SURVEY.table(
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
    drop_name: Q, drop_line: Q, drop_at_ft: Q, line_name: Q, line_start_x_ft: Q, line_deg: Q
) -> Q:
    along = np.cos(lookup(drop_line, line_name, line_deg, 0) * math.pi / 180)
    start = lookup(drop_line, line_name, line_start_x_ft, 0)
    return np.where(drop_name == "", 0, start + drop_at_ft * along)


@DROPS.column("y", "ft")
def drop_y_ft(
    drop_name: Q, drop_line: Q, drop_at_ft: Q, line_name: Q, line_start_y_ft: Q, line_deg: Q
) -> Q:
    along = np.sin(lookup(drop_line, line_name, line_deg, 0) * math.pi / 180)
    start = lookup(drop_line, line_name, line_start_y_ft, 0)
    return np.where(drop_name == "", 0, start + drop_at_ft * along)


@DROPS.column("Height", "ft", fmt="0.000")
def drop_height_ft(drop_name: Q, drop_line: Q, drop_sum_in: Q, line_name: Q, line_start_ft: Q) -> Q:
    start = lookup(drop_line, line_name, line_start_ft, 0)
    return np.where(drop_name == "", 0, start - drop_sum_in / IN_PER_FT)
