"""Of the sheet Floor: whether steps or a ramp lead to the door, and the flight of steps."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import ABOVE_GROUND, GROUND_CONTACT, WHOLE, Piece
from estimator.model.steps.inputs import BY_CODE, NONE, RAMP, STEPS
from estimator.rows import YES_OR_NO, Chapter
from estimator.solve import steps
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

FLIGHT = Chapter()

FLIGHT.section("Way to the door")


@FLIGHT.row(
    "Steps to the door",
    "rises",
    fmt="0",
    source="IRC R311.7.5.1",
    note="From the ground at the door; ground that falls away from it adds to them.",
)
def door_steps(floor_door_in: Q, step_rise_in: Q) -> Q:
    return steps.rises(floor_door_in, step_rise_in)


@FLIGHT.row(
    "Ramp, least run to one of rise",
    "ft/ft",
    fmt="0.0",
    scope="job",
    source="IRC R311.8.1, read in a quotation",
)
def ramp_run_asked(door_exit: Q, ramp_run: Q, ramp_exit_run: Q) -> Q:
    return np.where(door_exit == "yes", np.maximum(ramp_exit_run, ramp_run), ramp_run)


@FLIGHT.row("Ramp, run to one of rise", "ft/ft", fmt="0.0", scope="job")
def ramp_run_used(ramp_run_wanted: Q, ramp_run_asked: Q) -> Q:
    return np.where(ramp_run_wanted > 0, ramp_run_wanted, ramp_run_asked)


@FLIGHT.row("Or a ramp of", "ft", fmt="0.0", note="Its level length.")
def ramp_ft(floor_door_in: Q, ramp_run_used: Q) -> Q:
    return steps.ramp_run_in(floor_door_in, ramp_run_used) / IN_PER_FT


@FLIGHT.row("Steps are built", fmt=YES_OR_NO, note="Where there are two rises or more.")
def steps_on(door_way: Q, door_steps: Q) -> Q:
    return np.where((door_way == STEPS) & (door_steps > 1), 1, 0)


@FLIGHT.row("A ramp is built", fmt=YES_OR_NO)
def ramp_on(door_way: Q, floor_door_in: Q) -> Q:
    return np.where((door_way == RAMP) & (floor_door_in > 0), 1, 0)


@FLIGHT.row(
    "The code asks for a landing",
    fmt=YES_OR_NO,
    source="IRC R311.7.6 and its exception; R311.8.2, from memory",
)
def landing_asked(steps_on: Q, ramp_on: Q, door_steps: Q, landing_free_rises: Q) -> Q:
    flight = (steps_on == 1) & (door_steps > landing_free_rises)
    return np.where(flight | (ramp_on == 1), 1, 0)


@FLIGHT.row("A landing is built", fmt=YES_OR_NO)
def landing_on(landing_wanted: Q, door_way: Q, floor_door_in: Q, landing_asked: Q) -> Q:
    wanted = (landing_wanted == "yes") & (door_way != NONE) & (floor_door_in > 0)
    return np.where(wanted | ((landing_wanted == BY_CODE) & (landing_asked == 1)), 1, 0)


FLIGHT.section("Steps")


@FLIGHT.row("One rise", "in", source="IRC R311.7.5.1: all alike")
def step_rise_used_in(floor_door_in: Q, door_steps: Q) -> Q:
    return steps.rise_in(floor_door_in, door_steps)


@FLIGHT.row("Treads", "pieces", fmt="0", note="Rises less one: the floor or landing is the last.")
def tread_count(steps_on: Q, door_steps: Q) -> Q:
    return steps_on * steps.treads(door_steps)


@FLIGHT.row("Run of the flight", "in", fmt="0.0")
def flight_run_in(tread_count: Q, tread_run_in: Q) -> Q:
    return steps.flight_run_in(tread_count, tread_run_in)


@FLIGHT.row("Width of a stringer", "in", fmt="0.00", scope="job")
def stringer_width_in(stringer_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(stringer_stock, stock_name, stock_width_in)


@FLIGHT.row("Depth of a stringer", "in", fmt="0.00", scope="job")
def stringer_depth_in(stringer_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(stringer_stock, stock_name, stock_depth_in)


@FLIGHT.row("Thickness of a tread", "in", fmt="0.00", scope="job")
def tread_thick_in(tread_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(tread_stock, stock_name, stock_width_in)


@FLIGHT.row("Width of a board", "in", fmt="0.00", scope="job")
def tread_board_in(tread_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(tread_stock, stock_name, stock_depth_in)


@FLIGHT.row("Stringers (ST)", "pieces", fmt="0", source="AWC DCA 6: spacing on Factors")
def stringer_count(
    steps_on: Q, steps_width_in: Q, stringer_width_in: Q, stringer_spacing_in: Q
) -> Q:
    return steps_on * steps.stringers(steps_width_in, stringer_width_in, stringer_spacing_in)


@FLIGHT.row(
    "Stringers: length",
    "in",
    fmt="0.0",
    note="A hypotenuse of rise and run for each tread, and what is sawn off the ends.",
)
def stringer_in(tread_count: Q, step_rise_used_in: Q, tread_run_in: Q, stringer_ends_in: Q) -> Q:
    return steps.stringer_in(tread_count, step_rise_used_in, tread_run_in, stringer_ends_in)


@FLIGHT.row(
    "Wood left under a notch",
    "in",
    source="AWC DCA 6: its depth less rise x run / hypotenuse",
)
def stringer_throat_in(
    steps_on: Q, stringer_depth_in: Q, step_rise_used_in: Q, tread_run_in: Q
) -> Q:
    throat = steps.throat_in(stringer_depth_in, step_rise_used_in, tread_run_in)
    return np.where(steps_on == 1, throat, 0)


@FLIGHT.row(
    "Lowest rise as sawn", "in", note="Less a tread's thickness, so that all are alike to walk on."
)
def first_notch_in(steps_on: Q, step_rise_used_in: Q, tread_thick_in: Q) -> Q:
    return steps_on * steps.first_notch_in(step_rise_used_in, tread_thick_in)


@FLIGHT.row("Boards of the treads (TR)", "pieces", fmt="0")
def tread_boards(tread_count: Q, tread_run_in: Q, tread_board_in: Q, board_gap_in: Q) -> Q:
    return tread_count * steps.boards_across(tread_run_in, tread_board_in, board_gap_in)


@FLIGHT.row(
    "Strips that close risers (RS)",
    "pieces",
    fmt="0",
    source="IRC R311.7.5.1: no {4 in} sphere passes an open riser more than {30 in} up",
)
def riser_strips(steps_on: Q, floor_door_in: Q, open_riser_rise_in: Q, door_steps: Q) -> Q:
    return np.where((steps_on == 1) & (floor_door_in > open_riser_rise_in), door_steps, 0)


@FLIGHT.row("Treads and strips: length", "in", fmt="0.0")
def step_board_in(steps_on: Q, ramp_on: Q, landing_on: Q, steps_width_in: Q) -> Q:
    built = (steps_on == 1) | (ramp_on == 1) | (landing_on == 1)
    return np.where(built, steps_width_in, 0)


@FLIGHT.row("Near the ground: treatment", kind="text", source="AWPA U1, read in summaries of yards")
def step_ground_class(steps_on: Q, ramp_on: Q, landing_on: Q) -> Q:
    built = (steps_on == 1) | (ramp_on == 1) | (landing_on == 1)
    return np.where(built, GROUND_CONTACT, "none")


@FLIGHT.row("Boards and rails: treatment", kind="text", source="AWPA U1, UC3B from memory")
def step_board_class(
    floor_door_in: Q, ground_contact_in: Q, steps_on: Q, step_ground_class: Q
) -> Q:
    low = (steps_on == 1) | (floor_door_in < ground_contact_in)
    return np.where((step_ground_class == "none") | low, step_ground_class, ABOVE_GROUND)


FLIGHT.adds(
    Piece(
        key="stringers",
        label="Stringers",
        stock="stringer_stock",
        length="stringer_in",
        count="stringer_count",
        joined=WHOLE,
        mark="stringer",
        letters="ST",
        use="step_ground_class",
    ),
    Piece(
        key="treads",
        label="Treads",
        stock="tread_stock",
        length="step_board_in",
        count="tread_boards",
        joined=WHOLE,
        mark="tread",
        letters="TR",
        use="step_board_class",
    ),
    Piece(
        key="riser_strip",
        label="Strips of risers",
        stock="rail_stock",
        length="step_board_in",
        count="riser_strips",
        joined=WHOLE,
        mark="riser strip",
        use="step_board_class",
    ),
)
