"""What totals against fall say: at which fall another option becomes the cheapest, which pass."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, pairwise

from estimator.amounts import either

Totals = Mapping[int, float]
"""Total cost by option; NaN where it does not pass."""
MM = 25
"""Of a step, in metric."""


class FallSteps:
    """Totals by fall, counted in steps of an inch or 25 mm.

    Args:
        options: The options in use.

    Attributes:
        totals: By step, by option.
    """

    def __init__(self, options: Sequence[int]) -> None:
        self.options = tuple(options)
        self.totals: dict[int, Totals] = {}

    def take(self, totals: Mapping[int, Totals]) -> None:
        """Add what was found at some falls, of all options or of some."""
        self.totals = dict(sorted((self.totals | dict(totals)).items()))

    def compared(self) -> list[int]:
        """Steps at which every option is known."""
        return [step for step, totals in self.totals.items() if len(totals) == len(self.options)]

    def cheapest(self, step: int) -> int | None:
        """The cheapest option that passes, the first of those alike; None where none does."""
        passing = [o for o in self.options if self.passes(step, o)]
        return min(passing, key=lambda o: self.totals[step][o], default=None)

    def passes(self, step: int, option: int) -> bool:
        """Whether an option passes."""
        return not math.isnan(self.totals[step][option])

    def between(self) -> list[tuple[list[int], tuple[int, ...]]]:
        """Steps not known yet, and of which options they have to be: of all where another is the
        cheapest on either side, else of those that pass on one side alone."""
        known = self.compared()
        asked: dict[tuple[int, ...], list[int]] = {}
        for low, high in pairwise(known):
            turning = tuple(o for o in self.options if self.passes(low, o) != self.passes(high, o))
            which = turning if self.cheapest(low) == self.cheapest(high) else self.options
            if which:
                asked.setdefault(which, []).extend(range(low + 1, high))
        return [(steps, which) for which, steps in asked.items()]


def cheapest_told(steps: FallSteps, letters: Mapping[int, str]) -> str:
    """In short: which option is the cheapest that passes, up to which fall."""
    known = steps.compared()
    said = []
    for best, run in groupby(known, key=steps.cheapest):
        said.append(f"{'none' if best is None else letters[best]} to {_fall(list(run)[-1])}")
    return ", ".join(said)


def turns_told(steps: FallSteps, names: Mapping[int, str]) -> list[str]:
    """Every fall at which another option becomes the cheapest that passes, and why."""
    return [
        _change(steps, names, step, steps.cheapest(low), steps.cheapest(step))
        for low, step in pairwise(steps.compared())
        if steps.cheapest(low) != steps.cheapest(step)
    ]


def _change(
    steps: FallSteps, names: Mapping[int, str], step: int, before: int | None, now: int | None
) -> str:
    at = _fall(step)
    if now is None:
        return f"from {at} no option passes"
    if before is None:
        return f"from {at} {names[now]} passes and is cheapest"
    if not steps.passes(step, before):
        return f"at {at} {names[before]} no longer passes, and {names[now]} is cheapest"
    return f"at {at} {names[now]} overtakes {names[before]}"


def passes_told(steps: FallSteps, letters: Mapping[int, str]) -> str:
    """The falls at which options pass that do not pass at all of them."""
    known = steps.compared()
    said = []
    for option in steps.options:
        found = list(_runs(steps, option))
        if found != [(known[0], known[-1])]:
            runs = [_run(first, last, known[-1]) for first, last in found]
            said.append(f"{letters[option]}: {' and '.join(runs) or 'at none'}")
    if not said:
        return f"every option at every fall up to {_fall(known[-1])}"
    rest = "; the others at every fall" if len(said) < len(steps.options) else ""
    return "; ".join(said) + rest


def _runs(steps: FallSteps, option: int) -> Iterator[tuple[int, int]]:
    """First and last fall of each stretch where an option passes."""
    first = last = None
    for step in (step for step, totals in steps.totals.items() if option in totals):
        if steps.passes(step, option):
            first, last = step if first is None else first, step
        elif first is not None and last is not None:
            yield first, last
            first = None
    if first is not None and last is not None:
        yield first, last


def _run(first: int, last: int, end: int) -> str:
    if last == end:
        return f"from {_fall(first)} on"
    return f"up to {_fall(last)}" if first == 0 else f"from {_fall(first)} to {_fall(last)}"


def _fall(step: int) -> str:
    """A fall, counted in steps, in the words of each measure."""
    return either(f"{step} in", f"{step * MM} mm")
