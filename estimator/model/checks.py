"""Sheet Checks: every test that the workbook makes on itself and on the job."""

from __future__ import annotations

import numpy as np

from estimator.model.options import BLOCKS, FRAMED, OPEN, PIERS
from estimator.rows import OPTION_KEYS, Sheet
from estimator.units import IN_PER_FT
from estimator.vocabulary import (
    Q,
    across,
    as_text,
    count_starting,
    first_starting,
    join,
    lookup,
    nth,
    pick,
    position,
)

CHECKS = Sheet(
    "Checks",
    "Checks: what to put right and what to look at",
    "FAIL: do not build it so. LOOK: decide with care. Local codes and licensed practice govern.",
)
OK = "ok"

CHECKS.section("The workbook itself")


@CHECKS.row(
    "Inputs can be read",
    fmt="0",
    scope="job",
    note="1 when every input on every sheet can be read.",
)
def inputs_ok(input_problems: Q) -> Q:
    return np.where(input_problems == 0, 1, 0)


@CHECKS.row("Option in use", fmt="0", note="1 for a column whose kind is set; 0 keeps it quiet.")
def option_used(option_kind: Q, inputs_ok: Q) -> Q:
    return np.where((option_kind != "") & (inputs_ok == 1), 1, 0)


@CHECKS.row("Number of the chosen option", fmt="0", scope="job", note="1 is the first column.")
def chosen_no(chosen_option: Q, option_letter: Q) -> Q:
    return position(chosen_option, option_letter)


@CHECKS.row(
    "Worst state of the solved parts",
    fmt="0",
    note="0 up to date, 1 valid but may no longer be cheapest, 2 out of date.",
)
def stale_most(
    stale_ground: Q,
    stale_readings: Q,
    stale_around: Q,
    stale_siting: Q,
    siting_wanted: Q,
    stale_balance: Q,
    stale_sizes: Q,
    stale_frame: Q,
    stale_cutting: Q,
    stale_sheets: Q,
    stale_joists: Q,
    stale_suggest: Q,
    stale_range: Q,
) -> Q:
    places = np.where(siting_wanted == "yes", stale_siting, 0)
    survey = np.maximum(np.maximum(stale_ground, stale_readings), np.maximum(stale_around, places))
    return np.maximum(
        np.maximum(np.maximum(survey, stale_balance), np.maximum(stale_frame, stale_cutting)),
        np.maximum(
            np.maximum(np.maximum(stale_sheets, stale_joists), stale_sizes),
            np.minimum(np.maximum(stale_range, stale_suggest), 1),
        ),
    )


@CHECKS.row("State of the solved parts", kind="text")
def option_state(stale_most: Q) -> Q:
    return np.where(
        stale_most == 2,
        "OUT OF DATE: refill",
        np.where(stale_most == 1, "valid, may no longer be cheapest: refill", ""),
    )


CHECKS.section("The survey")


@CHECKS.row(
    "Readings that those around them contradict",
    kind="text",
    scope="job",
    source="Leave-one-out residual; limits are common practice, no source",
)
def readings_text(suspect_name: Q) -> Q:
    first, second = nth(suspect_name, 1), nth(suspect_name, 2)
    more = np.where(nth(suspect_name, 3) == "", "", " and others")
    names = join(first, np.where(second == "", "", ", "), second, more)
    return np.where(first == "", OK, join("LOOK: read again: ", names))


CHECKS.section("The job, option by option", stack="check_text", kind="text")


@CHECKS.row("Readings agree", kind="text")
def check_readings(readings_text: Q, on_pad: Q) -> Q:
    return np.where(on_pad >= 0, readings_text, OK)


@CHECKS.row("Ground is surveyed", kind="text")
def check_survey(guessed_share: Q) -> Q:
    return np.where(
        guessed_share > 0, "LOOK: part of the ground is guessed, outside the readings", OK
    )


@CHECKS.row("Fall across the base", kind="text")
def check_fall(option_kind: Q, fall_in: Q, open_fall_in: Q) -> Q:
    return np.where(
        (option_kind == OPEN) & (fall_in > open_fall_in),
        "FAIL: too much fall for an open pad",
        OK,
    )


@CHECKS.row("Courses of timber", kind="text")
def check_courses(option_kind: Q, frame_courses: Q, courses_most: Q) -> Q:
    over = (option_kind == FRAMED) & (frame_courses > courses_most)
    return np.where(over, "FAIL: more courses than allowed on Options", OK)


@CHECKS.row("Exposed timber beside a loaded pad", kind="text")
def check_wall(option_kind: Q, exposed_in: Q, wall_tieback_in: Q, wall_most_in: Q) -> Q:
    framed = option_kind == FRAMED
    return np.where(
        framed & (exposed_in > wall_most_in),
        "FAIL: a wall this high that carries a pad needs an engineer",
        np.where(
            framed & (exposed_in > wall_tieback_in),
            "LOOK: tie the timbers back into the pad",
            OK,
        ),
    )


@CHECKS.row("String above the ground", kind="text")
def check_buried(on_pad: Q, top_ft: Q, ground_high_ft: Q, strip_ft: Q) -> Q:
    buried = (on_pad == 1) & (top_ft < ground_high_ft - strip_ft - 1 / IN_PER_FT)
    return np.where(buried, "LOOK: the pad lies below the high ground; drain that side", OK)


@CHECKS.row("Support on fill", kind="text")
def check_fill(on_pad: Q, fill_depth_in: Q, fill_accepted: Q) -> Q:
    on_fill = (on_pad == 1) & (fill_depth_in > 0.5) & (fill_accepted == "no")
    return np.where(
        on_fill, "LOOK: stands partly on fill; not accepted until someone qualified does", OK
    )


@CHECKS.row("Water in a framed pad", kind="text")
def check_water(option_kind: Q, soil: Q, soil_name: Q, soil_holds_water: Q) -> Q:
    holds = lookup(soil, soil_name, soil_holds_water) == "yes"
    return np.where(
        (option_kind == FRAMED) & holds,
        "LOOK: soil holds water; leave a drain through the low side",
        OK,
    )


@CHECKS.row("Water from uphill", kind="text")
def check_uphill(on_pad: Q, uphill_ft: Q, uphill_water: Q) -> Q:
    comes = (on_pad == 1) & (uphill_ft > 0) & (uphill_water == "none")
    return np.where(comes, "LOOK: ground comes down toward the pad; lead the water round it", OK)


@CHECKS.row("Bearing", kind="text")
def check_bearing(
    on_pad: Q,
    skid_soil_psf: Q,
    support_psf: Q,
    bearing_psf: Q,
    skid_point_psf: Q,
    stone_bearing_psf: Q,
) -> Q:
    pressure = np.where(on_pad == 1, skid_soil_psf, support_psf)
    return np.where(
        pressure > bearing_psf,
        "FAIL: presses harder than the soil may carry",
        np.where(
            skid_point_psf > stone_bearing_psf,
            "FAIL: skids press harder than the stone may carry",
            OK,
        ),
    )


@CHECKS.row("Frost", kind="text")
def check_frost(
    pier_depth_in: Q,
    frost_depth_in: Q,
    frost_free_area_ft2: Q,
    building_length_ft: Q,
    building_width_ft: Q,
) -> Q:
    waived = building_length_ft * building_width_ft <= frost_free_area_ft2
    deep = pier_depth_in >= frost_depth_in
    return np.where(
        waived | deep, OK, "LOOK: does not reach below frost; ask whether that is allowed"
    )


@CHECKS.row("Height of supports", kind="text")
def check_supports(
    option_kind: Q,
    support_rise_most_in: Q,
    pier_diameter_in: Q,
    slender_most: Q,
    exposed_pier_in: Q,
    block_stack_in: Q,
) -> Q:
    slender = (option_kind == PIERS) & (support_rise_most_in > slender_most * pier_diameter_in)
    tall = (option_kind == PIERS) & (support_rise_most_in > exposed_pier_in)
    stack = (option_kind == BLOCKS) & (support_rise_most_in > block_stack_in)
    return np.where(
        slender,
        "FAIL: piers too slender for their height",
        np.where(
            tall,
            "LOOK: tall piers; brace them",
            np.where(stack, "FAIL: stacks of blocks too tall", OK),
        ),
    )


@CHECKS.row("Thickness of the footing", kind="text", source="IRC R403.1.1, from memory")
def check_footing(footing_thick_in: Q, footing_thick_needed_in: Q) -> Q:
    return np.where(
        footing_thick_needed_in > footing_thick_in,
        "FAIL: the footing must be as thick as it spreads past the pier, and 6 in",
        OK,
    )


@CHECKS.row("Joists", kind="text")
def check_joists(joist_use: Q, overhang_use: Q, joist_rest_use: Q) -> Q:
    return np.where(
        joist_use > 1,
        join("FAIL: joists used to ", as_text(100 * joist_use, "0"), " percent"),
        np.where(
            overhang_use > 1,
            join(
                "FAIL: joists past the beam used to ", as_text(100 * overhang_use, "0"), " percent"
            ),
            np.where(
                joist_rest_use > 1,
                "FAIL: joists are crushed where they rest on skid or beam",
                OK,
            ),
        ),
    )


@CHECKS.row("Skids", kind="text")
def check_skids(skid_use: Q) -> Q:
    return np.where(
        skid_use > 1,
        join("FAIL: skids used to ", as_text(100 * skid_use, "0"), " percent"),
        OK,
    )


@CHECKS.row("Beams", kind="text")
def check_beams(beam_use: Q) -> Q:
    return np.where(
        beam_use > 1,
        join("FAIL: beams used to ", as_text(100 * beam_use, "0"), " percent"),
        OK,
    )


@CHECKS.row("Floor sheets", kind="text")
def check_sheets(sheet_span_in: Q, joist_spacing_used_in: Q, sheet_note: Q) -> Q:
    return np.where(
        joist_spacing_used_in > sheet_span_in,
        "FAIL: joists are farther apart than the sheet's rating",
        np.where(
            sheet_note != "",
            "LOOK: this spacing does not divide the sheet; every sheet is cut back to a joist",
            OK,
        ),
    )


@CHECKS.row(
    "Openings in the floor",
    kind="text",
    source="IRC R502.10, from memory: a header over 4 ft, and its trimmers, are doubled",
)
def check_openings(opening_length_ft: Q, opening_framed: Q, opening_what: Q, on_pad: Q) -> Q:
    bare = np.sum(np.where((opening_what != "") & (opening_framed != "yes"), 1, 0))
    wide = np.sum(np.where((opening_what != "") & (opening_length_ft > 4), 1, 0)) + 0 * on_pad
    return np.where(
        wide > 0,
        "LOOK: an opening is longer than 4 ft; have its headers and trimmers checked",
        np.where(bare > 0, "LOOK: joists at an opening are not doubled; cut none of them", OK),
    )


@CHECKS.row("Lists for the saw are whole", kind="text")
def check_lists(offcuts_left_out: Q, cuts_left_out: Q) -> Q:
    return np.where(
        cuts_left_out != "",
        join("LOOK: Sheet Layout: ", cuts_left_out),
        np.where(offcuts_left_out != "", join("LOOK: Cut Plan: ", offcuts_left_out), OK),
    )


@CHECKS.row("Wood near the ground", kind="text")
def check_wood(joist_treated: Q, joist_clear_least_in: Q, joist_clear_in: Q) -> Q:
    low = (joist_treated == 0) & (joist_clear_least_in < joist_clear_in)
    return np.where(low, "LOOK: untreated joists near the ground; treated ones are usual", OK)


@CHECKS.row("Treated wood in the ground", kind="text")
def check_treated(
    option_kind: Q,
    timber_stock: Q,
    skid_stock: Q,
    on_pad: Q,
    beam_stock: Q,
    stock_name: Q,
    stock_treated: Q,
    clear_above_in: Q,
    beam_clear_least_in: Q,
) -> Q:
    skid = (on_pad == 1) & (lookup(skid_stock, stock_name, stock_treated, "yes") == "no")
    timber = (option_kind == FRAMED) & (
        lookup(timber_stock, stock_name, stock_treated, "yes") == "no"
    )
    low = (on_pad == 0) & (clear_above_in < beam_clear_least_in)
    beam = low & (lookup(beam_stock, stock_name, stock_treated, "yes") == "no")
    return np.where(skid | timber | beam, "FAIL: wood on or near the ground must be treated", OK)


@CHECKS.row("Air under the floor", kind="text")
def check_air(air_under_in: Q, air_least_in: Q) -> Q:
    return np.where(
        air_under_in < air_least_in,
        "LOOK: little air under the joists; use deeper skids and keep the ends open",
        OK,
    )


@CHECKS.row("Wind (screening)", kind="text")
def check_wind(sliding_use: Q, overturning_use: Q, uplift_use: Q, on_pad: Q) -> Q:
    moves = (sliding_use > 1) | (overturning_use > 1) | (uplift_use > 1)
    return np.where(
        moves & (on_pad == 1),
        "LOOK: wind may move it; anchors are in the price",
        np.where(moves, "LOOK: wind may move it; tie the floor to its bases", OK),
    )


@CHECKS.row("Headroom for frost and splash", kind="text")
def check_clear(on_pad: Q, clear_above_in: Q) -> Q:
    low = (on_pad == 0) & (clear_above_in < 6)
    return np.where(low, "LOOK: beams closer than 6 in to the ground", OK)


@CHECKS.row("Prices", kind="text")
def check_prices(unpriced: Q, unanswered: Q, boards_unpriced: Q) -> Q:
    return np.where(
        (unpriced > 0) | (np.abs(unanswered) > 0.000001),
        "FAIL: the total leaves out items without a price",
        np.where(boards_unpriced > 0, "FAIL: a board that it may use has no price", OK),
    )


@CHECKS.row("Stock of the yard", kind="text")
def check_stock(short_stock: Q) -> Q:
    return np.where(short_stock > 0, "FAIL: the yard has fewer packs than this needs", OK)


@CHECKS.row("Permit", kind="text")
def check_permit(building_length_ft: Q, building_width_ft: Q, permit_area_ft2: Q, on_pad: Q) -> Q:
    over = building_length_ft * building_width_ft > permit_area_ft2 + 0 * on_pad
    return np.where(over, "LOOK: larger than the area that needs no permit", OK)


@CHECKS.row("Suggested sizes", kind="text", note="Of what is left blank on Options.")
def check_suggestion(
    suggested_text: Q, suggestion_first: Q, suggestion_accepted: Q, default_fails: Q
) -> Q:
    taken: Q = np.where(suggestion_accepted == "", suggestion_first, suggestion_accepted)
    other = (suggested_text != "") & (taken != "") & (taken != suggested_text)
    return np.where(
        default_fails > 0,
        "LOOK: nothing on offer works; the strongest stands in for what is left blank",
        np.where(other, join("LOOK: changed from ", taken, " to ", suggested_text), OK),
    )


CHECKS.section("Counts")


@CHECKS.row("Checks that fail", "checks", fmt="0")
def checks_failed(check_text: Q) -> Q:
    return count_starting(check_text, "FAIL")


@CHECKS.row("Checks to look at", "checks", fmt="0")
def checks_look(check_text: Q) -> Q:
    return count_starting(check_text, "LOOK")


@CHECKS.row("First of them", kind="text")
def first_check(checks_failed: Q, check_text: Q) -> Q:
    return np.where(
        checks_failed > 0, first_starting(check_text, "FAIL"), first_starting(check_text, "LOOK")
    )


@CHECKS.row(
    "Old prices",
    "items",
    fmt="0",
    scope="job",
    note="Items whose price is older than the job allows.",
)
def old_prices(item_key: Q, item_age_days: Q, price_days: Q) -> Q:
    return np.sum(np.where((item_key != "") & (item_age_days > price_days), 1, 0))


@CHECKS.row("Worst state of all solved parts", fmt="0", scope="job")
def stale_worst(stale_most: Q) -> Q:
    return across("MAX", stale_most)


@CHECKS.row("Failing in the chosen option", "checks", fmt="0", scope="job")
def chosen_failed(checks_failed: Q, chosen_no: Q) -> Q:
    return pick(checks_failed, chosen_no)


@CHECKS.row(
    "Prices are missing",
    fmt="0",
    note="1 where a need has no item or no price, or a board that may be used has none.",
)
def prices_missing(check_prices: Q) -> Q:
    return np.where(check_prices != OK, 1, 0)


@CHECKS.row("Options whose prices are missing", "options", fmt="0", scope="job")
def incomplete_options(prices_missing: Q) -> Q:
    return across("SUM", prices_missing)


@CHECKS.row("Overall", kind="text", scope="job", note="Stands on top of every sheet.")
def overall_flag(
    input_problems: Q,
    options_used: Q,
    stale_worst: Q,
    chosen_used: Q,
    chosen_failed: Q,
    incomplete_options: Q,
    typed_over_now: Q,
    typed_over_spoiled: Q,
) -> Q:
    fine = np.where(
        typed_over_now > 0,
        join("OK: nothing fails, with numbers of your own typed over: ", typed_over_now),
        "OK: nothing fails in the chosen option",
    )
    state = np.where(
        input_problems > 0,
        join("NOT VALID: ", input_problems, " inputs can't be read; see the Check columns"),
        np.where(
            options_used == 0,
            "NOT VALID: no option has a kind",
            np.where(
                chosen_used == 0,
                "NOT VALID: the chosen option is blank",
                np.where(
                    stale_worst == 2,
                    "OUT OF DATE: inputs or solved cells changed since the last refill; marked numbers are old",
                    np.where(
                        chosen_failed > 0,
                        "CHECK: the chosen option fails checks; see Checks",
                        np.where(
                            incomplete_options > 0,
                            "CHECK: prices that an option needs are missing; see Checks",
                            np.where(
                                stale_worst == 1,
                                "OK, but prices or loads changed: ranges are old, cut plans and suggested sizes may be others",
                                fine,
                            ),
                        ),
                    ),
                ),
            ),
        ),
    )
    return np.where(
        typed_over_spoiled > 0,
        join("NOT VALID: computed cells without a number, or sheets gone: ", typed_over_spoiled),
        state,
    )


@CHECKS.row("Options in use", "options", fmt="0", scope="job")
def options_used(option_used: Q) -> Q:
    return across("SUM", option_used)


@CHECKS.row("Chosen option in use", fmt="0", scope="job")
def chosen_used(option_used: Q, chosen_no: Q) -> Q:
    return pick(option_used, chosen_no)


LETTERS = CHECKS.table("letter", "Options by letter", len(OPTION_KEYS), index=True)


@LETTERS.column("Letter", kind="text")
def option_letter(letter_no: Q) -> Q:
    text: Q = ""
    for number, key in enumerate(OPTION_KEYS, 1):
        text = np.where(letter_no == number, key, text)
    return text


@LETTERS.column("Total", "$", fmt="#,##0.00")
def total_by_letter(letter_no: Q, total_cost: Q) -> Q:
    return pick(total_cost, letter_no)


@LETTERS.column("Hours", "h", fmt="0.0")
def hours_by_letter(letter_no: Q, work_hours: Q) -> Q:
    return pick(work_hours, letter_no)
