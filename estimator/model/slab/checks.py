"""Checks of a slab on the ground."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import OK, check
from estimator.model.footings import FOOTINGS
from estimator.model.footings.wind_screen import HELD
from estimator.model.slab.inputs import NONE
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, amount, join

LEVELLED_IN = 0.125
"""No closer is stone levelled (common practice, no source)."""
DIP_LET_IN = 1.0
"""No closer does a spade follow ground that dips (common practice, no source)."""
SUMMARY = "read in EVstudio, Code Requirements for Concrete Slabs on Grade (2009 code)"


@check(
    FOOTINGS,
    "Thickness of the slab",
    mend="slab_thick_in",
    hazard="supports that lean or crack",
    source=f"IRC R506.1, {SUMMARY}",
)
def check_slab_thick(slab_on: Q, slab_thick_used_in: Q, slab_least_in: Q) -> Q:
    thin = (slab_on == 1) & (slab_thick_used_in < slab_least_in)
    return np.where(thin, "FAIL: the slab is thinner than the code's least", OK)


@check(
    FOOTINGS,
    "Edge of the slab",
    mend="slab_edge_in",
    hazard="soil overloaded",
    source="IRC Table R403.1, R403.1.4",
)
def check_slab_edge(
    slab_on: Q,
    slab_edge_used_in: Q,
    slab_edge_needed_in: Q,
    edge_least_in: Q,
    slab_below_in: Q,
    edge_depth_least_in: Q,
) -> Q:
    narrow = slab_edge_used_in < np.maximum(slab_edge_needed_in, edge_least_in)
    shallow = slab_below_in < edge_depth_least_in
    return np.where(
        (slab_on == 1) & narrow,
        "FAIL: the edge is narrower than load or code ask for",
        np.where(
            (slab_on == 1) & shallow,
            "FAIL: the edge must go deeper below undisturbed ground",
            OK,
        ),
    )


@check(
    FOOTINGS,
    "Slope of the edge's bottom",
    mend="height_mode",
    hazard="too much fall",
    source="IRC R403.1.5; IBC 1809.3 the same, read in a copy",
)
def check_slab_slope(
    slab_on: Q,
    slab_deep_in: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    edge_slope_most: Q,
) -> Q:
    fall = (np.max(slab_deep_in) - np.min(slab_deep_in)) / IN_PER_FT
    along = np.minimum(building_length_ft, building_width_ft)
    steep = (slab_on == 1) & (fall > edge_slope_most * along)
    return np.where(steep, "LOOK: step the bottom of the edge, it may slope one in ten", OK)


@check(
    FOOTINGS,
    "Edge between the corners",
    mend="slab_edge_below_in",
    hazard="frost",
    source="IRC R403.1.4 for the depth; common practice, no source, for what is let pass",
)
def check_slab_dip(slab_on: Q, side_dip_in: Q) -> Q:
    deeper = join(
        "LOOK: dig the edge ",
        amount(side_dip_in, "in", "0.0"),
        " deeper than from corner to corner where the ground dips most",
    )
    return np.where((slab_on == 1) & (side_dip_in > DIP_LET_IN), deeper, OK)


@check(
    FOOTINGS,
    "Fill under the slab",
    mend="fill_with",
    hazard="settling",
    source=f"IRC R506.2.1, {SUMMARY}",
)
def check_slab_fill(
    slab_on: Q,
    fill_with: Q,
    fill_depth_in: Q,
    fill_accepted: Q,
    fill_stone_most_in: Q,
    fill_earth_most_in: Q,
) -> Q:
    most = np.where(fill_with == "stone", fill_stone_most_in, fill_earth_most_in)
    deep = (slab_on == 1) & (fill_depth_in > most) & (fill_accepted == "no")
    return np.where(
        deep,
        "FAIL: deeper fill than the code allows under a slab; use stone, lower it, or have it accepted",
        OK,
    )


@check(
    FOOTINGS,
    "Base under the slab",
    mend="stone_depth_in",
    hazard="water",
    source="IRC R506.2.2, read in a copy",
)
def check_slab_base(slab_on: Q, stone_depth_in: Q, slab_base_least_in: Q) -> Q:
    thin = (slab_on == 1) & (stone_depth_in < slab_base_least_in - LEVELLED_IN)
    return np.where(thin, "LOOK: less stone under the slab than the code asks below grade", OK)


@check(
    FOOTINGS,
    "Vapour under the slab",
    mend="slab_retarder",
    hazard="water",
    source="IRC R506.2.3, read in a quotation of the 2012 code",
)
def check_slab_vapour(slab_on: Q, slab_retarder: Q) -> Q:
    bare = (slab_on == 1) & (slab_retarder == "no")
    return np.where(bare, "LOOK: no vapour retarder; only unheated buildings may do without", OK)


@check(
    FOOTINGS,
    "Slab above the ground",
    mend="raise_in",
    hazard="splash",
    source="IRC R317.1 item 5, read in quotations of the code",
)
def check_slab_above(
    slab_on: Q,
    slab_top_ft: Q,
    ground_high_ft: Q,
    strip_ft: Q,
    reckoned_from: Q,
    slab_above_least_in: Q,
) -> Q:
    beside = ground_high_ft - np.where(reckoned_from == "stripped", strip_ft, 0)
    above = (slab_top_ft - beside) * IN_PER_FT
    return np.where(
        (slab_on == 1) & (above <= 0),
        "FAIL: the slab lies below the ground beside it; raise the pad",
        np.where(
            (slab_on == 1) & (above < slab_above_least_in),
            "LOOK: raise the pad, or treat plates, sheathing and siding near the ground",
            OK,
        ),
    )


@check(
    FOOTINGS,
    "Concrete in one go",
    mend="concrete_by",
    hazard="supports that lean or crack",
    source="common practice, no source",
)
def check_slab_batch(slab_on: Q, concrete_comes: Q, concrete_yd3: Q, hand_mix_yd3: Q) -> Q:
    much = (slab_on == 1) & (concrete_comes == "bags") & (concrete_yd3 > hand_mix_yd3)
    return np.where(much, "LOOK: a lot of bags for one pour; a slab wants no cold joints", OK)


@check(
    FOOTINGS,
    "Steel in the slab",
    mend="slab_steel",
    hazard="supports that lean or crack",
    source="common practice, no source",
)
def check_slab_steel(slab_on: Q, slab_steel: Q, slab_edge_bars: Q) -> Q:
    bare = (slab_on == 1) & ((slab_steel == NONE) | (slab_edge_bars < 2))
    return np.where(bare, "LOOK: little steel; the slab will open at its cracks", OK)


@check(
    FOOTINGS,
    "Anchor bolts against the wind (screening)",
    mend="option_kind",
    hazard="uplift",
    source=f"{HELD}; least distance on Factors (common practice, no source)",
)
def check_slab_bolts(
    slab_on: Q, bolts_asked: Q, building_length_ft: Q, bolt_least_apart_ft: Q
) -> Q:
    crowded = (slab_on == 1) & (bolts_asked * bolt_least_apart_ft > building_length_ft)
    return np.where(
        crowded, "FAIL: wind asks for more than bolts in the plates; have hold-downs designed", OK
    )
