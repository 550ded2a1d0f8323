"""Solver of what-ifs: every option worked out again with a few inputs changed.

The model itself is worked out, from the inputs on; a solver on the way whose reads stay as they are
gives what it gave for the job.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import SOLVE, Declared, Model, Refused, Solver
from estimator.errors import EstimatorError, InputError
from estimator.evaluation import despite_refusals, work_out
from estimator.gather import contributed
from estimator.model.adds import Check
from estimator.model.solvers.changed_inputs import CHANGE_READS, Change, Inputs, changeable
from estimator.model.solvers.place_words import place_told
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.trial import rows_of
from estimator.model.solvers.turned_checks import Outcome, outcome_of, passing_told, turns_told
from estimator.model.what_if import HOURS, LINES, LOT, MORE, SAID, SOLVER, TOTALS
from estimator.rows import NOT_PRICED, OPTION_KEYS, USED, Sheet
from estimator.values import Values, as_values
from estimator.vocabulary import rounded

_LOG = logging.getLogger(__name__)

ASKED = "changes_asked"
TOLD = ("total_cost", "work_hours", "checks_failed")
PLACED = (
    "siting_wanted", "siting_says", "siting_now_cost",
    "place_cost", "place_x_ft", "place_y_ft", "place_turn_deg",
)  # fmt: skip
"""Told besides of what-ifs that change inputs of the search for a place."""
NOW = 0
"""Number of the job as it is among the what-ifs."""
UNUSED = "can't be used: see below"
"""Told beside a line in place of what the job has."""


def what_ifs(sheets: Sequence[Sheet], others: Sequence[Solver]) -> Solver:
    """The solver of what-ifs.

    Args:
        sheets: With what their assemblies contribute.
        others: Solvers that are asked again where a what-if changes what they read; what is
            suggested first stays as it is.
    """
    rows = rows_of(sheets)
    through = {solver.name: solver for solver in others}
    checks = tuple(item.key for item in contributed(sheets, Check))
    varied = frozenset(changeable(rows.quantities))
    reads = set(rows.standing((*TOLD, *checks, *PLACED), varied, through))
    terms = {key for key, item in rows.quantities.items() if item.field and item.field.stands_for}
    reads |= {ASKED, USED, NOT_PRICED, "option_kind", *CHANGE_READS, *terms}
    return Solver(
        SOLVER,
        "what-ifs",
        tuple(sorted(reads)),
        partial(solve_what_ifs, checks),
        live=False,  # no cell can name all that it reads
        counts_when=ASKED,
        worst=1,
        by_model=True,
        by_typed_over=True,
    )


def solve_what_ifs(checks: tuple[str, ...], values: Declared, model: Model) -> Mapping[str, Any]:
    """What every option costs and takes in each what-if, and which checks turn.

    Args:
        checks: Keys of all checks.
        values: What the model knows, in its own units.
        model: Whose rows are worked out again.
    """
    q = Reads(values)
    options = list(q.options())
    if q.number(ASKED) == 0 or not options:
        return _answer({}, [], {}, {})
    inputs = Inputs(model, values)
    placed = tuple(map(model.name, PLACED))
    rows = {
        False: Rows(model, values, (*TOLD, *checks)),
        True: Rows(model, values, (*TOLD, *checks, *placed)),
    }
    as_it_is = {False: rows[False].worked_out({})}
    outcomes = {NOW: outcome_of(as_it_is[False].values, options, *TOLD, checks)}
    labels = {key: model.quantities[key].label for key in checks}
    now: dict[int, str] = {}
    said: list[list[str]] = []
    for number, lines in inputs.cases().items():
        changes, fault = _read(inputs, lines)
        now |= {line: changes[line].now if line in changes else UNUSED for line in lines}
        _LOG.info("What-if %d", number)
        try:
            if fault is not None:
                raise fault
            sheets = (model.quantities[change.key].sheet for change in changes.values())
            searched = LOT in sheets
            if searched and searched not in as_it_is:
                as_it_is[searched] = rows[searched].worked_out({}, as_it_is[False])
            changed = inputs.changed(list(changes.values()))
            found = rows[searched].worked_out(changed, as_it_is[searched])
            if not (np.asarray(found.values[USED]) > 0).any():
                raise InputError("something is blank then that has to be typed (Start says what).")
        except EstimatorError as error:
            said.append([f"{number}: not worked out: {error}"])
            continue
        outcome = outcome_of(found.values, _priced(found.values, options), *TOLD, checks)
        outcomes[number] = outcome
        tried = "; ".join(f"{change.name}: {change.then}" for change in changes.values())
        turns = turns_told(outcomes[NOW], outcome, labels)
        told = [f"{tried}. {passing_told(outcomes[NOW], outcome)}", *found.refused, *turns]
        if searched:
            at = [model.quantities[key] for key in placed]
            told.insert(1, place_told(at, as_it_is[True].values, found.values, inputs.currency))
        said.append([f"{number}: {line}" for line in told])
    kinds = {o: f"{OPTION_KEYS[o]} ({q.text('option_kind', o)})" for o in options}
    return _answer(now, said, kinds, outcomes)


def _priced(values: Mapping[str, Values], options: Sequence[int]) -> list[int]:
    """Those of some options that are in use."""
    used = np.asarray(values[USED])[..., 0]
    return [option for option in options if used[option] > 0]


def _read(inputs: Inputs, lines: Sequence[int]) -> tuple[dict[int, Change], InputError | None]:
    """What the lines of a what-if change, by line; and the first thing that can't be used."""
    found: dict[int, Change] = {}
    fault: InputError | None = None
    kinds = inputs.kinds(lines)
    for line in lines:
        try:
            change = inputs.change(line, kinds)
        except InputError as error:
            fault = fault or InputError(f"line {line + 1}: {error}")
            continue
        for other, its in found.items():
            if (its.key, its.at) == (change.key, change.at):
                twice = f"lines {other + 1} and {line + 1} both change {change.name}."
                fault = fault or InputError(twice)
        found[line] = change
    return found, fault


def _answer(
    now: Mapping[int, str],
    said: Sequence[Sequence[str]],
    kinds: Mapping[int, str],
    outcomes: Mapping[int, Outcome],
) -> dict[str, Any]:
    """The columns of all tables.

    Args:
        now: What the job has of the inputs changed, by line.
        said: What is said of each what-if, line by line.
        kinds: What each option is called.
        outcomes: By what-if, that of the job as it is among them.
    """
    names = np.array([[kinds.get(o, "") for o in range(len(OPTION_KEYS))]])
    lines = _cut(said)
    answer: dict[str, Any] = {
        "change_now": np.array([[now.get(line, "") for line in range(LINES)]]),
        "case_says": np.array([[*lines, *[""] * (SAID - len(lines))]], dtype=str),
        "case_option": names,
        "case_worked": names,
    }
    blank = np.full((1, len(OPTION_KEYS)), math.nan)
    for keys, of in (
        (("case_total_now", *TOTALS), "totals"),
        (("case_hours_now", *HOURS), "hours"),
    ):
        for number, key in enumerate(keys):
            answer[key] = blank.copy()
            for option, value in getattr(outcomes.get(number), of, {}).items():
                answer[key][0, option] = value
    for total, more in zip(TOTALS, MORE, strict=True):
        answer[more] = rounded(answer[total] - answer["case_total_now"], 2)
    return answer


def _cut(said: Sequence[Sequence[str]]) -> list[str]:
    """Lines of all what-ifs, each with as much room as any other."""
    found: list[str] = []
    for number, lines in enumerate(said):
        room = (SAID - len(found)) // (len(said) - number)
        if len(lines) > room:
            more = f"and {len(lines) - room + 1} more checks turn"
            found += [*lines[: room - 1], f"{lines[0].split(':')[0]}: {more}"]
        else:
            found += lines
    return found


@dataclass(frozen=True, slots=True)
class Worked:
    """What is worked out, and what each solver on the way read and answered.

    Args:
        values: By key.
        asked: By solver, its reads and its answer.
        refused: Which options can't be supplied then, and why.
    """

    values: Mapping[str, Values]
    asked: Mapping[str, tuple[Mapping[str, Values], Mapping[str, Values]]]
    refused: tuple[str, ...] = ()


class Rows:
    """The rows of a model between its inputs and some of them, with the solvers on the way.

    Args:
        model: Whose rows they are.
        values: What the model knows, in its own units.
        goals: Keys of the rows wanted; those that rest on no input are left out.
    """

    def __init__(self, model: Model, values: Declared, goals: Sequence[str]) -> None:
        self._model, self._typed_over = model, values.typed_over
        known, self._order = _way(model, tuple(goals))
        self._known = {key: values[key] for key in known}

    def worked_out(self, inputs: Mapping[str, Values], like: Worked | None = None) -> Worked:
        """All of them, from inputs with other values; options that can't be supplied then as those
        that are not in use.

        Args:
            inputs: What is changed, by key.
            like: In which solvers may have read the very same.

        Raises:
            EstimatorError: From a solver, with the reason.
        """

        def attempt(values: dict[str, Values], refused: Refused) -> Worked:
            values.update({**self._known, **inputs})
            told = [f"not priced: {error}" for error in refused.values()]
            if refused:
                why = np.array(values[NOT_PRICED], dtype=object)
                why[list(refused), 0] = told
                values[NOT_PRICED] = as_values(why.astype(str))
            return Worked(values, self._asked(values, like), tuple(told))

        return despite_refusals(self._model, attempt)

    def _asked(
        self, values: dict[str, Values], like: Worked | None
    ) -> dict[str, tuple[Mapping[str, Values], Mapping[str, Values]]]:
        """Works them out; what each solver on the way read and answered."""
        asked: dict[str, tuple[Mapping[str, Values], Mapping[str, Values]]] = {}
        with np.errstate(all="ignore"):
            for key in self._order:
                name = key.removeprefix(SOLVE)
                if key == name:
                    work_out(self._model, key, values, {}, typed_over=self._typed_over)
                    continue
                solver = self._model.solvers[name]
                reads = {read: values[read] for read in (*solver.reads, *solver.prices)}
                if like and name in like.asked and _alike(reads, like.asked[name][0]):
                    answer = like.asked[name][1]
                else:
                    work_out(self._model, key, values, {}, typed_over=self._typed_over)
                    answer = {each: values[each] for each in self._model.writes[name]}
                values.update(answer)
                asked[name] = reads, answer
        return asked


@lru_cache(maxsize=4)
def _way(model: Model, goals: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What is taken as known for these goals, and what is worked out of it, in order."""
    reads = frozenset(model.solvers[SOLVER].reads) - {USED}  # something may be left blank
    met: set[str] = set()
    waiting = [USED, *goals]
    while waiting:
        key = waiting.pop()
        if key not in met:
            met.add(key)
            waiting += () if key in reads else model.after[key]
    return tuple(sorted(met & reads)), tuple(key for key in model.order if key in met - reads)


def _alike(one: Mapping[str, Values], other: Mapping[str, Values]) -> bool:
    return all(_same(np.asarray(value), np.asarray(other[key])) for key, value in one.items())


def _same(one: NDArray[Any], other: NDArray[Any]) -> bool:
    return np.array_equal(one, other, equal_nan=one.dtype.kind == other.dtype.kind == "f")
