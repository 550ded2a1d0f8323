"""Sheet Footings: a screen of light buildings for wind, and their anchors."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import OK, Need, check
from estimator.model.kinds import ANCHORED, is_kind, where_kind
from estimator.rows import Chapter
from estimator.solve import wind
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q

WIND = Chapter()
PRESSURE = "ASCE 7-16 Eq. 26.10-1, and 0.6 W of 2.4.1 (from memory); coefficients on Factors"
HELD = "ASCE 7-16 2.4.1, 0.6 D + 0.6 W (from memory); statics"

WIND.section("Wind (screening)")


@WIND.row(
    "Wind force on the long side",
    "lbf",
    fmt="#,##0",
    source=PRESSURE,
    note="A screen for light buildings, not a design.",
)
def wind_lb(
    wind_mph: Q,
    wind_coefficient: Q,
    building_length_ft: Q,
    wall_height_ft: Q,
    roof_height_ft: Q,
) -> Q:
    area = building_length_ft * (wall_height_ft + roof_height_ft / 2)
    return wind.wind_force_lb(wind.velocity_pressure_psf(wind_mph), wind_coefficient, area)


@WIND.row("Wind uplift on the roof", "lbf", fmt="#,##0", source=PRESSURE)
def uplift_lb(wind_mph: Q, uplift_coefficient: Q, building_length_ft: Q, building_width_ft: Q) -> Q:
    area = building_length_ft * building_width_ft
    return wind.wind_force_lb(wind.velocity_pressure_psf(wind_mph), uplift_coefficient, area)


@WIND.row("Sliding: force over what holds", "share", fmt="0%", source=HELD)
def sliding_use(wind_lb: Q, dry_load_lb: Q, uplift_lb: Q, friction: Q) -> Q:
    return wind.sliding_ratio(wind_lb, dry_load_lb, uplift_lb, friction)


@WIND.row(
    "Overturning: over what holds",
    "share",
    fmt="0%",
    source=HELD,
    note="About the lee edge of the skids or beams, where they stand on the base.",
)
def overturning_use(
    wind_lb: Q,
    wall_height_ft: Q,
    roof_height_ft: Q,
    floor_top_ft: Q,
    top_ft: Q,
    uplift_lb: Q,
    dry_load_lb: Q,
    building_width_ft: Q,
    support_inset_in: Q,
) -> Q:
    arm = _arm_ft(wall_height_ft, roof_height_ft, floor_top_ft, top_ft)
    base = _stance_ft(building_width_ft, support_inset_in)
    return wind.overturning_ratio(wind_lb, arm, uplift_lb, dry_load_lb, base)


def _arm_ft(wall_height_ft: Q, roof_height_ft: Q, floor_top_ft: Q, top_ft: Q) -> Q:
    """From the top of the base to the middle of the walls with half the roof."""
    return (wall_height_ft + roof_height_ft / 2) / 2 + floor_top_ft - top_ft


def _stance_ft(building_width_ft: Q, support_inset_in: Q) -> Q:
    """Between the outer rows that the building stands on."""
    return building_width_ft - 2 * support_inset_in / IN_PER_FT


@WIND.row("Uplift: suction on the roof over what holds", "share", fmt="0%", source=HELD)
def uplift_use(uplift_lb: Q, dry_load_lb: Q) -> Q:
    return wind.uplift_ratio(uplift_lb, dry_load_lb)


@WIND.row(
    "Hold-down that each long side needs",
    "lbf",
    fmt="#,##0",
    source=HELD,
    note="Against overturning and uplift; hardware of the bases, or anchors, must give it.",
)
def hold_down_lb(
    wind_lb: Q,
    wall_height_ft: Q,
    roof_height_ft: Q,
    floor_top_ft: Q,
    top_ft: Q,
    uplift_lb: Q,
    dry_load_lb: Q,
    building_width_ft: Q,
    support_inset_in: Q,
) -> Q:
    arm = _arm_ft(wall_height_ft, roof_height_ft, floor_top_ft, top_ft)
    base = _stance_ft(building_width_ft, support_inset_in)
    return wind.hold_down_lb(wind_lb, arm, uplift_lb, dry_load_lb, base)


@WIND.row("Hold against sliding that friction lacks", "lbf", fmt="#,##0", source=HELD)
def sliding_lack_lb(wind_lb: Q, dry_load_lb: Q, uplift_lb: Q, friction: Q) -> Q:
    return wind.sliding_anchor_lb(wind_lb, dry_load_lb, uplift_lb, friction)


@WIND.row(
    "Anchors",
    "pieces",
    fmt="0",
    source="common practice, no source",
    note="As many a side as hold-down and half the sliding ask for, two at least; supports are held by their bases.",
)
def anchor_count(
    option_kind: Q,
    sliding_use: Q,
    overturning_use: Q,
    uplift_use: Q,
    hold_down_lb: Q,
    sliding_lack_lb: Q,
    anchor_lb: Q,
) -> Q:
    moves = (sliding_use > 1) | (overturning_use > 1) | (uplift_use > 1)
    hold = np.maximum(anchor_lb, 1)
    side = np.maximum(np.ceil((hold_down_lb + sliding_lack_lb / 2) / hold), 2)
    return where_kind(option_kind, ANCHORED, np.where(moves, 2 * side, 0))


WIND.adds(Need(key="anchor", label="Anchors", item=Fixed("ground_anchor"), quantity="anchor_count"))


@check(WIND, "Wind (screening)", hazard="wind")
def check_wind(option_kind: Q, sliding_use: Q, overturning_use: Q, uplift_use: Q) -> Q:
    moves = (sliding_use > 1) | (overturning_use > 1) | (uplift_use > 1)
    return np.where(
        moves & is_kind(option_kind, ANCHORED),
        "LOOK: wind may move it; anchors are in the price",
        np.where(moves, "LOOK: wind may move it; tie the floor to its bases", OK),
    )
