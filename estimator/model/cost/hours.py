"""Of the sheet Cost: hours of work, of all assemblies."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import Hours
from estimator.model.cost.calendar import as_worked
from estimator.rows import Chapter
from estimator.vocabulary import Q

HOURS = Chapter()


@HOURS.gathers(
    "Hours by task, each after what must come before",
    Hours,
    stack="task_hours",
    suffix="task",
    unit="h",
    fmt="0.0",
    order=as_worked,
)
def task_hours(quantity: Q) -> Q:
    return quantity


HOURS.section("Work")


@HOURS.row("Hours of work", "h", fmt="0.0")
def work_hours(task_hours: Q) -> Q:
    return np.sum(task_hours)


@HOURS.row("Days for the crew", "days", fmt="0.0")
def work_days(work_hours: Q, crew_size: Q, day_hours: Q) -> Q:
    return work_hours / (crew_size * day_hours)
