"""Of the sheet Cost: on which day each task of every option is done, from the first call on.

One crew does one task after another, in one order for all options; an option that lacks a task
passes over it. Nothing but errands begins before lines in the ground are marked, no work before its
material is there, and what stands on concrete waits until it is cured. So the last day is never
earlier than the longest chain of tasks and waits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from typing import Final

import numpy as np

from estimator.contributions import after_one_another
from estimator.model.adds import Hours
from estimator.model.job import HIGH_EARLY, WEEKENDS, WORK_DAYS
from estimator.model.working_days import (
    BUSINESS_DAYS,
    MONDAY,
    SATURDAY,
    day_of,
    number_of,
)
from estimator.rows import Chapter
from estimator.vocabulary import Q, choose, most_if

CALENDAR = Chapter()
SHORT_DATE: Final = "ddd d mmm;;"
LONG_DATE: Final = "ddd yyyy-mm-dd"
NO_DATE: Final = 36528
"""Monday, 3 January 2000: the first day where none is typed."""
MATERIAL: Final[Mapping[str, str]] = {
    "earthwork": "soil_at",
    "stone": "stone_at",
    "timber": "lumber_at",
    "concrete": "concrete_at",
    "carpentry": "lumber_at",
}
"""By trade, the row that says when its work may begin: lines are marked and its material is there."""


def as_worked(tasks: Sequence[Hours]) -> tuple[Hours, ...]:
    """Tasks in the order of one crew, each after those that it names.

    First what comes after nothing, then what has to be done before concrete can cure, then all
    that need not wait for it, so that it fills the wait.

    Raises:
        RowError: Naming the task: it comes after something unknown, or after itself.
    """
    before = _all_before(after_one_another(tasks))
    cast = [task.key for task in tasks if task.wait]

    def turn(task: Hours) -> int:
        if not task.after:
            return 0
        if any(task.key == key or task.key in before[key] for key in cast):
            return 1
        return 3 if any(key in before[task.key] for key in cast) else 2

    return after_one_another(sorted(tasks, key=turn))


def _all_before(tasks: Sequence[Hours]) -> dict[str, frozenset[str]]:
    """By key of a task, all that come before it; given each after those that it names."""
    found: dict[str, frozenset[str]] = {}
    for task in tasks:
        found[task.key] = frozenset(task.after).union(*(found[key] for key in task.after))
    return found


def done_reads(tasks: Sequence[Hours], task: Hours) -> dict[str, str | tuple[str, ...]]:
    """What the line of a task reads: hours, the task before it, and what else it waits for."""
    place = list(tasks).index(task)
    before = _all_before(tasks)[task.key]
    waits = [one.line("cured_at") for one in tasks if one.wait and one.key in before]
    if task.trade in MATERIAL:
        waits.append(MATERIAL[task.trade])
    return {
        "hours": task.line("task"),
        "earlier": tuple(one.line("done_at") for one in tasks[:place][-1:]),
        "waits": tuple(waits),
        "holds": (task.hold,) if task.hold else (),
    }


CALENDAR.section("Calendar")


@CALENDAR.row("Day of the call", fmt=LONG_DATE, scope="job", note="As typed on Job.")
def call_day(start_date: Q, estimate_date: Q) -> Q:
    typed: Q = np.where(start_date > 0, start_date, estimate_date)
    return np.where(typed > 0, typed, NO_DATE)


@CALENDAR.row("Working days a week", "days", fmt="0", scope="job")
def week_days(work_week: Q) -> Q:
    return choose(work_week, WORK_DAYS)


@CALENDAR.row(
    "Day on which a week of work begins", fmt="dddd", scope="job", note="Monday or Saturday."
)
def week_first(work_week: Q) -> Q:
    return np.where(work_week == WEEKENDS, SATURDAY, MONDAY)


@CALENDAR.row("Number of the first working day, counted from 1900", fmt="0", scope="job")
def call_number(call_day: Q, week_first: Q, week_days: Q, holiday_off: Q) -> Q:
    return number_of(call_day, week_first, week_days, holiday_off)


@CALENDAR.row("Number of the first business day, counted from 1900", fmt="0", scope="job")
def office_number(call_day: Q, office_off: Q) -> Q:
    return number_of(call_day, MONDAY, BUSINESS_DAYS, office_off)


@CALENDAR.row(
    "First day to dig",
    fmt=LONG_DATE,
    scope="job",
    note="The day of the call and the days of notice are over: business days, Monday to Friday.",
)
def dig_day(call_day: Q, notice_days: Q, office_number: Q, office_off_from: Q) -> Q:
    marked = day_of(office_number + notice_days + 1, MONDAY, BUSINESS_DAYS, office_off_from)
    return np.where(notice_days > 0, marked, call_day)


@CALENDAR.row("Working days before it", "days", fmt="0", scope="job")
def dig_at(dig_day: Q, call_number: Q, week_first: Q, week_days: Q, holiday_off: Q) -> Q:
    return number_of(dig_day, week_first, week_days, holiday_off) - call_number


@CALENDAR.row(
    "Concrete cures before framing", "days", fmt="0", scope="job", note="Days of the calendar."
)
def curing_days(concrete_sort: Q, cure_days: Q, early_cure_days: Q) -> Q:
    return np.where(concrete_sort == HIGH_EARLY, early_cure_days, cure_days)


CALENDAR.section("Days until material is there, of what is to be ordered")


def _lead(item_packs: Q, item_lead_days: Q, item_category: Q, *categories: str) -> Q:
    ordered = np.where(item_packs > 0, item_lead_days, 0)
    each = [most_if(ordered, item_category, category) for category in categories]
    return reduce(np.maximum, each)


@CALENDAR.row("Soil", "days", fmt="0")
def soil_lead(item_packs: Q, item_lead_days: Q, item_category: Q) -> Q:
    return _lead(item_packs, item_lead_days, item_category, "soil")


@CALENDAR.row("Stone, fabric", "days", fmt="0")
def stone_lead(item_packs: Q, item_lead_days: Q, item_category: Q) -> Q:
    return _lead(item_packs, item_lead_days, item_category, "stone", "fabric")


@CALENDAR.row("Concrete, steel, blocks", "days", fmt="0")
def concrete_lead(item_packs: Q, item_lead_days: Q, item_category: Q) -> Q:
    return _lead(item_packs, item_lead_days, item_category, "concrete", "steel", "block")


@CALENDAR.row("Lumber, sheets, hardware", "days", fmt="0")
def lumber_lead(item_packs: Q, item_lead_days: Q, item_category: Q) -> Q:
    return _lead(item_packs, item_lead_days, item_category, "lumber", "sheet", "hardware")


CALENDAR.section("Working days before work with it may begin")


def _there(lead: Q, call_day: Q, call_number: Q, dig_at: Q, first: Q, days: Q, off: Q) -> Q:
    return np.maximum(number_of(call_day + lead, first, days, off) - call_number, dig_at)


@CALENDAR.row("Earthwork", "days", fmt="0")
def soil_at(
    soil_lead: Q,
    call_day: Q,
    call_number: Q,
    dig_at: Q,
    week_first: Q,
    week_days: Q,
    holiday_off: Q,
) -> Q:
    return _there(soil_lead, call_day, call_number, dig_at, week_first, week_days, holiday_off)


@CALENDAR.row("Stone work", "days", fmt="0")
def stone_at(
    stone_lead: Q,
    call_day: Q,
    call_number: Q,
    dig_at: Q,
    week_first: Q,
    week_days: Q,
    holiday_off: Q,
) -> Q:
    return _there(stone_lead, call_day, call_number, dig_at, week_first, week_days, holiday_off)


@CALENDAR.row(
    "Concrete work", "days", fmt="0", note="The forms of a slab are of lumber, and wait for it."
)
def concrete_at(
    concrete_lead: Q,
    call_day: Q,
    call_number: Q,
    dig_at: Q,
    week_first: Q,
    week_days: Q,
    holiday_off: Q,
    slab_on: Q,
    lumber_at: Q,
) -> Q:
    forms = slab_on * lumber_at
    there = _there(concrete_lead, call_day, call_number, dig_at, week_first, week_days, holiday_off)
    return np.maximum(there, forms)


@CALENDAR.row("Timber and carpentry", "days", fmt="0")
def lumber_at(
    lumber_lead: Q,
    call_day: Q,
    call_number: Q,
    dig_at: Q,
    week_first: Q,
    week_days: Q,
    holiday_off: Q,
) -> Q:
    return _there(lumber_lead, call_day, call_number, dig_at, week_first, week_days, holiday_off)


@CALENDAR.gathers(
    "Working days from the call until it is done",
    Hours,
    stack="task_done",
    suffix="done_at",
    word="done",
    fmt="0.0",
    order=as_worked,
    linked=done_reads,
)
def task_done(
    hours: Q,
    earlier: tuple[Q, ...],
    waits: tuple[Q, ...],
    holds: tuple[Q, ...],
    crew_size: Q,
    day_hours: Q,
) -> Q:
    free: Q = earlier[0] if earlier else 0
    begun = reduce(np.maximum, waits, free)
    worked = hours / (crew_size * day_hours)
    return np.where(hours > 0, reduce(np.add, holds, begun + worked), free)


def own_lines(_: Sequence[Hours], task: Hours) -> dict[str, str]:
    """The lines of the same task in the other sections."""
    return {"hours": task.line("task"), "done": task.line("done_at"), "day": task.line("day")}


@CALENDAR.gathers(
    "Done on",
    Hours,
    stack="task_day",
    suffix="day",
    word="done on",
    fmt=SHORT_DATE,
    order=as_worked,
    linked=own_lines,
)
def task_day(hours: Q, done: Q, call_number: Q, week_first: Q, week_days: Q, holiday_from: Q) -> Q:
    last = call_number + np.ceil(done) - 1
    return np.where(hours > 0, day_of(last, week_first, week_days, holiday_from), 0)


@CALENDAR.gathers(
    "Working days from the call until it is cured",
    Hours,
    stack="cured_at",
    suffix="cured_at",
    word="cured",
    unit="days",
    fmt="0",
    given="wait",
    linked=own_lines,
)
def cured_at(day: Q, wait: Q, call_number: Q, week_first: Q, week_days: Q, holiday_off: Q) -> Q:
    cured = number_of(day + np.ceil(wait), week_first, week_days, holiday_off) - call_number
    return np.where(wait > 0, np.maximum(cured, 0), 0)


CALENDAR.section("The end")


@CALENDAR.row(
    "Ready to build on",
    fmt=LONG_DATE,
    note="All is done, and concrete is cured: the first day on which work can go on where it is the last to wait for.",
)
def ready_day(
    task_done: Q,
    cured_at: Q,
    call_number: Q,
    week_first: Q,
    week_days: Q,
    holiday_from: Q,
) -> Q:
    last = np.maximum(np.ceil(np.max(task_done)) - 1, np.max(cured_at))
    return day_of(call_number + np.maximum(last, 0), week_first, week_days, holiday_from)


@CALENDAR.row(
    "Days from the call until it is ready",
    "days",
    fmt="0",
    note="Days of the calendar: notice, lead times, work, inspection, cure, days off.",
)
def elapsed_days(ready_day: Q, call_day: Q) -> Q:
    return ready_day - call_day
