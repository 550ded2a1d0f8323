"""Of the sheet Cost: the hours and prices of a finished job beside those it was reckoned with."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from estimator.appearance import Appearance
from estimator.contributions import GatherColumn
from estimator.inputs import Field
from estimator.model.adds import TRADES, Hours
from estimator.rows import Chapter
from estimator.vocabulary import Q, choose, one_of, pick, rounded

ACTUALS = Chapter()
WORKED: Final = "trade_hours_worked"
RECKONED: Final = "trade_hours"
OF_EACH: Final = "trade_hours_of"
"""Hours of a trade: worked, reckoned for the chosen option, reckoned for each."""
AXIS: Final = "trade"
CHOSEN_NO: Final = "chosen_no"
PACKS: Final = "buy_packs"
"""Packs that the chosen option buys of each item."""
RATES_SHEET: Final = "Factors"
RATES_ELSEWHERE: Final = ("yard_trip_h",)
"""Where the rates stand that hours rest on."""

ACTUALS.section("The finished job, of the chosen option: more or less than reckoned")


@ACTUALS.row("Hours, of the trades typed below", "h", fmt="+0.0;-0.0;0.0", scope="job")
def hours_more(trade_hours_more: Q) -> Q:
    return np.sum(trade_hours_more)


@ACTUALS.row("Labour at the wage", "$", fmt="+#,##0.00;-#,##0.00;0.00", scope="job")
def labour_more(hours_more: Q, wage_per_h: Q) -> Q:
    return rounded(hours_more * wage_per_h, 2)


@ACTUALS.row(
    "What was bought",
    "$",
    fmt="+#,##0.00;-#,##0.00;0.00",
    scope="job",
    note="Whole packs at the price really paid, on Prices, less the price in use; before tax.",
)
def bought_more(item_really_paid: Q, item_paid: Q, buy_packs: Q) -> Q:
    each = np.where(item_really_paid > 0, item_really_paid - item_paid, 0)
    return rounded(np.sum(each * buy_packs), 2)


@ACTUALS.row("In all, before tax", "$", fmt="+#,##0.00;-#,##0.00;0.00", scope="job")
def job_more(labour_more: Q, bought_more: Q) -> Q:
    return rounded(labour_more + bought_more, 2)


@ACTUALS.row(
    "Prices really paid for what it does not buy",
    "items",
    fmt="0",
    scope="job",
    note="They count for nothing, and the next job does not take them.",
)
def paid_unbought(item_really_paid: Q, buy_packs: Q) -> Q:
    return np.sum(np.where((item_really_paid > 0) & (buy_packs <= 0), 1, 0))


def _tasks_read(tasks: Sequence[Hours]) -> tuple[str, ...]:
    return ("trade_name", *(task.line("task") for task in tasks))


def _by_trade(tasks: Sequence[Hours]) -> Callable[..., Q]:
    """Column of the hours of each trade."""

    def trade_hours_of(trade_name: Q, **hours: Q) -> Q:
        cases: dict[str, Q] = {
            trade: sum(hours[task.line("task")] for task in tasks if task.trade == trade)
            for trade in TRADES
        }
        return choose(trade_name, cases)

    return trade_hours_of


TABLE = ACTUALS.table(
    AXIS,
    "Hours by trade",
    len(TRADES),
    "Type the hours that were worked; estimator next --take-actuals makes rates of them.",
    index=True,
    shows=Appearance(
        standing=("trade_name", RECKONED, OF_EACH),
        aside=(f"{AXIS}_no", "trade_hours_more"),
    ),
)


@TABLE.column("Trade", kind="text")
def trade_name(trade_no: Q) -> Q:
    return one_of(TRADES, trade_no - 1)


@TABLE.column("Reckoned", "h", fmt="0.0", note="Of the chosen option.")
def trade_hours(trade_hours_of: Q, chosen_no: Q) -> Q:
    return pick(trade_hours_of, chosen_no)


TABLE.typed(
    Field(
        WORKED,
        "Really worked",
        "h",
        default=None,
        low=0.01,
        high=10000,
        needed=False,
        when_blank="Blank: as reckoned.",
        fmt="0.0",
    )
)


@TABLE.column("More", "h", fmt="+0.0;-0.0;0.0")
def trade_hours_more(trade_hours_worked: Q, trade_hours: Q) -> Q:
    return np.where(trade_hours_worked > 0, trade_hours_worked - trade_hours, 0)


TABLE.gathers(
    GatherColumn(
        Hours,
        OF_EACH,
        "Of each option",
        _by_trade,
        unit="h",
        fmt="0.0",
        by_option=True,
        reads=_tasks_read,
    )
)
