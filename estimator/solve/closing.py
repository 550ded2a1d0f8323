"""Closing errors: what a spot comes to twice, from different set-ups or along a line, and how far
the two may lie apart.

Heights and distances in feet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimator.solve.mesh import Floats, Ints

SAME_PLACE_FT = 0.0105  # 1/8 in, and no place as typed: nobody tapes a plan position closer
AGREE_FT = 0.05
"""How far two readings of one spot may lie apart: a rod on grass; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Closing:
    """A spot whose height came twice.

    Attributes:
        where: What meets there.
        error_ft: The later height less the earlier.
        allowed_ft: How far they may lie apart.
    """

    where: str
    error_ft: float
    allowed_ft: float

    @property
    def share(self) -> float:
        """Of what is allowed."""
        return abs(self.error_ft) / self.allowed_ft


def allowed_ft(legs: float) -> float:
    """How far two heights may lie apart between which are so many set-ups or lengths of a level.

    Small errors add up as the root of their number, as levelling's allowances do; a common
    practice, no source for its size.
    """
    return AGREE_FT * math.sqrt(1 + legs)


def closings(
    names: Sequence[str], places: Floats, heights: Floats, legs: Sequence[int]
) -> list[Closing]:
    """Every reading at the place of an earlier one.

    Args:
        names: n names of readings.
        places: (n, 2).
        heights: (n,).
        legs: n numbers of set-ups or lengths of a level behind each reading.
    """
    return [
        Closing(
            f"{names[late]} at {names[early]}",
            float(heights[late] - heights[early]),
            allowed_ft(abs(legs[late] - legs[early])),
        )
        for early, late in np.sort(close_pairs(places), axis=1).tolist()
    ]


def close_pairs(place: Floats) -> Ints:
    """Pairs of places that count as one, (k, 2); places are compared along x first."""
    order = np.argsort(place[:, 0], kind="stable")
    x = place[order, 0]
    last = np.searchsorted(x, x + SAME_PLACE_FT, side="right")
    count = last - np.arange(len(x)) - 1
    first = np.repeat(np.arange(len(x)), count)
    second = first + 1 + np.arange(len(first)) - np.repeat(np.cumsum(count) - count, count)
    one, other = order[first], order[second]
    near = np.hypot(*(place[one] - place[other]).T) <= SAME_PLACE_FT
    return np.stack([one[near], other[near]], axis=1)
