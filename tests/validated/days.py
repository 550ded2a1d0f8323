"""Days: networks of tasks through the rows of the calendar."""

from __future__ import annotations

import datetime as dt
from functools import cache

from networks import Network, task

from validated.case import DAYS, Case, Group


@cache
def weekend() -> Network:
    tasks = (
        task("dig"),
        task("set", "dig", trade="timber"),
        task("frame", "set", trade="carpentry"),
    )
    return Network(tasks, {"dig": 12, "set": 4, "frame": 10}, dig_at=3)


@cache
def cure() -> Network:
    tasks = (
        task("dig"),
        task("beams", "cast", trade="carpentry"),
        task("drain", "dig"),
        task("cast", "dig", trade="concrete", wait="cure"),
    )
    return Network(tasks, {"dig": 8, "cast": 8, "drain": 12, "beams": 4}, cure=7)


@cache
def waits() -> Network:
    tasks = (
        task("forms", trade="concrete", hold="seen"),
        task("pour", "forms", trade="concrete"),
        task("frame", "pour", trade="carpentry"),
    )
    hours = {"forms": 4, "pour": 4, "frame": 16}
    return Network(tasks, hours, holidays=[dt.date(2026, 5, 8)], seen=1, lumber_at=4)


NETWORKS = (
    (
        "A chain over a weekend",
        "Lines are marked 3 working days after Monday, 4 May 2026; 8 h a day, one person",
        weekend,
        {"dig": 4.5, "set": 5.0, "frame": 6.25},
    ),
    (
        "Work that fills the days of cure",
        "Dug on Monday, cast on Tuesday, 7 days of cure; the drain needs the hole alone",
        cure,
        {"dig": 1, "cast": 2, "drain": 3.5, "beams": 6.5},
    ),
    (
        "An inspection, a lead time and a day off",
        "A day held after the forms; lumber comes 4 working days on, and Friday is off",
        waits,
        {"forms": 1.5, "pour": 2.0, "frame": 6.0},
    ),
)

GROUPS = tuple(
    Group(
        DAYS,
        title,
        source,
        "worked by hand",
        "working days",
        (-1e-9, 1e-9),
        tuple(
            Case(f"{key} is done", done, lambda made=made, key=key: made().done(key))
            for key, done in wanted.items()
        ),
    )
    for title, source, made, wanted in NETWORKS
)
