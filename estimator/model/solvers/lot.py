"""The surveyed lot as solvers see it: the ground's surface, and places in the survey's grid."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from estimator.errors import SurveyError
from estimator.model.quick_survey import NO_READING_FT
from estimator.model.solvers.reads import Reads
from estimator.solve.no_ground import LOT_SLOPE, beyond_reach

if TYPE_CHECKING:
    from estimator.solve.siting_places import Corner
    from estimator.solve.surface import Ground

Floats = NDArray[np.float64]

FALL_FT = 10.0
"""Fall of a whole survey that readings close together may have: common practice, no source."""

SURVEY_READS = (
    "point_name",
    "point_x_ft",
    "point_y_ft",
    "point_height_ft",
    "quick_name",
    "quick_x_ft",
    "quick_y_ft",
    "quick_height_ft",
    "line_name",
    "line_start_x_ft",
    "line_start_y_ft",
    "line_start_ft",
    "drop_name",
    "drop_x_ft",
    "drop_y_ft",
    "drop_height_ft",
)
"""What the ground's surface is made of: readings, stakes, starts of lines, ends of their steps."""
SITE_READS = ("site_x_ft", "site_y_ft", "turn_deg")
PLACE_READS = (
    *SITE_READS,
    "building_length_ft",
    "building_width_ft",
    "frame_length_ft",
    "frame_width_ft",
    "option_used",
)
"""Where the building stands, and the size of each option's base."""
CORNER_READS = (
    "corner_name",
    "corner_area",
    "corner_kind",
    "corner_x_ft",
    "corner_y_ft",
    "corner_more_ft",
)
"""Keys of the corners of the property and of areas to keep out of."""
_SETS = (
    ("point", "point_name", "point_x_ft", "point_y_ft", "point_height_ft"),
    ("stake", "quick_name", "quick_x_ft", "quick_y_ft", "quick_height_ft"),
    ("line", "line_name", "line_start_x_ft", "line_start_y_ft", "line_start_ft"),
    ("drop", "drop_name", "drop_x_ft", "drop_y_ft", "drop_height_ft"),
)
_STARTS = (
    ("line_start_x_ft", "line_x_ft"),
    ("line_start_y_ft", "line_y_ft"),
    ("line_start_ft", "line_height_ft"),
)
_TYPED = {
    "point": "point_reading_ft",
    "stake": "quick_reading_ft",
    "line": "line_height_ft",
    "drop": "drop_in",
}
"""The input that a reading of each set is typed into."""
Readings = tuple[tuple[str, float, float, float], ...]
"""Name, x, y and height in ft of each."""


def readings(q: Reads) -> Readings:
    """Name, x, y and height in ft of every reading; needs ``SURVEY_READS``."""
    found = []
    for what, name, *places in _SETS:
        names = q.column(name)
        columns = (np.broadcast_to(q.column(key), names.shape).tolist() for key in places)
        found += [
            (f"{what} {typed}", float(x), float(y), float(height))
            for typed, x, y, height in zip(names.tolist(), *columns, strict=True)
            if typed
        ]
    return tuple(found)


@lru_cache(maxsize=32)
def fitted(points: Readings) -> Ground:
    """The ground's surface through readings.

    Raises:
        SurveyError: Naming the readings, if there are too few, all in a line, or at odds, or one
            that no ground reaches from the others.
    """
    from estimator.solve.surface import fit_ground

    ground = fit_ground(
        [(x, y) for _, x, y, _ in points],
        [z for *_, z in points],
        [f"Survey {name}" for name, *_ in points],
    )
    _refuse_impossible(points)
    _refuse_wall(points)
    return ground


def _refuse_impossible(points: Readings) -> None:
    """Refuse a reading that no ground reaches from the others."""
    found = beyond_reach([(x, y) for _, x, y, _ in points], [z for *_, z in points])
    if found is None:
        return
    name, *_, height = points[found]
    others = float(np.median([z for number, (*_, z) in enumerate(points) if number != found]))
    raise SurveyError(
        f"its height, {{{height:.1f} ft}}, can't be that of ground among the others"
        f" (in the middle {{{others:.1f} ft}}).",
        where=f"Survey {name}",
        cure="Read it again, and look at its unit and its point.",
    )


def _refuse_wall(points: Readings) -> None:
    """Refuse readings that fall more than they reach, as those do of which all have another unit."""
    places = np.array([place for _, *place in points])
    reach, heights = float(np.hypot(*np.ptp(places[:, :2], axis=0))), places[:, 2]
    fall = float(np.ptp(heights))
    if fall > max(FALL_FT, LOT_SLOPE * reach):
        low, high = points[int(heights.argmin())][0], points[int(heights.argmax())][0]
        raise SurveyError(
            f"the ground falls {{{fall:.1f} ft}} from one to the other, and all readings lie within"
            f" {{{reach:.1f} ft}}",
            where=f"Survey {high} and Survey {low}",
            cure="Look at the unit of the readings, and of their places.",
        )


def lot_ground(q: Reads) -> Ground:
    """The ground's surface through all readings of the survey.

    Raises:
        SurveyError: As :func:`fitted`, each reading with the line of its table that it stands on;
            a line that starts nowhere.
    """
    _refuse_nowhere(q)
    try:
        return fitted(readings(q))
    except SurveyError as error:
        lines = _lines(q)
        what, where = _with_lines(error.what, lines), _with_lines(error.where, lines)
        cells = {_with_lines(label, lines): cell for label, cell in lines.items()}
        raise SurveyError(what, where=where, cure=error.cure, cells=cells) from error


def lot_grounds(q: Reads) -> Ground:
    """Surfaces through all readings, heights of which have a leading axis, of several surveys."""
    from estimator.solve.surface import fit_grounds

    places: list[Corner] = []
    heights = []
    for _, name, x, y, height in _SETS:
        rows = [i for i, typed in enumerate(q.column(name)) if str(typed)]
        places += [(q.number(x, 0, i), q.number(y, 0, i)) for i in rows]
        heights.append(np.asarray(q.values[height])[:, 0, rows])
    return fit_grounds(places, np.concatenate(heights, axis=1))


def _refuse_nowhere(q: Reads) -> None:
    """Refuse a line of which neither a reading nor a place and height tells where it starts."""
    for row, name in enumerate(map(str, q.column("line_name"))):
        for start, key in _STARTS:
            if name and q.number(start, 0, row) < NO_READING_FT / 2:
                told = f"Survey line {name} (line {row + 1})"
                raise SurveyError(
                    "it starts at no reading, and its start x, y or height is blank",
                    where=told,
                    cure="Name the reading that it starts at, or type all three.",
                    cells={told: (key, row)},
                )


def _lines(q: Reads) -> dict[str, tuple[str, int]]:
    """By label of a reading, its input and the line of it; the first of those called alike."""
    found: dict[str, tuple[str, int]] = {}
    for kind, name, *_ in _SETS:
        for i, typed in enumerate(q.column(name)):
            if str(typed):
                found.setdefault(f"Survey {kind} {typed}", (_TYPED[kind], i))
    return found


def _with_lines(text: str, lines: Mapping[str, tuple[str, int]]) -> str:
    """A text with the line behind every reading that it names, of two names the longer first."""
    labels = sorted(lines, key=len, reverse=True)
    pattern = "|".join(map(re.escape, labels))
    if not pattern:
        return text
    told = re.compile(rf"(?<!\w)({pattern})(?!\w)")
    return told.sub(lambda match: f"{match[1]} (line {lines[match[1]][1] + 1})", text)


def turned(q: Reads, local: Floats) -> Floats:
    """Places (n, 2) measured from corner 1 of the building, in the survey's grid."""
    corner, axes = _building(q)
    return np.asarray(corner + local[:, :1] * axes[0] + local[:, 1:] * axes[1])


def from_building(q: Reads, places: Floats) -> Floats:
    """Places (n, 2) in the survey's grid, measured from corner 1 of the building."""
    corner, axes = _building(q)
    return np.asarray((places - corner) @ axes.T)


def _building(q: Reads) -> tuple[Floats, Floats]:
    """Corner 1 of the building (2,), and the directions along and back (2, 2)."""
    angle = math.radians(q.number("turn_deg"))
    along = np.array([math.cos(angle), math.sin(angle)])
    back = np.array([-along[1], along[0]])
    return np.array([q.number("site_x_ft"), q.number("site_y_ft")]), np.array([along, back])


def base_corners(q: Reads, option: int, beyond_ft: float = 0.0) -> Floats:
    """Corners (4, 2) of the base, front left first, anticlockwise; or of a larger one round it."""
    length, width = q.number("building_length_ft"), q.number("building_width_ft")
    out_x = (q.number("frame_length_ft", option) - length) / 2 + beyond_ft
    out_y = (q.number("frame_width_ft", option) - width) / 2 + beyond_ft
    local = np.array(
        [
            (-out_x, -out_y),
            (length + out_x, -out_y),
            (length + out_x, width + out_y),
            (-out_x, width + out_y),
        ]
    )
    return turned(q, local)


def corner_areas(q: Reads) -> list[tuple[str, list[int]]]:
    """Kind and rows of each property line and keep-out area, in the order they are typed."""
    areas: dict[tuple[str, str], list[int]] = {}
    kinds, names = q.column("corner_kind"), q.column("corner_area")
    for row, name in enumerate(q.column("corner_name")):
        if str(name):
            areas.setdefault((str(kinds[row]), str(names[row]).casefold()), []).append(row)
    return [(kind, rows) for (kind, _), rows in areas.items()]


def polygon(q: Reads, rows: list[int]) -> tuple[Corner, ...]:
    """Corners of an area in the survey's grid, ft, by their rows."""
    return tuple((q.number("corner_x_ft", 0, r), q.number("corner_y_ft", 0, r)) for r in rows)
