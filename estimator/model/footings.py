"""Sheet Footings, last part: hours, and every support at its own spot.

The sheet is what carries the floor. Its parts, each a module that goes on where the one before
ended: loads, skids, supports, beams, wind_screen, and this.
"""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.model.options import BLOCKS, PIERS
from estimator.model.wind_screen import FOOTINGS
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q

__all__ = ["FOOTINGS", "SUPPORTS_MOST"]

SUPPORTS_MOST = 60

FOOTINGS.section("Hours")


@FOOTINGS.row("Set skids", "h", fmt="0.0")
def skid_hours(skid_count_used: Q, building_length_ft: Q, skid_h_ft: Q) -> Q:
    return skid_count_used * building_length_ft * skid_h_ft


@FOOTINGS.row("Set anchors", "h", fmt="0.0")
def anchor_hours(anchor_count: Q, anchor_h: Q) -> Q:
    return anchor_count * anchor_h


@FOOTINGS.row("Forms, steel, concrete, blocks", "h", fmt="0.0")
def support_hours(
    option_kind: Q,
    support_count: Q,
    form_h: Q,
    bag_count: Q,
    bag_h: Q,
    ready_mix_yd3: Q,
    readymix_h_yd3: Q,
    block_count: Q,
    block_h: Q,
    bar_run_ft: Q,
    bar_lb_ft: Q,
    steel_h_lb: Q,
) -> Q:
    forms = np.where(option_kind == PIERS, support_count * form_h, 0)
    steel = bar_run_ft * bar_lb_ft * steel_h_lb
    concrete = bag_count * bag_h + ready_mix_yd3 * readymix_h_yd3
    return forms + steel + concrete + block_count * block_h


@FOOTINGS.row("Build beams", "h", fmt="0.0")
def beam_hours(support_rows_used: Q, building_length_ft: Q, beam_h_ft: Q) -> Q:
    return support_rows_used * building_length_ft * beam_h_ft


TABLE = FOOTINGS.table(
    "support",
    "Supports, each at its own spot",
    SUPPORTS_MOST,
    "Measured from corner 1 of the building along the front and back from it.",
    shows=Appearance(workings=True),
)
TABLE.solved("support_on", "In use", solver="ground", fmt="0", by_option=True)
TABLE.solved("support_x_ft", "Along the front", "ft", solver="ground", by_option=True)
TABLE.solved("support_y_ft", "Back from the front", "ft", solver="ground", by_option=True)
TABLE.solved("support_ground_ft", "Ground", "ft", solver="ground", fmt="0.000", by_option=True)


@TABLE.column("Top above ground", "in", fmt="0.0", by_option=True)
def support_rise_in(support_on: Q, top_ft: Q, support_ground_ft: Q) -> Q:
    return np.where(support_on > 0, (top_ft - support_ground_ft) * IN_PER_FT, 0)


@TABLE.column("Blocks", "pieces", fmt="0", by_option=True)
def support_blocks(option_kind: Q, support_on: Q, support_rise_in: Q, block_height_in: Q) -> Q:
    height = block_height_in + np.where(option_kind == BLOCKS, 0, 1)
    stack = np.maximum(np.ceil(support_rise_in / height), 1)
    return np.where((option_kind == BLOCKS) & (support_on > 0), stack, 0)


@TABLE.column(
    "Dig below ground",
    "in",
    fmt="0.0",
    by_option=True,
    note="Whole blocks are lowered until their tops are level.",
)
def support_dig_in(
    option_kind: Q,
    support_on: Q,
    support_blocks: Q,
    block_height_in: Q,
    support_rise_in: Q,
    block_bed_in: Q,
    pier_depth_in: Q,
) -> Q:
    bed = block_bed_in + support_blocks * block_height_in - support_rise_in
    return np.where(support_on > 0, np.where(option_kind == BLOCKS, bed, pier_depth_in), 0)
