"""Sheet Siting: where on the lot the base costs least, and what today's stakes cost against it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.errors import EstimatorError
from estimator.inputs import Field
from estimator.model.kinds import FRAMED, PADS
from estimator.model.lot import lot_ground
from estimator.model.options import YES_NO
from estimator.model.reads import Reads
from estimator.rows import OPTION_KEYS, Sheet
from estimator.solve.siting import search
from estimator.solve.siting_places import Corner, Footprint, SitingCost, SitingResult, Yard
from estimator.solve.surface import Ground
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, lookup, sum_if

SITING = Sheet(
    "Siting",
    "Siting: where on the lot it costs least",
    "Optional. Costs are of earth, timber and stone alone, to compare places; the real price stands on Cost.",
)
PLACES = 5
CORNERS = 24
PROPERTY, KEEP_OUT = "property", "keep out"
PIN_ITEM = "bar_4_2ft"
NEWEST = 8

SITING.section("Search")
SITING.typed(
    Field(
        "siting_wanted",
        "Look for the best place",
        kind="choice",
        default="no",
        choices=YES_NO,
        note="For the chosen option if it is a pad, else for the first that is.",
    ),
    scope="job",
)
SITING.typed(
    Field(
        "siting_orientation",
        "Orientation",
        kind="choice",
        default="free",
        choices=("free", "fixed"),
        note="fixed: the turn on Job is kept.",
    ),
    scope="job",
)
SITING.typed(
    Field(
        "setback_ft",
        "Setback from the property line",
        "ft",
        "length",
        5,
        0,
        500,
        note="Local. Measured to the outside of the base.",
    ),
    scope="job",
)
SITING.typed(
    Field("keep_out_ft", "Distance to keep-out areas", "ft", "length", 0, 0, 500), scope="job"
)
SITING.typed(
    Field("siting_step_ft", "Step of the search", "ft", "length", 1, 0.25, 10), scope="job"
)
SITING.typed(
    Field("siting_turn_deg", "Turn of the search", "deg", default=15, low=1, high=90), scope="job"
)
SITING.typed(
    Field(
        "siting_guessed",
        "Beyond the readings too",
        kind="choice",
        default="no",
        choices=YES_NO,
        note="yes: where the ground is only guessed.",
    ),
    scope="job",
)

LOT = SITING.table(
    "corner",
    "Property line and keep-out areas",
    CORNERS,
    "Corners in order round each area, in the survey's grid. Without a property line the outline of the readings is taken, without setback.",
)
LOT.typed(Field("corner_name", "Corner", kind="text", needed=False, note="Any name, each once."))
LOT.typed(
    Field(
        "corner_area",
        "Area",
        kind="text",
        note="The same for all corners of one area: lot, septic field, tree.",
    )
)
LOT.typed(Field("corner_kind", "Kind", kind="choice", choices=(PROPERTY, KEEP_OUT), default=None))
LOT.typed(Field("corner_x_ft", "x", "ft", "length", None, -2000, 2000))
LOT.typed(Field("corner_y_ft", "y", "ft", "length", None, -2000, 2000))
LOT.typed(
    Field(
        "corner_more_ft",
        "More setback to the next corner",
        "ft",
        default=None,
        low=0,
        high=500,
        needed=False,
        note="Added on the side that starts here, such as the street's.",
    )
)

SITING.section("What it found")
SITING.solved("siting_says", "Result", solver="siting", kind="text", scope="job")
SITING.solved("siting_option", "Searched for option", solver="siting", kind="text", scope="job")
SITING.solved(
    "siting_now_cost",
    "Where it is staked now",
    "$",
    solver="siting",
    fmt="#,##0",
    scope="job",
    note="Earth, timber and stone alone.",
)
SITING.solved(
    "siting_now_why",
    "Why the place of today is not allowed",
    solver="siting",
    kind="text",
    scope="job",
)
SITING.solved(
    "siting_tolerance",
    "No place is cheaper than the best by more than",
    "$",
    solver="siting",
    fmt="#,##0",
    scope="job",
    note="Proven for every place and turn, between those tried too. Some of it is caution: a finer step and turn lower it.",
)
SITING.solved("siting_tried", "Places priced", "places", solver="siting", fmt="#,##0", scope="job")

BEST = SITING.table(
    "place",
    "Best places, clearly different from each other",
    PLACES,
    "To use one, type its x, y and turn on Job and refill.",
    index=True,
)
BEST.solved("place_x_ft", "Corner 1, x", "ft", solver="siting")
BEST.solved("place_y_ft", "Corner 1, y", "ft", solver="siting")
BEST.solved("place_turn_deg", "Turn", "deg", solver="siting", fmt="0.0")
BEST.solved("place_cost", "Cost, to compare", "$", solver="siting", fmt="#,##0")
BEST.solved(
    "place_saving",
    "Saves",
    "$",
    solver="siting",
    fmt="+#,##0;-#,##0;0",
    note="Against where it is staked now.",
)
BEST.solved("place_cut_yd3", "Cut", "yd3", solver="siting", fmt="0.0")
BEST.solved("place_fill_yd3", "Fill", "yd3", solver="siting", fmt="0.0")
BEST.solved("place_courses", "Courses", "courses", solver="siting", fmt="0")
BEST.solved("place_top_ft", "Top", "ft", solver="siting", fmt="0.000")

SITING.section("What the search reckons with")


@SITING.row("Timber, one course", "$/ft", note="Timber, pins, setting and its trench.")
def timber_cost_ft(
    timber_stock: Q,
    item_stock: Q,
    item_price: Q,
    item_length_ft: Q,
    item_key: Q,
    item_pack: Q,
    pin_spacing_in: Q,
    wage_per_h: Q,
    timber_h_ft: Q,
    trench_width_in: Q,
    timber_depth_in: Q,
    dig_cost_yd3: Q,
) -> Q:
    length = sum_if(item_length_ft, item_stock, timber_stock)
    wood = sum_if(item_price, item_stock, timber_stock) / (length + np.where(length > 0, 0, 1))
    pin = lookup(PIN_ITEM, item_key, item_price, 0) / lookup(PIN_ITEM, item_key, item_pack, 1)
    spacing = pin_spacing_in + np.where(pin_spacing_in > 0, 0, 1)
    trench = trench_width_in * timber_depth_in / IN_PER_FT**2 / FT3_PER_YD3 * dig_cost_yd3
    each = wood + pin * IN_PER_FT / spacing + wage_per_h * timber_h_ft + trench
    return np.where(timber_depth_in > 0, each, 0)


CORNER_READS = (
    "corner_name",
    "corner_area",
    "corner_kind",
    "corner_x_ft",
    "corner_y_ft",
    "corner_more_ft",
)
"""Keys of the corners of the property and of areas to keep out of."""
SITING_READS = (
    "siting_wanted",
    "siting_orientation",
    "setback_ft",
    "keep_out_ft",
    "siting_step_ft",
    "siting_turn_deg",
    "siting_guessed",
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
    if q.text("siting_wanted") != "yes":
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
    pads = [o for o in q.options() if q.text("option_kind", o) in PADS]
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
    framed = q.text("option_kind", option) == FRAMED
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


def corner_areas(q: Reads) -> list[tuple[str, list[int]]]:
    """Kind and rows of each property line and keep-out area, in the order they are typed."""
    areas: dict[tuple[str, str], list[int]] = {}
    kinds, names = q.column("corner_kind"), q.column("corner_area")
    for row, name in enumerate(q.column("corner_name")):
        if str(name):
            areas.setdefault((str(kinds[row]), str(names[row]).casefold()), []).append(row)
    return [(kind, rows) for (kind, _), rows in areas.items()]


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


def polygon(q: Reads, rows: list[int]) -> tuple[Corner, ...]:
    """Corners of an area in the survey's grid, ft, by their rows."""
    return tuple((q.number("corner_x_ft", 0, r), q.number("corner_y_ft", 0, r)) for r in rows)


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
