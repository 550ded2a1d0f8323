"""All that prices, allows and bounds a place for a base. Lengths in feet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from estimator.solve.siting_bound import Bounds, Cells
from estimator.solve.siting_least import least_costs
from estimator.solve.siting_places import Floats, Footprint, SitingCost, Yard
from estimator.solve.siting_price import Priced, Sampling, price, sample_points
from estimator.solve.siting_room import ON_LINE_FT, Bools, allowed, clearances
from estimator.solve.siting_slack import Slopes, near
from estimator.solve.surface import Ground

CELL_FT, CELL_DEG, CELLS_MOST = 4.0, 15.0, 25
"""Size of the cells that the bound begins with, and how many there are at most along a lot."""


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """All that prices and allows a place."""

    ground: Ground
    footprint: Footprint
    yard: Yard
    cost: SitingCost
    sampling: Sampling

    def priced(self, places: Floats) -> Priced:
        """Price places (p, 3) anywhere."""
        height = self.ground.at(sample_points(self.sampling, places))[0]
        return price(height.reshape(len(places), -1), self.sampling, self.cost)

    def room(self, places: Floats) -> Floats:
        """Room to spare (p, 3) by kind of rule."""
        return clearances(self.ground, self.footprint, self.yard, places)

    def bounded(self, cells: Cells, ground: Slopes) -> Bounds:
        """What is known of cells: costs, least costs and whether anything is allowed there."""
        move, swing = _reach(self.footprint, cells.half)
        room = self.room(cells.places).min(axis=1)
        thin = min(self.footprint.length_ft, self.footprint.width_ft) / 2 <= move + swing
        possible = (room >= -(move + swing) - ON_LINE_FT) | (thin & np.isneginf(room))
        cost, lower = np.full(len(room), np.inf), np.full(len(room), np.inf)
        share = _shares(self.footprint, cells.half)
        some = np.flatnonzero(possible)
        found = near(self.ground, ground, self.sampling, cells.part(some))
        share[some] = found.share
        np.minimum.at(lower, some[found.cell], least_costs(found.off, self.sampling, self.cost))
        possible &= np.isfinite(lower)
        cost[some] = price(found.height, self.sampling, self.cost).cost
        cost[room < -ON_LINE_FT] = np.inf
        return Bounds(cost, lower, possible, share, len(found.cell))

    def allows(self, places: Floats) -> Bools:
        """Which places are allowed."""
        return allowed(self.ground, self.footprint, self.yard, places)


def all_places(problem: Problem, fixed_deg: float | None) -> Cells:
    """Cells that cover all places in the yard, at one turn or all."""
    corners = np.asarray(problem.yard.boundary, dtype=np.float64)
    low, size = corners.min(axis=0), np.ptp(corners, axis=0)
    count = np.clip(np.ceil(size / CELL_FT), 1, CELLS_MOST).astype(int)
    turns = np.arange(0, 180, CELL_DEG) if fixed_deg is None else np.array([fixed_deg])
    x, y = (low[i] + size[i] / count[i] * (np.arange(count[i]) + 0.5) for i in (0, 1))
    places = np.stack(np.meshgrid(x, y, turns, indexing="ij"), axis=-1).reshape(-1, 3)
    half = np.array([*(size / count / 2), 0.0 if fixed_deg is not None else CELL_DEG / 2])
    every = np.broadcast_to(half, places.shape)
    return Cells(places, every, np.zeros(len(places)), _shares(problem.footprint, every))


def _reach(footprint: Footprint, half: Floats) -> tuple[Floats, Floats]:
    """How far places within ``half`` (n, 3) of a place move its samples, and turn them besides."""
    swing = 2 * footprint.half_diagonal_ft * np.sin(np.deg2rad(half[:, 2]) / 2)
    return np.hypot(half[:, 0], half[:, 1]), swing


def _shares(footprint: Footprint, half: Floats) -> Floats:
    """How far moves and turn carry samples."""
    return np.asarray(half * [1, 1, np.deg2rad(footprint.half_diagonal_ft)], dtype=np.float64)
