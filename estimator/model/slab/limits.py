"""Of the sheet Factors: limits of the code on slabs, sizes that yards sell, hours to build them."""

from __future__ import annotations

from estimator import reference
from estimator.inputs import Field
from estimator.model.factors import FACTORS
from estimator.model.usual import near_usual


def _limit(key: str, label: str, unit: str, high: float = 300, low: float = 0) -> None:
    row = reference.find("slab", key=key)
    note = f"{row.source}; {row.how_obtained}"
    default = row.number("value")
    field = Field(key, label, unit, "number", default, low, high, note=note, fmt="0.####")
    FACTORS.typed(near_usual(field), scope="job")


FACTORS.section("Slab on the ground: limits and habits")
_limit("slab_least_in", "Least thickness of a slab", "in", 12)
_limit("slab_usual_in", "Usual thickness of a slab", "in", 12, 1)
_limit("slab_base_least_in", "Least depth of the base of stone", "in", 24)
_limit("fill_stone_most_in", "Most fill of clean stone or sand under a slab", "in")
_limit("fill_earth_most_in", "Most fill of earth under a slab", "in")
_limit("edge_least_in", "Least width of an edge", "in", 60, 1)
_limit("edge_step_in", "Widths of an edge come in steps of", "in", 12, 0.1)
_limit("edge_depth_least_in", "Least depth of an edge below undisturbed ground", "in")
_limit("edge_slope_most", "Most slope of the bottom of an edge", "ft/ft", 1)
_limit("slab_above_least_in", "Top of a slab above the ground, least", "in", 48)
_limit("retarder_lap_in", "Lap of the vapour retarder", "in", 48)
_limit("retarder_roll_ft", "Width of its roll", "ft", 40, 1)
_limit("mesh_long_ft", "Length of a sheet of mesh", "ft", 40, 1)
_limit("mesh_wide_ft", "Width of a sheet of mesh", "ft", 20, 1)
_limit("mesh_lap_in", "Lap of mesh", "in", 48)
_limit("slab_bar_lap_in", "Lap of bars", "in", 60)
_limit("slab_cover_in", "Concrete over steel at the edges", "in", 12)
_limit("chair_apart_ft", "Supports under the steel, apart", "ft", 12, 0.5)
_limit("joint_multiple", "Control joints apart, in thicknesses of the slab", "-", 60, 1)
_limit("bolt_apart_ft", "Anchor bolts apart, most", "ft", 12, 0.5)
_limit("bolt_least_apart_ft", "Anchor bolts apart, least", "ft", 12)
_limit("bolt_end_in", "Anchor bolt from the end of a plate, most", "in", 48)
_limit("bolts_each_plate", "Anchor bolts in a plate, least", "pieces", 10)
_limit("plate_ft", "Longest wall plate in one piece", "ft", 60, 1)
_limit("stake_apart_ft", "Stakes of the forms, apart", "ft", 12, 0.5)
_limit("stake_below_in", "Stake in the ground", "in", 48)
_limit("slab_waste_more", "Waste of concrete in slabs beyond that of footings", "share", 1)
_limit("hand_mix_yd3", "Most concrete mixed by hand for one slab", "yd3", 30)
FACTORS.section("Slab on the ground: hours")
_limit("edge_form_h_ft2", "Set and strip forms, by their face", "h/ft2", 10)
_limit("retarder_h_ft2", "Lay the vapour retarder", "h/ft2", 10)
_limit("mesh_h_ft2", "Lay mesh on its supports", "h/ft2", 10)
_limit("finish_h_ft2", "Strike off, float and trowel", "h/ft2", 10)
_limit("joint_h_ft", "Tool a control joint", "h/ft", 10)
_limit("bolt_h", "Set an anchor bolt", "h each", 10)
