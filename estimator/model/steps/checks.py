"""Of the sheet Checks: what steps, ramp, landing and rails must answer."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import check
from estimator.model.steps.inputs import NONE
from estimator.model.steps.ramp import RAMP_LINES
from estimator.rows import Chapter
from estimator.vocabulary import Q, amount, join, lookup

CHECKS = Chapter()
OK = "ok"


@check(CHECKS, "A way to the door", mend="door_way", hazard="access")
def check_door(door_way: Q, door_steps: Q, floor_door_in: Q) -> Q:
    return np.where(
        (door_way == NONE) & (door_steps > 1),
        join(
            "LOOK: the floor stands ",
            amount(floor_door_in, "in", "0"),
            " above the ground at the door, and no way up is priced",
        ),
        OK,
    )


@check(
    CHECKS,
    "Steps",
    mend="tread_run_in",
    hazard="access",
    source="IRC R311.7; AWC DCA 6 for stringers",
)
def check_steps(
    steps_on: Q,
    tread_run_in: Q,
    run_least_in: Q,
    stringer_throat_in: Q,
    throat_least_in: Q,
    flight_run_in: Q,
    stringer_span_in: Q,
) -> Q:
    flight = steps_on == 1
    return np.where(
        flight & (tread_run_in < run_least_in),
        "FAIL: treads are not as deep as Factors asks",
        np.where(
            flight & (stringer_throat_in < throat_least_in),
            "FAIL: too little wood is left under the notches; take deeper boards",
            np.where(
                flight & (flight_run_in > stringer_span_in),
                "LOOK: notched stringers reach too far; support their middle",
                OK,
            ),
        ),
    )


@check(
    CHECKS,
    "Ramp",
    mend="ramp_run_wanted",
    hazard="access",
    source="IRC R311.8.1, read in a quotation",
)
def check_ramp(ramp_on: Q, ramp_run_used: Q, ramp_run_asked: Q, ramp_bays: Q) -> Q:
    return np.where(
        (ramp_on == 1) & (ramp_run_used < ramp_run_asked),
        "FAIL: the ramp is steeper than Factors allows",
        np.where(
            ramp_bays > RAMP_LINES + 1,
            "FAIL: the ramp is longer than its table of legs; the rest is not priced",
            OK,
        ),
    )


@check(
    CHECKS,
    "Width and landing",
    mend="landing_depth_in",
    hazard="access",
    source="IRC R311.7.1, R311.7.6",
)
def check_landing(
    steps_on: Q,
    ramp_on: Q,
    landing_asked: Q,
    landing_on: Q,
    landing_depth_in: Q,
    landing_least_in: Q,
    steps_width_in: Q,
    steps_width_least_in: Q,
) -> Q:
    built = (steps_on == 1) | (ramp_on == 1)
    return np.where(
        (landing_asked == 1) & (landing_on == 0),
        "FAIL: the code asks for a landing at the door",
        np.where(
            (landing_on == 1) & (landing_depth_in < landing_least_in),
            "FAIL: the landing is not as deep as Factors asks",
            np.where(
                built & (steps_width_in < steps_width_least_in),
                "LOOK: steps or ramp are narrower than Factors asks",
                OK,
            ),
        ),
    )


@check(
    CHECKS,
    "Rails",
    mend="rails_wanted",
    hazard="access",
    source="IRC R311.7.8, R312.1, R311.8.3",
)
def check_rails(rail_sides: Q, rail_sides_asked: Q) -> Q:
    return np.where(
        rail_sides < rail_sides_asked,
        "FAIL: a rail or guard that the code asks for is left out",
        OK,
    )


@check(CHECKS, "Feet of the steps", mend="foot_depth_in", hazard="frost")
def check_feet(
    foot_count: Q,
    foot_ft3: Q,
    foot_depth_in: Q,
    pier_depth_in: Q,
    frost_depth_in: Q,
    frost_waived: Q,
) -> Q:
    shallow = np.where(foot_ft3 > 0, foot_depth_in, 0) < frost_depth_in
    moves = (foot_count > 0) & shallow & (pier_depth_in >= frost_depth_in)
    return np.where(
        moves & (frost_waived == 0),
        "LOOK: the building stands below frost and its steps do not; let them move on their own",
        OK,
    )


@check(CHECKS, "Wood of the steps", mend="stringer_stock", hazard="rot")
def check_step_wood(
    foot_count: Q,
    stringer_stock: Q,
    tread_stock: Q,
    landing_stock: Q,
    post_stock: Q,
    rail_stock: Q,
    stock_name: Q,
    stock_treated: Q,
) -> Q:
    bare = (
        (lookup(stringer_stock, stock_name, stock_treated, "yes") == "no")
        | (lookup(tread_stock, stock_name, stock_treated, "yes") == "no")
        | (lookup(landing_stock, stock_name, stock_treated, "yes") == "no")
        | (lookup(post_stock, stock_name, stock_treated, "yes") == "no")
        | (lookup(rail_stock, stock_name, stock_treated, "yes") == "no")
    )
    return np.where(
        bare & (foot_count > 0), "FAIL: wood of steps stands in the weather and must be treated", OK
    )
