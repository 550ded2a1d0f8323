"""Of the sheet Floor: feet of stringers and posts, hardware and hours of steps."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import Hours, Need, Step
from estimator.model.steps.inputs import BLOCKS, CONCRETE
from estimator.rows import Chapter
from estimator.solve import steps
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.vocabulary import Q, lookup

BASE = Chapter()

BASE.section("Feet of the steps")


@BASE.row("Feet", "pieces", fmt="0", note="One under each stringer, ramp joist, post and leg.")
def foot_count(stringer_count: Q, ramp_joists: Q, ramp_bearers: Q, landing_posts: Q) -> Q:
    return stringer_count + ramp_joists + ramp_bearers + landing_posts


@BASE.row("Blocks under them", "pieces", fmt="0")
def foot_blocks(foot_kind: Q, foot_count: Q) -> Q:
    return np.where(foot_kind == BLOCKS, foot_count, 0)


@BASE.row("Concrete under them", "ft3", note="Round, cast in their holes.")
def foot_ft3(foot_kind: Q, foot_count: Q, foot_diameter_in: Q, foot_depth_in: Q) -> Q:
    each = steps.footing_ft3(foot_diameter_in, foot_depth_in)
    return np.where(foot_kind == CONCRETE, foot_count * each, 0)


@BASE.row("Bags of concrete under them", "bags", fmt="0")
def foot_bags(foot_ft3: Q, concrete_waste: Q, bag_yield_ft3: Q) -> Q:
    return np.ceil(foot_ft3 * (1 + concrete_waste) / bag_yield_ft3)


BASE.section("Hardware of the steps")


@BASE.row(
    "Joist hangers", "pieces", fmt="0", note="Both ends of a landing joist, the top of a ramp's."
)
def step_hangers(landing_joists: Q, ramp_joists: Q) -> Q:
    return 2 * landing_joists + ramp_joists


@BASE.row("Post bases", "pieces", fmt="0", note="Under landing posts and legs.")
def step_bases(landing_posts: Q, ramp_bearers: Q) -> Q:
    return landing_posts + ramp_bearers


@BASE.row("Bolts", "pieces", fmt="0", note="Two a post.")
def step_bolts(rail_posts: Q, landing_posts: Q, ramp_bearers: Q) -> Q:
    return 2 * (rail_posts + landing_posts + ramp_bearers)


@BASE.row(
    "Deck screws",
    "pieces",
    fmt="0",
    note="Two where a board crosses a stringer or joist, or meets a post.",
)
def deck_screws(
    tread_boards: Q,
    riser_strips: Q,
    stringer_count: Q,
    ramp_boards: Q,
    ramp_joists: Q,
    landing_boards: Q,
    landing_joists: Q,
    flight_guards: Q,
    landing_guards: Q,
) -> Q:
    flight = (tread_boards + riser_strips) * stringer_count
    level = ramp_boards * ramp_joists + landing_boards * landing_joists
    return 2 * (flight + level) + 4 * (flight_guards + landing_guards)


BASE.section("Pieces of the steps in all")


@BASE.row("Treads and boards across", "pieces", fmt="0")
def step_boards(tread_boards: Q, ramp_boards: Q, landing_boards: Q) -> Q:
    return tread_boards + ramp_boards + landing_boards


@BASE.row("Posts and legs", "pieces", fmt="0")
def step_posts(rail_posts: Q, landing_posts: Q, ramp_bearers: Q) -> Q:
    return rail_posts + landing_posts + ramp_bearers


@BASE.row("Frame of ramp and landing", "ft", fmt="0.0")
def step_frame_ft(
    ramp_joist_pieces: Q,
    ramp_joist_in: Q,
    ramp_bearers: Q,
    landing_rims: Q,
    step_board_in: Q,
    landing_joists: Q,
    landing_joist_in: Q,
) -> Q:
    across = (ramp_bearers + landing_rims) * step_board_in
    along = ramp_joist_pieces * ramp_joist_in + landing_joists * landing_joist_in
    return (across + along) / IN_PER_FT


@BASE.row("{Board feet|Nominal volume} of it", "board ft", fmt="0")
def step_frame_bf(step_frame_ft: Q, landing_board_in: Q, landing_frame_in: Q) -> Q:
    return step_frame_ft * (landing_board_in + 0.5) * (landing_frame_in + 0.5) / IN_PER_FT


@BASE.row("Boards of guards and strips", "ft", fmt="0.0")
def step_rail_ft(
    flight_guards: Q,
    flight_guard_in: Q,
    landing_guards: Q,
    landing_guard_in: Q,
    riser_strips: Q,
    step_board_in: Q,
) -> Q:
    guards = flight_guards * flight_guard_in + landing_guards * landing_guard_in
    return (guards + riser_strips * step_board_in) / IN_PER_FT


BASE.section("Hours of the steps")


@BASE.row("Dig and set the feet", "h", fmt="0.0")
def foot_hours(
    foot_blocks: Q,
    block_h: Q,
    foot_bags: Q,
    bag_h: Q,
    foot_ft3: Q,
    soil: Q,
    soil_name: Q,
    soil_pit_yd3_h: Q,
) -> Q:
    dug = foot_ft3 / FT3_PER_YD3 / lookup(soil, soil_name, soil_pit_yd3_h)
    return foot_blocks * block_h + foot_bags * bag_h + dug


@BASE.row("Build steps, ramp, landing, rails", "h", fmt="0.0")
def step_hours(
    stringer_count: Q,
    stringer_h: Q,
    step_boards: Q,
    board_h: Q,
    step_posts: Q,
    post_h: Q,
    step_frame_bf: Q,
    joist_h_bf: Q,
    step_rail_ft: Q,
    handrail_ft: Q,
    rail_h_ft: Q,
) -> Q:
    return (
        stringer_count * stringer_h
        + step_boards * board_h
        + step_posts * post_h
        + step_frame_bf * joist_h_bf
        + (step_rail_ft + handrail_ft) * rail_h_ft
    )


BASE.adds(
    Step(
        key="steps",
        label="Steps",
        text="Feet of steps or ramp; landing; stringers, the lowest rise a tread less; treads; rails; skirting last, vents open.",
        after=("skids", "beams", "slab"),
    ),
    Hours(
        key="feet",
        label="Feet of the steps",
        quantity="foot_hours",
        trade="concrete",
        after=("sheets",),
    ),
    Hours(
        key="steps",
        label="Steps, ramp, landing, rails",
        quantity="step_hours",
        trade="carpentry",
        after=("feet",),
    ),
    Need(
        key="foot_block",
        label="Blocks under steps",
        item="foot_block_item",
        quantity="foot_blocks",
    ),
    Need(
        key="foot_bag",
        label="Bags of concrete under steps",
        item=Fixed("concrete_80"),
        quantity="foot_bags",
    ),
    Need(
        key="stringer_hanger",
        label="Stringer hangers",
        item=Fixed("stringer_hanger"),
        quantity="stringer_count",
        note="One at the top of each.",
    ),
    Need(
        key="step_hanger",
        label="Joist hangers of ramp and landing",
        item=Fixed("joist_hanger"),
        quantity="step_hangers",
    ),
    Need(
        key="post_base",
        label="Post bases of ramp and landing",
        item=Fixed("post_base"),
        quantity="step_bases",
    ),
    Need(key="post_bolt", label="Bolts of posts", item=Fixed("bolt_post"), quantity="step_bolts"),
    Need(key="deck_screw", label="Deck screws", item=Fixed("screw_deck"), quantity="deck_screws"),
)
