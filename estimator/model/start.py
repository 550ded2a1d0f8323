"""Sheet Start: what this is, the answer in one look, what to fix first, the usual cautions."""

from __future__ import annotations

import numpy as np

from estimator.appearance import SheetAppearance
from estimator.inputs import Field
from estimator.model.charts import BAND_ROWS, DECISION
from estimator.model.compare import COMPARE, DETAIL
from estimator.model.money import money
from estimator.model.open_points import OPEN
from estimator.model.option_names import letter_of, titled
from estimator.rows import OPTION_KEYS, Sheet
from estimator.vocabulary import (
    Q,
    across,
    join,
    nth,
    option_where,
    pick,
    rounded,
)

START = Sheet(
    "Start",
    "Base of a small outbuilding: decide and price it before you order",
    "Type on Job, Survey, Options, Floor and Prices; compare the options below; then take the Field Sheet, Cut Plan and Buy List along.",
    shows=SheetAppearance(role="answer", upright=True, dimmed="compare_failed", band=DECISION),
)
VERSION = "1"

START.take(OPEN)

START.section("The answer")
START.typed(
    Field(
        "chosen_option",
        "Option chosen",
        kind="choice",
        choices=OPTION_KEYS,
        needed=False,
        when_blank="Blank: the cheapest that passes.",
    ),
    scope="job",
)


@START.row("Chosen", kind="text", scope="job")
def chosen_title(
    option_kind: Q, option_name: Q, chosen_no: Q, chosen_option: Q, cheapest_no: Q
) -> Q:
    passes = np.where(cheapest_no > 0, " that passes", ", as none passes")
    taken = join(_named(option_name, option_kind, chosen_no), ": none is typed, so the cheapest")
    title = titled(option_name, option_kind, chosen_no)
    return np.where(chosen_option == "", join(taken, passes), title)


START.mirror("chosen_total", "total_cost", "It costs", "$", fmt="#,##0.00", chosen="chosen_no")


@START.row("Fix first", kind="text", scope="job")
def chosen_first(first_check: Q, chosen_no: Q, chosen_failed: Q) -> Q:
    return np.where(chosen_failed >= 0, pick(first_check, chosen_no), "")


@START.row("If the choice fails", kind="text", scope="job")
def choice_fails(
    option_name: Q,
    option_kind: Q,
    chosen_no: Q,
    chosen_failed: Q,
    options_passing: Q,
    cheapest_no: Q,
) -> Q:
    chosen = _named(option_name, option_kind, chosen_no)
    other = join(_named(option_name, option_kind, cheapest_no), " passes: choose it")
    cure = np.where(options_passing > 0, other, "no other option passes")
    return np.where(
        chosen_failed > 0, join(chosen, " fails; ", cure, ", or put right what fails"), ""
    )


def _named(option_name: Q, option_kind: Q, number: Q) -> Q:
    """An option by its letter, its name and its kind; there is one of this number."""
    return join(letter_of(number), " ", titled(option_name, option_kind, number))


@START.row("Cheapest that passes", kind="text", scope="job")
def cheapest_name(is_cheapest: Q, options_used: Q) -> Q:
    return _best(is_cheapest, options_used)


def _best(marked: Q, options_used: Q) -> Q:
    """Letter of the first option that is marked 1, and whether others are too."""
    others = np.where(across("SUM", marked) > 1, ", and others alike", "")
    none = np.where(options_used > 0, "no option passes", "")
    return np.where(
        across("SUM", marked) > 0, join(letter_of(option_where(marked, 1)), others), none
    )


@START.row("Out of date", kind="text", scope="job")
def start_state(stale_worst: Q) -> Q:
    return np.where(
        stale_worst == 2,
        "yes: refill this workbook (estimator refill)",
        np.where(
            stale_worst == 1, "prices or loads changed: a refill may find a better plan", "no"
        ),
    )


START.mirror("start_old", "old_prices", "Prices older than allowed", "items", fmt="0", scope="job")


START.take(COMPARE)

START.section("Why the cheapest is cheapest")


@START.row(
    "Compared",
    kind="text",
    scope="job",
)
def why_compared(
    cheapest_no: Q,
    next_no: Q,
    options_used: Q,
    options_passing: Q,
    option_name: Q,
    option_kind: Q,
    next_over: Q,
    currency: Q,
) -> Q:
    other = _named(option_name, option_kind, next_no)
    over = money(next_over, currency, "#,##0.00")
    less = join(letter_of(cheapest_no), ": ", over, " less than ", other)
    alone = join("no other option passes than ", letter_of(cheapest_no))
    alike = np.where(options_passing > 1, "those that pass cost the same", alone)
    found = np.where(next_no > 0, less, alike)
    none = np.where(options_used > 0, "no option passes", "")
    return np.where(cheapest_no > 0, found, none)


@START.row("Largest difference, before tax", kind="text", scope="job")
def why_first(group_name: Q, group_saved: Q, group_ranked: Q, currency: Q) -> Q:
    return _difference(1, group_name, group_saved, group_ranked, currency)


@START.row("Second", kind="text", scope="job")
def why_second(group_name: Q, group_saved: Q, group_ranked: Q, currency: Q) -> Q:
    return _difference(2, group_name, group_saved, group_ranked, currency)


@START.row("Third", kind="text", scope="job")
def why_third(group_name: Q, group_saved: Q, group_ranked: Q, currency: Q) -> Q:
    return _difference(3, group_name, group_saved, group_ranked, currency)


def _difference(place: int, group_name: Q, group_saved: Q, group_ranked: Q, currency: Q) -> Q:
    """A difference in words; empty below half of what money is counted in."""
    number = nth(group_ranked, place)
    return _saved(nth(group_name, number), nth(group_saved, number), currency)


def _saved(what: Q, saved: Q, currency: Q) -> Q:
    """So much money less or more, rounded to whole numbers; empty for none."""
    much = money(np.abs(saved), currency, "#,##0")
    words = join(what, " ", much, np.where(saved > 0, " less", " more"))
    return np.where(rounded(np.abs(saved), 0) > 0, words, "")


@START.row("All else", kind="text", scope="job")
def why_rest(saved_rest: Q, currency: Q) -> Q:
    return _saved("other groups, tax, contingency, overhead and profit", saved_rest, currency)


START.mirror("start_falls", "falls_say", "Cheapest, up to a fall of", kind="text", scope="job")


START.notes(DECISION.part, *("",) * BAND_ROWS)
START.take(DETAIL)

START.notes(
    "How to use it",
    "1. Job: the building, loads, place, crew. 2. Survey: a reading at each of nine stakes, or as many as you like. Then refill: all kinds are on, sizes are suggested.",
    "What you know better: Options, up to six ways to carry it; Floor, openings and partitions; Prices, what your yards charge; Cost, what if an input were another.",
    "Quantities, checks and costs follow your typing at once. Ground, timber courses, cut plans and sheet layouts are solved by the estimator: after an edit they say 'out of date' until you run: estimator refill, with the name of this file.",
    "A number typed over a computed cell is your decision: it is kept and used. Delete it and refill to get the formula back.",
)
START.contents("What stands where")
START.notes(
    "Cautions",
    "Call the utility locating service before any digging, and look up for lines; know where septic tanks and wells are.",
    "Permits, setbacks, frost depth, snow and wind are local. Local codes and licensed practice govern; the checks here are screens, not a design.",
    "Walls that hold back ground, and supports on fill, can fail and hurt people: above the limits on Checks ask an engineer.",
    "Treated wood: gloves, eye protection and a dust mask when cutting; coat cut ends; use hardware made for treated wood; never burn off-cuts.",
    "Timbers, bags and plates are heavy: lift with two, and keep feet clear of a load that is being tipped.",
)
