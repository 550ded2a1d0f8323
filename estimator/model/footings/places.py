"""Sheet Footings: hours, and every support at its own spot."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.model.adds import Hours, Step
from estimator.model.kinds import (
    GRADED,
    ON_BLOCKS,
    ON_PIERS,
    SUPPORTS,
    MoreCases,
    by_kind,
    is_kind,
    where_kind,
)
from estimator.rows import Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q

PLACES = Chapter()
RATES = "Rates on Factors"
SUPPORTS_MOST = 60

PLACES.section("Hours")


@PLACES.row("Set skids", "h", fmt="0.0", source=RATES)
def skid_hours(skid_count_used: Q, building_length_ft: Q, skid_h_ft: Q) -> Q:
    return skid_count_used * building_length_ft * skid_h_ft


@PLACES.row("Forms, steel, concrete, blocks", "h", fmt="0.0", source=RATES)
def support_hours(
    option_kind: Q,
    support_count: Q,
    form_h: Q,
    bag_count: Q,
    bag_h: Q,
    ready_mix_yd3: Q,
    readymix_h_yd3: Q,
    block_count: Q,
    block_upper_count: Q,
    block_h: Q,
    block_upper_h: Q,
    bar_run_ft: Q,
    bar_lb_ft: Q,
    steel_h_lb: Q,
) -> Q:
    forms = where_kind(option_kind, ON_PIERS, support_count * form_h)
    steel = bar_run_ft * bar_lb_ft * steel_h_lb
    concrete = bag_count * bag_h + ready_mix_yd3 * readymix_h_yd3
    blocks = (block_count - block_upper_count) * block_h + block_upper_count * block_upper_h
    return forms + steel + concrete + blocks


@PLACES.row("Concrete cures", "days", fmt="0", note="Before anything stands on it.")
def cure_wait_days(option_kind: Q, curing_days: Q) -> Q:
    return where_kind(option_kind, ON_PIERS, curing_days)


@PLACES.row("Held for an inspection", "days", fmt="0", note="Before concrete, or on set blocks.")
def support_hold_days(option_kind: Q, inspection_wait_days: Q) -> Q:
    return where_kind(option_kind, SUPPORTS, inspection_wait_days)


@PLACES.row("Build beams", "h", fmt="0.0", source=RATES)
def beam_hours(support_rows_used: Q, building_length_ft: Q, beam_h_ft: Q) -> Q:
    return support_rows_used * building_length_ft * beam_h_ft


TABLE = PLACES.table(
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
TABLE.solved(
    "support_guessed",
    "Guessed",
    solver="ground",
    fmt="0;-0;",
    note="1 outside the readings.",
    by_option=True,
)


@TABLE.column("Top above ground", "in", fmt="0.0", by_option=True)
def support_rise_in(support_on: Q, top_ft: Q, support_ground_ft: Q) -> Q:
    return np.where(support_on > 0, (top_ft - support_ground_ft) * IN_PER_FT, 0)


@TABLE.column("Courses of blocks", "courses", fmt="0", by_option=True)
def support_blocks(option_kind: Q, support_on: Q, support_rise_in: Q, block_height_in: Q) -> Q:
    stack = np.maximum(np.ceil(support_rise_in / block_height_in), 1)
    return np.where(is_kind(option_kind, ON_BLOCKS) & (support_on > 0), stack, 0)


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
    more_cases: MoreCases,
) -> Q:
    bed = block_bed_in + support_blocks * block_height_in - support_rise_in
    dig = by_kind(option_kind, {ON_BLOCKS: bed, ON_PIERS: pier_depth_in, GRADED: 0}, more_cases)
    return np.where(support_on > 0, dig, 0)


PLACES.adds(
    Step(
        key="holes",
        label="Holes",
        text="Holes at their places, each to its own depth, as listed; bottoms flat and undisturbed.",
        after=("set_out",),
        kinds=ON_PIERS + ON_BLOCKS,
    ),
    Step(
        key="piers",
        label="Piers",
        text="Forms plumb, bars; hold for inspection; concrete; each top cut off level with the strings; cure wet.",
        after=("holes",),
        kinds=ON_PIERS,
    ),
    Step(
        key="supports",
        label="Blocks",
        text="Stone tamped level in each hole; blocks plumb, their tops level with the strings; hold for inspection.",
        after=("piers",),
        kinds=ON_BLOCKS,
    ),
    Hours(
        key="skids", label="Set skids", quantity="skid_hours", trade="timber", after=("compact",)
    ),
    Hours(
        key="supports",
        label="Forms, steel, concrete, blocks",
        quantity="support_hours",
        trade="concrete",
        after=("earth",),
        wait="cure_wait_days",
        hold="support_hold_days",
    ),
    Hours(
        key="beams",
        label="Build beams",
        quantity="beam_hours",
        trade="carpentry",
        after=("supports",),
    ),
)
