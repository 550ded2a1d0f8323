"""Networks of tasks worked out by the rows of the calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from estimator.inputs import DATE_ORIGIN
from estimator.inputs import day as number
from estimator.model.adds import Hours
from estimator.model.cost.calendar import as_worked, cured_at, done_reads, task_day, task_done
from estimator.model.job import HOLIDAYS, WORK_DAYS, holiday_from, holiday_off
from estimator.model.working_days import MONDAY, SATURDAY, number_of
from estimator.values import Values, as_values

MONDAY_4_MAY = dt.date(2026, 5, 4)
NONE = as_values(np.full((1, HOLIDAYS), 1e6))


def row(*numbers: float) -> Values:
    """A column of a table."""
    return as_values(np.array([numbers], dtype=float))


def off(days: Sequence[dt.date], week: str) -> tuple[Values, Values]:
    """Both columns of the days off on Job."""
    dates = row(*(number(day) for day in days), *[0.0] * (HOLIDAYS - len(days)))
    first, each = week_of(week)
    taken = holiday_off(dates, row(*range(1, HOLIDAYS + 1)), first, each)
    return taken, holiday_from(taken, row(*range(1, HOLIDAYS + 1)))


def week_of(week: str) -> tuple[int, int]:
    return SATURDAY if week == "Saturday and Sunday" else MONDAY, WORK_DAYS[week]


class Network:
    """Tasks of one option worked out by the rows of the calendar, called on Monday, 4 May 2026."""

    def __init__(
        self,
        tasks: Sequence[Hours],
        hours: Mapping[str, float],
        *,
        dig_at: float = 0,
        holidays: Sequence[dt.date] = (),
        day_hours: float = 8,
        **waits: float,
    ) -> None:
        taken, put_off = off(holidays, "Monday to Friday")
        call = number_of(number(MONDAY_4_MAY), MONDAY, 5, taken)
        rows = ("soil_at", "stone_at", "concrete_at", "lumber_at")
        known: dict[str, Any] = {name: waits.get(name, dig_at) for name in rows}
        known |= {f"{key}_task": each for key, each in hours.items()} | waits
        self.known = known
        self.order = as_worked(tasks)
        for task in self.order:
            reads = done_reads(self.order, task)
            done = task_done(
                known[str(reads["hours"])],
                tuple(known[key] for key in reads["earlier"]),
                tuple(known[key] for key in reads["waits"]),
                tuple(known[key] for key in reads["holds"]),
                1,
                day_hours,
            )
            known[task.line("done_at")] = done
            on = task_day(hours[task.key], as_values(done), call, MONDAY, 5, put_off)
            known[task.line("day")] = on
            if task.wait:
                cured = cured_at(on, known[task.wait], call, MONDAY, 5, taken)
                known[task.line("cured_at")] = cured

    def done(self, key: str) -> float:
        """Working days from the call until a task is done."""
        return float(np.squeeze(self.known[f"{key}_done_at"]))

    def day(self, key: str) -> str:
        """Weekday and date on which it is done."""
        serial = float(np.squeeze(self.known[f"{key}_day"]))
        return (DATE_ORIGIN + dt.timedelta(days=serial)).strftime("%a %d %b")


def task(key: str, *after: str, trade: str = "earthwork", wait: str = "", hold: str = "") -> Hours:
    return Hours(
        key=key,
        label=key.capitalize(),
        quantity=f"{key}_hours",
        trade=trade,
        after=after,
        wait=wait,
        hold=hold,
    )
