"""Of the sheet Factors: what is practical, so that a suggestion is one that a builder would build."""

from __future__ import annotations

from estimator.inputs import Field
from estimator.model.usual import near_usual
from estimator.rows import Chapter

PRACTICAL = Chapter()
HABIT = "common practice, no source"


def _limit(key: str, label: str, unit: str, default: float, why: str, high: float) -> None:
    note = f"{HABIT}: {why}"
    field = Field(key, label, unit, "number", default, 0, high, note=note, fmt="0.####")
    PRACTICAL.typed(near_usual(field), scope="job")


PRACTICAL.section("Sizes left blank: what is practical to suggest")
_limit(
    "practical_joist_in",
    "Least depth of a joist",
    "in",
    5.5,
    "a floor that people walk on is stiff and holds its screws from {2x6|45x145} up",
    12,
)
_limit(
    "practical_bay_ft",
    "Least spacing of supports",
    "ft",
    4.0,
    "nearer holes run into each other and nobody can work between them",
    20,
)
_limit(
    "practical_skids_ft",
    "Least spacing of skids",
    "ft",
    2.0,
    "stone between them has to be raked and tamped, and a jack has to go in",
    20,
)
_limit(
    "practical_stack_in",
    "Most height of a stack of blocks",
    "in",
    32.0,
    "dry blocks stand true for about four courses",
    96,
)
