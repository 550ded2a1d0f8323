"""Expected cost, hours and quantities of the options of a job in many cases at once.

Packs are counts and look-ups are resolved once: the items whose packs no case changes are summed by
one product of matrices, the few others by the rows of Cost. Everything is reckoned as what a case
adds to the estimate, so that a case in which nothing is off gives the estimate to the cent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import Declared, Model
from estimator.model.adds import TRADES
from estimator.model.solvers.kept import kept
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.range_rows import (
    EXPECTED,
    PAID,
    SOIL,
    STONE,
    VARIED,
    WORK,
    RangeRows,
)
from estimator.model.solvers.survey_grounds import surveyed
from estimator.model.spreads import COMPACTION, CONCRETE, GROUND, PRICES_TOGETHER, WASTE
from estimator.values import Values, as_values
from estimator.vocabulary import rounded

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
ITEM_READS = (
    *("item_name", "item_category", "item_brought_no", "item_supplier_no", "item_on_hand"),
    *("item_pack", "item_paid", "item_need"),
)
SUPPLIER_READS = ("supplier_name", "supplier_delivery", "truck_yd3")
COLUMNS = (
    *("item_packs", "item_cost"),
    *("supplier_cost", "supplier_bulk_yd3", "supplier_trips", "supplier_fee"),
)
"""Columns of Cost that are worked out from these, in order."""
SCENARIO_READS = (*ITEM_READS, *SUPPLIER_READS, *PAID, WORK, "trade_hours_of")
BULK = ("stone", "soil")
"""Categories that come by the load."""


@dataclass(frozen=True, slots=True)
class Cases:
    """Factors about 1, a case a line.

    Args:
        ground: Of what quantities depend on, (grounds, things), in the order of GROUND.
        survey: Of each of these grounds the number of the survey that it has, 0 for the estimate's.
        at: The ground of each case, by its line.
        together: Of prices that move together, (cases, groups).
        own: Of the price of each item by itself, (cases, items).
        hours: Of the hours of each trade, (cases, trades).
    """

    ground: Floats
    survey: NDArray[np.intp]
    at: NDArray[np.intp]
    together: Floats
    own: Floats
    hours: Floats


@dataclass(frozen=True, slots=True)
class Outcome:
    """What comes of the cases, (cases or grounds, options).

    Args:
        expected: Cost before contingency, $.
        hours: Hours of work.
        stone, soil: To order, and moved, by ground.
    """

    expected: Floats
    hours: Floats
    stone: Floats
    soil: Floats


class Scenarios:
    """The options of a job, in whatever case.

    Args:
        rows: The trials.
        model: Whose rows they are.
        values: What the model knows, in its own units.
        options: Numbers of the options in use.
        surveys: How many surveys are drawn.
        seed: Of their draws.

    Attributes:
        names: Of the items of the price book.
        costs: What each option pays for each item, (options, items).
        surveys: How many surveys there are besides the estimate's; 0 where readings are certain.
    """

    def __init__(
        self,
        rows: RangeRows,
        model: Model,
        values: Declared,
        options: Sequence[int],
        *,
        surveys: int = 0,
        seed: int = 0,
    ) -> None:
        self._rows, self._model, self._units = rows, model, OwnUnits(model)
        self._options = list(options)
        known = {*rows.reads, *map(self._units.name, SCENARIO_READS)}
        self._values = {key: self._columns(values[key]) for key in sorted(known)}
        self._typed_over = values.typed_over
        self._kept = kept(model, values.typed_over, options)
        self._values["supplier_no"] = np.arange(1.0, self._of("supplier_name").shape[-1] + 1)[None]
        for key in map(self._units.name, COLUMNS):
            value = self._row(key, slice(None))
            self._values[key] = np.asarray(self._kept[key](value) if key in self._kept else value)
        self.names = [str(name) for name in self._of("item_name")[0]]
        category = np.char.lower(self._of("item_category")[0].astype(str))
        self._bulk = np.isin(category, BULK)
        groups = [np.isin(category, each) for each in PRICES_TOGETHER.values()]
        self._group = np.stack([*groups, ~np.any(groups, axis=0)], axis=1).astype(float)
        fee = np.isin(category, ("delivery", "fee"))
        self._class = {
            "material_cost": self._of("item_brought_no")[0] > 0,
            "rental_cost": category == "rental",
            "delivery_cost": fee,
        }
        self.costs = np.nan_to_num(self._of("item_cost"))
        self._surveyed = (
            surveyed(rows.survey, model, self._values, self._kept, surveys, seed)
            if surveys
            else None
        )
        self.surveys = surveys if self._surveyed else 0
        self._fixed = {
            key: np.isin(np.arange(self.costs.size).reshape(self.costs.shape), self._typed(key))
            for key in ("item_cost", "item_packs", "item_need")
        }

    def _columns(self, value: Any) -> NDArray[Any]:
        array = np.asarray(value)
        return array if array.shape[-2] == 1 else array[..., self._options, :]

    def _of(self, key: str) -> NDArray[Any]:
        return self._values[self._units.name(key)]

    def _typed(self, key: str) -> list[int]:
        """Places of cells of a table of items that are typed over."""
        width = self.costs.shape[1]
        cells = self._typed_over.get(self._units.name(key), {})
        return [
            self._options.index(option) * width + row
            for option, row in cells
            if option in self._options
        ]

    def outcome(self, cases: Cases) -> Outcome:
        """What comes of some cases."""
        survey = np.concatenate([[0], cases.survey])
        ground = self._ground(np.vstack([np.ones((1, len(GROUND))), cases.ground]), survey)
        at = np.asarray(cases.at) + 1
        hours = self._hours(ground, at, cases.hours)
        together = np.hstack([cases.together, np.ones((len(at), 1))])
        factors = cases.own * (together @ self._group.T)
        paid = self._paid(self._needs(ground, at, survey[at], cases.hours), factors)
        varied = {self._units.name(WORK): as_values(hours[..., np.newaxis])}
        for key in PAID:
            money = rounded(self._of(key)[..., 0] + paid[key], 2)
            varied[self._units.name(key)] = as_values(np.asarray(money)[..., np.newaxis])
        for key in varied:
            if key in self._kept:
                varied[key] = self._kept[key](varied[key])
        known, _ = self._rows.money.whole(self._values, varied, self._kept)
        shape = (len(at), len(self._options))
        return Outcome(
            np.broadcast_to(np.asarray(known[self._units.name(EXPECTED)])[..., 0], shape),
            np.broadcast_to(np.asarray(varied[self._units.name(WORK)])[..., 0], shape),
            *(self._by_ground(ground, key)[1:] for key in (STONE, SOIL)),
        )

    def _ground(self, factors: Floats, survey: NDArray[np.intp]) -> Mapping[str, Values]:
        """Tasks, needs, stone and soil by ground; the first is the estimate's."""
        varied = {}
        for column, (thing, key) in enumerate((thing, VARIED[thing]) for thing in GROUND):
            factor = factors[:, column, np.newaxis, np.newaxis]
            value = np.asarray(self._of(key), dtype=float)
            more = thing in (COMPACTION, WASTE, CONCRETE)  # a share on top of the whole
            off = (1 + value) * (factor - 1) if more else value * (factor - 1)
            varied[self._units.name(key)] = as_values(np.maximum(value + off, 0.0))
        for key in self._rows.survey.felt:
            varied[key] = as_values(
                self._surveyed.values[key][survey]
                if self._surveyed and np.any(survey)
                else self._values[key]
            )
        known, _ = self._rows.ground.whole(self._values, varied, self._kept)
        return known

    def _by_ground(self, ground: Mapping[str, Values], key: str) -> Floats:
        name = self._units.name(key)
        value = np.asarray(ground.get(name, self._values.get(name)), dtype=float)
        count = max((v.shape[0] for v in ground.values() if v.ndim > 2), default=1)
        return np.broadcast_to(value[..., 0], (count, len(self._options)))

    def _hours(self, ground: Mapping[str, Values], at: NDArray[np.intp], hours: Floats) -> Floats:
        """Hours of work, (cases, options)."""
        of_trade = np.nan_to_num(self._of("trade_hours_of"))
        base = np.zeros(len(self._options))
        worked: Any = np.zeros((len(at), len(self._options)))
        for column, trade in enumerate(TRADES):
            more: Any = 0.0
            for line in (line for line, each in self._rows.tasks.items() if each == trade):
                task = self._by_ground(ground, line)
                more = more + (task - task[0])
            own = of_trade[:, column] + more
            own = np.maximum(own, 0.0) if np.ndim(own) == 1 else np.maximum(own, 0.0)[at]
            worked = worked + own * hours[:, column, np.newaxis]
            base = base + of_trade[:, column]
        work = self._of(WORK)[..., 0]
        return np.asarray(np.where(base > 0, work * (worked / np.where(base > 0, base, 1.0)), work))

    def _needs(
        self,
        ground: Mapping[str, Values],
        at: NDArray[np.intp],
        survey: NDArray[np.intp],
        hours: Floats,
    ) -> dict[int, Floats]:
        """By place of an item whose need a case changes, what is needed more, (cases, options)."""
        wanted = {*self._rows.hire.reads, *self._rows.worked, *self._rows.needs}
        lead = {
            key: as_values(ground[key][at]) if ground[key].ndim > 2 else ground[key]
            for key in wanted.intersection(ground)
        }
        worked = {}
        for key, trade in self._rows.worked.items():
            value = np.asarray(lead.get(key, self._values.get(key)), dtype=float)
            worked[key] = as_values(value * hours[:, [TRADES.index(trade)], np.newaxis])
        values = self._values | {k: lead[k] for k in self._rows.hire.reads if k in lead}
        hired, _ = self._rows.hire.whole(values, worked, self._kept)
        place = {name.casefold(): n for n, name in enumerate(self.names) if name}
        found: dict[int, Floats] = {}
        for line, item_line in self._rows.needs.items():
            value = np.asarray((hired if line in self._rows.hire.goals else lead)[line])[..., 0]
            more = np.broadcast_to(value - self._of(line)[..., 0], (len(at), len(self._options)))
            items = np.broadcast_to(self._of(item_line)[:, 0], (len(self._options),))
            for option, item in enumerate(items):
                n = place.get(str(item).casefold())
                if n is not None and np.any(more[:, option]):
                    found.setdefault(n, np.zeros((len(at), len(self._options))))
                    found[n][:, option] += more[:, option]
        for n, boards in (self._surveyed.boards if self._surveyed else {}).items():
            found[n] = found.get(n, 0.0) + boards[survey]
        return found

    def _paid(self, needs: Mapping[int, Floats], factors: Floats) -> dict[str, Floats]:
        """What is paid more than estimated, (cases, options), by row of money."""
        fixed = self._fixed["item_cost"]
        found = {}
        moved = sorted(needs)
        for key, items in self._class.items():
            still = items.copy()
            still[moved] = False
            costs = np.where(fixed | ~still, 0.0, self.costs)
            found[key] = (factors - 1) @ costs.T
        if moved:
            more = self._packed(moved, needs, factors)
            for key, items in self._class.items():
                found[key] = found[key] + np.sum(more[..., items[moved]], axis=-1)
        found["delivery_cost"] = found["delivery_cost"] + self._delivered(needs, factors)
        return found

    def _packed(self, items: Sequence[int], needs: Mapping[int, Floats], factors: Floats) -> Floats:
        """What whole packs of items cost more, (cases, options, items)."""
        need = self._of("item_need")[..., items] + np.stack([needs[n] for n in items], axis=-1)
        packs = self._row("item_packs", items, item_need=as_values(np.maximum(need, 0.0)))
        still = self._fixed["item_packs"] | self._fixed["item_need"]
        packs = as_values(np.where(still[:, items], self._of("item_packs")[..., items], packs))
        paid = self._of("item_paid")[..., items] * factors[:, np.newaxis, items]
        cost = self._row("item_cost", items, item_packs=packs, item_paid=as_values(paid))
        more = np.asarray(cost) - self.costs[:, items]
        return np.where(self._fixed["item_cost"][:, items], 0.0, more)

    def _delivered(self, needs: Mapping[int, Floats], factors: Floats) -> Any:
        """What trips of suppliers cost more, (cases, options)."""
        fees = np.nan_to_num(self._of("supplier_fee"))
        place = {name.casefold(): n for n, name in enumerate(self.names) if name}
        by = [place.get(str(name).casefold()) for name in self._of("supplier_delivery")[0]]
        price = np.stack([factors[:, n] if n is not None else np.ones(len(factors)) for n in by], 1)
        more = (price - 1) @ fees.T
        number = self._of("item_supplier_no")[0]
        for supplier in sorted({int(number[n]) for n in needs if self._bulk[n] and number[n] > 0}):
            at = [supplier - 1]
            bulk = self._of("supplier_bulk_yd3")[..., at] + self._bulk_more(supplier, needs)
            trips = self._row("supplier_trips", at, supplier_bulk_yd3=as_values(bulk))
            each = self._row("supplier_fee", at, supplier_trips=trips)
            more = more + (np.asarray(each)[..., 0] - fees[:, at[0]]) * price[:, at]
        return more

    def _bulk_more(self, supplier: int, needs: Mapping[int, Floats]) -> Any:
        """Stone and soil that a supplier brings more, (cases, options, 1)."""
        number, on_hand = self._of("item_supplier_no")[0], self._of("item_on_hand")[0]
        more: Any = 0.0
        for n, need in needs.items():
            if self._bulk[n] and number[n] == supplier:
                before = np.nan_to_num(self._of("item_need")[:, n]) - np.nan_to_num(on_hand[n])
                more = more + np.maximum(before + need, 0.0) - np.maximum(before, 0.0)
        return np.asarray(more)[..., np.newaxis]

    def _row(self, key: str, rows: Sequence[int] | slice, **given: Values) -> Values:
        """A column of a table worked out for some of its rows."""
        item = self._model.quantities[self._units.name(key)]
        assert item.function is not None
        with_own = {self._units.name(name): value for name, value in given.items()}
        reads = {}
        for read in item.reads:
            if read in with_own:
                reads[read] = with_own[read]
            else:
                value = self._values[read]
                own = self._model.quantities[read].axis == item.axis
                reads[read] = as_values(value[..., rows] if own else value)
        return as_values(item.function(**reads))
