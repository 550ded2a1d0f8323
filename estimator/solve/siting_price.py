"""What places cost by their ground samples, and the least that each may cost if they are off."""

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
    return Sampling(
        counts=(counts[0], counts[1]),
        offsets=np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2),
        area_ft2=np.outer(wu, wv).ravel(),
        outline_ft=outline[keep],
        on_outline=keep,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Priced:
    """Costs and what they are made of, one of each place (p,); ``lower`` is the least cost."""

    cost: Floats
    lower: Floats
    top: Floats
    subgrade: Floats
    cut_yd3: Floats
    fill_yd3: Floats
    timber_ft: Floats
    courses: Floats


def price(height: Floats, sampling: Sampling, cost: SitingCost, slack_ft: float | Floats) -> Priced:
    """Price places from their ground samples (p, n).

    ``lower`` is the least cost if every height may be wrong by ``slack_ft``, one for all or one
    a place (p,): the top and any one sample then approach each other by at most twice that.
    """
    outline = height[:, sampling.on_outline]
    if cost.mode == "high":
        top = height.max(axis=1) + cost.above_high_ft
        subgrade = top - cost.pad_depth_ft
    else:
        subgrade = _balanced(height, sampling.area_ft2, cost.compacted_per_bank)
        top = subgrade + cost.pad_depth_ft
    over = height - subgrade[:, None]
    each = 2 * np.broadcast_to(slack_ft, len(height))
    give = each[:, None]
    weight = sampling.area_ft2 / FT3_PER_YD3
    net = over @ weight
    cut = np.maximum(over, 0) @ weight
    fill = cut - net
    area_yd = float(weight.sum())
    earth = _earth(cut, fill, cost)
    least_cut, most_cut = cut, cut
    least_fill, most_fill = fill, fill
    drop = top[:, None] - outline + cost.least_embedment_ft
    courses = _courses(drop, cost.timber_depth_ft)
    timber = courses @ sampling.outline_ft if cost.framed else np.zeros(len(height))
    fixed = cost.stone_per_yd3 * cost.pad_depth_ft * area_yd
    total = earth + cost.timber_per_ft * timber + fixed
    lower = total
    if each.any():
        least_cut = np.maximum(over - give, 0) @ weight
        least_fill = np.maximum(-over - give, 0) @ weight
        most_cut, most_fill = cut + each * area_yd, fill + each * area_yd
        least_timber = (
            _courses(drop - give, cost.timber_depth_ft) @ sampling.outline_ft
            if cost.framed
            else timber
        )
        lower = (
            _least_earth(least_cut, most_cut, least_fill, most_fill, cost)
            + cost.timber_per_ft * least_timber
            + fixed
        )
    most = courses.max(axis=1) if cost.framed else np.zeros(len(height))
    return Priced(total, lower, top, subgrade, cut, fill, timber, most)


def _courses(drop: Floats, timber_depth_ft: float) -> Floats:
    # Nine decimals are enough to keep an exact multiple exact, and cheaper than np.round here.
    return np.asarray(np.maximum(np.ceil(drop / timber_depth_ft - 1e-9), 1.0), dtype=np.float64)


def _earth(cut: Floats, fill: Floats, cost: SitingCost) -> Floats:
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


def _least_earth(
    cut0: Floats, cut1: Floats, fill0: Floats, fill1: Floats, cost: SitingCost
) -> Floats:
    """Least earth cost over a box of cut and fill.

    The cost is convex with one crease, the balance line: its least value is at a corner of the box
    or where the crease meets a side.
    """
    k = cost.compacted_per_bank
    candidates = [
        (cut0, fill0),
        (cut0, fill1),
        (cut1, fill0),
        (cut1, fill1),
        (np.clip(fill0 / k, cut0, cut1), fill0),
        (np.clip(fill1 / k, cut0, cut1), fill1),
        (cut0, np.clip(k * cut0, fill0, fill1)),
        (cut1, np.clip(k * cut1, fill0, fill1)),
    ]
    return np.asarray(np.min([_earth(c, f, cost) for c, f in candidates], axis=0))


def _balanced(height: Floats, weight: Floats, factor: float) -> Floats:
    """Level of each place (p,) at which factor x cut = fill over its samples, by Newton's method.

    The surplus is piecewise linear and bends one way only, so Newton ends on the root's own piece.
    """
    z = height @ weight / weight.sum()
    for _ in range(50):
        over = height - z[:, None]
        above = over > 0
        surplus = (over * np.where(above, factor, 1.0)) @ weight
        step = surplus / (np.where(above, factor, 1.0) @ weight)
        z = z + step
        if np.abs(step).max(initial=0.0) < 1e-12:
            break
    return np.asarray(z, dtype=np.float64)


def sample_points(sampling: Sampling, places: Floats) -> Floats:
    """Where the samples of places (p, 3: centre x, centre y, turn) lie: (p x n, 2)."""
    cos, sin = turned(places[:, 2])
    u, v = sampling.offsets.T
    x = places[:, :1] + cos[:, None] * u - sin[:, None] * v
    y = places[:, 1:2] + sin[:, None] * u + cos[:, None] * v
    return np.stack([x.ravel(), y.ravel()], axis=1)
