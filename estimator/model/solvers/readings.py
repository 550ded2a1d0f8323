"""Solver that reads the survey alone: readings to check, closing errors, contours for the plan."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from estimator.amounts import Measure
from estimator.engine import Solver
from estimator.model.open_points import LEAST_READINGS
from estimator.model.pictures import CONTOURS
from estimator.model.solvers.closing_errors import CLOSING_READS, worst_closing
from estimator.model.solvers.contours import contour_dots
from estimator.model.solvers.lot import SURVEY_READS, Readings, fitted, lot_ground, readings
from estimator.model.solvers.misread import Method, slips
from estimator.model.solvers.reads import Reads, as_texts
from estimator.model.solvers.survey_faults import FAULT_READS, refuse_faults
from estimator.model.survey import READ_AGAIN, SUSPECTS, TAKE_CHECK
from estimator.units import IN_PER_FT

if TYPE_CHECKING:
    from estimator.solve.blunders import Slip

    Slips = tuple[tuple[str, tuple[Slip, ...]], ...]

SUSPECTS_MOST = SUSPECTS.capacity


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
    if len(points) >= LEAST_READINGS:
        ground = lot_ground(q)
        suspects = _suspects(points, _slips(q, measure))
        for i, (name, residual, what) in enumerate(suspects[:SUSPECTS_MOST]):
            names[0, i], to_do[0, i] = name, what
            off[0, i] = residual * IN_PER_FT
        dots, step = contour_dots(ground, measure)
    closing = worst_closing(q)
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
    }


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
    from estimator.solve.blunders import blunders

    found = []
    for each in blunders(fitted(points), dict(misread)):
        looks = f": {each.slip}" if each.slip else ""
        what = f"{READ_AGAIN}{looks}" if each.again else TAKE_CHECK
        found.append((each.label.removeprefix("Survey "), each.off_ft, what))
    return tuple(found)


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
