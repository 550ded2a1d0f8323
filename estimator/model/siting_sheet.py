"""Sheet Siting: where on the lot the base costs least, and what today's stakes cost against it."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.inputs import Field
from estimator.model.falls import DRAWN, FALLS
from estimator.model.grading import DIGGER_ITEM
from estimator.model.kinds import TIMBERED, where_kind
from estimator.model.options import YES_NO
from estimator.model.prices import to_hire, unit_price
from estimator.rows import YES_OR_NO, Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, sum_if

SITING = Sheet(
    "Siting",
    "Siting: where on the lot it costs least, and at what fall",
    "Optional. Places are compared by earth, timber and stone alone; totals against fall are those of Cost.",
    shows=SheetAppearance(band=DRAWN, upright=True),
)
PLACES = 5
MOST_CORNERS, LEAST_CORNERS = 24, 3
KEEP_OUTS = MOST_CORNERS // LEAST_CORNERS
"""Keep-out areas that the corners typed can make at most."""
BOUNDS = 2 * MOST_CORNERS + 1
"""Places on one outline: a side that keeps another distance than the one in line with it adds one,
and the first is repeated to close it."""
PROPERTY, KEEP_OUT = "property", "keep out"
PIN_ITEM = "bar_4_2ft"

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
    Field(
        "siting_step_ft",
        "Step of the search",
        "ft",
        "length",
        1,
        0.25,
        10,
        note="To begin with, {1 ft} or more: places between are found by halving it.",
    ),
    scope="job",
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
    MOST_CORNERS,
    "Corners in order round each area, in the survey's grid. Without a property line the outline of the readings is taken, without setback.",
    shows=Appearance(characters={"corner_name": 13, "corner_area": 13}),
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
    "By quick reckoning no place is cheaper by more than",
    "$",
    solver="siting",
    fmt="#,##0",
    scope="job",
    note="Proven for every place and turn, between those tried too, with the ground sampled {2 ft} apart and courses of any length.",
)
SITING.solved(
    "siting_full_gap",
    "The same at full price, estimated",
    "$",
    solver="siting",
    fmt="#,##0",
    scope="job",
    note="No proof: the gap above, and how unevenly full and quick price differ at places about as cheap where both were reckoned. The places below bear the full price, that of Grading and Aggregate.",
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

SITING.take(FALLS)

SITING.section("What the search reckons with")


@SITING.row("Looked for", fmt=YES_OR_NO, scope="job", note="Whether the best place is.")
def siting_asked(siting_wanted: Q) -> Q:
    return np.where(siting_wanted == "yes", 1, 0)


@SITING.row("Timber, one course", "$/ft", note="Timber, pins and setting.")
def timber_cost_ft(
    timber_stock: Q,
    item_stock: Q,
    item_paid: Q,
    item_length_ft: Q,
    item_key: Q,
    item_pack: Q,
    pin_spacing_in: Q,
    wage_per_h: Q,
    timber_h_ft: Q,
    timber_depth_in: Q,
) -> Q:
    length = sum_if(item_length_ft, item_stock, timber_stock)
    wood = sum_if(item_paid, item_stock, timber_stock) / (length + np.where(length > 0, 0, 1))
    pin = unit_price(PIN_ITEM, item_key, item_paid, item_pack)
    spacing = pin_spacing_in + np.where(pin_spacing_in > 0, 0, 1)
    each = wood + pin * IN_PER_FT / spacing + wage_per_h * timber_h_ft
    return np.where(timber_depth_in > 0, each, 0)


@SITING.row(
    "Earth, timber and stone where it is staked",
    "$",
    fmt="#,##0",
    note="Volumes, courses and hours of Grading and Aggregate at the rates there, and a machine's hire; carrying, timber and stone by the measure, not in whole trips and packs.",
)
def site_cost(
    on_pad: Q,
    wage_per_h: Q,
    strip_hours: Q,
    cut_hours: Q,
    hole_hours: Q,
    fill_hours: Q,
    import_yd3: Q,
    spoil_yd3: Q,
    loose_per_bank: Q,
    compacted_per_bank: Q,
    bring_cost_yd3: Q,
    away_cost_yd3: Q,
    stone_pad_yd3: Q,
    stone_fill_yd3: Q,
    shoulder_yd3: Q,
    bedding_yd3: Q,
    stone_cost_yd3: Q,
    option_kind: Q,
    frame_length_ft: Q,
    frame_width_ft: Q,
    frame_lower_ft: Q,
    timber_cost_ft: Q,
    digger_days: Q,
    item_key: Q,
    item_on_hand: Q,
    item_pack: Q,
    item_paid: Q,
    tax_share: Q,
    hire_taxed: Q,
) -> Q:
    work = wage_per_h * (strip_hours + cut_hours + hole_hours + fill_hours)
    brought = import_yd3 / loose_per_bank * compacted_per_bank * bring_cost_yd3
    away = spoil_yd3 / loose_per_bank * away_cost_yd3
    stone = (stone_pad_yd3 + stone_fill_yd3 + shoulder_yd3 + bedding_yd3) * stone_cost_yd3
    courses_ft = 2 * (frame_length_ft + frame_width_ft) + frame_lower_ft
    timber = where_kind(option_kind, TIMBERED, courses_ft * timber_cost_ft)
    yard = (item_key, item_on_hand, item_pack, item_paid)
    hire = to_hire(DIGGER_ITEM, digger_days, *yard, tax_share, hire_taxed)
    return on_pad * (work + brought + away + stone + timber + hire)
