"""Of the sheet Floor: the ramp's joists, boards, bearers and legs, and the landing."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import WHOLE, Piece, PieceList
from estimator.rows import Chapter
from estimator.solve import steps
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

RAMP_LINES = 12
PLATFORM = Chapter()

PLATFORM.section("Ramp")


@PLATFORM.row("Width of a frame board", "in", fmt="0.00", scope="job")
def landing_board_in(landing_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(landing_stock, stock_name, stock_width_in)


@PLATFORM.row("Depth of a frame board", "in", fmt="0.00", scope="job")
def landing_frame_in(landing_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(landing_stock, stock_name, stock_depth_in)


@PLATFORM.row("Length along the ramp", "in", fmt="0.0")
def ramp_slope_in(ramp_on: Q, floor_door_in: Q, ramp_ft: Q) -> Q:
    return ramp_on * steps.slope_length_in(floor_door_in, ramp_ft * IN_PER_FT)


@PLATFORM.row("Bays between supports", "bays", fmt="0")
def ramp_bays(ramp_on: Q, ramp_ft: Q, ramp_bay_in: Q) -> Q:
    return ramp_on * steps.bays(ramp_ft * IN_PER_FT, ramp_bay_in)


@PLATFORM.row("Joists of the ramp, side by side", "pieces", fmt="0")
def ramp_joists(ramp_on: Q, steps_width_in: Q, landing_board_in: Q, stringer_spacing_in: Q) -> Q:
    return ramp_on * steps.stringers(steps_width_in, landing_board_in, stringer_spacing_in)


@PLATFORM.row("Ramp joists (RJ)", "pieces", fmt="0", note="One a bay, joined over the bearers.")
def ramp_joist_pieces(ramp_joists: Q, ramp_bays: Q) -> Q:
    return ramp_joists * ramp_bays


@PLATFORM.row("Ramp joists: length", "in", fmt="0.0")
def ramp_joist_in(ramp_slope_in: Q, ramp_bays: Q) -> Q:
    return ramp_slope_in / np.maximum(ramp_bays, 1)


@PLATFORM.row("Ramp boards (RB)", "pieces", fmt="0", note="Across, with the gap of Factors.")
def ramp_boards(ramp_slope_in: Q, tread_board_in: Q, board_gap_in: Q) -> Q:
    return np.where(
        ramp_slope_in > 0, steps.boards_across(ramp_slope_in, tread_board_in, board_gap_in), 0
    )


@PLATFORM.row("Bearers (BE) and legs (RL)", "pieces", fmt="0", note="Two of each between two bays.")
def ramp_bearers(ramp_bays: Q) -> Q:
    return 2 * np.maximum(ramp_bays - 1, 0)


PLATFORM.section("Landing")


@PLATFORM.row("Ledger and header (LR)", "pieces", fmt="0", note="As long as the steps are wide.")
def landing_rims(landing_on: Q) -> Q:
    return 2 * landing_on


@PLATFORM.row("Landing joists (LJ)", "pieces", fmt="0", note="No farther apart than stringers.")
def landing_joists(
    landing_on: Q, steps_width_in: Q, landing_board_in: Q, stringer_spacing_in: Q
) -> Q:
    return landing_on * steps.stringers(steps_width_in, landing_board_in, stringer_spacing_in)


@PLATFORM.row("Landing joists: length", "in", fmt="0.0")
def landing_joist_in(landing_on: Q, landing_depth_in: Q, landing_board_in: Q) -> Q:
    return landing_on * (landing_depth_in - 2 * landing_board_in)


@PLATFORM.row("Landing boards (LB)", "pieces", fmt="0")
def landing_boards(landing_on: Q, landing_depth_in: Q, tread_board_in: Q, board_gap_in: Q) -> Q:
    return landing_on * steps.boards_across(landing_depth_in, tread_board_in, board_gap_in)


@PLATFORM.row("Landing posts (LP)", "pieces", fmt="0", note="At its outer corners.")
def landing_posts(landing_on: Q) -> Q:
    return 2 * landing_on


@PLATFORM.row("Landing posts: length", "in", fmt="0.0", note="Up to the top of a guard's rail.")
def landing_post_in(
    landing_on: Q, floor_door_in: Q, tread_thick_in: Q, guard_on: Q, guard_height_in: Q
) -> Q:
    above = np.where(guard_on == 1, guard_height_in, -tread_thick_in)
    return landing_on * np.maximum(floor_door_in + above, 0)


LINES = PLATFORM.table(
    "ramp_line",
    "Legs of the ramp, from its foot",
    RAMP_LINES,
    "Two at each line between two bays, on feet of their own.",
    index=True,
)


@LINES.column("Legs", "pieces", fmt="0", by_option=True)
def ramp_leg_count(ramp_line_no: Q, ramp_bays: Q) -> Q:
    return np.where(ramp_line_no < ramp_bays, 2, 0)


@LINES.column("Length", "in", fmt="0.0", by_option=True, note="Ground at the door taken as level.")
def ramp_leg_in(ramp_line_no: Q, ramp_bays: Q, floor_door_in: Q, tread_thick_in: Q) -> Q:
    top = floor_door_in * ramp_line_no / np.maximum(ramp_bays, 1)
    return np.where(ramp_line_no < ramp_bays, np.maximum(top - tread_thick_in, 0), 0)


PLATFORM.adds(
    Piece(
        key="ramp_joist",
        label="Joists of the ramp",
        stock="landing_stock",
        length="ramp_joist_in",
        count="ramp_joist_pieces",
        joined=WHOLE,
        mark="ramp joist",
        use="step_ground_class",
    ),
    Piece(
        key="ramp_board",
        label="Boards of the ramp",
        stock="tread_stock",
        length="step_board_in",
        count="ramp_boards",
        joined=WHOLE,
        mark="ramp board",
        use="step_board_class",
    ),
    Piece(
        key="ramp_bearer",
        label="Bearers of the ramp",
        stock="landing_stock",
        length="step_board_in",
        count="ramp_bearers",
        joined=WHOLE,
        mark="bearer",
        letters="BE",
        use="step_ground_class",
    ),
    Piece(
        key="landing_rim",
        label="Ledger and header of the landing",
        stock="landing_stock",
        length="step_board_in",
        count="landing_rims",
        joined=WHOLE,
        mark="landing rim",
        use="step_board_class",
    ),
    Piece(
        key="landing_joist",
        label="Joists of the landing",
        stock="landing_stock",
        length="landing_joist_in",
        count="landing_joists",
        joined=WHOLE,
        mark="landing joist",
        use="step_board_class",
    ),
    Piece(
        key="landing_board",
        label="Boards of the landing",
        stock="tread_stock",
        length="step_board_in",
        count="landing_boards",
        joined=WHOLE,
        mark="landing board",
        use="step_board_class",
    ),
    Piece(
        key="landing_post",
        label="Posts of the landing",
        stock="post_stock",
        length="landing_post_in",
        count="landing_posts",
        joined=WHOLE,
        mark="landing post",
        use="step_ground_class",
    ),
    PieceList(
        key="ramp_legs",
        label="Legs of the ramp",
        stock="post_stock",
        lengths="ramp_leg_in",
        counts="ramp_leg_count",
        count="ramp_bearers",
        mark="ramp leg",
        use="step_ground_class",
    ),
)
