"""Of the sheet Cost: the cost of each option by group, and where the cheapest saves.

A group is a category of the price book, or the labour of a trade; all before tax and contingency.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from estimator.model.adds import TRADES
from estimator.model.prices import CATEGORIES
from estimator.rows import Chapter
from estimator.vocabulary import Q, nth, nth_largest, one_of, pick, position, rounded, sum_if

GROUPS = Chapter()
LARGEST: Final = 3
"""Differences that are told one by one."""
NAMES: Final = (*CATEGORIES, *(f"labour: {trade}" for trade in TRADES))
TIE: Final = 0.000001
"""Amount by which a group comes before the next one of the same difference."""

TABLE = GROUPS.table(
    "group",
    "Cost by group",
    len(NAMES),
    "Before tax, contingency, overhead and profit.",
    index=True,
)


@TABLE.column("Group", kind="text")
def group_name(group_no: Q) -> Q:
    return one_of(NAMES, group_no - 1)


@TABLE.column("Category", kind="text")
def group_category(group_no: Q) -> Q:
    return _first(CATEGORIES, group_no)


@TABLE.column("Trade", kind="text")
def group_trade(group_no: Q) -> Q:
    return _first(TRADES, group_no - len(CATEGORIES))


def _first(texts: Sequence[str], number: Q) -> Q:
    """The text of a number from 1; empty where there is none."""
    inside = (number >= 1) & (number <= len(texts))
    return np.where(inside, one_of(texts, number - 1), "")


@TABLE.column("Cost", "$", fmt="#,##0.00", by_option=True)
def group_cost(
    group_category: Q,
    group_trade: Q,
    item_category: Q,
    item_cost: Q,
    supplier_fee: Q,
    trade_name: Q,
    trade_hours_of: Q,
    wage_per_h: Q,
) -> Q:
    labour = rounded(sum_if(trade_hours_of, trade_name, group_trade) * wage_per_h, 2)
    items = sum_if(item_cost, item_category, group_category)
    return items + labour + np.where(group_category == "delivery", np.sum(supplier_fee), 0)


@TABLE.column(
    "The next cheapest pays more",
    "$",
    fmt="#,##0.00",
    note="Of the options that pass; less than 0 where the cheapest pays more.",
)
def group_saved(group_cost: Q, cheapest_no: Q, next_no: Q) -> Q:
    saved = pick(group_cost, next_no) - pick(group_cost, cheapest_no)
    return np.where(next_no > 0, rounded(saved, 2), 0)


@TABLE.column("Size, no two alike", "$", fmt="#,##0.00")
def group_size(group_saved: Q, group_no: Q) -> Q:
    return np.abs(group_saved) + TIE * (len(NAMES) + 1 - group_no)


@TABLE.column("Place by size", fmt="0")
def group_ranked(group_size: Q, group_no: Q) -> Q:
    return position(nth_largest(group_size, group_no), group_size)


GROUPS.section("Where the cheapest saves")


@GROUPS.row("The next cheapest pays more in all", "$", fmt="#,##0.00", scope="job")
def next_over(total_cost: Q, cheapest_no: Q, next_no: Q) -> Q:
    more = pick(total_cost, next_no) - pick(total_cost, cheapest_no)
    return np.where(next_no > 0, rounded(more, 2), 0)


@GROUPS.row(
    "Of it not in the largest differences",
    "$",
    fmt="#,##0",
    scope="job",
    note="Of whole amounts, so that what Start says adds up.",
)
def saved_rest(next_over: Q, group_ranked: Q, group_saved: Q) -> Q:
    rest: Q = rounded(next_over, 0)
    for place in range(1, LARGEST + 1):
        saved = nth(group_saved, nth(group_ranked, place))
        # As Start says it: halves go up whether it is less or more.
        rest = rest - np.where(saved > 0, 1, -1) * rounded(np.abs(saved), 0)
    return rest
