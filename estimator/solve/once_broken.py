"""Planes that meet in one break, or in two that run alongside: where the breaks of readings are.

A ridge, a valley or the edge of a bank is a break: a straight line at which the slope changes. A
bank has two that run alongside each other. Readings that surround a break tell where it runs, so
that it is searched for: over directions and places, then closer round the best.

All lengths and heights are in feet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from estimator.solve.least_squares import (
    ALIKE_FT2,
    BETWEEN,
    ROUNDED,
    SLIGHT,
    Surface,
    across,
    beside,
    first_most,
    first_turn,
    flat,
    gain_of_one,
    gain_of_two,
    planes_meeting,
    reach,
)
from estimator.solve.mesh import Floats, Ints

Bools = NDArray[np.bool_]

TURNS, CLOSER = 30, 5
"""Directions in which breaks are looked for, and rounds of search closer round the best."""
STARTS = 2
"""How many of the best directions are searched closer."""
MOST_TRIED = 40
"""Breaks in a direction of which banks are tried with each reading left out: about so many."""
MOST_SLIPS = 12
"""Slips, the likeliest, of which the bank is searched closer once they are put right."""
_Kind = Literal["once", "bank", "twice"]
_Start = tuple[float, float, tuple[float, ...]]
"""By how much breaks lessen the sum of squares, their direction, and where they stand."""
_KINDS: tuple[_Kind, ...] = ("once", "bank", "twice")


def broken_surfaces(places_ft: Floats, heights_ft: Floats) -> Iterator[Surface]:
    """The best with one break, as a bank, and with two that run alongside, where there are any.

    A bank has the same slope above and below; other slopes on either side of two breaks, and
    another between them, need readings there that tell it.
    """
    scale = reach(places_ft)
    search = _Search(places_ft / scale, heights_ft)
    for kind in _KINDS:
        best = search.best(kind)
        if best is not None:
            yield _fitted(search.places, heights_ft, scale, kind, *best)


def bank_of_few(places_ft: Floats, heights_ft: Floats, fewest: int) -> Surface | None:
    """The best bank that has at least so many readings above it and below; None if none has."""
    scale = reach(places_ft)
    search = _Search(places_ft / scale, heights_ft, fewest)
    best = search.best("bank")
    return best and _fitted(search.places, heights_ft, scale, "bank", *best)


def without_each_ft2(places_ft: Floats, heights_ft: Floats) -> Floats:
    """Sum of squares (n,) that a bank would leave, roughly placed, with each reading left out.

    The bank that fits the others of a slip may run elsewhere than the one that fits all readings,
    so that it is looked for again for each: in all directions and places first tried.
    """
    return _Search(places_ft / reach(places_ft), heights_ft).without_each()


def banks_through_slips(
    places_ft: Floats, heights_ft: Floats, slips: Sequence[tuple[int, float]], most_ft2: float
) -> Iterator[tuple[int, Floats, Surface]]:
    """Of each reading put right by a slip its number, all heights then, and the best bank.

    Args:
        places_ft: (n, 2).
        heights_ft: (n,).
        slips: Number of a reading, and by how much it is taken to be off, ft.
        most_ft2: Sum of squares that a bank roughly placed may leave to be searched closer.
    """
    scale = reach(places_ft)
    search = _Search(places_ft / scale, heights_ft)
    for place, off_ft, starts in search.starts_through(slips, most_ft2):
        right = heights_ft.copy()
        right[place] -= off_ft
        best = search.over(right).closer("bank", starts)
        if best is not None:
            yield place, right, _fitted(search.places, right, scale, "bank", *best)


def _fitted(
    places: Floats,
    heights_ft: Floats,
    scale_ft: float,
    kind: _Kind,
    turn: float,
    breaks: tuple[float, ...],
) -> Surface:
    lines = tuple((turn, at) for at in breaks)
    terms = planes_meeting(places, lines)
    if kind == "bank":
        terms = np.column_stack([terms[:, :3], terms[:, 3] - terms[:, 4]])
    factors = np.linalg.lstsq(terms, heights_ft, rcond=None)[0]
    rss = float(((heights_ft - terms @ factors) ** 2).sum())
    numbers = terms.shape[1] + 1 + len(breaks)
    if kind == "bank":
        factors = np.append(factors, -factors[-1])
    return Surface(numbers, rss, scale_ft, np.asarray(factors), lines)


@dataclass(frozen=True, slots=True, eq=False)
class _Facing:
    """Breaks tried in a direction: where, behind how many readings, and their products.

    Those with each other, and those with the heights.
    """

    turn: float
    breaks: Floats
    before: Ints
    products: Floats
    onto: Floats


class _Search:
    """Breaks of readings: what is common to the search for one and for two."""

    def __init__(self, places: Floats, heights: Floats, fewest: int | None = None) -> None:
        self.places = places
        self.beside = fewest or beside(len(heights))
        self.plane = np.linalg.qr(flat(places))[0]
        self.heights = heights - self.plane @ (self.plane.T @ heights)
        self.first = first_turn(places, heights)

    def over(self, heights: Floats) -> _Search:
        """The same search through other heights, its first direction kept."""
        other = copy(self)
        other.heights = heights - self.plane @ (self.plane.T @ heights)
        return other

    @cached_property
    def facings(self) -> list[_Facing]:
        """All directions first tried."""
        return [self._facing(self.first + k * math.pi / TURNS) for k in range(TURNS)]

    def _facing(self, turn: float) -> _Facing:
        along = np.sort(across(self.places, turn))
        order = along[self.beside - 1 : 1 - self.beside]
        breaks = np.unique(np.concatenate([order, (order[:-1] + order[1:]) / 2]))
        terms = self._terms(across(self.places, turn), breaks)
        return _Facing(
            turn,
            breaks,
            np.searchsorted(along, breaks),
            terms.T @ terms,
            terms.T @ self.heights,
        )

    def _terms(self, along: Floats, breaks: Floats) -> Floats:
        """What each break adds (..., n, breaks) to the plane, which is taken out of it.

        Args:
            along: (..., n) how far along a direction readings lie.
            breaks: (..., breaks) where breaks do.
        """
        terms = np.maximum(along[..., :, None] - breaks[..., None, :], 0)
        return np.asarray(terms - self.plane @ (self.plane.T @ terms))

    def _banks(self) -> Iterator[tuple[float, Floats, Floats]]:
        """Of each direction the banks tried: both breaks (2, m), and terms (n, m) of length 1."""
        for facing in self.facings:
            breaks = facing.breaks[:: 1 + len(facing.breaks) // MOST_TRIED]
            terms = self._terms(across(self.places, facing.turn), breaks)
            first, second = np.triu_indices(len(breaks), 1)
            bank = terms[:, first] - terms[:, second]
            own = (bank * bank).sum(axis=0)
            told = own > SLIGHT
            if told.any():
                both = np.stack([breaks[first[told]], breaks[second[told]]])
                yield facing.turn, both, bank[:, told] / np.sqrt(own[told])

    def without_each(self) -> Floats:
        """Least sum of squares (n,) of the banks tried, without each of the readings."""
        left = np.full(len(self.heights), np.inf)
        of_plane = (self.plane * self.plane).sum(axis=1)[:, None]
        for _, _, bank in self._banks():
            onto = self.heights @ bank
            rest = self.heights[:, None] - bank * onto
            alone = rest * rest / np.maximum(1 - of_plane - bank * bank, SLIGHT)
            left = np.minimum(left, (self.heights @ self.heights - onto**2 - alone).min(axis=1))
        return left

    def starts_through(
        self, slips: Sequence[tuple[int, float]], most: float
    ) -> Iterator[tuple[int, float, list[_Start]]]:
        """Slips, and of each direction the best bank that leaves no more once it is put right."""
        place = np.array([i for i, _ in slips], dtype=np.intp)
        off = np.array([by for _, by in slips])
        of_plane = (self.plane * self.plane).sum(axis=1)
        whole = self.heights @ self.heights - 2 * off * self.heights[place]
        whole += off**2 * (1 - of_plane[place])
        starts: list[list[_Start]] = [[] for _ in slips]
        least_left = np.full(len(slips), np.inf)
        for turn, breaks, bank in self._banks():
            onto = self.heights @ bank
            at = bank[place]
            rest = self.heights[place, None] - at * onto
            spare = 1 - of_plane[place, None] - at * at
            left = (
                self.heights @ self.heights
                - onto**2
                - 2 * off[:, None] * rest
                + off[:, None] ** 2 * spare
            )
            least = left.argmin(axis=1)
            left = left[np.arange(len(slips)), least]
            least_left = np.minimum(least_left, left)
            for k, best in enumerate(least.tolist()):
                if left[k] <= most:
                    low, high = breaks[:, best].tolist()
                    gain = float(whole[k] - left[k])
                    starts[k].append((gain, turn, (low, high)))
        for k in np.argsort(least_left, kind="stable")[:MOST_SLIPS].tolist():
            if starts[k]:
                yield *slips[k], starts[k]

    def best(self, kind: _Kind) -> tuple[float, tuple[float, ...]] | None:
        """Direction and breaks of the best surface of a kind; None where readings are too few."""
        starts: list[_Start] = []
        for facing in self.facings:
            own, onto = np.diagonal(facing.products), facing.onto
            if kind == "once" and len(own):
                gain = gain_of_one(own, onto)
                i = first_most(gain)
                starts.append((float(gain[i]), facing.turn, (float(facing.breaks[i]),)))
            elif len(own) > 1:
                gain = _gain_of_pair(kind, own[:, None], own, facing.products, onto[:, None], onto)
                gain = np.where(_allowed(kind, facing.breaks, facing.before), gain, -1)
                i, j = (int(k) for k in np.unravel_index(first_most(gain), gain.shape))
                pair = (float(facing.breaks[i]), float(facing.breaks[j]))
                starts.append((float(gain[i, j]), facing.turn, pair))
        return self.closer(kind, starts)

    def closer(self, kind: _Kind, starts: list[_Start]) -> tuple[float, tuple[float, ...]] | None:
        """The best direction and breaks, looked for closer and closer round the best starts."""
        found = []
        for gain, turn, breaks in sorted(starts, key=lambda start: -round(start[0], ROUNDED))[
            :STARTS
        ]:
            step = math.pi / TURNS / 2
            if gain < 0:
                continue
            for _ in range(CLOSER):
                gain, turn, breaks = self._round(kind, gain, turn, breaks, step)
                step /= 2
            found.append((gain, turn, breaks))
        return found[first_most([each[0] for each in found])][1:] if found else None

    def _round(
        self, kind: _Kind, gain: float, turn: float, breaks: tuple[float, ...], step: float
    ) -> _Start:
        """The best of directions and breaks one or two steps round one, or that itself."""
        around = np.arange(-2, 3) * step
        turns = turn + around
        along = np.array([across(self.places, turned) for turned in turns])
        order = np.sort(along, axis=1)
        low, high = order[:, self.beside - 1, None], order[:, -self.beside, None]
        near = np.concatenate([np.clip(b + around, low, high) for b in breaks], axis=1)
        terms = self._terms(along, near)
        onto, own = self.heights @ terms, (terms * terms).sum(axis=1)
        first, second = slice(len(around)), slice(-len(around), None)
        if kind == "once":
            gains = gain_of_one(own, onto)[..., None]
        else:
            both = np.swapaxes(terms[..., first], 1, 2) @ terms[..., second]
            gains = _gain_of_pair(
                kind,
                own[:, first, None],
                own[:, None, second],
                both,
                onto[:, first, None],
                onto[:, None, second],
            )
            before = (order[..., None] < near[:, None]).sum(axis=1)
            gains = np.where(_allowed(kind, near, before)[:, first, second], gains, -1)
        k, *at = (int(n) for n in np.unravel_index(first_most(gains), gains.shape))
        if gains[(k, *at)] <= gain + ALIKE_FT2:
            return gain, turn, breaks
        found = (near[k, first][at[0]], near[k, second][at[1]])[: len(breaks)]
        return float(gains[(k, *at)]), float(turns[k]), tuple(map(float, found))


def _allowed(kind: _Kind, breaks: Floats, before: Ints) -> Bools:
    """Which pairs of breaks (first, second) are in order, with readings enough between them."""
    least = BETWEEN if kind == "twice" else 0
    ordered = breaks[..., :, None] < breaks[..., None, :]
    return np.asarray(ordered & (before[..., None, :] - before[..., :, None] >= least))


def _gain_of_pair(
    kind: _Kind, own: Floats, other: Floats, both: Floats, onto: Floats, onto_other: Floats
) -> Floats:
    if kind == "bank":
        return gain_of_one(own + other - 2 * both, onto - onto_other)
    return gain_of_two(own, other, both, onto, onto_other)
