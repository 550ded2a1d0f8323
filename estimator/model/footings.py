"""Sheet Footings: what carries the floor: loads, skids on stone, piers, blocks, beams."""

from __future__ import annotations

import numpy as np

from estimator.model.options import BLOCKS, PIERS
from estimator.rows import Sheet
from estimator.solve import bearing, design, wind
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, join, lookup

FOOTINGS = Sheet(
    "Footings",
    "Footings: loads, skids, piers, blocks and beams",
    "Allowable stress design and presumptive bearing. Local codes and licensed practice govern.",
)
SUPPORTS_MOST = 60
BAR_COVER_IN = 3.0
BEAM_BEARING_IN = 3.5
"""Length of a beam's bearing on its base (common practice, no source)."""
IRC_BEARING = "IRC Table R401.4.1, by way of Soils on Factors"

FOOTINGS.section("Loads")


@FOOTINGS.row("Floor, live and dead", "psf", fmt="0")
def floor_psf(floor_live_psf: Q, floor_dead_psf: Q, on_pad: Q) -> Q:
    return floor_live_psf + floor_dead_psf + 0 * on_pad


@FOOTINGS.row("Weight of the walls", "psf", fmt="0.0", note="Area of wall.")
def wall_psf(
    building_weight: Q,
    wall_dead_psf: Q,
    wall_light_psf: Q,
    wall_medium_psf: Q,
    wall_heavy_psf: Q,
    on_pad: Q,
) -> Q:
    listed = _by_weight(building_weight, wall_light_psf, wall_medium_psf, wall_heavy_psf)
    return np.where(building_weight == "typed", wall_dead_psf, listed) + 0 * on_pad


@FOOTINGS.row("Weight of the roof", "psf", fmt="0.0", note="In plan, without snow.")
def roof_psf(
    building_weight: Q,
    roof_dead_psf: Q,
    roof_light_psf: Q,
    roof_medium_psf: Q,
    roof_heavy_psf: Q,
    on_pad: Q,
) -> Q:
    listed = _by_weight(building_weight, roof_light_psf, roof_medium_psf, roof_heavy_psf)
    return np.where(building_weight == "typed", roof_dead_psf, listed) + 0 * on_pad


def _by_weight(weight: Q, light: Q, medium: Q, heavy: Q) -> Q:
    return np.where(weight == "light", light, np.where(weight == "medium", medium, heavy))


@FOOTINGS.row("Wall on a long side", "plf", fmt="0")
def wall_plf(wall_height_ft: Q, wall_psf: Q) -> Q:
    return wall_height_ft * wall_psf


@FOOTINGS.row("Roof on a long side", "plf", fmt="0", note="Half of the roof on each long side.")
def roof_plf(building_width_ft: Q, roof_psf: Q, roof_snow_psf: Q) -> Q:
    return building_width_ft / 2 * (roof_psf + roof_snow_psf)


@FOOTINGS.row("Building and contents", "lb", fmt="#,##0")
def total_load_lb(
    building_length_ft: Q, building_width_ft: Q, floor_psf: Q, wall_plf: Q, roof_plf: Q
) -> Q:
    perimeter = 2 * (building_length_ft + building_width_ft)
    return (
        building_length_ft * building_width_ft * floor_psf
        + perimeter * wall_plf
        + 2 * building_length_ft * roof_plf
    )


@FOOTINGS.row("Dead load of the empty building", "lb", fmt="#,##0")
def dead_load_lb(
    building_length_ft: Q, building_width_ft: Q, floor_dead_psf: Q, wall_plf: Q, roof_psf: Q
) -> Q:
    area = building_length_ft * building_width_ft
    perimeter = 2 * (building_length_ft + building_width_ft)
    return area * (floor_dead_psf + roof_psf) + perimeter * wall_plf


@FOOTINGS.row("Presumptive bearing of the soil", "psf", fmt="#,##0", source=IRC_BEARING)
def bearing_psf(soil: Q, soil_name: Q, soil_bearing_psf: Q, on_pad: Q) -> Q:
    return lookup(soil, soil_name, soil_bearing_psf) + 0 * on_pad


FOOTINGS.section("Skids")


@FOOTINGS.row("Skid width", "in")
def skid_width_in(skid_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(skid_stock, stock_name, stock_width_in, 0)


@FOOTINGS.row("Skid depth", "in")
def skid_depth_in(skid_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(skid_stock, stock_name, stock_depth_in, 0)


@FOOTINGS.row("Skids on centre", "in", fmt="0.0")
def skid_spacing_in(building_width_ft: Q, skid_count_used: Q, skid_place: Q, skid_width_in: Q) -> Q:
    inset = np.where(skid_place == "flush", skid_width_in, 0)
    return (building_width_ft * IN_PER_FT - inset) / np.maximum(skid_count_used - 1, 1)


@FOOTINGS.row("Load on an outer skid", "plf", fmt="0")
def skid_outer_plf(on_pad: Q, skid_spacing_in: Q, floor_psf: Q, wall_plf: Q, roof_plf: Q) -> Q:
    return on_pad * (skid_spacing_in / IN_PER_FT / 2 * floor_psf + wall_plf + roof_plf)


@FOOTINGS.row(
    "Load on an inner skid", "plf", fmt="0", note="Continuous joists lay a quarter more on it."
)
def skid_inner_plf(on_pad: Q, skid_count_used: Q, skid_spacing_in: Q, floor_psf: Q) -> Q:
    return np.where(skid_count_used > 2, on_pad * 1.25 * skid_spacing_in / IN_PER_FT * floor_psf, 0)


@FOOTINGS.row("Pressure under a skid", "psf", fmt="#,##0")
def skid_pressure_psf(on_pad: Q, skid_outer_plf: Q, skid_inner_plf: Q, skid_width_in: Q) -> Q:
    load = np.maximum(skid_outer_plf, skid_inner_plf)
    width = skid_width_in + np.where(on_pad == 1, 0, 1)
    return bearing.skid_pressure_psf(load, width)


@FOOTINGS.row(
    "Pressure on the soil below",
    "psf",
    fmt="#,##0",
    note="Spread 2 down to 1 out through the stone.",
)
def skid_soil_psf(
    on_pad: Q,
    skid_outer_plf: Q,
    skid_inner_plf: Q,
    skid_width_in: Q,
    stone_depth_in: Q,
    skid_spacing_in: Q,
) -> Q:
    load = np.maximum(skid_outer_plf, skid_inner_plf)
    width = skid_width_in + np.where(on_pad == 1, 0, 1)
    return bearing.skid_pressure_on_soil_psf(load, width, stone_depth_in, skid_spacing_in)


@FOOTINGS.row(
    "Pressure on the stone under a point load",
    "psf",
    fmt="#,##0",
    source="45 degrees through the skid (common practice, no source)",
    note="The point load stands on the skid, on top of its other load.",
)
def skid_point_psf(
    on_pad: Q,
    skid_outer_plf: Q,
    skid_inner_plf: Q,
    point_load_lb: Q,
    skid_width_in: Q,
    skid_depth_in: Q,
) -> Q:
    load = np.maximum(skid_outer_plf, skid_inner_plf)
    width = skid_width_in + np.where(on_pad == 1, 0, 1)
    pressure = bearing.skid_point_pressure_psf(load, point_load_lb, width, skid_depth_in)
    return np.where(on_pad == 1, pressure, 0)


@FOOTINGS.row("Wood of the skid", kind="text")
def skid_wood(species: Q, skid_stock: Q, stock_name: Q, stock_nominal: Q) -> Q:
    return join(species, " ", lookup(skid_stock, stock_name, stock_nominal, ""))


@FOOTINGS.row(
    "Skid, greatest use of what it may carry",
    "share",
    fmt="0%",
    source="NDS 2018 ch. 3 and 4, simple span over a soft spot, wet service, incised where treated so",
    note="Bending and shear between joists or over a soft spot, with the point load.",
)
def skid_use(
    on_pad: Q,
    skid_wood: Q,
    incised: Q,
    skid_width_in: Q,
    skid_depth_in: Q,
    joist_spacing_used_in: Q,
    skid_soft_ft: Q,
    skid_outer_plf: Q,
    skid_inner_plf: Q,
    point_load_lb: Q,
    wood_name: Q,
    wood_fb_psi: Q,
    wood_fv_psi: Q,
    wet_fb: Q,
    wet_fv: Q,
    incised_f: Q,
) -> Q:
    load = np.maximum(skid_outer_plf, skid_inner_plf)
    bay = joist_spacing_used_in / IN_PER_FT
    cut = 1 - incised * (1 - incised_f)
    width, depth = skid_width_in + 1 - on_pad, skid_depth_in + 1 - on_pad
    bending = design.bending_utilisation(
        bearing.skid_moment_lb_ft(load, bay, skid_soft_ft, point_load_lb),
        design.section_modulus_in3(width, depth),
        lookup(skid_wood, wood_name, wood_fb_psi, 1) * wet_fb * cut,
    )
    shear = design.shear_utilisation(
        bearing.skid_shear_lb(load, bay, skid_soft_ft, point_load_lb),
        design.section_area_in2(width, depth),
        lookup(skid_wood, wood_name, wood_fv_psi, 1) * wet_fv * cut,
    )
    return np.where(on_pad == 1, np.maximum(bending, shear), 0)


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
    "lb",
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


@FOOTINGS.row("Weight of the tallest support", "lb", fmt="0")
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
    source="IRC R403.1.1: as thick as it spreads (from memory), 6 in at least",
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


@FOOTINGS.row("Steel bars", "ft", fmt="0.0", note="Bars run the pier, 3 in of cover at both ends.")
def bar_run_ft(
    bars_per_pier: Q, pier_run_ft: Q, support_count: Q, footing_thick_in: Q, footing_diameter_in: Q
) -> Q:
    footing = np.where(footing_diameter_in > 0, footing_thick_in, 0) / IN_PER_FT
    length = pier_run_ft + support_count * (footing - 2 * BAR_COVER_IN / IN_PER_FT)
    return bars_per_pier * np.maximum(length, 0)


FOOTINGS.section("Beams")


@FOOTINGS.row("Beam board width", "in")
def beam_width_in(beam_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(beam_stock, stock_name, stock_width_in, 0)


@FOOTINGS.row("Beam depth", "in")
def beam_depth_in(beam_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(beam_stock, stock_name, stock_depth_in, 0)


@FOOTINGS.row("Wood of the beam", kind="text")
def beam_wood(species: Q, beam_stock: Q, stock_name: Q, stock_nominal: Q) -> Q:
    return join(species, " ", lookup(beam_stock, stock_name, stock_nominal, ""))


@FOOTINGS.row("Incised when treated", fmt="0")
def incised(species: Q, species_name: Q, species_incised: Q) -> Q:
    return np.where(lookup(species, species_name, species_incised) == "yes", 1, 0)


@FOOTINGS.row(
    "Beam, greatest use of what it may carry",
    "share",
    fmt="0%",
    source="NDS 2018 ch. 3 and 4, simple spans, wet service where treated",
)
def beam_use(
    on_pad: Q,
    beam_wood: Q,
    beam_stock: Q,
    stock_name: Q,
    stock_treated: Q,
    incised: Q,
    beam_width_in: Q,
    beam_depth_in: Q,
    beam_plies: Q,
    bay_along_ft: Q,
    beam_outer_plf: Q,
    beam_inner_plf: Q,
    support_load_lb: Q,
    point_load_lb: Q,
    floor_live_psf: Q,
    floor_psf: Q,
    wood_name: Q,
    wood_fb_psi: Q,
    wood_fv_psi: Q,
    wood_fc_psi: Q,
    wood_e_psi: Q,
    wet_fb: Q,
    wet_fv: Q,
    wet_fc: Q,
    wet_e: Q,
    incised_f: Q,
    incised_e: Q,
    live_ratio: Q,
    total_ratio: Q,
) -> Q:
    treated = np.where(lookup(beam_stock, stock_name, stock_treated, "no") == "yes", 1, 0)
    cut = treated * incised
    load = np.maximum(beam_outer_plf, beam_inner_plf)
    live = load * floor_live_psf / floor_psf
    use = design.member_utilisation(
        beam_width_in * beam_plies + on_pad,
        beam_depth_in + on_pad,
        lookup(beam_wood, wood_name, wood_fb_psi, 1)
        * (1 - treated * (1 - wet_fb))
        * (1 - cut * (1 - incised_f)),
        lookup(beam_wood, wood_name, wood_fv_psi, 1)
        * (1 - treated * (1 - wet_fv))
        * (1 - cut * (1 - incised_f)),
        lookup(beam_wood, wood_name, wood_fc_psi, 1) * (1 - treated * (1 - wet_fc)),
        lookup(beam_wood, wood_name, wood_e_psi, 1)
        * (1 - treated * (1 - wet_e))
        * (1 - cut * (1 - incised_e)),
        bay_along_ft + on_pad,
        live,
        load - live,
        point_load_lb,
        BEAM_BEARING_IN,
        live_ratio,
        total_ratio,
        beam_depth_in,
        1.25,
    )
    on_support = design.bearing_utilisation(
        support_load_lb,
        beam_width_in * beam_plies + on_pad,
        BEAM_BEARING_IN,
        lookup(beam_wood, wood_name, wood_fc_psi, 1) * (1 - treated * (1 - wet_fc)),
    )
    return np.where(on_pad == 1, 0, np.maximum(use, on_support))


FOOTINGS.section("Wind (screening)")


@FOOTINGS.row(
    "Wind force on the long side",
    "lb",
    fmt="#,##0",
    note="A screen for light buildings, not a design.",
)
def wind_lb(
    wind_mph: Q,
    wind_coefficient: Q,
    building_length_ft: Q,
    wall_height_ft: Q,
    roof_height_ft: Q,
    on_pad: Q,
) -> Q:
    area = building_length_ft * (wall_height_ft + roof_height_ft / 2)
    return (
        wind.wind_force_lb(wind.velocity_pressure_psf(wind_mph), wind_coefficient, area)
        + 0 * on_pad
    )


@FOOTINGS.row("Wind uplift on the roof", "lb", fmt="#,##0")
def uplift_lb(
    wind_mph: Q, uplift_coefficient: Q, building_length_ft: Q, building_width_ft: Q, on_pad: Q
) -> Q:
    area = building_length_ft * building_width_ft
    return (
        wind.wind_force_lb(wind.velocity_pressure_psf(wind_mph), uplift_coefficient, area)
        + 0 * on_pad
    )


@FOOTINGS.row("Sliding: force over what holds", "share", fmt="0%")
def sliding_use(wind_lb: Q, dead_load_lb: Q, uplift_lb: Q, friction: Q) -> Q:
    return wind.sliding_ratio(wind_lb, dead_load_lb, uplift_lb, friction)


@FOOTINGS.row(
    "Overturning: over what holds",
    "share",
    fmt="0%",
    note="About the lee edge of the skids or beams, where they stand on the base.",
)
def overturning_use(
    wind_lb: Q,
    wall_height_ft: Q,
    roof_height_ft: Q,
    floor_top_ft: Q,
    top_ft: Q,
    uplift_lb: Q,
    dead_load_lb: Q,
    building_width_ft: Q,
    support_inset_in: Q,
) -> Q:
    arm = (wall_height_ft + roof_height_ft / 2) / 2 + floor_top_ft - top_ft
    base = building_width_ft - 2 * support_inset_in / IN_PER_FT
    return wind.overturning_ratio(wind_lb, arm, uplift_lb, dead_load_lb, base)


@FOOTINGS.row("Uplift: suction on the roof over what holds", "share", fmt="0%")
def uplift_use(uplift_lb: Q, dead_load_lb: Q) -> Q:
    return wind.uplift_ratio(uplift_lb, dead_load_lb)


@FOOTINGS.row(
    "Hold-down that each long side needs",
    "lb",
    fmt="#,##0",
    note="Against overturning and uplift; hardware of the bases, or anchors, must give it.",
)
def hold_down_lb(
    wind_lb: Q,
    wall_height_ft: Q,
    roof_height_ft: Q,
    floor_top_ft: Q,
    top_ft: Q,
    uplift_lb: Q,
    dead_load_lb: Q,
    building_width_ft: Q,
    support_inset_in: Q,
) -> Q:
    arm = (wall_height_ft + roof_height_ft / 2) / 2 + floor_top_ft - top_ft
    base = building_width_ft - 2 * support_inset_in / IN_PER_FT
    return wind.hold_down_lb(wind_lb, arm, uplift_lb, dead_load_lb, base)


@FOOTINGS.row("Hold against sliding that friction lacks", "lb", fmt="#,##0")
def sliding_lack_lb(wind_lb: Q, dead_load_lb: Q, uplift_lb: Q, friction: Q) -> Q:
    return wind.sliding_anchor_lb(wind_lb, dead_load_lb, uplift_lb, friction)


@FOOTINGS.row(
    "Anchors",
    "pieces",
    fmt="0",
    source="common practice, no source",
    note="As many a side as hold-down and half the sliding ask for, two at least; supports are held by their bases.",
)
def anchor_count(
    on_pad: Q,
    sliding_use: Q,
    overturning_use: Q,
    uplift_use: Q,
    hold_down_lb: Q,
    sliding_lack_lb: Q,
    anchor_lb: Q,
) -> Q:
    moves = (sliding_use > 1) | (overturning_use > 1) | (uplift_use > 1)
    hold = np.maximum(anchor_lb, 1)
    side = np.maximum(np.ceil((hold_down_lb + sliding_lack_lb / 2) / hold), 2)
    return np.where((on_pad == 1) & moves, 2 * side, 0)


FOOTINGS.section("Hours")


@FOOTINGS.row("Set skids", "h", fmt="0.0")
def skid_hours(skid_count_used: Q, building_length_ft: Q, skid_h_ft: Q) -> Q:
    return skid_count_used * building_length_ft * skid_h_ft


@FOOTINGS.row("Set anchors", "h", fmt="0.0")
def anchor_hours(anchor_count: Q, anchor_h: Q) -> Q:
    return anchor_count * anchor_h


@FOOTINGS.row("Forms, steel, concrete, blocks", "h", fmt="0.0")
def support_hours(
    option_kind: Q,
    support_count: Q,
    form_h: Q,
    bag_count: Q,
    bag_h: Q,
    ready_mix_yd3: Q,
    readymix_h_yd3: Q,
    block_count: Q,
    block_h: Q,
    bar_run_ft: Q,
    bar_lb_ft: Q,
    steel_h_lb: Q,
) -> Q:
    forms = np.where(option_kind == PIERS, support_count * form_h, 0)
    steel = bar_run_ft * bar_lb_ft * steel_h_lb
    concrete = bag_count * bag_h + ready_mix_yd3 * readymix_h_yd3
    return forms + steel + concrete + block_count * block_h


@FOOTINGS.row("Build beams", "h", fmt="0.0")
def beam_hours(support_rows_used: Q, building_length_ft: Q, beam_h_ft: Q) -> Q:
    return support_rows_used * building_length_ft * beam_h_ft


TABLE = FOOTINGS.table(
    "support",
    "Supports, each at its own spot",
    SUPPORTS_MOST,
    "Measured from corner 1 of the building along the front and back from it.",
)
TABLE.solved("support_on", "In use", solver="ground", fmt="0", by_option=True)
TABLE.solved("support_x_ft", "Along the front", "ft", solver="ground", by_option=True)
TABLE.solved("support_y_ft", "Back from the front", "ft", solver="ground", by_option=True)
TABLE.solved("support_ground_ft", "Ground", "ft", solver="ground", fmt="0.000", by_option=True)


@TABLE.column("Top above ground", "in", fmt="0.0", by_option=True)
def support_rise_in(support_on: Q, top_ft: Q, support_ground_ft: Q) -> Q:
    return np.where(support_on > 0, (top_ft - support_ground_ft) * IN_PER_FT, 0)


@TABLE.column("Blocks", "pieces", fmt="0", by_option=True)
def support_blocks(option_kind: Q, support_on: Q, support_rise_in: Q, block_height_in: Q) -> Q:
    height = block_height_in + np.where(option_kind == BLOCKS, 0, 1)
    stack = np.maximum(np.ceil(support_rise_in / height), 1)
    return np.where((option_kind == BLOCKS) & (support_on > 0), stack, 0)


@TABLE.column(
    "Dig below ground",
    "in",
    fmt="0.0",
    by_option=True,
    note="Whole blocks are lowered until their tops are level.",
)
def support_dig_in(
    option_kind: Q,
    support_on: Q,
    support_blocks: Q,
    block_height_in: Q,
    support_rise_in: Q,
    block_bed_in: Q,
    pier_depth_in: Q,
) -> Q:
    bed = block_bed_in + support_blocks * block_height_in - support_rise_in
    return np.where(support_on > 0, np.where(option_kind == BLOCKS, bed, pier_depth_in), 0)
