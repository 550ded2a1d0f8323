"""Of the sheet Floor: what the wood of the steps weighs, and what of it rests on the building."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import Weight
from estimator.rows import Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

WEIGHT = Chapter()

WEIGHT.section("Weight of the steps")


@WEIGHT.row("Weight of a stringer", "lb", fmt="0", note="As delivered: plan the lift.")
def stringer_lb(
    stringer_in: Q,
    stringer_width_in: Q,
    stringer_depth_in: Q,
    stringer_stock: Q,
    stock_name: Q,
    stock_lb_ft3: Q,
) -> Q:
    area = stringer_width_in * stringer_depth_in / IN_PER_FT**2
    return stringer_in / IN_PER_FT * area * lookup(stringer_stock, stock_name, stock_lb_ft3)


@WEIGHT.row("Weight of treads and boards", "lb", fmt="0")
def step_board_lb(
    step_boards: Q,
    step_board_in: Q,
    tread_thick_in: Q,
    tread_board_in: Q,
    tread_stock: Q,
    stock_name: Q,
    stock_lb_ft3: Q,
) -> Q:
    run_ft = step_boards * step_board_in / IN_PER_FT
    area = tread_thick_in * tread_board_in / IN_PER_FT**2
    return run_ft * area * lookup(tread_stock, stock_name, stock_lb_ft3)


@WEIGHT.row("Weight of the frame of ramp and landing", "lb", fmt="0")
def step_frame_lb(
    step_frame_ft: Q,
    landing_board_in: Q,
    landing_frame_in: Q,
    landing_stock: Q,
    stock_name: Q,
    stock_lb_ft3: Q,
) -> Q:
    area = landing_board_in * landing_frame_in / IN_PER_FT**2
    return step_frame_ft * area * lookup(landing_stock, stock_name, stock_lb_ft3)


@WEIGHT.row("Posts and legs in all", "ft", fmt="0.0")
def step_post_ft(
    rail_posts: Q,
    rail_post_in: Q,
    landing_posts: Q,
    landing_post_in: Q,
    ramp_leg_count: Q,
    ramp_leg_in: Q,
) -> Q:
    posts = rail_posts * rail_post_in + landing_posts * landing_post_in
    return (posts + np.sum(ramp_leg_count * ramp_leg_in)) / IN_PER_FT


@WEIGHT.row("Weight of posts and legs", "lb", fmt="0")
def step_post_lb(
    step_post_ft: Q,
    post_stock: Q,
    stock_name: Q,
    stock_width_in: Q,
    stock_depth_in: Q,
    stock_lb_ft3: Q,
) -> Q:
    side = lookup(post_stock, stock_name, stock_width_in)
    other = lookup(post_stock, stock_name, stock_depth_in)
    density = lookup(post_stock, stock_name, stock_lb_ft3)
    return step_post_ft * side * other / IN_PER_FT**2 * density


@WEIGHT.row("Weight of guards and strips", "lb", fmt="0")
def step_rail_lb(
    step_rail_ft: Q,
    guard_board_in: Q,
    rail_stock: Q,
    stock_name: Q,
    stock_width_in: Q,
    stock_lb_ft3: Q,
) -> Q:
    area = lookup(rail_stock, stock_name, stock_width_in) * guard_board_in / IN_PER_FT**2
    return step_rail_ft * area * lookup(rail_stock, stock_name, stock_lb_ft3)


@WEIGHT.row("Wood of the steps", "lb", fmt="#,##0", note="As delivered.")
def step_lb(
    stringer_count: Q,
    stringer_lb: Q,
    step_board_lb: Q,
    step_frame_lb: Q,
    step_post_lb: Q,
    step_rail_lb: Q,
) -> Q:
    sawn = step_board_lb + step_frame_lb + step_post_lb + step_rail_lb
    return stringer_count * stringer_lb + sawn


@WEIGHT.row(
    "Of it on the edge of the floor",
    "lb",
    fmt="0",
    note="Half: the rest stands on feet of its own. Nothing that holds the building down.",
)
def step_rest_lb(step_lb: Q) -> Q:
    return step_lb / 2


WEIGHT.adds(
    Weight(key="steps", label="Steps", dead="step_rest_lb"),
    Weight(key="stringer", label="A stringer", fresh="stringer_lb"),
)
