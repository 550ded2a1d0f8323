"""The surface of a terrace: two banks that run alongside each other, with a bench between them.

Below, on the bench and above, the ground has the same slope; each bank has its own height and
width. All lengths and heights are in feet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np

from estimator.solve.least_squares import (
    ALIKE_FT2,
    BETWEEN,
    FEWEST_BESIDE,
    ROUNDED,
    SLIGHT,
    Surface,
    across,
    banks_of,
    first_most,
    first_turn,
    gain_of_two,
    levelled,
    planes_meeting,
)
from estimator.solve.mesh import Floats

NUMBERS = 10
"""Of a plane, the direction of the banks, and of each its place, its width and its height."""
TURNS = 24
"""Directions in which banks are looked for."""
RANKS = (1, 2, 4, 8)
"""How many readings farther, along a direction, the banks end that are tried from each."""
STARTS, CLOSER = 4, 9
"""Directions, the best, in which terraces are searched closer, and rounds of that."""
LIKELY = 20
"""Terraces in each direction, the best, that are tried with each reading left out."""
MIDDLE = 1 / 2 + 1e-9
"""Of a bank, from its foot; a reading that stands there counts as below it, however rounded."""
STEP = 0.1
"""First step of the closer search: of direction and of places."""


@dataclass(frozen=True, slots=True, eq=False)
class _Facing:
    """The best terraces tried in a direction, that first.

    By how much it lessens the sum of squares, direction and breaks of each (m, 5), and what the
    lower bank and then the upper one adds to the plane (n, m), of length 1.
    """

    gain: float
    breaks: Floats
    one: Floats
    two: Floats


def _unit(terms: Floats) -> Floats:
    return np.asarray(terms / np.maximum(np.sqrt((terms * terms).sum(axis=0)), SLIGHT))


class Terrace:
    """Terraces roughly placed, (m, 5) of direction and of where each of four breaks stands."""

    __slots__ = ("beside", "between", "heights_ft", "places", "plane", "rest", "scale", "tried")

    def __init__(
        self,
        places_ft: Floats,
        heights_ft: Floats,
        *,
        beside: int = FEWEST_BESIDE,
        between: int = BETWEEN,
    ) -> None:
        """Fit terraces to heights (n,) at places (n, 2).

        At least ``between`` readings stand on the bench, and ``beside`` above and below it.
        """
        self.beside, self.between = beside, between
        self.heights_ft = heights_ft
        self.scale, self.places, self.plane, self.rest = levelled(places_ft, heights_ft)
        first = first_turn(self.places, heights_ft)
        tried = [self._facing(first + k * math.pi / TURNS) for k in range(TURNS)]
        self.tried = sorted(
            (each for each in tried if each), key=lambda each: -round(each.gain, ROUNDED)
        )

    def _facing(self, turn: float) -> _Facing | None:
        """The best terraces of a direction."""
        along = across(self.places, turn)
        order = np.sort(along)
        order = order[np.append(True, np.diff(order) > math.sqrt(SLIGHT))]
        low = np.concatenate([np.arange(max(len(order) - rank, 0)) for rank in RANKS])
        high = low + np.repeat(RANKS, [max(len(order) - rank, 0) for rank in RANKS])
        banks = np.clip((along[:, None] - order[low]) / (order[high] - order[low]), 0, 1)
        above = (banks > MIDDLE).sum(axis=0)
        terms = banks - self.plane @ (self.plane.T @ banks)
        both = terms.T @ terms
        own, onto = np.diagonal(both), self.rest @ terms
        gains = gain_of_two(own[:, None], own, both, onto[:, None], onto)
        allowed = (high[:, None] <= low) & (above[:, None] - above >= self.between)
        allowed &= (len(along) - above[:, None] >= self.beside) & (above >= self.beside)
        gains = np.where(allowed, gains, -1)
        most = np.argsort(-np.round(gains, ROUNDED), axis=None, kind="stable")[:LIKELY]
        one, two = np.unravel_index(most, gains.shape)
        if not len(most) or gains[one[0], two[0]] <= 0:
            return None
        ends = np.stack([low[one], high[one], low[two], high[two]], axis=1)
        breaks = np.column_stack([np.full(len(ends), turn), order[ends]])
        one_term = _unit(terms[:, one])
        two_term = terms[:, two] - one_term * (one_term * terms[:, two]).sum(axis=0)
        return _Facing(float(gains[one[0], two[0]]), breaks, one_term, _unit(two_term))

    def without_each(self) -> Floats:
        """Least sum of squares (n,) of terraces roughly placed, without each of the readings."""
        left = np.full(len(self.rest), np.inf)
        for facing in self.tried:
            one, two = facing.one, facing.two
            rest = self.rest[:, None] - one * (self.rest @ one) - two * (self.rest @ two)
            own = (self.plane * self.plane).sum(axis=1)[:, None] + one * one + two * two
            alone = rest * rest / np.maximum(1 - own, SLIGHT)
            left = np.minimum(left, ((rest * rest).sum(axis=0) - alone).min(axis=1))
        return left

    def through_slips(
        self, slips: Sequence[tuple[int, float]], most_ft2: float
    ) -> Iterator[tuple[int, Floats, Surface]]:
        """Of each reading put right by a slip its number, all heights then, and the best terrace.

        Args:
            slips: Number of a reading, and by how much it is taken to be off, ft.
            most_ft2: Sum of squares that a terrace roughly placed may leave to be searched closer.
        """
        for place, off_ft in slips:
            right = copy(self)
            right.heights_ft = self.heights_ft.copy()
            right.heights_ft[place] -= off_ft
            right.rest = right.heights_ft - self.plane @ (self.plane.T @ right.heights_ft)
            starts = []
            for facing in self.tried:
                told = (right.rest @ facing.one) ** 2 + (right.rest @ facing.two) ** 2
                best = first_most(told)
                starts.append((float(right.rest @ right.rest - told[best]), facing.breaks[best]))
            left, start = min(starts, key=lambda each: each[0], default=(math.inf, None))
            if start is not None and left <= most_ft2:
                yield place, right.heights_ft, right.fitted(right.closer(start))

    def surfaces(self) -> list[Surface]:
        """The best terrace, searched closer; none where readings are too few."""
        if len(self.heights_ft) <= NUMBERS or not self.tried:
            return []
        found = [self.closer(each.breaks[0]) for each in self.tried[:STARTS]]
        return [self.fitted(found[first_most([self._gain(each) for each in found])])]

    def stepped(self, of_each: int) -> Iterator[Surface]:
        """Terraces whose banks rise the same way, from the likeliest of each direction."""
        if len(self.heights_ft) <= NUMBERS:
            return
        for start in (start for each in self.tried for start in each.breaks[:of_each]):
            found = self.fitted(self.closer(start))
            if found.factors[-2] * found.factors[-1] > 0:
                yield found

    def fitted(self, terrace: Floats) -> Surface:
        """The surface of a terrace (5,)."""
        turn, *at = terrace.tolist()
        breaks = tuple((turn, each) for each in at)
        banks = banks_of(planes_meeting(self.places, breaks))
        factors = np.linalg.lstsq(banks, self.heights_ft, rcond=None)[0]
        rss = float(((self.heights_ft - banks @ factors) ** 2).sum())
        return Surface(NUMBERS, rss, self.scale, np.asarray(factors), breaks, banks=True)

    def _gain(self, terrace: Floats) -> float:
        return float(self._gains(terrace[None])[0])

    def _gains(self, terraces: Floats) -> Floats:
        """By how much each of some terraces (m, 5) lessens the sum of squares; 0 if not allowed."""
        turn, *at = terraces.T[:, :, None]
        x, y = self.places.T
        along = np.cos(turn) * x + np.sin(turn) * y
        banks = [
            np.clip((along - low) / np.maximum(high - low, SLIGHT), 0, 1)
            for low, high in (at[:2], at[2:])
        ]
        above = [(bank > MIDDLE).sum(axis=1) for bank in banks]
        one, two = (bank - (bank @ self.plane) @ self.plane.T for bank in banks)
        gains = gain_of_two(
            (one * one).sum(axis=1),
            (two * two).sum(axis=1),
            (one * two).sum(axis=1),
            one @ self.rest,
            two @ self.rest,
        )
        allowed = (np.diff(terraces[:, 1:], axis=1) >= 0).all(axis=1)
        allowed &= (len(x) - above[0] >= self.beside) & (above[1] >= self.beside)
        allowed &= above[0] - above[1] >= self.between
        return np.asarray(np.where(allowed, gains, 0))

    def closer(self, terrace: Floats) -> Floats:
        """The best terrace near one: each number moved step by step, or a bank, or its width."""
        ways = np.vstack(
            [np.eye(5), [0, 1, 1, 0, 0], [0, 0, 0, 1, 1], [0, -1, 1, 0, 0], [0, 0, 0, -1, 1]]
        )
        ways = np.vstack([np.zeros(5), ways, -ways])
        step, gain = STEP, -1.0
        for _ in range(CLOSER):
            while True:
                tried = terrace + step * ways
                gains = self._gains(tried)
                best = first_most(gains)
                if gains[best] <= gain + ALIKE_FT2:
                    break
                terrace, gain = tried[best], float(gains[best])
            step /= 2
        return terrace
