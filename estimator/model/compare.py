"""Of the sheet Start: every option side by side."""

from __future__ import annotations

import numpy as np

from estimator.model.cost.calendar import SHORT_DATE
from estimator.model.kinds import KINDS, by_kind
from estimator.rows import Chapter
from estimator.vocabulary import Q, one_of

COMPARE, DETAIL = Chapter(), Chapter()
"""What decides; and what else tells options apart."""

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

COMPARE.section("The options side by side")


@COMPARE.row("Kind of base", kind="text")
def compare_kind(option_kind: Q, option_used: Q, not_priced: Q) -> Q:
    return np.where((option_used == 1) | (not_priced != ""), option_kind, "")


@COMPARE.row("Mark", kind="text")
def compare_mark(is_cheapest: Q, is_quickest: Q, is_soonest: Q) -> Q:
    return one_of(MARKS, is_cheapest + 2 * is_quickest + 4 * is_soonest)


@COMPARE.row("Not priced: see above", kind="text")
def compare_lacks(not_priced: Q) -> Q:
    return np.where(not_priced == "", "", "FAIL")


COMPARE.mirror("compare_total", "total_cost", "Total cost", "$", fmt="#,##0")


@COMPARE.row(
    "To be paid out, own labour apart",
    "$",
    fmt="#,##0",
    note="Material, machines, delivery, fees and tax; nothing set aside.",
)
def compare_cash(material_cost: Q, delivery_cost: Q, rental_cost: Q, tax_cost: Q) -> Q:
    return material_cost + delivery_cost + rental_cost + tax_cost


COMPARE.mirror(
    "compare_before",
    "before_contingency",
    "Expected, without contingency",
    "$",
    fmt="#,##0",
)


COMPARE.mirror("compare_low", "total_low", "Low of what is expected", "$", fmt="#,##0")


COMPARE.mirror("compare_high", "total_high", "High of what is expected", "$", fmt="#,##0")


COMPARE.mirror("compare_chance", "chance_cheapest", "Chance to be the cheapest", "share", fmt="0%")


COMPARE.mirror("compare_hours", "work_hours", "Hours", "h", fmt="0.0")


COMPARE.mirror(
    "compare_days", "elapsed_days", "Days from the first call until it is ready", "days", fmt="0"
)


COMPARE.mirror("compare_ready", "ready_day", "Ready to build on", fmt=SHORT_DATE)


COMPARE.mirror(
    "compare_exposed", "exposed_in", "Top of the base above the low ground", "in", fmt="0.0"
)


COMPARE.mirror(
    "compare_door", "floor_door_in", "Floor above the ground at the door", "in", fmt="0.0"
)


COMPARE.mirror("compare_steps", "door_steps", "Steps to the door", "rises", fmt="0")


@COMPARE.row("Can be moved later", kind="text")
def compare_moves(option_kind: Q) -> Q:
    return by_kind(option_kind, {kind.name: kind.moves for kind in KINDS})


COMPARE.mirror("compare_failed", "checks_failed", "Checks that fail", "checks", fmt="0")


COMPARE.mirror(
    "compare_first",
    "first_check",
    "First of them",
    kind="text",
    empty="nothing found",
)


DETAIL.section("What else tells them apart")


@DETAIL.row("More than the cheapest that passes", "$", fmt="#,##0")
def over_least(total_cost: Q, least_total: Q, options_passing: Q) -> Q:
    return np.where(options_passing > 0, total_cost - least_total, 0)


@DETAIL.row("From low to high", "$", fmt="#,##0")
def compare_spread(total_low: Q, total_high: Q) -> Q:
    return total_high - total_low


DETAIL.mirror("compare_look", "checks_look", "Checks to look at", "checks", fmt="0")


DETAIL.mirror(
    "compare_state", "option_state", "State of the solved parts", kind="text", empty="up to date"
)


DETAIL.mirror("compare_material", "material_cost", "Material", "$", fmt="#,##0")


DETAIL.mirror("compare_labour", "labour_cost", "Labour", "$", fmt="#,##0")


@DETAIL.row("Machines and delivery", "$", fmt="#,##0")
def compare_fees(rental_cost: Q, delivery_cost: Q) -> Q:
    return rental_cost + delivery_cost


DETAIL.mirror("compare_lb", "material_lb", "Weight of material", "lb", fmt="#,##0")


DETAIL.mirror("compare_soil", "soil_moved_yd3", "Soil moved", "yd3", fmt="0.0")


DETAIL.mirror("compare_stone", "stone_order_yd3", "Stone", "yd3", fmt="0.0")


DETAIL.mirror("compare_concrete", "concrete_yd3", "Concrete", "yd3")


@DETAIL.row("Sheets and boards", "pieces", fmt="0")
def compare_wood(sheet_count: Q, cut_boards: Q) -> Q:
    return sheet_count + cut_boards


DETAIL.mirror("compare_ramp", "ramp_ft", "Instead of steps, a ramp of", "ft", fmt="0.0")


@DETAIL.row("Reaches below frost", kind="text")
def compare_frost(pier_depth_in: Q, frost_depth_in: Q) -> Q:
    return np.where(pier_depth_in >= frost_depth_in, "yes", "no")


DETAIL.mirror(
    "compare_fill",
    "stone_instead_cost",
    "If fill is not accepted, stone instead: more",
    "$",
    fmt="#,##0",
    note="Before tax; the quantities stand on Grading.",
)
