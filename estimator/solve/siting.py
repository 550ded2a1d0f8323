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

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from estimator.errors import InputError, SolveError
from estimator.solve.siting_bound import Cells, Slopes, divide, local_slack_ft, slopes
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Corner = tuple[float, float]

FT3_PER_YD3 = 27.0
ON_LINE_FT = 1e-9
FINEST_MOVE_FT = 0.05
REFINING_STEPS = 40
AIM_SHARE = 0.005
"""Share of the best cost within which the search stops asking for a cheaper place."""
DIVIDED_MOST = 6_000
"""Places priced at most to tighten the bound."""
CHUNK_SAMPLES = 100_000  # keeps the temporaries of pricing in the cache


@dataclass(frozen=True, slots=True)
class Footprint:
    """Outer size of the pad; ``length_ft`` lies along the turn of a place."""

    length_ft: float
    width_ft: float

    def __post_init__(self) -> None:
        if not (self.length_ft > 0 and self.width_ft > 0):
            raise InputError("the footprint needs a length and a width above zero")

    @property
    def half_diagonal_ft(self) -> float:
        """From the centre to a corner."""
        return float(np.hypot(self.length_ft, self.width_ft) / 2)


@dataclass(frozen=True, slots=True)
class Yard:
    """Where the footprint may stand.

    Attributes:
        boundary: Corners of the property in order.
        setbacks_ft: Distance to keep from each side of the boundary (side i goes from corner i to
            corner i + 1), or one distance for all.
        keep_outs: Polygons that the footprint must not touch.
        keep_out_clearance_ft: Distance to keep from them.
        allow_guessed: Whether the footprint may reach beyond the readings, where the ground is
            only guessed from the fitted plane.
    """

    boundary: tuple[Corner, ...]
    setbacks_ft: float | tuple[float, ...] = 0.0
    keep_outs: tuple[tuple[Corner, ...], ...] = ()
    keep_out_clearance_ft: float = 0.0
    allow_guessed: bool = False

    def __post_init__(self) -> None:
        for name, polygon in [("the boundary", self.boundary)] + [
            (f"keep-out {i + 1}", p) for i, p in enumerate(self.keep_outs)
        ]:
            if len(polygon) < 3 or not np.isfinite(polygon).all():
                raise InputError(f"{name} needs at least three corners, each with two lengths")
        if isinstance(self.setbacks_ft, tuple) and len(self.setbacks_ft) != len(self.boundary):
            raise InputError(
                f"there are {len(self.setbacks_ft)} setbacks for {len(self.boundary)} sides",
                cure="Give one for each side of the boundary, or one for all.",
            )
        if min(self.side_setbacks_ft) < 0 or self.keep_out_clearance_ft < 0:
            raise InputError("setbacks and clearances can't be negative")

    @property
    def side_setbacks_ft(self) -> tuple[float, ...]:
        """One setback for each side."""
        if isinstance(self.setbacks_ft, tuple):
            return self.setbacks_ft
        return (self.setbacks_ft,) * len(self.boundary)


@dataclass(frozen=True, slots=True)
class SitingCost:
    """Rates and rules by which a place is priced.

    Attributes:
        cut_per_yd3: Digging and moving, for each bank yard.
        fill_per_yd3: Placing and tamping soil, for each compacted yard.
        import_per_yd3: Buying fill that the cut does not give, for each compacted yard.
        export_per_yd3: Hauling away what is over, for each bank yard.
        stone_per_yd3: Stone in place; it fills the pad depth, and all below it if
            ``fill_with_stone``.
        timber_per_ft: One foot of one course, timber, pins and trench.
        timber_depth_ft: Depth of a course.
        pad_depth_ft: From the top of the pad down to the subgrade.
        above_high_ft: How far the top stands above the highest ground on the outline (``high``).
        least_embedment_ft: Least depth of the lowest course's bottom below the ground.
        compacted_per_bank: Compacted volume that one bank volume gives.
        mode: Top reckoned from the high ground, or from balanced cut and fill.
        fill_with_stone: Stone, not tamped soil, fills below the pad; then all cut goes away.
        framed: Whether there is a timber frame at all.
    """

    cut_per_yd3: float
    fill_per_yd3: float
    import_per_yd3: float
    export_per_yd3: float
    stone_per_yd3: float
    timber_per_ft: float
    timber_depth_ft: float
    pad_depth_ft: float
    above_high_ft: float = 0.0
    least_embedment_ft: float = 0.0
    compacted_per_bank: float = 0.9
    mode: Literal["high", "balanced"] = "high"
    fill_with_stone: bool = False
    framed: bool = True

    def __post_init__(self) -> None:
        rates = (
            self.cut_per_yd3,
            self.fill_per_yd3,
            self.import_per_yd3,
            self.export_per_yd3,
            self.stone_per_yd3,
            self.timber_per_ft,
        )
        if min(rates) < 0:
            raise InputError("rates for earth, stone and timber can't be negative")
        if not (self.timber_depth_ft > 0 and self.compacted_per_bank > 0):
            raise InputError("timber depth and compacted per bank must be above zero")


@dataclass(frozen=True, slots=True)
class Place:
    """One priced place; ``x_ft`` and ``y_ft`` are the footprint's centre.

    ``saving`` is against where the building is staked now, 0 if it is not staked.
    ``timber_ft`` is the length of all courses together.
    """

    x_ft: float
    y_ft: float
    turn_deg: float
    cost: float
    saving: float
    top_ft: float
    subgrade_ft: float
    cut_bank_yd3: float
    fill_compacted_yd3: float
    timber_ft: float
    most_courses: int
    guessed: bool


@dataclass(frozen=True, slots=True)
class SitingResult:
    """What the search found.

    Attributes:
        places: Up to five clearly different places, the cheapest first.
        now: Where it is staked today, priced; None if not given.
        now_refused: Why today's place is not allowed; empty if it is. The best place is never
            worse than today's if today's is allowed.
        tolerance: No allowed place, on the lattice or off it, is cheaper than the best by more.
        tried: Places priced, on the lattice and between.
    """

    places: tuple[Place, ...]
    now: Place | None
    now_refused: str
    tolerance: float
    tried: int


@dataclass(frozen=True, slots=True, eq=False)
class _Sampling:
    """Ground samples of a footprint, on its own axes, with trapezoid weights."""

    counts: tuple[int, int]
    offsets: Floats
    area_ft2: Floats
    outline_ft: Floats
    on_outline: NDArray[np.intp]


def _sampling(footprint: Footprint, sample_ft: float) -> _Sampling:
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
    return _Sampling(
        counts=(counts[0], counts[1]),
        offsets=np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2),
        area_ft2=np.outer(wu, wv).ravel(),
        outline_ft=outline[keep],
        on_outline=keep,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Priced:
    cost: Floats
    lower: Floats
    top: Floats
    subgrade: Floats
    cut_yd3: Floats
    fill_yd3: Floats
    timber_ft: Floats
    courses: Floats


def _price(
    height: Floats, sampling: _Sampling, cost: SitingCost, slack_ft: float | Floats
) -> _Priced:
    """Price places from their ground samples (p, n).

    ``lower`` is the least cost if every height may be wrong by ``slack_ft``, one for all or one
    a place (p,): the top and any one sample then approach each other by at most twice that.
    """
    outline = height[:, sampling.on_outline]
    if cost.mode == "high":
        top = outline.max(axis=1) + cost.above_high_ft
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
    return _Priced(total, lower, top, subgrade, cut, fill, timber, most)


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


def _turned(deg: Floats) -> tuple[Floats, Floats]:
    turn = np.deg2rad(deg)
    return np.cos(turn), np.sin(turn)


def _distance(places: Floats, footprint: Footprint, start: Corner, end: Corner) -> Floats:
    """Signed distance of footprints (p, 3: x, y, turn) from a segment; below 0 they overlap."""
    cos, sin = _turned(places[:, 2])
    half = footprint.length_ft / 2, footprint.width_ft / 2
    ends = []
    for corner in (start, end):
        dx, dy = corner[0] - places[:, 0], corner[1] - places[:, 1]
        ends.append((cos * dx + sin * dy, cos * dy - sin * dx))
    (px, py), (qx, qy) = ends
    ex, ey = qx - px, qy - py
    length = np.hypot(ex, ey)
    nx, ny = -ey / length, ex / length
    apart = np.maximum(
        np.maximum(np.minimum(px, qx) - half[0], -half[0] - np.maximum(px, qx)),
        np.maximum(np.minimum(py, qy) - half[1], -half[1] - np.maximum(py, qy)),
    )
    across = np.abs(nx * px + ny * py) - half[0] * np.abs(nx) - half[1] * np.abs(ny)
    apart = np.maximum(apart, across)
    true = np.full(len(places), np.inf)
    for x, y in ends:
        outside = np.maximum(np.abs(x) - half[0], 0), np.maximum(np.abs(y) - half[1], 0)
        true = np.minimum(true, np.hypot(*outside))
    for cx in (-half[0], half[0]):
        for cy in (-half[1], half[1]):
            t = np.clip(((cx - px) * ex + (cy - py) * ey) / length**2, 0, 1)
            true = np.minimum(true, np.hypot(px + t * ex - cx, py + t * ey - cy))
    return np.asarray(np.where(apart > 0, true, apart), dtype=np.float64)


def _within(x: Floats, y: Floats, polygon: Sequence[Corner]) -> Bools:
    inside = np.zeros(x.shape, dtype=np.bool_)
    for (x1, y1), (x2, y2) in _sides(polygon):
        if y1 != y2:
            crosses = ((y1 > y) != (y2 > y)) & (x < (x2 - x1) * (y - y1) / (y2 - y1) + x1)
            inside ^= crosses
    return inside


def _sides(polygon: Sequence[Corner]) -> list[tuple[Corner, Corner]]:
    pairs = [(polygon[i], polygon[(i + 1) % len(polygon)]) for i in range(len(polygon))]
    return [(a, b) for a, b in pairs if a != b]


def clearances(ground: Ground, footprint: Footprint, yard: Yard, places: Floats) -> Floats:
    """How much room is left at places (p, 3: x, y, turn) for each kind of rule.

    Returns:
        (p, 3) distances in ft to spare from setbacks, keep-outs and the edge of the readings
        (infinite where guessed ground is allowed). A place is allowed if none is below zero.
    """
    room = np.full((len(places), 3), np.inf)
    x, y = places[:, 0], places[:, 1]
    boundary = yard.boundary
    for i, setback in enumerate(yard.side_setbacks_ft):
        a, b = boundary[i], boundary[(i + 1) % len(boundary)]
        if a != b:
            room[:, 0] = np.minimum(room[:, 0], _distance(places, footprint, a, b) - setback)
    room[~_within(x, y, boundary), 0] = -np.inf
    for polygon in yard.keep_outs:
        for a, b in _sides(polygon):
            spare = _distance(places, footprint, a, b) - yard.keep_out_clearance_ft
            room[:, 1] = np.minimum(room[:, 1], spare)
        room[_within(x, y, polygon), 1] = -np.inf
    if not yard.allow_guessed:
        cos, sin = _turned(places[:, 2])
        outline = ground.vertices_ft[ground.hull] + ground.centre_ft
        for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            nx, ny = np.array([a[1] - b[1], b[0] - a[0]]) / np.hypot(*(b - a))
            reach = footprint.length_ft / 2 * np.abs(cos * nx + sin * ny)
            reach += footprint.width_ft / 2 * np.abs(cos * ny - sin * nx)
            room[:, 2] = np.minimum(room[:, 2], (x - a[0]) * nx + (y - a[1]) * ny - reach)
    return room


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
    sampling: _Sampling

    def priced(self, places: Floats) -> _Priced:
        """Price places (p, 3) anywhere."""
        height = self.ground.at(_sample_points(self.sampling, places))[0]
        return _price(height.reshape(len(places), -1), self.sampling, self.cost, 0.0)

    def room(self, places: Floats) -> Floats:
        """Room to spare (p, 3) by kind of rule."""
        return clearances(self.ground, self.footprint, self.yard, places)

    def bounded(self, places: Floats, half: Floats, ground: Slopes) -> tuple[Floats, Floats, Bools]:
        """Cost, least cost and whether anything is allowed, of places and the cells round them."""
        move, swing = _reach(self.footprint, half)
        hold = not self.yard.allow_guessed
        height = _heights(self.ground, _sample_points(self.sampling, places), hold, ground.common)
        height = height.reshape(len(places), -1)
        every_room = self.room(places)
        room = every_room.min(axis=1)
        slack = ground.slack_ft(move, swing)
        if hold:
            # Where nothing within reach lies beyond the readings, only slopes within reach count.
            inside = every_room[:, 2] >= move + swing
            size = self.footprint.length_ft, self.footprint.width_ft
            near = local_slack_ft(self.ground, size, places[inside], move[inside], swing[inside])
            slack[inside] = np.minimum(slack[inside], near)
        priced = _price(height, self.sampling, self.cost, slack)
        thin = min(self.footprint.length_ft, self.footprint.width_ft) / 2 <= move + swing
        possible = (room >= -(move + swing) - ON_LINE_FT) | (thin & np.isneginf(room))
        cost = np.where(room >= -ON_LINE_FT, priced.cost, np.inf)
        return cost, priced.lower, possible

    def allows(self, places: Floats) -> Bools:
        """Which places are allowed."""
        return np.asarray(self.room(places).min(axis=1) >= -ON_LINE_FT)


def _reach(footprint: Footprint, half: Floats) -> tuple[Floats, Floats]:
    """How far places within ``half`` (n, 3) of a place move its samples, and turn them besides."""
    swing = 2 * footprint.half_diagonal_ft * np.sin(np.deg2rad(half[:, 2]) / 2)
    return np.hypot(half[:, 0], half[:, 1]), swing


def _sample_points(sampling: _Sampling, places: Floats) -> Floats:
    cos, sin = _turned(places[:, 2])
    u, v = sampling.offsets.T
    x = places[:, :1] + cos[:, None] * u - sin[:, None] * v
    y = places[:, 1:2] + sin[:, None] * u + cos[:, None] * v
    return np.stack([x.ravel(), y.ravel()], axis=1)


def price_places(
    ground: Ground,
    footprint: Footprint,
    cost: SitingCost,
    places: Floats,
    *,
    sample_ft: float = 1.0,
) -> Floats:
    """Cost (p,) of places (p, 3: centre x, centre y, turn in degrees).

    The ground is sampled on the footprint's own grid, at most ``sample_ft`` apart, by the
    trapezoid rule; the search prices by exactly this.
    """
    sampling = _sampling(footprint, sample_ft)
    height = ground.at(_sample_points(sampling, places))[0].reshape(len(places), -1)
    return _price(height, sampling, cost, 0.0).cost


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
    sample_ft: float = 1.0,
    keep: int = 5,
) -> SitingResult:
    """Find the cheapest places for a footprint in a yard.

    Args:
        ground: The surveyed surface.
        footprint: Outer size of the pad.
        yard: Boundary, setbacks and keep-outs.
        cost: Rates and rules.
        step_ft: Lattice step, at most.
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
    problem = _Problem(ground, footprint, yard, cost, _sampling(footprint, sample_ft))
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
            priced = _price(height, problem.sampling, cost, slack)
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
    allowed, value = np.vstack(places), np.concatenate(costs)
    found = _best(problem, allowed, value, step, half_turn_deg, keep)
    best = float(problem.priced(found[:1]).cost[0])
    lattice = np.vstack(cells)
    bound, met, divided = divide(
        Cells(lattice, np.broadcast_to(half, lattice.shape), lattice[:, 2], np.concatenate(lower)),
        best,
        lambda at, within: problem.bounded(at, within, steep),
        arm_ft=footprint.half_diagonal_ft,
        aim=AIM_SHARE * best,
        most=DIVIDED_MOST,
    )
    if len(met):
        allowed, value = np.vstack([allowed, met]), np.append(value, problem.priced(met).cost)
        found = _best(problem, allowed, value, step, half_turn_deg, keep)
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
    """The cheapest clearly different places, each refined."""
    size = problem.footprint
    if not len(places):
        raise SolveError(
            f"a {size.length_ft:g} x {size.width_ft:g} ft footprint has no allowed place",
            cure="Ease a setback or keep-out, free the orientation, or survey a wider area.",
        )
    apart = max(4.0, size.width_ft / 2, float(step.max()))
    chosen: list[Floats] = []
    free = np.ones(len(places), dtype=np.bool_)
    for i in np.argsort(costs, kind="stable"):
        if len(chosen) == keep:
            break
        if not free[i]:
            continue
        free &= _different(places, places[i], apart)
        for place in (_refined(problem, places[i], step, half_turn_deg), places[i]):
            if all(_different(place[None], other, apart).all() for other in chosen):
                chosen.append(place)
                free &= _different(places, place, apart)
                break
    found: Floats = np.array(chosen)
    return found[np.argsort(problem.priced(found).cost, kind="stable")]


def _between_turns(a: float, b: float) -> float:
    return abs((a - b + 90) % 180 - 90)


def _different(places: Floats, other: Floats, apart_ft: float) -> Bools:
    away = np.hypot(places[:, 0] - other[0], places[:, 1] - other[1]) >= apart_ft
    turned = np.abs((places[:, 2] - other[2] + 90) % 180 - 90) >= 30
    return np.asarray(away | turned)


def _refined(problem: _Problem, place: Floats, step: Floats, half_turn_deg: float) -> Floats:
    """Compass search from a place: ever smaller moves and turns while any of them saves."""
    turns = (-1, 0, 1) if half_turn_deg else (0,)
    moves = np.array(
        [[i, j, k] for i in (-1, 0, 1) for j in (-1, 0, 1) for k in turns if i or j or k],
        dtype=np.float64,
    )
    moves *= [float(step.max()) / 2, float(step.max()) / 2, half_turn_deg]
    value = float(problem.priced(place[None]).cost.min())
    for _ in range(REFINING_STEPS):
        tries: Floats = place + moves
        tries = tries[problem.allows(tries)]
        costs = problem.priced(tries).cost
        if len(costs) and costs.min() < value - 1e-9:
            place, value = tries[int(np.argmin(costs))], float(costs.min())
        elif np.abs(moves[:, :2]).max() < FINEST_MOVE_FT:
            break
        else:
            moves = moves / 2
    return place


def _described(problem: _Problem, places: Floats, now: Place | None) -> list[Place]:
    priced = problem.priced(places)
    guessed = problem.ground.at(_sample_points(problem.sampling, places))[1]
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
