"""Sheets Cut Plan and Sheet Layout: what goes to the saw, board by board and sheet by sheet."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.contributions import Fixed
from estimator.model.adds import OK, Need, check
from estimator.model.prices import ITEMS
from estimator.model.sheathing import PANEL_PIECES, PICTURE_ROWS, SHEET_CUTS
from estimator.model.tape import tape
from estimator.rows import Sheet
from estimator.vocabulary import Q, amount, join, lookup, pick

BOARDS = 240
OFFCUTS = 120

CUT_PLAN = Sheet(
    "Cut Plan",
    "Cut Plan: every board and what is cut from it",
    "Least cost from the lengths in stock, proven where it says so. Measure before you cut.",
    shows=SheetAppearance(role="take-along", characters={"cut_proven": 34, "rim_joints": 24}),
)
CUT_PLAN.section("Answer")
CUT_PLAN.solved("cut_cost", "Boards", "$", solver="cutting", fmt="#,##0.00")
CUT_PLAN.solved("cut_bound", "No plan costs less than", "$", solver="cutting", fmt="#,##0.00")
CUT_PLAN.solved("cut_proven", "Proof", solver="cutting", kind="text")
CUT_PLAN.solved("cut_boards", "Boards", "boards", solver="cutting", fmt="0")
CUT_PLAN.solved("blocks_from_offcuts", "Blocks from off-cuts", "pieces", solver="cutting", fmt="0")
CUT_PLAN.solved(
    "rim_joints",
    "Rims joined at, from corner 1",
    solver="cutting",
    kind="text",
    note="On the middle of a joist, in as few parts as boards allow; of all such ways, as the proof says. Blank: in one piece.",
)
CUT_PLAN.solved(
    "ends_coated",
    "Sawn ends of treated wood",
    "ends",
    solver="cutting",
    fmt="0",
    note="To coat. A factory end is none: the first of a board that is not squared, the last of one used to its end.",
)
CUT_PLAN.solved("cut_waste_ft", "Off-cuts left", "ft", solver="cutting", fmt="0.0")

CUT_PLAN.solved("cut_waste_ft3", "Their volume", "ft3", solver="cutting", fmt="0.00")
CUT_PLAN.solved(
    "offcuts_unlisted", "Off-cuts to keep, not listed below", "pieces", solver="cutting", fmt="0"
)
CUT_PLAN.solved("offcuts_unlisted_ft", "Their length in all", "ft", solver="cutting", fmt="0.0")


@CUT_PLAN.row("Off-cuts left out", kind="text")
def offcuts_left_out(offcuts_unlisted: Q, offcuts_unlisted_ft: Q) -> Q:
    sentence = join(
        offcuts_unlisted,
        " off-cuts, ",
        amount(offcuts_unlisted_ft, "ft", "0.0"),
        " in all, do not fit on the list",
    )
    return np.where(offcuts_unlisted > 0, sentence, "")


CUT_PLAN.adds(
    Need(
        key="preservative",
        label="Cut-end preservative",
        item=Fixed("preservative"),
        quantity="ends_coated",
    ),
)

BOARD_TABLE = CUT_PLAN.table(
    "board",
    "Boards, option by option",
    BOARDS,
    shows=Appearance(
        printed_rows=54,
        characters={
            "board_option": 8,
            "board_item": 22,
            "board_pieces": 32,
            "board_left": 12,
            "board_bar": 36,
        },
        drawings={"board_bar": "bar"},
    ),
)
BOARD_TABLE.solved("board_option", "Option", solver="cutting", kind="text")
BOARD_TABLE.solved("board_item", "Item", solver="cutting", kind="text")
BOARD_TABLE.solved("board_length_ft", "Length", "ft", solver="cutting", fmt="0.##")
BOARD_TABLE.solved("board_count", "Boards alike", solver="cutting", fmt="0")
BOARD_TABLE.solved("board_pieces", "Cut", solver="cutting", kind="text")
BOARD_TABLE.solved("board_offcut_in", "Off-cut", "in", solver="cutting", fmt="0.0")


@BOARD_TABLE.column("Off-cut by the tape", kind="text")
def board_left(board_count: Q, board_offcut_in: Q) -> Q:
    return np.where(board_count > 0, tape(board_offcut_in), "")


@BOARD_TABLE.column("A board weighs", "lb", fmt="0")
def board_lb(board_item: Q, item_name: Q, item_lb: Q) -> Q:
    return lookup(board_item, item_name, item_lb, 0)


BOARD_TABLE.solved("board_bar", "In proportion", solver="cutting", kind="text")

KEPT = CUT_PLAN.table(
    "offcut",
    "Off-cuts to keep",
    OFFCUTS,
    "As long as the shortest off-cut kept for blocking (Job), or longer; longest first.",
    shows=Appearance(
        printed_rows=24, characters={"offcut_option": 8, "offcut_item": 22, "offcut_length": 14}
    ),
)
KEPT.solved("offcut_option", "Option", solver="cutting", kind="text")
KEPT.solved("offcut_item", "From", solver="cutting", kind="text")
KEPT.solved("offcut_count", "Pieces", solver="cutting", fmt="0")
KEPT.solved("offcut_length_in", "Length", "in", solver="cutting", fmt="0.0")


@KEPT.column("By the tape", kind="text")
def offcut_length(offcut_count: Q, offcut_length_in: Q) -> Q:
    return np.where(offcut_count > 0, tape(offcut_length_in), "")


ITEM_TABLE = CUT_PLAN.table("item", "Boards by item", ITEMS)
ITEM_TABLE.solved("item_boards", "Boards", solver="cutting", fmt="0", by_option=True)
CUT_PLAN.notes(
    "How lengths are counted",
    "A board counts as its nominal length and the true over-length on Job, less the end trim; every cut takes a kerf.",
    "Timbers and blocks come in one piece. Joists longer than the longest board meet end to end over a skid or beam. Rims longer than the longest board are joined on the middle of a joist, where the sheet says and the boards cost least, skids lapped on the stone, beam boards joined over a support.",
    "The bar shows each board from its squared end: full for one piece, hatched for the next, dotted for the off-cut.",
)

SHEET_LAYOUT = Sheet(
    "Sheet Layout",
    "Sheet Layout: floor sheets of the chosen option",
    "Measured from corner 1 of the floor: along the front, then back. Long edge across the joists.",
    shows=SheetAppearance(role="take-along", characters={"sheet_text": 150, "sheet_proof": 34}),
)
SHEET_LAYOUT.section("Answer")
SHEET_LAYOUT.solved("sheet_proof", "Proof", solver="sheets", kind="text")
SHEET_LAYOUT.solved("sheet_text", "Cut list", solver="sheets", kind="text")
SHEET_LAYOUT.solved(
    "cuts_unlisted", "Pieces of sizes not listed below", "pieces", solver="sheets", fmt="0"
)
SHEET_LAYOUT.solved("cuts_unlisted_ft2", "Their area in all", "ft2", solver="sheets", fmt="0.0")


@SHEET_LAYOUT.row("Cut list, left out", kind="text")
def cuts_left_out(cuts_unlisted: Q, cuts_unlisted_ft2: Q) -> Q:
    sentence = join(
        cuts_unlisted,
        " pieces, ",
        amount(cuts_unlisted_ft2, "ft2", "0.0"),
        " in all, do not fit on the list: see the pieces in the order of laying",
    )
    return np.where(cuts_unlisted > 0, sentence, "")


DRAWN = SHEET_LAYOUT.table(
    "floor_row",
    "Floor from above, front at the bottom",
    PICTURE_ROWS,
    "Each figure is the last digit of the sheet's number, {4 in} wide and {1 ft|305 mm} deep; dots are openings.",
    shows=Appearance(characters={"layout_drawn": 40}, drawings={"layout_drawn": "drawing"}),
)


@DRAWN.column("Floor", kind="text")
def layout_drawn(floor_drawn: Q, chosen_no: Q) -> Q:
    return pick(floor_drawn, chosen_no)


CUT_LIST = SHEET_LAYOUT.table(
    "sheet_cut",
    "Cut list",
    SHEET_CUTS,
    "Widths are what a piece covers; a tongue comes on top.",
    shows=Appearance(
        printed_rows=16, characters={"layout_long": 12, "layout_wide": 12, "layout_from": 24}
    ),
)


@CUT_LIST.column("Pieces", fmt="0;-0;")
def layout_count(cut_count: Q, chosen_no: Q) -> Q:
    return pick(cut_count, chosen_no)


@CUT_LIST.column("Long", kind="text")
def layout_long(layout_count: Q, cut_long_in: Q, chosen_no: Q) -> Q:
    return np.where(layout_count > 0, tape(pick(cut_long_in, chosen_no)), "")


@CUT_LIST.column("Wide", kind="text")
def layout_wide(layout_count: Q, cut_wide_in: Q, chosen_no: Q) -> Q:
    return np.where(layout_count > 0, tape(pick(cut_wide_in, chosen_no)), "")


@CUT_LIST.column("From sheets", kind="text")
def layout_from(cut_from: Q, chosen_no: Q) -> Q:
    return pick(cut_from, chosen_no)


LAID = SHEET_LAYOUT.table(
    "panel_piece",
    "Pieces in the order of laying",
    PANEL_PIECES,
    "Near corner of each piece.",
    shows=Appearance(
        printed_rows=24, characters={"laid_x": 12, "laid_y": 12, "laid_long": 12, "laid_wide": 12}
    ),
)


@LAID.column("From sheet", fmt="0;-0;")
def laid_sheet(piece_sheet: Q, chosen_no: Q) -> Q:
    return pick(piece_sheet, chosen_no)


@LAID.column("Along the front", kind="text")
def laid_x(laid_sheet: Q, piece_x_in: Q, chosen_no: Q) -> Q:
    return np.where(laid_sheet > 0, tape(pick(piece_x_in, chosen_no)), "")


@LAID.column("Back", kind="text")
def laid_y(laid_sheet: Q, piece_y_in: Q, chosen_no: Q) -> Q:
    return np.where(laid_sheet > 0, tape(pick(piece_y_in, chosen_no)), "")


@LAID.column("Long", kind="text")
def laid_long(laid_sheet: Q, piece_long_in: Q, chosen_no: Q) -> Q:
    return np.where(laid_sheet > 0, tape(pick(piece_long_in, chosen_no)), "")


@LAID.column("Wide", kind="text")
def laid_wide(laid_sheet: Q, piece_wide_in: Q, chosen_no: Q) -> Q:
    return np.where(laid_sheet > 0, tape(pick(piece_wide_in, chosen_no)), "")


SHEET_LAYOUT.notes(
    "Laying",
    "A piece that an opening cuts into is counted whole: cut the opening out of it after laying. What is cut out is used for nothing else.",
    "Screws {6 in|150 mm} at the edges and {12 in|300 mm} between, or as typed on Factors; adhesive on every joist. Leave the gap on every side.",
)


@check(
    CUT_PLAN, "Lists for the saw are whole", mend="option_kind", hazard="a list that is not whole"
)
def check_lists(offcuts_left_out: Q, cuts_left_out: Q) -> Q:
    return np.where(
        cuts_left_out != "",
        join("LOOK: Sheet Layout: ", cuts_left_out),
        np.where(offcuts_left_out != "", join("LOOK: Cut Plan: ", offcuts_left_out), OK),
    )
