"""Of the sheet Footings: vapour retarder, steel, joints and anchor bolts of a slab."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import Need
from estimator.model.footings import FOOTINGS
from estimator.model.footings.supports import BAR_ITEM
from estimator.model.footings.wind_screen import HELD
from estimator.model.slab.inputs import BARS, MESH, NONE
from estimator.solve import wind
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q

RETARDER_ITEM, MESH_ITEM, CHAIR_ITEM, BOLT_ITEM = (
    "vapour_retarder",
    "mesh_sheet",
    "bar_chair",
    "anchor_bolt",
)
BOLTS = "IRC R403.1.6, read in the American Wood Council's answer"

FOOTINGS.section("Vapour retarder and steel of the slab")


@FOOTINGS.row(
    "Vapour retarder",
    "ft2",
    fmt="0",
    source="IRC R506.2.3, read in quotations of the 2009 and 2012 codes: joints lapped",
    note="Whole strips, laid the way that takes less.",
)
def retarder_ft2(
    slab_on: Q,
    slab_retarder: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    retarder_roll_ft: Q,
    retarder_lap_in: Q,
) -> Q:
    along = _strips(building_width_ft, retarder_roll_ft, retarder_lap_in) * building_length_ft
    across = _strips(building_length_ft, retarder_roll_ft, retarder_lap_in) * building_width_ft
    used = slab_on * np.where(slab_retarder == "yes", 1, 0)
    return used * np.minimum(along, across) * retarder_roll_ft


def _strips(cover_ft: Q, width_ft: Q, lap_in: Q) -> Q:
    """Strips or sheets side by side that cover a width, lapped."""
    lap = lap_in / IN_PER_FT
    return np.maximum(np.ceil((cover_ft - lap) / np.maximum(width_ft - lap, 0.1)), 1)


@FOOTINGS.row("Length of the steel", "ft", fmt="0.0", note="Within the cover at the edges.")
def steel_long_ft(building_length_ft: Q, slab_cover_in: Q) -> Q:
    return building_length_ft - 2 * slab_cover_in / IN_PER_FT


@FOOTINGS.row("Width of the steel", "ft", fmt="0.0")
def steel_wide_ft(building_width_ft: Q, slab_cover_in: Q) -> Q:
    return building_width_ft - 2 * slab_cover_in / IN_PER_FT


@FOOTINGS.row(
    "Sheets of mesh",
    "sheets",
    fmt="0",
    source="ACI 318-14 25.5.4, plain wires: one space and {2 in} of lap (from memory)",
    note="Whole sheets, lapped, laid the way that takes fewer.",
)
def mesh_sheets(
    slab_on: Q,
    slab_steel: Q,
    steel_long_ft: Q,
    steel_wide_ft: Q,
    mesh_long_ft: Q,
    mesh_wide_ft: Q,
    mesh_lap_in: Q,
) -> Q:
    along = _strips(steel_long_ft, mesh_long_ft, mesh_lap_in) * _strips(
        steel_wide_ft, mesh_wide_ft, mesh_lap_in
    )
    across = _strips(steel_long_ft, mesh_wide_ft, mesh_lap_in) * _strips(
        steel_wide_ft, mesh_long_ft, mesh_lap_in
    )
    return slab_on * np.where(slab_steel == MESH, np.minimum(along, across), 0)


@FOOTINGS.row("Bars along the length", "bars", fmt="0")
def slab_bars_along(slab_on: Q, slab_steel: Q, steel_wide_ft: Q, slab_bar_spacing_in: Q) -> Q:
    lines = np.ceil(steel_wide_ft * IN_PER_FT / np.maximum(slab_bar_spacing_in, 1)) + 1
    return slab_on * np.where(slab_steel == BARS, lines, 0)


@FOOTINGS.row("Bars across", "bars", fmt="0")
def slab_bars_across(slab_on: Q, slab_steel: Q, steel_long_ft: Q, slab_bar_spacing_in: Q) -> Q:
    lines = np.ceil(steel_long_ft * IN_PER_FT / np.maximum(slab_bar_spacing_in, 1)) + 1
    return slab_on * np.where(slab_steel == BARS, lines, 0)


@FOOTINGS.row(
    "One bar round the edge", "ft", fmt="0.0", note="Bent round the corners, lapped once at each."
)
def edge_bar_ft(slab_on: Q, steel_long_ft: Q, steel_wide_ft: Q, slab_bar_lap_in: Q) -> Q:
    return slab_on * (2 * (steel_long_ft + steel_wide_ft) + 4 * slab_bar_lap_in / IN_PER_FT)


@FOOTINGS.row(
    "Steel bars of the slab",
    "ft",
    fmt="0.0",
    source="Laps on Factors",
    note="Whole bars: short ones several from each, long ones lapped.",
)
def slab_bar_ft(
    slab_bars_along: Q,
    slab_bars_across: Q,
    steel_long_ft: Q,
    steel_wide_ft: Q,
    slab_edge_bars: Q,
    edge_bar_ft: Q,
    bar_stock_ft: Q,
    slab_bar_lap_in: Q,
) -> Q:
    lap = slab_bar_lap_in / IN_PER_FT
    along = _bars(slab_bars_along, steel_long_ft, bar_stock_ft, lap)
    across = _bars(slab_bars_across, steel_wide_ft, bar_stock_ft, lap)
    ring = slab_edge_bars * np.ceil(edge_bar_ft / bar_stock_ft)
    return (along + across + ring) * bar_stock_ft


def _bars(count: Q, length_ft: Q, stock_ft: Q, lap_ft: Q) -> Q:
    """Whole bars for so many of one length."""
    each = np.floor(stock_ft / np.maximum(length_ft, 0.1))
    several = count * np.ceil((length_ft - lap_ft) / np.maximum(stock_ft - lap_ft, 0.1))
    return np.where(each >= 1, np.ceil(count / np.maximum(each, 1)), several)


@FOOTINGS.row("Steel bars in place", "ft", fmt="0.0")
def slab_bar_run_ft(
    slab_bars_along: Q,
    slab_bars_across: Q,
    steel_long_ft: Q,
    steel_wide_ft: Q,
    slab_edge_bars: Q,
    edge_bar_ft: Q,
) -> Q:
    field = slab_bars_along * steel_long_ft + slab_bars_across * steel_wide_ft
    return field + slab_edge_bars * edge_bar_ft


@FOOTINGS.row(
    "Supports under the steel",
    "pieces",
    fmt="0",
    source="IRC R506.2.4: steel is held in place while concrete is placed; read in EVstudio, Code Requirements for Concrete Slabs on Grade",
)
def chair_count(
    slab_on: Q, slab_steel: Q, building_length_ft: Q, building_width_ft: Q, chair_apart_ft: Q
) -> Q:
    chairs = np.ceil(building_length_ft / chair_apart_ft) * np.ceil(
        building_width_ft / chair_apart_ft
    )
    return slab_on * np.where(slab_steel == NONE, 0, chairs)


FOOTINGS.section("Joints and anchor bolts of the slab")


@FOOTINGS.row(
    "Control joints across the length",
    "joints",
    fmt="0",
    source="ACI 302.1R-96: 24 to 36 thicknesses apart, read in The Concrete Producer, which quotes it",
)
def joints_along(slab_on: Q, building_length_ft: Q, slab_thick_used_in: Q, joint_multiple: Q) -> Q:
    return slab_on * _joints(building_length_ft, slab_thick_used_in, joint_multiple)


@FOOTINGS.row("Control joints across the width", "joints", fmt="0")
def joints_across(slab_on: Q, building_width_ft: Q, slab_thick_used_in: Q, joint_multiple: Q) -> Q:
    return slab_on * _joints(building_width_ft, slab_thick_used_in, joint_multiple)


def _joints(length_ft: Q, thick_in: Q, multiple: Q) -> Q:
    apart = np.maximum(thick_in * multiple / IN_PER_FT, 0.5)
    return np.ceil(length_ft / apart) - 1


@FOOTINGS.row("Control joints in all", "ft", fmt="0.0", note="A quarter of the thickness deep.")
def joint_ft(joints_along: Q, joints_across: Q, building_length_ft: Q, building_width_ft: Q) -> Q:
    return joints_along * building_width_ft + joints_across * building_length_ft


@FOOTINGS.row(
    "Lift of the walls along front, and along back",
    "lbf",
    fmt="#,##0",
    source=HELD,
    note="Off the slab, whose weight holds the building down only through its bolts.",
)
def slab_lift_lb(slab_on: Q, lift_lb: Q, dry_load_lb: Q, slab_lb: Q) -> Q:
    return slab_on * wind.hold_down_lb(lift_lb, dry_load_lb - slab_lb)


@FOOTINGS.row(
    "Bolts along front, and along back, that the wind asks for",
    "pieces",
    fmt="0",
    source=HELD,
    note="For that lift and half of the wind's push, each as a bracket cast in; no friction counted.",
)
def bolts_asked(slab_on: Q, slab_lift_lb: Q, push_lb: Q, base_hold_lb: Q) -> Q:
    return slab_on * np.ceil((slab_lift_lb + push_lb / 2) / np.maximum(base_hold_lb, 1))


@FOOTINGS.row(
    "Bolts along front, and along back",
    "pieces",
    fmt="0",
    source=BOLTS,
    note="Each plate has one near both ends.",
)
def bolts_side(
    slab_on: Q,
    bolts_asked: Q,
    building_length_ft: Q,
    plate_ft: Q,
    bolt_apart_ft: Q,
    bolt_end_in: Q,
    bolts_each_plate: Q,
) -> Q:
    code = _bolts(building_length_ft, plate_ft, bolt_apart_ft, bolt_end_in, bolts_each_plate)
    return slab_on * np.maximum(code, bolts_asked)


@FOOTINGS.row(
    "Anchor bolts of the wall plates",
    "pieces",
    fmt="0",
    source=BOLTS,
    note="All four sides; two more where the door parts a plate.",
)
def bolt_count(
    slab_on: Q,
    bolts_side: Q,
    building_width_ft: Q,
    plate_ft: Q,
    bolt_apart_ft: Q,
    bolt_end_in: Q,
    bolts_each_plate: Q,
) -> Q:
    end = _bolts(building_width_ft, plate_ft, bolt_apart_ft, bolt_end_in, bolts_each_plate)
    return slab_on * (2 * (bolts_side + end) + bolts_each_plate)


def _bolts(side_ft: Q, plate_ft: Q, apart_ft: Q, end_in: Q, least: Q) -> Q:
    plates = np.ceil(side_ft / plate_ft)
    between = side_ft / plates - 2 * end_in / IN_PER_FT
    return plates * np.maximum(np.ceil(between / apart_ft) + 1, least)


FOOTINGS.adds(
    Need(
        key="retarder", label="Vapour retarder", item=Fixed(RETARDER_ITEM), quantity="retarder_ft2"
    ),
    Need(key="mesh", label="Steel mesh", item=Fixed(MESH_ITEM), quantity="mesh_sheets"),
    Need(
        key="slab_bar", label="Steel bars of the slab", item=Fixed(BAR_ITEM), quantity="slab_bar_ft"
    ),
    Need(key="chair", label="Supports under steel", item=Fixed(CHAIR_ITEM), quantity="chair_count"),
    Need(key="bolt", label="Anchor bolts", item=Fixed(BOLT_ITEM), quantity="bolt_count"),
)
