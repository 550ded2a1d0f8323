"""Solver of the places on the lot where the base costs least, and of today's beside them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

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
from estimator.model.solvers.reads import Reads
from estimator.rows import OPTION_KEYS
from estimator.solve.siting import search
from estimator.solve.siting_places import Footprint, SitingCost, SitingResult, Yard
from estimator.solve.surface import Ground
from estimator.units import IN_PER_FT

NEWEST = 8


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


def solve_siting(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Best places for the chosen option's base, and today's; a sentence where there is none."""
    q = Reads(values)
    option = _option(q)
    if q.number("siting_asked") == 0:
        return _answer("not looked for: say yes above and refill")
    if option is None:
        return _answer("no option in use is a pad")
    try:
        result = _searched(q, option)
    except EstimatorError as error:
        return _answer(" ".join(filter(None, (f"{error.what.rstrip('.')}.", error.cure))))
    return _found(q, option, result)


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
        "siting_tried": 0.0,
        **{f"place_{key}": np.zeros((1, PLACES)) for key in _COLUMNS},
    }


def _searched(q: Reads, option: int) -> SitingResult:
    ground = lot_ground(q)
    footprint = Footprint(q.number("frame_length_ft", option), q.number("frame_width_ft", option))
    strip = q.number("strip_ft", option)
    stripped = q.text("reckoned_from", option) == "stripped"
    framed = q.text("option_kind", option) in TIMBERED
    cost = SitingCost(
        cut_per_yd3=q.number("dig_cost_yd3", option),
        fill_per_yd3=q.number("fill_cost_yd3", option),
        import_per_yd3=q.number("bring_cost_yd3", option),
        export_per_yd3=q.number("away_cost_yd3", option),
        stone_per_yd3=q.number("stone_cost_yd3", option),
        timber_per_ft=q.number("timber_cost_ft", option),
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
    turn = q.number("turn_deg")
    fixed = turn if q.text("siting_orientation") == "fixed" else None
    return _search(
        ground,
        footprint,
        _yard(q, ground),
        cost,
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
    return search(ground, footprint, yard, cost, *how, now=now, keep=PLACES)


def _yard(q: Reads, ground: Ground) -> Yard:
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


def _half(q: Reads, turn_deg: float) -> NDArray[np.float64]:
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


def _found(q: Reads, option: int, result: SitingResult) -> dict[str, Any]:
    answer = _answer("")
    today = q.number("turn_deg")
    strip = q.number("strip_ft", option)
    for row, place in enumerate(result.places):
        # Turned by half a circle the base is the same: the front stays nearest to where it looks.
        turn = place.turn_deg + 180 * round((today - place.turn_deg) / 180)
        corner = np.array([place.x_ft, place.y_ft]) - _half(q, turn)
        cells = {
            "x_ft": corner[0],
            "y_ft": corner[1],
            "turn_deg": turn,
            "cost": place.cost,
            "saving": place.saving,
            "cut_yd3": place.cut_bank_yd3,
            "fill_yd3": place.fill_compacted_yd3,
            "courses": place.most_courses,
            "top_ft": place.top_ft - strip,
        }
        for key in _COLUMNS:
            answer[f"place_{key}"][0, row] = cells[key]
    count = len(result.places)
    mode = q.text("height_mode", option)
    flush = " Heights are taken flush, not by hand." if mode == "by hand" else ""
    answer |= {
        "siting_says": f"{count} place{'s'[: count != 1]} below.{flush}",
        "siting_option": OPTION_KEYS[option],
        "siting_now_cost": result.now.cost if result.now else 0.0,
        "siting_now_why": result.now_refused,
        "siting_tolerance": result.tolerance,
        "siting_tried": float(result.tried),
    }
    return answer


SITING = Solver(
    "siting",
    "best places",
    (*SURVEY_READS, *PLACE_READS, *SITING_READS),
    solve_siting,
    prices=SITING_PRICES,
    live=False,  # the search takes its time
    counts_when="siting_asked",
)
