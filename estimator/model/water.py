"""Of the sheet Aggregate: fall of the ground beside the base, swale or drain uphill, outlet of a framed pad."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import OK, Hours, Need, check
from estimator.model.kinds import TIMBERED, is_kind
from estimator.rows import YES_OR_NO, Chapter
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, join, lookup, nth

WATER = Chapter()
"""The ground has to fall away; where it comes down toward the base, water is led round it."""
FALL_SOURCE = "IRC R401.3, limit on Factors"
PRACTICE = "common practice, no source"
SIDE_NAMES = ("front", "right", "back", "left")

WATER.section("Fall of the ground beside it")


@WATER.row("Least fall away from the base", "in", fmt="0.0", note="Negative: the ground rises.")
def least_fall_in(side_fall_in: Q) -> Q:
    return np.min(side_fall_in)


@WATER.row("Fall wanted", "in", fmt="0.0", source=FALL_SOURCE)
def fall_wanted_in(grade_fall_in: Q) -> Q:
    return grade_fall_in


@WATER.row("Uphill sides", kind="text", note="The ground comes down toward the base.")
def uphill_sides(side_uphill: Q) -> Q:
    words: list[Q] = []
    before: Q = 0
    for number, name in enumerate(SIDE_NAMES, 1):
        here = nth(side_uphill, number)
        words.append(np.where(here == 1, np.where(before > 0, f", {name}", name), ""))
        before = before + here
    return join(*words)


@WATER.row("Uphill sides, length", "ft", fmt="0.0")
def uphill_ft(side_uphill: Q, side_length_ft: Q) -> Q:
    return np.sum(side_uphill * side_length_ft)


@WATER.row(
    "Soil to shape the other sides",
    "yd3",
    source=FALL_SOURCE,
    note="A wedge that takes the ground down to the fall wanted. Not in the hours: rake it with the spoil.",
)
def shape_yd3(side_uphill: Q, side_length_ft: Q, side_lacks_in: Q, grade_run_ft: Q) -> Q:
    wedge = np.sum((1 - side_uphill) * side_length_ft * side_lacks_in)
    return wedge / IN_PER_FT * grade_run_ft / 2 / FT3_PER_YD3


WATER.section("Swale or stone drain uphill")


@WATER.row(
    "Length",
    "ft",
    fmt="0.0",
    source=PRACTICE,
    note="Along the uphill sides of a pad and past both ends.",
)
def uphill_run_ft(on_pad: Q, uphill_ft: Q, uphill_water: Q, swale_past_ft: Q) -> Q:
    wanted = (on_pad == 1) & (uphill_ft > 0) & (uphill_water != "none")
    return np.where(wanted, uphill_ft + 2 * swale_past_ft, 0)


@WATER.row("Swale, dug", "yd3", source=PRACTICE, note="Bank; laid as a bank on its lower side.")
def swale_yd3(uphill_water: Q, uphill_run_ft: Q, swale_width_in: Q, swale_depth_in: Q) -> Q:
    section = swale_width_in * swale_depth_in / 2 / IN_PER_FT**2
    return np.where(uphill_water == "swale", uphill_run_ft * section / FT3_PER_YD3, 0)


@WATER.row("Stone drain", "ft", fmt="0.0")
def drain_ft(uphill_water: Q, uphill_run_ft: Q) -> Q:
    return np.where(uphill_water == "stone drain", uphill_run_ft, 0)


@WATER.row(
    "Fabric round the drain",
    "in",
    fmt="0",
    source=PRACTICE,
    note="Width of the strip: all round, with a lap.",
)
def drain_wrap_in(drain_ft: Q, drain_width_in: Q, drain_depth_in: Q, overlap_in: Q) -> Q:
    return np.where(drain_ft > 0, 2 * (drain_width_in + drain_depth_in) + overlap_in, 0)


@WATER.row("Rolls for it", "rolls", fmt="0", note="Of the fabric under the pad; none without it.")
def drain_rolls(
    drain_ft: Q,
    drain_wrap_in: Q,
    fabric_item: Q,
    roll_item: Q,
    roll_width_ft: Q,
    roll_length_ft: Q,
) -> Q:
    width = lookup(fabric_item, roll_item, roll_width_ft, 0)
    length = lookup(fabric_item, roll_item, roll_length_ft, 0)
    has = (drain_ft > 0) & (width > 0) & (length > 0)
    area = (width + np.where(width > 0, 0, 1)) * (length + np.where(length > 0, 0, 1))
    return np.where(has, np.ceil(drain_wrap_in / IN_PER_FT * drain_ft / area), 0)


WATER.section("Outlet through the low side")


@WATER.row(
    "Outlet",
    fmt=YES_OR_NO,
    source=PRACTICE,
    note="yes: a framed pad in soil that holds water is a bathtub without one.",
)
def outlet_used(option_kind: Q, soil: Q, soil_name: Q, soil_holds_water: Q) -> Q:
    holds = lookup(soil, soil_name, soil_holds_water) == "yes"
    return np.where(is_kind(option_kind, TIMBERED) & holds, 1, 0)


@WATER.row("Pipe", "ft", fmt="0.0", source=PRACTICE, note="In the drain, and to where it runs out.")
def pipe_ft(drain_ft: Q, outlet_used: Q, outlet_ft: Q) -> Q:
    return drain_ft + (outlet_used + np.where(drain_ft > 0, 1, 0)) * outlet_ft


@WATER.row(
    "Stone of drain and outlet",
    "yd3",
    source=PRACTICE,
    note="In place; ordered with the pad's stone.",
)
def drain_yd3(drain_ft: Q, outlet_used: Q, outlet_ft: Q, drain_width_in: Q, drain_depth_in: Q) -> Q:
    drain = drain_ft * drain_width_in * drain_depth_in / IN_PER_FT**2
    outlet = outlet_used * outlet_ft * (drain_width_in / IN_PER_FT) ** 2
    return (drain + outlet) / FT3_PER_YD3


@WATER.row(
    "Dig swale, drain and outlet", "h", fmt="0.0", source="Rates on Factors", note="By hand."
)
def water_hours(swale_yd3: Q, drain_yd3: Q, soil: Q, soil_name: Q, soil_trench_yd3_h: Q) -> Q:
    return (swale_yd3 + drain_yd3) / lookup(soil, soil_name, soil_trench_yd3_h)


SIDES = WATER.table(
    "side",
    "Side by side",
    4,
    "1 front, 2 right, 3 back, 4 left. Ground is the mean along the side; farther out it is taken at the distance on Factors.",
    index=True,
)
SIDES.solved("side_ground_ft", "Ground", "ft", solver="ground_beside", fmt="0.000", by_option=True)
SIDES.solved(
    "side_out_ft", "Farther out", "ft", solver="ground_beside", fmt="0.000", by_option=True
)


@SIDES.column("Length", "ft", by_option=True)
def side_length_ft(side_no: Q, frame_length_ft: Q, frame_width_ft: Q) -> Q:
    return np.where((side_no == 1) | (side_no == 3), frame_length_ft, frame_width_ft)


@SIDES.column(
    "Fall away",
    "in",
    fmt="0.0",
    by_option=True,
    source=FALL_SOURCE,
    note="From the ground beside it, no higher than the pad's top; both as reckoned on Options.",
)
def side_fall_in(side_ground_ft: Q, side_out_ft: Q, top_ft: Q, reckoned_from: Q, strip_ft: Q) -> Q:
    strip = np.where(reckoned_from == "stripped", strip_ft, 0)
    return (np.minimum(top_ft + strip, side_ground_ft) - side_out_ft) * IN_PER_FT


@SIDES.column("Uphill", fmt="0", by_option=True, note="1: rises by more than Factors allows.")
def side_uphill(side_fall_in: Q, rise_least_in: Q) -> Q:
    return np.where(side_fall_in < -rise_least_in, 1, 0)


@SIDES.column("Lacks", "in", fmt="0.0", by_option=True, source=FALL_SOURCE)
def side_lacks_in(side_fall_in: Q, grade_fall_in: Q) -> Q:
    return np.maximum(grade_fall_in - side_fall_in, 0)


WATER.adds(
    Hours(
        key="water",
        label="Swale, drain, outlet",
        quantity="water_hours",
        trade="earthwork",
        after=("earth",),
    ),
    Need(key="pipe", label="Drain pipe", item=Fixed("drain_pipe"), quantity="pipe_ft"),
    Need(
        key="drain_fabric",
        label="Fabric round the drain",
        item="fabric_item",
        quantity="drain_rolls",
    ),
)


@check(WATER, "Water in a framed pad", mend="uphill_water", hazard="water")
def check_water(option_kind: Q, soil: Q, soil_name: Q, soil_holds_water: Q) -> Q:
    holds = lookup(soil, soil_name, soil_holds_water) == "yes"
    return np.where(
        is_kind(option_kind, TIMBERED) & holds,
        "LOOK: soil holds water; leave a drain through the low side",
        OK,
    )


@check(WATER, "Water from uphill", mend="uphill_water", hazard="water")
def check_uphill(on_pad: Q, uphill_ft: Q, uphill_water: Q) -> Q:
    comes = (on_pad == 1) & (uphill_ft > 0) & (uphill_water == "none")
    return np.where(comes, "LOOK: ground comes down toward the pad; lead the water round it", OK)
