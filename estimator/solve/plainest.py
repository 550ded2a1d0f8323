"""The plainest surface that explains readings, and when it does.

Each number of a surface has to gain more than noise would give it. All lengths and heights are in
feet. The limits are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from estimator.solve.crossed import Crossing
from estimator.solve.least_squares import Surface, smooth_surfaces
from estimator.solve.mesh import Floats
from estimator.solve.once_broken import broken_surfaces
from estimator.solve.terraced import Terrace

NOISE_FT = 0.05
"""Of rod and grass: how far sound readings stand from the ground's surface, standard deviation
(common practice, no source)."""
WITHIN, SPREAD = 3.5, 2.0
"""A surface explains readings that stand at most so many times the noise from it, with a mean
square of at most so many squares of the noise."""
A_TERM = 3.5
"""What a further number of a surface has to gain, in squares of the noise: about the logarithm of
the number of readings, as in Schwarz's information criterion."""
Last = Crossing | Terrace
LAST: tuple[type[Last], ...] = (Crossing, Terrace)
"""Kinds of ground that are tried when no plainer one explains the readings."""


def score(surface: Surface, noise2: float) -> float:
    """Sum of squares of a surface with what its numbers have to gain, ft2; the least is best."""
    return surface.rss_ft2 + A_TERM * surface.terms * noise2


def plainest(surfaces: Sequence[Surface], noise2: float = NOISE_FT**2) -> Surface:
    """Of surfaces that with the least score."""
    return min(surfaces, key=lambda each: score(each, noise2))


def explains(surface: Surface, places: Floats, heights: Floats) -> bool:
    """Whether readings stand about a surface as those of rod and grass do."""
    return stand_about(heights - surface.at(places), surface.terms)


def stand_about(off_ft: Floats, terms: int) -> bool:
    """Whether readings that stand so far from a surface of so many numbers are sound."""
    spare = max(len(off_ft) - terms, 1)
    near = np.abs(off_ft).max() <= WITHIN * NOISE_FT
    return bool(near and off_ft @ off_ft <= SPREAD * spare * NOISE_FT**2)


def surfaces(places: Floats, heights: Floats) -> list[Surface]:
    """Surfaces from the plainest kind on, up to the first kind that explains the readings."""
    found = smooth_surfaces(places, heights)
    if not explains(plainest(found), places, heights):
        found += broken(places, heights)
    return found


def all_surfaces(
    places: Floats, heights: Floats, kinds: Sequence[type[Last]] = LAST
) -> list[Surface]:
    """As :func:`surfaces`, with some of the last kinds after them."""
    found = surfaces(places, heights)
    for kind in kinds:
        if explains(plainest(found), places, heights):
            break
        found += kind(places, heights).surfaces()
    return found


def last_kinds(places: Floats, heights: Floats) -> list[tuple[Last, Surface]]:
    """Breaks that cross, and a terrace, each with its best surface; up to one that explains all."""
    found: list[tuple[Last, Surface]] = []
    for kind in LAST:
        search = kind(places, heights)
        for surface in search.surfaces():
            found.append((search, surface))
            if explains(surface, places, heights):
                return found
    return found


def score_less_one(surface: Surface, places: Floats, heights: Floats) -> float:
    """Score of a surface without the reading that it fits worst."""
    return score(surface, NOISE_FT**2) - float(surface.gains_ft2(places, heights).max())


def broken(places: Floats, heights: Floats) -> list[Surface]:
    """Surfaces with one break, as a bank, and with two, up to the first that explains all."""
    found: list[Surface] = []
    for surface in broken_surfaces(places, heights):
        found.append(surface)
        if explains(surface, places, heights):
            break
    return found
