"""Totals of many designs of several options, from one run of the rows that gather all costs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.model.solvers.candidate_axes import Ints
from estimator.model.solvers.lumber_bounds import Floats
from estimator.model.solvers.one_search import Run
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.trial import Bools, Known, Trial
from estimator.values import Values, as_values

Some = NDArray[np.intp]
"""Some of the designs of a run, by their place there."""
_AT_ONCE = 4096
"""Designs priced in one go, at most, for the memory that they take."""


@dataclass(frozen=True, slots=True)
class _Group:
    """Designs of one option that share their texts.

    Args:
        run: The option's search.
        at: Which designs.
        where: Their places in what is asked for.
    """

    run: Run
    at: Some
    where: Some

    def places(self, count: int) -> Ints:
        """Their places on the grid, the last one again up to so many."""
        return self.run.places[np.pad(self.at, (0, count - len(self.at)), mode="edge")]


class DesignPrices:
    """Prices designs by the second half of a trial.

    Args:
        trial: The rows from a size to the total cost and the checks.
        units: Keys and units of the model whose rows they are.
    """

    def __init__(self, trial: Trial, units: OwnUnits) -> None:
        self._trial = trial
        self._total, self._cost, self._boards, self._stock, self._paid = (
            units.name(key)
            for key in ("total_cost", "item_cost", "item_boards", "item_stock", "item_paid")
        )
        self._given = trial.gives("cutting")
        self._reads = [key for key in trial.late_reads if key not in self._given]
        self._still = tuple(filter(trial.by_option, self._reads))

    def bounds(self, asked: Sequence[tuple[Run, Some]]) -> list[tuple[Floats, dict[str, Bools]]]:
        """Totals that those of designs are not below, and by check which of them fail it.

        All that is paid for lumber is put on one board, of each supplier in turn: so much falls
        due with any.
        """
        found: list[tuple[Floats, dict[str, Bools]]] = [
            (np.full(len(at), math.inf), {}) for _, at in asked
        ]
        answer = {id(run): each for (run, _), each in zip(asked, found, strict=True)}
        for groups in _together([g for run, at in asked for g in self._groups(run, at)]):
            reads = self._of(groups)
            suppliers = max(len(group.run.lumber.yard.one_of_each) for group in groups)
            for supplier in range(suppliers):
                items = [_item(group.run, supplier) for group in groups]
                priced = self._trial.late(
                    reads | self._one_board(items, groups[0].run),
                    {self._cost: partial(_put, items=items, lumber=_lumber(groups))},
                )
                fails = self._trial.failing(priced, late=True)
                for n, group in enumerate(groups):
                    totals, failing = answer[id(group.run)]
                    total = _row(priced[self._total], n, len(group.at))
                    totals[group.where] = np.minimum(totals[group.where], total)
                    for key, bad in fails.items():
                        of_all = failing.setdefault(key, np.ones(len(totals), dtype=bool))
                        of_all[group.where] &= _row(bad, n, len(group.at))
        return found

    def whole(self, asked: Sequence[tuple[Run, int]]) -> list[tuple[float, dict[str, float]]]:
        """Total of each design with its boards cut, and what is paid for each stock; infinite
        where it fails or the saw refuses."""
        found: list[tuple[float, dict[str, float]]] = [(math.inf, {}) for _ in asked]
        cut: list[tuple[int, _Group, Known]] = []
        for n, (run, at) in enumerate(asked):
            place = run.places[[at]]
            asked_of = {
                key: np.asarray(run.tried.at(key, run.option, place)).reshape(1, -1)
                for key in self._trial.asks("cutting")
            }
            answer = self._trial.answer("cutting", asked_of)
            if answer is not None:
                given = {key: as_values(np.asarray(answer[key])[:1]) for key in self._given}
                cut.append((n, _Group(run, np.array([at]), np.array([0])), given))
        if not cut:
            return found
        boards = {
            key: as_values(np.stack([given[key] for _, _, given in cut])[:, np.newaxis])
            for key in self._given
        }
        priced = self._trial.late(self._of([group for _, group, _ in cut]) | boards)
        fails = self._trial.failing(priced, late=True)
        for row, (n, group, given) in enumerate(cut):
            failing = {key for key, bad in fails.items() if _row(bad, row, 1).any()}
            total = float(_row(priced[self._total], row, 1)[0])
            found[n] = (
                math.inf if failing - group.run.ignored else total,
                self._paid_for(group, given[self._boards]),
            )
        return found

    def _paid_for(self, group: _Group, boards: Values) -> dict[str, float]:
        """What boards cost, by stock in small letters."""
        stock, price = (
            np.asarray(group.run.tried.at(key, group.run.option, group.places(1))).reshape(-1)
            for key in (self._stock, self._paid)
        )
        paid: dict[str, float] = {}
        for name, cost in zip(stock, np.asarray(boards)[0] * price, strict=True):
            if str(name):
                paid[str(name).casefold()] = paid.get(str(name).casefold(), 0.0) + float(cost)
        return paid

    def _groups(self, run: Run, at: Some) -> Iterator[_Group]:
        texts = [k for k in self._reads if run.tried.moves(k) and run.tried.is_text(k)]
        codes = run.tried.codes(texts, run.option, run.places[at])
        for code in np.unique(codes):
            where = np.flatnonzero(codes == code)
            yield _Group(run, at[where], where)

    def _of(self, groups: Sequence[_Group]) -> Known:
        """What the second half reads, (groups, designs or 1, 1, rows)."""
        most = max(len(group.at) for group in groups)
        runs = [
            (run, np.stack([group.places(most) for group in some])) for run, some in _by_run(groups)
        ]
        run_of = np.repeat(np.arange(len(runs)), [len(places) for _, places in runs])
        still = [run.still(self._still) for run, _ in runs]
        found: Known = {}
        for key in self._reads:
            if not self._trial.by_option(key):
                found[key] = _of_the_job(runs[0][0].tried.known[key])
            elif any(key not in of_run for of_run in still):
                found[key] = as_values(np.concatenate(tuple(self._moving(key, runs))))
            else:
                rows = np.stack([of_run[key] for of_run in still])
                found[key] = as_values(rows[run_of][:, np.newaxis, np.newaxis])
        return found

    def _moving(self, key: str, runs: Sequence[tuple[Run, Ints]]) -> Iterator[NDArray[Any]]:
        """A value of each run's groups, all with as many designs; a text with one."""
        text = any(run.tried.is_text(key) for run, _ in runs)
        for run, places in runs:
            value = np.asarray(run.tried.at(key, run.option, places[:, :1] if text else places))
            shape = (len(places), 1 if text else places.shape[1], *value.shape[-2:])
            yield np.broadcast_to(value, shape)

    def _one_board(self, items: Sequence[int], run: Run) -> Known:
        """What the saw gives where one board of an item is all that is cut, (groups, 1, 1, rows)."""
        answer = {key: as_values(0.0) for key in self._given}
        rows = run.tried.known[self._paid].shape[-1]
        boards = np.zeros((len(items), 1, 1, rows))
        boards[np.arange(len(items)), 0, 0, list(items)] = 1
        return answer | {self._boards: as_values(boards)}


def _of_the_job(value: Values) -> Values:
    """A value of the whole job, which no design moves, without the axes of the designs."""
    return as_values(value.reshape(value.shape[-2:]))


def _by_run(groups: Sequence[_Group]) -> Iterator[tuple[Run, list[_Group]]]:
    for _, some in groupby(groups, key=lambda group: id(group.run)):
        each = list(some)
        yield each[0].run, each


def _together(groups: Sequence[_Group]) -> Iterator[list[_Group]]:
    """Groups that are priced at once, those of like size together, each run's in a row."""
    place = {id(group.run): n for n, group in enumerate(groups)}
    some: list[_Group] = []
    for group in sorted(groups, key=lambda group: -len(group.at)):
        if some and len(some[0].at) * (len(some) + 1) > _AT_ONCE:
            yield sorted(some, key=lambda group: place[id(group.run)])
            some = []
        some.append(group)
    if some:
        yield sorted(some, key=lambda group: place[id(group.run)])


def _item(run: Run, supplier: int) -> int:
    """An item of that supplier; of the last where an option has fewer."""
    items = run.lumber.yard.one_of_each
    return items[min(supplier, len(items) - 1)]


def _lumber(groups: Sequence[_Group]) -> Floats:
    """What is paid for lumber, (groups, designs)."""
    most = max(len(group.at) for group in groups)
    return np.stack(
        [np.pad(g.run.reckoned[g.at], (0, most - len(g.at)), mode="edge") for g in groups]
    )


def _put(paid: Values, items: Sequence[int], lumber: Floats) -> Values:
    """What is paid by item, with all lumber of a group on one."""
    array = np.asarray(paid)
    changed = np.broadcast_to(array, (*lumber.shape, *array.shape[-2:])).copy()
    cents = np.maximum(np.floor(lumber * 100 + 1e-6) / 100, 0.0)
    changed[np.arange(len(items)), :, 0, list(items)] = cents
    return as_values(changed)


def _row(value: NDArray[Any], group: int, count: int) -> NDArray[Any]:
    """A value of the designs of a group."""
    array = np.asarray(value)[..., 0, 0]
    at = array if array.ndim < 2 else array[min(group, len(array) - 1)]
    return np.broadcast_to(at, (max(count, at.shape[-1] if at.ndim else 0),))[:count]
