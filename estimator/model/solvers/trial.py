"""Candidates tried on the very rows that work out the chosen design.

Each thing that is varied has a leading axis of its own, so that a row is worked out once for each
combination of what it really depends on, and numpy spreads it over the rest. Solvers on the way
are asked once for each combination of what they read. What is gathered of all assemblies (needs,
hours, boards, money) comes last, for those candidates alone that are still in the running.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import SOLVE, Declared, Solver
from estimator.errors import EstimatorError, RowError
from estimator.expression import Node, as_node, keys_of
from estimator.model.solvers.before import Before
from estimator.model.solvers.candidate_axes import coded, moves, narrow
from estimator.model.solvers.verdict import verdict
from estimator.retrace import retrace
from estimator.rows import Quantity, Section, Sheet
from estimator.values import Values, as_values

Bools = NDArray[np.bool_]
Known = dict[str, Values]
KEPT = 4
"""Of how many grids a trial keeps what it last worked out on them."""


@dataclass(frozen=True, slots=True)
class Rows:
    """The quantities of some sheets, and the parts of each stack."""

    quantities: Mapping[str, Quantity]
    stacks: Mapping[str, Sequence[str]]

    def rest_on(self, key: str, solvers: Collection[str], varied: Collection[str]) -> bool:
        """Whether a row depends on what these solvers give, but by way of what is varied."""
        seen = set(varied)
        waiting = [key]
        while waiting:
            at = waiting.pop()
            item = self.quantities.get(at)
            if at in seen or item is None:
                continue
            seen.add(at)
            if item.role == "solved" and item.solver in solvers:
                return True
            waiting += self.stacks.get(at, item.reads)
        return False

    def below(self, key: str, through: Mapping[str, Solver]) -> Sequence[str]:
        """What a row, a stack or a solver reads; nothing where it is taken as it stands."""
        if key.startswith(SOLVE):
            solver = through[key.removeprefix(SOLVE)]
            return (*solver.reads, *solver.prices)
        item = self.quantities.get(key)
        if item is None:  # a mark, which only the model has
            return ()
        if item.role == "stack":
            return self.stacks[key]
        if item.role == "solved" and item.solver in through:
            return (SOLVE + item.solver,)
        return item.reads if item.function else ()

    def depends(self, key: str, moves: dict[str, bool], through: Mapping[str, Solver]) -> bool:
        """Whether a row, a stack or a solver rests on what moves; what is found is kept there."""
        if key not in moves:
            below = self.below(key, through)
            moves[key] = any(self.depends(read, moves, through) for read in below)
        return moves[key]

    def standing(
        self, goals: Sequence[str], varied: Collection[str], through: Mapping[str, Solver]
    ) -> frozenset[str]:
        """Keys from which some rows can be worked out again, whatever is varied.

        Args:
            goals: Keys of the rows wanted.
            varied: Keys of rows that get other values.
            through: Solvers that may be asked again, by name; what others give stays as it is.
        """
        moves = dict.fromkeys(varied, True)
        found: set[str] = set()
        waiting, seen = list(goals), set(goals)
        while waiting:
            key = waiting.pop()
            if key in varied or not self.depends(key, moves, through):
                found.add(key)
                continue
            more = set(self.below(key, through)) - seen
            waiting += more
            seen |= more
        return frozenset(key for key in found if not self._made_of(key, found, through))

    def _made_of(self, key: str, known: Collection[str], through: Mapping[str, Solver]) -> bool:
        """Whether a row is made of what is known anyway."""
        item = self.quantities.get(key)
        made = item is not None and (item.function is not None or item.role in ("stack", "index"))
        return made and all(read in known for read in self.below(key, through))


def rows_of(sheets: Iterable[Sheet]) -> Rows:
    """The rows of sheets whose contributions are gathered."""
    quantities: dict[str, Quantity] = {}
    stacks: dict[str, Sequence[str]] = {}
    for sheet in sheets:
        quantities |= sheet.quantities
        for part in sheet.parts:
            if isinstance(part, Section) and part.stack:
                stacks[part.stack] = tuple(part.keys)
    return Rows(quantities, stacks)


class Trial:
    """The rows between what is varied and what is asked for, in order.

    Args:
        rows: All there are.
        varied: Keys of rows that get other values.
        goals: Keys of the rows wanted.
        checks: Keys of checks of which is asked whether they fail.
        through: Solvers that may be asked again, by name; what others give stays as it is.
        last: Solvers among them whose answers belong to the second half.

    Attributes:
        reads: Keys of what must be known.
        checks: Those of ``checks`` that depend on what is varied.

    Raises:
        RowError: If a row on the way reads other options than its own.
    """

    def __init__(
        self,
        rows: Rows,
        varied: Collection[str],
        goals: Sequence[str],
        *,
        checks: Sequence[str] = (),
        through: Mapping[str, Solver] | None = None,
        last: Collection[str] = (),
    ) -> None:
        self._rows = rows
        self._through = dict(through or {})
        self._moves: dict[str, bool] = dict.fromkeys(varied, True)
        self._verdicts: dict[str, Node] = {}
        for key in checks:
            if self._depends(key):
                node = self._verdict(key)
                if any(self._depends(read) for read in keys_of(node)):
                    self._verdicts[key] = node
        self.goals = tuple(goals)
        self.checks = tuple(self._verdicts)
        wanted = (*goals, *(k for node in self._verdicts.values() for k in sorted(keys_of(node))))
        self.reads = self._ordered(wanted, frozenset(varied), frozenset(last))

    def _verdict(self, key: str) -> Node:
        item = self._rows.quantities[key]
        assert item.function is not None
        refs = {read: self._rows.quantities[read].ref() for read in item.reads}
        return verdict(as_node(item.function(**refs)))

    def _below(self, key: str) -> Sequence[str]:
        return self._rows.below(key, self._through)

    def _depends(self, key: str) -> bool:
        return self._rows.depends(key, self._moves, self._through)

    def _ordered(
        self, wanted: Sequence[str], varied: frozenset[str], last: frozenset[str]
    ) -> frozenset[str]:
        """Sets the order of the steps, in two halves; returns what must be known."""
        order: dict[str, None] = {}
        known: set[str] = set()
        late: set[str] = set()

        def visit(key: str) -> None:
            if key in varied or key in order or key in known:
                return
            if not self._depends(key) and not self._made_again(key):
                known.add(key)
                return
            for read in self._below(key):
                visit(read)
            order[key] = None
            item = self._rows.quantities.get(key)
            if (
                (item is not None and item.role == "stack")
                or key.removeprefix(SOLVE) in last
                or late.intersection(self._below(key))
            ):
                late.add(key)
            if item is not None and not item.by_option and self._on_other_options(key):
                raise RowError("a suggestion would rest on other options.", where=key)

        for key in wanted:
            visit(key)
        self._early = tuple(k for k in order if k not in late)
        self._late = tuple(k for k in order if k in late)
        made = set(self._late)
        reads = {read for key in self._late for read in self._below(key)}
        reads |= {k for node in self._verdicts.values() for k in keys_of(node)} | set(self.goals)
        self._before: dict[tuple[tuple[int, ...], ...], Before] = {}
        self.late_reads = tuple(sorted(reads - made))
        """Keys that the second half reads of the first, or of what is known."""
        self._late_checks = {
            key: node for key, node in self._verdicts.items() if made & keys_of(node)
        }
        every = {read for key in order for read in self._below(key)}.union(
            *map(keys_of, self._verdicts.values())
        )
        items = [(key, self._rows.quantities.get(key)) for key in sorted(every | set(self.goals))]
        self._taken = {
            name: tuple(k for k, item in items if item and item.solver == name)
            for name in self._through
        }
        return frozenset(known)

    def _on_other_options(self, key: str) -> bool:
        """Whether a row of the job depends on what is varied by way of options."""
        below = [self._rows.quantities.get(read) for read in self._below(key)]
        return any(item and item.by_option and self._depends(item.key) for item in below)

    def _made_again(self, key: str) -> bool:
        """Whether what does not depend on what is varied is worked out all the same.

        A column of a table that is made of other rows, and what reads nothing at all: there is
        less to be known so.
        """
        item = self._rows.quantities.get(key)
        if item is None:
            return False
        if item.role == "stack":
            return True
        return item.function is not None and (not item.reads or item.axis == "item")

    def early(self, values: Mapping[str, Any], varied: Mapping[str, Any]) -> tuple[Known, Bools]:
        """The first half, over the axes of what is varied.

        Args:
            values: What ``reads`` names, of one option or of several.
            varied: Value of each varied key, (candidates along its own axis..., options or 1, 1).

        Returns:
            What is known then, and which candidates some solver could answer.
        """
        known = self._known(values, varied)
        shapes = tuple(known[key].shape for key in sorted(varied))
        before = self._before.pop(shapes, None) or Before({}, {})
        known, answered = self._made(self._early, known, {}, before)
        for oldest in list(self._before)[: 1 - KEPT]:
            del self._before[oldest]
        self._before[shapes] = Before(dict(known), answered)
        return known, _everywhere(answered, known)

    def whole(
        self,
        values: Mapping[str, Any],
        varied: Mapping[str, Any],
        changed: Mapping[str, Callable[[Values], Values]],
    ) -> tuple[Known, Bools]:
        """Both halves one after the other, all solvers on the way asked.

        Args:
            values, varied: As :meth:`early` has them.
            changed: By key, what is made of a value before others read it.

        Returns:
            As :meth:`early`.
        """
        steps = (*self._early, *self._late)
        known, answered = self._made(steps, self._known(values, varied), changed, Before({}, {}))
        return known, _everywhere(answered, known)

    def _known(self, values: Mapping[str, Any], varied: Mapping[str, Any]) -> Known:
        known = {key: as_values(values[key]) for key in self.reads}
        return known | {key: as_values(value) for key, value in varied.items()}

    def _made(
        self,
        steps: Sequence[str],
        known: Known,
        changed: Mapping[str, Callable[[Values], Values]],
        before: Before,
    ) -> tuple[Known, dict[str, Bools]]:
        """What is known after some steps, and where each solver on the way gave an answer.

        Args:
            steps: Keys of rows and solvers, in order.
            known: What is known already.
            changed: By key, what is made of a value before others read it.
            before: What came of the same steps once; nothing is changed then.
        """
        lead = max((value.ndim - 2 for value in known.values()), default=0)
        known = {key: before.again(key, value) for key, value in known.items()}
        answered: dict[str, Bools] = {}
        with np.errstate(all="ignore"):
            for key in steps:
                if key.startswith(SOLVE):
                    name = key.removeprefix(SOLVE)
                    if before.holds(self._below(key), known):
                        known |= {each: before.known[each] for each in self.gives(name)}
                        answered[name] = before.answered[name]
                    else:
                        answered[name] = self._asked(self._through[name], known, lead)
                        for each in self.gives(name):
                            known[each] = before.again(each, known[each])
                elif self._rows.quantities[key].role != "solved":
                    if before.holds(self._below(key), known):
                        known[key] = before.known[key]
                    else:
                        known[key] = before.again(key, narrow(self._value(key, known), lead))
                if key in changed:
                    known[key] = changed[key](known[key])
        return known, answered

    def late(
        self,
        known: Mapping[str, Values],
        changed: Mapping[str, Callable[[Values], Values]] | None = None,
    ) -> Known:
        """The second half.

        Args:
            known: What ``late_reads`` names, and what the last solvers gave.
            changed: For the key of a row, what is made of its value before others read it.
        """
        found = dict(known)
        with np.errstate(all="ignore"):
            for key in self._late:
                if not key.startswith(SOLVE) and key not in found:
                    found[key] = as_values(self._value(key, found))
                    if changed and key in changed:
                        found[key] = changed[key](found[key])
        return found

    def failing(self, known: Mapping[str, Values], *, late: bool) -> dict[str, Bools]:
        """By check of a half, which candidates it fails, (candidates..., options, 1)."""
        found = {}
        with np.errstate(all="ignore"):
            for key, node in self._verdicts.items():
                if (key in self._late_checks) == late:
                    value = retrace(node, {k: known[k] for k in keys_of(node)})
                    found[key] = np.asarray(as_values(value), dtype=float) > 0
        return found

    def depends(self, key: str) -> bool:
        """Whether a row depends on what is varied."""
        return self._depends(key)

    def gives(self, solver: str) -> tuple[str, ...]:
        """What the rows on the way take of a solver's answer."""
        return self._taken[solver]

    def reads_of(self, check: str) -> frozenset[str]:
        """What tells whether a check fails."""
        return keys_of(self._verdicts[check])

    def by_option(self, key: str) -> bool:
        """Whether a value may differ between options."""
        item = self._rows.quantities.get(key)
        return item is None or item.by_option

    def asks(self, solver: str) -> tuple[str, ...]:
        """What a solver on the way reads."""
        return tuple(self._below(SOLVE + solver))

    def answer(self, solver: str, values: Mapping[str, Any]) -> Mapping[str, Any] | None:
        """What a solver on the way answers; None where it refuses."""
        return _answer(self._through[solver], values)

    def _value(self, key: str, known: Mapping[str, Values]) -> Values:
        item = self._rows.quantities[key]
        if item.role == "stack":
            return _stacked([known[part] for part in self._rows.stacks[key]])
        assert item.function is not None
        return as_values(item.function(**{read: known[read] for read in item.reads}))

    def _asked(self, solver: Solver, known: Known, lead: int) -> Bools:
        """Asks a solver once for each combination of what it reads; adds its answers to ``known``.

        Returns:
            Where it gave any.
        """
        reads = {key: known[key] for key in (*solver.reads, *solver.prices)}
        moving = {key: value for key, value in reads.items() if moves(value)}
        fixed = {
            key: value.reshape(value.shape[-2:])
            for key, value in reads.items()
            if key not in moving
        }
        shape = np.broadcast_shapes((1,) * lead, *(v.shape[:lead] for v in moving.values()))
        case = np.zeros(shape, dtype=np.int64)
        for value in moving.values():
            codes = coded(value, lead)
            _, case = np.unique(case * (codes.max() + 1) + codes, return_inverse=True)
            case = case.reshape(shape)
        _, first = np.unique(case, return_index=True)
        answers = []
        for at in zip(*np.unravel_index(first, shape), strict=True):
            here = {
                key: value[tuple(n if value.shape[axis] > 1 else 0 for axis, n in enumerate(at))]
                for key, value in moving.items()
            }
            answers.append(_answer(solver, fixed | here))
        given = next((answer for answer in answers if answer is not None), None)
        if given is None:
            raise EstimatorError(f"{solver.label}: none of the candidates has an answer.")
        gave = np.array([answer is not None for answer in answers])[case]
        options = max(value.shape[-2] for value in reads.values())
        for key in self.gives(solver.name):
            block = np.stack([_first((answer or given)[key], options) for answer in answers])
            known[key] = narrow(as_values(block[case]), lead)
        return gave


def _answer(solver: Solver, values: Mapping[str, Any]) -> Mapping[str, Any] | None:
    try:
        return solver.function(Declared(solver.name, dict(values)))
    except EstimatorError:
        return None


def _everywhere(answered: Mapping[str, Bools], known: Known) -> Bools:
    """Which candidates every solver had an answer for."""
    lead = max((value.ndim - 2 for value in known.values()), default=0)
    possible = np.ones((1,) * lead, dtype=bool)
    for each in answered.values():
        possible = possible & each
    return possible


def _first(value: Any, options: int) -> NDArray[Any]:
    """The answer for the options that there are; solvers answer for all columns."""
    array = np.asarray(as_values(value))
    return array[:options] if array.shape[0] > 1 else array


def _stacked(parts: Sequence[Values]) -> Values:
    arrays = [np.asarray(p) for p in parts]
    shape = np.broadcast_shapes(*(a.shape[:-1] for a in arrays))
    return as_values(np.concatenate([np.broadcast_to(a, (*shape, 1)) for a in arrays], axis=-1))
