"""Solver of the ground across a base on a grid, and beside it where the water must run off."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from estimator.engine import Solver
from estimator.model.field_sheet import GRID
from estimator.model.solvers.lot import PLACE_READS, SURVEY_READS, base_corners, lot_ground
from estimator.model.solvers.reads import Reads, zeros
from estimator.solve.courses import Profile, profile, side_lines


def solve_around(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Ground on a grid (row 1 is the back), and mean ground along each side and farther out."""
    q = Reads(values)
    grid = {f"grid_{n}_ft": zeros(GRID) for n in range(1, GRID + 1)}
    beside, out = zeros(4), zeros(4)
    for option in q.options():
        ground = lot_ground(q)
        corners = base_corners(q, option)
        share = np.linspace(0, 1, GRID)
        along, back = corners[1] - corners[0], corners[3] - corners[0]
        for n in range(GRID):
            places = corners[0] + share[n] * along + share[::-1, None] * back
            grid[f"grid_{n + 1}_ft"][option] = ground.at(places)[0]
        run = q.number("grade_run_ft")
        middle = corners.mean(axis=0)
        for side, (a, b) in enumerate(side_lines(corners)):
            beside[option, side] = mean_ground_ft(profile(ground, a, b))
            normal = (a + b) / 2 - middle
            away = run * normal / np.linalg.norm(normal)
            out[option, side] = mean_ground_ft(profile(ground, a + away, b + away))
    return {**grid, "side_ground_ft": beside, "side_out_ft": out}


def mean_ground_ft(line: Profile) -> float:
    """Mean height of the ground along a line."""
    run = line.end_ft - line.start_ft
    return float(run @ ((line.start_z_ft + line.end_z_ft) / 2) / line.length_ft)


AROUND = Solver(
    "ground_beside",
    "ground across and beside the base",
    (*SURVEY_READS, *PLACE_READS, "grade_run_ft"),
    solve_around,
)
