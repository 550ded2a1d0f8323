"""Of the sheet Footings: thickness and edges of a slab on the ground, its concrete and weight."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.model.adds import Weight
from estimator.model.footings import FOOTINGS
from estimator.model.grading import CORNERS, edge_in_fill_yd3
from estimator.model.kinds import FLOORS, where_kind
from estimator.model.slab.inputs import EDGE_MOST_IN
from estimator.rows import YES_OR_NO
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, pick

STATICS = "Statics: load over width, the edge's own weight and what lies on it"
GEOMETRY = "Geometry: straight from corner to corner"

FOOTINGS.section("Slab on the ground")


@FOOTINGS.row("Slab on the ground", fmt=YES_OR_NO, note="yes where the base is the floor itself.")
def slab_on(option_kind: Q) -> Q:
    return where_kind(option_kind, FLOORS, 1)


@FOOTINGS.row("Slab, thickness", "in", fmt="0.0", note="As typed, or the usual one on Factors.")
def slab_thick_used_in(slab_on: Q, slab_thick_in: Q, slab_usual_in: Q) -> Q:
    return slab_on * np.where(slab_thick_in > 0, slab_thick_in, slab_usual_in)


@FOOTINGS.row("Top of the slab", "ft", fmt="0.000", note="On the stone; its forms stand as high.")
def slab_top_ft(top_ft: Q, slab_thick_used_in: Q) -> Q:
    return top_ft + slab_thick_used_in / IN_PER_FT


@FOOTINGS.row(
    "Depth of the edge below the stripped ground",
    "in",
    fmt="0.0",
    source="IRC R403.1.4 and R403.1.4.1, read in copies of the code",
    note="Frost depth unless waived for the area.",
)
def slab_below_in(
    slab_on: Q,
    slab_edge_below_in: Q,
    edge_depth_least_in: Q,
    frost_depth_in: Q,
    frost_waived: Q,
) -> Q:
    least = np.where(slab_edge_below_in > 0, slab_edge_below_in, edge_depth_least_in)
    return slab_on * np.where(frost_waived == 1, least, np.maximum(least, frost_depth_in))


EDGES = FOOTINGS.table(
    "slab_corner",
    "Edge of the slab at its corners",
    CORNERS,
    "Corners as on Grading. The edge goes below the stripped ground, so it stands on undisturbed soil and not on fill.",
    index=True,
    shows=Appearance(workings=True),
)


@EDGES.column("Stripped ground", "ft", fmt="0.000", by_option=True)
def slab_ground_ft(
    slab_corner_no: Q,
    strip_ft: Q,
    ground_corner_1_ft: Q,
    ground_corner_2_ft: Q,
    ground_corner_3_ft: Q,
    ground_corner_4_ft: Q,
) -> Q:
    ground: Q = ground_corner_1_ft
    others = (ground_corner_2_ft, ground_corner_3_ft, ground_corner_4_ft)
    for number, height in enumerate(others, 2):
        ground = np.where(slab_corner_no == number, height, ground)
    return ground - strip_ft


@EDGES.column("Top of the slab above it", "in", fmt="0.0", by_option=True)
def slab_rise_in(slab_on: Q, slab_top_ft: Q, slab_ground_ft: Q) -> Q:
    return slab_on * np.maximum(slab_top_ft - slab_ground_ft, 0) * IN_PER_FT


@EDGES.column(
    "Edge, from the top of the slab to its bottom",
    "in",
    fmt="0.0",
    by_option=True,
    note="No less than its least depth where the slab lies in a cut.",
)
def slab_deep_in(slab_on: Q, slab_rise_in: Q, slab_below_in: Q) -> Q:
    return slab_on * (slab_rise_in + slab_below_in)


@EDGES.column("Face of the form", "in", fmt="0.0", by_option=True, note="Down to the ground.")
def slab_face_in(slab_thick_used_in: Q, slab_rise_in: Q) -> Q:
    return np.maximum(slab_thick_used_in, slab_rise_in)


@EDGES.column(
    "Stone that stands against the edge",
    "in",
    fmt="0.0",
    by_option=True,
    note="The base, and fill of stone under it: the inner face slopes one to one there.",
)
def slab_slope_in(
    slab_on: Q, stone_depth_in: Q, fill_with: Q, subgrade_ft: Q, slab_ground_ft: Q
) -> Q:
    fill = np.maximum(subgrade_ft - slab_ground_ft, 0) * IN_PER_FT
    return slab_on * (stone_depth_in + np.where(fill_with == "stone", fill, 0))


@EDGES.column("That slope in section", "ft2", fmt="0.000", by_option=True)
def slab_slope_ft2(slab_slope_in: Q) -> Q:
    return slab_slope_in**2 / 2 / IN_PER_FT**2


@EDGES.column(
    "Edge dug into the ground",
    "in",
    fmt="0.0",
    by_option=True,
    note="Below the subgrade, or below the stripped ground where that is lower.",
)
def slab_dig_in(
    slab_deep_in: Q, slab_top_ft: Q, subgrade_ft: Q, slab_ground_ft: Q, slab_on: Q
) -> Q:
    above = (slab_top_ft - np.minimum(subgrade_ft, slab_ground_ft)) * IN_PER_FT
    return slab_on * np.maximum(slab_deep_in - above, 0)


@EDGES.column("Edge of the chosen option", "in", fmt="0.0")
def slab_chosen_in(slab_deep_in: Q, chosen_no: Q) -> Q:
    return pick(slab_deep_in, chosen_no)


FOOTINGS.section("Edge and concrete of the slab")


@FOOTINGS.row("Deepest edge", "in", fmt="0.0", note="At the lowest ground.")
def slab_deepest_in(
    slab_on: Q, slab_top_ft: Q, ground_low_ft: Q, strip_ft: Q, slab_below_in: Q
) -> Q:
    rise = (slab_top_ft - ground_low_ft + strip_ft) * IN_PER_FT
    return slab_on * (np.maximum(rise, 0) + slab_below_in)


@FOOTINGS.row(
    "Wall and roof on an edge",
    "plf",
    fmt="0",
    source="Statics: on the side that carries most",
)
def slab_edge_plf(slab_on: Q, wall_plf: Q, roof_plf: Q, gable_plf: Q) -> Q:
    return slab_on * np.maximum(wall_plf + roof_plf, gable_plf)


@FOOTINGS.row(
    "Edge and floor over it",
    "psf",
    fmt="0",
    source=STATICS,
    note="Concrete at its deepest, and live load.",
)
def slab_over_edge_psf(
    slab_on: Q, slab_deepest_in: Q, concrete_lb_ft3: Q, floor_live_psf: Q, dug_psf: Q
) -> Q:
    return slab_on * (slab_deepest_in / IN_PER_FT * concrete_lb_ft3 + floor_live_psf - dug_psf)


@FOOTINGS.row(
    "Width of edge that the load asks for",
    "in",
    fmt="0.0",
    source=STATICS,
    note="Limited by the presumptive bearing of the soil.",
)
def slab_edge_needed_in(slab_edge_plf: Q, bearing_psf: Q, slab_over_edge_psf: Q) -> Q:
    return slab_edge_plf / np.maximum(bearing_psf - slab_over_edge_psf, 1) * IN_PER_FT


@FOOTINGS.row(
    "Edge, width at its bottom",
    "in",
    fmt="0.0",
    source="IRC Table R403.1 for the least, read in a copy of an older edition",
    note="As typed, or suggested: no less than asked for, in steps, up to what may be typed. Edges that meet in the middle are no wider.",
)
def slab_edge_used_in(
    slab_on: Q,
    slab_edge_in: Q,
    slab_edge_needed_in: Q,
    edge_least_in: Q,
    edge_step_in: Q,
    building_length_ft: Q,
    building_width_ft: Q,
) -> Q:
    asked = np.ceil(slab_edge_needed_in / edge_step_in) * edge_step_in
    suggested = np.minimum(np.maximum(asked, edge_least_in), EDGE_MOST_IN)
    wanted = np.where(slab_edge_in > 0, slab_edge_in, suggested)
    half = np.minimum(building_length_ft, building_width_ft) * IN_PER_FT / 2
    return slab_on * np.minimum(wanted, half)


@FOOTINGS.row("Pressure under the edge", "psf", fmt="#,##0", source=STATICS)
def slab_edge_psf(
    option_kind: Q, slab_edge_plf: Q, slab_edge_used_in: Q, slab_over_edge_psf: Q
) -> Q:
    wall = slab_edge_plf / slab_edge_used_in * IN_PER_FT
    return where_kind(option_kind, FLOORS, wall + slab_over_edge_psf)


@FOOTINGS.row(
    "Pressure under the slab",
    "psf",
    fmt="#,##0",
    source="Statics: slab, live load and the stone below",
)
def slab_field_psf(
    slab_on: Q,
    slab_thick_used_in: Q,
    concrete_lb_ft3: Q,
    floor_live_psf: Q,
    stone_depth_in: Q,
    stone_in_place_lb_ft3: Q,
    dug_psf: Q,
) -> Q:
    slab = slab_thick_used_in / IN_PER_FT * concrete_lb_ft3
    stone = stone_depth_in / IN_PER_FT * stone_in_place_lb_ft3
    return slab_on * (slab + stone + floor_live_psf - dug_psf)


@FOOTINGS.row("Greatest pressure of the slab", "psf", fmt="#,##0")
def slab_psf(slab_edge_psf: Q, slab_field_psf: Q) -> Q:
    return np.maximum(slab_edge_psf, slab_field_psf)


@FOOTINGS.row("Middle line of the edge", "ft", fmt="0.0", source=GEOMETRY)
def slab_edge_ft(
    slab_on: Q, building_length_ft: Q, building_width_ft: Q, slab_edge_used_in: Q
) -> Q:
    around = 2 * (building_length_ft + building_width_ft)
    return slab_on * (around - 4 * slab_edge_used_in / IN_PER_FT)


@FOOTINGS.row("Concrete of the slab without its edge", "yd3", source="Geometry")
def slab_plate_yd3(building_length_ft: Q, building_width_ft: Q, slab_thick_used_in: Q) -> Q:
    area = building_length_ft * building_width_ft
    return area * slab_thick_used_in / IN_PER_FT / FT3_PER_YD3


@FOOTINGS.row(
    "Concrete of the edge below it",
    "yd3",
    source=GEOMETRY,
    note="With the slope of its inner face beside stone.",
)
def slab_edge_yd3(
    slab_edge_ft: Q,
    slab_edge_used_in: Q,
    slab_deep_in: Q,
    slab_thick_used_in: Q,
    slab_slope_ft2: Q,
) -> Q:
    below = np.sum(slab_deep_in) / CORNERS - slab_thick_used_in
    section = slab_edge_used_in * np.maximum(below, 0) / IN_PER_FT**2
    return slab_edge_ft * (section + np.sum(slab_slope_ft2) / CORNERS) / FT3_PER_YD3


@FOOTINGS.row(
    "Stone whose place the edge takes",
    "yd3",
    source=GEOMETRY,
    note="Of the base, and of fill of stone under it; in place.",
)
def slab_stone_yd3(
    slab_edge_ft: Q,
    slab_edge_used_in: Q,
    slab_slope_in: Q,
    slab_deep_in: Q,
    slab_thick_used_in: Q,
    slab_slope_ft2: Q,
) -> Q:
    below = np.maximum(slab_deep_in - slab_thick_used_in, 0)
    beside = np.sum(np.minimum(slab_slope_in, below)) * slab_edge_used_in / IN_PER_FT**2
    return slab_edge_ft * (beside + np.sum(slab_slope_ft2)) / CORNERS / FT3_PER_YD3


@FOOTINGS.row(
    "Fill whose place the edge takes",
    "yd3",
    source=GEOMETRY,
    note="From the stripped ground up to the subgrade; the slope beside stone apart.",
)
def slab_fill_yd3(
    slab_on: Q, slab_edge_ft: Q, slab_edge_used_in: Q, subgrade_ft: Q, slab_ground_ft: Q
) -> Q:
    return slab_on * edge_in_fill_yd3(slab_edge_ft, slab_edge_used_in, subgrade_ft, slab_ground_ft)


@FOOTINGS.row(
    "Concrete to place",
    "yd3",
    source="Dagostino and Peterson, Estimating in Building Construction, ch. 10: waste of slabs",
    note="A base is never flat: with what slabs waste beyond footings.",
)
def slab_yd3(slab_plate_yd3: Q, slab_edge_yd3: Q, slab_waste_more: Q) -> Q:
    return (slab_plate_yd3 + slab_edge_yd3) * (1 + slab_waste_more)


@FOOTINGS.row(
    "Edge dug", "yd3", note="In place (bank), by hand; its spoil is in the earth on Grading."
)
def slab_trench_yd3(slab_edge_ft: Q, slab_edge_used_in: Q, slab_dig_in: Q) -> Q:
    deep = np.sum(slab_dig_in) / CORNERS / IN_PER_FT
    return slab_edge_ft * slab_edge_used_in / IN_PER_FT * deep / FT3_PER_YD3


@FOOTINGS.row("Weight of the slab", "lb", fmt="#,##0", source="Unit weight of concrete on Factors")
def slab_lb(slab_plate_yd3: Q, slab_edge_yd3: Q, concrete_lb_ft3: Q) -> Q:
    return (slab_plate_yd3 + slab_edge_yd3) * FT3_PER_YD3 * concrete_lb_ft3


FOOTINGS.adds(Weight(key="slab", label="Slab on the ground", dead="slab_lb", dry="slab_lb"))
