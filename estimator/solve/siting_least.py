"""The least that places may cost by ground samples that are off, in the cells round them.

Two bounds hold at once, and the higher counts. One takes each height, cut, fill and course at its
kindest by itself. The other is a plane that touches the cost from below, at its lowest corner:
heights that change against each other are not all taken at their kindest then, which makes it
tight in small cells.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from estimator.solve.siting_places import Floats, SitingCost
from estimator.solve.siting_price import (
    FT3_PER_YD3,
    Sampling,
    balanced,
    courses_of,
    earth_cost,
    timber_and_pad,
)

TOPS = 5
"""How often the samples that the top is reckoned from are mixed anew."""
RAISED_FT = 0.005
"""How far a top may go up at least for earth to be bounded by a higher one."""
LEANS = (0.5, 1.0)
"""Shares of the steepest rise that the count of courses may be given."""


@dataclass(frozen=True, slots=True, eq=False)
class Off:
    """Ground samples of places (p, n), and how far each may be off in the cell round its place.

    Attributes:
        height: Heights, ft.
        rest: Most that each may be off besides ``linear``.
        linear: (3, p, n) what the farthest move to either side and the farthest turn change each
            height by, in proportion to how far they go.
    """

    height: Floats
    rest: Floats
    linear: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Middle:
    """Tops (p,) in the middle of cells, and how far heights (p, n) lie over the subgrade there."""

    top: Floats
    over: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Change:
    """How heights (p, n) may change in a cell, against what they change all alike.

    Attributes:
        linear: As in ``Off``, without what all change alike.
        slack: Most that each may change.
        down, up: How far the level of a place (p, 1) may come down and go up.
    """

    linear: Floats
    slack: Floats
    down: Floats
    up: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Touching:
    """Costs (p,) that lie below those of places, and change in proportion to heights.

    Attributes:
        cost: In the middle.
        slope: (p, n) what they change by for each foot that a height changes by against the top.
        raised: (p,) how far the top lies there over that in the middle of the cell.
    """

    cost: Floats
    slope: Floats
    raised: Floats


def least_costs(off: Off, sampling: Sampling, cost: SitingCost) -> Floats:
    """Least cost (p,) of places where heights are off.

    What moves all heights of a place alike costs nothing.
    """
    middle = _middle(off, sampling, cost)
    change = _change(off, middle, sampling, cost)
    weight = sampling.area_ft2 / FT3_PER_YD3
    earth = _touching_earth(middle.over, weight, cost)
    if cost.mode == "high":
        earth = _touching_higher(earth, middle.over, change, weight, cost)
    timber = [(np.zeros(len(earth.cost)), np.zeros((1, 1)))]
    if cost.framed:
        timber = _touching_timber(middle, off.height, change, sampling, cost)
    below = _below_high if cost.mode == "high" else _below_balanced
    least = np.full(len(earth.cost), -np.inf)
    for each in timber:
        lines = each[0] + each[1].sum(axis=1) * earth.raised
        both = _Touching(earth.cost + lines, earth.slope - each[1], earth.raised)
        least = np.maximum(least, below(both, off, change))
    least = np.maximum(least, timber[0][0] + _apart(middle.over, change, weight, cost))
    return np.asarray(least + timber_and_pad(np.zeros(len(least)), sampling, cost))


def _middle(off: Off, sampling: Sampling, cost: SitingCost) -> _Middle:
    if cost.mode == "high":
        # No lower than the highest sample is for certain.
        top = (off.height - off.rest).max(axis=1) + cost.above_high_ft
    else:
        level = balanced(off.height, sampling.area_ft2, cost.compacted_per_bank)
        top = level + cost.pad_depth_ft
    return _Middle(top, off.height - (top - cost.pad_depth_ft)[:, None])


def _change(off: Off, middle: _Middle, sampling: Sampling, cost: SitingCost) -> _Change:
    height, rest = off.height, off.rest
    if cost.mode == "high":
        at = (height - rest).argmax(axis=1)[None, :, None]
        linear = off.linear - np.take_along_axis(off.linear, at, axis=2)
        slack = np.abs(linear).sum(axis=0) + rest
        up = (height + slack).max(axis=1) + cost.above_high_ft - middle.top
        return _Change(linear, slack, np.zeros((len(up), 1)), up[:, None])
    # The balanced level is a mean of the heights in which what is dug weighs by the factor, so it
    # moves with the mean of what they change by, which is the rest alone; and what changes from
    # dug to filled weighs otherwise.
    factor = cost.compacted_per_bank
    weight = np.where(middle.over > 0, factor, 1.0) * sampling.area_ft2
    weight /= weight.sum(axis=1, keepdims=True)
    linear = off.linear - np.einsum("kpn,pn->kp", off.linear, weight)[..., None]
    slack = np.abs(linear).sum(axis=0) + rest
    mean = slack @ sampling.area_ft2 / sampling.area_ft2.sum()
    most = mean * max(factor, 1 / factor)
    own = (rest * weight).sum(axis=1)
    most = np.minimum(most, own + abs(1 - factor) * (mean + most) / min(factor, 1.0))
    return _Change(linear, slack, most[:, None], most[:, None])


def _apart(over: Floats, change: _Change, weight: Floats, cost: SitingCost) -> Floats:
    """Least cost of earth with each height at its kindest."""
    wrong, area = change.slack @ weight, float(weight.sum())
    cut, fill = np.maximum(over, 0) @ weight, np.maximum(-over, 0) @ weight
    least_cut = np.maximum(over - (change.slack + change.up), 0) @ weight
    least_fill = np.maximum(-over - (change.slack + change.down), 0) @ weight
    most_cut = cut + wrong + change.down[:, 0] * area
    most_fill = fill + wrong + change.up[:, 0] * area
    return _least_earth(least_cut, most_cut, least_fill, most_fill, cost)


def _touching_earth(over: Floats, weight: Floats, cost: SitingCost) -> _Touching:
    """Earth where heights lie so far over the subgrade (p, n), by rates that cost no more than it.

    That is convex in what heights change by as long as neither rate is negative: it lies above its
    tangent.
    """
    above, below = np.where(over > 0, weight, 0.0), np.where(over < 0, weight, 0.0)
    cut_rate, fill_rate = _rates(over, above, below, cost)
    slope = cut_rate[:, None] * above - fill_rate[:, None] * below
    return _Touching((slope * over).sum(axis=1), slope, np.zeros(len(over)))


def _rates(over: Floats, above: Floats, below: Floats, cost: SitingCost) -> tuple[Floats, Floats]:
    """Rates (p,) by which cut and fill cost no more than earth does, and next to as much."""
    k = cost.compacted_per_bank
    if cost.fill_with_stone:
        a, b = cost.cut_per_yd3 + cost.export_per_yd3, cost.stone_per_yd3
    else:
        a, b = cost.cut_per_yd3, cost.fill_per_yd3
    if cost.mode == "balanced":
        # As fill is k x cut, rates by which the level does not matter cost the same.
        dug, filled = above.sum(axis=1), below.sum(axis=1)
        each = (a + k * b) / np.maximum(filled + k * dug, 1e-12)
        return each * filled, each * dug
    if cost.fill_with_stone:
        short = np.zeros(len(over))
    else:
        # What is bought or carried away costs no less than any share of it.
        short = np.where(
            (-below * over).sum(axis=1) > k * (above * over).sum(axis=1),
            min(cost.import_per_yd3, a / k),
            -min(cost.export_per_yd3 / k, b),
        )
    return a - k * short, b + short


def _touching_higher(
    earth: _Touching, over: Floats, change: _Change, weight: Floats, cost: SitingCost
) -> _Touching:
    """The same at the top between the lowest and the highest at which earth costs least.

    A higher top saves what is cut up to there, and costs what is filled from there on.
    """
    some = np.flatnonzero((earth.slope.sum(axis=1) > 0) & (change.up[:, 0] > RAISED_FT))
    if not len(some):
        return earth
    over = over[some]
    above, below = np.where(over > 0, weight, 0.0), np.where(over < 0, weight, 0.0)
    cut_rate, fill_rate = (each[:, None] for each in _rates(over, above, below, cost))
    order = over.argsort(axis=1)
    filled = weight[order].cumsum(axis=1)
    row = np.arange(len(some))
    at = order[row, (filled * fill_rate >= (weight.sum() - filled) * cut_rate).argmax(axis=1)]
    raised = np.clip(over[row, at], 0, change.up[some, 0])
    over = over - raised[:, None]
    slope = weight * np.where(over > 0, cut_rate, np.where(over < 0, -fill_rate, 0.0))
    # At a height that just meets the subgrade the cost has an edge: any slope between both holds.
    own = -slope.sum(axis=1, keepdims=True)
    edge = np.clip(own, -fill_rate * weight[at][:, None], cut_rate * weight[at][:, None])[:, 0]
    slope[row, at] = np.where(over[row, at] == 0, edge, slope[row, at])
    every, lifted, slopes = earth.cost.copy(), earth.raised.copy(), earth.slope.copy()
    every[some], lifted[some], slopes[some] = (slope * over).sum(axis=1), raised, slope
    return _Touching(every, slopes, lifted)


def _touching_timber(
    middle: _Middle, height: Floats, change: _Change, sampling: Sampling, cost: SitingCost
) -> list[tuple[Floats, Floats]]:
    """Timber by lines below the count of courses of each sample, by how much they rise.

    Its slopes tell what it costs less for each foot that a height rises by. The first are level.
    """
    on = sampling.on_outline
    rate = cost.timber_per_ft * sampling.outline_ft
    drop = (middle.top[:, None] - height[:, on] + cost.least_embedment_ft) / cost.timber_depth_ft
    slack = change.slack[:, on]
    low = drop - (slack + change.down) / cost.timber_depth_ft
    high = drop + (slack + change.up) / cost.timber_depth_ft
    least, most = courses_of(low, 1.0), courses_of(high, 1.0)
    # From where a course more begins the count rises by one to where it is highest, if not by more.
    rise = np.where(most == least + 1, 1 / np.maximum(high - least, 1e-9), 1.0)
    rise[(drop <= least) | (most == least)] = 0.0
    every = [(least @ rate, np.zeros((1, 1)))]
    for lean in LEANS:
        slope: Floats = np.zeros(height.shape)
        slope[:, on] = lean * rise * rate / cost.timber_depth_ft
        more = lean * (rise * (drop - least)) @ rate
        every.append((every[0][0] + more, slope))
    return every


def _below_balanced(touching: _Touching, off: Off, change: _Change) -> Floats:
    """The least that touching costs come to where heights are off and the level is balanced."""
    slope = touching.slope
    level = slope.sum(axis=1)
    less = np.abs(np.einsum("kpn,pn->kp", change.linear, slope)).sum(axis=0)
    less += (np.abs(slope) * off.rest).sum(axis=1)
    less += np.maximum(level, 0) * change.up[:, 0] + np.maximum(-level, 0) * change.down[:, 0]
    return np.asarray(touching.cost - less)


def _below_high(touching: _Touching, off: Off, change: _Change) -> Floats:
    """The same where the top is reckoned from the highest sample.

    Where it costs to raise the top, it lies no lower than any mean of samples: the mean is mixed
    so that the bound is highest. Where that saves, each sample is tried as the highest.
    """
    del change
    slope, linear, rest = touching.slope, off.linear, off.rest
    below = off.height - (off.height - rest).max(axis=1, keepdims=True)
    below = below - touching.raised[:, None]
    raising = -slope.sum(axis=1)
    by_move = np.einsum("kpn,pn->kp", linear, slope)
    least = touching.cost - (np.abs(slope) * rest).sum(axis=1)

    saves = np.flatnonzero(raising < 0)
    up = raising[saves, None]
    moved = np.abs(by_move[:, saves, None] + up * linear[:, saves]).sum(axis=0)
    least[saves] += (up * (below[saves] + rest[saves]) - moved).min(axis=1)

    costs = np.flatnonzero(raising >= 0)
    up, by_move, linear = raising[costs], by_move[:, costs], linear[:, costs]
    below = below[costs] - rest[costs]
    row, at = np.arange(len(costs)), below.argmax(axis=1)
    mean, mixed = below[row, at], linear[:, row, at]
    found = up * mean - np.abs(by_move + up * mixed).sum(axis=0)
    for _ in range(TOPS):
        way = np.sign(by_move + up * mixed)
        at = (below - np.einsum("kp,kpn->pn", way, linear)).argmax(axis=1)
        # Best at one end, or where some move makes no difference.
        step = linear[:, row, at] - mixed
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(up * step != 0, -(by_move / up + mixed) / step, 0.0)
        share = np.clip(np.nan_to_num(share), 0.0, 1.0)
        share = np.vstack([np.zeros(len(costs)), share, np.ones(len(costs))])
        means = mean + share * (below[row, at] - mean)
        mixes = mixed[:, None] + share * step[:, None]
        tries = up * means - np.abs(by_move[:, None] + up * mixes).sum(axis=0)
        best = tries.argmax(axis=0)
        found, mean, mixed = tries[best, row], means[best, row], mixes[:, best, row]
    least[costs] += found
    return np.asarray(least, dtype=np.float64)


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
    return np.asarray(np.min([earth_cost(c, f, cost) for c, f in candidates], axis=0))
