"""Names on the plan, clear of readings and of each other: sides of the base, best places."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimator.amounts import Measure
from estimator.model.pictures import AIR_WIDE, BACK, FRONT, LEFT, LETTER_WIDE, NAME_HIGH
from estimator.model.set_out import GUESSED
from estimator.model.siting_sheet import PLACES
from estimator.model.solvers.contours import Drawn, Floats, free
from estimator.model.solvers.lot import base_corners, readings
from estimator.model.solvers.reads import Reads
from estimator.units import format_feet_inches, format_mm

FOUND_READS = ("place_x_ft", "place_y_ft", "place_turn_deg", "place_cost")
"""Where the best places are, if a search found them."""
SIDES = 4
READING_WIDE, NUMBER_WIDE = 0.025, 0.03
"""Size of the mark of a reading, and width of a place's number, as shares of the extent."""
ASIDE = (0.0, 0.1, -0.1, 0.2, -0.2, 0.3, -0.3, 0.4, -0.4)
"""Shares of a side by which its name may stand off the middle."""
FARTHER = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0)
"""Heights of a name by which it may stand farther out than clear of its side."""
SPOTS = 8
"""Parts of each side of a place; its number stands at the end of one."""
RINGS = (1.0, 0.5, 0.0, 1.5, 2.0, 2.5, 3.0)
"""Where else that may be, as shares of the way from the middle of the place to its outline."""
ALONG_LINE = 0.01
"""How far apart, as share of the extent, places of a line are looked at."""


@dataclass(frozen=True, slots=True, eq=False)
class PlanNames:
    """Where names stand on the plan.

    Attributes:
        away_ft: (4,) how far outside of its side the middle of each name stands.
        aside_ft: (4,) how far off the middle of the side, along the front or to the back.
        number_ft: (PLACES, 2) of the places that were found, their numbers.
        drawn: All of that, the readings and the outlines.
    """

    away_ft: Floats
    aside_ft: Floats
    number_ft: Floats
    drawn: Drawn


def plan_names(q: Reads, outlines: Sequence[Floats], measure: Measure) -> PlanNames:
    """Names of sides and places; those of sides are clear whichever option is chosen.

    Args:
        q: Readings, where the base of each option stands, and the places found.
        outlines: Property, setback and keep-out areas (n, 2).
        measure: In which the names tell lengths.
    """
    bases = [base_corners(q, option) for option in q.options()]
    read = np.array([point[1:3] for point in readings(q)]).reshape(-1, 2)
    extent = float(np.ptp(np.vstack([read, *bases, *outlines[:1]]), axis=0).max())
    lines = [_along(each, extent * ALONG_LINE) for each in (*bases, *outlines)]
    drawn = Drawn(extent, read, np.full(read.shape, extent * READING_WIDE / 2), np.vstack(lines))
    away, aside = np.zeros(SIDES), np.zeros(SIDES)
    for side, wide in enumerate(_widths(bases, measure) if bases else ()):
        away[side], aside[side], drawn = _named_side(side, wide, bases, drawn)
    numbers = np.zeros((PLACES, 2))
    for place in range(PLACES):
        if q.number("place_cost", 0, place) > 0:
            numbers[place], drawn = _numbered(_spots(q, place), drawn)
    return PlanNames(away, aside, numbers, drawn)


def _widths(bases: Sequence[Floats], measure: Measure) -> tuple[float, ...]:
    """Width of the name of each side, the longest of all options', as share of the extent."""

    def longest(side: int) -> int:
        tape = format_feet_inches if measure == "feet" else format_mm
        return max(len(tape(math.dist(base[side], base[side + 1]))) for base in bases)

    letters = len(FRONT) + longest(0), longest(1), len(BACK), len(LEFT)
    return tuple((count + len(GUESSED)) * LETTER_WIDE + AIR_WIDE for count in letters)


def _named_side(
    side: int, wide: float, bases: Sequence[Floats], drawn: Drawn
) -> tuple[float, float, Drawn]:
    """How far out and aside the name of a side stands, and what is drawn with it."""
    size = drawn.extent_ft * np.array([wide, NAME_HIGH])
    starts, ends = (np.array([base[n % 4] for base in bases]) for n in (side, side + 1))
    along = (ends - starts)[0] / math.dist(ends[0], starts[0])
    out = np.array([along[1], -along[0]])
    # As the sheet measures it: to the back and along the front, not round the base.
    axis = along if side < 2 else -along
    long_ft = min(math.dist(a, b) for a, b in zip(starts, ends, strict=True))
    clear_ft = (size[1] + size[0] * abs(out[0])) / 2
    tried = sorted(
        itertools.product(FARTHER, ASIDE), key=lambda each: (each[0] + abs(each[1]), each)
    )
    spots = [(clear_ft + farther * size[1], aside * long_ft) for farther, aside in tried]
    middles = (starts + ends) / 2
    stand = np.array([middles + away * out + aside * axis for away, aside in spots])
    open_ = free(stand.reshape(-1, 2), drawn.middle, drawn.half + size / 2)
    best = int(np.argmax(open_.reshape(len(spots), -1).min(axis=1)))
    return (*spots[best], drawn.with_boxes(stand[best], size / 2))


def _numbered(spots: Floats, drawn: Drawn) -> tuple[Floats, Drawn]:
    """Where on its outline the number of a place stands, and what is drawn with it."""
    half = drawn.extent_ft * np.array([NUMBER_WIDE, NAME_HIGH]) / 2
    best = int(np.argmax(free(spots, drawn.middle, drawn.half + half)))
    return spots[best], drawn.with_boxes(spots[best : best + 1], half)


def _spots(q: Reads, place: int) -> Floats:
    """Corners of the building at a place, places along its sides, inside of them, and round it."""
    long, wide = q.number("building_length_ft"), q.number("building_width_ft")
    angle = math.radians(q.number("place_turn_deg", 0, place))
    axes = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    corner = np.array([q.number("place_x_ft", 0, place), q.number("place_y_ft", 0, place)])
    corners = np.array([(0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)])
    sides = np.roll(corners, -1, axis=0) - corners
    between = np.vstack([corners + part / SPOTS * sides for part in range(SPOTS)])
    middle = corners.mean(axis=0)
    rings = np.vstack([middle + ring * (between - middle) for ring in RINGS])
    return np.asarray(corner + rings @ axes)


def _along(outline: Floats, apart_ft: float) -> Floats:
    """Places along a closed outline."""
    return np.vstack(
        [
            a + np.linspace(0, 1, 2 + int(math.dist(a, b) / max(apart_ft, 1e-9)))[:, None] * (b - a)
            for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True)
        ]
    )
