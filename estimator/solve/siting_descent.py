"""From places for a base down to cheaper ones near them. Lengths in feet, turns in degrees."""

from __future__ import annotations

import numpy as np

from estimator.solve.siting_places import Floats
from estimator.solve.siting_problem import Problem
from estimator.solve.siting_room import Bools

FINEST_MOVE_FT = 0.05
REFINING_STEPS = 40


def refined(
    problem: Problem, places: Floats, farthest_ft: float, farthest_deg: float
) -> tuple[Floats, Floats]:
    """Compass search from places (p, 3): ever smaller moves and turns while any of them saves.

    Args:
        problem: What prices and allows them.
        places: Where to begin.
        farthest_ft: Move of the first steps.
        farthest_deg: Turn of the first steps; 0 where the turn is fixed.

    Returns:
        The places (p, 3) where it ends, and their costs (p,).
    """
    turns = (-1, 0, 1) if farthest_deg else (0,)
    ways = np.array(
        [[i, j, k] for i in (-1, 0, 1) for j in (-1, 0, 1) for k in turns if i or j or k],
        dtype=np.float64,
    )
    # One way on, most places lie round the one before, too, and are known not to save.
    fresh = np.ones((len(ways) + 1, len(ways)), dtype=np.bool_)
    fresh[:-1] = (np.abs(ways[:, None] + ways) > 1).any(axis=2)
    ways *= [farthest_ft, farthest_ft, farthest_deg]
    found = places.copy()
    value = problem.priced(found).cost
    scale, came = np.ones(len(found)), np.full(len(found), -1)
    for _ in range(REFINING_STEPS):
        going = np.flatnonzero(scale * farthest_ft >= FINEST_MOVE_FT / 2)
        if not len(going):
            break
        tries = found[going, None] + scale[going, None, None] * ways
        costs = np.full(tries.shape[:2], np.inf)
        tried = fresh[came[going]]
        tried[tried] = problem.allows(tries[tried])
        if tried.any():
            costs[tried] = problem.priced(tries[tried]).cost
        at = costs.argmin(axis=1)
        least = costs[np.arange(len(going)), at]
        saves = least < value[going] - 1e-9
        better = going[saves]
        found[better] = tries[saves, at[saves]]
        value[better] = least[saves]
        came[going] = np.where(saves, at, -1)
        scale[going[~saves]] /= 2
    return found, value


def cheapest(places: Floats, costs: Floats, count: int, apart_ft: float) -> list[int]:
    """Numbers of the cheapest of places (p, 3), so far apart or turned."""
    starts: list[int] = []
    free = np.ones(len(places), dtype=np.bool_)
    for i in np.argsort(costs, kind="stable"):
        if len(starts) == count:
            break
        if free[i]:
            starts.append(int(i))
            free &= different(places, places[i], apart_ft)
    return starts


def different(places: Floats, other: Floats, apart_ft: float) -> Bools:
    """Which places (p, 3) are that far from another, or turned by 30 degrees or more."""
    away = np.hypot(places[:, 0] - other[0], places[:, 1] - other[1]) >= apart_ft
    turned = np.abs((places[:, 2] - other[2] + 90) % 180 - 90) >= 30
    return np.asarray(away | turned)
