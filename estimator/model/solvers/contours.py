"""Contours of the ground on the plan: dots along them, and which of these bear their height."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import Measure
from estimator.model.open_points import LEAST_READINGS
from estimator.model.pictures import AIR_WIDE, CONTOURS, LETTER_WIDE, MARKS, NAME_HIGH
from estimator.model.solvers.lot import lot_ground, readings
from estimator.model.solvers.reads import Reads
from estimator.units import FT_PER_M

if TYPE_CHECKING:
    from estimator.solve.surface import Ground

Floats = NDArray[np.float64]

STEPS_FT = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
STEPS_M: tuple[float, ...] = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
MOST_LEVELS = 8
UNIT_LETTERS = 3
"""Of the unit behind a contour's height, with its blank."""


def contour_step_ft(relief_ft: float, measure: Measure = "feet") -> float:
    """Distance, round in this measure, between contours that gives at most eight of them; 0 on level ground."""
    if relief_ft <= 0:
        return 0.0
    steps = STEPS_FT if measure == "feet" else [step * FT_PER_M for step in STEPS_M]
    return next((s for s in steps if relief_ft / s <= MOST_LEVELS), steps[-1])


def contour_dots(
    ground: Ground, measure: Measure = "feet"
) -> tuple[np.ndarray[Any, np.dtype[np.float64]], float]:
    """Dots (CONTOURS, 3: x, y, level) evenly spread over the contours, and their distance in ft.

    A contour crosses a triangle of the surface in a straight line. Where there is none (level
    ground) all dots stand on the first reading.
    """
    z = ground.vertex_heights_ft
    place = ground.vertices_ft + ground.centre_ft
    step = contour_step_ft(float(np.ptp(z)), measure)
    pieces = []
    if step:
        first, last = math.ceil(z.min() / step), math.floor(z.max() / step)
        for level in (n * step for n in range(first, last + 1)):
            for corners in ground.triangles:
                ends = _crossing(place[corners], z[corners] - level)
                if ends is not None:
                    pieces.append((*ends, level))
    dots = np.empty((CONTOURS, 3))
    dots[:] = (*place[0], z[0])
    run = np.array([math.dist(a, b) for a, b, _ in pieces])
    if run.sum() > 0:
        ends_at = np.cumsum(run)
        for i, at in enumerate((np.arange(CONTOURS) + 0.5) * ends_at[-1] / CONTOURS):
            k = int(np.searchsorted(ends_at, at))
            a, b, level = pieces[k]
            share = (ends_at[k] - at) / run[k]
            dots[i] = (*(b + share * (a - b)), level)
    return dots, step


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What the height of a contour keeps clear of on the plan.

    Attributes:
        extent_ft: How wide and high the plan is.
        middle, half: (n, 2) of readings and names, where each is and half of its size.
        lines: (m, 2) places along lines.
    """

    extent_ft: float
    middle: Floats
    half: Floats
    lines: Floats

    def with_boxes(self, middle: Floats, half: Floats) -> Drawn:
        """With more that is to be kept clear of, (k, 2) places and half (2,) of their size."""
        halves = np.broadcast_to(half, middle.shape)
        return replace(
            self,
            middle=np.vstack([self.middle, middle]),
            half=np.vstack([self.half, halves]),
        )


def named_contours(
    q: Reads, drawn: Drawn, measure: Measure
) -> tuple[tuple[float, float, str], ...]:
    """x, y and text of each of ``MARKS`` heights of contours on the plan.

    Args:
        q: Readings.
        drawn: What heights keep clear of.
        measure: In which contours are round.

    Raises:
        SurveyError: If the readings can't be a surface.
    """
    found: list[tuple[float, float, str]] = []
    nowhere = (0.0, 0.0, "no ground yet")
    if len(readings(q)) >= LEAST_READINGS:
        dots, step = contour_dots(lot_ground(q), measure)
        marks = contour_marks(dots, step, drawn)
        found = [(x, y, f"{{{z:.2f} ft|{z / FT_PER_M:.2f} m}}") for x, y, z in marks.tolist()]
        nowhere = (float(dots[0, 0]), float(dots[0, 1]), "level ground")
    # Not every spreadsheet draws nothing for a blank name: those left over repeat the last one.
    found = found or [nowhere]
    return (*found, *[found[-1]] * (MARKS - len(found)))


def contour_marks(dots: Floats, step_ft: float, drawn: Drawn) -> Floats:
    """Where contours bear their height (n, 3: x, y, level), each at one of its dots.

    The text stands over the dot: where it is clear of readings, names and the heights before it,
    and if there is a choice, of lines. A contour without such a dot bears none, unless none else
    does. Of more contours than MARKS every second, third, ... bears one.
    """
    if not step_ft:
        return np.empty((0, 3))
    levels = np.unique(np.round(dots[:, 2] / step_ft)) * step_ft
    levels = levels[:: math.ceil(len(levels) / MARKS)]
    letters = max(len(f"{level:.2f}") for level in levels) + UNIT_LETTERS
    text = drawn.extent_ft * np.array([letters * LETTER_WIDE + AIR_WIDE, NAME_HIGH]) / 2
    marks, crowded = [], []
    for level in levels:
        line = dots[np.abs(dots[:, 2] - level) < step_ft / 2]
        open_ = free(line[:, :2], drawn.middle, drawn.half + text)
        at = int(np.argmax(2 * open_ + free(line[:, :2], drawn.lines, text)))
        if open_[at] < 1:
            crowded.append(line[at])
            continue
        marks.append(line[at])
        drawn = drawn.with_boxes(line[at : at + 1, :2], text)
    return np.array(marks or crowded[:1])


def free(places: Floats, middle: Floats, half: Floats) -> Floats:
    """How far places (n, 2) are from the nearest middle in its half size (m, 2), at most 1."""
    away = (np.abs(places[:, None] - middle) / half).max(axis=2)
    return np.asarray(np.minimum(away.min(axis=1, initial=1.0), 1.0), dtype=np.float64)


def _crossing(corner: Any, above: Any) -> tuple[Any, Any] | None:
    """Ends of the line on which a triangle crosses a level; None if it does not."""
    ends = []
    for i in range(3):
        j = (i + 1) % 3
        if (above[i] > 0) != (above[j] > 0):
            share = above[i] / (above[i] - above[j])
            ends.append(corner[i] + share * (corner[j] - corner[i]))
    return (ends[0], ends[1]) if len(ends) == 2 else None
