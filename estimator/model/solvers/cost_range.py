"""Solver of the range of cost, hours and quantities, and of what drives it.

What is uncertain is drawn from triangular distributions about the estimate, independent of each
other; what rises and falls together has a factor in common: prices of a group of categories besides
each item's own, hours of all trades besides each trade's own. Draws are the same for every option,
and for every machine. Quantities are worked out for a few hundred grounds and drawn from these.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import Declared, Model, Solver
from estimator.model.cost.outlook import DRIVERS, LEVELS, SHARES, SOLVER
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.range_rows import Lines, RangeRows, lines_of
from estimator.model.solvers.reads import Reads, zeros
from estimator.model.solvers.scenarios import SCENARIO_READS, Cases, Outcome, Scenarios
from estimator.model.solvers.trial import Rows, rows_of
from estimator.model.spreads import CREW, GROUND, HOURS_OF, PRICES_TOGETHER, SURVEY, THINGS
from estimator.rows import Sheet
from estimator.solve.chance import chances_of_least, stratified, triangular
from estimator.vocabulary import rounded

Floats = NDArray[np.float64]
DRAWS, GROUNDS = 10_000, 200
SEED = 20260401
ENOUGH = 0.8
"""Share of the draws that a contingency is to be enough for."""
_DECIDES = ("option_used", "option_passes", "chosen_no", "cheapest_no", "next_no", "total_cost")
_SPREADS = ("spread_low", "spread_high", "item_price", "item_low", "item_high")
_PRICES, _HOURS = tuple(PRICES_TOGETHER), (*HOURS_OF, CREW)


def cost_range(sheets: Sequence[Sheet]) -> Solver:
    """The solver of the range.

    Args:
        sheets: With what their assemblies contribute.
    """
    lines = lines_of(sheets)
    rows = RangeRows(rows_of(sheets), lines, OwnUnits())
    reads = {*rows.reads, *SCENARIO_READS, *_DECIDES, *_SPREADS, "before_contingency"}
    return Solver(
        SOLVER,
        "range of cost",
        tuple(sorted(reads)),
        partial(solve_range, lines),
        live=False,  # no cell can name all that it reads
        worst=1,
        by_model=True,
        by_typed_over=True,
    )


@lru_cache(maxsize=4)
def _rows_of(model: Model, lines: Lines) -> RangeRows:
    return RangeRows(Rows(model.quantities, model.stacks), lines, OwnUnits(model))


@dataclass(frozen=True, slots=True)
class Spreads:
    """How far off things may be, as factors about 1.

    Args:
        low, high: Of the things of the table, in the order of THINGS.
        item_low, item_high: Of the price of each item by itself.
    """

    low: Floats
    high: Floats
    item_low: Floats
    item_high: Floats

    def of(self, things: Sequence[str]) -> tuple[Floats, Floats]:
        """Low and high of some things."""
        at = [THINGS.index(thing) for thing in things]
        return self.low[at], self.high[at]


def spreads_of(q: Reads) -> Spreads:
    """How far off things may be; a price without a low or a high is not off that way.

    A low above the price, or a high below it, was said of another price: neither is believed.
    """
    price = q.column("item_price").astype(float)
    low, high = (np.nan_to_num(q.column(key).astype(float)) for key in ("item_low", "item_high"))
    of_it = (low <= price) & ((price <= high) | (high <= 0))
    known = (price > 0) & of_it
    safe = np.where(known, price, 1.0)
    return Spreads(
        np.minimum(q.column("spread_low"), 1.0),
        np.maximum(q.column("spread_high"), 1.0),
        np.where(known & (low > 0), np.minimum(low / safe, 1.0), 1.0),
        np.where(known & (high > 0), np.maximum(high / safe, 1.0), 1.0),
    )


def solve_range(lines: Lines, values: Declared, model: Model) -> Mapping[str, Any]:
    """Low, middle and high of each option, its chance to be cheapest, and what drives the cost.

    Args:
        lines: What assemblies add.
        values: What the model knows, in its own units.
        model: Whose rows are tried.
    """
    units = OwnUnits(model)
    q = Reads({key: values[units.name(key)] for key in (*_DECIDES, *_SPREADS)})
    options = list(q.options())
    if not options:
        return units.in_own(_answer([], None, None))
    rows = _rows_of(model, lines)
    scenarios = Scenarios(rows, model, values, options, surveys=GROUNDS, seed=SEED + 3)
    spreads = spreads_of(q)
    cases = drawn(spreads, scenarios.costs, scenarios.surveys, DRAWS, GROUNDS, SEED)
    outcome = scenarios.outcome(cases)
    answer = _answer(options, outcome, values) | _drivers(q, scenarios, spreads, options)
    expected = outcome.expected
    passes = np.array([q.number("option_passes", option) == 1 for option in options])
    chance = chances_of_least(np.where(passes, expected, np.inf))
    for at, option in enumerate(options):
        answer["total_covers"][option] = np.mean(expected[:, at] <= q.number("total_cost", option))
        answer["chance_cheapest"][option] = chance[at]
    return units.in_own(answer)


def drawn(
    spreads: Spreads, costs: Floats, surveys: int, draws: int, grounds: int, seed: int
) -> Cases:
    """Cases as they may come.

    Args:
        spreads: How far off things may be.
        costs: What each option pays for each item, (options, items): the others are not drawn.
        surveys: How many there are; 0 where readings are certain.
        draws, grounds: How many; each ground comes as often as any other, and has a survey of its
            own where there are so many.
        seed: Of all draws.
    """
    u = stratified(draws, len(_PRICES) + len(_HOURS), seed)
    together = triangular(u[:, : len(_PRICES)], *spreads.of(_PRICES))
    hours = triangular(u[:, len(_PRICES) :], *spreads.of(_HOURS))
    own = np.ones((draws, costs.shape[1]))
    off = np.flatnonzero(_off(spreads, costs))
    chance = np.random.default_rng(seed + 1).random((draws, len(off)))
    own[:, off] = triangular(chance, spreads.item_low[off], spreads.item_high[off])
    ground = triangular(stratified(grounds, len(GROUND), seed + 2), *spreads.of(GROUND))
    return Cases(
        ground,
        np.arange(grounds) % surveys + 1 if surveys else np.zeros(grounds, dtype=np.intp),
        np.arange(draws) % grounds,
        together,
        own,
        hours[:, :-1] * hours[:, -1:],
    )


def _off(spreads: Spreads, costs: Floats) -> NDArray[np.bool_]:
    """Items that some option pays for and whose own price may be another."""
    return np.asarray(np.any(costs > 0, axis=0) & (spreads.item_low < spreads.item_high))


def _answer(
    options: Sequence[int], outcome: Outcome | None, values: Declared | None
) -> dict[str, Any]:
    """What is told of each option; nothing of those that are not in use."""
    totals = ("total_low", "total_middle", "total_high")
    shares = ("total_covers", "contingency_needed", "chance_cheapest")
    answer: dict[str, Any] = {key: zeros() for key in (*totals, *shares)}
    levels = ("level_hours", "level_stone_yd3", "level_soil_yd3")
    answer |= {key: zeros(len(LEVELS)) for key in levels}
    for key in ("drive", "gap"):
        answer[f"{key}_thing"] = np.full((1, DRIVERS), "")
        answer |= {f"{key}_{end}": np.full((1, DRIVERS), np.nan) for end in ("low", "high")}
    if outcome is None or values is None:
        return answer
    estimate = np.asarray(values["before_contingency"])[:, 0]
    for at, option in enumerate(options):
        for key, money in zip(totals, np.quantile(outcome.expected[:, at], SHARES), strict=True):
            answer[key][option] = rounded(money, 2)
        for key, found in zip(levels, (outcome.hours, outcome.stone, outcome.soil), strict=True):
            answer[key][option] = np.quantile(found[:, at], SHARES)
        if estimate[option] > 0:
            enough = np.quantile(outcome.expected[:, at], ENOUGH) / estimate[option] - 1
            answer["contingency_needed"][option] = max(enough, 0.0)
    return answer


def _drivers(
    q: Reads, scenarios: Scenarios, spreads: Spreads, options: Sequence[int]
) -> dict[str, Any]:
    """What moves the cost of the chosen option most, and what the next costs over the cheapest."""
    off = np.flatnonzero(_off(spreads, scenarios.costs))
    things = [*THINGS, *(f"price: {scenarios.names[n]}" for n in off)]
    ends = 2 * len(things)
    cases = _one_by_one(spreads, off, scenarios.costs.shape[1], scenarios.surveys)
    expected = scenarios.outcome(cases).expected
    alone = expected[1 : 1 + ends].reshape(len(things), 2, -1) - expected[0]
    surveys = expected[1 + ends :] - expected[0]
    chosen, cheapest, following = (
        options.index(int(q.number(key)) - 1) if int(q.number(key)) - 1 in options else None
        for key in ("chosen_no", "cheapest_no", "next_no")
    )
    answer: dict[str, Any] = {}
    if chosen is not None:
        of_it = alone[..., chosen], surveys[:, chosen]
        answer |= _largest("drive", things, *of_it)
    if cheapest is not None and following is not None:
        apart = (each[..., following] - each[..., cheapest] for each in (alone, surveys))
        answer |= _largest("gap", things, *apart)
    return answer


def _one_by_one(spreads: Spreads, items: NDArray[np.intp], count: int, surveys: int) -> Cases:
    """Nothing off first, then each thing alone at its low and at its high, then each item's price,
    then each survey alone."""
    ends = 2 * (len(THINGS) + len(items)) + surveys
    of_thing = np.ones((1 + ends, len(THINGS)))
    for n in range(len(THINGS)):
        of_thing[1 + 2 * n : 3 + 2 * n, n] = spreads.low[n], spreads.high[n]
    own = np.ones((1 + ends, count))
    for n, item in enumerate(items, len(THINGS)):
        own[1 + 2 * n : 3 + 2 * n, item] = spreads.item_low[item], spreads.item_high[item]
    columns = {
        name: of_thing[:, [THINGS.index(thing) for thing in some]]
        for name, some in (("prices", _PRICES), ("hours", HOURS_OF), ("ground", GROUND))
    }
    crew = of_thing[:, [THINGS.index(CREW)]]
    moves = np.flatnonzero((columns["ground"] != 1).any(axis=1))
    at = np.zeros(1 + ends, dtype=np.intp)
    at[moves] = np.arange(1, len(moves) + 1)
    at[1 + ends - surveys :] = len(moves) + 1 + np.arange(surveys)
    unmoved = np.ones((surveys, len(GROUND)))
    ground = np.vstack([np.ones((1, len(GROUND))), columns["ground"][moves], unmoved])
    survey = np.concatenate([np.zeros(1 + len(moves)), 1 + np.arange(surveys)]).astype(np.intp)
    return Cases(ground, survey, at, columns["prices"], own, columns["hours"] * crew)


def _largest(key: str, things: Sequence[str], alone: Floats, surveys: Floats) -> dict[str, Any]:
    """The things that change it most, the largest first; fewer where others change nothing.

    Args:
        key: Of the columns.
        things: What is off.
        alone: What each changes at its low and at its high, (things, 2).
        surveys: What each survey changes; the least and the most of them are its ends.
    """
    if len(surveys):
        things = [*things, SURVEY]
        alone = np.vstack([alone, [[np.min(surveys), np.max(surveys)]]])
    change = np.asarray(rounded(alone, 2))
    swing = np.max(change, axis=1) - np.min(change, axis=1)
    order = [n for n in np.argsort(-swing, kind="stable")[:DRIVERS] if swing[n] > 0]
    blank = DRIVERS - len(order)
    ends = {
        f"{key}_{end}": np.array([[*change[order, at], *[np.nan] * blank]])
        for at, end in enumerate(("low", "high"))
    }
    return {f"{key}_thing": np.array([[*(things[n] for n in order), *[""] * blank]]), **ends}
