"""What places cost by their ground samples."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_places import Floats, Footprint, SitingCost, turned

FT3_PER_YD3 = 27.0


@dataclass(frozen=True, slots=True, eq=False)
class Sampling:
    """Ground samples of a footprint, on its own axes, with trapezoid weights."""

    counts: tuple[int, int]
    offsets: Floats
    area_ft2: Floats
    outline_ft: Floats
    on_outline: NDArray[np.intp]
    arm_ft: Floats


def sampled(footprint: Footprint, sample_ft: float) -> Sampling:
    """Samples of a footprint at most ``sample_ft`` apart, the outline among them."""
    counts = tuple(
        max(2, int(np.ceil(round(side / sample_ft, 9))))
        for side in (footprint.length_ft, footprint.width_ft)
    )
    u = np.linspace(-0.5, 0.5, counts[0] + 1) * footprint.length_ft
    v = np.linspace(-0.5, 0.5, counts[1] + 1) * footprint.width_ft
    wu, wv = np.full(len(u), u[1] - u[0]), np.full(len(v), v[1] - v[0])
    wu[[0, -1]] /= 2
    wv[[0, -1]] /= 2
    along_u = np.zeros((len(u), len(v)))
    along_u[:, [0, -1]] = wu[:, None]
    along_v = np.zeros((len(u), len(v)))
    along_v[[0, -1], :] = wv
    outline = (along_u + along_v).ravel()
    keep = np.flatnonzero(outline > 0)
    offsets = np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2)
    return Sampling(
        counts=(counts[0], counts[1]),
        offsets=offsets,
        area_ft2=np.outer(wu, wv).ravel(),
        outline_ft=outline[keep],
        on_outline=keep,
        arm_ft=np.hypot(*offsets.T),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Priced:
    """Costs and what they are made of, one of each place (p,)."""

    cost: Floats
    top: Floats
    subgrade: Floats
    cut_yd3: Floats
    fill_yd3: Floats
    timber_ft: Floats
    courses: Floats


def price(height: Floats, sampling: Sampling, cost: SitingCost) -> Priced:
    """Price places from their ground samples (p, n)."""
    outline = height[:, sampling.on_outline]
    if cost.mode == "high":
        top = height.max(axis=1) + cost.above_high_ft
        subgrade = top - cost.pad_depth_ft
    else:
        subgrade = balanced(height, sampling.area_ft2, cost.compacted_per_bank)
        top = subgrade + cost.pad_depth_ft
    over = height - subgrade[:, None]
    weight = sampling.area_ft2 / FT3_PER_YD3
    net = over @ weight
    cut = np.maximum(over, 0) @ weight
    fill = cut - net
    drop = top[:, None] - outline + cost.least_embedment_ft
    courses = courses_of(drop, cost.timber_depth_ft)
    timber = courses @ sampling.outline_ft if cost.framed else np.zeros(len(height))
    total = earth_cost(cut, fill, cost) + timber_and_pad(timber, sampling, cost)
    most = courses.max(axis=1) if cost.framed else np.zeros(len(height))
    return Priced(total, top, subgrade, cut, fill, timber, most)


def timber_and_pad(timber_ft: Floats, sampling: Sampling, cost: SitingCost) -> Floats:
    """Cost of timber and of the stone of a pad."""
    stone_yd3 = cost.pad_depth_ft * float(sampling.area_ft2.sum()) / FT3_PER_YD3
    return np.asarray(cost.timber_per_ft * timber_ft + cost.stone_per_yd3 * stone_yd3)


def courses_of(drop: Floats, timber_depth_ft: float) -> Floats:
    """Courses whose bottom lies ``drop`` below the top or lower."""
    # Nine decimals are enough to keep an exact multiple exact, and cheaper than np.round here.
    return np.asarray(np.maximum(np.ceil(drop / timber_depth_ft - 1e-9), 1.0), dtype=np.float64)


def earth_cost(cut: Floats, fill: Floats, cost: SitingCost) -> Floats:
    """Cost of cut and fill, yd3."""
    if cost.fill_with_stone:
        return cut * (cost.cut_per_yd3 + cost.export_per_yd3) + fill * cost.stone_per_yd3
    bought = np.maximum(fill - cost.compacted_per_bank * cut, 0)
    away = np.maximum(cut - fill / cost.compacted_per_bank, 0)
    return np.asarray(
        cut * cost.cut_per_yd3
        + fill * cost.fill_per_yd3
        + bought * cost.import_per_yd3
        + away * cost.export_per_yd3,
        dtype=np.float64,
    )


def balanced(height: Floats, weight: Floats, factor: float) -> Floats:
    """Level of each place (p,) at which factor x cut = fill over its samples, by Newton's method.

    The surplus is piecewise linear and bends one way only, so Newton ends on the root's own piece.
    """
    z = height @ weight / weight.sum()
    going, left = np.arange(len(z)), height
    for _ in range(50):
        over = left - z[going, None]
        weighed = np.where(over > 0, factor * weight, weight)
        step = (over * weighed).sum(axis=1) / weighed.sum(axis=1)
        z[going] += step
        moves = np.abs(step) >= 1e-12
        going, left = going[moves], left[moves]
        if not len(going):
            break
    return np.asarray(z, dtype=np.float64)


def sample_points(sampling: Sampling, places: Floats) -> Floats:
    """Where the samples of places (p, 3: centre x, centre y, turn) lie: (p x n, 2)."""
    cos, sin = turned(places[:, 2])
    u, v = sampling.offsets.T
    x = places[:, :1] + cos[:, None] * u - sin[:, None] * v
    y = places[:, 1:2] + sin[:, None] * u + cos[:, None] * v
    return np.stack([x.ravel(), y.ravel()], axis=1)
