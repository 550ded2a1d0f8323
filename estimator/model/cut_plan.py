"""Sheets Cut Plan and Sheet Layout: what goes to the saw, board by board and sheet by sheet."""

from __future__ import annotations

from estimator.model.prices import ITEMS
from estimator.rows import Sheet

BOARDS = 240
PANEL_PIECES = 60

CUT_PLAN = Sheet(
    "Cut Plan",
    "Cut Plan: every board and what is cut from it",
    "Least cost from the lengths in stock, proven where it says so. Measure before you cut.",
)
CUT_PLAN.section("Answer")
CUT_PLAN.solved("cut_cost", "Boards", "$", solver="cutting", fmt="#,##0.00")
CUT_PLAN.solved("cut_bound", "No plan costs less than", "$", solver="cutting", fmt="#,##0.00")
CUT_PLAN.solved("cut_proven", "Proof", solver="cutting", kind="text")
CUT_PLAN.solved("cut_boards", "Boards", "boards", solver="cutting", fmt="0")
CUT_PLAN.solved("blocks_from_offcuts", "Blocks from off-cuts", "pieces", solver="cutting", fmt="0")
CUT_PLAN.solved("cut_waste_ft", "Off-cuts left", "ft", solver="cutting", fmt="0.0")

BOARD_TABLE = CUT_PLAN.table("board", "Boards, option by option", BOARDS)
BOARD_TABLE.solved("board_option", "Option", solver="cutting", kind="text")
BOARD_TABLE.solved("board_item", "Item", solver="cutting", kind="text")
BOARD_TABLE.solved("board_length_ft", "Length", "ft", solver="cutting", fmt="0.##")
BOARD_TABLE.solved("board_count", "Boards alike", solver="cutting", fmt="0")
BOARD_TABLE.solved("board_pieces", "Cut", solver="cutting", kind="text")
BOARD_TABLE.solved("board_offcut_in", "Off-cut", "in", solver="cutting", fmt="0.0")
BOARD_TABLE.solved("board_bar", "In proportion", solver="cutting", kind="text")

ITEM_TABLE = CUT_PLAN.table("item", "Boards by item", ITEMS)
ITEM_TABLE.solved("item_boards", "Boards", solver="cutting", fmt="0", by_option=True)

SHEET_LAYOUT = Sheet(
    "Sheet Layout",
    "Sheet Layout: every piece of floor sheet",
    "Measured from corner 1 of the floor: along the front, then back. Long edge across the joists.",
)
SHEET_LAYOUT.section("Answer")
SHEET_LAYOUT.solved("sheet_proof", "Proof", solver="sheets", kind="text")
SHEET_LAYOUT.solved("sheet_text", "Cut list", solver="sheets", kind="text")

PIECES = SHEET_LAYOUT.table("panel_piece", "Pieces", PANEL_PIECES)
PIECES.solved("piece_x_in", "Along", "in", solver="sheets", fmt="0.0", by_option=True)
PIECES.solved("piece_y_in", "Back", "in", solver="sheets", fmt="0.0", by_option=True)
PIECES.solved("piece_long_in", "Long", "in", solver="sheets", fmt="0.0", by_option=True)
PIECES.solved("piece_wide_in", "Wide", "in", solver="sheets", fmt="0.0", by_option=True)
PIECES.solved("piece_sheet", "From sheet", solver="sheets", fmt="0", by_option=True)
