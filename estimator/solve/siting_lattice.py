"""Lattices of places for a base, each finer than the one before, and places to begin with.

For one turn a lattice is laid along the footprint, so neighbouring places share their ground
samples and a turn costs one look at the ground. Lengths in feet, turns in degrees.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from estimator.solve.siting_places import Floats
from estimator.solve.siting_price import price
from estimator.solve.siting_problem import Problem
from estimator.solve.siting_room import ON_LINE_FT

Ints = NDArray[np.int_]
COARSEST_FT, COARSEST_DEG = 2.0, 30.0
FINEST_STEP_FT, LATTICE_MOST = 1.0, 50_000
"""Step of a lattice at least, and about how many places it has at most: finer places are found by
moving on from its own."""
CHUNK_SAMPLES = 100_000  # keeps the temporaries of pricing in the cache


def levels(step_ft: float, turn_deg: float, *, turning: bool) -> list[tuple[float, float]]:
    """Steps and turns of lattices: the coarsest first, each halved until both are fine enough.

    All coarser ones are among those of a finer step, so that none ends with a dearer place.
    """
    found = [(COARSEST_FT, COARSEST_DEG)]
    while found[-1][0] > max(step_ft, FINEST_STEP_FT) or (turning and found[-1][1] > turn_deg):
        found.append((max(found[-1][0] / 2, FINEST_STEP_FT), found[-1][1] / 2))
    return found


def laid(
    problem: Problem, step_ft: float, turn_deg: float, fixed_deg: float | None
) -> tuple[Floats, Floats]:
    """Allowed places (p, 3) of a lattice, and their costs (p,).

    The step is wider on a lot on which there would be more than about ``LATTICE_MOST`` places.
    """
    turns = [fixed_deg] if fixed_deg is not None else np.arange(0, 180, turn_deg).tolist()
    footprint, sampling = problem.footprint, problem.sampling
    lot_ft2 = float(np.ptp(np.asarray(problem.yard.boundary, dtype=np.float64), axis=0).prod())
    step_ft = max(step_ft, float(np.sqrt(lot_ft2 * len(turns) / LATTICE_MOST)))
    spacing = np.array([footprint.length_ft, footprint.width_ft]) / sampling.counts
    every = np.maximum(1, np.ceil(np.round(spacing / step_ft, 9))).astype(int)
    stride = np.maximum(1, np.floor(np.round(step_ft / spacing, 9))).astype(int)
    places, costs = [], []
    for turn in turns:
        lattice, windows = _lattice(problem, turn, every, stride, spacing / every)
        fits = np.flatnonzero(problem.room(lattice).min(axis=1) >= -ON_LINE_FT)
        value = np.empty(len(fits))
        chunk = max(1, CHUNK_SAMPLES // sampling.area_ft2.size)
        for first in range(0, len(fits), chunk):
            some = slice(first, first + chunk)
            rows, columns = np.unravel_index(fits[some], windows.shape[:2])
            height = windows[rows, columns].reshape(len(rows), -1)
            value[some] = price(height, sampling, problem.cost).cost
        places.append(lattice[fits])
        costs.append(value)
    return np.vstack(places), np.concatenate(costs)


def _lattice(
    problem: Problem, turn: float, every: Ints, stride: Ints, step: Floats
) -> tuple[Floats, Floats]:
    """Lattice places (p, 3) of one turn, and a view of their ground samples (pu, pv, nu, nv).

    Nodes stand ``step`` apart; samples are every ``every``-th node, places every ``stride``-th.
    """
    cos, sin = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
    axes = np.array([[cos, sin], [-sin, cos]])
    corners = np.asarray(problem.yard.boundary, dtype=np.float64) @ axes.T
    low = corners.min(axis=0)
    window = every * np.array(problem.sampling.counts)
    count = np.maximum(np.ceil(np.ptp(corners, axis=0) / step).astype(int), window) + 1
    u = low[0] + step[0] * np.arange(count[0])
    v = low[1] + step[1] * np.arange(count[1])
    nodes = np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2) @ axes
    height = problem.ground.at(nodes)[0].reshape(len(u), len(v))
    windows = sliding_window_view(height, tuple(window + 1))[
        :: stride[0], :: stride[1], :: every[0], :: every[1]
    ]
    cu = u[:: stride[0]][: windows.shape[0]] + problem.footprint.length_ft / 2
    cv = v[:: stride[1]][: windows.shape[1]] + problem.footprint.width_ft / 2
    centres = np.stack(np.meshgrid(cu, cv, indexing="ij"), axis=-1).reshape(-1, 2) @ axes
    return np.column_stack([centres, np.full(len(centres), turn)]), windows
