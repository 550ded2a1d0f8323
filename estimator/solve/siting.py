"""Where on the lot the building stands: the place and turn that cost least in earth and timber.

Every place on a fine lattice is priced, at every turn. For one turn the lattice is laid along the
footprint, so neighbouring places share their ground samples and a turn costs one look at the
ground. The best places are then refined off the lattice.

What the search may have missed is stated: cells that cover all places there are, each priced
with all heights at their kindest within it, give a bound below every place; where it lies below
the best, cells are divided (``siting_bound``, ``siting_slack``). Lengths and heights in feet, costs
in the money of the rates.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from estimator.errors import InputError, SolveError
from estimator.solve.siting_bound import Bounds, Cells, divide
from estimator.solve.siting_least import least_costs
from estimator.solve.siting_places import Floats, Footprint, Place, SitingCost, SitingResult, Yard
from estimator.solve.siting_price import Priced, Sampling, price, sample_points, sampled
from estimator.solve.siting_room import ON_LINE_FT, Bools, allowed, clearances
from estimator.solve.siting_slack import Slopes, near, slopes
from estimator.solve.surface import Ground

FINEST_MOVE_FT = 0.05
FINEST_STEP_FT, LATTICE_MOST = 1.0, 300_000
"""Step of the lattice at least, and about how many places it has at most: finer places are found by
halving and refining."""
REFINING_STEPS = 40
STARTS = 60
"""Places from which the search goes down to cheaper ones before it asks what it may have missed."""
AIMS = (5_000_000, 0.002, 2.0), (10_000_000, 0.01, 10.0)
"""Until so many heights are looked at, the share of the best cost, and money, within either of
which no cheaper place is asked for. After the last the search ends, and states what is open."""
CELL_FT, CELL_DEG, CELLS_MOST = 4.0, 15.0, 25
"""Size of the cells that the bound begins with, and how many there are at most along a lot."""
CHUNK_SAMPLES = 100_000  # keeps the temporaries of pricing in the cache


@dataclass(frozen=True, slots=True, eq=False)
class _Problem:
    """All that prices and allows a place."""

    ground: Ground
    footprint: Footprint
    yard: Yard
    cost: SitingCost
    sampling: Sampling

    def priced(self, places: Floats) -> Priced:
        """Price places (p, 3) anywhere."""
        height = self.ground.at(sample_points(self.sampling, places))[0]
        return price(height.reshape(len(places), -1), self.sampling, self.cost)

    def room(self, places: Floats) -> Floats:
        """Room to spare (p, 3) by kind of rule."""
        return clearances(self.ground, self.footprint, self.yard, places)

    def bounded(self, cells: Cells, ground: Slopes) -> Bounds:
        """What is known of cells: costs, least costs and whether anything is allowed there."""
        move, swing = _reach(self.footprint, cells.half)
        room = self.room(cells.places).min(axis=1)
        thin = min(self.footprint.length_ft, self.footprint.width_ft) / 2 <= move + swing
        possible = (room >= -(move + swing) - ON_LINE_FT) | (thin & np.isneginf(room))
        cost, lower = np.full(len(room), np.inf), np.full(len(room), np.inf)
        share = _shares(self.footprint, cells.half)
        some = np.flatnonzero(possible)
        found = near(self.ground, ground, self.sampling, cells.part(some))
        share[some] = found.share
        np.minimum.at(lower, some[found.cell], least_costs(found.off, self.sampling, self.cost))
        possible &= np.isfinite(lower)
        cost[some] = price(found.height, self.sampling, self.cost).cost
        cost[room < -ON_LINE_FT] = np.inf
        return Bounds(cost, lower, possible, share, len(found.cell))

    def allows(self, places: Floats) -> Bools:
        """Which places are allowed."""
        return allowed(self.ground, self.footprint, self.yard, places)


def _reach(footprint: Footprint, half: Floats) -> tuple[Floats, Floats]:
    """How far places within ``half`` (n, 3) of a place move its samples, and turn them besides."""
    swing = 2 * footprint.half_diagonal_ft * np.sin(np.deg2rad(half[:, 2]) / 2)
    return np.hypot(half[:, 0], half[:, 1]), swing


def _shares(footprint: Footprint, half: Floats) -> Floats:
    """How far moves and turn carry samples."""
    return np.asarray(half * [1, 1, np.deg2rad(footprint.half_diagonal_ft)], dtype=np.float64)


def price_places(
    ground: Ground,
    footprint: Footprint,
    cost: SitingCost,
    places: Floats,
    *,
    sample_ft: float = 2.0,
) -> Floats:
    """Cost (p,) of places (p, 3: centre x, centre y, turn in degrees).

    The ground is sampled on the footprint's own grid, at most ``sample_ft`` apart, by the
    trapezoid rule; the search prices by exactly this.
    """
    sampling = sampled(footprint, sample_ft)
    height = ground.at(sample_points(sampling, places))[0].reshape(len(places), -1)
    return price(height, sampling, cost).cost


def search(
    ground: Ground,
    footprint: Footprint,
    yard: Yard,
    cost: SitingCost,
    step_ft: float = 0.5,
    turn_deg: float = 5.0,
    fixed_deg: float | None = None,
    now: tuple[float, float, float] | None = None,
    *,
    sample_ft: float = 2.0,
    keep: int = 5,
) -> SitingResult:
    """Find the cheapest places for a footprint in a yard.

    Args:
        ground: The surveyed surface.
        footprint: Outer size of the pad.
        yard: Boundary, setbacks and keep-outs.
        cost: Rates and rules.
        step_ft: Lattice step, at most; no finer than ``FINEST_STEP_FT``, and coarser on a lot on
            which it would make more than about ``LATTICE_MOST`` places.
        turn_deg: Step of turns, at most; a half turn is the same place.
        fixed_deg: The one turn to consider, if the orientation is fixed.
        now: Centre x, centre y and turn of where it is staked today.
        sample_ft: Spacing of ground samples, at most.
        keep: How many clearly different places to give: centres at least half the footprint's
            width (4 ft or more) apart, or turned by 30 degrees or more.

    Raises:
        InputError: A step that is not positive.
        SolveError: No allowed place.
    """
    if not (step_ft > 0 and turn_deg > 0 and sample_ft > 0 and keep > 0):
        raise InputError("steps of siting and the number of places must be above zero")
    problem = _Problem(ground, footprint, yard, cost, sampled(footprint, sample_ft))
    count = 1 if fixed_deg is not None else int(np.ceil(round(180 / turn_deg, 9)))
    lot_ft2 = float(np.ptp(np.asarray(yard.boundary, dtype=np.float64), axis=0).prod())
    step_ft = max(step_ft, FINEST_STEP_FT, float(np.sqrt(lot_ft2 * count / LATTICE_MOST)))
    turns = [fixed_deg] if fixed_deg is not None else [180 / count * i for i in range(count)]
    half_turn_deg = 0.0 if fixed_deg is not None else 90 / count
    spacing = np.array([footprint.length_ft, footprint.width_ft]) / problem.sampling.counts
    every = np.maximum(1, np.ceil(np.round(spacing / step_ft, 9))).astype(int)
    stride = np.maximum(1, np.floor(np.round(step_ft / spacing, 9))).astype(int)
    step = spacing / every * stride
    steep = slopes(ground, beyond=yard.allow_guessed)
    places, costs = [np.empty((0, 3))], [np.empty(0)]
    tried = 0
    for turn in turns:
        lattice, windows = _lattice(problem, turn, every, stride, step / stride)
        fits = np.flatnonzero(problem.room(lattice).min(axis=1) >= -ON_LINE_FT)
        value = np.empty(len(fits))
        chunk = max(1, CHUNK_SAMPLES // problem.sampling.area_ft2.size)
        for first in range(0, len(fits), chunk):
            some = slice(first, first + chunk)
            rows, columns = np.unravel_index(fits[some], windows.shape[:2])
            height = windows[rows, columns].reshape(len(rows), -1)
            value[some] = price(height, problem.sampling, cost).cost
        tried += len(fits)
        places.append(lattice[fits])
        costs.append(value)

    today, refused = None, ""
    if now is not None:
        where = np.array([now], dtype=np.float64)
        today = _described(problem, where, None)[0]
        why = ("too near the boundary", "in a keep-out area", "reaches beyond the readings")
        room = problem.room(where)[0]
        refused = "; ".join(w for w, r in zip(why, room, strict=True) if r < -ON_LINE_FT)
        if not refused and fixed_deg is not None and _between_turns(now[2], fixed_deg) > 1e-9:
            refused = "not at the fixed orientation"
        if not refused:
            places.append(where)
            costs.append(np.array([today.cost]))
    fitting, value = np.vstack(places), np.concatenate(costs)
    if not len(fitting):
        raise SolveError(
            f"a footprint of {{{footprint.length_ft:g} ft}} x {{{footprint.width_ft:g} ft}} has no"
            " allowed place",
            cure="Ease a setback or keep-out, free the orientation, or survey a wider area.",
        )
    starts = _cheapest(fitting, value, STARTS, float(step.max()))
    met, costs_met = _refined(problem, fitting[starts], step, half_turn_deg)
    least = float(costs_met.min())
    bound, cheaper, divided = divide(
        _all_places(problem, fixed_deg),
        least,
        lambda some: problem.bounded(some, steep),
        [
            (most // problem.sampling.area_ft2.size, max(share * least, money))
            for most, share, money in AIMS
        ],
    )
    met = np.vstack([met, cheaper])
    fitting = np.vstack([fitting, met])
    value = np.concatenate([value, problem.priced(met).cost])
    found = _best(problem, fitting, value, step, half_turn_deg, keep)
    tried += divided
    described = tuple(_described(problem, found, today))
    tolerance = max(0.0, described[0].cost - bound)
    return SitingResult(described, today, refused, tolerance, tried)


def _all_places(problem: _Problem, fixed_deg: float | None) -> Cells:
    """Cells that cover all places in the yard."""
    corners = np.asarray(problem.yard.boundary, dtype=np.float64)
    low, size = corners.min(axis=0), np.ptp(corners, axis=0)
    count = np.clip(np.ceil(size / CELL_FT), 1, CELLS_MOST).astype(int)
    turns = np.arange(0, 180, CELL_DEG) if fixed_deg is None else np.array([fixed_deg])
    x, y = (low[i] + size[i] / count[i] * (np.arange(count[i]) + 0.5) for i in (0, 1))
    places = np.stack(np.meshgrid(x, y, turns, indexing="ij"), axis=-1).reshape(-1, 3)
    half = np.array([*(size / count / 2), 0.0 if fixed_deg is not None else CELL_DEG / 2])
    every = np.broadcast_to(half, places.shape)
    return Cells(places, every, np.zeros(len(places)), _shares(problem.footprint, every))


def _lattice(
    problem: _Problem,
    turn: float,
    every: NDArray[np.int_],
    stride: NDArray[np.int_],
    step: Floats,
) -> tuple[Floats, Floats]:
    """Lattice places (p, 3) of one turn, and a view of their ground samples (pu, pv, nu, nv).

    Nodes stand ``step`` apart; samples are every ``every``-th node, places every ``stride``-th.
    """
    cos, sin = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
    axes = np.array([[cos, sin], [-sin, cos]])
    corners = np.asarray(problem.yard.boundary, dtype=np.float64) @ axes.T
    low = corners.min(axis=0)
    window = every * np.array(problem.sampling.counts)
    count = np.maximum(np.ceil(np.ptp(corners, axis=0) / step).astype(int), window) + 1
    u = low[0] + step[0] * np.arange(count[0])
    v = low[1] + step[1] * np.arange(count[1])
    nodes = np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2) @ axes
    height = problem.ground.at(nodes)[0].reshape(len(u), len(v))
    windows = sliding_window_view(height, tuple(window + 1))[
        :: stride[0], :: stride[1], :: every[0], :: every[1]
    ]
    cu = u[:: stride[0]][: windows.shape[0]] + problem.footprint.length_ft / 2
    cv = v[:: stride[1]][: windows.shape[1]] + problem.footprint.width_ft / 2
    centres = np.stack(np.meshgrid(cu, cv, indexing="ij"), axis=-1).reshape(-1, 2) @ axes
    return np.column_stack([centres, np.full(len(centres), turn)]), windows


def _best(
    problem: _Problem,
    places: Floats,
    costs: Floats,
    step: Floats,
    half_turn_deg: float,
    keep: int,
) -> Floats:
    """The cheapest clearly different places, each refined where that leaves it different."""
    apart = _apart_ft(problem.footprint.width_ft, float(step.max()))
    # Some come to the same place when they are refined.
    starts = _cheapest(places, costs, 2 * keep, apart)
    refined, _ = _refined(problem, places[starts], step, half_turn_deg)
    chosen: list[Floats] = []
    for start, better in zip(places[starts], refined, strict=True):
        if len(chosen) == keep:
            break
        for place in (better, start):
            if all(_different(place[None], other, apart).all() for other in chosen):
                chosen.append(place)
                break
    found: Floats = np.array(chosen)
    return found[np.argsort(problem.priced(found).cost, kind="stable")]


def _cheapest(places: Floats, costs: Floats, count: int, apart_ft: float) -> list[int]:
    """Numbers of the cheapest of places (p, 3), so far apart or turned."""
    starts: list[int] = []
    free = np.ones(len(places), dtype=np.bool_)
    for i in np.argsort(costs, kind="stable"):
        if len(starts) == count:
            break
        if free[i]:
            starts.append(int(i))
            free &= _different(places, places[i], apart_ft)
    return starts


def _apart_ft(width_ft: float, step_ft: float) -> float:
    return max(4.0, width_ft / 2, step_ft)


def clearly_different(place: Floats, others: Floats, width_ft: float, step_ft: float) -> bool:
    """Whether a place (3,) is another than each of these (n, 3): apart, or turned."""
    return bool(_different(others, place, _apart_ft(width_ft, step_ft)).all())


def _between_turns(a: float, b: float) -> float:
    return abs((a - b + 90) % 180 - 90)


def _different(places: Floats, other: Floats, apart_ft: float) -> Bools:
    away = np.hypot(places[:, 0] - other[0], places[:, 1] - other[1]) >= apart_ft
    turned = np.abs((places[:, 2] - other[2] + 90) % 180 - 90) >= 30
    return np.asarray(away | turned)


def _refined(
    problem: _Problem, places: Floats, step: Floats, half_turn_deg: float
) -> tuple[Floats, Floats]:
    """Compass search from places (p, 3): ever smaller moves and turns while any of them saves.

    Returns:
        The places (p, 3) where it ends, and their costs (p,).
    """
    turns = (-1, 0, 1) if half_turn_deg else (0,)
    ways = np.array(
        [[i, j, k] for i in (-1, 0, 1) for j in (-1, 0, 1) for k in turns if i or j or k],
        dtype=np.float64,
    )
    # One way on, most places lie round the one before, too, and are known not to save.
    fresh = np.ones((len(ways) + 1, len(ways)), dtype=np.bool_)
    fresh[:-1] = (np.abs(ways[:, None] + ways) > 1).any(axis=2)
    farthest = float(step.max()) / 2
    ways *= [farthest, farthest, half_turn_deg]
    found = places.copy()
    value = problem.priced(found).cost
    scale, came = np.ones(len(found)), np.full(len(found), -1)
    for _ in range(REFINING_STEPS):
        going = np.flatnonzero(scale * farthest >= FINEST_MOVE_FT / 2)
        if not len(going):
            break
        tries = found[going, None] + scale[going, None, None] * ways
        costs = np.full(tries.shape[:2], np.inf)
        tried = fresh[came[going]]
        tried[tried] = problem.allows(tries[tried])
        if tried.any():
            costs[tried] = problem.priced(tries[tried]).cost
        at = costs.argmin(axis=1)
        least = costs[np.arange(len(going)), at]
        saves = least < value[going] - 1e-9
        better = going[saves]
        found[better] = tries[saves, at[saves]]
        value[better] = least[saves]
        came[going] = np.where(saves, at, -1)
        scale[going[~saves]] /= 2
    return found, value


def _described(problem: _Problem, places: Floats, now: Place | None) -> list[Place]:
    priced = problem.priced(places)
    guessed = problem.ground.at(sample_points(problem.sampling, places))[1]
    beyond = [bool(row.any()) for row in guessed.reshape(len(places), -1)]
    return [
        Place(
            x_ft=float(x),
            y_ft=float(y),
            turn_deg=float(turn % 180),
            cost=float(priced.cost[i]),
            saving=now.cost - float(priced.cost[i]) if now else 0.0,
            top_ft=float(priced.top[i]),
            subgrade_ft=float(priced.subgrade[i]),
            cut_bank_yd3=float(priced.cut_yd3[i]),
            fill_compacted_yd3=float(priced.fill_yd3[i]),
            timber_ft=float(priced.timber_ft[i]),
            most_courses=int(priced.courses[i]),
            guessed=beyond[i],
        )
        for i, (x, y, turn) in enumerate(places)
    ]
