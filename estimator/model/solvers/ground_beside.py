"""Solver of the ground across a base on a grid, at the stakes, and where water must run off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from estimator.engine import Solver
from estimator.model.set_out import GRID, TIES
from estimator.model.solvers.lot import (
    PLACE_READS,
    SURVEY_READS,
    base_corners,
    lot_ground,
    readings,
    turned,
)
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.units import FT3_PER_YD3, IN_PER_FT

if TYPE_CHECKING:
    from estimator.solve.courses import Profile
    from estimator.solve.surface import Ground

LONGEST_TAPE_FT = 100.0
"""Common practice, no source."""
STRINGS = ((0, 1), (3, 2), (5, 6), (4, 7))
"""Stakes that each string runs between: A of front and back, B of right and left."""


def solve_around(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Ground on a grid (row 1 is the back), at the stakes, along each side and farther out; ties;
    where one more reading tells most."""
    from estimator.solve.courses import profiles

    q = Reads(values)
    grid = {f"grid_{n}_ft": zeros(GRID) for n in range(1, GRID + 1)}
    over, near = zeros(), zeros()
    stake, guessed = zeros(12), zeros(12)
    more = blanks()
    for option in q.options():
        ground = lot_ground(q)
        corners = base_corners(q, option)
        share = np.linspace(0, 1, GRID)
        along, back = corners[1] - corners[0], corners[3] - corners[0]
        for n in range(GRID):
            places = corners[0] + share[n] * along + share[::-1, None] * back
            grid[f"grid_{n + 1}_ft"][option] = ground.at(places)[0]
        ends = stake_ends(corners, q.number("stake_off_ft"))
        stake[option], guessed[option] = ground.at(np.vstack([ends, corners]))
        strings = [(ends[a], ends[b]) for a, b in STRINGS]
        over[option] = max(line.highest_ft for line in profiles(ground, strings))
        near[option] = nearest_ft(ground, corners)
        more[option] = _one_more(ground, corners)
    return {
        **grid,
        **solve_beside(values),
        "stake_ground_ft": stake,
        "stake_guessed": guessed,
        "string_ground_ft": over,
        "nearest_reading_ft": near,
        "one_more": as_texts(more),
        **_ties(q),
    }


def solve_beside(values: Mapping[str, Any]) -> dict[str, Any]:
    """Ground along each side and farther out, and how far it dips there between the corners."""
    from estimator.solve.courses import profile, side_lines

    q = Reads(values)
    beside, out, dip = zeros(4), zeros(4), zeros()
    run = q.number("grade_run_ft")
    for option in q.options():
        ground = lot_ground(q)
        corners = base_corners(q, option)
        middle = corners.mean(axis=0)
        for side, (a, b) in enumerate(side_lines(corners)):
            line = profile(ground, a, b)
            beside[option, side] = mean_ground_ft(line)
            dip[option] = np.maximum(dip[option], dip_ft(line) * IN_PER_FT)
            normal = (a + b) / 2 - middle
            away = run * normal / np.linalg.norm(normal)
            out[option, side] = mean_ground_ft(profile(ground, a + away, b + away))
    return {"side_ground_ft": beside, "side_out_ft": out, "side_dip_in": dip}


def _one_more(ground: Ground, corners: np.ndarray[Any, Any]) -> str:
    """Where one more reading tells most; blank of too few readings."""
    from estimator.solve.one_more import one_more

    found = one_more(ground, corners)
    if found is None:
        return ""
    now, then = found.now_ft3 / FT3_PER_YD3, found.then_ft3 / FT3_PER_YD3
    return (
        f"{{{found.x_ft:.1f} ft}}, {{{found.y_ft:.1f} ft}}:"
        f" +/- {{{now:.2f} yd3}} becomes {{{then:.2f} yd3}}"
    )


def stake_ends(corners: np.ndarray[Any, Any], off_ft: float) -> np.ndarray[Any, Any]:
    """Stakes (8, 2) beyond the corners: A on the lines of front and back, then B on the others'."""
    found = []
    for other in ((1, 0, 3, 2), (3, 2, 1, 0)):
        line = corners - corners[list(other)]
        found.append(corners + off_ft * line / np.linalg.norm(line, axis=1)[:, np.newaxis])
    return np.vstack(found)


def _ties(q: Reads) -> dict[str, Any]:
    """The two points of the survey that corners are taped from; blank where there are none."""
    name = np.full((1, TIES), "", dtype=object)
    place = np.zeros((3, 1, TIES))
    points = readings(q)
    length, width = q.number("building_length_ft"), q.number("building_width_ft")
    corners = turned(q, np.array([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]))
    for column, which in enumerate(best_ties([(x, y) for _, x, y, _ in points], corners)):
        name[0, column] = points[which][0]
        place[:, 0, column] = points[which][1:]
    return {
        "tie_name": as_texts(name),
        **{f"tie_{key}_ft": each for key, each in zip(("x", "y", "height"), place, strict=True)},
    }


def best_ties(
    places: Sequence[tuple[float, float]], corners: np.ndarray[Any, Any]
) -> tuple[int, ...]:
    """Of all pairs of places the one whose tapes to the corners cross best at the worst corner.

    Tapes longer than :data:`LONGEST_TAPE_FT` count only where none are shorter.

    Returns:
        Numbers of the two places, or nothing if there are fewer than two apart.
    """
    at = np.array(places, dtype=float).reshape(-1, 2)
    arm = corners - at[:, np.newaxis]
    reach = np.hypot(arm[..., 0], arm[..., 1])
    x, y = arm[..., 0], arm[..., 1]
    cross = np.abs(x[:, np.newaxis] * y - y[:, np.newaxis] * x)
    product = reach[:, np.newaxis] * reach
    sine = np.round((cross / np.where(product > 0, product, np.inf)).min(axis=-1), 9)
    near = (reach <= LONGEST_TAPE_FT).all(axis=-1)
    worth = np.triu(sine + 2.0 * (near[:, np.newaxis] & near) * (sine > 0))
    best = int(np.argmax(worth)) if worth.any() else -1
    return divmod(best, len(at)) if best >= 0 else ()


def mean_ground_ft(line: Profile) -> float:
    """Mean height of the ground along a line."""
    run = line.end_ft - line.start_ft
    return float(run @ ((line.start_z_ft + line.end_z_ft) / 2) / line.length_ft)


def nearest_ft(ground: Ground, corners: np.ndarray[Any, Any]) -> float:
    """How far the nearest reading lies from a base of four corners; 0 if one lies under it."""
    off = ground.points_ft + ground.centre_ft - corners.mean(axis=0)
    sides = np.array([corners[1] - corners[0], corners[3] - corners[0]])
    length = np.linalg.norm(sides, axis=1)
    out = np.maximum(np.abs(off @ (sides / length[:, np.newaxis]).T) - length / 2, 0)
    return float(np.hypot(*out.T).min())


def dip_ft(line: Profile) -> float:
    """How far the ground along a line lies below the straight one between its ends, at most."""
    place = np.concatenate([line.start_ft, line.end_ft])
    height = np.concatenate([line.start_z_ft, line.end_z_ft])
    first, last = line.start_z_ft[0], line.end_z_ft[-1]
    return float((first + (last - first) * place / line.length_ft - height).max())


AROUND = Solver(
    "ground_beside",
    "ground across and beside the base",
    (*SURVEY_READS, *PLACE_READS, "grade_run_ft", "stake_off_ft"),
    solve_around,
)
