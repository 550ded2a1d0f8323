"""Sheet Lumber, second part: every piece wanted before cutting, hardware, marks and timbers."""

from __future__ import annotations

import numpy as np

from estimator.model.floor_inputs import OPENING_LINES
from estimator.model.joists import LUMBER
from estimator.model.options import FRAMED
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

__all__ = ["JOIST_LINES", "LUMBER"]

PIN_END_IN = 6.0
"""Distance of the last pin from a timber's end (common practice, no source)."""

LUMBER.section("Pieces wanted: stock", stack="piece_stock", kind="text")


@LUMBER.row("Joists: stock", kind="text")
def joists_stock(joist_stock_used: Q) -> Q:
    return np.where(joist_stock_used == "", "", joist_stock_used)


@LUMBER.row("Rims: stock", kind="text")
def rims_stock(joist_stock_used: Q) -> Q:
    return np.where(joist_stock_used == "", "", joist_stock_used)


@LUMBER.row("Skids: stock", kind="text")
def skids_stock(skid_stock: Q) -> Q:
    return np.where(skid_stock == "", "", skid_stock)


@LUMBER.row("Beam boards: stock", kind="text")
def beams_stock(beam_stock: Q) -> Q:
    return np.where(beam_stock == "", "", beam_stock)


LUMBER.section("Pieces wanted: length", stack="piece_length")


@LUMBER.row("Joists: length", "in", fmt="0.0")
def joists_length_in(joist_length_in: Q) -> Q:
    return joist_length_in * 1


@LUMBER.row(
    "Rims: length", "in", fmt="0.0", note="Longer than the longest board: joined over a joist."
)
def rims_length_in(building_length_ft: Q, joist_count: Q) -> Q:
    return building_length_ft * IN_PER_FT + 0 * joist_count


@LUMBER.row(
    "Skids: length", "in", fmt="0.0", note="Longer than the longest board: lapped over the stone."
)
def skids_length_in(on_pad: Q, building_length_ft: Q) -> Q:
    return on_pad * building_length_ft * IN_PER_FT


@LUMBER.row(
    "Beam boards: length",
    "in",
    fmt="0.0",
    note="One bay where the beam is too long for a board: joined over a support.",
)
def beams_length_in(on_pad: Q, building_length_ft: Q) -> Q:
    return (1 - on_pad) * building_length_ft * IN_PER_FT


LUMBER.section("Pieces wanted: count", stack="piece_count")


@LUMBER.row("Joists: count", "pieces", fmt="0")
def joists_count(joists_in_all: Q) -> Q:
    return joists_in_all * 1


@LUMBER.row("Rims: count", "pieces", fmt="0")
def rims_count(joist_count: Q) -> Q:
    return 2 + 0 * joist_count


@LUMBER.row("Skids: count", "pieces", fmt="0")
def skids_count(skid_count_used: Q) -> Q:
    return skid_count_used * 1


@LUMBER.row("Beam boards: count", "pieces", fmt="0")
def beams_count(support_rows_used: Q, beam_plies: Q) -> Q:
    return support_rows_used * beam_plies


LUMBER.section("Timbers, blocking and hardware")
LUMBER.solved(
    "timber_pieces",
    "Timbers",
    "pieces",
    solver="frame",
    fmt="0",
    note="Lengths and places on the table below.",
)
LUMBER.solved("timber_run_ft", "Timbers in all", "ft", solver="frame", fmt="0.0")


@LUMBER.row(
    "Pins", "pieces", fmt="0", note="Two a piece at least, near the ends, then at the spacing."
)
def pin_count(option_kind: Q, timber_pins: Q) -> Q:
    return np.where(option_kind == FRAMED, np.sum(timber_pins), 0)


@LUMBER.row(
    "Structural screws",
    "pieces",
    fmt="0",
    note="Four a corner and course, two a joint and every {2 ft} of a lower course.",
)
def timber_screws(option_kind: Q, frame_courses: Q, frame_lower_ft: Q, timber_pieces: Q) -> Q:
    lapped = np.ceil(frame_lower_ft / 2)
    return np.where(option_kind == FRAMED, 16 * frame_courses + lapped + 2 * timber_pieces, 0)


@LUMBER.row("Weight of the longest timber", "lb", fmt="0", note="Plan the lift.")
def timber_lb(
    option_kind: Q,
    timber_longest_ft: Q,
    timber_width_in: Q,
    timber_depth_in: Q,
    timber_stock: Q,
    stock_name: Q,
    stock_lb_ft3: Q,
) -> Q:
    area = timber_width_in * timber_depth_in / IN_PER_FT**2
    weight = timber_longest_ft * area * lookup(timber_stock, stock_name, stock_lb_ft3, 0)
    return np.where(option_kind == FRAMED, weight, 0)


@LUMBER.row("Longest timber", "ft", fmt="0.0")
def timber_longest_ft(timber_length_in: Q) -> Q:
    return np.max(timber_length_in) / IN_PER_FT


@LUMBER.row(
    "Joist hangers or ties",
    "pieces",
    fmt="0",
    note="A tie a joist at each outer skid or beam, and at both ends of a header.",
)
def tie_count(joists_in_all: Q, header_count: Q) -> Q:
    return 2 * joists_in_all + 2 * np.sum(header_count)


@LUMBER.row(
    "Framing nails",
    "lb",
    fmt="0.0",
    note="Three {16d|of 4 x 90 mm} at each joist end, two a block end; {49 to the pound|108 to the kilogram} (from memory).",
)
def nail_lb(joists_in_all: Q, blocking_count: Q) -> Q:
    return (6 * joists_in_all + 4 * blocking_count) / 49


@LUMBER.row("{Board feet|Nominal volume} of joists and rims", "board ft", fmt="0")
def floor_bf(
    joists_in_all: Q,
    joist_length_in: Q,
    building_length_ft: Q,
    blocking_count: Q,
    block_length_in: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
) -> Q:
    run = (joists_in_all * joist_length_in + blocking_count * block_length_in) / IN_PER_FT
    nominal = joist_depth_in + np.where(joist_depth_in > 7, 0.75, 0.5)
    return (run + 2 * building_length_ft) * (joist_width_in + 0.5) * nominal / IN_PER_FT


@LUMBER.row("Set timbers", "h", fmt="0.0")
def timber_hours(timber_run_ft: Q, timber_h_ft: Q) -> Q:
    return timber_run_ft * timber_h_ft


@LUMBER.row("Frame the floor", "h", fmt="0.0")
def joist_hours(floor_bf: Q, joist_h_bf: Q) -> Q:
    return floor_bf * joist_h_bf


JOIST_LINES = 80
JOISTS = LUMBER.table(
    "joist_line",
    "Joists from corner 1",
    JOIST_LINES,
    "Running measurements along the front. Floor Frame shows those of the chosen option.",
)
JOISTS.solved("joist_on", "In use", solver="joists", fmt="0", by_option=True)
JOISTS.solved("joist_near_in", "Near edge", "in", solver="joists", by_option=True)

HEADERS = LUMBER.table(
    "opening",
    "Headers at openings in the floor",
    OPENING_LINES,
    "In pairs between the doubled joists, at each end that no rim carries. Joists that the opening meets are cut back to them: both tails come from one joist. A joist of the spacing on the very side of an opening stays as a trimmer.",
)
HEADERS.solved("header_count", "Headers", solver="joists", fmt="0", by_option=True)
HEADERS.solved("header_length_in", "Length", "in", solver="joists", fmt="0.0", by_option=True)

TIMBERS = LUMBER.table(
    "timber",
    "Timbers of the frame",
    48,
    "Course 1 is the top one. Corners lap alternately, joints are staggered.",
)
TIMBERS.solved("timber_side", "Side", solver="frame", kind="text", by_option=True)
TIMBERS.solved("timber_course", "Course", solver="frame", fmt="0", by_option=True)
TIMBERS.solved("timber_start_ft", "From", "ft", solver="frame", by_option=True)
TIMBERS.solved("timber_length_in", "Length", "in", solver="frame", fmt="0.0", by_option=True)


@TIMBERS.column(
    "Pins", "pieces", fmt="0", by_option=True, note="{6 in} from both ends, then at the spacing."
)
def timber_pins(timber_length_in: Q, pin_spacing_in: Q) -> Q:
    spacing = pin_spacing_in + np.where(pin_spacing_in > 0, 0, 1)
    pins = np.maximum(np.ceil((timber_length_in - 2 * PIN_END_IN) / spacing) + 1, 2)
    return np.where(timber_length_in > 0, pins, 0)
