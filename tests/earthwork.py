"""The surveyors' hand methods for earth volumes: referees of the exact ones, in any one unit."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.solve.volumes import Patch

Floats = NDArray[np.float64]


def _floats(value: ArrayLike) -> Floats:
    return np.asarray(value, dtype=np.float64)


def average_end_area(area_1: ArrayLike, area_2: ArrayLike, length: ArrayLike) -> Floats:
    """Volume between two cross-sections: ``L (A1 + A2) / 2``.

    The average-end-area method of route surveying texts; too much where a section tapers to a
    point. Any consistent units; no conversion.
    """
    return _floats(length) * (_floats(area_1) + _floats(area_2)) / 2


def pyramid_volume(base_area: ArrayLike, height: ArrayLike) -> Floats:
    """Volume of a pyramid or cone, ``A h / 3``: a section that tapers to nothing."""
    return _floats(base_area) * _floats(height) / 3


def end_area_volumes(stations: ArrayLike, areas: ArrayLike, *, pyramids: bool = False) -> Floats:
    """Volumes between successive stations by average end areas.

    Args:
        stations: (n,) distances along the line.
        areas: (n,) cross-section areas there.
        pyramids: Take a pyramid where one end is zero.

    Returns:
        (n - 1,) volumes.
    """
    length = np.diff(_floats(stations))
    area = _floats(areas)
    first, second = area[:-1], area[1:]
    plain = average_end_area(first, second, length)
    if not pyramids:
        return plain
    tapers = (first == 0) | (second == 0)
    return _floats(np.where(tapers, pyramid_volume(first + second, length), plain))


def prismoidal_volume(
    area_1: ArrayLike, area_middle: ArrayLike, area_2: ArrayLike, length: ArrayLike
) -> Floats:
    """Volume of a prismoid: ``L (A1 + 4 Am + A2) / 6``.

    The prismoidal formula of surveying texts; the middle section comes from averaged dimensions,
    not from averaged areas. Exact for pits and piles with plane sides.
    """
    total = _floats(area_1) + 4 * _floats(area_middle) + _floats(area_2)
    return _floats(length) * total / 6


def mean_depth_volume(area: ArrayLike, corner_depths: ArrayLike) -> Floats:
    """Volume under one cell: its area times the mean of its corner depths.

    The grid (borrow-pit) method for one cell, or for the part of one on one side of the zero line.
    """
    return _floats(area) * _floats(_floats(corner_depths).mean(axis=-1))


def borrow_pit_volume(cell_area: float, depths: ArrayLike) -> float:
    """Volume of a whole grid: ``A/4 (S1 + 2 S2 + 3 S3 + 4 S4)``.

    ``Sn`` is the sum of the depths at grid points that n cells share.

    Args:
        cell_area: Plan area of one cell.
        depths: (rows, columns) depths at the grid points; NaN where the grid has no point. A cell
            counts if all four of its corners have a depth.
    """
    depth = _floats(depths)
    known = np.isfinite(depth)
    cell = known[:-1, :-1] & known[1:, :-1] & known[:-1, 1:] & known[1:, 1:]
    share = np.zeros(depth.shape)
    for rows in (slice(None, -1), slice(1, None)):
        for columns in (slice(None, -1), slice(1, None)):
            share[rows, columns] += cell
    return float(cell_area / 4 * (share * np.where(known, depth, 0.0)).sum())


def zero_point(cut_depth: float, fill_depth: float, side: float) -> float:
    """Distance of the zero point from the fill end of a side that runs from fill to cut."""
    return side * fill_depth / (fill_depth + cut_depth)


def loose_volume(bank: ArrayLike, swell: ArrayLike) -> Floats:
    """Loose volume of dug soil: bank x (1 + swell)."""
    return _floats(bank) * (1 + _floats(swell))


def bank_for_fill(compacted: ArrayLike, compacted_per_bank: ArrayLike) -> Floats:
    """Bank volume that a compacted fill needs: compacted / (compacted per bank)."""
    return _floats(compacted) / _floats(compacted_per_bank)


def load_factor(swell: ArrayLike) -> Floats:
    """Bank volume in one loose volume: 1 / (1 + swell)."""
    return 1 / (1 + _floats(swell))


def whole_loads(loose: ArrayLike, load: ArrayLike) -> Floats:
    """Truck loads, whole; rounded to nine decimals first so that an exact number stays exact."""
    return _floats(np.ceil(np.round(_floats(loose) / _floats(load), 9)))


def mean_height_ft(patch: Patch) -> float:
    """Mean height of the ground over a footprint: each triangle's is that of its corners."""
    base = float(patch.low_ft[0])
    thirds = ((patch.low_ft - base) + (patch.mid_ft - base) + (patch.high_ft - base)) / 3
    return base + float(patch.areas_ft2 @ thirds) / patch.area_ft2
