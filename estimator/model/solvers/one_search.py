"""The search for the design of least total cost of one option: where it stands."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.model.solvers.candidate_axes import Ints
from estimator.model.solvers.lumber_bounds import Floats, LumberBounds
from estimator.model.solvers.trial import Bools
from estimator.model.solvers.tried import Tried

MOST_WHOLE = 80
"""Designs of an option worked out whole, at most; when they don't prove one the cheapest, that is
said."""
_CENTS = 0.05
"""A total is rounded part by part: two that should be the same may be so far apart."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found.

    Args:
        at: Place of the cheapest on the grid; None where none passes.
        total: Its total cost, $.
        designs: How many were tried.
        passing: How many of them pass, as far as is known without cutting their boards.
        proven: Whether no other that passes is cheaper.
    """

    at: tuple[int, ...] | None
    total: float
    designs: int
    passing: int
    proven: bool


@dataclass(slots=True)
class Run:
    """The search of one option.

    Args:
        tried: What is known of the designs, of this option and others.
        option: Its place there.
        places: Places of the designs that pass, as far as is known.
        lumber: What their boards cost at least.
    """

    tried: Tried
    option: int
    places: Ints
    lumber: LumberBounds
    reckoned: Floats = field(init=False)
    """What is to be paid for lumber, as it stands in the totals, $."""
    totals: Floats = field(init=False)
    """A total that a design's is not below, $; infinite for those that are out."""
    ignored: frozenset[str] = field(init=False, default=frozenset())
    """Checks that all designs fail: no size decides them."""
    _still: dict[str, NDArray[Any] | None] = field(init=False, default_factory=dict)
    _passing: int = field(init=False, default=0)
    _best: tuple[float, int] = field(init=False, default=(math.inf, -1))
    _done: int = field(init=False, default=0)

    def __post_init__(self) -> None:
        reckoned = self.lumber.to_pay()
        buyable = np.isfinite(reckoned)
        self.places, self.reckoned = self.places[buyable], reckoned[buyable]
        self.lumber.only(buyable)
        self.totals = np.full(len(self.places), math.inf)

    def still(self, keys: Sequence[str]) -> Mapping[str, NDArray[Any]]:
        """Rows of those values that no design moves, each gone through once."""
        for key in keys:
            if key not in self._still:
                moves = self.tried.moves(key)
                self._still[key] = None if moves else self.tried.fixed(key, self.option)
        return {k: found for k in keys if (found := self._still[k]) is not None}

    def price(self, totals: Floats, failing: Mapping[str, Bools]) -> None:
        """Takes the totals of all designs, and by check which of them fail it."""
        self.ignored = frozenset(key for key, bad in failing.items() if bad.all())
        self.totals = totals
        for key, bad in failing.items():
            if key not in self.ignored:
                self.totals = np.where(bad, math.inf, self.totals)
        self._passing = int(np.isfinite(self.totals).sum())

    def next(self) -> int | None:
        """The most promising design; None where no other can be cheaper."""
        if not len(self.totals) or self._done == MOST_WHOLE:
            return None
        at = int(np.argmin(self.totals))
        least = self.totals[at]
        return at if np.isfinite(least) and least - _CENTS < self._best[0] else None

    def settle(self, at: int, total: float, paid: Mapping[str, float]) -> None:
        """Takes the total of a design worked out whole, infinite where it fails.

        Args:
            at: Which design.
            total: Its total, $.
            paid: What is paid for each stock, $; as much is for every design with such boards.
        """
        self._done += 1
        self.totals[at] = math.inf
        if total < math.inf:
            self._best = min(self._best, (total, at))
        self.lumber.settle(at, paid)
        now = self.lumber.to_pay()
        self.totals = self.totals + np.maximum(now - self.reckoned, 0.0)
        self.reckoned = now

    def rivals(self) -> NDArray[np.intp]:
        """Designs that may still be cheaper than the best, where there is one and they are several."""
        rivals = np.flatnonzero(self.totals - _CENTS < self._best[0])
        return rivals if len(rivals) > 1 and self._best[1] >= 0 else rivals[:0]

    def reprice(self, at: NDArray[np.intp], totals: Floats) -> None:
        """Takes totals of some designs that theirs are not below."""
        self.totals[at] = np.maximum(self.totals[at], totals)

    def found(self) -> Found:
        """What was found."""
        designs = math.prod(self.tried.shape)
        if not len(self.places):
            return Found(None, math.inf, designs, 0, False)
        proven = self._done < MOST_WHOLE
        if self._best[1] < 0:
            return Found(None, math.inf, designs, 0, proven)
        place = tuple(int(n) for n in self.places[self._best[1]])
        return Found(place, self._best[0], designs, self._passing, proven)
