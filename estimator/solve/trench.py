"""Earth of the trench round a timber frame: a ring about the timbers, as wide as it is dug.

The trench is as wide on both sides of the timbers, and square at the corners. It is dug from the
stripped ground. Inside the frame line what lies above the subgrade is cut of the pad, so the
trench begins below both; outside it the trench is all that is dug. Where two sides meet, the
deeper one's trench goes through. Lengths and heights in feet, volumes in cubic feet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from estimator.solve.surface import Ground
from estimator.solve.volumes import clip_all

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Stretches = Sequence[tuple[float, float, int]]
"""Start, end and number of courses of the stretches of a side between its steps."""


@dataclass(frozen=True, slots=True)
class TrenchSpec:
    """How the trench is dug.

    Attributes:
        top_ft, subgrade_ft: Heights of the timber tops and of the pad's subgrade; (...) of
            several surfaces.
        strip_ft: Sod and topsoil taken off before.
        timber_depth_ft, timber_width_ft: Section of a timber, depth upright.
        bedding_ft: Stone under the lowest course, at least.
        width_ft: Width dug; no narrower than the timber.
    """

    top_ft: float | Floats
    subgrade_ft: float | Floats
    strip_ft: float
    timber_depth_ft: float
    timber_width_ft: float
    bedding_ft: float
    width_ft: float

    @property
    def beyond_ft(self) -> float:
        """Width of the trench on either side of the timbers."""
        return max(self.width_ft - self.timber_width_ft, 0.0) / 2


@dataclass(frozen=True, slots=True)
class Trench:
    """Volumes in place, of several surfaces (...).

    Attributes:
        dug_ft3: Bank, below the stripped ground, and inside the timbers below the subgrade too.
        bedding_ft3: Stone under the timbers, the trench's full width; under the timbers and
            outside of them down to the stripped ground where that lies lower than the trench.
        back_ft3: Soil put back beside the timbers, above the bedding, up to the stripped ground
            and inside to no more than the subgrade.
    """

    dug_ft3: float | Floats
    bedding_ft3: float | Floats
    back_ft3: float | Floats


_OUTSIDE, _TIMBER, _INSIDE = 0, 1, 2


def dig_trench(
    ground: Ground, corners: Floats, sides: Sequence[Stretches], spec: TrenchSpec
) -> Trench:
    """Volumes of the trench.

    Args:
        ground: The original surface, or several.
        corners: (4, 2) outer corners of the frame, anticlockwise; side i starts at corner i.
        sides: Of each side its stretches, from its first corner on.
        spec: Heights and sizes.
    """
    rectangles, zone, courses = _cells(corners, sides, spec)
    subgrade = np.asarray(spec.subgrade_ft)[..., None]
    bottom = np.asarray(spec.top_ft)[..., None] - courses * spec.timber_depth_ft
    floor = bottom - spec.bedding_ft
    patches = clip_all(ground, rectangles)
    # Levels are lifted by the strip instead of lowering the ground.
    levels = (
        floor,
        bottom,
        np.maximum(subgrade, floor),
        np.clip(subgrade, floor, bottom),
        np.maximum(subgrade, bottom),
    )
    above_floor, above_bottom, above_lid, above_under, above_both = patches.each_cut_ft3(
        [level + spec.strip_ft for level in levels]
    )
    lacks = patches.fill_ft3(floor + spec.strip_ft)
    outer, inner = zone == _OUTSIDE, zone == _INSIDE
    dug = np.where(inner, above_floor - above_lid, above_floor)
    bedding = np.where(
        inner,
        above_floor - above_under,
        patches.area_ft2() * spec.bedding_ft + lacks,
    )
    back = np.where(outer, above_bottom, np.where(inner, above_bottom - above_both, 0))
    return Trench(dug.sum(axis=-1), bedding.sum(axis=-1), back.sum(axis=-1))


def _cells(
    corners: Floats, sides: Sequence[Stretches], spec: TrenchSpec
) -> tuple[Floats, NDArray[np.int_], NDArray[np.int_]]:
    """Rectangles (k, 4, 2) of one depth that make up the ring, their zones and courses."""
    out, width = spec.beyond_ft, spec.timber_width_ft
    reach = width + out
    rectangles, zones, counts = [], [], []
    for i in range(4):
        start, along = corners[i], corners[(i + 1) % 4] - corners[i]
        length = float(np.hypot(*along))
        along = along / length
        inward = np.array([-along[1], along[0]])
        before = sides[i - 1]
        whole = before[-1][1]

        cells = [
            ((max(a, reach), min(b, length - reach)), band, count)
            for a, b, count in sides[i]
            if min(b, length - reach) > max(a, reach)
            for band in pairwise(sorted({-out, 0.0, width, reach}))
        ]
        # The corner square, where the side before this one ends.
        edges = -out, 0.0, width, reach
        cells += [
            (u, v, max(_count_at(sides[i], sum(u) / 2), _count_at(before, whole - sum(v) / 2)))
            for u in pairwise(_breaks(edges, [a for a, *_ in sides[i]]))
            for v in pairwise(_breaks(edges, [whole - b for _, b, _ in before]))
        ]
        across, inwards = (np.array([cell[axis] for cell in cells]) for axis in (0, 1))
        ends = np.stack([across[:, [0, 1, 1, 0]], inwards[:, [0, 0, 1, 1]]], axis=-1)
        rectangles.append(start + ends[..., :1] * along + ends[..., 1:] * inward)
        for u, v, count in cells:
            nearest = min(sum(u) / 2, sum(v) / 2)
            zones.append(_OUTSIDE if nearest < 0 else _TIMBER if nearest < width else _INSIDE)
            counts.append(count)
    return np.concatenate(rectangles), np.array(zones), np.array(counts)


def _breaks(bands: Sequence[float], steps: Sequence[float]) -> list[float]:
    """Edges of bands, and the steps between them, in order."""
    return sorted({*bands, *(step for step in steps if 0 < step < bands[-1])})


def _count_at(side: Stretches, along_ft: float) -> int:
    """Courses at a place of a side; beyond its ends those at the end."""
    return next((count for _, end, count in side if along_ft < end), side[-1][2])
