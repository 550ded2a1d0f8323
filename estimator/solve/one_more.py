"""Where one more reading would tell most about the earth under a base.

The ground between readings is taken to stray from a plane the more, the farther it lies from a
reading: kriging with a plane as its drift and a variogram that rises in proportion to distance,
over the noise of rod and grass (G. Matheron, The theory of regionalized variables, 1971, from
memory). How steeply it rises is told by the readings themselves. What a reading adds follows from
where it would stand, not from what it would say.

All lengths and heights are in feet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from estimator.solve.mesh import Floats, least_squares_plane
from estimator.solve.plainest import NOISE_FT
from estimator.solve.surface import Ground

FEWEST = 5
"""Readings that tell how far the ground strays from a plane."""
SAMPLES = 8
"""Parts that each side of the base is sampled in, and places tried along each side, one more."""
SAME = 1e-9
"""Share within which distances, and what readings tell, are alike: rounding."""
BEYOND = 0.1
"""Share of the base's sides by which places are tried outside of it: what is dug reaches there."""


@dataclass(frozen=True, slots=True)
class OneMore:
    """A place for one more reading.

    Attributes:
        x_ft, y_ft: In the survey's grid.
        now_ft3: Standard deviation of the earth between a level and the ground under the base.
        then_ft3: What that comes to with a reading here.
    """

    x_ft: float
    y_ft: float
    now_ft3: float
    then_ft3: float


def one_more(ground: Ground, corners: Floats) -> OneMore | None:
    """The place where one more reading narrows the earth under a base most; None of few readings.

    Args:
        ground: The survey.
        corners: (4, 2) of the base, in the survey's grid, one after the other.
    """
    places = ground.points_ft
    count = len(places)
    if count < FEWEST:
        return None
    scale = float(np.hypot(*(places - places.mean(axis=0)).T).max())
    rise = _rise(places, ground.heights_ft)
    along, back = corners[1] - corners[0], corners[3] - corners[0]
    first = corners[0] - ground.centre_ft
    area = abs(float(along[0] * back[1] - along[1] * back[0]))
    under = _grid(first, along, back, (np.arange(SAMPLES) + 0.5) / SAMPLES)
    tried = _grid(first, along, back, np.linspace(-BEYOND, 1 + BEYOND, SAMPLES + 1))

    bordered = np.zeros((count + 3, count + 3))
    bordered[:count, :count] = -rise * _apart(places, places) + NOISE_FT**2 * np.eye(count)
    bordered[:count, count:] = _drift(places, scale)
    bordered[count:, :count] = bordered[:count, count:].T

    def seen(at: Floats) -> Floats:
        return np.vstack([-rise * _apart(places, at), _drift(at, scale).T])

    base = seen(under).mean(axis=1)
    each = seen(tried)
    weights = np.linalg.solve(bordered, np.column_stack([base, each]))
    of_base = -rise * float(_apart(under, under).mean()) - float(base @ weights[:, 0])
    with_base = -rise * _apart(under, tried).mean(axis=0) - base @ weights[:, 1:]
    of_each = -(each * weights[:, 1:]).sum(axis=0) + NOISE_FT**2
    told = with_base**2 / np.maximum(of_each, NOISE_FT**2)
    # Of places that tell alike, to rounding, the first.
    best = int(np.flatnonzero(told >= told.max() * (1 - SAME))[0])
    x, y = tried[best] + ground.centre_ft
    now, then = max(of_base, 0.0), max(of_base - float(told[best]), 0.0)
    return OneMore(float(x), float(y), area * float(np.sqrt(now)), area * float(np.sqrt(then)))


def _rise(places: Floats, heights: Floats) -> float:
    """Slope of the variogram of what the ground strays from a plane, ft2 a ft, no less than slight.

    From pairs of readings no farther apart than the middle pair, of which each tells half its
    squared difference, less what the noise adds.
    """
    plane = least_squares_plane(places, heights)
    stray = heights - plane[0] - places @ plane[1:]
    apart = _apart(places, places)[np.triu_indices(len(places), 1)]
    half = (np.subtract.outer(stray, stray)[np.triu_indices(len(places), 1)]) ** 2 / 2
    near = apart <= np.median(apart) * (1 + SAME)
    strays = float((half[near] - NOISE_FT**2).sum() / apart[near].sum())
    return max(strays, NOISE_FT**2 / float(apart.max()))


def _grid(first: Floats, along: Floats, back: Floats, shares: Floats) -> Floats:
    u, v = (each.ravel()[:, np.newaxis] for each in np.meshgrid(shares, shares, indexing="ij"))
    return np.asarray(first + u * along + v * back)


def _apart(one: Floats, other: Floats) -> Floats:
    away = one[:, np.newaxis] - other
    return np.asarray(np.hypot(away[..., 0], away[..., 1]))


def _drift(places: Floats, scale: float) -> Floats:
    return np.column_stack([np.ones(len(places)), places / scale])
