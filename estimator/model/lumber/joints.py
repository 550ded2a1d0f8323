"""Of the sheet Lumber: joists longer than every board, in parts that meet over skids or beams.

The parts stand in one straight line, so that the ends of sheets and the blocks land on them from
front to back; a splice of the same stock laps both, in place of a lap of the joists themselves.
"""

from __future__ import annotations

import numpy as np

from estimator.model.adds import FROM_OFFCUTS, OK, Piece, check
from estimator.rows import Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, amount, join

JOINTS = Chapter()
LAP = "IRC R502.6.1, from memory: a lap of {3 in|76 mm} and three 10d nails, or a splice as strong"
REST = "IRC R502.6: {1 1/2 in|38 mm} of wood under each end"

SPLICE_IN = 24.0
"""Length of a splice, half on each part (common practice, no source)."""
JOINT_NAILS = 12
"""Nails at a joint: each part three through the splice, and three on the slant into the bearer."""

JOINTS.section("Joists in parts, where no board is long enough")


@JOINTS.row(
    "Front part of a joist",
    "in",
    fmt="0.0",
    note="To the middle of the skid or beam where the next part begins; else the whole joist.",
)
def joist_front_in(
    joist_parts: Q, joist_length_in: Q, joist_past_ft: Q, joist_spans: Q, bearer_step_in: Q
) -> Q:
    front = joist_past_ft * IN_PER_FT + joist_spans * bearer_step_in
    return np.where(joist_parts > 1, front, joist_length_in)


@JOINTS.row("Middle part of a joist", "in", fmt="0.0", note="0: there is none.")
def joist_middle_in(joist_parts: Q, joist_spans: Q, bearer_step_in: Q) -> Q:
    return np.where(joist_parts > 2, joist_spans * bearer_step_in, 0)


@JOINTS.row("Back part of a joist", "in", fmt="0.0", note="0: the joist is in one piece.")
def joist_back_in(joist_parts: Q, joist_length_in: Q, joist_front_in: Q, joist_middle_in: Q) -> Q:
    middle = np.maximum(joist_parts - 2, 0) * joist_middle_in
    return np.where(joist_parts > 1, joist_length_in - joist_front_in - middle, 0)


@JOINTS.row("Joints of joists, each with a splice", "pieces", fmt="0", source=LAP)
def splice_count(joists_in_all: Q, joist_parts: Q) -> Q:
    return joists_in_all * np.maximum(joist_parts - 1, 0)


@JOINTS.row(
    "Length of a splice",
    "in",
    fmt="0.0",
    source="common practice, no source",
    note="Half on each part, of the joists' stock and depth.",
)
def splice_length_in(floor_framed: Q) -> Q:
    return SPLICE_IN * floor_framed


JOINTS.solved(
    "joints_by_headers",
    "Openings whose headers stand where a splice would",
    "openings",
    solver="joists",
    fmt="0",
)

JOINTS.adds(
    Piece(
        key="splices",
        label="Splices of joists",
        stock="joist_stock_used",
        length="splice_length_in",
        count="splice_count",
        joined=FROM_OFFCUTS,
        mark="splice",
        letters="SP",
        use="joist_class",
    ),
)


@check(JOINTS, "Joists in parts", source=f"{LAP}; {REST}", mend="joist_stock", hazard="weak joists")
def check_joints(
    floor_framed: Q,
    joist_parts: Q,
    joist_stock_used: Q,
    joist_length_in: Q,
    bearer_width_in: Q,
    bearing_length_in: Q,
    joints_by_headers: Q,
) -> Q:
    nowhere = join(
        "FAIL: no board of ",
        joist_stock_used,
        " is as long as a joist, ",
        amount(joist_length_in, "in", "0"),
        ", and no skid or beam stands where two could meet: more of them, or a longer board on Prices",
    )
    return np.where(
        (floor_framed == 1) & (joist_parts == 0),
        nowhere,
        np.where(
            (joist_parts > 1) & (bearer_width_in < 2 * bearing_length_in),
            join(
                "FAIL: joists meet on a skid or beam too narrow for both ends: it takes ",
                amount(2 * bearing_length_in, "in", "0.0"),
            ),
            np.where(
                joints_by_headers > 0,
                "FAIL: headers of an opening stand where joists are spliced: move it",
                OK,
            ),
        ),
    )
