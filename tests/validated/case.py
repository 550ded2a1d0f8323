"""A published value beside what the product gives for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

READ, MEMORY, BY_HAND = "read", "from memory", "worked by hand"
OBTAINED = (READ, MEMORY, BY_HAND)
"""How a value came here: what ``Group.obtained`` begins with."""

GROUND, WOOD, BEARING, WIND, CONCRETE = "Ground", "Wood", "Bearing", "Wind", "Concrete"
CUTTING, SHEETS, COSTS, DAYS = "Cutting", "Sheets", "Costs", "Days"
PARTS = (GROUND, WOOD, BEARING, WIND, CONCRETE, CUTTING, SHEETS, COSTS, DAYS)

Within = tuple[float, float]
"""The least and the most that ours may be over theirs: what the print's rounding allows."""


def half(unit: float) -> Within:
    """Either way half a unit of the last place that is printed."""
    return -unit / 2, unit / 2


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """One value: what it is of, what its source prints, and the product's own working of it."""

    what: str
    theirs: float
    reckon: Callable[[], float]


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Values of one source that were obtained in one way and are held by one tolerance.

    Attributes:
        obtained: Begins with one of ``OBTAINED``.
        within: See :data:`Within`.
        looked_up: The product's tables hold the values: that they were typed rightly is all that
            is shown.
        places: Decimals that a page shows of ours.
    """

    part: str
    title: str
    source: str
    obtained: str
    unit: str
    within: Within
    cases: tuple[Case, ...]
    looked_up: bool = False
    places: int = 2
    note: str = ""


def difference(case: Case) -> float:
    """Ours less theirs, without the dust of binary numbers."""
    return round(float(case.reckon()) - case.theirs, 9)
