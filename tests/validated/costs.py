"""Costs and hours of work, through the rows of the workbook."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, partial
from typing import Any

from jobs import at, changed, demo, on_flat, one_option, solved

from estimator.model.kinds import FRAMED
from validated.case import COSTS, Case, Group


@cache
def wheeled() -> Mapping[str, Any]:
    """Stone of the known job wheeled 150 ft, none of it tipped into place."""
    return solved(changed(demo(), tip_distance_ft=150, stone_inside_share=0))


def barrowed(key: str) -> float:
    return at(wheeled(), key)


@cache
def paid() -> Mapping[str, Any]:
    shares = {"tax_share": 0.08, "contingency_share": 0.1, "overhead_share": 0, "profit_share": 0}
    return solved(on_flat(one_option(FRAMED, changed(demo(), wage_per_h=30, **shares))))


def tax_share() -> float:
    values = paid()
    taxed = at(values, "material_cost") + at(values, "taxed_hire")
    return at(values, "tax_cost") / taxed


def wage() -> float:
    values = paid()
    return at(values, "labour_cost") / at(values, "work_hours")


GROUPS = (
    Group(
        COSTS,
        "Stone by barrow",
        "2.5 yd3 in barrows of 3.53 ft3, 3 min to fill and tip, 300 ft of way at 150 ft/min",
        "worked by hand",
        "min, trips, h",
        (-1e-9, 1e-9),
        (
            Case("one trip, min", 5, partial(barrowed, "stone_trip_min")),
            Case("trips", 20, partial(barrowed, "stone_trips")),
            Case("hours", 100 / 60, partial(barrowed, "haul_hours")),
        ),
        places=4,
    ),
    Group(
        COSTS,
        "Tax and labour of a whole job",
        "8 percent on what is taxed, 30 an hour",
        "worked by hand",
        "share, money an hour",
        (-1e-4, 1e-4),
        (Case("tax over what is taxed", 0.08, tax_share), Case("labour an hour", 30, wage)),
        places=4,
        note="Cents are rounded.",
    ),
)
