"""Corners of buildings that tests set down somewhere on a lot."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def footprint_corners(
    centre: Sequence[float], length_ft: float, width_ft: float, turn_deg: float = 0.0
) -> Floats:
    """Corners (4, 2) of a rectangle, counter-clockwise, its length along ``turn_deg`` from x."""
    half = np.array([length_ft, width_ft]) / 2
    signs = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    turn = np.deg2rad(turn_deg)
    along = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return np.asarray(centre + (signs * half) @ along, dtype=np.float64)
