"""Solver of the totals against fall: every option worked out again on steeper and flatter ground.

The rows between the ground's heights and total and checks are tried at several falls at once, with
the solvers among them; each solver is asked once for every combination of what it reads, so that
one whose reads stay as they are is not asked again.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import Declared, Model, Solver
from estimator.errors import EstimatorError
from estimator.model.falls import PARTS, ROWS, SOLVER, STEPS, TOTALS, TURNS
from estimator.model.solvers.fall_words import (
    FallSteps,
    Totals,
    cheapest_told,
    passes_told,
    turns_told,
)
from estimator.model.solvers.kept import kept
from estimator.model.solvers.lot import PLACE_READS, SURVEY_READS, lot_ground, turned
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.trial import Rows, Trial, rows_of
from estimator.rows import OPTION_KEYS, Sheet
from estimator.units import FT_PER_M, IN_PER_FT

_LOG = logging.getLogger(__name__)
Floats = NDArray[np.float64]

ASKED = "falls_asked"
SURVEYED = "as surveyed"
NOT_ASKED = "not worked out: say yes to it on Siting and refill"
UNIT_FT = {"feet": 1.0 / IN_PER_FT, "metric": 0.025 * FT_PER_M}
"""Fall to which a change is found: an inch, or 25 mm; the table's steps are three of it."""
_READINGS = tuple(SURVEY_READS[at : at + 4] for at in range(0, len(SURVEY_READS), 4))
"""Name, x, y and height of each sort of readings."""
_HEIGHTS = tuple(height for *_, height in _READINGS)
_DECIDES = (ASKED, "option_used", "option_kind", "chosen_no", "total_cost", "checks_failed")


def falls(sheets: Sequence[Sheet], others: Sequence[Solver]) -> Solver:
    """The solver of the totals against fall.

    Args:
        sheets: With what their assemblies contribute.
        others: Solvers that stand between the ground and what an option costs.
    """
    through = {solver.name: solver for solver in others}
    trial = _trial(rows_of(sheets), through, OwnUnits())
    reads = {*trial.reads, *SURVEY_READS, *PLACE_READS, *_DECIDES}
    return Solver(
        SOLVER,
        "totals against fall",
        tuple(sorted(reads)),
        partial(solve_falls, tuple(through)),
        live=False,  # no cell can name all that it reads
        counts_when=ASKED,
        worst=1,
        by_model=True,
        by_typed_over=True,
    )


def _trial(rows: Rows, through: Mapping[str, Solver], units: OwnUnits) -> Trial:
    goals = [units.name(key) for key in ("total_cost", "checks_failed")]
    return Trial(rows, [units.name(key) for key in _HEIGHTS], goals, through=through)


@lru_cache(maxsize=4)
def _trial_of(model: Model, through: tuple[str, ...]) -> Trial:
    """The trial of a model's own rows, whose solvers tell that they are at work."""
    others = {
        name: replace(s, function=_told(s)) for name, s in model.solvers.items() if name in through
    }
    return _trial(Rows(model.quantities, model.stacks), others, OwnUnits(model))


def _told(solver: Solver) -> Callable[..., Mapping[str, Any]]:
    def solve(values: Mapping[str, Any]) -> Mapping[str, Any]:
        _LOG.info("Totals against fall: %s", solver.label)
        return solver.function(values)

    return solve


def solve_falls(through: tuple[str, ...], values: Declared, model: Model) -> Mapping[str, Any]:
    """Total of every option that passes at each fall, which is the cheapest, and where that changes.

    Args:
        through: Solvers that are asked anew at each fall.
        values: What the model knows, in its own units.
        model: Whose rows are tried.
    """
    units = OwnUnits(model)
    q = Reads(units.in_feet(values, (*SURVEY_READS, *PLACE_READS, *_DECIDES)))
    options = list(q.options())
    if q.number(ASKED) == 0 or not options:
        return units.in_own(_blank("no option is in use" if q.number(ASKED) else NOT_ASKED))
    grounds = Grounds(_trial_of(model, through), model, values, q)
    steps = FallSteps(options)
    every = range(0, STEPS * PARTS + 1, PARTS)
    steps.take(grounds.totals(every, options))
    for some, which in steps.between():
        steps.take(grounds.totals(some, which))
    letters = {o: OPTION_KEYS[o] for o in options}
    kinds = {o: f"{letters[o]} ({q.text('option_kind', o)})" for o in options}
    rows = [(n * grounds.unit_ft, steps.totals[n], "") for n in every]
    rows.append((grounds.falls.own_ft, _own(q, options), SURVEYED))
    answer = {
        "falls_say": cheapest_told(steps, letters),
        "falls_pass": passes_told(steps, letters),
        "falls_own_in": grounds.falls.own_ft * IN_PER_FT,
        "fall_turn_text": _turns(turns_told(steps, kinds)),
        **_table(sorted(rows, key=lambda row: row[0]), q.number("chosen_no") - 1),
    }
    return units.in_own(answer)


def _blank(says: str) -> dict[str, Any]:
    """What is answered where there are no totals."""
    return {
        "falls_say": says,
        "falls_pass": "",
        "falls_own_in": 0.0,
        "fall_turn_text": _turns(()),
        **{key: np.zeros((1, ROWS)) for key in ("fall_at_in", *TOTALS, "fall_own_total")},
        **{key: np.full((1, ROWS), "") for key in ("fall_cheapest", "fall_says")},
    }


def _table(rows: Sequence[tuple[float, Totals, str]], chosen: float) -> dict[str, Any]:
    """The columns of the table.

    Args:
        rows: Fall (ft), totals and what is said of the ground, line by line.
        chosen: The option chosen, whose total on the ground as surveyed is shown apart.
    """
    number = {key: np.full((1, ROWS), math.nan) for key in (*TOTALS, "fall_own_total")}
    best = []
    for row, (_, totals, says) in enumerate(rows):
        for option, total in totals.items():
            number[TOTALS[option]][0, row] = total
            if says and option == chosen:
                number["fall_own_total"][0, row] = total
        passing = [o for o, total in totals.items() if not math.isnan(total)]
        best.append(OPTION_KEYS[min(passing, key=totals.__getitem__)] if passing else "none passes")
    return {
        **number,
        "fall_at_in": np.array([[fall_ft * IN_PER_FT for fall_ft, _, _ in rows]]),
        "fall_cheapest": np.array([best]),
        "fall_says": np.array([[says for _, _, says in rows]]),
    }


def _turns(said: Sequence[str]) -> NDArray[np.str_]:
    """Lines of the list of turns; the last one counts those that it has no room for."""
    if len(said) > TURNS:
        said = [*said[: TURNS - 1], f"and {len(said) - TURNS + 1} more"]
    return np.array([[*said, *[""] * (TURNS - len(said))]], dtype=str)


def _own(q: Reads, options: Collection[int]) -> dict[int, float]:
    """Totals on the ground as it is, of options that pass."""
    return {
        o: q.number("total_cost", o) if q.number("checks_failed", o) == 0 else math.nan
        for o in options
    }


def _footprint(q: Reads) -> Floats:
    """Corners of the building, front left first, anticlockwise."""
    length, width = q.number("building_length_ft"), q.number("building_width_ft")
    return turned(q, np.array([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]))


class Grounds:
    """The options of a job on its ground at other falls.

    Args:
        trial: The rows from heights to total and checks.
        model: Whose rows they are.
        values: What the model knows, in its own units.
        q: Readings and place, in feet.

    Attributes:
        falls: The ground under the building.
        unit_ft: Fall of one step.
    """

    def __init__(self, trial: Trial, model: Model, values: Declared, q: Reads) -> None:
        from estimator.solve.falls import Falls

        self._trial, self._model, self._units, self._q = trial, model, OwnUnits(model), q
        self._values = {key: np.asarray(values[key]) for key in trial.reads}
        self._typed_over = values.typed_over
        self._total, self._failed = trial.goals
        self.falls = Falls(lot_ground(q), _footprint(q))
        self.unit_ft = UNIT_FT[model.measure]

    def totals(self, steps: Sequence[int], options: Sequence[int]) -> dict[int, dict[int, float]]:
        """Total cost by fall in steps and by option; NaN where the option does not pass."""
        found: dict[int, dict[int, float]] = {n: {} for n in steps}
        waiting = [(list(steps), list(options))] if steps else []
        while waiting:
            some, tried = waiting.pop()
            possible, total, failed = self._worked_out(some, tried)
            for row in np.flatnonzero(possible):
                passing = np.where(failed[row] == 0, total[row], math.nan)
                found[some[row]].update(zip(tried, passing.tolist(), strict=True))
            refused = [some[row] for row in np.flatnonzero(~possible)]
            if refused and len(tried) > 1:  # it may be one alone that can't be built
                waiting += [(refused, [option]) for option in tried]
            else:
                for n in refused:
                    found[n][tried[0]] = math.nan
        return found

    def heights(self, steps: Sequence[int]) -> dict[str, Floats]:
        """Heights of all readings at each fall, (falls, 1, rows), under the keys in feet."""
        fall = np.asarray(steps, dtype=np.float64) * self.unit_ft
        found = {}
        for _, x, y, height in _READINGS:
            place = np.stack([self._q.column(x), self._q.column(y)], axis=1)
            found[height] = self.falls.heights_ft(place, self._q.column(height), fall)[:, None]
        return found

    def _worked_out(
        self, steps: Sequence[int], options: Sequence[int]
    ) -> tuple[NDArray[np.bool_], Floats, Floats]:
        """Which falls can be worked out, totals and failed checks there, (falls, options)."""
        shape = len(steps), len(options)
        values = {
            key: array if array.shape[-2] == 1 else array[..., list(options), :]
            for key, array in self._values.items()
        }
        try:
            known, possible = self._trial.whole(
                values,
                self._units.in_own(self.heights(steps)),
                kept(self._model, self._typed_over, options),
            )
        except EstimatorError:
            return np.zeros(len(steps), dtype=bool), np.zeros(shape), np.zeros(shape)
        total, failed = (
            np.broadcast_to(np.asarray(known[key], dtype=np.float64)[..., 0], shape)
            for key in (self._total, self._failed)
        )
        return np.broadcast_to(possible.reshape(-1), len(steps)), total, failed
