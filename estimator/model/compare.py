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


@COMPARE.row("Kind of base", kind="text")
def compare_kind(option_kind: Q) -> Q:
    return np.where(option_kind == "", "", option_kind)


@COMPARE.row("Total cost", "$", fmt="#,##0")
def compare_total(total_cost: Q) -> Q:
    return total_cost * 1


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


@COMPARE.row("Low of the range", "$", fmt="#,##0")
def compare_low(total_low: Q) -> Q:
    return total_low * 1


@COMPARE.row("High of the range", "$", fmt="#,##0")
def compare_high(total_high: Q) -> Q:
    return total_high * 1


@COMPARE.row("Material", "$", fmt="#,##0")
def compare_material(material_cost: Q) -> Q:
    return material_cost * 1


@COMPARE.row("Labour", "$", fmt="#,##0")
def compare_labour(labour_cost: Q) -> Q:
    return labour_cost * 1


@COMPARE.row("Hours", "h", fmt="0.0")
def compare_hours(work_hours: Q) -> Q:
    return work_hours * 1


@COMPARE.row("Days from the call to framing", "days", fmt="0")
def compare_days(elapsed_days: Q) -> Q:
    return elapsed_days * 1


@COMPARE.row("Machines and delivery", "$", fmt="#,##0")
def compare_fees(rental_cost: Q, delivery_cost: Q) -> Q:
    return rental_cost + delivery_cost


COMPARE.section("Quantities")


@COMPARE.row("Weight of material", "lb", fmt="#,##0")
def compare_lb(material_lb: Q) -> Q:
    return material_lb * 1


@COMPARE.row("Soil moved", "yd3", fmt="0.0")
def compare_soil(soil_moved_yd3: Q) -> Q:
    return soil_moved_yd3 * 1


@COMPARE.row("Stone", "yd3", fmt="0.0")
def compare_stone(stone_order_yd3: Q) -> Q:
    return stone_order_yd3 * 1


@COMPARE.row("Concrete", "yd3")
def compare_concrete(concrete_yd3: Q) -> Q:
    return concrete_yd3 * 1


@COMPARE.row("Sheets and boards", "pieces", fmt="0")
def compare_wood(sheet_count: Q, cut_boards: Q) -> Q:
    return sheet_count + cut_boards


COMPARE.section("What it is like to live with")


@COMPARE.row("Top of the base above the low ground", "in", fmt="0.0")
def compare_exposed(exposed_in: Q) -> Q:
    return exposed_in * 1


@COMPARE.row("Floor above the ground at the door", "in", fmt="0.0")
def compare_door(floor_door_in: Q) -> Q:
    return floor_door_in * 1


@COMPARE.row("Steps to the door", "rises", fmt="0")
def compare_steps(door_steps: Q) -> Q:
    return door_steps * 1


@COMPARE.row("Or a ramp of", "ft", fmt="0.0")
def compare_ramp(ramp_ft: Q) -> Q:
    return ramp_ft * 1


@COMPARE.row("Can be moved later", kind="text")
def compare_moves(option_kind: Q) -> Q:
    return by_kind(option_kind, {kind.name: kind.moves for kind in KINDS})


@COMPARE.row("Reaches below frost", kind="text")
def compare_frost(pier_depth_in: Q, frost_depth_in: Q) -> Q:
    return np.where(pier_depth_in >= frost_depth_in, "yes", "no")


COMPARE.section("What stands against it")


@COMPARE.row("Checks that fail", "checks", fmt="0")
def compare_failed(checks_failed: Q) -> Q:
    return checks_failed * 1


@COMPARE.row("Checks to look at", "checks", fmt="0")
def compare_look(checks_look: Q) -> Q:
    return checks_look * 1


@COMPARE.row("First of them", kind="text", note="All of them stand on Checks.")
def compare_first(first_check: Q) -> Q:
    return np.where(first_check == "", "nothing found", first_check)


@COMPARE.row("State of the solved parts", kind="text")
def compare_state(option_state: Q) -> Q:
    return np.where(option_state == "", "up to date", option_state)
