"""Of the sheet Footings: what the building weighs, by its parts, of all assemblies."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import Weight
from estimator.rows import Chapter
from estimator.vocabulary import Q

WEIGHTS = Chapter()


@WEIGHTS.gathers(
    "Weight that bears on the base",
    Weight,
    stack="dead_weight",
    suffix="dead_weight",
    word="dead load",
    unit="lb",
    fmt="#,##0",
    given="dead",
)
def bearing_weight(dead: Q) -> Q:
    return dead


@WEIGHTS.gathers(
    "Weight that holds it down when dry",
    Weight,
    stack="dry_weight",
    suffix="dry_weight",
    word="dry",
    unit="lb",
    fmt="#,##0",
    given="dry",
)
def holding_weight(dry: Q) -> Q:
    return dry


@WEIGHTS.gathers(
    "Weight of the heaviest thing to lift",
    Weight,
    stack="fresh_weight",
    suffix="fresh_weight",
    word="to lift",
    unit="lb",
    fmt="#,##0",
    given="fresh",
)
def lifted_weight(fresh: Q) -> Q:
    return fresh


WEIGHTS.section("Weight in all")


@WEIGHTS.row("Dead load of the empty building", "lbf", fmt="#,##0")
def dead_load_lb(dead_weight: Q) -> Q:
    return np.sum(dead_weight)


@WEIGHTS.row("Building and contents", "lbf", fmt="#,##0", note="With live load and snow.")
def total_load_lb(
    dead_load_lb: Q,
    building_length_ft: Q,
    building_width_ft: Q,
    roof_plan_ft2: Q,
    floor_live_psf: Q,
    roof_snow_psf: Q,
) -> Q:
    area = building_length_ft * building_width_ft
    return dead_load_lb + area * floor_live_psf + roof_plan_ft2 * roof_snow_psf


@WEIGHTS.row(
    "Dry weight against the wind", "lb", fmt="#,##0", note="No more than is there all the time."
)
def dry_load_lb(dry_weight: Q) -> Q:
    return np.sum(dry_weight)


@WEIGHTS.row("Heaviest thing to lift", "lb", fmt="#,##0", note="Plan the lift.")
def heaviest_lb(fresh_weight: Q) -> Q:
    return np.max(fresh_weight)
