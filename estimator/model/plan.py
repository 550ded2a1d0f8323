"""Sheet Calendar, and of the sheet Buy List the deliveries in order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import reduce

import numpy as np

from estimator.appearance import Appearance, SheetAppearance
from estimator.contributions import GatherColumn
from estimator.model.adds import Hours
from estimator.model.charts import CALENDAR_DRAWN, CALENDAR_ROOM, PLAN_ROOM
from estimator.model.cost.calendar import SHORT_DATE, as_worked
from estimator.model.prices import SUPPLIERS_MOST
from estimator.model.working_days import NEVER, day_of
from estimator.rows import Chapter, Sheet
from estimator.vocabulary import (
    Q,
    join,
    most_if,
    nth,
    nth_largest,
    one_of,
    pick,
    position,
    sum_if,
)

OFF_THE_CHART = -1
"""Where the bar of an unused line begins, left of what is drawn."""

DELIVERIES = Chapter()
PLAN = Sheet(
    "Calendar",
    "Calendar: the chosen option, day by day",
    "Working days of one crew, from the day of the call. Weekends and days off are those of Job.",
    shows=SheetAppearance(role="take-along", band=CALENDAR_DRAWN),
)
PLAN.section("Calendar of the chosen option")
PLAN.mirror(
    "plan_call", "call_day", "Call the locating service, and order", fmt=SHORT_DATE, scope="job"
)
PLAN.mirror("plan_dig", "dig_day", "First day to dig", fmt=SHORT_DATE, scope="job")
PLAN.mirror("plan_ready", "ready_day", "Ready to build on", fmt=SHORT_DATE, chosen="chosen_no")


@PLAN.row("Tasks", "tasks", fmt="0", scope="job")
def plan_tasks(plan_rank: Q) -> Q:
    return np.sum(np.where(plan_rank > 0, 1, 0))


def _names(tasks: Sequence[Hours]) -> Callable[..., Q]:
    """Column of what is done on a line."""
    return _told("plan_task", [task.label for task in as_worked(tasks)])


def _trades(tasks: Sequence[Hours]) -> Callable[..., Q]:
    """Column of the trade of a line."""
    return _told("plan_trade", [task.trade for task in as_worked(tasks)])


def _told(name: str, texts: Sequence[str]) -> Callable[..., Q]:
    def told(plan_place: Q) -> Q:
        return np.where(plan_place > 0, one_of(texts, np.maximum(plan_place, 1) - 1), "")

    told.__name__ = name
    return told


def _holds(tasks: Sequence[Hours]) -> dict[int, str]:
    """By number of a task that an inspection holds up, the row of the days."""
    return {place: task.hold for place, task in enumerate(as_worked(tasks), 1) if task.hold}


def _lasting_reads(tasks: Sequence[Hours]) -> tuple[str, ...]:
    own = ("plan_place", "task_hours", "chosen_no", "crew_size", "day_hours")
    return (*own, *dict.fromkeys(_holds(tasks).values()))


def _lasting(tasks: Sequence[Hours]) -> Callable[..., Q]:
    """Column of the days that a line takes, with those that an inspection holds it up."""
    holds = _holds(tasks)

    def plan_days(
        plan_place: Q, task_hours: Q, chosen_no: Q, crew_size: Q, day_hours: Q, **hold: Q
    ) -> Q:
        hours = pick(task_hours, chosen_no, np.maximum(plan_place, 1))
        days = hours / (crew_size * day_hours)
        for place, key in holds.items():
            days = days + np.where(plan_place == place, pick(hold[key], chosen_no), 0)
        return np.where(plan_place > 0, days, 0)

    return plan_days


LINES = PLAN.table(
    "plan",
    "Calendar, task by task",
    0,
    "One crew, one task after another. A wait for marked lines, material, an inspection or cure stands before the task that waits.",
    index=True,
    counts=Hours,
    shows=Appearance(
        characters={"plan_task": 34, "plan_trade": 11},
        aside=("plan_place", "plan_at", "plan_days"),
        standing=("plan_at",),
    ),
)
LINES.gathers(GatherColumn(Hours, "plan_task", "Work", _names))
LINES.gathers(GatherColumn(Hours, "plan_trade", "Trade", _trades))


@LINES.column("From", fmt=SHORT_DATE)
def plan_from(
    plan_place: Q, plan_at: Q, call_number: Q, week_first: Q, week_days: Q, holiday_from: Q
) -> Q:
    begun = day_of(
        call_number + np.floor(np.maximum(plan_at, 0)), week_first, week_days, holiday_from
    )
    return np.where(plan_place > 0, begun, 0)


@LINES.column("To", fmt=SHORT_DATE)
def plan_to(plan_place: Q, task_day: Q, chosen_no: Q) -> Q:
    return np.where(plan_place > 0, pick(task_day, chosen_no, np.maximum(plan_place, 1)), 0)


@LINES.column("Place among all tasks", fmt="0")
def plan_place(plan_no: Q, plan_tasks: Q, plan_rank: Q) -> Q:
    done = nth_largest(plan_rank, np.maximum(plan_tasks + 1 - plan_no, 1))
    return np.where(plan_no <= plan_tasks, position(done, plan_rank), 0)


@LINES.column("Begun, working days from the call", "days", fmt="0.0;;0.0")
def plan_at(plan_place: Q, plan_days: Q, plan_rank: Q) -> Q:
    done = nth(plan_rank, np.maximum(plan_place, 1))
    return np.where(plan_place > 0, np.maximum(done - plan_days, 0), OFF_THE_CHART)


LINES.gathers(
    GatherColumn(
        Hours, "plan_days", "It takes", _lasting, unit="days", fmt="0.0", reads=_lasting_reads
    )
)

PLAN.notes(CALENDAR_ROOM, *("",) * PLAN_ROOM)

RANKS = PLAN.table(
    "task", "Order of the tasks (helper)", 0, counts=Hours, shows=Appearance(workings=True)
)


@RANKS.column("Done, of the chosen option", "days", fmt="0.00")
def plan_rank(task_hours: Q, task_done: Q, chosen_no: Q) -> Q:
    return np.where(pick(task_hours, chosen_no) > 0, pick(task_done, chosen_no), 0)


PLAN.section("First day of each trade, for deliveries")


def _first(dig_day: Q, plan_from: Q, plan_trade: Q, *trades: str) -> Q:
    """Day on which the first of some trades begins; the first to dig where none has work."""
    soonest = reduce(np.maximum, [most_if(NEVER - plan_from, plan_trade, one) for one in trades])
    return np.where(soonest > 0, NEVER - soonest, dig_day)


@PLAN.row("Earthwork", fmt=SHORT_DATE, scope="job")
def first_earthwork(dig_day: Q, plan_trade: Q, plan_from: Q) -> Q:
    return _first(dig_day, plan_from, plan_trade, "earthwork")


@PLAN.row("Stone", fmt=SHORT_DATE, scope="job")
def first_stone(dig_day: Q, plan_trade: Q, plan_from: Q) -> Q:
    return _first(dig_day, plan_from, plan_trade, "stone")


@PLAN.row("Concrete", fmt=SHORT_DATE, scope="job")
def first_concrete(dig_day: Q, plan_trade: Q, plan_from: Q) -> Q:
    return _first(dig_day, plan_from, plan_trade, "concrete")


@PLAN.row("Lumber, sheets and hardware, of forms too", fmt=SHORT_DATE, scope="job")
def first_wood(dig_day: Q, plan_trade: Q, plan_from: Q) -> Q:
    return _first(dig_day, plan_from, plan_trade, "timber", "carpentry", "concrete")


SUPPLY = PLAN.table(
    "supplier", "Deliveries by supplier (helper)", SUPPLIERS_MOST, shows=Appearance(workings=True)
)


@SUPPLY.column(
    "First needed",
    "day",
    fmt="0",
    note="Days before a day that never comes, and part of one so that no two are alike.",
)
def supplier_needed(
    supplier_no: Q,
    item_brought_no: Q,
    item_category: Q,
    buy_packs: Q,
    first_earthwork: Q,
    first_stone: Q,
    first_concrete: Q,
    first_wood: Q,
) -> Q:
    stone = (item_category == "stone") | (item_category == "fabric")
    cast = (item_category == "concrete") | (item_category == "steel") | (item_category == "block")
    wood = (item_category == "lumber") | (item_category == "sheet") | (item_category == "hardware")
    soon = np.where(item_category == "soil", NEVER - first_earthwork, 0)
    soon = soon + np.where(stone, NEVER - first_stone, 0)
    soon = soon + np.where(cast, NEVER - first_concrete, 0)
    soon = soon + np.where(wood, NEVER - first_wood, 0)
    soonest = most_if(np.where(buy_packs > 0, soon, 0), item_brought_no, supplier_no)
    return soonest - supplier_no / 100


LOADS = DELIVERIES.table(
    "load",
    "Deliveries, in order",
    SUPPLIERS_MOST,
    "One from each supplier, on the first day that needs something of it. What takes longer than that comes by the later day, and a trip for it alone is not in the price. Volume of what is sold by the {cubic yard|cubic metre}.",
    index=True,
    shows=Appearance(
        characters={"load_supplier": 16.5, "load_what": 36}, aside=("load_lead_days", "load_place")
    ),
)


@LOADS.column("Supplier", kind="text")
def load_supplier(load_place: Q, supplier_name: Q) -> Q:
    return np.where(load_place > 0, nth(supplier_name, np.maximum(load_place, 1)), "")


@LOADS.column("What", kind="text")
def load_what(load_place: Q, buy_packs: Q, item_no: Q, item_brought_no: Q, item_category: Q) -> Q:
    bought = np.where(buy_packs > 0, 1, 0)
    more = sum_if(bought, item_brought_no, load_place) - 1
    first = NEVER - most_if(bought * (NEVER - item_no), item_brought_no, load_place)
    told = join(nth(item_category, first), np.where(more > 0, join(" and ", more, " more"), ""))
    return np.where(load_place > 0, told, "")


@LOADS.column("Order by", fmt=SHORT_DATE, note="Not before the call.")
def load_order_day(load_place: Q, load_day: Q, load_lead_days: Q, call_day: Q) -> Q:
    return np.where(load_place > 0, np.maximum(load_day - load_lead_days, call_day), 0)


@LOADS.column("Lead time", "days", fmt="0")
def load_lead_days(load_place: Q, item_brought_no: Q, buy_packs: Q, item_lead_days: Q) -> Q:
    lead = most_if(np.where(buy_packs > 0, item_lead_days, 0), item_brought_no, load_place)
    return np.where(load_place > 0, lead, 0)


@LOADS.column("First needed", fmt=SHORT_DATE)
def load_day(load_place: Q, supplier_needed: Q) -> Q:
    needed = nth(supplier_needed, np.maximum(load_place, 1))
    return np.where(load_place > 0, NEVER - np.ceil(needed), 0)


@LOADS.column("All there by", fmt=SHORT_DATE)
def load_whole_day(load_place: Q, load_day: Q, load_order_day: Q, load_lead_days: Q) -> Q:
    whole = np.maximum(load_day, load_order_day + load_lead_days)
    return np.where(load_place > 0, whole, 0)


@LOADS.column("Weight", "lb", fmt="#,##0")
def load_lb(load_place: Q, item_brought_no: Q, buy_packs: Q, item_pack: Q, item_lb: Q) -> Q:
    brought = sum_if(buy_packs * item_pack * item_lb, item_brought_no, load_place)
    return np.where(load_place > 0, brought, 0)


@LOADS.column("Volume", "yd3", fmt="0.0")
def load_yd3(load_place: Q, item_brought_no: Q, item_unit: Q, buy_packs: Q, item_pack: Q) -> Q:
    sold = np.where(item_unit == "{yd3}", buy_packs * item_pack, 0)
    return np.where(load_place > 0, sum_if(sold, item_brought_no, load_place), 0)


@LOADS.column("Trips of your vehicle", "trips", fmt="0")
def load_trips(load_lb: Q, vehicle_lb: Q) -> Q:
    return np.ceil(load_lb / vehicle_lb)


@LOADS.column("Material", "$", fmt="#,##0.00")
def load_material(load_place: Q, supplier_cost: Q, chosen_no: Q) -> Q:
    cost = pick(supplier_cost, chosen_no, np.maximum(load_place, 1))
    return np.where(load_place > 0, cost, 0)


@LOADS.column("Trips", fmt="0")
def load_count(load_place: Q, supplier_trips: Q, chosen_no: Q) -> Q:
    trips = pick(supplier_trips, chosen_no, np.maximum(load_place, 1))
    return np.where(load_place > 0, trips, 0)


@LOADS.column("Delivery", "$", fmt="#,##0.00")
def load_fee(load_place: Q, supplier_fee: Q, chosen_no: Q) -> Q:
    fee = pick(supplier_fee, chosen_no, np.maximum(load_place, 1))
    return np.where(load_place > 0, fee, 0)


@LOADS.column("Place", fmt="0")
def load_place(load_no: Q, supplier_needed: Q) -> Q:
    needed = nth_largest(supplier_needed, load_no)
    return np.where(needed > 0, position(needed, supplier_needed), 0)
