"""Sheet Footings, second part: skids on stone."""

from __future__ import annotations

import numpy as np

from estimator.model.loads import FOOTINGS
from estimator.solve import bearing, design
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, lookup

__all__ = ["FOOTINGS"]

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
