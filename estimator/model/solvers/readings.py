"""Solver that reads the survey alone: readings to check, closing errors, contours for the plan."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np

from estimator.amounts import Measure
from estimator.engine import Solver
from estimator.model.pictures import CONTOURS, MARKS
from estimator.model.solvers.closing_errors import CLOSING_READS, worst_closing
from estimator.model.solvers.lot import SURVEY_READS, fitted, lot_ground, readings
from estimator.model.solvers.misread import Method, slips
from estimator.model.solvers.reads import Reads, as_texts
from estimator.model.solvers.survey_faults import FAULT_READS, refuse_faults
from estimator.model.survey import READ_AGAIN, SUSPECTS, TAKE_CHECK
from estimator.solve.blunders import Slip, blunders
from estimator.solve.surface import Ground
from estimator.units import FT_PER_M, IN_PER_FT

SUSPECTS_MOST = SUSPECTS.capacity
FEWEST_READINGS = 4
STEPS_FT = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
STEPS_M: tuple[float, ...] = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
MOST_LEVELS = 8
TEXT_SHARE = 0.18, 0.045
"""Width and height of a contour's height on the plan, with some air, as shares of its extent."""

Readings = tuple[tuple[str, float, float, float], ...]


def solve_readings(values: Mapping[str, Any], measure: Measure = "feet") -> Mapping[str, Any]:
    """Names of the readings to check, how far they are off, what to do; closing errors; contours.

    Raises:
        SurveyError: If the readings can't be a surface, or set-ups, lines or bench mark be meant.
    """
    q = Reads(values)
    refuse_faults(q)
    points = readings(q)
    names = np.full((1, SUSPECTS_MOST), "", dtype=object)
    to_do = np.full((1, SUSPECTS_MOST), "", dtype=object)
    off = np.zeros((1, SUSPECTS_MOST))
    dots, step = np.zeros((CONTOURS, 3)), 0.0
    if len(points) >= FEWEST_READINGS:
        ground = lot_ground(q)
        suspects = _suspects(points, _slips(q, measure))
        for i, (name, residual, what) in enumerate(suspects[:SUSPECTS_MOST]):
            names[0, i], to_do[0, i] = name, what
            off[0, i] = residual * IN_PER_FT
        dots, step = contour_dots(ground, measure)
    closing = worst_closing(q)
    marks = [
        (x, y, f"{{{z:.2f} ft|{z / FT_PER_M:.2f} m}}")
        for x, y, z in contour_marks(dots, step, points)
    ]
    if not marks:
        marks = [
            (*dots[0, :2], "level ground" if len(points) >= FEWEST_READINGS else "no ground yet")
        ]
    # Not every spreadsheet draws nothing for a blank name: those left over repeat the last one.
    marks += [marks[-1]] * (MARKS - len(marks))
    return {
        "closing_at": closing.where if closing else "",
        "closing_ft": abs(closing.error_ft) if closing else 0.0,
        "closing_allowed_ft": closing.allowed_ft if closing else 0.0,
        "suspect_name": as_texts(names),
        "suspect_off_in": off,
        "suspect_to_do": as_texts(to_do),
        "contour_step_ft": step,
        "contour_x_ft": dots[None, :, 0],
        "contour_y_ft": dots[None, :, 1],
        "contour_mark_x_ft": np.array([[x for x, _, _ in marks]]),
        "contour_mark_y_ft": np.array([[y for _, y, _ in marks]]),
        "contour_mark": as_texts(np.array([[name for _, _, name in marks]], dtype=object)),
    }


Slips = tuple[tuple[str, tuple[Slip, ...]], ...]


def _slips(q: Reads, measure: Measure) -> Slips:
    """By label, the slips that a reading of one's own or at a stake may come from."""
    method: Method = q.text("survey_method")  # type: ignore[assignment]  # a choice of these
    return tuple(
        (f"Survey {what} {name}", slips(q.number(reading, 0, i), method, measure))
        for what, names, reading in (
            ("point", "point_name", "point_reading_ft"),
            ("stake", "quick_name", "quick_reading_ft"),
        )
        for i, name in enumerate(q.column(names))
        if str(name)
    )


@lru_cache(maxsize=8)
def _suspects(points: Readings, misread: Slips) -> tuple[tuple[str, float, str], ...]:
    """Name of each reading to check, by how much it is off, ft, and what to do about it."""
    found = []
    for each in blunders(fitted(points), dict(misread)):
        looks = f": {each.slip}" if each.slip else ""
        what = f"{READ_AGAIN}{looks}" if each.again else TAKE_CHECK
        found.append((each.label.removeprefix("Survey "), each.off_ft, what))
    return tuple(found)


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


def contour_marks(
    dots: np.ndarray[Any, np.dtype[np.float64]],
    step_ft: float,
    points: Readings,
) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Where contours bear their height (n, 3: x, y, level), at the dot of each where most is free.

    The text stands over the dot. It keeps away from readings, from the heights before it and
    from the middle of the lot, where the base mostly stands. Of more contours than MARKS every
    second, third, ... bears one.
    """
    if not step_ft:
        return np.empty((0, 3))
    levels = np.unique(np.round(dots[:, 2] / step_ft)) * step_ft
    levels = levels[:: math.ceil(len(levels) / MARKS)]
    read = np.array([point[1:3] for point in points])
    low, high = read.min(axis=0), read.max(axis=0)
    extent = float((high - low).max())
    text = extent * np.array(TEXT_SHARE)
    taken = [*read]
    marks = []
    for level in levels:
        line = dots[np.abs(dots[:, 2] - level) < step_ft / 2]
        away = np.abs(line[:, None, :2] - np.array(taken)[None]) / text
        free = np.minimum(away.max(axis=2).min(axis=1), 1.0)
        out = np.abs(line[:, :2] - (low + high) / 2).sum(axis=1) / extent
        best = int(np.argmax(free + out))
        marks.append(line[best])
        taken.append(line[best, :2])
    return np.array(marks)


def _crossing(corner: Any, above: Any) -> tuple[Any, Any] | None:
    """Ends of the line on which a triangle crosses a level; None if it does not."""
    ends = []
    for i in range(3):
        j = (i + 1) % 3
        if (above[i] > 0) != (above[j] > 0):
            share = above[i] / (above[i] - above[j])
            ends.append(corner[i] + share * (corner[j] - corner[i]))
    return (ends[0], ends[1]) if len(ends) == 2 else None


READINGS = Solver(
    "readings",
    "readings to check, contours",
    tuple(
        dict.fromkeys(
            (
                *SURVEY_READS,
                "point_reading_ft",
                "quick_reading_ft",
                *CLOSING_READS,
                *FAULT_READS,
            )
        )
    ),
    solve_readings,
    by_measure=True,
)
