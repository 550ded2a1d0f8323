"""Hours and prices of a finished job as the rates and prices of the next one.

The hours worked of a trade, over those reckoned, scale the rates on Factors that its tasks rest
on: which these are is found by trying each of them on the job. A rate that several trades share is
scaled by the mean of theirs, weighed by the hours that rest on it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from estimator.errors import InputError
from estimator.evaluation import evaluate
from estimator.inputs import Cell
from estimator.model.adds import TRADES
from estimator.model.cost.actuals import (
    CHOSEN_NO,
    OF_EACH,
    PACKS,
    RATES_ELSEWHERE,
    RATES_SHEET,
    WORKED,
)
from estimator.model.prices import FROM_OTHER, IN_USE, NAME, OTHER_PRICE, REALLY_PAID
from estimator.rows import Quantity
from estimator.typed_job import read_inputs
from estimator.workbook.refill.kept_answers import from_cells
from estimator.workbook.refill.price_list import PriceBook, Typed, priced

_TIMES: Final = ("h", "min")
_TRIED: Final = 1.01
_ROUNDS: Final = 30
_NEAR: Final = 0.001
"""Share of the hours to which rates are to give what was worked."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What the next job takes, by cell, and a sentence on each trade and item."""

    typed: Typed
    notes: tuple[str, ...]


def take_actuals(prices: PriceBook, day: dt.date) -> Taken:
    """The rates and prices that the hours and prices typed into a finished job make.

    Args:
        prices: The finished job's workbook, refilled.
        day: The day that the prices really paid are of.

    Raises:
        InputError: If an input can't be used, or none of these is typed.
    """
    finished = _Finished(prices)
    rates, said = finished.rates()
    paid, told = finished.paid(day)
    if not said and not told:
        raise InputError(
            "no hours and no prices of a finished job are typed.",
            where=prices.port.label,
            cure="Type the hours really worked on Cost and what was really paid on Prices.",
        )
    return Taken({**rates, **paid}, (*said, *told))


Rates = Mapping[Cell, float]


class _Finished:
    """The finished job, whose hours are worked out again with other rates."""

    def __init__(self, prices: PriceBook) -> None:
        self.prices = prices
        model = prices.model
        self.inputs = read_inputs(model, prices.book.typed)
        self.model = from_cells(prices.port, model, prices.book, tuple(model.solvers))
        self.values = evaluate(self.model, self.inputs)
        self.solved = {k: self.values[k] for k, q in model.quantities.items() if q.role == "solved"}
        self.chosen = int(np.asarray(self.values[CHOSEN_NO]).item()) - 1
        self.worked = np.asarray(self.inputs[WORKED], float)[0]
        self.reckoned = self._hours(self.values)

    def _hours(self, values: Mapping[str, Any]) -> Any:
        """Hours by trade of the option chosen, scenarios leading."""
        return np.nan_to_num(np.asarray(values[OF_EACH], float)[..., self.chosen, :])

    def _entries(self, key: str) -> Any:
        """What the cells of an input of the whole job, or of a table, hold; 0 for a blank."""
        return np.nan_to_num(np.asarray(self.inputs[key], float)).ravel()

    def hours_with(self, scenarios: Sequence[Rates]) -> Any:
        """Hours by trade, a line for each set of rates."""
        changed: dict[str, Any] = dict(self.inputs)
        for key in {key for rates in scenarios for key, _ in rates}:
            column = np.tile(self._entries(key), (len(scenarios), 1, 1))
            for number, rates in enumerate(scenarios):
                for (other, row), rate in rates.items():
                    if other == key:
                        column[number, 0, row] = rate
            changed[key] = column
        return self._hours(evaluate(self.model, changed, solved=self.solved))

    def rates(self) -> tuple[Typed, list[str]]:
        """Rates with which this job takes the hours that were worked, and what is to be said."""
        trades = [t for t in range(len(TRADES)) if self.worked[t] > 0]
        said = [
            f"{TRADES[t]}: {self.worked[t]:.1f} h were worked and none were reckoned; no rate"
            " follows."
            for t in trades
            if self.reckoned[t] <= 0
        ]
        trades = [t for t in trades if self.reckoned[t] > 0]
        rests = self._rests() if trades else {}
        factors = dict.fromkeys(rests, 1.0)
        hours = self.reckoned
        for _ in range(_ROUNDS):
            wanted = np.ones(len(TRADES))
            wanted[trades] = self.worked[trades] / hours[trades]
            if np.all(np.abs(wanted - 1) < _NEAR / 10):
                break
            for cell, on in rests.items():
                factors[cell] *= float(np.sum(on * wanted) / np.sum(on))
            hours = self.hours_with([self._scaled(factors)])[0]
        for t in trades:
            said.append(self._told(t, float(hours[t]), sum(on[t] > 0 for on in rests.values())))
        scaled = self._scaled(factors)
        return {c: r for c, r in scaled.items() if factors[c] != 1.0}, said

    def _told(self, trade: int, hours: float, count: int) -> str:
        worked, reckoned = self.worked[trade], self.reckoned[trade]
        said = f"{TRADES[trade]}: {worked:.1f} h worked, {reckoned:.1f} h reckoned"
        if abs(hours / worked - 1) < _NEAR:
            return f"{said}; rates that follow: {count}."
        return f"{said}: its rates can't give that; with those taken it would be {hours:.1f} h."

    def _rests(self) -> dict[Cell, Any]:
        """By cell of a rate, the hours by trade that rest on it."""
        tried = {
            (item.key, row): float(rate)
            for item in self.model.quantities.values()
            if _is_rate(item)
            for row, rate in enumerate(self._entries(item.key))
            if rate > 0
        }
        hours = self.hours_with([{cell: rate * _TRIED} for cell, rate in tried.items()])
        changes = np.abs(hours - self.reckoned)
        return {cell: on for cell, on in zip(tried, changes, strict=True) if on.sum() > 1e-9}

    def _scaled(self, factors: Rates) -> dict[Cell, float]:
        """Rates so many times as slow, within what their cells take."""
        found = {}
        for (key, row), factor in factors.items():
            item = self.model.quantities[key]
            assert item.field is not None
            rate = float(self._entries(key)[row])
            new = rate * factor if _takes_time(item.unit) else rate / factor
            found[key, row] = min(max(new, item.field.low), item.field.high)
        return found

    def paid(self, day: dt.date) -> tuple[Typed, list[str]]:
        """Prices really paid of what was bought, with their day, and what is to be said."""
        typed: Typed = {}
        said = []
        paid = np.asarray(self.inputs[REALLY_PAID], float)[0]
        packs = np.nan_to_num(np.asarray(self.values[PACKS], float)[0])
        other = np.asarray(self.values[FROM_OTHER])[0]
        for row in (int(r) for r in np.nonzero(paid > 0)[0]):
            name, price = self.prices.word(NAME, row), float(paid[row])
            if packs[row] <= 0:
                said.append(f"{name}: not taken, the chosen option does not buy it.")
                continue
            if other[row] == 1:
                typed[OTHER_PRICE, row] = price
            else:
                typed |= priced(self.prices, row, price, "", day)
            was = float(np.asarray(self.values[IN_USE], float)[0][row])
            said.append(f"{name}: {was:g} -> {price:g}")
        return typed, said


def _is_rate(item: Quantity) -> bool:
    there = item.sheet == RATES_SHEET or item.key in RATES_ELSEWHERE
    return there and item.role == "input" and _of_time(item.unit)


def _of_time(unit: str) -> bool:
    return any(part in _TIMES for part in _parts(unit))


def _takes_time(unit: str) -> bool:
    """Whether more of a rate is more hours (h/m2, min) and not fewer (m3/h)."""
    return next(iter(_parts(unit))) in _TIMES


def _parts(unit: str) -> Iterator[str]:
    over, _, under = unit.partition("/")
    yield over.split(" ")[0]
    yield under.strip()
