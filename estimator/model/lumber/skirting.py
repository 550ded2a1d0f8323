"""Of the sheet Lumber: skirting round the floor, where it is wanted."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import EQUAL_PARTS, GROUND_CONTACT, WHOLE, Hours, Need, Piece
from estimator.model.grading import CORNERS
from estimator.model.kinds import FLOORS, PADS, SUPPORTS, MoreCases, by_kind
from estimator.rows import Chapter
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q

SKIRTING = Chapter()
SCREWS_EACH = 6
"""Screws of an upright (common practice, no source)."""

SKIRTING.section("Skirting")


@SKIRTING.row("Round the floor", "ft", fmt="0.0", note="0 where Job wants none.")
def skirt_run_ft(skirting: Q, floor_framed: Q, building_length_ft: Q, building_width_ft: Q) -> Q:
    around = 2 * (building_length_ft + building_width_ft)
    return np.where(skirting == "yes", floor_framed * around, 0)


@SKIRTING.row(
    "Height from ground to floor, mean",
    "in",
    fmt="0.0",
    note="From the top of a pad, which lies all round; else from the ground along the sides, as Aggregate has it side by side.",
)
def skirt_mean_in(
    option_kind: Q,
    joist_depth_in: Q,
    bearer_in: Q,
    top_ft: Q,
    side_ground_ft: Q,
    side_length_ft: Q,
    more_cases: MoreCases,
) -> Q:
    above = np.maximum(top_ft - side_ground_ft, 0) * IN_PER_FT
    around = np.sum(side_length_ft)
    mean = np.sum(above * side_length_ft) / np.where(around > 0, around, 1)
    return _framed(option_kind, joist_depth_in + bearer_in, mean, more_cases)


@SKIRTING.row("Height from ground to floor, most", "in", fmt="0.0")
def skirt_tall_in(
    option_kind: Q,
    joist_depth_in: Q,
    bearer_in: Q,
    top_ft: Q,
    ground_low_ft: Q,
    more_cases: MoreCases,
) -> Q:
    above = np.maximum(top_ft - ground_low_ft, 0) * IN_PER_FT
    return _framed(option_kind, joist_depth_in + bearer_in, above, more_cases)


def _framed(option_kind: Q, frame_in: Q, above_in: Q, more_cases: MoreCases) -> Q:
    cases = {PADS: frame_in, SUPPORTS: frame_in + above_in, FLOORS: 0}
    return by_kind(option_kind, cases, more_cases)


@SKIRTING.row("Area", "ft2", fmt="0.0")
def skirt_ft2(skirt_run_ft: Q, skirt_mean_in: Q) -> Q:
    return skirt_run_ft * skirt_mean_in / IN_PER_FT


@SKIRTING.row("Sheets", "sheets", fmt="0", note="By area, with the waste on Factors.")
def skirt_sheets(skirt_ft2: Q, skirt_waste: Q, skirt_sheet_ft2: Q) -> Q:
    return np.ceil(skirt_ft2 * (1 + skirt_waste) / skirt_sheet_ft2)


@SKIRTING.row("Uprights", "pieces", fmt="0", note="On centre as on Factors, two at each corner.")
def skirt_uprights(skirt_run_ft: Q, skirt_step_ft: Q) -> Q:
    return np.where(skirt_run_ft > 0, np.ceil(skirt_run_ft / skirt_step_ft) + CORNERS, 0)


@SKIRTING.row(
    "Rails along the ground", "pieces", fmt="0", note="Front and back, and as many beside."
)
def skirt_rails(skirt_run_ft: Q) -> Q:
    return np.where(skirt_run_ft > 0, 2, 0)


@SKIRTING.row("Rail along the front", "in", fmt="0.0")
def skirt_along_in(building_length_ft: Q) -> Q:
    return building_length_ft * IN_PER_FT


@SKIRTING.row("Rail along a side", "in", fmt="0.0")
def skirt_across_in(building_width_ft: Q) -> Q:
    return building_width_ft * IN_PER_FT


@SKIRTING.row("Vents", "pieces", fmt="0", source="IRC R408.1, from memory")
def skirt_vents(
    skirt_run_ft: Q, building_length_ft: Q, building_width_ft: Q, vent_area: Q, vent_ft2: Q
) -> Q:
    vents = np.ceil(building_length_ft * building_width_ft / vent_area / vent_ft2)
    return np.where(skirt_run_ft > 0, vents, 0)


@SKIRTING.row("Screws", "pieces", fmt="0")
def skirt_screws(skirt_uprights: Q) -> Q:
    return SCREWS_EACH * skirt_uprights


@SKIRTING.row("Frame and fix skirting", "h", fmt="0.0", source="Rates on Factors")
def skirt_hours(skirt_ft2: Q, skirt_h_ft2: Q) -> Q:
    return skirt_ft2 * skirt_h_ft2


SKIRTING.adds(
    Piece(
        key="skirt_upright",
        label="Uprights of the skirting",
        stock="skirt_stock",
        length="skirt_tall_in",
        count="skirt_uprights",
        joined=WHOLE,
        mark="skirt upright",
        use=Fixed(GROUND_CONTACT),
    ),
    Piece(
        key="skirt_front",
        label="Rails of the skirting, front and back",
        stock="skirt_stock",
        length="skirt_along_in",
        count="skirt_rails",
        joined=EQUAL_PARTS,
        mark="skirt rail",
        use=Fixed(GROUND_CONTACT),
    ),
    Piece(
        key="skirt_side",
        label="Rails of the skirting, sides",
        stock="skirt_stock",
        length="skirt_across_in",
        count="skirt_rails",
        joined=EQUAL_PARTS,
        mark="skirt rail",
        use=Fixed(GROUND_CONTACT),
    ),
    Need(key="skirt", label="Sheets of skirting", item="skirt_item", quantity="skirt_sheets"),
    Need(key="vent", label="Vents", item=Fixed("skirt_vent"), quantity="skirt_vents"),
    Need(
        key="skirt_screw",
        label="Screws of the skirting",
        item=Fixed("screw_deck"),
        quantity="skirt_screws",
    ),
    Hours(
        key="skirt",
        label="Skirting",
        quantity="skirt_hours",
        trade="carpentry",
        after=("sheets",),
    ),
)
