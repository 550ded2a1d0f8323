"""Of the sheet Siting: what every option would cost if the lot fell more or less."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance, Band, Chart, Dash, Line, Marker, Reach
from estimator.inputs import Field
from estimator.model.options import YES_NO
from estimator.rows import OPTION_KEYS, YES_OR_NO, Chapter
from estimator.vocabulary import Q

FALLS = Chapter()
SOLVER = "falls"
STEPS, PARTS = 16, 3
"""Steps of the table, and into how many each is parted to find where the cheapest changes."""
ROWS = STEPS + 2
"""Level ground, each step, and the lot as it is surveyed."""
TURNS = 8
"""Falls at which the cheapest changes that are told of, at most."""
TOTALS = tuple(f"fall_total_{letter.lower()}" for letter in OPTION_KEYS)
"""Keys of the columns of totals."""

FALLS.section("If the lot fell more or less")
FALLS.typed(
    Field(
        "falls_wanted",
        "Work out totals against fall",
        kind="choice",
        default="no",
        choices=YES_NO,
        note="Takes some seconds at each refill.",
    ),
    scope="job",
)
FALLS.solved(
    "falls_say", "Cheapest that passes, up to a fall of", solver=SOLVER, kind="text", scope="job"
)
FALLS.solved("falls_pass", "Which pass, at what fall", solver=SOLVER, kind="text", scope="job")
FALLS.solved(
    "falls_own_in",
    "Fall across the building, as surveyed",
    "in",
    solver=SOLVER,
    fmt="0.0",
    scope="job",
    note="From the highest to the lowest ground under it; under {1 in} a plane tilted along its front stands for the lot.",
)


@FALLS.row("Asked for", fmt=YES_OR_NO, scope="job", note="Whether totals against fall are.")
def falls_asked(falls_wanted: Q) -> Q:
    return np.where(falls_wanted == "yes", 1, 0)


TURNED = FALLS.table(
    "fall_turn",
    "Where another option becomes the cheapest",
    TURNS,
    "To {1 in|25 mm}. Between two falls of the table with the same cheapest no other is looked for.",
    shows=Appearance(gaps=True, characters={"fall_turn_text": 80}),
)
TURNED.solved("fall_turn_text", "As the fall grows", solver=SOLVER, kind="text")

TABLE = FALLS.table(
    "fall",
    "Total cost against fall",
    ROWS,
    "The ground's own shape, steeper or flatter about its highest under the building; courses, supports, sizes left blank, boards and checks anew each time. Blank: does not pass.",
    shows=Appearance(gaps=True, characters={"fall_cheapest": 9, "fall_says": 20}),
)
TABLE.solved("fall_at_in", "Fall across the building", "in", solver=SOLVER, fmt="0.0")
for _letter, _key in zip(OPTION_KEYS, TOTALS, strict=True):
    TABLE.solved(_key, f"Option {_letter}", "$", solver=SOLVER, fmt="#,##0.00")
TABLE.solved("fall_cheapest", "Cheapest", solver=SOLVER, kind="text")
TABLE.solved("fall_own_total", "The lot's own: option chosen", "$", solver=SOLVER, fmt="#,##0.00")
TABLE.solved("fall_says", "Ground", solver=SOLVER, kind="text")

ROOM, WIDE_CM, HIGH_CM = 24, 24.0, 12.0
"""Rows of the sheet that the chart takes, its width and height."""
_LOOKS: tuple[tuple[str, Dash, Marker], ...] = (
    ("1F5FA8", "solid", "circle"),
    ("2E7D32", "dash", "square"),
    ("B3261E", "solid", "triangle"),
    ("7F4F24", "sysDash", "diamond"),
    ("000000", "lgDashDot", "x"),
    ("7A7A7A", "sysDot", "plus"),
)
"""Colour, dash and marker of each option's line."""
DRAWN = Band(
    "Total cost of every option against fall",
    (
        Chart(
            "",
            "{in} of fall across the building",
            "",
            "For each option a line of its total cost over the fall across the building, as far as"
            " it passes, and a stroke at the fall of the lot as it is surveyed.",
            (
                *(
                    Line(f"Option {letter}", "fall_at_in", key, colour, dash, 1.75, marker)
                    for letter, key, (colour, dash, marker) in zip(
                        OPTION_KEYS, TOTALS, _LOOKS, strict=True
                    )
                ),
                Line(
                    "As surveyed",
                    "fall_at_in",
                    "fall_own_total",
                    "000000",
                    "none",
                    0,
                    "diamond",
                    9,
                    reach=Reach("y"),
                ),
            ),
            WIDE_CM,
            HIGH_CM,
            ROOM,
        ),
    ),
    legends=True,
)
FALLS.notes(DRAWN.part, *("",) * ROOM)
