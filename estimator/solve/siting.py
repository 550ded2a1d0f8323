"""Where on the lot the building stands: the place and turn that cost least in earth and timber.

Every place on a fine lattice is priced, at every turn. For one turn the lattice is laid along the
footprint, so neighbouring places share their ground samples and a turn costs one look at the
ground. The best places are then refined off the lattice.

What the search may have missed is stated: between lattice places no sample of the ground moves
farther than a known distance, so no height changes by more than that times the slope of the ground.
Pricing every lattice place with all heights at their kindest within that gives a bound below every
place there is; where it lies below the best, the lattice is made finer (``siting_bound``). Lengths
and heights in feet, costs in the money of the rates.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from estimator.errors import InputError, SolveError
from estimator.solve.siting_bound import Cells, Slopes, divide, local_slack_ft, slopes
from estimator.solve.siting_places import Floats, Footprint, Place, SitingCost, SitingResult, Yard
from estimator.solve.siting_price import Priced, Sampling, price, sample_points, sampled
from estimator.solve.siting_room import ON_LINE_FT, Bools, allowed, clearances
from estimator.solve.surface import Ground

FINEST_MOVE_FT = 0.05
FINEST_STEP_FT = 1.0
"""Step of the lattice at least: finer places are found by halving and refining."""
REFINING_STEPS = 40
AIM_SHARE, AIM_COST = 0.01, 10.0
"""Share of the best cost, and money, within either of which no cheaper place is asked for."""
DIVIDED_MOST = 250_000
"""Places priced at most to tighten the bound."""
CHUNK_SAMPLES = 100_000  # keeps the temporaries of pricing in the cache


def _heights(ground: Ground, points: Floats, hold: bool, slope: Floats) -> Floats:
    """Ground heights; with ``hold``, places beyond the readings go on from the nearest edge.

    They go on by ``slope`` (2,), the one that all of the ground has in common. Only the bound
    looks at such places then, and this keeps it true: moving to the nearest edge never moves two
    places farther apart.
    """
    height, guessed = ground.at(points)
    if not hold or not guessed.any():
        return height
    outer = points[guessed] - ground.centre_ft
    outline, rim = ground.vertices_ft[ground.hull], ground.vertex_heights_ft[ground.hull]
    best = np.full(len(outer), np.inf)
    value = np.zeros(len(outer))
    gap = np.zeros_like(outer)
    for i in range(len(outline)):
        a, b = outline[i - 1], outline[i]
        t = np.clip(((outer - a) @ (b - a)) / ((b - a) @ (b - a)), 0, 1)
        away = outer - a - t[:, None] * (b - a)
        square = (away * away).sum(axis=1)
        nearer = square < best
        best[nearer] = square[nearer]
        value[nearer] = (rim[i - 1] + t * (rim[i] - rim[i - 1]))[nearer]
        gap[nearer] = away[nearer]
    height[guessed] = value + gap @ slope
    return height


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
        return price(height.reshape(len(places), -1), self.sampling, self.cost, 0.0)

    def room(self, places: Floats) -> Floats:
        """Room to spare (p, 3) by kind of rule."""
        return clearances(self.ground, self.footprint, self.yard, places)

    def bounded(self, places: Floats, half: Floats, ground: Slopes) -> tuple[Floats, Floats, Bools]:
        """Cost, least cost and whether anything is allowed, of places and the cells round them."""
        move, swing = _reach(self.footprint, half)
        every_room = self.room(places)
        room = every_room.min(axis=1)
        thin = min(self.footprint.length_ft, self.footprint.width_ft) / 2 <= move + swing
        possible = (room >= -(move + swing) - ON_LINE_FT) | (thin & np.isneginf(room))
        cost, lower = np.full(len(places), np.inf), np.full(len(places), np.inf)
        if possible.any():
            priced = self._bounds(
                places[possible], move[possible], swing[possible], every_room[possible, 2], ground
            )
            lower[possible] = priced.lower
            cost[possible] = np.where(room[possible] >= -ON_LINE_FT, priced.cost, np.inf)
        return cost, lower, possible

    def _bounds(
        self, places: Floats, move: Floats, swing: Floats, inner_room: Floats, ground: Slopes
    ) -> Priced:
        """Prices of places (p, 3), with bounds below those that ``move`` and ``swing`` reach."""
        hold = not self.yard.allow_guessed
        height = _heights(self.ground, sample_points(self.sampling, places), hold, ground.common)
        height = height.reshape(len(places), -1)
        slack = ground.slack_ft(move, swing)
        if hold:
            # Where nothing within reach lies beyond the readings, only slopes within reach count.
            inside = inner_room >= move + swing
            size = self.footprint.length_ft, self.footprint.width_ft
            near = local_slack_ft(self.ground, size, places[inside], move[inside], swing[inside])
            slack[inside] = np.minimum(slack[inside], near)
        return price(height, self.sampling, self.cost, slack)

    def allows(self, places: Floats) -> Bools:
        """Which places are allowed."""
        return allowed(self.ground, self.footprint, self.yard, places)


def _reach(footprint: Footprint, half: Floats) -> tuple[Floats, Floats]:
    """How far places within ``half`` (n, 3) of a place move its samples, and turn them besides."""
    swing = 2 * footprint.half_diagonal_ft * np.sin(np.deg2rad(half[:, 2]) / 2)
    return np.hypot(half[:, 0], half[:, 1]), swing


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
    return price(height, sampling, cost, 0.0).cost


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
        step_ft: Lattice step, at most; no finer than ``FINEST_STEP_FT``.
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
    step_ft = max(step_ft, FINEST_STEP_FT)
    count = 1 if fixed_deg is not None else int(np.ceil(round(180 / turn_deg, 9)))
    turns = [fixed_deg] if fixed_deg is not None else [180 / count * i for i in range(count)]
    half_turn_deg = 0.0 if fixed_deg is not None else 90 / count
    spacing = np.array([footprint.length_ft, footprint.width_ft]) / problem.sampling.counts
    every = np.maximum(1, np.ceil(np.round(spacing / step_ft, 9))).astype(int)
    stride = np.maximum(1, np.floor(np.round(step_ft / spacing, 9))).astype(int)
    step = spacing / every * stride
    # The farthest that any sample lies from its fellow at the nearest lattice place.
    half = np.array([*step / 2, half_turn_deg])
    across, swing = (float(each[0]) for each in _reach(footprint, half[None]))
    move = across + swing
    steep = slopes(ground, beyond=yard.allow_guessed)
    slack = float(steep.slack_ft(across, swing))
    places, costs = [np.empty((0, 3))], [np.empty(0)]
    cells, lower = [np.empty((0, 3))], [np.empty(0)]
    tried = 0
    for turn in turns:
        lattice, windows = _lattice(problem, turn, every, stride, step / stride, move, steep)
        room = problem.room(lattice).min(axis=1)
        if min(footprint.length_ft, footprint.width_ft) / 2 <= move:
            near = np.flatnonzero((room >= -move - ON_LINE_FT) | np.isneginf(room))
        else:
            near = np.flatnonzero(room >= -move - ON_LINE_FT)
        if not len(near):
            continue
        value = np.empty(len(near))
        chunk = max(1, CHUNK_SAMPLES // problem.sampling.area_ft2.size)
        for first in range(0, len(near), chunk):
            some = slice(first, first + chunk)
            rows, columns = np.unravel_index(near[some], windows.shape[:2])
            height = windows[rows, columns].reshape(len(rows), -1)
            priced = price(height, problem.sampling, cost, slack)
            lower.append(priced.lower)
            value[some] = priced.cost
        tried += len(near)
        cells.append(lattice[near])
        fits = room[near] >= -ON_LINE_FT
        places.append(lattice[near[fits]])
        costs.append(value[fits])

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
    lattice = np.vstack(cells)
    cheapest = fitting[[int(np.argmin(value))]]
    met, least = _refined(problem, cheapest, step, half_turn_deg)
    bound, cheaper, divided = divide(
        Cells(lattice, np.broadcast_to(half, lattice.shape), lattice[:, 2], np.concatenate(lower)),
        float(least[0]),
        lambda at, within: problem.bounded(at, within, steep),
        arm_ft=footprint.half_diagonal_ft,
        aim=max(AIM_SHARE * float(least[0]), AIM_COST),
        most=DIVIDED_MOST,
    )
    met = np.vstack([met, cheaper])
    fitting = np.vstack([fitting, met])
    value = np.concatenate([value, problem.priced(met).cost])
    found = _best(problem, fitting, value, step, half_turn_deg, keep)
    tried += divided
    described = tuple(_described(problem, found, today))
    tolerance = max(0.0, described[0].cost - bound)
    return SitingResult(described, today, refused, tolerance, tried)


def _lattice(
    problem: _Problem,
    turn: float,
    every: NDArray[np.int_],
    stride: NDArray[np.int_],
    step: Floats,
    margin: float,
    steep: Slopes,
) -> tuple[Floats, Floats]:
    """Lattice places (p, 3) of one turn, and a view of their ground samples (pu, pv, nu, nv).

    Nodes stand ``step`` apart; samples are every ``every``-th node, places every ``stride``-th.
    """
    cos, sin = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
    axes = np.array([[cos, sin], [-sin, cos]])
    corners = np.asarray(problem.yard.boundary, dtype=np.float64) @ axes.T
    pad = np.ceil(margin / step).astype(int) + stride
    low = corners.min(axis=0) - pad * step
    window = every * np.array(problem.sampling.counts)
    count = np.maximum(np.ceil(np.ptp(corners, axis=0) / step).astype(int), window) + 1 + 2 * pad
    u = low[0] + step[0] * np.arange(count[0])
    v = low[1] + step[1] * np.arange(count[1])
    nodes = np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2) @ axes
    height = _heights(problem.ground, nodes, not problem.yard.allow_guessed, steep.common)
    height = height.reshape(len(u), len(v))
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
    starts: list[int] = []
    free = np.ones(len(places), dtype=np.bool_)
    for i in np.argsort(costs, kind="stable"):
        if len(starts) == 2 * keep:  # some come to the same place when they are refined
            break
        if free[i]:
            starts.append(int(i))
            free &= _different(places, places[i], apart)
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
    farthest = float(step.max()) / 2
    ways *= [farthest, farthest, half_turn_deg]
    found = places.copy()
    value = problem.priced(found).cost
    scale = np.ones(len(found))
    for _ in range(REFINING_STEPS):
        going = np.flatnonzero(scale * farthest >= FINEST_MOVE_FT / 2)
        if not len(going):
            break
        tries = found[going, None] + scale[going, None, None] * ways
        flat = tries.reshape(-1, 3)
        each = np.full(len(flat), np.inf)
        fits = problem.allows(flat)
        if fits.any():
            each[fits] = problem.priced(flat[fits]).cost
        costs = each.reshape(len(going), len(ways))
        at = costs.argmin(axis=1)
        least = costs[np.arange(len(going)), at]
        saves = least < value[going] - 1e-9
        better = going[saves]
        found[better] = tries[saves, at[saves]]
        value[better] = least[saves]
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
