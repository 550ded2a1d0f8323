"""Earth volumes: exact ones under the triangulated surface, and the surveyors' hand methods.

Heights and plan lengths in feet, volumes in cubic feet unless a name says otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.errors import InputError
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]

ZERO_AREA_SHARE = 1e-13


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """The surface over a footprint, as triangles that cover it exactly.

    Attributes:
        areas_ft2: (t,) plan areas; they sum to the footprint's.
        low_ft, mid_ft, high_ft: (t,) corner heights of each triangle, sorted.
        guessed_ft2: Plan area that lies outside the readings.
    """

    areas_ft2: Floats
    low_ft: Floats
    mid_ft: Floats
    high_ft: Floats
    guessed_ft2: float = 0.0

    @property
    def area_ft2(self) -> float:
        """Plan area of the footprint."""
        return float(self.areas_ft2.sum())

    @property
    def mean_ft(self) -> float:
        """Mean height of the ground over the footprint."""
        base = float(self.low_ft[0])
        thirds = ((self.low_ft - base) + (self.mid_ft - base) + (self.high_ft - base)) / 3
        return base + float(self.areas_ft2 @ thirds) / self.area_ft2

    @property
    def lowest_ft(self) -> float:
        """Lowest ground in the footprint."""
        return float(self.low_ft.min())

    @property
    def highest_ft(self) -> float:
        """Highest ground in the footprint."""
        return float(self.high_ft.max())

    def lowered(self, depth_ft: float) -> Patch:
        """The same patch after ``depth_ft`` is stripped off it everywhere."""
        return Patch(
            self.areas_ft2,
            self.low_ft - depth_ft,
            self.mid_ft - depth_ft,
            self.high_ft - depth_ft,
            self.guessed_ft2,
        )


def clip(ground: Ground, corners: ArrayLike) -> Patch:
    """Cut the ground surface to a convex footprint, exactly.

    Every triangle of the surface is clipped to the footprint and fanned; what lies outside the
    readings is covered with triangles of the fitted plane.

    Args:
        ground: The surface.
        corners: (k, 2) corners of a convex footprint in order, either way round.

    Raises:
        InputError: The footprint has no area or is not convex.
    """
    footprint = _convex(np.asarray(corners, dtype=np.float64).reshape(-1, 2) - ground.centre_ft)
    low, high = footprint.min(axis=0), footprint.max(axis=0)
    corner = ground.vertices_ft[ground.triangles]
    near = np.all((corner.max(axis=1) >= low) & (corner.min(axis=1) <= high), axis=1)
    pieces: list[tuple[Floats, Floats]] = []
    for t in np.flatnonzero(near):
        polygon = _inside(corner[t], footprint)
        if len(polygon):
            pieces.append((polygon, ground.coefficients[t]))
    inner = len(pieces)
    outline = ground.vertices_ft[ground.hull]
    rest = footprint
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        if not len(rest):
            break
        beyond = _half(rest, b, a)
        if len(beyond):
            pieces.append((beyond, ground.plane))
        rest = _half(rest, a, b)
    return _fan(pieces, inner, _area(footprint))


def _fan(pieces: list[tuple[Floats, Floats]], inner: int, whole_ft2: float) -> Patch:
    areas: list[Floats] = []
    heights: list[Floats] = []
    guessed = 0.0
    for number, (polygon, plane) in enumerate(pieces):
        z = plane[0] + polygon @ plane[1:]
        e1, e2 = polygon[1:-1] - polygon[0], polygon[2:] - polygon[0]
        area = (e1[:, 0] * e2[:, 1] - e1[:, 1] * e2[:, 0]) / 2
        z = np.stack([np.full(len(area), z[0]), z[1:-1], z[2:]], axis=1)
        keep = area > ZERO_AREA_SHARE * whole_ft2
        areas.append(area[keep])
        heights.append(z[keep])
        if number >= inner:
            guessed += float(area[keep].sum())
    z = np.sort(np.concatenate(heights), axis=1)
    return Patch(np.concatenate(areas), z[:, 0], z[:, 1], z[:, 2], guessed)


def _area(polygon: Floats) -> float:
    x, y = (polygon - polygon[0]).T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def _convex(polygon: Floats) -> Floats:
    if len(polygon) < 3 or not np.isfinite(polygon).all() or _area(polygon) == 0:
        raise InputError(
            "the footprint has no area", cure="Give its corners in order, at least three."
        )
    if _area(polygon) < 0:
        polygon = polygon[::-1]
    ahead = np.roll(polygon, -1, axis=0) - polygon
    turn = ahead[:, 0] * np.roll(ahead, -1, axis=0)[:, 1]
    turn -= ahead[:, 1] * np.roll(ahead, -1, axis=0)[:, 0]
    if (turn < -1e-9 * np.abs(turn).max()).any():
        raise InputError("the footprint is not convex", cure="Give its corners in order.")
    return polygon


def _half(polygon: Floats, a: Floats, b: Floats) -> Floats:
    """Part of a convex polygon on the left of the line from a to b."""
    along = b - a
    side = along[0] * (polygon[:, 1] - a[1]) - along[1] * (polygon[:, 0] - a[0])
    keep = side >= 0
    if keep.all():
        return polygon
    if not keep.any():
        return polygon[:0]
    out = []
    for i in range(len(polygon)):
        j = (i + 1) % len(polygon)
        if keep[i]:
            out.append(polygon[i])
        if keep[i] != keep[j]:
            share = side[i] / (side[i] - side[j])
            out.append(polygon[i] + share * (polygon[j] - polygon[i]))
    return np.array(out) if len(out) >= 3 else polygon[:0]


def _inside(polygon: Floats, footprint: Floats) -> Floats:
    for a, b in zip(footprint, np.roll(footprint, -1, axis=0), strict=True):
        polygon = _half(polygon, a, b)
        if not len(polygon):
            break
    return polygon


def volume_above(
    areas_ft2: ArrayLike, low_ft: ArrayLike, mid_ft: ArrayLike, high_ft: ArrayLike, z_ft: ArrayLike
) -> Floats:
    """Volume of ground above the level ``z``: the cut in bank cubic feet.

    The integral of ``max(height - z, 0)`` over a triangle is a prism less or plus the pyramid that
    the level cuts off, so it is exact.

    Args:
        areas_ft2, low_ft, mid_ft, high_ft: (t,) as in :class:`Patch`.
        z_ft: Level, any shape.

    Returns:
        Volume in the shape of ``z_ft``.
    """
    area, low, mid, high = (
        np.asarray(a, dtype=np.float64) for a in (areas_ft2, low_ft, mid_ft, high_ft)
    )
    z = np.asarray(z_ft, dtype=np.float64)[..., None]
    prism = ((low - z) + (mid - z) + (high - z)) / 3
    lower_span = np.where(mid > low, (mid - low) * (high - low), 1.0)
    upper_span = np.where(high > mid, (high - mid) * (high - low), 1.0)
    with_pit = prism + np.maximum(z - low, 0) ** 3 / (3 * lower_span)
    tip = np.maximum(high - z, 0) ** 3 / (3 * upper_span)
    depth = np.where(z <= low, prism, np.where(z < mid, with_pit, np.where(z < high, tip, 0.0)))
    return np.asarray((area * depth).sum(axis=-1), dtype=np.float64)


def volume_below(
    areas_ft2: ArrayLike, low_ft: ArrayLike, mid_ft: ArrayLike, high_ft: ArrayLike, z_ft: ArrayLike
) -> Floats:
    """Volume between the ground and the level ``z`` above it: the fill in compacted cubic feet.

    Same arguments and shape as :func:`volume_above`.
    """
    area, low, mid, high = (
        np.asarray(a, dtype=np.float64) for a in (areas_ft2, low_ft, mid_ft, high_ft)
    )
    # The ground turned upside down: exact, and never a small difference of large numbers.
    return volume_above(area, -high, -mid, -low, -np.asarray(z_ft, dtype=np.float64))


def cut_ft3(patch: Patch, z_ft: ArrayLike) -> Floats:
    """Cut over a patch down to the level ``z``, bank cubic feet."""
    return volume_above(patch.areas_ft2, patch.low_ft, patch.mid_ft, patch.high_ft, z_ft)


def fill_ft3(patch: Patch, z_ft: ArrayLike) -> Floats:
    """Fill over a patch up to the level ``z``, compacted cubic feet."""
    return volume_below(patch.areas_ft2, patch.low_ft, patch.mid_ft, patch.high_ft, z_ft)


def balanced_height(
    patch: Patch, compacted_per_bank: float, *, strip_ft: float = 0.0, waste_share: float = 0.0
) -> float:
    """Level at which the cut, tamped, just makes the fill.

    Args:
        patch: Original ground over the footprint.
        compacted_per_bank: Compacted volume that one bank volume gives (0.90: shrinks by a tenth).
        strip_ft: Sod and topsoil taken off first; they count neither as cut nor as fill.
        waste_share: Share of the cut that can't be used as fill.

    Returns:
        The subgrade level, on the datum of the patch.

    Raises:
        InputError: The factor is not positive, or nothing of the cut is usable.
    """
    usable = compacted_per_bank * (1 - waste_share)
    if not (np.isfinite(usable) and usable > 0):
        raise InputError(
            "the cut can't make any fill", cure="Give compacted per bank above 0, waste below 1."
        )
    ground = patch.lowered(strip_ft)
    base = ground.lowest_ft
    top = ground.highest_ft - base
    if top <= 0:
        return base
    local = ground.lowered(base)

    def surplus(z: float) -> float:
        return float(usable * cut_ft3(local, z) - fill_ft3(local, z))

    low, high = 0.0, top
    while low < (middle := (low + high) / 2) < high and high - low > 1e-14:
        low, high = (middle, high) if surplus(middle) > 0 else (low, middle)
    return base + (low + high) / 2


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


def footprint_corners(
    centre: Sequence[float], length_ft: float, width_ft: float, turn_deg: float = 0.0
) -> Floats:
    """Corners (4, 2) of a rectangle, counter-clockwise, its length along ``turn_deg`` from x."""
    half = np.array([length_ft, width_ft]) / 2
    signs = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    turn = np.deg2rad(turn_deg)
    along = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return _floats(centre + (signs * half) @ along)
