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
class Off:
    """Ground samples of places (p, n), and how far each may be off in the cell round its place.

    Attributes:
        height: Heights, ft.
        rest: Most that each may be off besides ``linear``: one for all, one a place (p, 1), or
            one a sample (p, n).
        linear: (3, p, n) what the farthest move to either side and the farthest turn change each
            height by, in proportion to how far they go; None if that stands in ``rest`` as well.
    """

    height: Floats
    rest: Floats | float = 0.0
    linear: Floats | None = None


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


def price(off: Off, sampling: Sampling, cost: SitingCost) -> Priced:
    """Price places from their ground samples.

    ``lower`` is the least cost where heights are off. What moves all heights of a place alike
    costs nothing.
    """
    height = off.height
    outline = height[:, sampling.on_outline]
    if cost.mode == "high":
        top = height.max(axis=1) + cost.above_high_ft
        subgrade = top - cost.pad_depth_ft
    else:
        subgrade = _balanced(height, sampling.area_ft2, cost.compacted_per_bank)
        top = subgrade + cost.pad_depth_ft
    over = height - subgrade[:, None]
    weight = sampling.area_ft2 / FT3_PER_YD3
    net = over @ weight
    cut = np.maximum(over, 0) @ weight
    fill = cut - net
    earth = _earth(cut, fill, cost)
    drop = top[:, None] - outline + cost.least_embedment_ft
    courses = _courses(drop, cost.timber_depth_ft)
    timber = courses @ sampling.outline_ft if cost.framed else np.zeros(len(height))
    fixed = cost.stone_per_yd3 * cost.pad_depth_ft * float(weight.sum())
    total = earth + cost.timber_per_ft * timber + fixed
    lower = total
    if np.any(off.rest) or off.linear is not None:
        change = _change(off, over, sampling, cost)
        least_timber = timber
        if cost.framed:
            slack = np.broadcast_to(change.slack, height.shape)[:, sampling.on_outline]
            drop = drop - (slack + change.down)
            least_timber = _courses(drop, cost.timber_depth_ft) @ sampling.outline_ft
        lower = (
            _least_earth_off(over, cut, fill, change, weight, cost)
            + cost.timber_per_ft * least_timber
            + fixed
        )
    most = courses.max(axis=1) if cost.framed else np.zeros(len(height))
    return Priced(total, lower, top, subgrade, cut, fill, timber, most)


@dataclass(frozen=True, slots=True, eq=False)
class _Change:
    """How heights (p, n) may change in a cell, against what they change all alike.

    Attributes:
        linear: As in ``Off``, without what all change alike.
        rest: As in ``Off``.
        slack: Most that each may change.
        down, up: How far the level of a place (p, 1) may come down and go up.
    """

    linear: Floats | None
    rest: Floats
    slack: Floats
    down: Floats
    up: Floats


def _change(off: Off, over: Floats, sampling: Sampling, cost: SitingCost) -> _Change:
    height, rest, linear = off.height, np.asarray(off.rest, dtype=np.float64), off.linear
    high, factor = cost.mode == "high", cost.compacted_per_bank
    weight = np.where(over > 0, factor, 1.0) * sampling.area_ft2 if not high else height
    if linear is not None and high:
        at = height.argmax(axis=1)[None, :, None]
        linear = linear - np.take_along_axis(linear, at, axis=2)
    elif linear is not None:
        weight /= weight.sum(axis=1, keepdims=True)
        linear = linear - (linear * weight).sum(axis=2, keepdims=True)
    slack = rest if linear is None else np.abs(linear).sum(axis=0) + rest
    if high:
        top = height.max(axis=1, keepdims=True)
        down = top - (height - slack).max(axis=1, keepdims=True)
        up = (height + slack).max(axis=1, keepdims=True) - top
        return _Change(linear, rest, slack, down, up)
    # The balanced level is a mean of the heights in which what is dug weighs by the factor, so it
    # moves with the mean of what they change by, which is the rest alone; and what changes from
    # dug to filled weighs otherwise.
    every = np.broadcast_to(slack, height.shape)
    mean = every @ sampling.area_ft2 / sampling.area_ft2.sum()
    most = mean * max(factor, 1 / factor)
    if linear is not None:
        own = (np.broadcast_to(rest, height.shape) * weight).sum(axis=1)
        most = np.minimum(most, own + abs(1 - factor) * (mean + most) / min(factor, 1.0))
    return _Change(linear, rest, slack, most[:, None], most[:, None])


def _least_earth_off(
    over: Floats, cut: Floats, fill: Floats, change: _Change, weight: Floats, cost: SitingCost
) -> Floats:
    """Least cost of earth where heights are off."""
    least_cut = np.maximum(over - (change.slack + change.up), 0) @ weight
    least_fill = np.maximum(-over - (change.slack + change.down), 0) @ weight
    wrong = np.broadcast_to(change.slack, over.shape) @ weight
    area = float(weight.sum())
    most_cut = cut + wrong + change.down[:, 0] * area
    most_fill = fill + wrong + change.up[:, 0] * area
    least = _least_earth(least_cut, most_cut, least_fill, most_fill, cost)
    if change.linear is not None:
        least = np.maximum(least, _tangent(over, cut, fill, change, change.linear, weight, cost))
    return least


def _tangent(
    over: Floats,
    cut: Floats,
    fill: Floats,
    change: _Change,
    linear: Floats,
    weight: Floats,
    cost: SitingCost,
) -> Floats:
    """A bound below the cost of earth where heights are off, tight for small cells.

    Earth costs no less than ``a`` x cut + ``b`` x fill for some rates, which is convex in what
    heights change by as long as neither is negative: it lies above its tangent. Cut and fill that
    change against each other are not both taken at their kindest then.
    """
    above, below = np.where(over > 0, weight, 0.0), np.where(over < 0, weight, 0.0)
    k = cost.compacted_per_bank
    if cost.fill_with_stone:
        a, b = cost.cut_per_yd3 + cost.export_per_yd3, cost.stone_per_yd3
    else:
        a, b = cost.cut_per_yd3, cost.fill_per_yd3
    if cost.mode == "balanced":
        # As fill is k x cut, rates by which the level does not matter cost the same.
        dug, filled = above.sum(axis=1), below.sum(axis=1)
        each = (a + k * b) / np.maximum(filled + k * dug, 1e-12)
        cut_rate, fill_rate = each * filled, each * dug
    else:
        # What is bought or carried away costs no less than any share of it.
        short = (
            0.0
            if cost.fill_with_stone
            else np.where(
                fill > k * cut,
                min(cost.import_per_yd3, a / k),
                -min(cost.export_per_yd3 / k, b),
            )
        )
        cut_rate, fill_rate = a - k * short + 0 * cut, b + short + 0 * cut
    slope = cut_rate[:, None] * above - fill_rate[:, None] * below
    level = slope.sum(axis=1)
    off = np.abs(np.einsum("kpn,pn->kp", linear, slope)).sum(axis=0)
    off += (np.abs(slope) * change.rest).sum(axis=1)
    off += np.maximum(level, 0) * change.up[:, 0] + np.maximum(-level, 0) * change.down[:, 0]
    return np.asarray(cut_rate * cut + fill_rate * fill - off, dtype=np.float64)


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
