"""The plainest surface through readings: a plane, a saddle or bowl, or planes that meet in breaks.

A ridge, a valley or the edge of a bank is a break: a straight line at which the slope changes. A
bank has two that run alongside each other. Readings that surround a break tell where it runs, so
that it is searched for: over directions and places, then closer round the best.

All lengths and heights are in feet.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from estimator.solve.mesh import Floats, Ints

Bools = NDArray[np.bool_]

BETWEEN = 3
"""Readings that stand between two breaks with a slope of their own there."""
FEWEST_BESIDE, MOST_BESIDE, SHARE_BESIDE = 3, 5, 4
"""Readings that a break must have on either side, so that it is one and not a slip: a fourth of
all, but no fewer and no more than these."""
TURNS, CLOSER = 30, 5
"""Directions in which breaks are looked for, and rounds of search closer round the best."""
STARTS = 2
"""How many of the best directions are searched closer."""
MOST_TRIED = 40
"""Breaks in a direction of which banks are tried with each reading left out: about so many."""
MOST_SLIPS = 12
"""Slips, the likeliest, of which the bank is searched closer once they are put right."""
CURVED = 6
"""Factors of a surface curved in one piece."""
SLIGHT = 1e-8
"""Share of a term that the terms before it must leave for it to be told from them."""
ALIKE_FT2, ROUNDED = 1e-8, 8
"""Gains that are alike to rounding, ft2, and the decimals that tell others apart."""
Break = tuple[float, float]
_Kind = Literal["once", "bank", "twice"]
_Start = tuple[float, float, tuple[float, ...]]
"""By how much breaks lessen the sum of squares, their direction, and where they stand."""
_KINDS: tuple[_Kind, ...] = ("once", "bank", "twice")


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A surface of least squares.

    Attributes:
        terms: How many numbers it has, those of its breaks included.
        rss_ft2: Sum of the squared residuals of the readings it was fitted to.
        scale_ft: What places are divided by before ``factors`` are used.
        factors: Of 1, x, y and of the further terms.
        breaks: Of each the direction across it, radians from the x axis, and where it stands along
            that, scaled; none for a plane or a curved surface.
        banks: Whether each two breaks are the foot and the head of a bank, with one factor.
    """

    terms: int
    rss_ft2: float
    scale_ft: float
    factors: Floats
    breaks: tuple[Break, ...]
    banks: bool = False

    def at(self, places_ft: Floats) -> Floats:
        """Heights (m,) at places (m, 2)."""
        return np.asarray(self._terms_at(places_ft) @ self.factors)

    def gains_ft2(self, places_ft: Floats, heights_ft: Floats) -> Floats:
        """By how much the sum of squares falls without each of the readings it was fitted to.

        Of least squares, ``e^2 / (1 - h)`` of residual and leverage; its breaks stay.
        """
        basis = np.linalg.qr(self._terms_at(places_ft))[0]
        own = (basis * basis).sum(axis=1)
        off = heights_ft - basis @ (basis.T @ heights_ft)
        return np.asarray(off * off / np.maximum(1 - own, SLIGHT))

    def _terms_at(self, places_ft: Floats) -> Floats:
        places = places_ft / self.scale_ft
        if len(self.factors) == CURVED:
            return _curved(places)
        terms = planes_meeting(places, self.breaks)
        return banks_of(terms) if self.banks else terms


def flat(places: Floats) -> Floats:
    """Terms (n, 3) of a plane."""
    return np.column_stack([np.ones(len(places)), places])


def _curved(places: Floats) -> Floats:
    x, y = places.T
    return np.column_stack([flat(places), x * x, x * y, y * y])


def across(places: Floats, turn: float) -> Floats:
    """How far along a direction places lie."""
    return np.asarray(places @ np.array([math.cos(turn), math.sin(turn)]))


def planes_meeting(places: Floats, breaks: Iterable[Break]) -> Floats:
    """Terms (n, 3 + breaks) of planes that meet in these breaks."""
    steeper = (np.maximum(across(places, turn) - at, 0) for turn, at in breaks)
    return np.column_stack([flat(places), *steeper])


def banks_of(terms: Floats) -> Floats:
    """Terms (n, 3 + banks) of a plane and banks, from those (n, 3 + 2 banks) of their breaks."""
    return np.column_stack([terms[:, :3], terms[:, 3::2] - terms[:, 4::2]])


def first_most(gains: Sequence[float] | Floats) -> int:
    """Number of the greatest, counted along all axes; of those alike to rounding the first.

    So the order in which readings are entered, which changes the rounding, changes nothing.
    """
    flat_gains = np.ravel(gains)
    return int(np.flatnonzero(flat_gains >= flat_gains.max() - ALIKE_FT2)[0])


def reach(places_ft: Floats) -> float:
    """How far the readings reach from the middle of them."""
    return float(np.hypot(*(places_ft - places_ft.mean(axis=0)).T).max())


def levelled(places_ft: Floats, heights_ft: Floats) -> tuple[float, Floats, Floats, Floats]:
    """How far places reach, places in that, terms (n, 3) of planes, and heights less the best."""
    scale = reach(places_ft)
    places = places_ft / scale
    plane = np.linalg.qr(flat(places))[0]
    return scale, places, plane, heights_ft - plane @ (plane.T @ heights_ft)


def first_turn(places: Floats, heights: Floats) -> float:
    """Direction from the middle to the farthest reading, of those the highest.

    Search begins there, so that it takes the same steps however the survey is turned.
    """
    x, y = (places - places.mean(axis=0)).T
    away = np.hypot(x, y)
    far = np.flatnonzero(away >= away.max() * (1 - SLIGHT))
    first = far[int(np.argmax(heights[far]))]
    return math.atan2(y[first], x[first])


def beside(count: int) -> int:
    """Readings that a break must have on either side, of so many."""
    return min(max(FEWEST_BESIDE, count // SHARE_BESIDE), MOST_BESIDE)


def smooth_surfaces(places_ft: Floats, heights_ft: Floats) -> list[Surface]:
    """The plane through readings, and the surface curved in one piece, if there are enough."""
    scale = reach(places_ft)
    found = []
    for terms in (flat(places_ft / scale), _curved(places_ft / scale)):
        if len(heights_ft) >= terms.shape[1]:
            factors = np.linalg.lstsq(terms, heights_ft, rcond=None)[0]
            rss = float(((heights_ft - terms @ factors) ** 2).sum())
            found.append(Surface(terms.shape[1], rss, scale, np.asarray(factors), ()))
    return found


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


def gain_of_one(own: Floats, onto: Floats) -> Floats:
    """By how much a term lessens the sum of squares; ``own`` is its product with itself."""
    told = own > SLIGHT
    return np.where(told, onto * onto / np.where(told, own, 1), 0)


def _gain_of_pair(
    kind: _Kind, own: Floats, other: Floats, both: Floats, onto: Floats, onto_other: Floats
) -> Floats:
    if kind == "bank":
        return gain_of_one(own + other - 2 * both, onto - onto_other)
    return gain_of_two(own, other, both, onto, onto_other)


def gain_of_two(
    own: Floats, other: Floats, both: Floats, onto: Floats, onto_other: Floats
) -> Floats:
    """By how much two terms lessen it together; 0 where they can't be told from each other."""
    apart = own * other - both * both
    told = (apart > SLIGHT * own * other) & (own > SLIGHT) & (other > SLIGHT)
    gain = onto * onto * other - 2 * onto * onto_other * both + onto_other * onto_other * own
    return np.where(told, gain / np.where(told, apart, 1), 0)
