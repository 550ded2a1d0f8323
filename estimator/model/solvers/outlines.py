"""Solver of the plan: closed outlines of property, setback and keep-outs; where names stand."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import Measure
from estimator.engine import Solver
from estimator.model.siting_sheet import BOUNDS, KEEP_OUT, KEEP_OUTS, LEAST_CORNERS, PROPERTY
from estimator.model.solvers.contours import named_contours
from estimator.model.solvers.lot import (
    CORNER_READS,
    PLACE_READS,
    SURVEY_READS,
    corner_areas,
    polygon,
)
from estimator.model.solvers.plan_names import FOUND_READS, plan_names
from estimator.model.solvers.reads import Reads, as_texts

Floats = NDArray[np.float64]

IN_LINE = 1e-9
"""Sine of a turn so small that two sides lie in line."""


def solve_outlines(values: Mapping[str, Any], measure: Measure = "feet") -> Mapping[str, Any]:
    """x and y along each outline, closed by its first place, NaN behind that; names and heights.

    An outline that is not there is one dot at corner 1 of the building, so that it is not seen.
    The property, by which the plan is scaled, stays at its first place.

    Raises:
        SurveyError: If the readings can't be a surface.
    """
    q = Reads(values)
    nowhere = np.array([[q.number("site_x_ft"), q.number("site_y_ft")]])
    areas = corner_areas(q)
    lots = [(rows, np.array(polygon(q, rows))) for kind, rows in areas if kind == PROPERTY]
    out = [np.array(polygon(q, rows)) for kind, rows in areas if kind == KEEP_OUT]
    outlines = {"lot": nowhere, "setback": nowhere}
    if lots and len(lots[0][1]) >= LEAST_CORNERS:
        rows, lot = lots[0]
        keep = [q.number("setback_ft") + q.number("corner_more_ft", 0, row) for row in rows]
        outlines["lot"] = lot
        inner = setback_line(lot, np.array(keep))
        outlines["setback"] = inner if len(inner) else nowhere
    for number in range(1, KEEP_OUTS + 1):
        outlines[f"keep_{number}"] = out[number - 1] if len(out) >= number else nowhere
    answer: dict[str, Any] = {}
    for name, corners in outlines.items():
        drawn = np.vstack([corners, corners[:1]]) if len(corners) > 1 else corners
        behind = corners[:1] if name == "lot" else np.full((1, 2), np.nan)
        closed = np.vstack([drawn, np.repeat(behind, BOUNDS - len(drawn), axis=0)])
        answer[f"{name}_x_ft"], answer[f"{name}_y_ft"] = closed.T[:, None]
    names = plan_names(q, tuple(outlines.values()), measure)
    # The line behind that of the last side repeats it.
    answer["named_away_ft"] = np.append(names.away_ft, names.away_ft[-1])[None]
    answer["named_aside_ft"] = np.append(names.aside_ft, names.aside_ft[-1])[None]
    answer["number_x_ft"], answer["number_y_ft"] = names.number_ft.T[:, None]
    marks = named_contours(q, names.drawn, measure)
    answer["contour_mark_x_ft"] = np.array([[x for x, _, _ in marks]])
    answer["contour_mark_y_ft"] = np.array([[y for _, y, _ in marks]])
    answer["contour_mark"] = as_texts(np.array([[text for *_, text in marks]], dtype=object))
    return answer


def setback_line(corners: Floats, setbacks_ft: Floats) -> Floats:
    """The outline inside of a lot at a distance from each side, mitred at its corners.

    Args:
        corners: (n, 2) in order, either way round; side i goes from corner i to corner i + 1.
        setbacks_ft: (n,) distance from each side.

    Returns:
        (m, 2) places in order, none where the setbacks leave nothing of the lot.
    """
    along = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(along[:, 0], along[:, 1])
    keep = length > 0
    if int(keep.sum()) < LEAST_CORNERS:
        return np.empty((0, 2))
    corners, along = corners[keep], along[keep] / length[keep, None]
    turn = np.sign(_area_ft2(corners))
    inward = turn * np.column_stack([-along[:, 1], along[:, 0]]) * setbacks_ft[keep, None]
    found: list[Floats] = []
    starts, ends = np.empty_like(corners), np.empty_like(corners)
    for i, corner in enumerate(corners):
        before = i - 1
        sine = along[before, 0] * along[i, 1] - along[before, 1] * along[i, 0]
        if abs(sine) < IN_LINE:
            pair = [corner + inward[before], corner + inward[i]]
        else:
            # Set in from the line of the side before, and from that of the side after.
            normals = np.array([[-along[k, 1], along[k, 0]] for k in (before, i)])
            set_in = np.array([normals[0] @ inward[before], normals[1] @ inward[i]])
            pair = [corner + np.linalg.solve(normals, set_in)]
        found += pair
        ends[before], starts[i] = pair[0], pair[-1]
    kept = ((ends - starts) * along).sum(axis=1) >= -IN_LINE
    inner = np.array(found)
    return inner if kept.all() and turn * _area_ft2(inner) > 0 else np.empty((0, 2))


def _area_ft2(corners: Floats) -> float:
    """Area of a polygon, positive if its corners run anticlockwise (shoelace formula)."""
    x, y = corners.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


OUTLINES = Solver(
    "outlines",
    "outlines and names on the plan",
    (*SURVEY_READS, *PLACE_READS, "setback_ft", *CORNER_READS, *FOUND_READS),
    solve_outlines,
    by_measure=True,
)
