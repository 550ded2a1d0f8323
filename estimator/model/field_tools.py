"""Sheet Field Sheet: permits and inspections, tools, and what to take care of on the lot."""

from __future__ import annotations

import numpy as np

from estimator.model.field_sheet import FIELD_SHEET
from estimator.model.kinds import CAST, GRADED, JOISTED, KINDS, by_kind, is_kind
from estimator.vocabulary import Q, amount, join, pick

__all__ = ["FIELD_SHEET"]

FIELD_SHEET.section("Permits and inspections, tools; local codes and licensed practice govern")


@FIELD_SHEET.row("Permit", kind="text", scope="job")
def field_permit(permit_count: Q, chosen_no: Q, chosen_used: Q) -> Q:
    wanted = "building permit: in hand before work begins, its papers on the lot"
    none = "none by its size, as typed on Job; zoning and setbacks hold all the same: ask"
    told = np.where(pick(permit_count, chosen_no) > 0, wanted, none)
    return np.where(chosen_used == 1, told, "")


@FIELD_SHEET.row("Inspections", kind="text", scope="job")
def field_holds(option_kind: Q, chosen_no: Q, chosen_used: Q) -> Q:
    told = {kind.name: join("where the permit asks: ", kind.inspected) for kind in KINDS}
    holds = by_kind(pick(option_kind, chosen_no), told)
    return np.where(chosen_used == 1, holds, "")


@FIELD_SHEET.row("To set out", kind="text", scope="job")
def field_setting_tools(survey_method: Q, chosen_used: Q) -> Q:
    by = np.where(survey_method == "rod readings", "level and rod", "level string or laser")
    told = join("two long tapes, stakes, sledge, lines, square, marking paint, ", by)
    return np.where(chosen_used == 1, told, "")


@FIELD_SHEET.row("To dig and fill", kind="text", scope="job")
def field_digging_tools(
    dig_way: Q, digger_days: Q, plate_days: Q, chosen_no: Q, chosen_base: Q
) -> Q:
    digger = (pick(dig_way, chosen_no) == "machine") & (pick(digger_days, chosen_no) > 0)
    plate = np.where(pick(plate_days, chosen_no) > 0, ", plate compactor", ", hand tamper")
    told = join(
        "spades, digging bar, rake, barrow",
        np.where(is_kind(chosen_base, GRADED), plate, ""),
        np.where(digger, ", small excavator", ""),
    )
    return np.where(chosen_base == "", "", told)


@FIELD_SHEET.row("For the base", kind="text", scope="job")
def field_base_tools(mixer_days: Q, chosen_no: Q, chosen_base: Q) -> Q:
    mixer = np.where(pick(mixer_days, chosen_no) > 0, ", mixer and water", "")
    told = join(by_kind(chosen_base, {kind.name: kind.tools for kind in KINDS}), mixer)
    return np.where(chosen_base == "", "", told)


@FIELD_SHEET.row("For the floor", kind="text", scope="job")
def field_frame_tools(chosen_base: Q) -> Q:
    told = "saw, square, chalk line, hammer, drill and driver, caulking gun, brush for cut ends"
    return np.where(is_kind(chosen_base, JOISTED), told, "")


@FIELD_SHEET.row("To wear", kind="text", scope="job")
def field_worn(chosen_base: Q) -> Q:
    wet = np.where(is_kind(chosen_base, CAST), "; rubber boots and gloves in wet concrete", "")
    told = join("boots, gloves, eye and ear guards, dust mask", wet)
    return np.where(chosen_base == "", "", told)


@FIELD_SHEET.row("Take care", kind="text", scope="job")
def field_care(heaviest_lb: Q, chosen_no: Q, chosen_base: Q) -> Q:
    heavy = pick(heaviest_lb, chosen_no)
    told = join(
        "lift with two",
        np.where(heavy > 0, join(", the heaviest ", amount(heavy, "lb", "0")), ""),
        "; cover holes; burn no treated wood",
    )
    return np.where(chosen_base == "", "", told)
