"""Of the sheet Cost: hours of work and days of waiting, of all assemblies."""

from __future__ import annotations

import numpy as np

from estimator.contributions import after_one_another
from estimator.model.adds import Hours
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
    order=after_one_another,
)
def task_hours(quantity: Q) -> Q:
    return quantity


@HOURS.gathers(
    "Days of waiting",
    Hours,
    stack="wait_days",
    suffix="wait_days",
    word="days to wait after it",
    unit="days",
    fmt="0",
    given="wait",
)
def wait_days(wait: Q) -> Q:
    return wait


@HOURS.gathers(
    "Trade of each task",
    Hours,
    stack="task_trade",
    suffix="trade",
    word="trade",
    says="trade",
    kind="text",
    order=after_one_another,
)
def task_trade(trade: str) -> str:
    return trade


HOURS.section("Work")


@HOURS.row("Hours of work", "h", fmt="0.0")
def work_hours(task_hours: Q) -> Q:
    return np.sum(task_hours)


@HOURS.row("Days for the crew", "days", fmt="0.0")
def work_days(work_hours: Q, crew_size: Q, day_hours: Q) -> Q:
    return work_hours / (crew_size * day_hours)


@HOURS.row(
    "Days from the call to framing",
    "days",
    fmt="0",
    note="Locating notice, work, and cure of concrete where there is any.",
)
def elapsed_days(notice_days: Q, work_days: Q, wait_days: Q) -> Q:
    return notice_days + np.ceil(work_days) + np.sum(wait_days)
