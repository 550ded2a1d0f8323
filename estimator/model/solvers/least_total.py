"""The design of least total cost on a grid, among those that pass: found and proven.

Every design is checked, and priced but for its boards, which come from one run of the rows for all
options. Boards get a cost that no plan is below, so that the total is one that the design's is not
below. Then designs are worked out whole, boards cut and all, the most promising of each option
first, until no other can be cheaper. What is taken for granted: a total never falls as boards cost
more, and rises by no less.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.errors import EstimatorError
from estimator.model.solvers.design_prices import DesignPrices
from estimator.model.solvers.lumber_bounds import lumber_bounds
from estimator.model.solvers.one_search import Found, Run
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.size_grid import DesignGrid
from estimator.model.solvers.trial import Bools, Trial
from estimator.model.solvers.tried import Tried
from estimator.model.solvers.wanted import Wanted


class Search:
    """Searches of the options of a job.

    Args:
        trial: The rows from a size to the total cost and the checks.
        wanted: What the assemblies want cut.
        units: Keys and units of the model whose rows they are.
        values: What the trial reads, of all options.
    """

    def __init__(
        self, trial: Trial, wanted: Wanted, units: OwnUnits, values: Mapping[str, Any]
    ) -> None:
        self._trial, self._wanted, self._units = trial, wanted, units
        self._values = {key: np.asarray(values[key]) for key in trial.reads}
        self._prices = DesignPrices(trial, units)

    def least(
        self, grids: Mapping[int, DesignGrid], *, stack_most_in: float = math.inf
    ) -> dict[int, Found]:
        """The cheapest design of each option that passes.

        Args:
            grids: What may be tried, by the number of the option.
            stack_most_in: Most height of a stack of blocks, in.
        """
        found = {o: Found(None, math.inf, math.prod(g.shape), 0, False) for o, g in grids.items()}
        runs: dict[int, Run] = {}
        for options, tried, possible in self._early(grids):
            good = self._good(tried, len(options), possible, stack_most_in)
            for column, option in enumerate(options):
                places = np.argwhere(good[column])
                if len(places):
                    lumber = lumber_bounds(tried, column, places, self._wanted, self._units)
                    runs[option] = Run(tried, column, places, lumber)
        self._settle([run for run in runs.values() if len(run.places)])
        return found | {option: run.found() for option, run in runs.items()}

    def last(self, option: int, grid: DesignGrid) -> tuple[int, ...]:
        """Place of the strongest design of an option that can be worked out."""
        try:
            _, possible = self._trial.early(self._of([option]), self._varied([grid]))
        except EstimatorError:
            possible = np.ones((1,) * len(grid.shape), dtype=bool)
        places = np.argwhere(np.broadcast_to(possible, grid.shape))
        return tuple(int(n) for n in places[-1])

    def _early(
        self, grids: Mapping[int, DesignGrid]
    ) -> Iterator[tuple[Sequence[int], Tried, Bools]]:
        """What is known of all designs, options with grids of one shape together, and which
        designs can be worked out."""
        alike: defaultdict[tuple[int, ...], list[int]] = defaultdict(list)
        for option, grid in grids.items():
            alike[grid.shape].append(option)
        waiting = list(alike.values())
        while waiting:
            options = waiting.pop()
            some = [grids[option] for option in options]
            try:
                known, possible = self._trial.early(self._of(options), self._varied(some))
            except EstimatorError:  # no design on the grid can be worked out
                known, possible = {}, np.zeros(1, dtype=bool)
            if len(options) > 1 and not possible.all():  # it may be one alone that can't be
                waiting += [[option] for option in options]
            elif possible.any():
                yield options, Tried(known, some[0].shape), possible

    def _good(
        self, tried: Tried, options: int, possible: Bools, stack_most_in: float
    ) -> list[Bools]:
        """Which designs of each option pass the checks of the first half."""
        stack = np.asarray(self._units.in_feet(tried.known, ("stack_in",))["stack_in"])
        fails = self._trial.failing(tried.known, late=False)
        found = []
        for column in range(options):
            good = possible & (_of(stack, column) <= stack_most_in + 1e-9)
            for key, bad in fails.items():
                bad_here = _of(bad, column)
                if bad_here.all() and not self._decided(tried, key, column):
                    continue
                good = good & ~bad_here
            found.append(np.broadcast_to(good, tried.shape))
        return found

    def _decided(self, tried: Tried, check: str, column: int) -> bool:
        """Whether the sizes of an option have a say in a check."""
        return any(tried.moves_for(key, column) for key in self._trial.reads_of(check))

    def _of(self, options: Sequence[int]) -> dict[str, Any]:
        """The values of some options."""
        return {
            key: array if array.shape[-2] == 1 else array[..., list(options), :]
            for key, array in self._values.items()
        }

    def _varied(self, grids: Sequence[DesignGrid]) -> dict[str, Any]:
        columns = [self._units.in_own(grid.columns()) for grid in grids]
        return {key: np.concatenate([c[key] for c in columns], axis=-2) for key in columns[0]}

    def _settle(self, runs: Sequence[Run]) -> None:
        """Works out the most promising designs whole, until no other can be cheaper."""
        every = [(run, np.arange(len(run.places))) for run in runs]
        for run, (totals, failing) in zip(runs, self._prices.bounds(every), strict=True):
            run.price(totals, failing)
        while asked := [(run, at) for run in runs if (at := run.next()) is not None]:
            for (run, at), (total, paid) in zip(asked, self._prices.whole(asked), strict=True):
                run.settle(at, total, paid)
            rivals = [(run, some) for run, _ in asked if len(some := run.rivals())]
            if rivals:
                for (run, some), (totals, _) in zip(
                    rivals, self._prices.bounds(rivals), strict=True
                ):
                    run.reprice(some, totals)


def _of(value: NDArray[Any], column: int) -> NDArray[Any]:
    """What a single value of an option is for each candidate."""
    return np.asarray(value[..., min(column, value.shape[-2] - 1), 0])
