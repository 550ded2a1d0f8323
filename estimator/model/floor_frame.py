"""Sheet Floor Frame: where joists, skids or beams and blocks stand, measured from one corner."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.model.kinds import PADS, is_kind
from estimator.model.lumber.hardware import JOIST_LINES, SHORT_BLOCKS
from estimator.model.option_names import letter_of
from estimator.model.sheathing import SEAMS
from estimator.model.tape import tape
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, pick

PARTED, DOUBLED = "Joists in parts", "Doubled joists and openings"
FLOOR_FRAME = Sheet(
    "Floor Frame",
    "Floor Frame: marks for joists, skids or beams, and blocks",
    "For the chosen option. Hook one tape at corner 1 and mark every measurement without adding.",
    shows=SheetAppearance(
        role="take-along",
        reader="saw",
        large=True,
        widths=(6.5, 15.5, 15.5, 2, 6.5, 15.5, 15.5, 2, 6.5, 16),
        label_columns=4,
        told_by="floor_joists",
        notes_by={PARTED: "floor_meet", DOUBLED: "joist_doubled"},
    ),
)
BEARERS = 12
BLOCK_ROWS = 6

FLOOR_FRAME.section("Frame")


@FLOOR_FRAME.row("Option", kind="text", scope="job")
def floor_title(option_kind: Q, chosen_no: Q, chosen_used: Q) -> Q:
    """Its letter and its kind: large letters leave no room for a name."""
    told = join(letter_of(chosen_no), ": ", pick(option_kind, chosen_no))
    return np.where(chosen_used == 1, told, "")


@FLOOR_FRAME.row("Rims, R1 in front and R2 at the back", kind="text", scope="job")
def floor_rim(building_length_ft: Q, floor_joists: Q) -> Q:
    return np.where(floor_joists > 0, tape(building_length_ft * IN_PER_FT), "")


@FLOOR_FRAME.row("Joists, or front parts, from the rim", kind="text", scope="job")
def floor_joist(joist_front_in: Q, chosen_no: Q, floor_joists: Q) -> Q:
    return np.where(floor_joists > 0, tape(pick(joist_front_in, chosen_no)), "")


@FLOOR_FRAME.row("Parts of a joist", "parts", fmt="0", scope="job")
def floor_parts(joist_parts: Q, chosen_no: Q) -> Q:
    return pick(joist_parts, chosen_no)


@FLOOR_FRAME.row("Middle parts, cut to", kind="text", scope="job")
def floor_middle(floor_parts: Q, joist_middle_in: Q, chosen_no: Q) -> Q:
    return np.where(floor_parts > 2, tape(pick(joist_middle_in, chosen_no)), "")


@FLOOR_FRAME.row("Back parts, cut to", kind="text", scope="job")
def floor_back(floor_parts: Q, joist_back_in: Q, chosen_no: Q) -> Q:
    return np.where(floor_parts > 1, tape(pick(joist_back_in, chosen_no)), "")


@FLOOR_FRAME.row("Parts meet over skid or beam", kind="text", scope="job")
def floor_meet(floor_parts: Q, joist_spans: Q, chosen_no: Q) -> Q:
    spans = pick(joist_spans, chosen_no)
    every = join("no. ", 1 + spans, ", then every ", spans)
    return np.where(floor_parts > 2, every, np.where(floor_parts > 1, join("no. ", 1 + spans), ""))


@FLOOR_FRAME.row("Joists in all", "pieces", fmt="0", scope="job")
def floor_joists(joists_in_all: Q, chosen_no: Q) -> Q:
    return pick(joists_in_all, chosen_no)


@FLOOR_FRAME.row(
    "Blocks, cut to",
    kind="text",
    scope="job",
    note="Marked B. Shorter in the odd end bay, and beside a splice.",
)
def floor_block(block_length_in: Q, chosen_no: Q, floor_joists: Q) -> Q:
    return np.where(floor_joists > 0, tape(pick(block_length_in, chosen_no)), "")


@FLOOR_FRAME.row("Both diagonals of the frame", kind="text", scope="job")
def floor_diagonal(floor_diagonal_in: Q, chosen_no: Q, floor_joists: Q) -> Q:
    return np.where(floor_joists > 0, tape(pick(floor_diagonal_in, chosen_no)), "")


@FLOOR_FRAME.row("Ends of skids", kind="text", scope="job")
def floor_skid_ends(chosen_base: Q) -> Q:
    told = "half depth at 45 degrees; coat cuts"
    return np.where(is_kind(chosen_base, PADS), told, "")


@FLOOR_FRAME.row("Rows of blocks between the edges", "rows", fmt="0", scope="job")
def floor_block_rows(blocking_rows: Q, chosen_no: Q) -> Q:
    return pick(blocking_rows, chosen_no)


@FLOOR_FRAME.row("Rows under seams and where joists meet", "rows", fmt="0", scope="job")
def floor_seam_rows(block_rows: Q, blocking_rows: Q, chosen_no: Q) -> Q:
    return pick(block_rows, chosen_no) - pick(blocking_rows, chosen_no)


MARKS = FLOOR_FRAME.table(
    "joist_line",
    "Joists, from corner 1",
    JOIST_LINES,
    "Mark the near edge on both rims, set the joist on the far side of it.",
    index=True,
    shows=Appearance(
        printed_rows=34,
        characters={"mark_near": 14, "mark_centre": 14},
        aside=("mark_near_in",),
        letters="J",
    ),
)


@MARKS.column("Near edge, in decimals", "in")
def mark_near_in(joist_near_in: Q, chosen_no: Q) -> Q:
    return pick(joist_near_in, chosen_no)


@MARKS.column("Near edge{|, mm}", kind="text")
def mark_near(joist_on: Q, chosen_no: Q, mark_near_in: Q) -> Q:
    return np.where(pick(joist_on, chosen_no) > 0, tape(mark_near_in, headed=True), "")


@MARKS.column("Centre{|, mm}", kind="text")
def mark_centre(joist_on: Q, chosen_no: Q, mark_near_in: Q, joist_width_in: Q) -> Q:
    centre = mark_near_in + pick(joist_width_in, chosen_no) / 2
    return np.where(pick(joist_on, chosen_no) > 0, tape(centre, headed=True), "")


UNDER = FLOOR_FRAME.table(
    "bearer",
    "Skids or beams, from the front",
    BEARERS,
    "Below zero: outside of the floor. Marked S, boards of beams BB.",
    index=True,
    shows=Appearance(
        beside=5,
        characters={"under_near": 14, "under_centre": 14},
        aside=("under_near_in",),
    ),
)


@UNDER.column("Near edge, in decimals", "in")
def under_near_in(
    bearer_no: Q,
    bearer_count: Q,
    bearer_first_in: Q,
    bearer_step_in: Q,
    bearer_width_in: Q,
    chosen_no: Q,
) -> Q:
    step = pick(bearer_step_in, chosen_no)
    centre = pick(bearer_first_in, chosen_no) + (bearer_no - 1) * step
    near = centre - pick(bearer_width_in, chosen_no) / 2
    return np.where(bearer_no <= pick(bearer_count, chosen_no), near, 0)


@UNDER.column("Near edge{|, mm}", kind="text")
def under_near(bearer_no: Q, bearer_count: Q, under_near_in: Q, chosen_no: Q) -> Q:
    return np.where(
        bearer_no <= pick(bearer_count, chosen_no), tape(under_near_in, headed=True), ""
    )


@UNDER.column("Centre{|, mm}", kind="text")
def under_centre(
    bearer_no: Q, bearer_count: Q, under_near_in: Q, bearer_width_in: Q, chosen_no: Q
) -> Q:
    centre = under_near_in + pick(bearer_width_in, chosen_no) / 2
    return np.where(bearer_no <= pick(bearer_count, chosen_no), tape(centre, headed=True), "")


ROWS = FLOOR_FRAME.table(
    "block_row",
    "Rows of blocks",
    BLOCK_ROWS,
    "From the front, evenly.",
    index=True,
    shows=Appearance(beside=9, characters={"block_row": 14}, aside=("block_row_in",)),
)


@ROWS.column("Centre, in decimals", "in")
def block_row_in(block_row_no: Q, floor_block_rows: Q, building_width_ft: Q) -> Q:
    at = building_width_ft * IN_PER_FT * block_row_no / (floor_block_rows + 1)
    return np.where(block_row_no <= floor_block_rows, at, 0)


@ROWS.column("Centre{|, mm}", kind="text")
def block_row(block_row_in: Q) -> Q:
    return np.where(block_row_in > 0, tape(block_row_in, headed=True), "")


SHORTER = FLOOR_FRAME.table(
    "short_block",
    "Blocks shorter than the rest, from corner 1",
    SHORT_BLOCKS,
    index=True,
    shows=Appearance(characters={"floor_short": 36}),
)


@SHORTER.column("Blocks", kind="text")
def floor_short(short_blocks: Q, chosen_no: Q) -> Q:
    return pick(short_blocks, chosen_no)


SEAM_ROWS = FLOOR_FRAME.table(
    "seam",
    "Seams of sheets",
    SEAMS,
    shows=Appearance(beside=9, characters={"floor_seam": 14}, aside=("floor_seam_in",)),
)


@SEAM_ROWS.column("Centre, in decimals", "in")
def floor_seam_in(seam_in: Q, chosen_no: Q) -> Q:
    return pick(seam_in, chosen_no)


@SEAM_ROWS.column("From the front{|, mm}", kind="text")
def floor_seam(floor_seam_in: Q) -> Q:
    return np.where(floor_seam_in > 0, tape(floor_seam_in, headed=True), "")


FLOOR_FRAME.notes(
    "Framing",
    "Crowns up. Joists stand on the spacing from corner 1, so that ends of whole sheets land mid-joist. Blocks come from off-cuts first; use them to straighten bowed joists. Under seams of square-edged sheets they stand where the option says so, in place of a row that they would touch.",
)
FLOOR_FRAME.notes(
    PARTED,
    "They meet over the middle of a skid or beam, of which no. 1 is at the front. All parts of one stand in one straight line, so that ends of sheets land on them. Each end takes half of the skid or beam and three nails on the slant; a splice of the joists' stock, {24 in|610 mm} long, stands beside the joint, half on each part, three nails through each; blocks between the joists (IRC R502.6.1, R502.7, from memory). Of doubled joists the splice stands on the free side, nailed through both.",
)
FLOOR_FRAME.notes(
    DOUBLED,
    "A framed opening: joists doubled on both sides, a pair of headers across each end that no rim carries; joists that meet it are cut back to the headers and hung from them (joist lines above are those of the whole floor). Doubled joists are nailed to each other, and so are pairs of headers: two rows {24 in|600 mm} on centre (see Lumber). A pair of headers hangs in a double hanger at both ends; each tail joist hangs from it in a hanger of its own.",
)
