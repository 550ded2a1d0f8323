"""Sheets: span ratings, layouts and screws."""

from __future__ import annotations

from functools import partial

from estimator.reference import value
from estimator.solve.floor_sheets import (
    TONGUE,
    SheetRules,
    SheetStock,
    fastener_count,
    plan_sheets,
)
from estimator.solve.joist_layout import joist_layout
from validated.case import SHEETS, Case, Group

NOMINAL = SheetRules(nominal=True)
TONGUED = SheetStock(net_width_in=47.5, edges=TONGUE)
LAYOUTS = (
    ("square edges, nominal rips", SheetStock(), NOMINAL, 4),
    ("two rips and a kerf don't come from one sheet", SheetStock(), SheetRules(gap_in=0), 5),
    ("eighth-inch gaps give the kerf its room", SheetStock(), SheetRules(), 4),
    ("tongue and groove: one rip of a sheet keeps a groove", TONGUED, SheetRules(), 5),
)
RATINGS = {
    "3/8": (24, 0),
    "7/16": (24, 16),
    "15/32": (32, 16),
    "19/32": (40, 20),
    "23/32": (48, 24),
}


def lines(length_in: float) -> tuple[float, ...]:
    return joist_layout(length_in, 16).sheet_lines_in


def sheets(stock: SheetStock, rules: SheetRules) -> float:
    return plan_sheets(144, 120, lines(144), stock, rules).sheets


def screws(*, rims: bool) -> float:
    return fastener_count(plan_sheets(96, 48, lines(96), rules=NOMINAL), lines(96), rims=rims)


GROUPS = (
    Group(
        SHEETS,
        "Sheets of a floor of 12 x 10 ft on joists at 16 in",
        "Counted on paper",
        "worked by hand",
        "sheets",
        (0, 0),
        tuple(
            Case(what, count, partial(sheets, stock, rules))
            for what, stock, rules, count in LAYOUTS
        ),
        places=0,
    ),
    Group(
        SHEETS,
        "Screws of one sheet on seven joists",
        "6 in at edges, 12 in between: two ends of 9, five joists of 5, six bays of two a side",
        "worked by hand",
        "screws",
        (0, 0),
        (
            Case("without rims", 43, partial(screws, rims=False)),
            Case("with rims", 67, partial(screws, rims=True)),
        ),
        places=0,
    ),
    Group(
        SHEETS,
        "Span ratings of sheathing",
        "PS 1 / PS 2, roof and floor spans of the label",
        "from memory",
        "in",
        (0, 0),
        tuple(
            Case(
                f"{category}, {use}",
                printed[i],
                partial(
                    value, "panels", kind="sheathing", category=category, property=f"{use}_span_in"
                ),
            )
            for category, printed in RATINGS.items()
            for i, use in enumerate(("roof", "floor"))
        ),
        looked_up=True,
        places=0,
    ),
)
