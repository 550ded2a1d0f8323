"""Beams and joists in one piece over several equal spans: what their supports get, by statics.

Exact by the equation of three moments (Clapeyron), for spans of one length and one section. Every
factor is a share of what simple spans would give; live load is put on whichever spans make it
largest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

SPANS_MOST = 11
"""Spans of the twelve skids or rows of supports that an option may have."""


@dataclass(frozen=True, slots=True)
class Continuity:
    """Factors of a member in one piece over so many equal spans L.

    Attributes:
        spans: Spans that it covers.
        reaction_dead: Greatest load on a support between the spans over w L, all spans loaded. 1
            for a single span: beside it the next piece begins.
        reaction_live: The same with load on the spans that make it largest.
        shear_dead: Greatest shear over w L / 2, all spans loaded.
        shear_live: The same with load on the spans that make it largest.
        lever: What a moment M at the ends, from load on overhangs, adds to an end support, over
            M / L: the larger of one end and both.
        lift: What such moments take off the next support, over M / L.
    """

    spans: int
    reaction_dead: float
    reaction_live: float
    shear_dead: float
    shear_live: float
    lever: float
    lift: float


def support_moments(
    loads: Sequence[float], left: float = 0.0, right: float = 0.0
) -> NDArray[np.float64]:
    """Moments over all supports of equal spans of length 1, hogging ones positive.

    M(i-1) + 4 M(i) + M(i+1) = (w(i) + w(i+1)) / 4 at every support between two spans.

    Args:
        loads: Load per length of every span.
        left: Moment at the first support, of an overhang.
        right: Moment at the last.
    """
    inner = len(loads) - 1
    moments = np.zeros(len(loads) + 1)
    moments[0], moments[-1] = left, right
    if inner:
        matrix = 4 * np.eye(inner) + np.eye(inner, k=1) + np.eye(inner, k=-1)
        both = (np.asarray(loads[:-1], dtype=float) + np.asarray(loads[1:], dtype=float)) / 4
        both[0] -= left
        both[-1] -= right
        moments[1:-1] = np.linalg.solve(matrix, both)
    return moments


def end_shears(
    loads: Sequence[float], left: float = 0.0, right: float = 0.0
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """What every span lays on its left and on its right support, spans of length 1.

    Arguments as of :func:`support_moments`; the load of an overhang itself is not among them.
    """
    moments = support_moments(loads, left, right)
    half = np.asarray(loads, dtype=float) / 2
    tilt = moments[1:] - moments[:-1]
    return half - tilt, half + tilt


@cache
def continuity(spans: int) -> Continuity:
    """The factors of a member in one piece over so many equal spans (at least 1)."""
    if spans == 1:
        return Continuity(1, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0)
    to_left, to_right = (
        np.array(rows)
        for rows in zip(*(end_shears(row) for row in np.eye(spans).tolist()), strict=True)
    )
    # A row for each loaded span: its share in every reaction and every shear by a support.
    reactions = to_right[:, :-1] + to_left[:, 1:]
    shears = np.concatenate([to_left, to_right], axis=1)
    bent = [end_shears([0.0] * spans, 1.0, far) for far in (0.0, 1.0)]
    return Continuity(
        spans,
        float(reactions.sum(axis=0).max()),
        float(np.maximum(reactions, 0.0).sum(axis=0).max()),
        float(2 * shears.sum(axis=0).max()),
        float(2 * np.maximum(shears, 0.0).sum(axis=0).max()),
        float(max(left[0] for left, _ in bent)),
        float(max(-(right[0] + left[1]) for left, right in bent)),
    )
