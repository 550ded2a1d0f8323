"""Sheet Survey: ground readings as they are taken, and the heights that they give."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.model.quick_survey import (
    LEAST_READING_FT,
    NO_READING_FT,
    QUICK,
    READING_FMT,
    from_first_setup,
)
from estimator.model.taped_lines import TAPED
from estimator.rows import YES_OR_NO, Sheet
from estimator.vocabulary import Q, lookup, nth, sum_up_to

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

SURVEY.typed(
    Field(
        "bench_name",
        "Bench mark",
        kind="text",
        needed=False,
        note="What stays: the door sill of a house, a manhole. With a reading on it the Field Sheet tells heights from it.",
    ),
    scope="job",
)
SURVEY.typed(
    Field(
        "bench_reading_ft",
        "Reading on the bench mark",
        "ft",
        "length",
        None,
        LEAST_READING_FT,
        10000,
        needed=False,
        absent=NO_READING_FT,
        note="From the first set-up, like the readings: on a rod, a height, or the drop below a level string (negative above it).",
        fmt=READING_FMT,
        when_blank="Blank: heights are told from the ground at point 1 of the tapes.",
    ),
    scope="job",
)


@SURVEY.row("Height of the bench mark", "ft", fmt="0.000", scope="job")
def bench_height_ft(
    bench_used: Q,
    bench_reading_ft: Q,
    survey_method: Q,
    level_height_ft: Q,
    setup_height_ft: Q,
) -> Q:
    height = from_first_setup(bench_reading_ft, survey_method, level_height_ft, setup_height_ft)
    return np.where(bench_used == 1, height, 0)


@SURVEY.row("Heights are told from it", fmt=YES_OR_NO, scope="job", note="yes: it was read.")
def bench_used(bench_reading_ft: Q, inputs_ok: Q) -> Q:
    return np.where((bench_reading_ft > NO_READING_FT / 2) & (inputs_ok == 1), 1, 0)


SURVEY.take(QUICK)

SETUPS = SURVEY.table(
    "setup",
    "Set-ups of the instrument",
    6,
    "The first has a height; each later one is tied to the one before by two readings on the same spot. Read a point of an earlier one again, at its x and y, and the closing error tells whether the ties hold.",
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
        -30,
        30,
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
        -30,
        30,
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
    "Readings that those around them contradict, the worst first, or don't test. None is left out "
    "of the ground.",
    shows=Appearance(characters={"suspect_name": 13, "suspect_to_do": 13}),
)
SUSPECTS.solved("suspect_name", "Point", solver="readings", kind="text")
SUSPECTS.solved(
    "suspect_off_in",
    "Off by",
    "in",
    solver="readings",
    fmt="+0.0;-0.0;",
    note="Reading less what its neighbours say; above them is +. Empty: they don't tell.",
    source="Residual from the plainest surface through the others",
)
SUSPECTS.solved(
    "suspect_to_do",
    "What to do",
    solver="readings",
    kind="text",
    note="A check reading: a surface explains it, but so would a slip.",
)

SURVEY.section("Closing errors")
SURVEY.solved(
    "closing_at",
    "Worst: where",
    solver="readings",
    kind="text",
    scope="job",
    note="Of spots read twice and lines that end at a reading. Blank: there are none.",
)
SURVEY.solved("closing_ft", "Closing error", "ft", solver="readings", fmt="0.000", scope="job")
SURVEY.solved(
    "closing_allowed_ft",
    "Allowed",
    "ft",
    solver="readings",
    fmt="0.000",
    scope="job",
    note="{0.05 ft}, times the root of the set-ups or lengths of the level between and one more: common practice, no source. Within it the mean is taken, along a line by its length.",
)


SURVEY.take(TAPED)
