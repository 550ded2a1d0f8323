"""Sheets Cut Plan and Sheet Layout: what goes to the saw, board by board and sheet by sheet."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.model.adds import OK, check
from estimator.model.charts import (
    BOARDS_DRAWN,
    DRAWING,
    DRAWING_ROOM,
    FLOOR_DRAWING,
    FLOOR_ROOM,
    SHEETS_DRAWN,
)
from estimator.model.floor_inputs import OPENING_LINES
from estimator.model.lumber.boards_cut import SAW_CUTS, SAW_LINES
from estimator.model.prices import ITEMS
from estimator.model.sheathing import PANEL_PIECES
from estimator.model.tape import tape
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, lookup, nth, pick

OFFCUTS = 120
MARKS_LONG = 64
"""Characters of marks on a line; a board with more of them goes on on the next."""
BOARDS = 6 * SAW_LINES
DRAWN_WIDE = 1.02
"""How wide the drawing of an option's boards is, as a share of the longest."""

CUT_PLAN = Sheet(
    "Cut Plan",
    "Cut Plan: every board and what is cut from it",
    "Least cost from the lengths in stock, proven where it says so. Measure before you cut.",
    shows=SheetAppearance(
        role="take-along",
        reader="saw",
        widths=(5, 22.5, 7, 7.5, 61.5, 13),
        label_columns=2,
        band=BOARDS_DRAWN,
    ),
)
CUT_PLAN.section("Boards of the chosen option")


@CUT_PLAN.row("Option", kind="text", scope="job")
def saw_title(field_title: Q) -> Q:
    return field_title


@CUT_PLAN.row("Proof", kind="text", scope="job")
def saw_proof(cut_proven: Q, chosen_no: Q) -> Q:
    return pick(cut_proven, chosen_no)


@CUT_PLAN.row("Rims joined at", kind="text", scope="job")
def saw_joined(rim_joints: Q, chosen_no: Q) -> Q:
    return pick(rim_joints, chosen_no)


@CUT_PLAN.row("Boards, and for culls", "boards", fmt="0", scope="job")
def saw_bought(cut_boards: Q, culls: Q, chosen_no: Q) -> Q:
    return pick(cut_boards, chosen_no) + pick(culls, chosen_no)


SAW = CUT_PLAN.table(
    "saw",
    "At the saw: boards of the chosen option",
    SAW_LINES,
    "Square one end and hook the tape there: each piece ends so many {inches|millimetres} on as stand behind its mark, the next begins a kerf further. Pieces alike share their marks, in any order. Write the marks on the pieces. Sight along the board, mark its crown; crowns up in the floor. A line without an item belongs to the board above.",
    index=True,
    shows=Appearance(
        aside=("saw_end_x", "saw_end_line"),
    ),
)


def _on_line(saw_no: Q, saw_first: Q, saw_lines: Q, chosen_no: Q, column: Q, blank: Q) -> Q:
    """The entry of a line of the chosen option on the list of boards."""
    line = pick(saw_first, chosen_no) + saw_no - 1
    return np.where(saw_no <= pick(saw_lines, chosen_no), nth(column, line), blank)


@SAW.column("Item", kind="text")
def saw_item(saw_no: Q, saw_first: Q, saw_lines: Q, chosen_no: Q, board_item: Q) -> Q:
    return _on_line(saw_no, saw_first, saw_lines, chosen_no, board_item, "")


@SAW.column("Boards alike", fmt="0;-0;")
def saw_boards(saw_no: Q, saw_first: Q, saw_lines: Q, chosen_no: Q, board_count: Q) -> Q:
    return _on_line(saw_no, saw_first, saw_lines, chosen_no, board_count, 0)


@SAW.column("A board weighs", "lb", fmt="0;-0;")
def saw_lb(saw_item: Q, item_name: Q, item_lb: Q) -> Q:
    return lookup(saw_item, item_name, item_lb, 0)


@SAW.column(
    "Marks, and {inches|millimetres} from the squared end to where each piece ends", kind="text"
)
def saw_marks(saw_no: Q, saw_first: Q, saw_lines: Q, chosen_no: Q, board_marks: Q) -> Q:
    return _on_line(saw_no, saw_first, saw_lines, chosen_no, board_marks, "")


@SAW.column("Off-cut{|, mm}", kind="text")
def saw_left(saw_no: Q, saw_item: Q, saw_first: Q, chosen_no: Q, board_offcut_in: Q) -> Q:
    left_in = nth(board_offcut_in, pick(saw_first, chosen_no) + saw_no - 1)
    return np.where(saw_item != "", tape(left_in, headed=True), "")


@SAW.column("Drawn: length", fmt="0.000")
def saw_end_x(
    saw_item: Q,
    item_name: Q,
    item_length_ft: Q,
    over_length_in: Q,
    longest_board_ft: Q,
    chosen_no: Q,
) -> Q:
    length = lookup(saw_item, item_name, item_length_ft, 0) + over_length_in / IN_PER_FT
    wide = np.maximum(DRAWN_WIDE * pick(longest_board_ft, chosen_no), 1)
    return np.where(saw_item != "", length / wide, 0)


@SAW.column("Drawn: line", fmt="0")
def saw_end_line(saw_no: Q, saw_lines: Q, chosen_no: Q) -> Q:
    return np.where(saw_no <= pick(saw_lines, chosen_no), saw_no, 0)


CUT_PLAN.notes(DRAWING, *("",) * DRAWING_ROOM)

KEPT = CUT_PLAN.table(
    "offcut",
    "Behind the page: off-cuts to keep, option by option",
    OFFCUTS,
    "As long as the shortest off-cut kept for blocking (Job), or longer; longest first.",
    shows=Appearance(
        workings=True,
        characters={"offcut_option": 8, "offcut_item": 22, "offcut_length": 14},
    ),
)
KEPT.solved("offcut_option", "Option", solver="cutting", kind="text")
KEPT.solved("offcut_item", "From", solver="cutting", kind="text")
KEPT.solved("offcut_count", "Pieces", solver="cutting", fmt="0")
KEPT.solved("offcut_length_in", "Length", "in", solver="cutting", fmt="0.0")
KEPT.solved("offcut_length", "By the tape", solver="cutting", kind="text")

ITEM_TABLE = CUT_PLAN.table("item", "Boards by item", ITEMS)
ITEM_TABLE.solved("item_boards", "Boards", solver="cutting", fmt="0", by_option=True)

CUT_PLAN.notes(
    "Marks and lengths",
    "J joists, R rims, B blocks, S skids, BB beam boards, T timbers, H headers, as Floor Frame and Lumber count them; J3.1 is the front part of J3. Others: initials of the piece's name on Lumber. Where the drawing has no room for all marks of boards alike it has the first and two dots, on a very short piece two dots alone. A board counts as its nominal length and the true over-length on Job, less the end trim; every cut takes a kerf.",
)

BOARD_TABLE = CUT_PLAN.table(
    "board",
    "Behind the page: boards, option by option",
    BOARDS,
    shows=Appearance(
        workings=True,
        characters={
            "board_option": 8,
            "board_item": 22,
            "board_pieces": 32,
            "board_marks": 66,
        },
    ),
)
BOARD_TABLE.solved("board_option", "Option, from here", solver="cutting", kind="text")
BOARD_TABLE.solved("board_item", "Item", solver="cutting", kind="text")
BOARD_TABLE.solved("board_count", "Boards alike", solver="cutting", fmt="0")
BOARD_TABLE.solved("board_pieces", "Cut", solver="cutting", kind="text")
BOARD_TABLE.solved("board_offcut_in", "Off-cut", "in", solver="cutting", fmt="0.0")
BOARD_TABLE.solved("board_marks", "Marks from the squared end", solver="cutting", kind="text")

CUTS = CUT_PLAN.table(
    "saw_cut",
    "Behind the drawing: cuts, option by option",
    SAW_CUTS,
    "Number of the line, and behind the point where on the board.",
    shows=Appearance(workings=True),
)
CUTS.solved("saw_cut_at", "Cut", solver="cutting", fmt="0.000", by_option=True)
CUTS.solved("saw_cut_marks", "Marks", solver="cutting", kind="text", by_option=True)


@CUTS.column("Chosen: where", fmt="0.000")
def saw_cut_x(saw_cut_at: Q, chosen_no: Q) -> Q:
    at = pick(saw_cut_at, chosen_no)
    return at - np.floor(at)


@CUTS.column("Chosen: line", fmt="0")
def saw_cut_line(saw_cut_at: Q, chosen_no: Q) -> Q:
    at = pick(saw_cut_at, chosen_no)
    return np.where(at > 0, np.floor(at), -1)


@CUTS.column("Chosen: marks", kind="text")
def saw_cut_mark(saw_cut_marks: Q, chosen_no: Q) -> Q:
    return pick(saw_cut_marks, chosen_no)


SHEET_LAYOUT = Sheet(
    "Sheet Layout",
    "Sheet Layout: floor sheets of the chosen option",
    "Measured from corner 1 of the floor: along the front, then back. Long edge across the joists.",
    shows=SheetAppearance(
        role="take-along",
        reader="saw",
        upright=True,
        band=SHEETS_DRAWN,
        told_by="layout_sheets",
    ),
)
SHEET_LAYOUT.section("Floor sheets")


@SHEET_LAYOUT.row("Option", kind="text", scope="job")
def layout_title(field_title: Q) -> Q:
    return field_title


@SHEET_LAYOUT.row("Sheets", "sheets", fmt="0", scope="job")
def layout_sheets(sheet_count: Q, chosen_no: Q) -> Q:
    return pick(sheet_count, chosen_no)


@SHEET_LAYOUT.row("Proof", kind="text", scope="job")
def layout_proof(sheet_proof: Q, chosen_no: Q) -> Q:
    return pick(sheet_proof, chosen_no)


SHEET_LAYOUT.notes(FLOOR_DRAWING, *("",) * FLOOR_ROOM)

LAID = SHEET_LAYOUT.table(
    "panel_piece",
    "Pieces in the order of laying",
    PANEL_PIECES,
    "Near corner of each piece on the floor, which bears its number in both drawings. It is cut from its sheet at so much from the sheet's end, and from its edge: the groove edge, where there is one, else either, the same for all pieces of a sheet.",
    index=True,
    shows=Appearance(
        printed_rows=24,
        characters={
            "laid_x": 12,
            "laid_y": 12,
            "laid_long": 12,
            "laid_wide": 12,
            "laid_cut": 26,
        },
        aside=(
            "laid_far_x",
            "laid_far_y",
            "laid_at_x",
            "laid_at_y",
            "laid_part_long",
            "laid_part_wide",
            "laid_mid_y",
            "laid_far_mid_y",
        ),
    ),
)


@LAID.column("From sheet", fmt="0;-0;")
def laid_sheet(piece_sheet: Q, chosen_no: Q) -> Q:
    return pick(piece_sheet, chosen_no)


@LAID.column("Along the front{|, mm}", kind="text")
def laid_x(laid_sheet: Q, piece_x_in: Q, chosen_no: Q) -> Q:
    return np.where(laid_sheet > 0, tape(pick(piece_x_in, chosen_no), headed=True), "")


@LAID.column("Back{|, mm}", kind="text")
def laid_y(laid_sheet: Q, piece_y_in: Q, chosen_no: Q) -> Q:
    return np.where(laid_sheet > 0, tape(pick(piece_y_in, chosen_no), headed=True), "")


@LAID.column("Long{|, mm}", kind="text")
def laid_long(laid_sheet: Q, piece_long_in: Q, chosen_no: Q) -> Q:
    return np.where(laid_sheet > 0, tape(pick(piece_long_in, chosen_no), headed=True), "")


@LAID.column("Wide{|, mm}", kind="text")
def laid_wide(laid_sheet: Q, piece_wide_in: Q, chosen_no: Q) -> Q:
    return np.where(laid_sheet > 0, tape(pick(piece_wide_in, chosen_no), headed=True), "")


@LAID.column("Cut at, from end and edge of the sheet", kind="text")
def laid_cut(piece_cut: Q, chosen_no: Q) -> Q:
    return pick(piece_cut, chosen_no)


@LAID.column("Drawn: end", fmt="0.000")
def laid_far_x(piece_far_x: Q, chosen_no: Q) -> Q:
    return pick(piece_far_x, chosen_no)


@LAID.column("Drawn: edge", fmt="0.000")
def laid_far_y(piece_far_y: Q, chosen_no: Q) -> Q:
    return pick(piece_far_y, chosen_no)


@LAID.column("Drawn: along", fmt="0.000")
def laid_at_x(piece_x_in: Q, sheet_long_in: Q, chosen_no: Q) -> Q:
    return pick(piece_x_in, chosen_no) / np.maximum(pick(sheet_long_in, chosen_no), 1)


@LAID.column("Drawn: back", fmt="0.000")
def laid_at_y(piece_y_in: Q, sheet_wide_in: Q, chosen_no: Q) -> Q:
    return pick(piece_y_in, chosen_no) / np.maximum(pick(sheet_wide_in, chosen_no), 1)


@LAID.column("Drawn: long", fmt="0.000")
def laid_part_long(piece_long_in: Q, sheet_long_in: Q, chosen_no: Q) -> Q:
    return pick(piece_long_in, chosen_no) / np.maximum(pick(sheet_long_in, chosen_no), 1)


@LAID.column("Drawn: wide", fmt="0.000")
def laid_part_wide(piece_wide_in: Q, sheet_wide_in: Q, chosen_no: Q) -> Q:
    return pick(piece_wide_in, chosen_no) / np.maximum(pick(sheet_wide_in, chosen_no), 1)


@LAID.column("Drawn: its middle", fmt="0.000")
def laid_mid_y(laid_sheet: Q, laid_at_y: Q, laid_part_wide: Q) -> Q:
    return np.where(laid_sheet > 0, laid_at_y + laid_part_wide / 2, -1)


@LAID.column("Drawn: middle of its cut", fmt="0.000")
def laid_far_mid_y(laid_sheet: Q, laid_far_y: Q, laid_part_wide: Q) -> Q:
    return np.where(laid_sheet > 0, laid_far_y - laid_part_wide / 2, -1)


OUTLINE = SHEET_LAYOUT.table(
    "floor_corner",
    "Behind the drawing: the floor's far edges",
    3,
    index=True,
    shows=Appearance(workings=True),
)


@OUTLINE.column("Along the front, sheets", fmt="0.000")
def floor_edge_x(floor_corner_no: Q, building_length_ft: Q, sheet_long_in: Q, chosen_no: Q) -> Q:
    length = building_length_ft * IN_PER_FT / np.maximum(pick(sheet_long_in, chosen_no), 1)
    return np.where(floor_corner_no > 1, length, 0)


@OUTLINE.column("Back, sheets", fmt="0.000")
def floor_edge_y(floor_corner_no: Q, building_width_ft: Q, sheet_wide_in: Q, chosen_no: Q) -> Q:
    width = building_width_ft * IN_PER_FT / np.maximum(pick(sheet_wide_in, chosen_no), 1)
    return np.where(floor_corner_no < 3, width, 0)


OPENINGS_DRAWN = SHEET_LAYOUT.table(
    "opening",
    "Behind the drawing: openings",
    OPENING_LINES,
    shows=Appearance(workings=True),
)


@OPENINGS_DRAWN.column("Along the front, sheets", fmt="0.000")
def hole_x(opening_x_ft: Q, sheet_long_in: Q, chosen_no: Q) -> Q:
    return opening_x_ft * IN_PER_FT / np.maximum(pick(sheet_long_in, chosen_no), 1)


@OPENINGS_DRAWN.column("Back, sheets", fmt="0.000")
def hole_y(opening_y_ft: Q, sheet_wide_in: Q, chosen_no: Q) -> Q:
    return opening_y_ft * IN_PER_FT / np.maximum(pick(sheet_wide_in, chosen_no), 1)


@OPENINGS_DRAWN.column("Its end, sheets", fmt="0.000")
def hole_end_x(opening_x_ft: Q, opening_length_ft: Q, sheet_long_in: Q, chosen_no: Q) -> Q:
    end = opening_x_ft + opening_length_ft
    return end * IN_PER_FT / np.maximum(pick(sheet_long_in, chosen_no), 1)


@OPENINGS_DRAWN.column("Its back, sheets", fmt="0.000")
def hole_end_y(opening_y_ft: Q, opening_width_ft: Q, sheet_wide_in: Q, chosen_no: Q) -> Q:
    end = opening_y_ft + opening_width_ft
    return end * IN_PER_FT / np.maximum(pick(sheet_wide_in, chosen_no), 1)


@OPENINGS_DRAWN.column("Long, sheets", fmt="0.000")
def hole_long(hole_x: Q, hole_end_x: Q) -> Q:
    return hole_end_x - hole_x


@OPENINGS_DRAWN.column("Wide, sheets", fmt="0.000")
def hole_wide(hole_y: Q, hole_end_y: Q) -> Q:
    return hole_end_y - hole_y


SHEET_LAYOUT.notes(
    "Laying",
    "A piece that an opening cuts into is counted whole: cut the opening out of it after laying. What is cut out is used for nothing else.",
    "Screws {6 in|150 mm} at the edges and {12 in|300 mm} between, or as typed on Factors; adhesive on every joist. Leave the gap on every side.",
)


@check(
    CUT_PLAN, "Lists for the saw are whole", mend="option_kind", hazard="a list that is not whole"
)
def check_lists(offcuts_left_out: Q, cuts_left_out: Q, saw_left_out: Q) -> Q:
    return np.where(
        cuts_left_out != "",
        join("LOOK: Sheet Layout: ", cuts_left_out),
        np.where(
            offcuts_left_out != "",
            join("LOOK: Cut Plan: ", offcuts_left_out),
            np.where(saw_left_out != "", join("LOOK: Cut Plan: ", saw_left_out), OK),
        ),
    )
