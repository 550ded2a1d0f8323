"""A bank that turns a corner: flat, a slope along two edges that meet, and flat again.

Of ``min(u, v)``, how far up the slope a place lies by either edge, from 0 at its foot to 1 at its
top; turned round and upside down the same is a bank about a hollow. All lengths and heights are in
feet.
"""

from __future__ import annotations

import math

import numpy as np

from estimator.solve.least_squares import SLIGHT, across, first_turn, flat, reach
from estimator.solve.mesh import Floats

NUMBERS = 9
"""Of a plane, of the height of the bank, its width, and of each edge its direction and place."""
RULED = 0.1
"""Share of the bank by which a place must lie lower by one edge than by the other to be its own."""
TURNS, PLACES = 24, 9
"""Directions of the first edge, all round, and places of either edge that are tried."""
CORNERS = tuple(math.radians(deg) for deg in (70, 90, 110))
"""Angles that are tried from one edge to the other."""
WIDTHS = (0.05, 0.15, 0.3)
"""Widths that are tried, as shares of the reach of the survey."""
STARTS, CLOSER = 24, 12
"""The best of these that are searched closer, and rounds of that."""
STEPS = (0.12, 0.12, 0.08, 0.08, 0.08)
"""First steps of that: of direction and angle, places and width."""


def cornered_bank_ft(
    places_ft: Floats, heights_ft: Floats, beside: int, ruled: int
) -> Floats | None:
    """How far readings (n,) stand from the best such bank; None where they are too few.

    Args:
        places_ft: (n, 2).
        heights_ft: (n,).
        beside: How many readings stand higher than half of the bank, at least, and lower.
        ruled: How many either edge has of its own, at least: those that lie lower by it than by
            the other by a share of the bank.
    """
    if len(heights_ft) <= NUMBERS:
        return None
    places = (places_ft - places_ft.mean(axis=0)) / reach(places_ft)
    plane = np.linalg.qr(flat(places))[0]
    rest = heights_ft - plane @ (plane.T @ heights_ft)
    search = _Search(places, plane, rest, beside, ruled)
    found = [search.closer(start) for start in search.starts(first_turn(places, heights_ft))]
    best = max(found, key=lambda each: search.gains(each[None])[0])
    term, told = search.terms(best[None])
    return np.asarray(rest - told[0] * term[0] * (rest @ term[0]))


class _Search:
    """Banks of direction, angle, the places of both edges, and width, (m, 5)."""

    __slots__ = ("beside", "places", "plane", "rest", "ruled")

    def __init__(
        self, places: Floats, plane: Floats, rest: Floats, beside: int, ruled: int
    ) -> None:
        self.places, self.plane, self.rest = places, plane, rest
        self.beside, self.ruled = beside, ruled

    def terms(self, banks: Floats) -> tuple[Floats, Floats]:
        """What each adds (m, n) to the plane, of length 1, and 1 for one that is told, else 0."""
        turn, angle, one, other, width = banks.T[:, :, None]
        first, second = (
            np.clip((self._along(way) - at) / np.maximum(width, SLIGHT), 0, 1)
            for way, at in ((turn, one), (turn + angle, other))
        )
        up = np.minimum(first, second)
        high = (up > 1 / 2).sum(axis=1)
        by_first, by_second = ((each - up > RULED).sum(axis=1) for each in (second, first))
        ruled = np.minimum(by_first, by_second)
        terms = up - (up @ self.plane) @ self.plane.T
        size = np.sqrt((terms * terms).sum(axis=1))
        told = (size > math.sqrt(SLIGHT)) & (ruled >= self.ruled)
        told &= np.minimum(high, up.shape[1] - high) >= self.beside
        return terms / np.maximum(size, SLIGHT)[:, None], told.astype(float)

    def _along(self, turn: Floats) -> Floats:
        x, y = self.places.T
        return np.asarray(np.cos(turn) * x + np.sin(turn) * y)

    def gains(self, banks: Floats) -> Floats:
        """By how much each lessens the sum of squares."""
        terms, told = self.terms(banks)
        return np.asarray(told * (terms @ self.rest) ** 2)

    def starts(self, first: float) -> Floats:
        """The best banks roughly placed (STARTS, 5)."""
        found, gains = [], []
        for turn in first + np.arange(TURNS) * (2 * math.pi / TURNS):
            for angle in CORNERS:
                one, other = (
                    np.quantile(across(self.places, each), np.linspace(0.05, 0.9, PLACES))
                    for each in (turn, turn + angle)
                )
                grid = np.meshgrid([turn], [angle], one, other, WIDTHS, indexing="ij")
                banks = np.stack([each.ravel() for each in grid], axis=1)
                gain = self.gains(banks)
                best = int(np.argmax(gain))
                found.append(banks[best])
                gains.append(gain[best])
        return np.array(found)[np.argsort(-np.array(gains), kind="stable")[:STARTS]]

    def closer(self, bank: Floats) -> Floats:
        """The best bank near one: each of its numbers in turn one step to either side."""
        step = np.array(STEPS)
        for _ in range(CLOSER):
            moved = True
            while moved:
                tried = np.vstack([bank, bank + np.diag(step), bank - np.diag(step)])
                tried[:, -1] = np.maximum(tried[:, -1], SLIGHT)
                gains = self.gains(tried)
                best = int(np.argmax(gains))
                moved = gains[best] > gains[0] * (1 + SLIGHT)
                bank = tried[best]
            step = step / 2
        return bank
