"""Solvers: adapters from the quantities they read to the functions of ``estimator/solve``."""

from __future__ import annotations

from estimator.engine import Solver
from estimator.model import (
    around,
    floor_frame,
    ground_frame,
    left_blank,
    openings,
    outlines,
    saw,
    sheet_saw,
    siting_sheet,
    suggestions,
    survey_checks,
)
from estimator.model.lot import SURVEY_READS
from estimator.model.simulate import simulate

PLACE_READS = (
    "site_x_ft",
    "site_y_ft",
    "turn_deg",
    "building_length_ft",
    "building_width_ft",
    "frame_length_ft",
    "frame_width_ft",
    "option_used",
    "option_kind",
)

GROUND = Solver(
    "ground",
    "ground under the base",
    (
        *SURVEY_READS,
        *PLACE_READS,
        "door_side",
        "support_rows_used",
        "supports_per_row_used",
        "support_inset_in",
    ),
    ground_frame.solve_ground,
)
BALANCE = Solver(
    "balance",
    "balanced height",
    (
        *SURVEY_READS,
        *PLACE_READS,
        "on_pad",
        "strip_ft",
        "compacted_per_bank",
        "stone_depth_in",
    ),
    ground_frame.solve_balance,
)
FRAME = Solver(
    "frame",
    "timber frame and edges",
    (
        *SURVEY_READS,
        *PLACE_READS,
        "top_ft",
        "subgrade_ft",
        "strip_ft",
        "reckoned_from",
        "timber_stock",
        "timber_depth_in",
        "timber_width_in",
        "bedding_in",
        "embed_in",
        "trench_width_in",
        "shoulder_run",
        "item_category",
        "item_stock",
        "item_length_ft",
    ),
    ground_frame.solve_frame_sheet,
    by_measure=True,
)
CUTTING = Solver(
    "cutting",
    "cut plan",
    (
        "option_used",
        "piece_stock",
        "piece_length",
        "piece_count",
        "timber_stock",
        "timber_length_in",
        "header_count",
        "header_length_in",
        "joist_on",
        "joist_near_in",
        "joist_width_in",
        "joist_stock_used",
        "block_length_in",
        "blocking_count",
        "bay_along_ft",
        "kerf_in",
        "end_trim_in",
        "over_length_in",
        "block_reuse_in",
        "item_key",
        "item_name",
        "item_category",
        "item_stock",
        "item_length_ft",
        "item_limit",
    ),
    saw.solve_cutting,
    prices=("item_price",),
)
SHEETS = Solver(
    "sheets",
    "sheet layout",
    (
        "option_used",
        "building_length_ft",
        "building_width_ft",
        "joist_spacing_used_in",
        "joist_width_in",
        "sheet_item",
        "nominal_rips",
        "seam_blocks",
        "kerf_in",
        "panel_item",
        "panel_length_in",
        "panel_width_in",
        "panel_cover_in",
        "panel_gap_in",
        "screw_edge_in",
        "screw_field_in",
        *openings.READS,
    ),
    sheet_saw.solve_sheets,
)
JOISTS = Solver(
    "joists",
    "floor frame",
    (
        "option_used",
        "building_length_ft",
        "joist_spacing_used_in",
        "joist_width_in",
        "building_width_ft",
        "double_what",
        "double_at_ft",
        *openings.READS,
    ),
    floor_frame.solve_joists,
)
SUGGEST = Solver(
    "suggest",
    "suggestions",
    suggestions.READS,
    suggestions.solve_suggestions,
    prices=("item_price",),
    by_measure=True,
)
RANGE = Solver(
    "range",
    "range of cost",
    (
        "option_used",
        "item_packs",
        "item_category",
        "item_price",
        "item_low",
        "item_high",
        "delivery_cost",
        "work_hours",
        "wage_per_h",
        "tax_share",
        "contingency_share",
        "overhead_share",
        "profit_share",
    ),
    simulate,
)

READINGS = Solver(
    "readings",
    "readings to check, contours",
    SURVEY_READS,
    survey_checks.solve_readings,
    by_measure=True,
)
AROUND = Solver(
    "around",
    "ground across and beside the base",
    (*SURVEY_READS, *PLACE_READS, "grade_run_ft"),
    around.solve_around,
)
SITING = Solver(
    "siting",
    "best places",
    (*SURVEY_READS, *PLACE_READS, *siting_sheet.SITING_READS),
    siting_sheet.solve_siting,
    prices=siting_sheet.SITING_PRICES,
)

OUTLINES = Solver(
    "outlines",
    "outlines on the plan",
    (
        "site_x_ft",
        "site_y_ft",
        "setback_ft",
        *siting_sheet.CORNER_READS,
    ),
    outlines.solve_outlines,
)

SOLVERS = (
    READINGS,
    GROUND,
    AROUND,
    SITING,
    OUTLINES,
    BALANCE,
    left_blank.SIZES,
    left_blank.TAKEN,
    FRAME,
    JOISTS,
    CUTTING,
    SHEETS,
    SUGGEST,
    RANGE,
)
