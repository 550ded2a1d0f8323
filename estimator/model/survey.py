"""Sheet Survey: ground readings as they are taken, and the heights that they give."""

from __future__ import annotations

import numpy as np

from estimator.inputs import Field
from estimator.rows import Sheet
from estimator.vocabulary import Q, lookup, nth, sum_up_to

SURVEY = Sheet(
    "Survey",
    "Survey: ground readings",
    "One line a reading. At least four, outside the footprint on every side; more where it bends.",
)
POINTS = 60
METHODS = ("rod readings", "heights", "drops")

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

SETUPS = SURVEY.table(
    "setup",
    "Set-ups of the instrument",
    6,
    "The first has a height; each later one is tied to the one before by two readings on the same spot.",
    index=True,
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


TABLE = SURVEY.table("point", "Readings", POINTS)
TABLE.typed(Field("point_name", "Point", kind="text", needed=False))
TABLE.typed(
    Field(
        "point_setup",
        "Set-up",
        kind="key",
        refers="setup_name",
        needed=False,
        note="Blank means the first set-up.",
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
