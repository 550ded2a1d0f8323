"""Sheet Sheathing: floor sheets laid across the joists, screws and adhesive."""

from __future__ import annotations

import numpy as np

from estimator.appearance import SheetAppearance
from estimator.contributions import Fixed
from estimator.model.adds import OK, Hours, Need, Weight, check
from estimator.model.kinds import PADS, SUPPORTS, MoreCases, by_kind
from estimator.rows import Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, amount, join, lookup

PANEL_PIECES = 60
SHEET_CUTS = 20
SEAMS = 24

SHEATHING = Sheet(
    "Sheathing",
    "Sheathing: floor sheets",
    "Long edge across the joists, ends on joists, staggered. Sheet Layout shows each piece.",
    shows=SheetAppearance(characters={"sheet_text": 150, "sheet_proof": 34}),
)

SHEATHING.section("Floor sheets")


@SHEATHING.row("Area", "ft2", fmt="0.0")
def floor_ft2(floor_framed: Q, building_length_ft: Q, building_width_ft: Q) -> Q:
    return floor_framed * building_length_ft * building_width_ft


@SHEATHING.row("Thickness", "in", fmt="0.000")
def sheet_thick_in(floor_framed: Q, sheet_item: Q, panel_item: Q, panel_thick_in: Q) -> Q:
    return np.where(floor_framed == 1, lookup(sheet_item, panel_item, panel_thick_in), 0)


@SHEATHING.row("Span rating", "in", fmt="0", source="PS 1 / PS 2")
def sheet_span_in(floor_framed: Q, sheet_item: Q, panel_item: Q, panel_span_in: Q) -> Q:
    return np.where(floor_framed == 1, lookup(sheet_item, panel_item, panel_span_in), 0)


@SHEATHING.row("Length of a sheet", "in", fmt="0.0")
def sheet_long_in(floor_framed: Q, sheet_item: Q, panel_item: Q, panel_length_in: Q) -> Q:
    return np.where(floor_framed == 1, lookup(sheet_item, panel_item, panel_length_in), 0)


@SHEATHING.row("Width of a sheet", "in", fmt="0.0")
def sheet_wide_in(floor_framed: Q, sheet_item: Q, panel_item: Q, panel_width_in: Q) -> Q:
    return np.where(floor_framed == 1, lookup(sheet_item, panel_item, panel_width_in), 0)


@SHEATHING.row("A sheet weighs", "lb", fmt="0")
def sheet_lb(floor_framed: Q, sheet_item: Q, item_name: Q, item_lb: Q) -> Q:
    return np.where(floor_framed == 1, lookup(sheet_item, item_name, item_lb, 0), 0)


SHEATHING.solved("sheet_count", "Sheets", "sheets", solver="sheets", fmt="0")
SHEATHING.solved("sheet_bound", "No layout takes fewer than", "sheets", solver="sheets", fmt="0")
SHEATHING.solved("sheet_pieces", "Pieces", "pieces", solver="sheets", fmt="0")
SHEATHING.solved("sheet_offcut_ft2", "Off-cuts", "ft2", solver="sheets", fmt="0.0")
SHEATHING.solved(
    "screw_count",
    "Floor screws",
    "pieces",
    solver="sheets",
    fmt="0",
    note="Counted along every joist, edges closer than field.",
)


@SHEATHING.row(
    "Adhesive",
    "tubes",
    fmt="0",
    note="One {28 oz|0.83 l} tube to {60 ft} of a bead (common practice, no source): on every joist, doubled ones too, rims, and headers.",
)
def adhesive_tubes(
    joists_in_all: Q,
    joist_length_in: Q,
    rim_count: Q,
    rim_length_in: Q,
    header_count: Q,
    header_length_in: Q,
) -> Q:
    joists = joists_in_all * joist_length_in + rim_count * rim_length_in
    return np.ceil((joists + np.sum(header_count * header_length_in)) / IN_PER_FT / 60)


@SHEATHING.row("Lay sheets", "h", fmt="0.0")
def sheet_hours(floor_ft2: Q, panel_h_ft2: Q) -> Q:
    return floor_ft2 * panel_h_ft2


SHEATHING.solved(
    "seam_rows",
    "Seams that ask for blocks",
    "rows",
    solver="sheets",
    fmt="0",
    note="Between rows of square-edged sheets.",
)
SHEATHING.solved("sheet_note", "Spacing of joists and sheets", solver="sheets", kind="text")

SHEATHING.solved("sheet_proof", "Proof", solver="sheets", kind="text")
SHEATHING.solved("sheet_text", "Cut list", solver="sheets", kind="text")
SHEATHING.solved(
    "cuts_unlisted", "Pieces of sizes not listed below", "pieces", solver="sheets", fmt="0"
)
SHEATHING.solved("cuts_unlisted_ft2", "Their area in all", "ft2", solver="sheets", fmt="0.0")


@SHEATHING.row("Cut list, left out", kind="text")
def cuts_left_out(cuts_unlisted: Q, cuts_unlisted_ft2: Q) -> Q:
    sentence = join(
        cuts_unlisted,
        " pieces, ",
        amount(cuts_unlisted_ft2, "ft2", "0.0"),
        " in all, do not fit on the list: see the pieces in the order of laying",
    )
    return np.where(cuts_unlisted > 0, sentence, "")


SHEATHING.section("Height of the finished floor")


@SHEATHING.row(
    "Bearers under the joists",
    "in",
    fmt="0.0",
    note="Skids on a pad, beams on supports; a slab that is the floor itself.",
)
def bearer_in(option_kind: Q, skid_depth_in: Q, beam_depth_in: Q, more_cases: MoreCases) -> Q:
    return by_kind(option_kind, {PADS: skid_depth_in, SUPPORTS: beam_depth_in}, more_cases)


@SHEATHING.row("Floor", "ft", fmt="0.000", note="Survey's datum.")
def floor_top_ft(top_ft: Q, bearer_in: Q, joist_depth_in: Q, sheet_thick_in: Q) -> Q:
    return top_ft + (bearer_in + joist_depth_in + sheet_thick_in) / IN_PER_FT


@SHEATHING.row("Floor above the highest ground", "in", fmt="0.0")
def floor_high_in(floor_top_ft: Q, ground_high_ft: Q) -> Q:
    return (floor_top_ft - ground_high_ft) * IN_PER_FT


@SHEATHING.row("Floor above the ground at the door", "in", fmt="0.0")
def floor_door_in(floor_top_ft: Q, ground_door_ft: Q) -> Q:
    return (floor_top_ft - ground_door_ft) * IN_PER_FT


@SHEATHING.row("Joists above the ground, least", "in", fmt="0.0")
def joist_clear_least_in(top_ft: Q, bearer_in: Q, ground_high_ft: Q) -> Q:
    return (top_ft - ground_high_ft) * IN_PER_FT + bearer_in


PIECES = SHEATHING.table(
    "panel_piece",
    "Pieces of sheet, option by option",
    PANEL_PIECES,
    "Sheet Layout shows those of the chosen option.",
)
PIECES.solved("piece_x_in", "Along", "in", solver="sheets", fmt="0.0", by_option=True)
PIECES.solved("piece_y_in", "Back", "in", solver="sheets", fmt="0.0", by_option=True)
PIECES.solved("piece_long_in", "Long", "in", solver="sheets", fmt="0.0", by_option=True)
PIECES.solved("piece_wide_in", "Wide", "in", solver="sheets", fmt="0.0", by_option=True)
PIECES.solved("piece_sheet", "From sheet", solver="sheets", fmt="0", by_option=True)
PIECES.solved("piece_cut", "Cut from", solver="sheets", kind="text", by_option=True)
PIECES.solved("piece_far_x", "Drawn: far end", solver="sheets", fmt="0.000", by_option=True)
PIECES.solved("piece_far_y", "Drawn: far edge", solver="sheets", fmt="0.000", by_option=True)

CUTS = SHEATHING.table("sheet_cut", "Cut list, option by option", SHEET_CUTS)
CUTS.solved("cut_count", "Pieces", solver="sheets", fmt="0", by_option=True)
CUTS.solved("cut_long_in", "Long", "in", solver="sheets", fmt="0.0", by_option=True)
CUTS.solved("cut_wide_in", "Wide", "in", solver="sheets", fmt="0.0", by_option=True)
CUTS.solved("cut_from", "From sheets", solver="sheets", kind="text", by_option=True)

SEAM_TABLE = SHEATHING.table("seam", "Seams between rows of sheets", SEAMS)
SEAM_TABLE.solved("seam_in", "Back", "in", solver="sheets", fmt="0.0", by_option=True)

SHEATHING.adds(
    Weight(key="sheet", label="A floor sheet", fresh="sheet_lb"),
    Hours(
        key="sheets",
        label="Lay sheets",
        quantity="sheet_hours",
        trade="carpentry",
        after=("joists",),
    ),
    Need(
        key="floor_screw", label="Floor screws", item=Fixed("screw_floor"), quantity="screw_count"
    ),
    Need(key="adhesive", label="Adhesive", item=Fixed("adhesive"), quantity="adhesive_tubes"),
    Need(key="sheet", label="Floor sheets", item="sheet_item", quantity="sheet_count"),
)


@check(SHEATHING, "Floor sheets", mend="sheet_item", hazard="weak sheets")
def check_sheets(sheet_span_in: Q, joist_spacing_used_in: Q, sheet_note: Q) -> Q:
    return np.where(
        joist_spacing_used_in > sheet_span_in,
        "FAIL: joists are farther apart than the sheet's rating",
        np.where(
            sheet_note != "",
            "LOOK: this spacing does not divide the sheet; every sheet is cut back to a joist",
            OK,
        ),
    )
