"""Of the sheet Start: what is still to be typed before there is an answer, in the order that helps."""

from __future__ import annotations

import numpy as np

from estimator.model.option_names import number_of
from estimator.rows import OPTION_KEYS, Chapter
from estimator.vocabulary import Q, amount, join, pick

OPEN = Chapter()
LEAST_READINGS = 3
"""Three places that are not in one line make a surface; more show where it bends."""

OPEN.section("Still to type")


@OPEN.row("Points that are open", "points", fmt="0", scope="job")
def open_points(todo_building: Q, todo_wind: Q, todo_readings: Q, todo_kinds: Q) -> Q:
    return (
        np.where(todo_building == "", 0, 1)
        + np.where(todo_wind == "", 0, 1)
        + np.where(todo_readings == "", 0, 1)
        + np.where(todo_kinds == "", 0, 1)
    )


@OPEN.row("Building", kind="text", scope="job", mend="building_length_ft")
def todo_building(building_length_ft: Q, building_width_ft: Q, inputs_ok: Q) -> Q:
    missing = (building_length_ft == 0) | (building_width_ft == 0)
    text = np.where(missing, "Job: type the length and the width of the building", "")
    return _once_read(text, inputs_ok)


@OPEN.row("Wind", kind="text", scope="job", mend="wind_mph")
def todo_wind(wind_speed_mph: Q, wind_least_mph: Q, inputs_ok: Q) -> Q:
    none = (wind_speed_mph > 0) & (wind_speed_mph < wind_least_mph)
    said = join(
        "Job: ",
        amount(wind_speed_mph, "mph"),
        " is no design wind; a pressure goes into the cell for it, and 0 is no wind",
    )
    return _once_read(np.where(none, said, ""), inputs_ok)


def _once_read(text: Q, inputs_ok: Q) -> Q:
    """A text, empty while an input can't be read: what stands before the options is not quiet."""
    return np.where(inputs_ok == 1, text, "")


@OPEN.row("Ground", kind="text", scope="job", mend="quick_reading_ft")
def todo_readings(quick_name: Q, point_name: Q, line_name: Q, drop_name: Q, inputs_ok: Q) -> Q:
    points = np.sum(np.where(quick_name != "", 1, 0)) + np.sum(np.where(point_name != "", 1, 0))
    steps = np.sum(np.where(line_name != "", 1, 0)) + np.sum(np.where(drop_name != "", 1, 0))
    missing = points + steps < LEAST_READINGS
    text = np.where(
        missing, "Survey: type a reading at each of the nine stakes, or readings of your own", ""
    )
    return _once_read(text, inputs_ok)


@OPEN.row("Ways to carry it", kind="text", scope="job", mend="option_kind")
def todo_kinds(option_kind: Q, inputs_ok: Q) -> Q:
    kinds = join(*(pick(option_kind, number) for number in range(1, len(OPTION_KEYS) + 1)))
    text = np.where(kinds == "", "Options: type a kind in one column or more", "")
    return _once_read(text, inputs_ok)


@OPEN.row(
    "Choice",
    kind="text",
    scope="job",
    mend="chosen_option",
    note="The options have their numbers all the same; what follows the choice waits for it.",
)
def todo_choice(chosen_option: Q, option_kind: Q, not_priced: Q, todo_kinds: Q, inputs_ok: Q) -> Q:
    number = number_of(chosen_option, 1)
    typed = (chosen_option != "") & (todo_kinds == "")
    blank, lacks = pick(option_kind, number) == "", pick(not_priced, number) != ""
    why = np.where(blank, " is blank on Options", " can't be supplied")
    said = join("Start: option ", chosen_option, why, "; choose another, or none")
    return _once_read(np.where(typed & (blank | lacks), said, ""), inputs_ok)


@OPEN.row("Can't be supplied", kind="text", scope="job", mend="item_limit")
def todo_supply(not_priced: Q, inputs_ok: Q) -> Q:
    each = [pick(not_priced, number) for number in range(1, len(OPTION_KEYS) + 1)]
    return _once_read(join(*(np.where(why == "", "", join(why, " ")) for why in each)), inputs_ok)


@OPEN.row(
    "Reckoned with",
    kind="text",
    scope="job",
    mend="frost_depth_in",
    note="As Job has it. What you did not type is common, and perhaps not so where you are.",
)
def local_facts(
    door_side: Q,
    frost_depth_in: Q,
    roof_snow_psf: Q,
    wind_speed_mph: Q,
    wind_exposure: Q,
    soil: Q,
    dig_method: Q,
) -> Q:
    loads = join(
        "frost ",
        amount(frost_depth_in, "in"),
        ", snow ",
        amount(roof_snow_psf, "psf"),
        ", wind ",
        amount(wind_speed_mph, "mph"),
    )
    place = join(" (", wind_exposure, "), ", soil, ", door ", door_side, ", dug ", dig_method)
    return join(loads, place)
