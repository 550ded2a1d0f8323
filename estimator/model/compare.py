"""Sheet Compare: every option side by side."""

from __future__ import annotations

import numpy as np

from estimator.appearance import SheetAppearance
from estimator.model.kinds import KINDS, by_kind
from estimator.rows import Sheet
from estimator.vocabulary import Q, across

COMPARE = Sheet(
    "Compare",
    "Compare: the options side by side",
    "Least cost and fewest hours are marked in words. Read what stands against each before choosing.",
    shows=SheetAppearance(role="answer"),
)

COMPARE.section("Cost and work")


COMPARE.mirror("compare_kind", "option_kind", "Kind of base", kind="text")


COMPARE.mirror("compare_total", "total_cost", "Total cost", "$", fmt="#,##0")


@COMPARE.row("Least total of all options", "$", fmt="#,##0", scope="job")
def least_total(total_cost: Q) -> Q:
    return across("MIN", total_cost)


@COMPARE.row("Fewest hours of all options", "h", fmt="0.0", scope="job")
def least_hours(work_hours: Q) -> Q:
    return across("MIN", work_hours)


@COMPARE.row("More than the cheapest", "$", fmt="#,##0")
def over_least(total_cost: Q, least_total: Q) -> Q:
    return total_cost - least_total


@COMPARE.row("Mark", kind="text")
def compare_mark(total_cost: Q, least_total: Q, work_hours: Q, least_hours: Q) -> Q:
    both = (total_cost == least_total) & (work_hours == least_hours)
    return np.where(
        both,
        "cheapest, fewest hours",
        np.where(
            total_cost == least_total,
            "cheapest",
            np.where(work_hours == least_hours, "fewest hours", ""),
        ),
    )


COMPARE.mirror("compare_low", "total_low", "Low of the range", "$", fmt="#,##0")


COMPARE.mirror("compare_high", "total_high", "High of the range", "$", fmt="#,##0")


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
