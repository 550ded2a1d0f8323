"""Sheet Compare: every option side by side."""

from __future__ import annotations

import numpy as np

from estimator.appearance import SheetAppearance
from estimator.model.kinds import KINDS, by_kind
from estimator.rows import Sheet
from estimator.vocabulary import Q, one_of

COMPARE = Sheet(
    "Compare",
    "Compare: the options side by side",
    "Cheapest, fewest hours and soonest are marked in words, among options that pass every check. Read what stands against each before choosing.",
    shows=SheetAppearance(role="answer"),
)

MARKS = (
    "",
    "cheapest",
    "fewest hours",
    "cheapest, fewest hours",
    "soonest",
    "cheapest, soonest",
    "fewest hours, soonest",
    "cheapest, fewest hours, soonest",
)
"""Words for the marks of an option: 1 for cheapest, 2 for fewest hours and 4 for soonest, added."""

COMPARE.section("Cost and work")


COMPARE.mirror("compare_kind", "option_kind", "Kind of base", kind="text")


COMPARE.mirror("compare_total", "total_cost", "Total cost", "$", fmt="#,##0")


COMPARE.mirror(
    "compare_before",
    "before_contingency",
    "Before contingency",
    "$",
    fmt="#,##0",
    note="What the range is of.",
)


COMPARE.mirror("compare_low", "total_low", "Low of the range", "$", fmt="#,##0")


COMPARE.mirror("compare_high", "total_high", "High of the range", "$", fmt="#,##0")


COMPARE.mirror(
    "compare_covers",
    "total_covers",
    "Draws of it that the total is enough for",
    "share",
    fmt="0%",
)


@COMPARE.row(
    "More than the cheapest that passes",
    "$",
    fmt="#,##0",
    note="Below 0: one that fails and costs less.",
)
def over_least(total_cost: Q, least_total: Q, options_passing: Q) -> Q:
    return np.where(options_passing > 0, total_cost - least_total, 0)


@COMPARE.row("Mark", kind="text", note="Among the options that pass every check; others have none.")
def compare_mark(is_cheapest: Q, is_quickest: Q, is_soonest: Q) -> Q:
    return one_of(MARKS, is_cheapest + 2 * is_quickest + 4 * is_soonest)


COMPARE.mirror("compare_material", "material_cost", "Material", "$", fmt="#,##0")


COMPARE.mirror("compare_labour", "labour_cost", "Labour", "$", fmt="#,##0")


COMPARE.mirror("compare_hours", "work_hours", "Hours", "h", fmt="0.0")


COMPARE.mirror("compare_days", "elapsed_days", "Days from the call to framing", "days", fmt="0")


@COMPARE.row("Machines and delivery", "$", fmt="#,##0")
def compare_fees(rental_cost: Q, delivery_cost: Q) -> Q:
    return rental_cost + delivery_cost


COMPARE.section("Quantities")


COMPARE.mirror("compare_lb", "material_lb", "Weight of material", "lb", fmt="#,##0")


COMPARE.mirror("compare_soil", "soil_moved_yd3", "Soil moved", "yd3", fmt="0.0")


COMPARE.mirror("compare_stone", "stone_order_yd3", "Stone", "yd3", fmt="0.0")


COMPARE.mirror("compare_concrete", "concrete_yd3", "Concrete", "yd3")


@COMPARE.row("Sheets and boards", "pieces", fmt="0")
def compare_wood(sheet_count: Q, cut_boards: Q) -> Q:
    return sheet_count + cut_boards


COMPARE.section("What it is like to live with")


COMPARE.mirror(
    "compare_exposed", "exposed_in", "Top of the base above the low ground", "in", fmt="0.0"
)


COMPARE.mirror(
    "compare_door", "floor_door_in", "Floor above the ground at the door", "in", fmt="0.0"
)


COMPARE.mirror("compare_steps", "door_steps", "Steps to the door", "rises", fmt="0")


COMPARE.mirror("compare_ramp", "ramp_ft", "Or a ramp of", "ft", fmt="0.0")


@COMPARE.row("Can be moved later", kind="text")
def compare_moves(option_kind: Q) -> Q:
    return by_kind(option_kind, {kind.name: kind.moves for kind in KINDS})


@COMPARE.row("Reaches below frost", kind="text")
def compare_frost(pier_depth_in: Q, frost_depth_in: Q) -> Q:
    return np.where(pier_depth_in >= frost_depth_in, "yes", "no")


COMPARE.mirror(
    "compare_fill",
    "stone_instead_cost",
    "If fill is not accepted, stone instead: more",
    "$",
    fmt="#,##0",
    note="Before tax; the quantities stand on Pad Heights.",
)


COMPARE.section("What stands against it")


COMPARE.mirror("compare_failed", "checks_failed", "Checks that fail", "checks", fmt="0")


COMPARE.mirror("compare_look", "checks_look", "Checks to look at", "checks", fmt="0")


COMPARE.mirror(
    "compare_first",
    "first_check",
    "First of them",
    kind="text",
    note="All of them stand on Checks.",
    empty="nothing found",
)


COMPARE.mirror(
    "compare_state", "option_state", "State of the solved parts", kind="text", empty="up to date"
)
