"""Which samples of a footprint can lie within the readings together, and which beyond them.

Samples that can lie on either side of the rim of the readings do not do so each for itself. The
readings' outline is convex, so that those of a row which lie within it follow one another; and
where one side of the outline alone is near, they are the first ones of the row or the last.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

EACH = 3
"""Samples at most that are taken to change sides each for itself."""
WAYS = 32
"""Ways at most in which the samples of a cell are told to lie."""
IN_A_ROW = 1e-9
"""Share of a row's length by which its samples may lie beside it."""


def ways(
    which: Bools, goes: Bools, within: Bools, side: Ints, one_side: Bools, offsets: Floats
) -> tuple[Ints, Bools]:
    """Ways in which samples (p, n) of cells change sides of the rim.

    Args:
        which: (p,) the cells that are looked at.
        goes: Which samples can.
        within: Which lie within the readings in the middle of their cell.
        side: By number, the side of the outline that is nearest.
        one_side: Near which there is no other.
        offsets: (n, 2) where the samples lie in the footprint.

    Returns:
        The number of each way's cell (v,), and which samples change sides (v, n). Of a cell with
        more ways than ``WAYS``, and of samples that stand in no row, there is none.
    """
    known: dict[bytes, Bools] = {}
    some = goes.any(axis=1)
    cells = [np.flatnonzero(which & ~some)]
    changes = [np.zeros((len(cells[0]), goes.shape[1]), dtype=np.bool_)]
    for cell in np.flatnonzero(which & some):
        at = np.flatnonzero(goes[cell])
        mine = at, within[cell, at], side[cell, at], one_side[cell, at]
        key = b"".join(each.tobytes() for each in mine)
        if key not in known:
            known[key] = _changes(offsets[at], *mine[1:])
        found = np.zeros((len(known[key]), goes.shape[1]), dtype=np.bool_)
        found[:, at] = known[key]
        cells.append(np.full(len(found), cell))
        changes.append(found)
    return np.concatenate(cells), np.concatenate(changes)


def _changes(places: Floats, within: Bools, side: Ints, one_side: Bools) -> Bools:
    """Ways (v, m) in which samples at places (m, 2) change sides; none if there are too many."""
    every: list[list[Bools]] = []
    count = 1
    for number in np.unique(side):
        group = np.flatnonzero(side == number)
        every.append(_together(places[group], bool(one_side[group].all())))
        count *= len(every[-1])
        if not 0 < count <= WAYS:
            return np.zeros((0, len(side)), dtype=np.bool_)
    order = np.argsort(side, kind="stable")
    found = np.zeros((count, len(side)), dtype=np.bool_)
    found[:, order] = [np.concatenate(way) for way in product(*every)]
    return np.asarray(found ^ within)


def _together(places: Floats, one_side: bool) -> list[Bools]:
    """Which of samples at places (m, 2) can lie within the readings together."""
    count = len(places)
    run = places - places[0]
    far = run[np.argmax(np.hypot(*run.T))]
    row = np.abs(run[:, 0] * far[1] - run[:, 1] * far[0]).max() <= IN_A_ROW * (far @ far)
    if count <= EACH and not (row and one_side):
        return [np.array(way) for way in product((False, True), repeat=count)]
    if not row or count > WAYS:
        return []
    rank = np.argsort(np.argsort(run @ far))
    spans = [(first, last) for last in range(count + 1) for first in range(last)]
    if one_side:
        spans = [span for span in spans if span[0] == 0 or span[1] == count]
    return [(rank >= first) & (rank < last) for first, last in [(0, 0), *spans]]
