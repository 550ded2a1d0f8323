"""Of the sheet Cost: how far off the estimate may be, which option stays cheapest, what drives it."""

from __future__ import annotations

from typing import Final

import numpy as np

from estimator.appearance import Appearance, Band, Chart, Line, Reach
from estimator.rows import Chapter
from estimator.vocabulary import Q, one_of

OUTLOOK = Chapter()
SOLVER: Final = "range"
LEVELS: Final = ("Low: 1 in 10 below", "Middle", "High: 1 in 10 above")
SHARES: Final = (0.1, 0.5, 0.9)
"""Shares of the draws that lie below low, middle and high."""
DRIVERS: Final = 10
"""How many things are listed that move the cost most."""

OUTLOOK.section("Range of the cost before contingency")
OUTLOOK.solved(
    "total_low",
    "Low (1 in 10 below)",
    "$",
    solver=SOLVER,
    fmt="#,##0",
    note="Drawn: prices, hours, the survey, swell, shrink, compaction, waste, stripping, as far off as Factors and Prices say. As planned: place, sizes, ways of doing, drains, and boards but timbers. A reading more, even one that changes no quantity, moves the range: it has an error of its own.",
)
OUTLOOK.solved("total_middle", "Middle", "$", solver=SOLVER, fmt="#,##0")
OUTLOOK.solved("total_high", "High (1 in 10 above)", "$", solver=SOLVER, fmt="#,##0")


@OUTLOOK.row("The estimate in its range", kind="text")
def range_says(before_contingency: Q, total_low: Q, total_high: Q) -> Q:
    below = "below low: most that is uncertain can cost more, little of it less"
    above = "above high: most that is uncertain can cost less, little of it more"
    inside = np.where(before_contingency > total_high, above, "inside")
    return np.where(before_contingency < total_low, below, inside)


OUTLOOK.solved(
    "total_covers",
    "Draws that the total is enough for",
    "share",
    solver=SOLVER,
    fmt="0%",
    note="With what is set aside.",
)
OUTLOOK.solved(
    "contingency_needed",
    "Contingency that is enough for 8 draws in 10",
    "share",
    solver=SOLVER,
    fmt="0.0%",
    note="Type it on Job, or more for what no draw knows of.",
)
OUTLOOK.solved(
    "chance_cheapest",
    "Chance that it is the cheapest that passes",
    "share",
    solver=SOLVER,
    fmt="0%",
    note="From the same draws for all options, before contingency.",
)

RANGES = OUTLOOK.table("level", "Range of hours, stone and soil", len(LEVELS), index=True)


@RANGES.column("Range", kind="text")
def level_name(level_no: Q) -> Q:
    return one_of(LEVELS, level_no - 1)


RANGES.solved("level_hours", "Hours", "h", solver=SOLVER, fmt="0.0", by_option=True)
RANGES.solved("level_stone_yd3", "Stone", "yd3", solver=SOLVER, fmt="0.0", by_option=True)
RANGES.solved("level_soil_yd3", "Soil moved", "yd3", solver=SOLVER, fmt="0.0", by_option=True)

DRIVEN = OUTLOOK.table(
    "drive",
    "What drives it: each thing alone at its low and at its high",
    DRIVERS,
    "Change of the cost before contingency, the largest first: of the chosen option, and of what the next cheapest costs more than the cheapest. Of the survey the least and the most of 200 drawn ones.",
    index=True,
    shows=Appearance(gaps=True, characters={"drive_thing": 34, "gap_thing": 34}),
)
for _key, _what in (("drive", "Chosen option"), ("gap", "Next over cheapest")):
    DRIVEN.solved(f"{_key}_thing", f"{_what}: by", solver=SOLVER, kind="text")
    for _end in ("low", "high"):
        DRIVEN.solved(f"{_key}_{_end}", f"At its {_end}", "$", solver=SOLVER, fmt="+#,##0;-#,##0;0")

ROOM, WIDE_CM, HIGH_CM = 16, 14.5, 8.0
"""Rows of the sheet that the charts take, width and height of each."""
_LOW, _HIGH = "1F5FA8", "B98A4B"


def _drawn(key: str, title: str, description: str) -> Chart:
    return Chart(
        f"{title}: more or less than estimated",
        "$",
        "line of the list above",
        description,
        tuple(
            Line(
                f"At its {end}",
                f"{key}_{end}",
                "drive_no",
                colour,
                "none",
                0,
                "square",
                3,
                reach=Reach("x", width_pt=9),
            )
            for end, colour in (("low", _LOW), ("high", _HIGH))
        ),
        WIDE_CM,
        HIGH_CM,
        ROOM,
        downward=True,
    )


DRIVEN_DRAWN = Band(
    "What drives it, drawn",
    (
        _drawn(
            "drive",
            "The chosen option",
            "For each of the things that move the cost of the chosen option most a bar from none to"
            " its change at the thing's low, and one at its high, the largest on top.",
        ),
        _drawn(
            "gap",
            "The next cheapest over the cheapest",
            "The same for what the next cheapest option costs more than the cheapest.",
        ),
    ),
    legends=True,
)
OUTLOOK.notes(DRIVEN_DRAWN.part, *("",) * ROOM)
