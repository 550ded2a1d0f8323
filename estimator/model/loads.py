"""Sheet Footings, first part: what the building weighs and the soil may carry."""

from __future__ import annotations

import numpy as np

from estimator.rows import Sheet
from estimator.vocabulary import Q, lookup

FOOTINGS = Sheet(
    "Footings",
    "Footings: loads, skids, piers, blocks and beams",
    "Allowable stress design and presumptive bearing. Local codes and licensed practice govern.",
)
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


@FOOTINGS.row("Building and contents", "lbf", fmt="#,##0")
def total_load_lb(
    building_length_ft: Q, building_width_ft: Q, floor_psf: Q, wall_plf: Q, roof_plf: Q
) -> Q:
    perimeter = 2 * (building_length_ft + building_width_ft)
    return (
        building_length_ft * building_width_ft * floor_psf
        + perimeter * wall_plf
        + 2 * building_length_ft * roof_plf
    )


@FOOTINGS.row("Dead load of the empty building", "lbf", fmt="#,##0")
def dead_load_lb(
    building_length_ft: Q, building_width_ft: Q, floor_dead_psf: Q, wall_plf: Q, roof_psf: Q
) -> Q:
    area = building_length_ft * building_width_ft
    perimeter = 2 * (building_length_ft + building_width_ft)
    return area * (floor_dead_psf + roof_psf) + perimeter * wall_plf


@FOOTINGS.row("Presumptive bearing of the soil", "psf", fmt="#,##0", source=IRC_BEARING)
def bearing_psf(soil: Q, soil_name: Q, soil_bearing_psf: Q, on_pad: Q) -> Q:
    return lookup(soil, soil_name, soil_bearing_psf) + 0 * on_pad
