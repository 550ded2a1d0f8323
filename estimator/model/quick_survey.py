"""Of the sheet Survey: nine stakes round the building, whose places follow its size."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.inputs import Field
from estimator.rows import Chapter
from estimator.vocabulary import Q, nth, one_of

QUICK = Chapter()
STAKE_NAMES = (
    "front left",
    "front middle",
    "front right",
    "right middle",
    "back right",
    "back middle",
    "back left",
    "left middle",
    "centre",
)
"""Once round the building from corner 1, anticlockwise, then its centre."""
LEFT, RIGHT = (1, 7, 8), (3, 4, 5)
FRONT, BACK = (1, 2, 3), (5, 6, 7)
NO_READING_FT = -1e6
"""What a blank reading reads as; 0 is a reading."""
LEAST_READING_FT = -10000
READING_FMT = '[<-99999]"";0.000'
"""Shows no number where a reading is blank."""

QUICK.section("Quick survey: where its stakes stand")
for _field in (
    Field(
        "stake_out_ft",
        "Outer stakes stand outside the building by",
        "ft",
        "length",
        3,
        0,
        30,
        note="Farther than the base reaches: its margin, trench and shoulder.",
    ),
    Field(
        "stake_length_ft",
        "Length that they were set out for",
        "ft",
        "length",
        None,
        4,
        100,
        needed=False,
        note="Only if the building's size was changed after the readings were taken.",
        when_blank="Blank: the building's.",
    ),
    Field(
        "stake_width_ft",
        "Width that they were set out for",
        "ft",
        "length",
        None,
        4,
        100,
        needed=False,
        when_blank="Blank: the building's.",
    ),
):
    QUICK.typed(_field, scope="job")

STAKES = QUICK.table(
    "quick",
    "Quick survey: nine stakes",
    len(STAKE_NAMES),
    "x along the front and y to the back, from the front left corner of the building at 0, 0. Leave out what you can't read.",
    index=True,
    shows=Appearance(standing=("quick_stake", "quick_x_ft", "quick_y_ft")),
)


@STAKES.column("Stake", kind="text")
def quick_stake(quick_no: Q) -> Q:
    return one_of(STAKE_NAMES, quick_no - 1)


@STAKES.column("x", "ft")
def quick_x_ft(quick_no: Q, stake_length_ft: Q, building_length_ft: Q, stake_out_ft: Q) -> Q:
    return _along(
        quick_no, LEFT, RIGHT, _set_out(stake_length_ft, building_length_ft), stake_out_ft
    )


@STAKES.column("y", "ft")
def quick_y_ft(quick_no: Q, stake_width_ft: Q, building_width_ft: Q, stake_out_ft: Q) -> Q:
    return _along(quick_no, FRONT, BACK, _set_out(stake_width_ft, building_width_ft), stake_out_ft)


def _set_out(typed: Q, building: Q) -> Q:
    """A side of the building as the stakes were set out for it."""
    return np.where(typed > 0, typed, building)


def _along(number: Q, near: tuple[int, ...], far: tuple[int, ...], side: Q, out: Q) -> Q:
    """How far a stake stands along a side: before its start, past its end, or at its middle."""
    return np.where(
        _any_of(number, near), -out, np.where(_any_of(number, far), side + out, side / 2)
    )


def _any_of(number: Q, numbers: tuple[int, ...]) -> Q:
    found = number == numbers[0]
    for other in numbers[1:]:
        found = found | (number == other)
    return found


STAKES.typed(
    Field(
        "quick_reading_ft",
        "Reading",
        "ft",
        "length",
        None,
        LEAST_READING_FT,
        10000,
        needed=False,
        absent=NO_READING_FT,
        note="As above: a rod reading, a height, or the drop below a level string.",
        fmt="0.000",
        when_blank="Blank: none was taken.",
    )
)


@STAKES.column("Read", kind="text")
def quick_name(quick_stake: Q, quick_reading_ft: Q, inputs_ok: Q) -> Q:
    taken = np.where(quick_reading_ft > NO_READING_FT / 2, quick_stake, "")
    return np.where(inputs_ok == 1, taken, "")


@STAKES.column("Height", "ft", fmt="0.000", note="With the first set-up of an instrument.")
def quick_height_ft(
    quick_name: Q, quick_reading_ft: Q, survey_method: Q, level_height_ft: Q, setup_height_ft: Q
) -> Q:
    height = from_first_setup(quick_reading_ft, survey_method, level_height_ft, setup_height_ft)
    return np.where(quick_name == "", 0, height)


def from_first_setup(reading_ft: Q, survey_method: Q, level_height_ft: Q, setup_height_ft: Q) -> Q:
    """Height of what was read from the first set-up of the instrument, or by the other methods."""
    return np.where(
        survey_method == "rod readings",
        nth(setup_height_ft, 1) - reading_ft,
        np.where(survey_method == "drops", level_height_ft - reading_ft, reading_ft),
    )
