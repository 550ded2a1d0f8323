"""Solver of the places on the lot where the base costs least, and of today's beside them.

The search reckons quickly, on samples of the ground, and gives more places than are shown, those of
coarser steps among them. These are priced by the rows of Grading and Aggregate, as is today's, the
cheapest of each step are moved while that saves by their price, and the cheapest are shown: so a
finer step never shows a dearer best.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import Measure
from estimator.engine import Solver
from estimator.errors import EstimatorError
from estimator.model.kinds import GRADED, TIMBERED
from estimator.model.siting_sheet import PLACES, PROPERTY
from estimator.model.solvers.lot import (
    CORNER_READS,
    PLACE_READS,
    SURVEY_READS,
    corner_areas,
    lot_ground,
    polygon,
)
from estimator.model.solvers.place_descent import descend
from estimator.model.solvers.place_prices import PlacePrices, Pricer
from estimator.model.solvers.reads import Reads
from estimator.rows import OPTION_KEYS, Sheet
from estimator.units import FT3_PER_YD3, IN_PER_FT

if TYPE_CHECKING:
    from estimator.solve.siting_places import Footprint, SitingCost, SitingResult, Yard
    from estimator.solve.surface import Ground

NEWEST = 8
SHORTLIST = 10
"""Clearly different places that the search gives, of which the cheapest are shown."""
MOVED_ON = 2
"""Of them, how many are moved on at full price."""
ALIKE_SHARE = 0.1
"""Share by which places may differ in quick price and be taken for alike."""
Floats = NDArray[np.float64]


SITING_READS = (
    "siting_asked",
    "siting_orientation",
    "setback_ft",
    "keep_out_ft",
    "siting_step_ft",
    "siting_turn_deg",
    "siting_guessed",
    "option_kind",
    *CORNER_READS,
    "chosen_no",
    "height_mode",
    "reckoned_from",
    "raise_in",
    "strip_ft",
    "stone_depth_in",
    "fill_with",
    "timber_depth_in",
    "embed_in",
    "compacted_per_bank",
    "trench_width_in",
)
SITING_PRICES = (
    "dig_cost_yd3",
    "fill_cost_yd3",
    "bring_cost_yd3",
    "away_cost_yd3",
    "stone_cost_yd3",
    "timber_cost_ft",
)
_COLUMNS = (
    "x_ft",
    "y_ft",
    "turn_deg",
    "cost",
    "saving",
    "cut_yd3",
    "fill_yd3",
    "courses",
    "top_ft",
)


def solve_siting(
    sheets: Sequence[Sheet], values: Mapping[str, Any], measure: Measure = "feet"
) -> Mapping[str, Any]:
    """Best places for the chosen option's base, and today's; a sentence where there is none.

    Args:
        sheets: Whose rows price a place.
        values: What the solver reads.
        measure: System of measure.
    """
    q = Reads(values)
    option = _option(q)
    if q.number("siting_asked") == 0:
        return _answer("not looked for: say yes above and refill")
    if option is None:
        return _answer("no option in use is a pad")
    try:
        result = _searched(q, option)
        return _found(q, option, result, _pricer(tuple(sheets), measure))
    except EstimatorError as error:
        return _answer(" ".join(filter(None, (f"{error.what.rstrip('.')}.", error.cure))))


@lru_cache(maxsize=2)
def _pricer(sheets: tuple[Sheet, ...], measure: Measure) -> Pricer:
    return Pricer(sheets, measure)


def _option(q: Reads) -> int | None:
    """The chosen option if it is a pad, else the first that is."""
    pads = [o for o in q.options() if q.text("option_kind", o) in GRADED]
    chosen = q.number("chosen_no") - 1
    return int(chosen) if chosen in pads else next(iter(pads), None)


def _answer(says: str) -> dict[str, Any]:
    return {
        "siting_says": says,
        "siting_option": "",
        "siting_now_cost": 0.0,
        "siting_now_why": "",
        "siting_tolerance": 0.0,
        "siting_full_gap": 0.0,
        "siting_tried": 0.0,
        **{f"place_{key}": np.zeros((1, PLACES)) for key in _COLUMNS},
    }


def _footprint(q: Reads, option: int) -> Footprint:
    from estimator.solve.siting_places import Footprint

    return Footprint(q.number("frame_length_ft", option), q.number("frame_width_ft", option))


def _fixed(q: Reads) -> bool:
    return q.text("siting_orientation") == "fixed"


def _cost(q: Reads, option: int) -> SitingCost:
    from estimator.solve.siting_places import SitingCost

    strip = q.number("strip_ft", option)
    stripped = q.text("reckoned_from", option) == "stripped"
    framed = q.text("option_kind", option) in TIMBERED
    dig = q.number("dig_cost_yd3", option)
    trench_ft2 = q.number("trench_width_in", option) * q.number("timber_depth_in", option)
    trench = trench_ft2 / IN_PER_FT**2 / FT3_PER_YD3 * dig if framed else 0.0
    return SitingCost(
        cut_per_yd3=dig,
        fill_per_yd3=q.number("fill_cost_yd3", option),
        import_per_yd3=q.number("bring_cost_yd3", option),
        export_per_yd3=q.number("away_cost_yd3", option),
        stone_per_yd3=q.number("stone_cost_yd3", option),
        timber_per_ft=q.number("timber_cost_ft", option) + trench,
        timber_depth_ft=q.number("timber_depth_in", option) / IN_PER_FT if framed else 1.0,
        pad_depth_ft=q.number("stone_depth_in", option) / IN_PER_FT,
        # Heights here are those of the stripped ground: everything is a strip higher by itself.
        above_high_ft=q.number("raise_in", option) / IN_PER_FT + (0.0 if stripped else strip),
        least_embedment_ft=q.number("embed_in", option) / IN_PER_FT - (0.0 if stripped else strip),
        compacted_per_bank=q.number("compacted_per_bank", option),
        mode="balanced" if q.text("height_mode", option) == "balanced" else "high",
        fill_with_stone=q.text("fill_with", option) == "stone",
        framed=framed,
    )


def _searched(q: Reads, option: int) -> SitingResult:
    ground = lot_ground(q)
    turn = q.number("turn_deg")
    fixed = turn if _fixed(q) else None
    return _search(
        ground,
        _footprint(q, option),
        _yard(q, ground),
        _cost(q, option),
        (q.number("siting_step_ft"), q.number("siting_turn_deg"), fixed),
        (*_centre(q), turn),
    )


@lru_cache(maxsize=NEWEST)
def _search(
    ground: Ground,
    footprint: Footprint,
    yard: Yard,
    cost: SitingCost,
    how: tuple[float, float, float | None],
    now: tuple[float, float, float],
) -> SitingResult:
    from estimator.solve.siting import search

    return search(ground, footprint, yard, cost, *how, now=now, keep=SHORTLIST)


def _yard(q: Reads, ground: Ground) -> Yard:
    from estimator.solve.siting_places import Yard

    areas = corner_areas(q)
    lots = [rows for kind, rows in areas if kind == PROPERTY]
    if len(lots) > 1:
        raise EstimatorError("there are two property lines", cure="Give all its corners one area.")
    out = tuple(polygon(q, rows) for kind, rows in areas if kind != PROPERTY)
    guessed = q.text("siting_guessed") == "yes"
    clear = q.number("keep_out_ft")
    if not lots:
        outline = ground.vertices_ft[ground.hull] + ground.centre_ft
        line = tuple((float(x), float(y)) for x, y in outline)
        return Yard(line, 0.0, out, clear, guessed)
    setbacks = tuple(q.number("setback_ft") + q.number("corner_more_ft", 0, row) for row in lots[0])
    return Yard(polygon(q, lots[0]), setbacks, out, clear, guessed)


def _half(q: Reads, turn_deg: float) -> Floats:
    """From corner 1 of the building to its middle, in the survey's grid."""
    angle = math.radians(turn_deg)
    along, across = q.number("building_length_ft") / 2, q.number("building_width_ft") / 2
    return np.array(
        [
            along * math.cos(angle) - across * math.sin(angle),
            along * math.sin(angle) + across * math.cos(angle),
        ]
    )


def _centre(q: Reads) -> tuple[float, float]:
    x, y = _half(q, q.number("turn_deg"))
    return q.number("site_x_ft") + float(x), q.number("site_y_ft") + float(y)


def _found(q: Reads, option: int, result: SitingResult, pricer: Pricer) -> dict[str, Any]:
    answer = _answer("")
    today = q.number("turn_deg")
    # Turned by half a circle the base is the same: the front stays nearest to where it looks.
    found = dict.fromkeys(place for places in result.of_each for place in places)
    number = {place: k for k, place in enumerate(found)}
    turned = [(p, p.turn_deg + 180 * round((today - p.turn_deg) / 180)) for p in found]
    middles = np.array([*((p.x_ft, p.y_ft, turn) for p, turn in turned), (*_centre(q), today)])
    prices = pricer.prices(q.values, option, _corners(q, middles))
    now = float(prices.cost[-1])
    full = prices.cost
    allowed = len(middles) if not result.now_refused else len(middles) - 1
    wide = q.number("frame_width_ft", option)
    met = [(middles, full)]

    def price(tries: Floats) -> PlacePrices:
        priced = pricer.prices(q.values, option, _corners(q, tries))
        met.append((tries, priced.cost))
        return priced

    # What each coarser step would move on is moved on too: none ends with a cheaper place.
    starts: dict[int, None] = {}
    for each in result.of_each:
        some = [*(number[place] for place in each), *range(len(found), allowed)]
        starts |= {some[k]: None for k in _cheapest(middles[some], full[some], wide)[:MOVED_ON]}
    for at in starts:
        better = _descended(q, option, price, middles[at - len(full)], float(full[at]))
        if better:
            middles = np.vstack([better[0], middles])
            prices = better[1].joined(prices)
            allowed += 1
    places = _corners(q, middles)
    shown = _cheapest(middles[:allowed], prices.cost[:allowed], wide)
    for row, at in enumerate(shown):
        cells = {
            "x_ft": places[at, 0],
            "y_ft": places[at, 1],
            "turn_deg": places[at, 2],
            "cost": prices.cost[at],
            "saving": now - prices.cost[at],
            "cut_yd3": prices.cut_yd3[at],
            "fill_yd3": prices.fill_yd3[at],
            "courses": prices.courses[at],
            "top_ft": prices.top_ft[at],
        }
        for key in _COLUMNS:
            answer[f"place_{key}"][0, row] = cells[key]
    count = len(shown)
    mode = q.text("height_mode", option)
    flush = " Heights are taken flush, not by hand." if mode == "by hand" else ""
    answer |= {
        "siting_says": f"{count} place{'s'[: count != 1]} below.{flush}",
        "siting_option": OPTION_KEYS[option],
        "siting_now_cost": now if math.isfinite(now) else 0.0,
        "siting_now_why": result.now_refused,
        "siting_tolerance": result.tolerance,
        "siting_full_gap": _gap(q, option, result, met, prices.cost[shown[0]]) if shown else 0.0,
        "siting_tried": float(result.tried),
    }
    return answer


def _corners(q: Reads, middles: Floats) -> Floats:
    """Places (p, 3) by corner 1 of the building, of those by the middle."""
    return np.array([(*(place[:2] - _half(q, place[2])), place[2]) for place in middles])


def _descended(
    q: Reads,
    option: int,
    price: Callable[[Floats], PlacePrices],
    start: Floats,
    cost: float,
) -> tuple[Floats, PlacePrices] | None:
    """A cheaper place near one, if there is any: quick and full price are least some way apart."""
    from estimator.solve.siting_room import allowed as allowed_places

    if not math.isfinite(cost):
        return None
    ground, footprint = lot_ground(q), _footprint(q, option)
    return descend(
        start,
        cost,
        price,
        partial(allowed_places, ground, footprint, _yard(q, ground)),
        arm_ft=footprint.half_diagonal_ft,
        turning=not _fixed(q),
    )


def _gap(
    q: Reads,
    option: int,
    result: SitingResult,
    met: Sequence[tuple[Floats, Floats]],
    best: float,
) -> float:
    """The same of what was found and met on the way: middles (p, 3) and full prices (p,)."""
    from estimator.solve.siting import price_places

    middles, full = (np.concatenate(each) for each in zip(*met, strict=True))
    quick = price_places(lot_ground(q), _footprint(q, option), _cost(q, option), middles)
    return _full_gap(result.places[0].cost - result.tolerance, quick, full, best)


def _full_gap(least_quick: float, quick: Floats, full: Floats, best: float) -> float:
    """An estimate of how much cheaper than the best shown a place may be at full price.

    That is below no bound. It is where no place is closer in full to its quick price than those
    priced both ways that cost as little, or not much more.

    Args:
        least_quick: What no place is cheaper than by the quick price.
        quick, full: Both prices of places (p,).
        best: Full price of the best shown.
    """
    both = np.isfinite(quick) & np.isfinite(full)
    if not both.any():
        return 0.0
    least = np.maximum(least_quick, quick / (1 + ALIKE_SHARE)) + full - quick
    return max(0.0, best - float(least[both].min()))


def _cheapest(places: Floats, costs: Floats, width_ft: float) -> list[int]:
    """The cheapest of places (p, 3) that are clearly different, at most as many as are shown."""
    from estimator.solve.siting import clearly_different

    chosen: list[int] = []
    for at in np.argsort(costs, kind="stable").tolist():
        if len(chosen) == PLACES or not math.isfinite(costs[at]):
            break
        if clearly_different(places[at], places[chosen], width_ft):
            chosen.append(at)
    return chosen


def siting(sheets: Sequence[Sheet]) -> Solver:
    """The solver of the best places.

    Args:
        sheets: With the contributions of all assemblies.
    """
    known = {*SURVEY_READS, *PLACE_READS, *SITING_READS, *SITING_PRICES}
    more = (key for key in _pricer(tuple(sheets), "feet").reads if key not in known)
    return Solver(
        "siting",
        "best places",
        (*SURVEY_READS, *PLACE_READS, *SITING_READS),
        partial(solve_siting, sheets),
        prices=(*SITING_PRICES, *more),
        live=False,  # the search takes its time
        counts_when="siting_asked",
        by_measure=True,
    )
