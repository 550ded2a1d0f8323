"""Which samples of a footprint can lie within the readings together, and which beyond them.

Samples that can lie on either side of the rim of the readings do not do so each for itself: all
are carried and turned alike. Where no move takes one out and leaves another in, no way to lie has
that. And the readings' outline is convex, so that those of a row which lie within it follow one
another.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_moves import Moves
from estimator.solve.siting_rim import Over

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

GO = 12
"""Samples of a cell at most that can change sides for the ways to be told."""
LEAST_WAYS, WAYS, REACH_WAYS = 4, 40, 4.0
"""Ways at most in which the samples of a cell are told to lie: between the first two, and fewer
the farther they reach, the third at a reach of 1 ft. Wide cells are better divided."""
TRIED = 80
"""Ways at most that are tried for a cell."""
TIE_FT, CORNER_FT = 1e-9, -1e-6
"""By how much two samples have to get apart to lie on two sides of one edge, and at a corner."""


def ways(over: Over, moves: Moves, counts: tuple[int, int]) -> tuple[Ints, Bools]:
    """Ways in which samples (p, n) of cells change sides of the rim.

    Args:
        over: Which samples can, and where they lie to it.
        moves: How far they are moved.
        counts: Samples along the footprint and across it.

    Returns:
        The number of each way's cell (v,), and which samples change sides (v, n). Of a cell in
        which more than ``GO`` samples can, or in more than ``WAYS`` ways, there is none.
    """
    count = over.goes.sum(axis=1)
    none, some = np.flatnonzero(count == 0), np.flatnonzero((count > 0) & (count <= GO))
    shape = len(none), over.goes.shape[1]
    if not len(some):
        return none, np.zeros(shape, dtype=np.bool_)
    most = int(count[some].max())
    # The samples of each cell that can, first; what is beyond their count is taken for none.
    at = np.argsort(~over.goes[some], axis=1, kind="stable")[:, :most]
    able = _together(over, moves, some, at)
    chains = _chains(over, some, at, np.arange(most) < count[some][:, None], counts[1])
    limit = np.clip(REACH_WAYS / moves.reach[some].max(axis=1), LEAST_WAYS, WAYS)
    row, out = np.arange(len(some)), np.zeros((len(some), 0), dtype=np.intp)
    seen = np.zeros((len(some), 2, len(chains), most), dtype=np.bool_)
    for n in range(most):
        row, out = np.tile(row, 2), np.vstack([np.insert(out, n, side, axis=1) for side in (0, 1)])
        seen = np.tile(seen, (2, 1, 1, 1))
        told = n < count[some[row]]
        fits = np.ones(len(row), dtype=np.bool_)
        for m in range(n):
            fits &= able[row, m, n, out[:, m], out[:, n]]
        for k, (side, before) in enumerate(chains):
            fits &= _once(seen[:, :, k], before[row, n], out[:, n] == side, n)
        fits = np.where(told, fits, out[:, n] == 0)
        fits &= (np.bincount(row[fits], minlength=len(some)) <= TRIED)[row]
        row, out, seen = row[fits], out[fits], seen[fits]
    cell = some[row]
    is_told = np.arange(most) < count[cell][:, None]
    within = moves.triangle[cell] >= 0
    first, second = np.nonzero(is_told)
    lies = within.copy()
    lies[first, at[row[first], second]] = out[first, second] == 0
    told = np.where(over.goes & over.one_side, over.side, -1)[cell].reshape(len(cell), *counts)
    keeps = _follows(lies.reshape(len(cell), *counts), told)
    keeps &= (np.bincount(row[keeps], minlength=len(some)) <= limit)[row]
    changes = np.vstack([np.zeros(shape, dtype=np.bool_), (lies ^ within)[keeps]])
    return np.concatenate([none, cell[keeps]]), changes


def _chains(over: Over, some: Ints, at: Ints, told: Bools, across: int) -> list[tuple[int, Ints]]:
    """In which order samples ``at`` (c, m) of cells follow each other in rows.

    Returns:
        A side, 0 within the readings and 1 beyond them, to which no row comes back once it has
        left it; and which (c, m) is the one before in its row, -1 for none. The readings' outline
        is convex; and over one edge alone a row goes once, one way or the other.
    """
    cell = some[:, None]
    edge = np.where(over.one_side[cell, at], over.side[cell, at], -1)
    one = (edge[:, :, None] == edge[:, None, :]) & (edge >= 0)[:, None, :]
    earlier = np.tri(at.shape[1], k=-1, dtype=np.bool_) & told[:, None, :]
    found = []
    for line in (at // across, at % across):
        same = earlier & (line[:, :, None] == line[:, None, :])
        last = np.where(same, np.arange(at.shape[1]), -1).max(axis=2)
        over_one = np.take_along_axis(one, np.maximum(last, 0)[..., None], axis=2)[..., 0]
        found += [(0, last), (1, np.where(over_one, last, -1))]
    return found


def _once(seen: Bools, before: Ints, there: Bools, n: int) -> Bools:
    """Whether rows don't come back to a side that they left; ``seen`` (w, 2, m) is kept up.

    Args:
        seen: Whether each way's row, up to each sample, has been on the side, and has left it.
        before: (w,) which sample is the one before in the row; -1 for none.
        there: (w,) whether the sample ``n`` lies on the side.
    """
    was = seen[np.arange(len(seen)), :, np.maximum(before, 0)] & (before >= 0)[:, None]
    been, left = was.T
    seen[:, 0, n] = been | there
    seen[:, 1, n] = left | (been & ~there)
    return np.asarray(~(left & there))


def _together(over: Over, moves: Moves, some: Ints, at: Ints) -> Bools:
    """Whether two of samples ``at`` (c, m) of cells can lie on given sides (c, m, m, 2, 2).

    A side is 0 within the readings, and 1 beyond them.
    """
    cell = some[:, None]
    out_x, out_y = np.moveaxis(over.outward[cell, at], -1, 0)
    swung = out_y * moves.along[cell, at] - out_x * moves.across[cell, at]
    by = np.stack(
        [out_x * moves.half_x[some], out_y * moves.half_y[some], swung * moves.turn[some]]
    )
    away, curved = over.away[cell, at], moves.curved[cell, at]
    side, alone = over.side[cell, at], over.one_side[cell, at]
    able = np.ones((*at.shape, at.shape[1], 2, 2), dtype=np.bool_)
    same = side[:, :, None] == side[:, None, :]
    least = np.where(same, TIE_FT, CORNER_FT)
    for one in (0, 1):
        for other in (0, 1):
            a, b = 2 * one - 1, 2 * other - 1
            get = a * away[:, :, None] + b * away[:, None, :]
            get += curved[:, :, None] + curved[:, None, :]
            get += np.abs(a * by[:, :, :, None] + b * by[:, :, None, :]).sum(axis=0)
            # Beyond another side than the nearest a sample may lie anywhere.
            free = (~alone[:, :, None] & bool(one)) | (~alone[:, None, :] & bool(other))
            able[..., one, other] = (get > least) | free
    return able


def _follows(lies: Bools, side: Ints) -> Bools:
    """In which ways (v, i, j) to lie the samples within follow one another in every row.

    Nor does a row leave the readings over the side (v, i, j) over which it came; -1 where a sample
    is not near one alone.
    """
    once = np.ones(len(lies), dtype=np.bool_)
    for axis in (1, 2):
        steps = np.diff(lies.astype(np.int8), axis=axis, prepend=0)
        once &= ((steps == 1).sum(axis=axis) <= 1).all(axis=1)
        over = np.where(np.roll(side, 1, axis=axis) == side, side, -1)
        np.moveaxis(over, axis, 0)[0] = -1  # nothing lies before the first
        come, gone = (np.where(steps == way, over, -1).max(axis=axis) for way in (1, -1))
        once &= ((come != gone) | (come < 0)).all(axis=1)
    return once
