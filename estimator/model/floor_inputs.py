"""Sheet Floor: joists to double, openings to leave, and what leads up to the door."""

from __future__ import annotations

from estimator.appearance import Appearance, SheetAppearance
from estimator.inputs import Field
from estimator.model.steps import STEPS
from estimator.rows import Chapter, Sheet

PLACES = Chapter()

DOUBLES = PLACES.table(
    "double",
    "Joists doubled under partitions and beside openings",
    8,
    "One line a place, measured along the front from corner 1. Leave blank if there are none.",
    index=True,
    shows=Appearance(characters={"double_what": 13}),
)
DOUBLES.typed(
    Field("double_what", "What stands there", kind="text", needed=False, note="Such as: partition.")
)
DOUBLES.typed(Field("double_at_ft", "Along the front", "ft", "length", None, 0, 40))

OPENING_LINES = 6
OPENINGS = PLACES.table(
    "opening",
    "Openings in the floor: hatch, stair, drain",
    OPENING_LINES,
    "Measured from corner 1 of the building to the near corner of the opening, along the front and back from it. Leave blank if there are none.",
    index=True,
    shows=Appearance(characters={"opening_what": 13}),
)
OPENINGS.typed(
    Field("opening_what", "What it is", kind="text", needed=False, note="Such as: hatch.")
)
OPENINGS.typed(Field("opening_x_ft", "Along the front", "ft", "length", None, 0, 40))
OPENINGS.typed(Field("opening_y_ft", "Back", "ft", "length", None, 0, 24))
OPENINGS.typed(Field("opening_length_ft", "Long, along the front", "ft", "length", None, 0.25, 40))
OPENINGS.typed(Field("opening_width_ft", "Wide, front to back", "ft", "length", None, 0.25, 24))
OPENINGS.typed(
    Field(
        "opening_framed",
        "Doubled joists and headers",
        kind="choice",
        choices=("no", "yes"),
        needed=False,
        note="yes: a joist more on each side, two headers across the ends.",
        when_blank="Blank: no.",
    )
)

FLOOR = Sheet(
    "Floor",
    "Floor: what stands on it, goes through it and leads up to it",
    "Leave the tables blank for a plain floor. Measured from corner 1 of the building.",
    PLACES,
    *STEPS,
    shows=SheetAppearance(upright=True),
)
