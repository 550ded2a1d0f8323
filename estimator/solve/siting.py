"""Where on the lot the building stands: the place and turn that cost least in earth and timber.

Lattices of places are priced, at every turn, each finer than the one before, down to the step asked
for (``siting_lattice``); from the best of each the search goes down to cheaper places off the
lattice (``siting_descent``).

What that may have missed is stated: cells that cover all places there are, each priced with all
heights at their kindest within it, give a bound below every place; where it lies below the best,
cells are divided (``siting_bound``, ``siting_slack``), and the best met there are moved on. The
cells begin from what the coarsest lattice gives, and what each lattice gives does not depend on the
others: a finer step ends with all that a coarser one does, and never with a dearer place.
Lengths and heights in feet, costs in the money of the rates.
"""

from __future__ import annotations

import numpy as np

from estimator.errors import InputError, SolveError
from estimator.solve.siting_bound import divide
from estimator.solve.siting_descent import cheapest, different, refined
from estimator.solve.siting_lattice import COARSEST_DEG, COARSEST_FT, laid, levels
from estimator.solve.siting_places import Floats, Footprint, Place, SitingCost, SitingResult, Yard
from estimator.solve.siting_price import price, sample_points, sampled
from estimator.solve.siting_problem import Problem, all_places
from estimator.solve.siting_room import ON_LINE_FT
from estimator.solve.siting_slack import slopes
from estimator.solve.surface import Ground

STARTS = 40
"""Places of a lattice from which the search goes down to cheaper ones."""
AIMS = (5_000_000, 0.002, 2.0), (40_000_000, 0.01, 10.0)
"""Until so many heights are looked at, the share of the best cost, and money, within either of
which no cheaper place is asked for. After the last the search ends, and states what is open."""


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
        step_ft: Step of the finest lattice, at most; not below 1 ft, and more on a large lot.
        turn_deg: Its step of turns, at most; a half turn is the same place.
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
    problem = Problem(ground, footprint, yard, cost, sampled(footprint, sample_ft))
    turning = fixed_deg is None
    today, refused, known = None, "", np.empty((0, 3))
    if now is not None:
        where = np.array([now], dtype=np.float64)
        today = _described(problem, where, None)[0]
        why = ("too near the boundary", "in a keep-out area", "reaches beyond the readings")
        room = problem.room(where)[0]
        refused = "; ".join(w for w, r in zip(why, room, strict=True) if r < -ON_LINE_FT)
        if not refused and fixed_deg is not None and _between_turns(now[2], fixed_deg) > 1e-9:
            refused = "not at the fixed orientation"
        if not refused:
            known = where
    apart_ft = _apart_ft(footprint.width_ft)
    met, levels_met, least, tried = known, [], np.inf, 0
    for step, turn in levels(step_ft, turn_deg, turning=turning):
        places, costs = laid(problem, step, turn, fixed_deg)
        tried += len(costs)
        starts = np.vstack([known, places[cheapest(places, costs, STARTS, step)]])
        if len(starts):
            moves = step / 2, turn / 2 * turning
            found, value = refined(problem, starts, *moves)
            places, costs = np.vstack([places, found]), np.concatenate([costs, value])
            # Some come to the same place when they are moved on.
            apart = places[cheapest(places, costs, 2 * keep, apart_ft)]
            met = np.vstack([met, found, apart, refined(problem, apart, *moves)[0]])
            levels_met.append(len(met))
            least = least if np.isfinite(least) else float(value.min())
    if not np.isfinite(least):
        raise SolveError(
            f"a footprint of {{{footprint.length_ft:g} ft}} x {{{footprint.width_ft:g} ft}} has no"
            " allowed place",
            cure="Ease a setback or keep-out, free the orientation, or survey a wider area.",
        )
    steep = slopes(ground, beyond=yard.allow_guessed)
    bound, cheaper, divided = divide(
        all_places(problem, fixed_deg),
        least,
        lambda cells: problem.bounded(cells, steep),
        lambda some: refined(problem, some, COARSEST_FT / 2, COARSEST_DEG / 2 * turning),
        [(most // problem.sampling.area_ft2.size, share, money) for most, share, money in AIMS],
    )
    places = np.vstack([met, cheaper])
    costs = problem.priced(places).cost
    best = []
    for count in levels_met:
        some = np.append(np.arange(count), np.arange(len(met), len(places)))
        best.append(some[cheapest(places[some], costs[some], keep, apart_ft)])
    chosen = np.unique(np.concatenate(best))
    described = dict(zip(chosen.tolist(), _described(problem, places[chosen], today), strict=True))
    of_each = tuple(tuple(described[at] for at in each.tolist()) for each in best)
    tolerance = max(0.0, of_each[-1][0].cost - bound)
    return SitingResult(of_each, today, refused, tolerance, tried + divided)


def _apart_ft(width_ft: float) -> float:
    return max(4.0, width_ft / 2)


def clearly_different(place: Floats, others: Floats, width_ft: float) -> bool:
    """Whether a place (3,) is another than each of these (n, 3): apart, or turned."""
    return bool(different(others, place, _apart_ft(width_ft)).all())


def _between_turns(a: float, b: float) -> float:
    return abs((a - b + 90) % 180 - 90)


def _described(problem: Problem, places: Floats, now: Place | None) -> list[Place]:
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
