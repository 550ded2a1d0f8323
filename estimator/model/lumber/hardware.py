"""Of the sheet Lumber: timbers of the frame, hardware, and the tables of its pieces."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import OK, Hours, Need, PieceList, Step, Weight, check
from estimator.model.floor_inputs import OPENING_LINES
from estimator.model.kinds import PADS, SUPPORTS, TIMBERED, where_kind
from estimator.model.lumber.joints import JOINT_NAILS
from estimator.rows import Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, lookup

HARDWARE = Chapter()

PLIES = "IRC Table R602.3(1), built-up girders and beams, from memory: the spacing of 10d nails"
PLY_NAIL_IN = 24.0
"""Spacing of the nails of a row that joins two plies."""
PIN_END_IN = 6.0
"""Distance of the last pin from a timber's end (common practice, no source)."""

HARDWARE.section("Timbers, blocking and hardware")
HARDWARE.solved(
    "timber_pieces",
    "Timbers",
    "pieces",
    solver="frame",
    fmt="0",
    note="Lengths and places on the table below.",
)
HARDWARE.solved("timber_run_ft", "Timbers in all", "ft", solver="frame", fmt="0.0")


@HARDWARE.row(
    "Pins", "pieces", fmt="0", note="Two a piece at least, near the ends, then at the spacing."
)
def pin_count(option_kind: Q, timber_pins: Q) -> Q:
    return where_kind(option_kind, TIMBERED, np.sum(timber_pins))


HARDWARE.solved(
    "timber_corners",
    "Corners, by course",
    "corners",
    solver="frame",
    fmt="0",
    note="Where two sides of one course meet.",
)
HARDWARE.solved("timber_joints", "Joints within the courses", "joints", solver="frame", fmt="0")


@HARDWARE.row(
    "Structural screws",
    "pieces",
    fmt="0",
    source="common practice, no source",
    note="Four a corner of a course, two a joint and every {2 ft} of a lower course.",
)
def timber_screws(option_kind: Q, timber_corners: Q, timber_joints: Q, frame_lower_ft: Q) -> Q:
    screws = 4 * timber_corners + 2 * timber_joints + np.ceil(frame_lower_ft / 2)
    return where_kind(option_kind, TIMBERED, screws)


@HARDWARE.row("Weight of the longest timber", "lb", fmt="0", note="Plan the lift.")
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
    return where_kind(option_kind, TIMBERED, weight)


@HARDWARE.row(
    "Weight of a skid", "lb", fmt="0", note="As it is bought; of one in parts, the longest at most."
)
def skid_lb(
    option_kind: Q,
    skid_length_in: Q,
    longest_board_ft: Q,
    skid_width_in: Q,
    skid_depth_in: Q,
    skid_stock: Q,
    stock_name: Q,
    stock_lb_ft3: Q,
) -> Q:
    length = np.minimum(skid_length_in / IN_PER_FT, longest_board_ft)
    area = skid_width_in * skid_depth_in / IN_PER_FT**2
    weight = length * area * lookup(skid_stock, stock_name, stock_lb_ft3, 0)
    return where_kind(option_kind, PADS, weight)


@HARDWARE.row("Longest timber", "ft", fmt="0.0")
def timber_longest_ft(timber_length_in: Q) -> Q:
    return np.max(timber_length_in) / IN_PER_FT


@HARDWARE.row("Headers at openings", "pieces", fmt="0")
def headers_in_all(header_count: Q) -> Q:
    return np.sum(header_count)


@HARDWARE.row(
    "Joist ties",
    "pieces",
    fmt="0",
    note="As many a joist at each outer skid or beam as the wind asks for.",
)
def tie_count(joists_in_all: Q, ties_a_joint: Q) -> Q:
    return 2 * joists_in_all * ties_a_joint


@HARDWARE.row("Double hangers", "pieces", fmt="0", note="One at both ends of each pair of headers.")
def double_hangers(headers_in_all: Q) -> Q:
    return headers_in_all


@HARDWARE.row(
    "Hangers of tail joists",
    "pieces",
    fmt="0",
    note="Where a joist that an opening cuts is hung from a pair of headers.",
)
def tail_hangers(header_tails: Q) -> Q:
    return np.sum(header_tails)


@HARDWARE.row(
    "Nails to join plies",
    "pieces",
    fmt="0",
    source=PLIES,
    note="Two rows {24 in|600 mm} on centre between every two of: doubled joists, pairs of headers, boards of a beam.",
)
def ply_nails(
    joist_touching: Q,
    joist_length_in: Q,
    header_nails: Q,
    support_rows_used: Q,
    beam_plies_used: Q,
    beam_length_in: Q,
) -> Q:
    doubled = joist_touching * 2 * (np.ceil(joist_length_in / PLY_NAIL_IN) + 1)
    beams = support_rows_used * np.maximum(beam_plies_used - 1, 0)
    return doubled + np.sum(header_nails) + beams * 2 * (np.ceil(beam_length_in / PLY_NAIL_IN) + 1)


@HARDWARE.row(
    "Framing nails",
    "lb",
    fmt="0.0",
    note="Three {16d|of 4 x 90 mm} at each joist end, two a block end, twelve where joists meet, and those that join plies; ties and hangers bring their own.",
)
def nail_lb(
    joists_in_all: Q, blocking_count: Q, splice_count: Q, ply_nails: Q, nails_per_lb: Q
) -> Q:
    ends = 6 * joists_in_all + 4 * blocking_count + JOINT_NAILS * splice_count
    return (ends + ply_nails) / nails_per_lb


@HARDWARE.row("{Board feet|Nominal volume} of joists, rims, blocks, splices", "board ft", fmt="0")
def floor_bf(
    joists_in_all: Q,
    joist_length_in: Q,
    building_length_ft: Q,
    blocking_count: Q,
    block_length_in: Q,
    splice_count: Q,
    splice_length_in: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
) -> Q:
    small = blocking_count * block_length_in + splice_count * splice_length_in
    rims = np.where(joists_in_all > 0, 2 * building_length_ft, 0)
    run = (joists_in_all * joist_length_in + small) / IN_PER_FT
    nominal = joist_depth_in + np.where(joist_depth_in > 7, 0.75, 0.5)
    return (run + rims) * (joist_width_in + 0.5) * nominal / IN_PER_FT


@HARDWARE.row("Set timbers", "h", fmt="0.0")
def timber_hours(timber_run_ft: Q, timber_h_ft: Q) -> Q:
    return timber_run_ft * timber_h_ft


@HARDWARE.row("Frame the floor", "h", fmt="0.0")
def joist_hours(floor_bf: Q, joist_h_bf: Q) -> Q:
    return floor_bf * joist_h_bf


JOIST_LINES, SHORT_BLOCKS = 80, 12
JOISTS = HARDWARE.table(
    "joist_line",
    "Joists from corner 1",
    JOIST_LINES,
    "Running measurements along the front. Floor Frame shows those of the chosen option.",
)
JOISTS.solved("joist_on", "In use", solver="joists", fmt="0", by_option=True)
JOISTS.solved("joist_near_in", "Near edge", "in", solver="joists", by_option=True)

SHORTER = HARDWARE.table(
    "short_block",
    "Blocks shorter than the rest",
    SHORT_BLOCKS,
    "Where a bay is narrower: by the joists beside it.",
)
SHORTER.solved("short_blocks", "Blocks", solver="joists", kind="text", by_option=True)

HEADERS = HARDWARE.table(
    "opening",
    "Headers at openings in the floor",
    OPENING_LINES,
    "In pairs between the doubled joists, at each end that no rim carries. Joists that the opening meets are cut back to them: both tails come from one joist. A joist of the spacing on the very side of an opening stays as a trimmer.",
)
HEADERS.solved("header_count", "Headers", solver="joists", fmt="0", by_option=True)
HEADERS.solved("header_length_in", "Length", "in", solver="joists", fmt="0.0", by_option=True)
HEADERS.solved("header_tails", "Tail joists", solver="joists", fmt="0", by_option=True)


@HEADERS.column("Nails between its pairs", "pieces", fmt="0", by_option=True, source=PLIES)
def header_nails(header_count: Q, header_length_in: Q) -> Q:
    return header_count * (np.ceil(header_length_in / PLY_NAIL_IN) + 1)


TIMBERS = HARDWARE.table(
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


HARDWARE.adds(
    Weight(key="timber", label="Longest timber", fresh="timber_lb"),
    Weight(key="skid", label="A skid", fresh="skid_lb"),
    Step(
        key="timbers",
        label="Timbers",
        text="Trench, stone in it; timbers level, pinned, screwed; in wet soil a drain outlet; hold for inspection.",
        after=("strip",),
        kinds=TIMBERED,
    ),
    Step(
        key="skids",
        label="Floor on skids",
        text="Skids level on the stone, joists, sheets.",
        after=("stone",),
        kinds=PADS,
    ),
    Step(
        key="beams",
        label="Floor on beams",
        text="Beams, joists, sheets.",
        after=("supports",),
        kinds=SUPPORTS,
    ),
    Hours(
        key="timbers",
        label="Set timbers",
        quantity="timber_hours",
        trade="timber",
        after=("earth",),
    ),
    Hours(
        key="joists",
        label="Frame the floor",
        quantity="joist_hours",
        trade="carpentry",
        after=("skids", "beams"),
    ),
    Need(key="pin", label="Pins", item=Fixed("bar_4_2ft"), quantity="pin_count"),
    Need(
        key="timber_screw",
        label="Structural screws",
        item=Fixed("screw_structural"),
        quantity="timber_screws",
    ),
    Need(
        key="double_hanger",
        label="Double hangers",
        item=Fixed("joist_hanger_double"),
        quantity="double_hangers",
    ),
    Need(
        key="tail_hanger",
        label="Hangers of tail joists",
        item=Fixed("joist_hanger"),
        quantity="tail_hangers",
    ),
    Need(key="tie", label="Joist ties", item=Fixed("joist_tie"), quantity="tie_count"),
    Need(key="nail", label="Framing nails", item=Fixed("nail_16d_galv"), quantity="nail_lb"),
    PieceList(
        key="timbers",
        label="Timbers",
        stock="timber_stock",
        lengths="timber_length_in",
        count="timber_pieces",
        mark="timber",
        use="timber_class",
    ),
    PieceList(
        key="headers",
        label="Headers at openings",
        stock="joist_stock_used",
        lengths="header_length_in",
        counts="header_count",
        count="headers_in_all",
        mark="header",
        use="joist_class",
    ),
)


@check(
    HARDWARE,
    "Openings in the floor",
    source="IRC R502.10, from memory: a header over {4 ft}, and its trimmers, are doubled",
    mend="opening_framed",
    hazard="cut joists",
)
def check_openings(opening_length_ft: Q, opening_framed: Q, opening_what: Q) -> Q:
    bare = np.sum(np.where((opening_what != "") & (opening_framed != "yes"), 1, 0))
    wide = np.sum(np.where((opening_what != "") & (opening_length_ft > 4), 1, 0))
    return np.where(
        wide > 0,
        "LOOK: an opening is longer than {4 ft}; have its headers and trimmers checked",
        np.where(bare > 0, "LOOK: joists at an opening are not doubled; cut none of them", OK),
    )
