"""The surface of planes that meet in two breaks of different directions: a ridge that meets a
valley, a fold in ground that falls off to one side.

Both breaks run through the whole survey; each adds its own change of slope wherever it runs. A bank
that turns a corner and a terrace of several banks are not such ground.

All lengths and heights are in feet.
"""

from __future__ import annotations

import math

import numpy as np

from estimator.solve.least_squares import (
    Break,
    Surface,
    across,
    beside,
    first_turn,
    gain_of_one,
    gain_of_two,
    levelled,
    planes_meeting,
)
from estimator.solve.mesh import Floats, Ints

NUMBERS = 9
"""Of a plane, and of each break its direction, its place and its change of slope."""
TURNS, PLACES = 15, 14
"""Directions in which breaks are looked for, and about how many in each."""
STARTS, CLOSER = 3, 8
"""Pairs of breaks that are searched closer, and rounds of that."""
LIKELY = 400
"""Pairs, at most, that are tried with each reading left out."""
SLIGHT = 1e-8
"""Share of a reading that the terms must leave for it to be told from them."""


class Crossing:
    """Pairs of breaks roughly placed, best first."""

    __slots__ = ("breaks", "heights_ft", "pairs", "places", "plane", "rest", "scale", "terms")

    def __init__(self, places_ft: Floats, heights_ft: Floats) -> None:
        """Fit pairs to heights (n,) at places (n, 2)."""
        self.heights_ft = heights_ft
        self.scale, self.places, self.plane, self.rest = levelled(places_ft, heights_ft)
        first = first_turn(self.places, heights_ft)
        self.breaks: list[Break] = []
        for turn in first + np.arange(TURNS) * math.pi / TURNS:
            low, high = self._within(turn)
            if low < high:
                self.breaks += [(float(turn), float(at)) for at in np.linspace(low, high, PLACES)]
        self.terms = self._free_of(self.plane, self.breaks or [(0.0, math.inf)])
        self.pairs = self._best_pairs()

    def _within(self, turn: float) -> tuple[float, float]:
        """Between which places a break in a direction has readings enough on either side."""
        order = np.sort(across(self.places, turn))
        least = beside(len(order))
        return float(order[least - 1]), float(order[-least])

    def _free_of(self, basis: Floats, breaks: list[Break]) -> Floats:
        """What each break adds (n, breaks) to the terms of a basis."""
        turns, at = np.array(breaks).T
        along = self.places @ np.vstack([np.cos(turns), np.sin(turns)])
        terms = np.maximum(along - at, 0)
        return np.asarray(terms - basis @ (basis.T @ terms))

    def _best_pairs(self) -> Ints:
        both = self.terms.T @ self.terms
        own, onto = np.diagonal(both), self.rest @ self.terms
        gains = gain_of_two(own[:, None], own, both, onto[:, None], onto)
        first, second = np.triu_indices(len(own), 1)
        gains = gains[first, second]
        most = np.argsort(-gains, kind="stable")[:LIKELY]
        return np.column_stack([first[most], second[most]])

    def surfaces(self) -> list[Surface]:
        """The best of them, its breaks searched closer; none where readings are too few."""
        if len(self.heights_ft) <= NUMBERS or not len(self.pairs):
            return []
        found = [self._closer([self.breaks[i], self.breaks[j]]) for i, j in self._starts()]
        _, breaks = max(found, key=lambda each: each[0])
        terms = planes_meeting(self.places, breaks)
        factors = np.linalg.lstsq(terms, self.heights_ft, rcond=None)[0]
        rss = float(((self.heights_ft - terms @ factors) ** 2).sum())
        return [Surface(NUMBERS, rss, self.scale, np.asarray(factors), tuple(breaks))]

    def _starts(self) -> list[tuple[int, int]]:
        """The best pairs of which no two have both breaks in the same directions."""
        found: dict[tuple[int, int], tuple[int, int]] = {}
        for i, j in self.pairs.tolist():
            found.setdefault((i // PLACES, j // PLACES), (i, j))
        return list(found.values())[:STARTS]

    def _closer(self, breaks: list[Break]) -> tuple[float, list[Break]]:
        """Each break in turn moved and turned while the other stays, closer and closer."""
        step, gain = math.pi / TURNS / 2, 0.0
        for _ in range(CLOSER):
            for k in (0, 1):
                turn, at = breaks[k]
                tried = [(turn, at)]
                for turned in turn + np.arange(-2, 3) * step:
                    low, high = self._within(turned)
                    near = np.clip(at + np.arange(-2, 3) * step, low, max(low, high))
                    tried += [(float(turned), float(place)) for place in near]
                basis = np.linalg.qr(planes_meeting(self.places, [breaks[1 - k]]))[0]
                rest = self.heights_ft - basis @ (basis.T @ self.heights_ft)
                terms = self._free_of(basis, tried)
                gains = gain_of_one((terms * terms).sum(axis=0), rest @ terms)
                best = int(np.argmax(gains))
                breaks[k], gain = tried[best], float(gains[best]) - float(rest @ rest)
            step *= 0.6
        return gain, breaks

    def without_each(self) -> Floats:
        """Least sum of squares (n,) of pairs roughly placed, without each of the readings."""
        if not len(self.pairs):
            return np.zeros_like(self.heights_ft)
        of_plane = (self.plane * self.plane).sum(axis=1)
        one, two = (self.terms[:, self.pairs[:, k]] for k in (0, 1))
        one = one / np.maximum(np.sqrt((one * one).sum(axis=0)), SLIGHT)
        two = two - one * (one * two).sum(axis=0)
        two = two / np.maximum(np.sqrt((two * two).sum(axis=0)), SLIGHT)
        rest = self.rest[:, None] - one * (self.rest @ one) - two * (self.rest @ two)
        spare = np.maximum(1 - of_plane[:, None] - one * one - two * two, SLIGHT)
        return np.asarray(((rest * rest).sum(axis=0) - rest * rest / spare).min(axis=1))
