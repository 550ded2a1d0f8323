"""Sheet Footings: skids on stone."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import OK, check
from estimator.model.footings.continuity import MOMENTS
from estimator.model.footings.loads import STATICS
from estimator.model.kinds import PADS, where_kind
from estimator.rows import Chapter
from estimator.solve import bearing, design
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, as_text, join, lookup

SKIDS = Chapter()
SPREAD = "2 down to 1 out through the stone (common practice, no source)"
NDS_VALUES = "NDS 2018 Table 4.3.1, wet service, incised where treated so; design values on Factors"

SKIDS.section("Skids")


@SKIDS.row("Skid width", "in")
def skid_width_in(skid_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(skid_stock, stock_name, stock_width_in, 0)


@SKIDS.row("Skid depth", "in")
def skid_depth_in(skid_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(skid_stock, stock_name, stock_depth_in, 0)


@SKIDS.row("Skids on centre", "in", fmt="0.0")
def skid_spacing_in(building_width_ft: Q, skid_count_used: Q, skid_place: Q, skid_width_in: Q) -> Q:
    inset = np.where(skid_place == "flush", skid_width_in, 0)
    return (building_width_ft * IN_PER_FT - inset) / np.maximum(skid_count_used - 1, 1)


@SKIDS.row("Load on an outer skid", "plf", fmt="0", source=STATICS)
def skid_outer_plf(option_kind: Q, skid_spacing_in: Q, floor_psf: Q, side_plf: Q) -> Q:
    floor = skid_spacing_in / IN_PER_FT / 2 * floor_psf
    return where_kind(option_kind, PADS, floor + side_plf)


@SKIDS.row(
    "Load on an inner skid",
    "plf",
    fmt="0",
    source=f"{STATICS}; {MOMENTS}",
    note="Joists in one piece over it lay more on it than simple spans would.",
)
def skid_inner_plf(
    option_kind: Q,
    skid_count_used: Q,
    skid_spacing_in: Q,
    floor_psf: Q,
    joist_middle_share: Q,
) -> Q:
    load = joist_middle_share * skid_spacing_in / IN_PER_FT * floor_psf
    return where_kind(option_kind, PADS, np.where(skid_count_used > 2, load, 0))


@SKIDS.row("Load on the skid that bears most", "plf", fmt="0")
def skid_most_plf(skid_outer_plf: Q, skid_inner_plf: Q) -> Q:
    return np.maximum(skid_outer_plf, skid_inner_plf)


@SKIDS.row("Pressure under a skid", "psf", fmt="#,##0", source="Load over width")
def skid_pressure_psf(option_kind: Q, skid_most_plf: Q, skid_width_in: Q) -> Q:
    pressure = bearing.skid_pressure_psf(skid_most_plf, skid_width_in)
    return where_kind(option_kind, PADS, pressure)


@SKIDS.row(
    "Pressure on the soil below",
    "psf",
    fmt="#,##0",
    source=SPREAD,
    note="No wider than the skids stand apart, where strips meet; with the stone's own weight.",
)
def skid_soil_psf(
    option_kind: Q,
    skid_most_plf: Q,
    skid_width_in: Q,
    stone_depth_in: Q,
    skid_spacing_in: Q,
    stone_in_place_lb_ft3: Q,
    dug_psf: Q,
) -> Q:
    pressure = bearing.skid_pressure_on_soil_psf(
        skid_most_plf, skid_width_in, stone_depth_in, skid_spacing_in
    )
    stone = stone_depth_in / IN_PER_FT * stone_in_place_lb_ft3
    return where_kind(option_kind, PADS, pressure + stone - dug_psf)


@SKIDS.row(
    "Pressure on the stone under a point load",
    "psf",
    fmt="#,##0",
    source="45 degrees through the skid (common practice, no source)",
    note="The point load stands on the skid, on top of its other load.",
)
def skid_point_psf(
    option_kind: Q, skid_most_plf: Q, point_load_lb: Q, skid_width_in: Q, skid_depth_in: Q
) -> Q:
    pressure = bearing.skid_point_pressure_psf(
        skid_most_plf, point_load_lb, skid_width_in, skid_depth_in
    )
    return where_kind(option_kind, PADS, pressure)


@SKIDS.row("Wood of the skid", kind="text")
def skid_wood(species: Q, skid_stock: Q, stock_name: Q, stock_nominal: Q) -> Q:
    return join(species, " ", lookup(skid_stock, stock_name, stock_nominal, ""))


@SKIDS.row("Skid, bending value", "psi", fmt="#,##0", source=NDS_VALUES)
def skid_fb_psi(
    option_kind: Q,
    skid_wood: Q,
    wood_name: Q,
    wood_fb_psi: Q,
    wood_wet_fb: Q,
    incised: Q,
    incised_f: Q,
) -> Q:
    wet = lookup(skid_wood, wood_name, wood_wet_fb, 1)
    value = lookup(skid_wood, wood_name, wood_fb_psi, 1) * wet
    return where_kind(option_kind, PADS, value * (1 - incised * (1 - incised_f)))


@SKIDS.row("Skid, shear value", "psi", fmt="#,##0", source=NDS_VALUES)
def skid_fv_psi(
    option_kind: Q,
    skid_wood: Q,
    wood_name: Q,
    wood_fv_psi: Q,
    wood_wet_fv: Q,
    incised: Q,
    incised_f: Q,
) -> Q:
    wet = lookup(skid_wood, wood_name, wood_wet_fv, 1)
    value = lookup(skid_wood, wood_name, wood_fv_psi, 1) * wet
    return where_kind(option_kind, PADS, value * (1 - incised * (1 - incised_f)))


@SKIDS.row(
    "Skid, use in bending",
    "share",
    fmt="0%",
    source="NDS 2018 3.3.1, simple span between joists or over a soft spot, the longer",
    note="With the point load at mid-span.",
)
def skid_bending_use(
    option_kind: Q,
    joist_spacing_used_in: Q,
    skid_soft_ft: Q,
    skid_most_plf: Q,
    point_load_lb: Q,
    skid_width_in: Q,
    skid_depth_in: Q,
    skid_fb_psi: Q,
) -> Q:
    bay = joist_spacing_used_in / IN_PER_FT
    moment = bearing.skid_moment_lb_ft(skid_most_plf, bay, skid_soft_ft, point_load_lb)
    modulus = design.section_modulus_in3(skid_width_in, skid_depth_in)
    return where_kind(option_kind, PADS, design.bending_utilisation(moment, modulus, skid_fb_psi))


@SKIDS.row(
    "Skid, use in shear",
    "share",
    fmt="0%",
    source="NDS 2018 3.4.2, the same span",
    note="With the point load whole at the support.",
)
def skid_shear_use(
    option_kind: Q,
    joist_spacing_used_in: Q,
    skid_soft_ft: Q,
    skid_most_plf: Q,
    point_load_lb: Q,
    skid_width_in: Q,
    skid_depth_in: Q,
    skid_fv_psi: Q,
) -> Q:
    bay = joist_spacing_used_in / IN_PER_FT
    shear = bearing.skid_shear_lb(skid_most_plf, bay, skid_soft_ft, point_load_lb)
    area = design.section_area_in2(skid_width_in, skid_depth_in)
    return where_kind(option_kind, PADS, design.shear_utilisation(shear, area, skid_fv_psi))


@SKIDS.row(
    "Skid, greatest use of what it may carry",
    "share",
    fmt="0%",
    note="Bending and shear between joists or over a soft spot, with the point load.",
)
def skid_use(skid_bending_use: Q, skid_shear_use: Q) -> Q:
    return np.maximum(skid_bending_use, skid_shear_use)


@check(SKIDS, "Skids", mend="skid_stock", hazard="weak skids")
def check_skids(skid_use: Q) -> Q:
    return np.where(
        skid_use > 1,
        join("FAIL: skids used to ", as_text(100 * skid_use, "0"), " percent"),
        OK,
    )
