"""The plainest surface that explains readings, and when it does.

Each number of a surface has to gain more than noise would give it. All lengths and heights are in
feet. The limits are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from estimator.solve.mesh import Floats
from estimator.solve.once_broken import Surface

NOISE_FT = 0.05
"""Of rod and grass: how far sound readings stand from the ground's surface, standard deviation
(common practice, no source)."""
WITHIN, SPREAD = 3.5, 2.0
"""A surface explains readings that stand at most so many times the noise from it, with a mean
square of at most so many squares of the noise."""
A_TERM = 3.5
"""What a further number of a surface has to gain, in squares of the noise: about the logarithm of
the number of readings, as in Schwarz's information criterion."""


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
