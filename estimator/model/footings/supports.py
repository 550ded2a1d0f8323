"""Sheet Footings: piers and blocks, their holes, concrete and steel."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import OK, Need, Weight, check
from estimator.model.footings.continuity import MOMENTS
from estimator.model.footings.loads import IRC_BEARING, STATICS
from estimator.model.kinds import (
    FLOORS,
    GRADED,
    ON_BLOCKS,
    ON_PIERS,
    ON_STONE,
    PADS,
    SUPPORTS,
    UNCAST,
    MoreCases,
    by_kind,
    is_kind,
    where_kind,
)
from estimator.rows import YES_OR_NO, Chapter
from estimator.solve import bearing
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, join, lookup, size

STANDING = Chapter()
BAR_ITEM = "bar_4_20ft"
BAR_COVER_IN = 3.0
"""Concrete cast against the ground over its bars (ACI 318 20.6.1.3, read in a program's table)."""
SPREAD = "2 down to 1 out through the stone (common practice, no source)"

STANDING.section("Supports")


@STANDING.row("Supports", "pieces", fmt="0")
def support_count(support_rows_used: Q, supports_per_row_used: Q) -> Q:
    return support_rows_used * supports_per_row_used


@STANDING.row("Rows apart", "ft")
def bay_across_ft(
    option_kind: Q, building_width_ft: Q, support_inset_in: Q, support_rows_used: Q
) -> Q:
    clear = building_width_ft - 2 * support_inset_in / IN_PER_FT
    return where_kind(option_kind, SUPPORTS, clear / np.maximum(support_rows_used - 1, 1))


@STANDING.row("Supports apart in a row", "ft", note="The beam's span.")
def bay_along_ft(option_kind: Q, building_length_ft: Q, supports_per_row_used: Q) -> Q:
    bay = building_length_ft / np.maximum(supports_per_row_used - 1, 1)
    return where_kind(option_kind, SUPPORTS, bay)


@STANDING.row(
    "Load on an outer beam",
    "plf",
    fmt="0",
    source=f"Statics: span with an overhang, L / 2 + a + c a^2 / (2 L); {MOMENTS}",
    note="Two beams share walls and roof evenly; with more the joists lever on the next beam.",
)
def beam_outer_plf(
    option_kind: Q,
    support_rows_used: Q,
    bay_across_ft: Q,
    support_inset_in: Q,
    outer_lever: Q,
    floor_psf: Q,
    side_plf: Q,
) -> Q:
    overhang = support_inset_in / IN_PER_FT
    across = bearing.overhang_tributary_ft(bay_across_ft, overhang, outer_lever)
    past = np.where(support_rows_used > 2, outer_lever * overhang / bay_across_ft, 0)
    return where_kind(option_kind, SUPPORTS, across * floor_psf + side_plf * (1 + past))


@STANDING.row(
    "Load on an inner beam",
    "plf",
    fmt="0",
    source=f"{STATICS}; {MOMENTS}",
    note="Joists in one piece over it lay more on it than simple spans would.",
)
def beam_inner_plf(
    option_kind: Q,
    support_rows_used: Q,
    bay_across_ft: Q,
    floor_psf: Q,
    joist_middle_share: Q,
) -> Q:
    load = np.where(support_rows_used > 2, joist_middle_share * bay_across_ft * floor_psf, 0)
    return where_kind(option_kind, SUPPORTS, load)


@STANDING.row(
    "End wall on the end support of a row",
    "lbf",
    fmt="#,##0",
    source=f"{STATICS}; {MOMENTS}",
    note="By way of the end joist, on the row that gets most of it.",
)
def end_wall_lb(
    option_kind: Q,
    support_rows_used: Q,
    bay_across_ft: Q,
    support_inset_in: Q,
    outer_lever: Q,
    joist_middle_share: Q,
    end_plf: Q,
) -> Q:
    overhang = support_inset_in / IN_PER_FT
    outer = bearing.overhang_tributary_ft(bay_across_ft, overhang, outer_lever)
    inner = np.where(support_rows_used > 2, joist_middle_share * bay_across_ft, 0)
    return where_kind(option_kind, SUPPORTS, np.maximum(outer, inner) * end_plf)


@STANDING.row(
    "Load on the heaviest support",
    "lbf",
    fmt="#,##0",
    source=f"{STATICS}; {MOMENTS}",
    note="One between two spans, or at the end under the end wall; with the point load.",
)
def support_load_lb(
    option_kind: Q,
    beam_outer_plf: Q,
    beam_inner_plf: Q,
    bay_along_ft: Q,
    supports_per_row_used: Q,
    beam_middle_share: Q,
    end_wall_lb: Q,
    point_load_lb: Q,
) -> Q:
    simple = np.maximum(beam_outer_plf, beam_inner_plf) * bay_along_ft
    middle = np.where(supports_per_row_used > 2, simple * beam_middle_share, 0)
    load = np.maximum(middle, simple / 2 + end_wall_lb)
    return where_kind(option_kind, SUPPORTS, load + point_load_lb)


@STANDING.row(
    "Frost depth is waived",
    fmt=YES_OR_NO,
    source="IRC R403.1.4.1 exception 1, read in part; eaves from memory",
    note="By the area typed on Job, where the eaves are low.",
)
def frost_waived(
    frost_free_area_ft2: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    wall_height_ft: Q,
    frost_eave_ft: Q,
) -> Q:
    small = building_length_ft * building_width_ft <= frost_free_area_ft2
    return np.where(small & (wall_height_ft <= frost_eave_ft), 1, 0)


@STANDING.row(
    "Depth of pier or of a slab's edge below ground",
    "in",
    fmt="0.0",
    source="IRC R403.1.4, read in copies of the code; R403.1.4.1 exception 1, read in part",
    note="Frost depth unless waived for the area; never less than the footing is thick.",
)
def pier_depth_in(
    option_kind: Q,
    least_depth_in: Q,
    frost_depth_in: Q,
    frost_waived: Q,
    footing_diameter_used_in: Q,
    footing_thick_in: Q,
    more_cases: MoreCases,
) -> Q:
    depth = np.where(frost_waived == 1, least_depth_in, np.maximum(least_depth_in, frost_depth_in))
    footing = np.where(footing_diameter_used_in > 0, footing_thick_in, 0)
    pier = np.maximum(depth, footing)
    return by_kind(option_kind, {ON_PIERS: pier, PADS: 0, ON_BLOCKS: 0}, more_cases)


@STANDING.row("Bearing area of a support", "ft2", source=f"Of a stack: {SPREAD}")
def support_ft2(
    option_kind: Q,
    pier_diameter_in: Q,
    footing_diameter_used_in: Q,
    block_side_in: Q,
    block_bed_in: Q,
    block_pad_in: Q,
    more_cases: MoreCases,
) -> Q:
    diameter = np.maximum(pier_diameter_in, footing_diameter_used_in) / IN_PER_FT
    side = np.minimum(bearing.spread_in(block_side_in, block_bed_in), block_pad_in) / IN_PER_FT
    return by_kind(
        option_kind, {ON_PIERS: np.pi / 4 * diameter**2, ON_BLOCKS: side**2, GRADED: 0}, more_cases
    )


@STANDING.row("Footing, thickness", "in", fmt="0.0", note="0 for a straight pier, or for blocks.")
def footing_used_in(option_kind: Q, footing_diameter_used_in: Q, footing_thick_in: Q) -> Q:
    return where_kind(
        option_kind, ON_PIERS, np.where(footing_diameter_used_in > 0, footing_thick_in, 0)
    )


@STANDING.row(
    "Tallest stack of blocks", "in", fmt="0.0", note="Whole blocks, the lowest in the ground."
)
def stack_in(option_kind: Q, exposed_in: Q, block_height_in: Q) -> Q:
    whole = np.maximum(np.ceil(exposed_in / block_height_in), 1) * block_height_in
    return where_kind(option_kind, ON_BLOCKS, whole)


@STANDING.row(
    "Weight of the tallest support",
    "lbf",
    fmt="0",
    note="Pier with its footing, or the stack.",
    source="Statics: volume times the weight of concrete",
)
def support_own_lb(
    option_kind: Q,
    concrete_lb_ft3: Q,
    pier_diameter_in: Q,
    pier_depth_in: Q,
    footing_used_in: Q,
    support_ft2: Q,
    exposed_in: Q,
    block_side_in: Q,
    stack_in: Q,
    more_cases: MoreCases,
) -> Q:
    shaft = np.pi / 4 * (pier_diameter_in / IN_PER_FT) ** 2
    pier = shaft * (exposed_in + pier_depth_in - footing_used_in) + support_ft2 * footing_used_in
    stack = (block_side_in / IN_PER_FT) ** 2 * stack_in
    an_inch = concrete_lb_ft3 / IN_PER_FT
    own = {ON_PIERS: pier * an_inch, ON_BLOCKS: stack * an_inch, GRADED: 0}
    return by_kind(option_kind, own, more_cases)


@STANDING.row("Stone in place", "lb/ft3", fmt="0.0", note="Loose stone as it lies compacted.")
def stone_in_place_lb_ft3(option_kind: Q, stone_lb_ft3: Q, compaction_share: Q) -> Q:
    return where_kind(option_kind, ON_STONE, stone_lb_ft3 * (1 + compaction_share))


@STANDING.row(
    "Soil over the footing, stone under the stack",
    "lbf",
    fmt="0",
    source="Statics: what stands straight over the bearing area",
)
def support_cover_lb(
    option_kind: Q,
    support_ft2: Q,
    pier_diameter_in: Q,
    pier_depth_in: Q,
    footing_used_in: Q,
    soil_lb_ft3: Q,
    block_side_in: Q,
    block_bed_in: Q,
    stack_in: Q,
    exposed_in: Q,
    stone_in_place_lb_ft3: Q,
    more_cases: MoreCases,
) -> Q:
    shaft = np.pi / 4 * (pier_diameter_in / IN_PER_FT) ** 2
    over = (support_ft2 - shaft) * (pier_depth_in - footing_used_in) * soil_lb_ft3
    bed = support_ft2 * block_bed_in * stone_in_place_lb_ft3
    beside = (support_ft2 - (block_side_in / IN_PER_FT) ** 2) * (stack_in - exposed_in)
    stack = bed + np.maximum(beside, 0) * soil_lb_ft3
    cover = {
        ON_PIERS: np.maximum(over, 0) / IN_PER_FT,
        ON_BLOCKS: stack / IN_PER_FT,
        GRADED: 0,
    }
    return by_kind(option_kind, cover, more_cases)


def weight_psf(soil_lb_ft3: Q, deep_in: Q) -> Q:
    """Weight of soil so deep, psf."""
    return soil_lb_ft3 * deep_in / IN_PER_FT


@STANDING.row(
    "Weight of the soil dug out",
    "psf",
    fmt="0.0",
    note="Taken off only where Job says that presumptive bearing meets the net pressure.",
    source="Statics: net pressure is that above the weight of the soil taken out",
)
def dug_psf(
    option_kind: Q,
    bearing_basis: Q,
    soil_lb_ft3: Q,
    pier_depth_in: Q,
    block_bed_in: Q,
    strip_depth_in: Q,
    more_cases: MoreCases,
) -> Q:
    dug = {
        ON_PIERS: weight_psf(soil_lb_ft3, pier_depth_in),
        ON_BLOCKS: weight_psf(soil_lb_ft3, block_bed_in),
        GRADED: weight_psf(soil_lb_ft3, strip_depth_in),
    }
    return np.where(bearing_basis == "net", by_kind(option_kind, dug, more_cases), 0)


@STANDING.row(
    "Pressure under the heaviest support",
    "psf",
    fmt="#,##0",
    source="Load over bearing area",
    note="With concrete, and soil over it; less the soil dug out where that is set.",
)
def support_psf(
    option_kind: Q,
    support_load_lb: Q,
    support_own_lb: Q,
    support_cover_lb: Q,
    support_ft2: Q,
    dug_psf: Q,
) -> Q:
    pressure = (support_load_lb + support_own_lb + support_cover_lb) / support_ft2
    return where_kind(option_kind, SUPPORTS, pressure - dug_psf)


@STANDING.row(
    "Pressure on the soil",
    "psf",
    fmt="#,##0",
    note="Under skids and their stone, the heaviest support, or a slab and its edge.",
)
def soil_psf(option_kind: Q, skid_soil_psf: Q, support_psf: Q, more_cases: MoreCases) -> Q:
    return by_kind(option_kind, {PADS: skid_soil_psf, SUPPORTS: support_psf}, more_cases)


@STANDING.row(
    "Footing diameter that the load asks for",
    "in",
    fmt="0.0",
    source=IRC_BEARING,
    note="With its own concrete and the soil over it, at the thickness and depth that it has.",
)
def footing_needed_in(
    option_kind: Q,
    support_load_lb: Q,
    bearing_psf: Q,
    dug_psf: Q,
    pier_diameter_in: Q,
    exposed_in: Q,
    pier_depth_in: Q,
    footing_used_in: Q,
    concrete_lb_ft3: Q,
    soil_lb_ft3: Q,
) -> Q:
    wide = bearing.footing_diameter_under_soil_in(
        support_load_lb,
        bearing_psf + dug_psf,
        pier_diameter_in,
        exposed_in,
        pier_depth_in,
        footing_used_in,
        concrete_lb_ft3,
        soil_lb_ft3,
    )
    height = (exposed_in + pier_depth_in) / IN_PER_FT
    left = np.maximum(bearing_psf + dug_psf - height * concrete_lb_ft3, 1)
    straight = bearing.footing_diameter_in(support_load_lb, left)
    return where_kind(option_kind, ON_PIERS, np.where(footing_used_in > 0, wide, straight))


@STANDING.row(
    "Thickness that the spread footing asks for",
    "in",
    fmt="0.0",
    source="IRC R403.1.1: as thick as it spreads (from memory), {6 in} at least",
)
def footing_thick_needed_in(option_kind: Q, footing_diameter_used_in: Q, pier_diameter_in: Q) -> Q:
    needed = bearing.footing_thickness_in(footing_diameter_used_in, pier_diameter_in)
    return where_kind(option_kind, ON_PIERS, np.where(footing_diameter_used_in > 0, needed, 0))


@STANDING.row("Tallest support above ground", "in", fmt="0.0")
def support_rise_most_in(support_rise_in: Q) -> Q:
    return np.max(support_rise_in)


STANDING.section("Holes, concrete, blocks")


@STANDING.row(
    "Holes",
    "yd3",
    note="Straight-sided at the footing's diameter, or the block's bed; the edges of a slab.",
)
def hole_yd3(
    option_kind: Q,
    support_count: Q,
    support_ft2: Q,
    pier_depth_in: Q,
    block_pad_in: Q,
    support_on: Q,
    support_dig_in: Q,
    more_cases: MoreCases,
) -> Q:
    piers = support_count * support_ft2 * pier_depth_in / IN_PER_FT
    beds = (block_pad_in / IN_PER_FT) ** 2 * np.sum(support_on * support_dig_in) / IN_PER_FT
    holes = {ON_PIERS: piers / FT3_PER_YD3, ON_BLOCKS: beds / FT3_PER_YD3, PADS: 0}
    return by_kind(option_kind, holes, more_cases)


@STANDING.row(
    "Backfill round piers and blocks", "yd3", note="Holes less what stands in them; tamped soil."
)
def backfill_yd3(
    option_kind: Q,
    hole_yd3: Q,
    support_count: Q,
    pier_depth_in: Q,
    pier_diameter_in: Q,
    footing_diameter_used_in: Q,
    footing_thick_in: Q,
    support_on: Q,
    support_dig_in: Q,
    block_bed_in: Q,
    block_side_in: Q,
    block_pad_in: Q,
    more_cases: MoreCases,
) -> Q:
    footing = np.where(footing_diameter_used_in > 0, footing_thick_in, 0)
    pier = np.pi / 4 * (pier_diameter_in / IN_PER_FT) ** 2 * (pier_depth_in - footing)
    spread = np.pi / 4 * (footing_diameter_used_in / IN_PER_FT) ** 2 * footing
    cast = support_count * (pier + spread) / IN_PER_FT
    bed = (block_pad_in / IN_PER_FT) ** 2 * support_count * block_bed_in
    buried = np.sum(support_on * support_dig_in) - support_count * block_bed_in
    stacks = (bed + (block_side_in / IN_PER_FT) ** 2 * buried) / IN_PER_FT
    left = {
        ON_PIERS: np.maximum(hole_yd3 - cast / FT3_PER_YD3, 0),
        ON_BLOCKS: np.maximum(hole_yd3 - stacks / FT3_PER_YD3, 0),
        GRADED: 0,
    }
    return by_kind(option_kind, left, more_cases)


@STANDING.row(
    "Length of piers in all", "ft", fmt="0.0", note="From the footing's top to the cut-off."
)
def pier_run_ft(
    option_kind: Q,
    support_on: Q,
    support_rise_in: Q,
    support_count: Q,
    pier_depth_in: Q,
    footing_diameter_used_in: Q,
    footing_thick_in: Q,
) -> Q:
    footing = np.where(footing_diameter_used_in > 0, footing_thick_in, 0)
    run = np.sum(support_on * support_rise_in) + support_count * (pier_depth_in - footing)
    return where_kind(option_kind, ON_PIERS, run / IN_PER_FT)


@STANDING.row("Tallest pier", "ft", note="From the footing's top to the cut-off.")
def pier_longest_ft(
    option_kind: Q,
    support_rise_most_in: Q,
    pier_depth_in: Q,
    footing_diameter_used_in: Q,
    footing_thick_in: Q,
) -> Q:
    footing = np.where(footing_diameter_used_in > 0, footing_thick_in, 0)
    longest = (support_rise_most_in + pier_depth_in - footing) / IN_PER_FT
    return where_kind(option_kind, ON_PIERS, longest)


@STANDING.row("Concrete", "yd3", note="Cylinders of piers and footings, or a slab with its edge.")
def concrete_yd3(
    option_kind: Q,
    pier_run_ft: Q,
    pier_diameter_in: Q,
    support_count: Q,
    footing_diameter_used_in: Q,
    footing_thick_in: Q,
    more_cases: MoreCases,
) -> Q:
    pier = np.pi / 4 * (pier_diameter_in / IN_PER_FT) ** 2 * pier_run_ft
    footing = np.pi / 4 * (footing_diameter_used_in / IN_PER_FT) ** 2 * footing_thick_in / IN_PER_FT
    concrete = (pier + support_count * footing) / FT3_PER_YD3
    return by_kind(option_kind, {ON_PIERS: concrete, UNCAST: 0}, more_cases)


@STANDING.row("Blocks", "pieces", fmt="0", note="Side by side in each course of every stack.")
def block_count(option_kind: Q, support_on: Q, support_blocks: Q, blocks_a_course: Q) -> Q:
    courses = np.sum(support_on * support_blocks)
    return where_kind(option_kind, ON_BLOCKS, courses * blocks_a_course)


@STANDING.row(
    "Of them beside or on the first of a stack",
    "pieces",
    fmt="0",
    note="Set faster than the first, with which the bed is levelled.",
)
def block_upper_count(option_kind: Q, block_count: Q, support_count: Q) -> Q:
    return where_kind(option_kind, ON_BLOCKS, block_count - support_count)


@STANDING.row("A block weighs", "lb", fmt="0")
def block_lb(option_kind: Q, block_item: Q, item_name: Q, item_lb: Q) -> Q:
    return where_kind(option_kind, ON_BLOCKS, lookup(block_item, item_name, item_lb, 0))


@STANDING.row(
    "Steel bars",
    "ft",
    fmt="0.0",
    source="ACI 318 20.6.1.3, {3 in} of cover against the ground (read in a program's table)",
    note="Bars run the pier, covered at both ends.",
)
def bar_run_ft(
    bars_per_pier: Q,
    pier_run_ft: Q,
    support_count: Q,
    footing_thick_in: Q,
    footing_diameter_used_in: Q,
) -> Q:
    footing = np.where(footing_diameter_used_in > 0, footing_thick_in, 0) / IN_PER_FT
    length = pier_run_ft + support_count * (footing - 2 * BAR_COVER_IN / IN_PER_FT)
    return bars_per_pier * np.maximum(length, 0)


@STANDING.row(
    "Tube forms come as",
    kind="text",
    note="Where Prices has no tube of the pier's diameter: the key that its line would have, tube_ and {inches|millimetres}.",
)
def tube_item(option_kind: Q, pier_diameter_in: Q, item_key: Q, item_name: Q) -> Q:
    key = join("tube_", size(pier_diameter_in, "in", "0"))
    return where_kind(option_kind, ON_PIERS, lookup(key, item_key, item_name, key), "")


@STANDING.row(
    "Tube forms",
    "ft",
    fmt="0.0",
    note="Whole tubes: as many piers from each as the tallest allows; a taller one joins several.",
)
def tube_ft(support_count: Q, pier_longest_ft: Q, tube_item: Q, item_name: Q, item_pack: Q) -> Q:
    tube = lookup(tube_item, item_name, item_pack, 1)
    return _whole(support_count, pier_longest_ft, tube)


@STANDING.row("Length of a bar", "ft", note="Down the tallest pier, covered at both ends.")
def bar_length_ft(pier_longest_ft: Q, footing_diameter_used_in: Q, footing_thick_in: Q) -> Q:
    footing = np.where(footing_diameter_used_in > 0, footing_thick_in, 0) / IN_PER_FT
    return np.maximum(pier_longest_ft + footing - 2 * BAR_COVER_IN / IN_PER_FT, 0)


@STANDING.row("Steel bars as the yard sells them", "ft", fmt="0.0")
def bar_stock_ft(item_key: Q, item_pack: Q) -> Q:
    return lookup(BAR_ITEM, item_key, item_pack, 1)


@STANDING.row(
    "Steel bars",
    "ft",
    fmt="0.0",
    note="Whole bars: as many lengths from each as the tallest pier allows.",
)
def bar_ft(support_count: Q, bars_per_pier: Q, bar_length_ft: Q, bar_stock_ft: Q) -> Q:
    return _whole(support_count * bars_per_pier, bar_length_ft, bar_stock_ft)


def _whole(count: Q, length: Q, stock: Q) -> Q:
    """Length to buy, in whole stock lengths, for ``count`` pieces of one length."""
    each = np.floor(stock / (length + np.where(length > 0, 0, stock)))
    several = count * np.ceil(length / stock)
    whole = np.where(each >= 1, np.ceil(count / np.maximum(each, 1)), several)
    return np.where(length > 0, whole * stock, 0)


STANDING.adds(
    Weight(key="block", label="Block", fresh="block_lb"),
    Need(key="tube", label="Tube forms", item="tube_item", quantity="tube_ft"),
    Need(key="bar", label="Steel bars", item=Fixed(BAR_ITEM), quantity="bar_ft"),
    Need(key="base", label="Beam bases", item=Fixed("beam_base"), quantity="support_count"),
    Need(key="block", label="Blocks", item="block_item", quantity="block_count"),
)


@STANDING.row(
    "Places that stand less deep than a waiver of frost leaves",
    "places",
    fmt="0",
    note="Feet of piers, beds of stacks, a pad's stone at the low ground, edges of a slab; below undisturbed ground.",
)
def shallow_places(
    option_kind: Q,
    frost_least_in: Q,
    pier_depth_in: Q,
    support_count: Q,
    support_on: Q,
    support_dig_in: Q,
    ground_low_ft: Q,
    subgrade_ft: Q,
    slab_below_in: Q,
    more_cases: MoreCases,
) -> Q:
    piers = np.where(pier_depth_in < frost_least_in, support_count, 0)
    stacks = np.sum(np.where((support_on > 0) & (support_dig_in < frost_least_in), 1, 0))
    pad_in = (ground_low_ft - subgrade_ft) * IN_PER_FT
    pads = np.where(pad_in < frost_least_in, 1, 0)
    slabs = np.where(slab_below_in < frost_least_in, 1, 0)
    cases = {ON_PIERS: piers, ON_BLOCKS: stacks, PADS: pads, FLOORS: slabs}
    return by_kind(option_kind, cases, more_cases)


@check(
    STANDING,
    "Frost",
    mend="least_depth_in",
    hazard="frost",
    source="IRC R403.1.4 and R403.1.4.1, from memory: frost is waived for small and light buildings with low eaves, the least depth is not",
)
def check_frost(pier_depth_in: Q, frost_depth_in: Q, frost_waived: Q, shallow_places: Q) -> Q:
    deep = pier_depth_in >= frost_depth_in
    shallow = (frost_waived == 1) & (shallow_places > 0)
    return np.where(
        (frost_waived == 0) & ~deep,
        "LOOK: does not reach below frost; ask whether that is allowed",
        np.where(
            shallow,
            "LOOK: frost is waived, {12 in} below undisturbed ground are not; ask whether less is allowed",
            OK,
        ),
    )


@check(
    STANDING, "Height of supports", mend="pier_diameter_in", hazard="supports that lean or crack"
)
def check_supports(
    option_kind: Q,
    support_rise_most_in: Q,
    pier_diameter_in: Q,
    slender_most: Q,
    exposed_pier_in: Q,
    block_stack_in: Q,
) -> Q:
    pier = is_kind(option_kind, ON_PIERS)
    slender = pier & (support_rise_most_in > slender_most * pier_diameter_in)
    tall = pier & (support_rise_most_in > exposed_pier_in)
    stack = is_kind(option_kind, ON_BLOCKS) & (support_rise_most_in > block_stack_in)
    return np.where(
        slender,
        "FAIL: piers too slender for their height",
        np.where(
            tall,
            "LOOK: tall piers; brace them",
            np.where(stack, "FAIL: stacks of blocks too tall", OK),
        ),
    )


@check(
    STANDING,
    "Thickness of the footing",
    source="IRC R403.1.1, from memory",
    mend="footing_thick_in",
    hazard="supports that lean or crack",
)
def check_footing(footing_thick_in: Q, footing_thick_needed_in: Q) -> Q:
    return np.where(
        footing_thick_needed_in > footing_thick_in,
        "FAIL: the footing must be as thick as it spreads past the pier, and {6 in}",
        OK,
    )


@check(
    STANDING,
    "Stacks of blocks from the side",
    source="IRC R606.7 (2018) for hollow piers, from memory; statics",
    mend="block_side_in",
    hazard="lateral support of stacks",
)
def check_stacks(
    option_kind: Q,
    support_rise_most_in: Q,
    block_side_in: Q,
    stack_ratio_most: Q,
    friction: Q,
) -> Q:
    stack = is_kind(option_kind, ON_BLOCKS)
    slender = stack & (support_rise_most_in > stack_ratio_most * block_side_in)
    # Friction on top pushes with mu P at the stack's height, its load P holds at half its side.
    tips = stack & (friction * support_rise_most_in > block_side_in / 2)
    return np.where(
        slender,
        "FAIL: dry stacks too slender to stand without support from the side",
        np.where(tips, "LOOK: stacks tip before beams slide on them; brace them or lower them", OK),
    )
