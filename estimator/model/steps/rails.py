"""Of the sheet Floor: handrails and guards of steps, ramp and landing."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import WHOLE, Need, Piece
from estimator.model.steps.inputs import BY_CODE, NONE
from estimator.rows import YES_OR_NO, Chapter
from estimator.solve import steps
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

RAILS = Chapter()

RAILS.section("Rails")


@RAILS.row(
    "Sides that ask for a rail",
    "sides",
    fmt="0",
    source="IRC R311.7.8, R312.1.1, R311.8.3",
    note="Both where the floor stands high enough for a guard.",
)
def rail_sides_asked(
    steps_on: Q,
    ramp_on: Q,
    floor_door_in: Q,
    door_steps: Q,
    ramp_run_used: Q,
    guard_rise_in: Q,
    handrail_rises: Q,
    ramp_handrail_run: Q,
) -> Q:
    sides = steps.rail_sides(
        floor_door_in,
        door_steps,
        ramp_on,
        ramp_run_used,
        guard_rise_in,
        handrail_rises,
        ramp_handrail_run,
    )
    return np.where((steps_on == 1) | (ramp_on == 1), sides, 0)


@RAILS.row("Sides with a rail", "sides", fmt="0")
def rail_sides(rails_wanted: Q, rail_sides_asked: Q, steps_on: Q, ramp_on: Q) -> Q:
    both = 2 * np.maximum(steps_on, ramp_on)
    chosen = np.where(rails_wanted == NONE, 0, both)
    return np.where(rails_wanted == BY_CODE, rail_sides_asked, chosen)


@RAILS.row(
    "With a guard", fmt=YES_OR_NO, source="IRC R312.1.1", note="Where boards fill the rails."
)
def guard_on(rail_sides: Q, floor_door_in: Q, guard_rise_in: Q) -> Q:
    return np.where((rail_sides > 0) & (floor_door_in > guard_rise_in), 1, 0)


@RAILS.row("Length along the steps or ramp", "in", fmt="0.0")
def rail_in(tread_count: Q, step_rise_used_in: Q, tread_run_in: Q, ramp_slope_in: Q) -> Q:
    return tread_count * steps.pitch_in(step_rise_used_in, tread_run_in) + ramp_slope_in


@RAILS.row("Rail posts (RP)", "pieces", fmt="0", note="At both ends and between, on each side.")
def rail_posts(rail_sides: Q, rail_in: Q, rail_post_spacing_in: Q) -> Q:
    return rail_sides * steps.rail_posts(rail_in, rail_post_spacing_in)


@RAILS.row(
    "Rail posts: length", "in", fmt="0.0", note="Bolted down the depth of stringer or ramp joist."
)
def rail_post_in(
    rail_posts: Q,
    guard_height_in: Q,
    ramp_on: Q,
    landing_frame_in: Q,
    stringer_depth_in: Q,
) -> Q:
    fastened_in = np.where(ramp_on == 1, landing_frame_in, stringer_depth_in)
    return np.where(rail_posts > 0, guard_height_in + fastened_in, 0)


@RAILS.row("Handrail", "ft", fmt="0.0", note="Round, on brackets at the posts.")
def handrail_ft(rail_sides: Q, rail_in: Q) -> Q:
    return rail_sides * rail_in / IN_PER_FT


@RAILS.row("Width of a guard board", "in", fmt="0.00", scope="job")
def guard_board_in(rail_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(rail_stock, stock_name, stock_depth_in)


@RAILS.row(
    "Boards of a guard, one above the other",
    "pieces",
    fmt="0",
    source="IRC R312.1.3: no {4 in} sphere passes",
)
def guard_high(guard_on: Q, guard_height_in: Q, guard_board_in: Q, guard_opening_in: Q) -> Q:
    return guard_on * steps.guard_rails(guard_height_in, guard_board_in, guard_opening_in)


@RAILS.row("Guard boards along steps or ramp (G)", "pieces", fmt="0", note="One a bay of posts.")
def flight_guards(guard_high: Q, rail_sides: Q, rail_posts: Q) -> Q:
    return guard_high * np.maximum(rail_posts - rail_sides, 0)


@RAILS.row("Guard boards along steps or ramp: length", "in", fmt="0.0")
def flight_guard_in(guard_on: Q, rail_in: Q, rail_sides: Q, rail_posts: Q) -> Q:
    spans = rail_posts / np.maximum(rail_sides, 1) - 1
    return guard_on * rail_in / np.maximum(spans, 1)


@RAILS.row("Guard boards of the landing (LG)", "pieces", fmt="0", note="Its two open sides.")
def landing_guards(landing_on: Q, guard_high: Q) -> Q:
    return 2 * landing_on * guard_high


@RAILS.row("Guard boards of the landing: length", "in", fmt="0.0")
def landing_guard_in(landing_on: Q, guard_on: Q, landing_depth_in: Q) -> Q:
    return landing_on * guard_on * landing_depth_in


RAILS.adds(
    Piece(
        key="rail_post",
        label="Posts of the rails",
        stock="post_stock",
        length="rail_post_in",
        count="rail_posts",
        joined=WHOLE,
        mark="rail post",
        use="step_board_class",
    ),
    Piece(
        key="flight_guard",
        label="Guard along steps or ramp",
        stock="rail_stock",
        length="flight_guard_in",
        count="flight_guards",
        joined=WHOLE,
        mark="guard",
        use="step_board_class",
    ),
    Piece(
        key="landing_guard",
        label="Guard of the landing",
        stock="rail_stock",
        length="landing_guard_in",
        count="landing_guards",
        joined=WHOLE,
        mark="landing guard",
        use="step_board_class",
    ),
    Need(key="handrail", label="Handrail", item=Fixed("handrail"), quantity="handrail_ft"),
    Need(
        key="rail_bracket",
        label="Handrail brackets",
        item=Fixed("rail_bracket"),
        quantity="rail_posts",
    ),
)
