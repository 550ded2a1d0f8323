"""Sheet Checks: every test that the workbook makes on itself and on the job."""

from __future__ import annotations

import numpy as np

from estimator.appearance import SheetAppearance
from estimator.model.adds import OK, Check, by_hazard, check
from estimator.model.hazards import hazard_lines
from estimator.model.kinds import (
    PADS,
    SUPPORTS,
    TIMBERED,
    is_kind,
)
from estimator.model.option_names import number_of
from estimator.model.supply import SUPPLY
from estimator.model.survey import TAKE_CHECK
from estimator.rows import NOT_PRICED, YES_OR_NO, Sheet
from estimator.vocabulary import (
    Q,
    across,
    amount,
    count_starting,
    first_starting,
    join,
    lookup,
    nth,
    pick,
)

CHECKS = Sheet(
    "Checks",
    "Checks: what to put right and what to look at",
    "FAIL: do not build it so. LOOK: decide with care. Local codes and licensed practice govern.",
    shows=SheetAppearance(role="trust", characters={NOT_PRICED: 130}),
)

CHECKS.section("The workbook itself")


@CHECKS.row(
    "Inputs can be read",
    fmt=YES_OR_NO,
    scope="job",
    note="yes when every input on every sheet can be read.",
)
def inputs_ok(input_problems: Q) -> Q:
    return np.where(input_problems == 0, 1, 0)


CHECKS.solved(
    NOT_PRICED,
    "Can't be supplied",
    kind="text",
    solver=SUPPLY,
    note="As the last refill found it. It has no numbers and counts nowhere until a refill finds it can.",
)


@CHECKS.row(
    "Option in use",
    fmt=YES_OR_NO,
    note="yes for a column whose kind is set and that can be supplied, once nothing is left to type; no keeps it quiet.",
)
def option_used(option_kind: Q, inputs_ok: Q, open_points: Q, not_priced: Q) -> Q:
    complete = np.where(open_points == 0, option_kind, "")
    supplied = np.where(not_priced == "", complete, "")
    return np.where(np.where(inputs_ok == 1, supplied, "") != "", 1, 0)


@CHECKS.row(
    "Number of the chosen option",
    fmt="0",
    scope="job",
    note="1 is the first column. Where none is chosen, the cheapest that passes, else the cheapest.",
)
def chosen_no(chosen_option: Q, taken_no: Q) -> Q:
    return number_of(chosen_option, taken_no)


CHECKS.state(
    "stale_most",
    "Worst state of the solved parts",
    note="0 up to date, 1 valid but may no longer be cheapest, 2 out of date.",
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
    source="Residual from the plainest surface; limits are common practice, no source",
)
def readings_text(suspect_name: Q, suspect_to_do: Q) -> Q:
    first, second = nth(suspect_name, 1), nth(suspect_name, 2)
    more = np.where(nth(suspect_name, 3) == "", "", " and others")
    names = join(first, np.where(second == "", "", ", "), second, more)
    check = nth(suspect_to_do, 1) == TAKE_CHECK
    to_do = np.where(check, "take a check reading at ", "read again: ")
    return np.where(first == "", OK, join("LOOK: ", to_do, names))


@CHECKS.row(
    "One more reading narrows the earth most at",
    kind="text",
    scope="job",
    note="For the chosen option: x, y, and its earth to one standard deviation. As on Grading.",
)
def one_more_chosen(one_more: Q, chosen_no: Q) -> Q:
    return pick(one_more, chosen_no)


CHECKS.gathers_rows(
    "The job, option by option", Check, stack="check_text", kind="text", order=by_hazard
)


@check(CHECKS, "Readings agree", mend="point_reading_ft", hazard="wrong readings")
def check_readings(readings_text: Q, closing_at: Q, closing_ft: Q, closing_allowed_ft: Q) -> Q:
    closing = join(
        "LOOK: ",
        closing_at,
        " closes ",
        amount(closing_ft, "ft", "0.00"),
        " off, allowed are ",
        amount(closing_allowed_ft, "ft", "0.00"),
        ": measure again",
    )
    off = (closing_ft > closing_allowed_ft) & (readings_text == OK)
    return np.where(off, closing, readings_text)


@check(CHECKS, "Bearing", mend="skid_count", hazard="soil overloaded")
def check_bearing(
    soil_psf: Q,
    bearing_psf: Q,
    skid_point_psf: Q,
    stone_bearing_psf: Q,
) -> Q:
    return np.where(
        soil_psf > bearing_psf,
        "FAIL: presses harder than the soil may carry",
        np.where(
            skid_point_psf > stone_bearing_psf,
            "FAIL: skids press harder than the stone may carry",
            OK,
        ),
    )


@check(CHECKS, "Treated wood in the ground", mend="timber_stock", hazard="rot in the ground")
def check_treated(
    option_kind: Q,
    timber_stock: Q,
    skid_stock: Q,
    beam_stock: Q,
    stock_name: Q,
    stock_treated: Q,
    clear_above_in: Q,
    beam_clear_least_in: Q,
) -> Q:
    skid = is_kind(option_kind, PADS) & (
        lookup(skid_stock, stock_name, stock_treated, "yes") == "no"
    )
    timber = is_kind(option_kind, TIMBERED) & (
        lookup(timber_stock, stock_name, stock_treated, "yes") == "no"
    )
    low = is_kind(option_kind, SUPPORTS) & (clear_above_in < beam_clear_least_in)
    beam = low & (lookup(beam_stock, stock_name, stock_treated, "yes") == "no")
    return np.where(skid | timber | beam, "FAIL: wood on or near the ground must be treated", OK)


@check(CHECKS, "Permit", mend="permit_wanted", hazard="no permit")
def check_permit(building_length_ft: Q, building_width_ft: Q, permit_area_ft2: Q) -> Q:
    over = building_length_ft * building_width_ft > permit_area_ft2
    return np.where(over, "LOOK: larger than the {area|footprint} that needs no permit", OK)


@check(
    CHECKS,
    "Suggested sizes",
    note="Of what is left blank on Options.",
    mend="suggestion_accepted",
    hazard="a size that changed",
)
def check_suggestion(
    suggested_text: Q, suggestion_first: Q, suggestion_accepted: Q, default_fails: Q
) -> Q:
    taken: Q = np.where(suggestion_accepted == "", suggestion_first, suggestion_accepted)
    other = (suggested_text != "") & (taken != "") & (taken != suggested_text)
    return np.where(
        default_fails == 1,
        "LOOK: nothing on offer works; the strongest stands in for what is left blank",
        np.where(other, join("LOOK: changed from ", taken, " to ", suggested_text), OK),
    )


CHECKS.gathers_rows(
    "Hazards, option by option", Check, stack="hazard_text", kind="text", order=hazard_lines
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
def old_prices(item_name: Q, item_date: Q, estimate_date: Q, price_days: Q) -> Q:
    dated = (item_name != "") & (item_date > 0) & (estimate_date > 0)
    return np.sum(np.where(dated & (estimate_date - item_date > price_days), 1, 0))


CHECKS.state(
    "stale_worst",
    "Worst state of all solved parts",
    scope="job",
    note="Of options no longer in use too, while their solved numbers stand.",
)


@CHECKS.row("Failing in the chosen option", "checks", fmt="0", scope="job")
def chosen_failed(checks_failed: Q, chosen_no: Q) -> Q:
    return pick(checks_failed, chosen_no)


@CHECKS.row("To look at in the chosen option", "checks", fmt="0", scope="job")
def chosen_look(checks_look: Q, chosen_no: Q) -> Q:
    return pick(checks_look, chosen_no)


@CHECKS.row(
    "Prices are missing",
    fmt=YES_OR_NO,
    note="yes where a need has no item or no price, or a board that may be used has none.",
)
def prices_missing(check_prices: Q) -> Q:
    return np.where(check_prices != OK, 1, 0)


@CHECKS.row("Options whose prices are missing", "options", fmt="0", scope="job")
def incomplete_options(prices_missing: Q) -> Q:
    return across("SUM", prices_missing)


@CHECKS.row("What makes it not valid, or is still to be typed", kind="text", scope="job")
def not_valid(input_problems: Q, open_points: Q, todo_choice: Q, typed_over_spoiled: Q) -> Q:
    spoiled = join(
        "NOT VALID: computed cells without a number, or sheets gone: ", typed_over_spoiled
    )
    unread = join("NOT VALID: ", input_problems, " inputs can't be read; see the Check columns")
    to_do: Q = "TO DO: something is still to be typed; Start lists it"
    # What can't be read, or is not there yet, may leave errors in cells that nobody spoiled.
    unused = np.where(
        todo_choice == "",
        "",
        "NOT VALID: the chosen option is blank or can't be supplied; see Start",
    )
    settled = np.where(typed_over_spoiled > 0, spoiled, unused)
    left = np.where(open_points > 0, to_do, settled)
    return np.where(input_problems > 0, unread, left)


@CHECKS.row("Where nothing fails", kind="text", scope="job")
def nothing_fails(chosen_look: Q, stale_worst: Q, typed_over_now: Q) -> Q:
    points = np.where(chosen_look == 1, " point to look at", " points to look at")
    fine = np.where(
        chosen_look > 0,
        join("LOOK: nothing fails; ", chosen_look, points),
        "OK: nothing fails in the chosen option",
    )
    own = np.where(
        typed_over_now > 0, join(", with numbers of your own typed over: ", typed_over_now), ""
    )
    old = np.where(
        stale_worst == 1,
        "; but prices or loads changed: ranges are old, cut plans and suggested sizes may be others",
        "",
    )
    return join(fine, own, old)


@CHECKS.row("Overall", kind="text", scope="job", note="Stands on top of every sheet.")
def overall_flag(
    not_valid: Q,
    stale_worst: Q,
    chosen_failed: Q,
    options_passing: Q,
    incomplete_options: Q,
    todo_supply: Q,
    nothing_fails: Q,
) -> Q:
    supplied = np.where(
        todo_supply == "",
        nothing_fails,
        "CHECK: an option can't be supplied and is not priced; see Start",
    )
    priced = np.where(
        incomplete_options > 0,
        "CHECK: prices that an option needs are missing; see Checks",
        supplied,
    )
    fails = np.where(
        options_passing > 0,
        "CHECK: the chosen option fails checks and another passes; see Start",
        "CHECK: no option passes every check; see Checks",
    )
    passed = np.where(chosen_failed > 0, fails, priced)
    dated = np.where(
        stale_worst == 2,
        "OUT OF DATE: inputs or solved cells changed since the last refill; marked numbers are old",
        passed,
    )
    return np.where(not_valid == "", dated, not_valid)


@CHECKS.row("Options in use", "options", fmt="0", scope="job")
def options_used(option_used: Q) -> Q:
    return across("SUM", option_used)


@CHECKS.row("Chosen option in use", fmt=YES_OR_NO, scope="job")
def chosen_used(option_used: Q, chosen_no: Q) -> Q:
    return pick(option_used, chosen_no)


@CHECKS.row("Its base", kind="text", scope="job")
def chosen_base(option_kind: Q, chosen_no: Q, chosen_used: Q) -> Q:
    return np.where(chosen_used == 1, pick(option_kind, chosen_no), "")
