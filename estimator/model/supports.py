"""Sheet Footings, third part: piers and blocks, their holes, concrete and steel."""

from __future__ import annotations

import numpy as np

from estimator.model.options import BLOCKS, PIERS
from estimator.model.skids import FOOTINGS
from estimator.solve import bearing
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q

__all__ = ["BAR_COVER_IN", "FOOTINGS"]

BAR_COVER_IN = 3.0

FOOTINGS.section("Supports")


@FOOTINGS.row("Supports", "pieces", fmt="0")
def support_count(support_rows_used: Q, supports_per_row_used: Q) -> Q:
    return support_rows_used * supports_per_row_used


@FOOTINGS.row("Rows apart", "ft")
def bay_across_ft(on_pad: Q, building_width_ft: Q, support_inset_in: Q, support_rows_used: Q) -> Q:
    clear = building_width_ft - 2 * support_inset_in / IN_PER_FT
    return np.where(on_pad == 1, 0, clear / np.maximum(support_rows_used - 1, 1))


@FOOTINGS.row("Supports apart in a row", "ft", note="The beam's span.")
def bay_along_ft(on_pad: Q, building_length_ft: Q, supports_per_row_used: Q) -> Q:
    return np.where(on_pad == 1, 0, building_length_ft / np.maximum(supports_per_row_used - 1, 1))


@FOOTINGS.row(
    "Load on an outer beam",
    "plf",
    fmt="0",
    note="Two beams share walls and roof evenly; with more the joists lever on the next beam.",
)
def beam_outer_plf(
    on_pad: Q,
    support_rows_used: Q,
    bay_across_ft: Q,
    support_inset_in: Q,
    floor_psf: Q,
    wall_plf: Q,
    roof_plf: Q,
) -> Q:
    span = bay_across_ft + on_pad
    overhang = support_inset_in / IN_PER_FT
    across = bearing.overhang_tributary_ft(span, overhang)
    edge = (wall_plf + roof_plf) * np.where(support_rows_used > 2, (span + overhang) / span, 1)
    return np.where(on_pad == 1, 0, across * floor_psf + edge)


@FOOTINGS.row(
    "Load on an inner beam", "plf", fmt="0", note="Continuous joists lay a quarter more on it."
)
def beam_inner_plf(on_pad: Q, support_rows_used: Q, bay_across_ft: Q, floor_psf: Q) -> Q:
    return np.where((support_rows_used > 2) & (on_pad == 0), 1.25 * bay_across_ft * floor_psf, 0)


@FOOTINGS.row(
    "Load on the heaviest support",
    "lbf",
    fmt="#,##0",
    note="By tributary area, with the point load; a beam in one piece over three supports lays a quarter more on the middle one.",
)
def support_load_lb(
    on_pad: Q,
    beam_outer_plf: Q,
    beam_inner_plf: Q,
    bay_along_ft: Q,
    supports_per_row_used: Q,
    point_load_lb: Q,
) -> Q:
    load = np.maximum(beam_outer_plf, beam_inner_plf)
    shared = np.where(supports_per_row_used > 2, 1.25 * bay_along_ft, bay_along_ft / 2)
    return load * shared + np.where(on_pad == 1, 0, point_load_lb)


@FOOTINGS.row(
    "Depth of pier below ground",
    "in",
    fmt="0.0",
    note="Frost depth unless waived for the area; never less than the footing is thick.",
)
def pier_depth_in(
    option_kind: Q,
    least_depth_in: Q,
    frost_depth_in: Q,
    frost_free_area_ft2: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    footing_diameter_in: Q,
    footing_thick_in: Q,
) -> Q:
    waived = building_length_ft * building_width_ft <= frost_free_area_ft2
    depth = np.where(waived, least_depth_in, np.maximum(least_depth_in, frost_depth_in))
    footing = np.where(footing_diameter_in > 0, footing_thick_in, 0)
    return np.where(option_kind == PIERS, np.maximum(depth, footing), 0)


@FOOTINGS.row("Bearing area of a support", "ft2")
def support_ft2(
    option_kind: Q,
    pier_diameter_in: Q,
    footing_diameter_in: Q,
    block_side_in: Q,
    block_bed_in: Q,
    block_pad_in: Q,
) -> Q:
    diameter = np.maximum(pier_diameter_in, footing_diameter_in) / IN_PER_FT
    side = np.minimum(bearing.spread_in(block_side_in, block_bed_in), block_pad_in) / IN_PER_FT
    return np.where(
        option_kind == PIERS,
        np.pi / 4 * diameter**2,
        np.where(option_kind == BLOCKS, side**2, 0),
    )


@FOOTINGS.row("Weight of the tallest support", "lbf", fmt="0")
def support_own_lb(
    option_kind: Q,
    concrete_lb_ft3: Q,
    pier_diameter_in: Q,
    pier_depth_in: Q,
    exposed_in: Q,
    block_side_in: Q,
) -> Q:
    height = (exposed_in + pier_depth_in) / IN_PER_FT
    pier = np.pi / 4 * (pier_diameter_in / IN_PER_FT) ** 2
    block = (block_side_in / IN_PER_FT) ** 2
    area = np.where(option_kind == PIERS, pier, np.where(option_kind == BLOCKS, block, 0))
    return area * height * concrete_lb_ft3


@FOOTINGS.row("Pressure under the heaviest support", "psf", fmt="#,##0")
def support_psf(on_pad: Q, support_load_lb: Q, support_own_lb: Q, support_ft2: Q) -> Q:
    return (support_load_lb + support_own_lb) / (support_ft2 + np.where(on_pad == 1, 1, 0))


@FOOTINGS.row("Footing diameter that the load asks for", "in", fmt="0.0")
def footing_needed_in(option_kind: Q, support_load_lb: Q, support_own_lb: Q, bearing_psf: Q) -> Q:
    load = support_load_lb + support_own_lb
    return np.where(option_kind == PIERS, bearing.footing_diameter_in(load, bearing_psf), 0)


@FOOTINGS.row(
    "Thickness that the spread footing asks for",
    "in",
    fmt="0.0",
    source="IRC R403.1.1: as thick as it spreads (from memory), {6 in} at least",
)
def footing_thick_needed_in(option_kind: Q, footing_diameter_in: Q, pier_diameter_in: Q) -> Q:
    needed = bearing.footing_thickness_in(footing_diameter_in, pier_diameter_in)
    return np.where((option_kind == PIERS) & (footing_diameter_in > 0), needed, 0)


@FOOTINGS.row("Tallest support above ground", "in", fmt="0.0")
def support_rise_most_in(support_rise_in: Q) -> Q:
    return np.max(support_rise_in)


FOOTINGS.section("Holes, concrete, blocks")


@FOOTINGS.row("Holes", "yd3", note="Straight-sided at the footing's diameter, or the block's bed.")
def hole_yd3(
    option_kind: Q,
    support_count: Q,
    support_ft2: Q,
    pier_depth_in: Q,
    block_pad_in: Q,
    support_on: Q,
    support_dig_in: Q,
) -> Q:
    piers = support_count * support_ft2 * pier_depth_in / IN_PER_FT
    beds = (block_pad_in / IN_PER_FT) ** 2 * np.sum(support_on * support_dig_in) / IN_PER_FT
    holes = np.where(option_kind == PIERS, piers, np.where(option_kind == BLOCKS, beds, 0))
    return holes / FT3_PER_YD3


@FOOTINGS.row(
    "Backfill round piers and blocks", "yd3", note="Holes less what stands in them; tamped soil."
)
def backfill_yd3(
    option_kind: Q,
    hole_yd3: Q,
    support_count: Q,
    pier_depth_in: Q,
    pier_diameter_in: Q,
    footing_diameter_in: Q,
    footing_thick_in: Q,
    support_on: Q,
    support_dig_in: Q,
    block_bed_in: Q,
    block_side_in: Q,
    block_pad_in: Q,
) -> Q:
    footing = np.where(footing_diameter_in > 0, footing_thick_in, 0)
    pier = np.pi / 4 * (pier_diameter_in / IN_PER_FT) ** 2 * (pier_depth_in - footing)
    spread = np.pi / 4 * (footing_diameter_in / IN_PER_FT) ** 2 * footing
    cast = support_count * (pier + spread) / IN_PER_FT
    bed = (block_pad_in / IN_PER_FT) ** 2 * support_count * block_bed_in
    buried = np.sum(support_on * support_dig_in) - support_count * block_bed_in
    stacks = (bed + (block_side_in / IN_PER_FT) ** 2 * buried) / IN_PER_FT
    filled = np.where(option_kind == PIERS, cast, np.where(option_kind == BLOCKS, stacks, 0))
    return np.maximum(hole_yd3 - filled / FT3_PER_YD3, 0)


@FOOTINGS.row(
    "Length of piers in all", "ft", fmt="0.0", note="From the footing's top to the cut-off."
)
def pier_run_ft(
    option_kind: Q,
    support_on: Q,
    support_rise_in: Q,
    support_count: Q,
    pier_depth_in: Q,
    footing_diameter_in: Q,
    footing_thick_in: Q,
) -> Q:
    footing = np.where(footing_diameter_in > 0, footing_thick_in, 0)
    run = np.sum(support_on * support_rise_in) + support_count * (pier_depth_in - footing)
    return np.where(option_kind == PIERS, run / IN_PER_FT, 0)


@FOOTINGS.row("Tallest pier", "ft", note="From the footing's top to the cut-off.")
def pier_longest_ft(
    option_kind: Q,
    support_rise_most_in: Q,
    pier_depth_in: Q,
    footing_diameter_in: Q,
    footing_thick_in: Q,
) -> Q:
    footing = np.where(footing_diameter_in > 0, footing_thick_in, 0)
    longest = (support_rise_most_in + pier_depth_in - footing) / IN_PER_FT
    return np.where(option_kind == PIERS, longest, 0)


@FOOTINGS.row("Concrete", "yd3", note="Cylinders of piers and footings.")
def concrete_yd3(
    option_kind: Q,
    pier_run_ft: Q,
    pier_diameter_in: Q,
    support_count: Q,
    footing_diameter_in: Q,
    footing_thick_in: Q,
) -> Q:
    pier = np.pi / 4 * (pier_diameter_in / IN_PER_FT) ** 2 * pier_run_ft
    footing = np.pi / 4 * (footing_diameter_in / IN_PER_FT) ** 2 * footing_thick_in / IN_PER_FT
    return np.where(option_kind == PIERS, (pier + support_count * footing) / FT3_PER_YD3, 0)


@FOOTINGS.row("Blocks", "pieces", fmt="0")
def block_count(option_kind: Q, support_on: Q, support_blocks: Q) -> Q:
    return np.where(option_kind == BLOCKS, np.sum(support_on * support_blocks), 0)


@FOOTINGS.row(
    "Steel bars", "ft", fmt="0.0", note="Bars run the pier, {3 in} of cover at both ends."
)
def bar_run_ft(
    bars_per_pier: Q, pier_run_ft: Q, support_count: Q, footing_thick_in: Q, footing_diameter_in: Q
) -> Q:
    footing = np.where(footing_diameter_in > 0, footing_thick_in, 0) / IN_PER_FT
    length = pier_run_ft + support_count * (footing - 2 * BAR_COVER_IN / IN_PER_FT)
    return bars_per_pier * np.maximum(length, 0)
