"""Readings that no ground reaches from the others: of another unit, or no data at all.

Lengths and heights in feet.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.solve.mesh import groups

CLIFF_FT = 20.0
"""Rise above which no ground is taken to go on within :data:`CLIFF_SLOPE`: common practice, no
source."""
CLIFF_SLOPE = 2.0
"""Slope, ft a ft, that only rock has: common practice, no source."""
LOT_SLOPE = 1.0
"""Slope, ft a ft, that no lot to build on has: common practice, no source."""
NEIGHBOURS = 4
"""A reading that so many of the nearest ones can't reach stands alone, whatever is farther off."""


def beyond_reach(places_ft: ArrayLike, heights_ft: ArrayLike) -> int | None:
    """The reading that no ground reaches; of several the one farthest from the middle height.

    From one reading to another ground may go on that rises no more than a cliff. Readings that it
    goes on between belong together, and those apart from most of the others are no ground of the
    lot, however many bear the same mark of no data. Far from others a cliff may be as high as the
    way is long: so a reading to which none of the nearest rises as a lot may is none either.

    Args:
        places_ft: (n, 2) where the readings are.
        heights_ft: (n,) how high.

    Returns:
        Its number, or None: every reading may be ground, or it is half of them against the others.
    """
    places = np.asarray(places_ft, dtype=np.float64).reshape(-1, 2)
    heights = np.asarray(heights_ft, dtype=np.float64)
    rise = np.abs(heights[:, None] - heights)
    away = np.hypot(*np.moveaxis(places[:, None] - places, -1, 0))
    # Of others than itself.
    nearest = np.argsort(away + np.diag(np.full(len(away), -1.0)), axis=1, kind="stable")[:, 1:]
    nearest = nearest[:, :NEIGHBOURS]
    cliff = np.take_along_axis(rise - LOT_SLOPE * away, nearest, axis=1) > CLIFF_FT
    out = cliff.all(axis=1) | _apart(rise <= CLIFF_FT + CLIFF_SLOPE * away)
    if out.all() or not out.any():
        return None
    off = np.where(out, np.abs(heights - np.median(heights)), -1.0)
    return int(off.argmax())


def _apart(joined: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which are not of the largest group of those joined (n, n); none where two are as large."""
    _, group = groups(len(joined), np.argwhere(np.triu(joined, 1)))
    sizes = np.bincount(group)
    largest = sizes == sizes.max()
    if largest.sum() > 1:
        return np.zeros(len(joined), dtype=np.bool_)
    return np.asarray(group != largest.argmax())
