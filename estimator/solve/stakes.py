"""Stakes on a grid: readings at the crossings of lines that stand square to each other."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from estimator.solve.mesh import Floats, Ints

Bools = NDArray[np.bool_]

OFF_LINE_FT = 0.05
"""How far from its line a stake may stand: several times what its place is rounded to."""
TURN = 1e-3
"""Angles, radians, that are one direction of lines."""
WAYS = 3
"""Directions in which lines are looked for: those that most pairs of readings have."""
FEWEST = 6
"""Readings that make a grid, three lines of two."""


def lines_of_stakes(local: Floats) -> tuple[Ints, Ints]:
    """The lines (n,) of either direction that each reading stands on; -1 if it is no stake.

    A line has more than half as many readings as the one of its direction that has most, so
    that readings between the stakes, or beyond them on one line, make none; and at more than half
    of the crossings there are stakes.

    Args:
        local: (n, 2) places, ft.
    """
    best = (np.full(len(local), -1), np.full(len(local), -1))
    for turn in _directions(local):
        cos, sin = math.cos(turn), math.sin(turn)
        along, across = _lines(local @ [cos, sin]), _lines(local @ [-sin, cos])
        stakes = _at_crossings(along, across)
        crossings = len(np.unique(along[stakes])) * len(np.unique(across[stakes]))
        enough = max(FEWEST, crossings // 2 + 1, np.count_nonzero(best[0] >= 0) + 1)
        if stakes.sum() >= enough:
            best = np.where(stakes, along, -1), np.where(stakes, across, -1)
    return best


def _at_crossings(along: Ints, across: Ints) -> Bools:
    """Which readings (n,) stand alone where two full lines cross, of lines by their numbers."""
    _, place, count = np.unique(
        np.stack([along, across]), axis=1, return_inverse=True, return_counts=True
    )
    stakes = np.asarray(count[place.reshape(-1)] == 1)
    while stakes.any():
        fewer = stakes & _full(along, stakes) & _full(across, stakes)
        if (fewer == stakes).all():
            break
        stakes = fewer
    return stakes


def _directions(local: Floats) -> list[float]:
    """Angles, radians within a right angle, that most pairs of readings have."""
    one, other = np.triu_indices(len(local), 1)
    x, y = (local[other] - local[one]).T
    long = np.hypot(x, y)
    quarter = np.mod(np.arctan2(y, x), math.pi / 2)
    found: list[float] = []
    for _ in range(WAYS):
        if not len(quarter):
            break
        order = np.argsort(quarter)
        quarter, long = quarter[order], long[order]
        round_again = np.concatenate([quarter, quarter + math.pi / 2])
        ends = np.searchsorted(round_again, quarter + 2 * TURN, side="right")
        first = int(np.argmax(ends - np.arange(len(quarter))))
        same = np.arange(first, ends[first])
        weight = np.take(long, same, mode="wrap") ** 2
        found.append(float(np.average(round_again[same], weights=weight)))
        rest = np.ones(len(quarter), dtype=np.bool_)
        rest[same % len(quarter)] = False
        quarter, long = quarter[rest], long[rest]
    return found


def _lines(at: Floats) -> Ints:
    """Number of the line (n,) on which a reading stands that is so far across it."""
    order = np.argsort(at)
    number = np.empty(len(at), dtype=np.intp)
    number[order] = np.cumsum(np.diff(at[order], prepend=at[order[0]]) > OFF_LINE_FT)
    return number


def _full(line: Ints, some: Bools) -> Bools:
    """Which readings (n,) stand on a line with more than half as many of some as any has."""
    count = np.bincount(line[some], minlength=line.max() + 1)
    return np.asarray(2 * count[line] > count.max())
