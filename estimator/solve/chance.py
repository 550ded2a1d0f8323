"""Draws of what is uncertain: stratified, triangular, the same on every machine."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def stratified(draws: int, things: int, seed: int) -> Floats:
    """Draws between 0 and 1, (draws, things): of each thing one in each of so many equal parts.

    Things are independent of each other. Latin hypercube sampling: McKay, Beckman and Conover,
    Technometrics 21 (1979).
    """
    chance = np.random.default_rng(seed)
    order = np.argsort(chance.random((draws, things)), axis=0, kind="stable")
    return np.asarray((order + chance.random((draws, things))) / draws)


def triangular(u: Any, low: Any, high: Any) -> Floats:
    """Factors of a triangular distribution about its most likely value, 1, by inversion.

    Mean (low + 1 + high) / 3, variance (low^2 + 1 + high^2 - low - low high - high) / 18.

    Args:
        u: Draws between 0 and 1.
        low, high: Least and greatest factor, at most and at least 1.
    """
    wide = np.asarray(high, dtype=float) - low
    below = np.sqrt(u * wide * (1 - np.asarray(low)))
    above = np.sqrt((1 - np.asarray(u)) * wide * (np.asarray(high) - 1))
    return np.asarray(np.where(u * wide < 1 - np.asarray(low), low + below, high - above))


def chances_of_least(costs: Floats) -> Floats:
    """In what share of draws each of several costs the least; equals share a draw.

    Args:
        costs: (draws, options); infinite for one that is not in the running.

    Returns:
        One number an option; 0 for all where none is in the running.
    """
    least = np.min(costs, axis=1, keepdims=True)
    won = (costs == least) & np.isfinite(costs)
    return np.asarray(np.mean(won / np.maximum(np.sum(won, axis=1, keepdims=True), 1), axis=0))
