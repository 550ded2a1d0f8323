"""Surfaces of least squares through readings: a plane, a curved one, or planes that meet in breaks.

What the searches for breaks have in common. All lengths and heights are in feet.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from estimator.solve.mesh import Floats

BETWEEN = 3
"""Readings that stand between two breaks with a slope of their own there."""
FEWEST_BESIDE, MOST_BESIDE, SHARE_BESIDE = 3, 5, 4
"""Readings that a break must have on either side, so that it is one and not a slip: a fourth of
all, but no fewer and no more than these."""
CURVED = 6
"""Factors of a surface curved in one piece."""
SLIGHT = 1e-8
"""Share of a term that the terms before it must leave for it to be told from them."""
ALIKE_FT2, ROUNDED = 1e-8, 8
"""Gains that are alike to rounding, ft2, and the decimals that tell others apart."""
Break = tuple[float, float]
"""Direction across it, radians from the x axis, and where it stands along that, scaled."""


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


def gain_of_one(own: Floats, onto: Floats) -> Floats:
    """By how much a term lessens the sum of squares; ``own`` is its product with itself."""
    told = own > SLIGHT
    return np.where(told, onto * onto / np.where(told, own, 1), 0)


def gain_of_two(
    own: Floats, other: Floats, both: Floats, onto: Floats, onto_other: Floats
) -> Floats:
    """By how much two terms lessen it together; 0 where they can't be told from each other."""
    apart = own * other - both * both
    told = (apart > SLIGHT * own * other) & (own > SLIGHT) & (other > SLIGHT)
    gain = onto * onto * other - 2 * onto * onto_other * both + onto_other * onto_other * own
    return np.where(told, gain / np.where(told, apart, 1), 0)
