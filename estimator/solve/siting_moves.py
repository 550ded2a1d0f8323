"""Ground samples of footprints that may be carried and turned a little, and how far they get."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
At = tuple[Ints, Ints]

ON_EDGE_FT = 1e-6
"""How far off an edge a sample still counts as on it."""


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """Samples (p, n) of the ground in cells of places; lengths in feet.

    Attributes:
        triangle: On which each lies in the middle of its cell; -1 beyond the readings.
        x, y: Where, from the plan origin.
        along, across: Where, from the middle of the footprint.
        half_x, half_y: (p, 1) how far all are carried at most, either way.
        turn: (p, 1) how far they are turned at most besides, in radians.
        curved: How far a turned sample leaves the tangent of its circle at most.
        reach: How far each gets at most, and a trifle for what lies on an edge.
    """

    triangle: Ints
    x: Floats
    y: Floats
    along: Floats
    across: Floats
    half_x: Floats
    half_y: Floats
    turn: Floats
    curved: Floats
    reach: Floats

    def at_most(self, at: At, run_x: Floats, run_y: Floats) -> Floats:
        """What samples at ``at`` gain at most, by runs (..., m) of so much for each foot."""
        row = at[0]
        half_x, half_y, turn = self.half_x[row, 0], self.half_y[row, 0], self.turn[row, 0]
        swung = np.abs(run_y * self.along[at] - run_x * self.across[at]) * turn
        carried = np.abs(run_x) * half_x + np.abs(run_y) * half_y
        return np.asarray(carried + swung + np.hypot(run_x, run_y) * self.curved[at] + ON_EDGE_FT)
