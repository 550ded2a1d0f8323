"""What a what-if says: which options pass, which is the cheapest, which checks turn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from estimator.errors import in_a_row
from estimator.model.adds import OK
from estimator.model.solvers.verdict import FAIL
from estimator.rows import OPTION_KEYS
from estimator.values import Values

LOOK = "LOOK"


@dataclass(frozen=True, slots=True)
class Outcome:
    """The options of a job, worked out.

    Args:
        totals: Total cost of each that is priced, $.
        hours: Of work.
        passes: Those that no check fails.
        checks: By check, what it says of each.
    """

    totals: Mapping[int, float]
    hours: Mapping[int, float]
    passes: frozenset[int]
    checks: Mapping[str, Mapping[int, str]]

    def cheapest(self) -> int | None:
        """The cheapest that passes, the first of those alike; None where none does."""
        return min(sorted(self.passes), key=self.totals.__getitem__, default=None)


def outcome_of(
    values: Mapping[str, Values],
    options: Sequence[int],
    total: str,
    hours: str,
    failed: str,
    checks: Sequence[str],
) -> Outcome:
    """What is worked out of some options, under the keys of these rows."""

    def of(key: str, option: int) -> float:
        return float(np.asarray(values[key])[option, 0])

    def says(key: str, option: int) -> str:
        array = np.asarray(values[key])
        return str(array[min(option, len(array) - 1), 0])

    return Outcome(
        {o: of(total, o) for o in options},
        {o: of(hours, o) for o in options},
        frozenset(o for o in options if of(failed, o) == 0),
        {key: {o: says(key, o) for o in options} for key in checks if key in values},
    )


def passing_told(was: Outcome, now: Outcome) -> str:
    """Which options pass and which is the cheapest of them."""
    best, before = now.cheapest(), was.cheapest()
    if best is None:
        return "No option passes."
    if len(now.passes) == len(was.totals):
        passing = "All pass"
    else:
        passing = f"{_letters(now.passes)} {'pass' if len(now.passes) > 1 else 'alone passes'}"
    was_best = "none" if before is None else OPTION_KEYS[before]
    as_now = "as it is" if best == before else f"as it is {was_best}"
    return f"{passing}; the cheapest is {OPTION_KEYS[best]}, {as_now}."


def turns_told(was: Outcome, now: Outcome, labels: Mapping[str, str]) -> list[str]:
    """Every check that turns for some options, those that now fail first."""
    told: dict[int, list[str]] = {}
    for key, says in now.checks.items():
        turned: dict[tuple[int, str], list[int]] = {}
        for option, text in says.items():
            before, after = _state(was.checks[key][option]), _state(text)
            if before != after:
                place = _TURNS.index((before, after))
                said = text if after != OK else f"{labels[key]}: no longer {before}"
                turned.setdefault((place, said), []).append(option)
        for (place, said), options in turned.items():
            head = "" if said.startswith(labels[key]) else f"{labels[key]}: "
            told.setdefault(place, []).append(f"{_letters(options)}: {head}{said}")
    return [line for _, lines in sorted(told.items()) for line in lines]


_TURNS = ((OK, FAIL), (LOOK, FAIL), (FAIL, OK), (FAIL, LOOK), (OK, LOOK), (LOOK, OK))
"""What a check may turn from and to, in the order in which it is told."""


def _state(text: str) -> str:
    return next((state for state in (FAIL, LOOK) if text.startswith(state)), OK)


def _letters(options: Sequence[int] | frozenset[int]) -> str:
    return in_a_row([OPTION_KEYS[o] for o in sorted(options)])
