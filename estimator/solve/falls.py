"""Ground as it would be if the lot fell more or less: its own shape made steeper or flatter.

Lengths and heights in feet; heights rise upwards.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.solve.surface import Ground
from estimator.solve.volumes import clip
from estimator.units import IN_PER_FT

Floats = NDArray[np.float64]

LEAST_SHAPE_FT = 1.0 / IN_PER_FT
"""Fall under which a lot has no shape of its own that could be made steeper."""


class Falls:
    """The ground under a footprint, and readings of it at another fall across that footprint.

    The highest ground under the footprint stays where it is. A surface that is linear between its
    readings falls by as much as they are stretched about that height. A lot that falls by less
    than :data:`LEAST_SHAPE_FT` is a plane instead, tilted along the footprint's length: down from
    its first corner to the second, or the other way where the ground lies lower there.

    Args:
        ground: The surface as surveyed.
        corners: (4, 2) the footprint, front left first, anticlockwise.

    Attributes:
        own_ft: Fall across the footprint as surveyed, from its highest to its lowest ground.
        high_ft: The highest ground in it.
    """

    def __init__(self, ground: Ground, corners: ArrayLike) -> None:
        patch = clip(ground, corners)
        self.high_ft = patch.highest_ft
        self.own_ft = patch.highest_ft - patch.lowest_ft
        place = np.asarray(corners, dtype=np.float64).reshape(4, 2)
        heights, _ = ground.at(place)
        start, end = place[0], place[1]
        if heights[[1, 2]].mean() > heights[[0, 3]].mean():
            start, end = end, start
        self._start, self._along = start, (end - start) / float((end - start) @ (end - start))

    def heights_ft(self, places: ArrayLike, heights_ft: ArrayLike, falls_ft: ArrayLike) -> Floats:
        """Heights (f, n) of readings at each of the falls.

        Args:
            places: (n, 2) where the readings were taken.
            heights_ft: (n,) their heights as surveyed.
            falls_ft: (f,) falls across the footprint.
        """
        fall = np.asarray(falls_ft, dtype=np.float64)[:, np.newaxis]
        if self.own_ft < LEAST_SHAPE_FT:
            place = np.asarray(places, dtype=np.float64).reshape(-1, 2)
            along = (place - self._start) @ self._along
            return np.asarray(self.high_ft - fall * along)
        heights = np.asarray(heights_ft, dtype=np.float64)
        return np.asarray(self.high_ft + (heights - self.high_ft) * (fall / self.own_ft))
