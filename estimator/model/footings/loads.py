"""Sheet Footings: what the building weighs and the soil may carry."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import Weight
from estimator.model.kinds import JOISTED, where_kind
from estimator.rows import YES_OR_NO, Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

LOADS = Chapter()
STATICS = "Statics: load by the area that a member carries"
WEIGHTS = "Allowances of building weights on Factors (common practice, no source)"
IRC_BEARING = "IRC Table R401.4.1, by way of Soils on Factors"

LOADS.section("Loads")


@LOADS.row(
    "Floor, live and dead",
    "psf",
    fmt="0",
    source="ASCE 7-16 2.4.1, D + L (from memory); both on Job",
)
def floor_psf(floor_live_psf: Q, floor_dead_psf: Q) -> Q:
    return floor_live_psf + floor_dead_psf


@LOADS.row("Weight of the walls", "psf", fmt="0.0", source=WEIGHTS, note="Area of wall.")
def wall_psf(
    building_weight: Q,
    wall_dead_psf: Q,
    wall_light_psf: Q,
    wall_medium_psf: Q,
    wall_heavy_psf: Q,
) -> Q:
    listed = _by_weight(building_weight, wall_light_psf, wall_medium_psf, wall_heavy_psf)
    return np.where(building_weight == "typed", wall_dead_psf, listed)


@LOADS.row("Weight of the roof", "psf", fmt="0.0", source=WEIGHTS, note="In plan, without snow.")
def roof_psf(
    building_weight: Q,
    roof_dead_psf: Q,
    roof_light_psf: Q,
    roof_medium_psf: Q,
    roof_heavy_psf: Q,
) -> Q:
    listed = _by_weight(building_weight, roof_light_psf, roof_medium_psf, roof_heavy_psf)
    return np.where(building_weight == "typed", roof_dead_psf, listed)


def _by_weight(weight: Q, light: Q, medium: Q, heavy: Q) -> Q:
    return np.where(weight == "light", light, np.where(weight == "medium", medium, heavy))


@LOADS.row("Wall on a side under the eaves", "plf", fmt="0", source=STATICS)
def wall_plf(wall_height_ft: Q, wall_psf: Q) -> Q:
    return wall_height_ft * wall_psf


@LOADS.row(
    "Wall on a side under a gable",
    "plf",
    fmt="0",
    source=STATICS,
    note="At the ridge's height all along: more than a gable weighs, never less.",
)
def gable_plf(wall_height_ft: Q, roof_height_ft: Q, wall_psf: Q) -> Q:
    return (wall_height_ft + roof_height_ft) * wall_psf


@LOADS.row("Roof rests on front and back", fmt=YES_OR_NO, note="no where it rests on the ends.")
def roof_on_front(roof_bears_on: Q) -> Q:
    return np.where(roof_bears_on == "front and back", 1, 0)


@LOADS.row(
    "Roof on a side that it rests on",
    "plf",
    fmt="0",
    source=STATICS,
    note="Half of the roof on each of the two with its eave, its snow added whole.",
)
def roof_plf(
    roof_on_front: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    roof_eave_in: Q,
    roof_psf: Q,
    roof_snow_psf: Q,
) -> Q:
    run: Q = np.where(roof_on_front == 1, building_width_ft, building_length_ft)
    return (run / 2 + roof_eave_in / IN_PER_FT) * (roof_psf + roof_snow_psf)


@LOADS.row("Walls and roof on front and back", "plf", fmt="0", source=STATICS)
def side_plf(roof_on_front: Q, wall_plf: Q, gable_plf: Q, roof_plf: Q) -> Q:
    return np.where(roof_on_front == 1, wall_plf + roof_plf, gable_plf)


@LOADS.row(
    "Floor, dead", "lb", fmt="#,##0", source=STATICS, note="Of a floor frame; a slab has its own."
)
def floor_dead_lb(
    option_kind: Q, building_length_ft: Q, building_width_ft: Q, floor_dead_psf: Q
) -> Q:
    weight = building_length_ft * building_width_ft * floor_dead_psf
    return where_kind(option_kind, JOISTED, weight)


@LOADS.row("Walls, dead", "lb", fmt="#,##0", source=STATICS)
def wall_dead_lb(building_length_ft: Q, building_width_ft: Q, wall_plf: Q) -> Q:
    return 2 * (building_length_ft + building_width_ft) * wall_plf


@LOADS.row("Roof, dead", "lb", fmt="#,##0", source=STATICS)
def roof_dead_lb(building_length_ft: Q, building_width_ft: Q, roof_eave_in: Q, roof_psf: Q) -> Q:
    eaves = 2 * roof_eave_in / IN_PER_FT
    return (building_length_ft + eaves) * (building_width_ft + eaves) * roof_psf


@LOADS.row("Presumptive bearing of the soil", "psf", fmt="#,##0", source=IRC_BEARING)
def bearing_psf(soil: Q, soil_name: Q, soil_bearing_psf: Q) -> Q:
    return lookup(soil, soil_name, soil_bearing_psf)


LOADS.adds(
    Weight(key="floor", label="Floor", dead="floor_dead_lb", dry="floor_dead_lb"),
    Weight(key="walls", label="Walls", dead="wall_dead_lb", dry="wall_dead_lb"),
    Weight(key="roof", label="Roof", dead="roof_dead_lb", dry="roof_dead_lb"),
)
