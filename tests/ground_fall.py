"""Fall of the ground between the corners of a footprint, for tests."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from estimator.solve.surface import Ground


@dataclass(frozen=True, slots=True)
class Fall:
    """How much the ground drops across a footprint, between its corners.

    ``percent`` is the fall over the plan distance between the high and the low corner; where
    corners tie, the nearest pair counts. ``guessed`` is true if a corner lies outside the readings.
    """

    fall_ft: float
    fall_in: float
    percent: float
    high_corner: int
    low_corner: int
    high_ft: float
    low_ft: float
    guessed: bool

    def more_than(self, timber_depth_ft: float) -> bool:
        """Whether the fall is more than the depth of one timber."""
        return bool(self.fall_ft > timber_depth_ft + 1e-9)


def fall(ground: Ground, corners: ArrayLike) -> Fall:
    """Fall of the ground between the corners (k, 2) of a footprint."""
    place = np.asarray(corners, dtype=np.float64).reshape(-1, 2)
    height, guessed = ground.at(place)
    highs = np.flatnonzero(height >= height.max() - 1e-9)
    lows = np.flatnonzero(height <= height.min() + 1e-9)
    run = np.linalg.norm(place[highs][:, None] - place[lows][None, :], axis=2)
    run[highs[:, None] == lows[None, :]] = np.inf
    i, j = np.unravel_index(int(np.argmin(run)), run.shape)
    drop = float(height.max() - height.min())
    return Fall(
        fall_ft=drop,
        fall_in=12 * drop,
        percent=100 * drop / float(run[i, j]) if np.isfinite(run[i, j]) else 0.0,
        high_corner=int(highs[i]),
        low_corner=int(lows[j]),
        high_ft=float(height.max()),
        low_ft=float(height.min()),
        guessed=bool(guessed.any()),
    )
