"""The sheets joined: checked, traced, and put in order with the solvers.

A :class:`Model` joins the sheets, checks them, traces every function once into an expression and
orders everything, solvers included, so that each comes after what it reads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial, reduce
from graphlib import CycleError, TopologicalSorter
from typing import Any, Literal

import numpy as np

from estimator.amounts import Measure
from estimator.appearance import unknown
from estimator.errors import EstimatorError, OptionError, RowError
from estimator.expression import Node, Ref, as_node, keys_of
from estimator.formula import Resolver, emit
from estimator.keys import KIND
from estimator.retrace import retrace
from estimator.rows import (
    MARKS_SHEET,
    NOT_PRICED,
    PROBLEMS,
    SPOILED,
    TYPED_OVER,
    USED,
    Quantity,
    Section,
    Sheet,
    Table,
    mark_of,
)
from estimator.values import Values
from estimator.vocabulary import Q, across
from estimator.wording import worded, worded_answers, worded_sheet

SOLVE = "solve "
"""What stands before the name of a solver among the steps of a model."""

Solve = Callable[..., Mapping[str, Any]]
Keep = Callable[[Mapping[str, Values], Mapping[str, Any]], Mapping[str, Any]]


OUT_OF_DATE = 2
"""The worst mark of a solver: what its answer must satisfy has changed."""


@dataclass(frozen=True, slots=True)
class Solver:
    """What a formula can't do: reads quantities, writes solved ones.

    Args:
        name: Short plain name, shown in the out-of-date marks.
        reads: Keys whose change makes the answer wrong.
        prices: Keys whose change leaves it valid but perhaps no longer cheapest.
        function: From the values read to the values of every quantity that names this solver.
        live: Whether a copy with live functions may answer it in the cell.
        counts_when: One of ``reads``, a number: while it is 0 the answer is the same whatever else
            was read, so that nothing but a change of this number leaves a mark. Empty: always.
        worst: How bad its mark makes the state of the whole at most: 2, out of date, or 1, where
            no quantity to build or to buy rests on it.
        keep: In place of ``function`` when a workbook is refilled: from the values read and the
            answer that the workbook holds to the new answer, so it is never live. None: nothing
            is remembered.
        by_measure: Whether ``function`` is also given the system of measure, as ``measure``: the
            round steps that it takes are those of its tape.
        by_model: Whether ``function`` is also given the model that asks, as ``model``: it works on
            the model's own rows, reads and answers in its keys and units.
        by_typed_over: Whether ``function`` heeds what is typed over rows that it works out again;
            it is told as :attr:`Declared.typed_over`.
    """

    name: str
    label: str
    reads: tuple[str, ...]
    function: Solve
    prices: tuple[str, ...] = ()
    live: bool = True
    counts_when: str = ""
    worst: Literal[1, 2] = 2
    keep: Keep | None = None
    by_measure: bool = False
    by_model: bool = False
    by_typed_over: bool = False


@dataclass(frozen=True, slots=True)
class Written:
    """What a model was made of, the amounts in its texts still marked for every measure."""

    sheets: tuple[Sheet, ...]
    solvers: tuple[Solver, ...]
    expressions: Mapping[str, Node]


TypedOver = Mapping[str, Mapping[tuple[int, int], float | str]]
"""Typed-over cells: key -> {(option index, block index): value}."""
Refused = Mapping[int, OptionError]
"""Options, counted from 0, for which a solver has no answer, and why."""


class Declared(dict[str, Any]):
    """What a solver is given: what it declares to read; anything else is refused by name.

    Attributes:
        typed_over: What is typed over computed cells, for a solver that heeds it.
        refused: Options that can't be supplied, as far as solvers were asked.
    """

    def __init__(
        self,
        solver: str,
        values: Mapping[str, Any],
        typed_over: TypedOver | None = None,
        refused: Refused | None = None,
    ) -> None:
        super().__init__(values)
        self.solver = solver
        self.typed_over: TypedOver = typed_over or {}
        self.refused: Refused = refused or {}

    def __missing__(self, key: str) -> Any:
        raise RowError(
            f"reads {key!r} without declaring it.",
            where=f"solver {self.solver}",
            cure="Name it among its reads or prices.",
        )


class Model:
    """All sheets and solvers, checked and in order.

    Args:
        sheets: In the workbook's order, with the amounts in their texts marked.
        solvers: In the order in which they are listed.
        measure: System of measure of the quantities, and the one that all texts read in.
        names: In a model that was converted, its key for every key that it had.

    Raises:
        RowError: Naming the row: unknown quantity, key used twice, a circle, an ``if`` on a
            quantity, blocks that don't match, a solved quantity without its solver.
    """

    def __init__(
        self,
        sheets: Sequence[Sheet],
        solvers: Sequence[Solver],
        *,
        measure: Measure = "feet",
        names: Mapping[str, str] | None = None,
    ) -> None:
        self.measure = measure
        self.names: Mapping[str, str] = names or {}
        self.sheets = tuple(worded_sheet(sheet, measure) for sheet in sheets)
        self.solvers = {s.name: _worded_solver(self._asking(s), measure) for s in solvers}
        self.quantities: dict[str, Quantity] = {}
        for sheet in self.sheets:
            for key, item in sheet.quantities.items():
                if key in self.quantities:
                    raise RowError("two sheets have this key.", where=f"{sheet.name}.{key}")
                self.quantities[key] = self._stated(item) if item.role == "state" else item
        for solver in solvers:
            key = mark_of(solver.name)
            label = f"State of {solver.label}"
            self.quantities[key] = Quantity(
                key, label, "", MARKS_SHEET, "mark", fmt="0", by_option=True
            )
        self.quantities[PROBLEMS] = Quantity(
            PROBLEMS, "Inputs that can't be read", "count", "Lists", "mark", fmt="0"
        )
        self.quantities[TYPED_OVER] = Quantity(
            TYPED_OVER, "Numbers typed over", "cells", "Lists", "mark", fmt="0"
        )
        self.quantities[SPOILED] = Quantity(
            SPOILED, "Cells that hold no number, sheets missing", "count", "Lists", "mark", fmt="0"
        )
        self.stacks: dict[str, tuple[str, ...]] = {
            part.stack: tuple(part.keys)
            for sheet in self.sheets
            for part in sheet.parts
            if isinstance(part, Section) and part.stack
        }
        self.terms: dict[str, str] = {
            item.field.stands_for: key
            for key, item in self.quantities.items()
            if item.field is not None and item.field.stands_for
        }
        """Words of labels and units, and the job's inputs that say what they are in a workbook."""
        self._refuse_unlike()
        self.tables: dict[str, Table] = {
            part.axis: part
            for sheet in self.sheets
            for part in sheet.parts
            if isinstance(part, Table)
        }
        self._check_appearance()
        self._check_links()
        self._check_fields()
        self.writes: dict[str, tuple[str, ...]] = dict.fromkeys(self.solvers, ())
        for key, item in self.quantities.items():
            if item.role == "solved":
                if item.solver not in self.solvers:
                    raise RowError(f"unknown solver {item.solver!r}.", where=_place(item))
                self.writes[item.solver] += (key,)
        traced = self._trace_all()
        self.written = Written(tuple(sheets), tuple(solvers), traced)
        self.expressions = {key: self._worded(key, node) for key, node in traced.items()}
        self.after = self._comes_after()
        """What each key of :attr:`order` is worked out after, directly."""
        self.spoken = self._spoken()
        """Rows and solved quantities that an option not in use has too."""
        self._keep_quiet()
        self.order = self._sort()
        self._upstream = self._close()

    def _asking(self, solver: Solver) -> Solver:
        """A solver that is told which model asks, where it wants to know."""
        if not solver.by_model:
            return solver
        return replace(solver, function=partial(solver.function, model=self))

    def _check_appearance(self) -> None:
        """Refuse a look that is declared of what is not there."""
        for sheet in self.sheets:
            wrong = unknown(sheet.shows.keys(), self.quantities)
            for part in sheet.parts:
                if isinstance(part, Table):
                    wrong = wrong or unknown(part.shows.keys(), part.keys)
                    headed = part.shows.headed
                    by = iter((headed.by,)) if headed else iter(())
                    wrong = wrong or unknown(by, self.quantities)
            if wrong:
                raise RowError(
                    f"a look is declared of {wrong!r}, which is not there.", where=sheet.name
                )

    def _check_links(self) -> None:
        """Refuse a link to what is no input."""
        for item in self.quantities.values():
            led = self.quantities.get(item.mended_at)
            if item.mended_at and (led is None or led.role != "input"):
                raise RowError(
                    f"{item.mended_at!r}, where it is mended, is no input.", where=_place(item)
                )

    def _check_fields(self) -> None:
        """Refuse an input of an unknown kind or column, and two of a sheet with one label."""
        chosen = self.quantities.get(KIND)
        kinds = chosen.field.choices if chosen and chosen.field else ()
        labels: set[tuple[str, str]] = set()
        for item in self.quantities.values():
            field = item.field
            if field is None:
                continue
            columns = (field.refers, field.by_key, field.unlike, *field.among[:1])
            wrong = unknown(filter(None, columns), self.quantities)
            wrong = wrong or (unknown(field.kinds, kinds) if kinds else "")
            if wrong:
                raise RowError(f"names {wrong!r}, which is not there.", where=_place(item))
            if item.axis is None and (item.sheet, item.label) in labels:
                raise RowError(
                    f"another input of the sheet is called {item.label!r} too.",
                    where=_place(item),
                    cure="A what-if names inputs by their labels: give it one of its own.",
                )
            if item.axis is None:
                labels.add((item.sheet, item.label))

    def _refuse_unlike(self) -> None:
        """Refuse sections still to be gathered, and blocks of one axis that don't match."""
        lines: dict[str, int] = {}
        for key, rows in self.stacks.items():
            item = self.quantities[key]
            if not rows:
                raise RowError("the section has no rows; see gather().", where=_place(item))
            if lines.setdefault(str(item.axis), len(rows)) != len(rows):
                raise RowError(f"not as long as the other {item.axis} blocks.", where=_place(item))

    def _stated(self, item: Quantity) -> Quantity:
        """A row of the worst mark, made of the solvers that there are."""
        if not self.solvers:
            raise RowError("there is no solver whose mark it could tell.", where=_place(item))
        worst = {mark_of(solver.name): solver.worst for solver in self.solvers.values()}
        function = partial(_worst_mark, worst, by_option=item.by_option)
        return replace(item, role="row", reads=tuple(worst), function=function)

    def _trace_all(self) -> dict[str, Node]:
        """Every row's expression; what is wrong with several rows is said of all at once."""
        traced: dict[str, Node] = {}
        errors: list[RowError] = []
        refs = {key: item.ref() for key, item in self.quantities.items()}
        for key, item in self.quantities.items():
            try:
                if item.function:
                    traced[key] = self._trace(item, refs)
            except RowError as error:
                errors.append(error)
        if len(errors) == 1:
            raise errors[0]
        if errors:
            raise RowError("\n".join(str(error) for error in errors)) from errors[0]
        return traced

    def _trace(self, item: Quantity, refs: Mapping[str, Ref]) -> Node:
        missing = [k for k in item.reads if k not in self.quantities]
        if missing:
            raise RowError(
                f"unknown quantity {missing[0]!r}.",
                where=_place(item),
                cure="Is its chapter on a sheet, and the sheet in SHEETS?",
            )
        assert item.function is not None
        try:
            node = as_node(item.function(**{k: refs[k] for k in item.reads}))
        except EstimatorError as error:
            raise RowError(str(error), where=_place(item)) from error
        except (TypeError, AttributeError, ValueError, RecursionError) as error:
            raise RowError(f"can't become a formula ({error}).", where=_place(item)) from error
        if node.axis is not None and node.axis != item.axis:
            raise RowError(
                f"a row can't be a whole {node.axis} block.",
                where=_place(item),
                cure="Sum it, look one line of it up, or make it a column of that table.",
            )
        if node.by_option and not item.by_option:
            raise RowError(
                "a job row can't read one option.",
                where=_place(item),
                cure="Take the chosen one's with pick(..., chosen_no), or all with across(...).",
            )
        if (node.kind == "text") != (item.kind == "text"):
            raise RowError(
                f"yields {node.kind}, declared {item.kind}.",
                where=_place(item),
                cure='A row is a number unless it says kind="text".',
            )
        unused = set(item.reads) - keys_of(node)
        if unused:
            raise RowError(
                f"never reads {sorted(unused)[0]!r}.",
                where=_place(item),
                cure="Take it out of its parameters.",
            )
        return node

    def _worded(self, key: str, node: Node) -> Node:
        """The expression with its texts in the model's measure; the row then works out that."""
        item = self.quantities[key]
        try:
            read = worded(node, self.measure)
        except RowError as error:
            raise RowError(error.what, where=_place(item), cure=error.cure) from error
        if read is not node:
            self.quantities[key] = replace(item, function=partial(_worked_out, read))
        return read

    def _comes_after(self) -> dict[str, tuple[str, ...]]:
        graph: dict[str, tuple[str, ...]] = {}
        for key, item in self.quantities.items():
            if item.role == "stack":
                graph[key] = self.stacks[key]
            elif item.role == "solved":
                graph[key] = (SOLVE + item.solver,)
            else:
                graph[key] = item.reads
        for solver in self.solvers.values():
            reads = (*solver.reads, *solver.prices)
            for key in reads:
                if key not in self.quantities:
                    raise RowError(f"unknown quantity {key!r}.", where=f"solver {solver.name}")
            if solver.counts_when and solver.counts_when not in solver.reads:
                raise RowError(
                    f"counts when {solver.counts_when!r} says so, which is none of its reads.",
                    where=f"solver {solver.name}",
                )
            if solver.live and solver.keep is not None:
                raise RowError(
                    "keeps to its last answer, which no live function knows: live=False.",
                    where=f"solver {solver.name}",
                )
            graph[SOLVE + solver.name] = reads
        return graph

    def _sort(self) -> tuple[str, ...]:
        try:
            return tuple(TopologicalSorter(self.after).static_order())
        except CycleError as error:
            circle = " <- ".join(error.args[1])
            raise RowError(f"rows read each other in a circle: {circle}.") from error

    def _spoken(self) -> frozenset[str]:
        """What the test that keeps an option quiet is made of, and rows that tell why it is."""
        before, waiting = set[str](), [USED] if USED in self.quantities else []
        while waiting:
            key = waiting.pop()
            if key not in before:
                before.add(key)
                waiting.extend(self.after.get(key, ()))
        rows = (item for item in self.quantities.values() if item.by_option)
        return frozenset(before | {item.key for item in rows if NOT_PRICED in item.reads})

    def _keep_quiet(self) -> None:
        """Let what an option has wait for the test that keeps an unused one blank."""
        if USED not in self.quantities:
            return
        for key, item in self.quantities.items():
            made = item.by_option and item.role in ("row", "solved", "stack")
            if made and key not in self.spoken:
                self.after[key] = (*self.after[key], USED)

    def _close(self) -> dict[str, frozenset[str]]:
        found: dict[str, frozenset[str]] = {}
        for key in self.order:
            if key.startswith(SOLVE):
                solver = self.solvers[key.removeprefix(SOLVE)]
                below = [found[k] for k in (*solver.reads, *solver.prices)]
                found[key] = frozenset({solver.name}).union(*below)
                continue
            item = self.quantities[key]
            if key == NOT_PRICED:  # told of solvers' refusals, and no state of what they read
                found[key] = frozenset()
            elif item.role == "solved":
                found[key] = found[SOLVE + item.solver]
            else:
                reads = self.stacks[key] if item.role == "stack" else item.reads
                found[key] = frozenset().union(*(found[k] for k in reads))
        return found

    def upstream(self, key: str) -> frozenset[str]:
        """Names of the solvers that a quantity depends on, directly or not."""
        return self._upstream[key]

    def formula(self, key: str, at: Resolver) -> str:
        """Formula text of a computed quantity, seen from one cell, without the leading ``=``.

        Raises:
            RowError: Naming the row, if no formula can say it: too long, too deep, a function
                over a block inside a sum.
        """
        try:
            return emit(self.expressions[key], at)
        except RowError as error:
            raise RowError(
                error.what, where=_place(self.quantities[key]), cure=error.cure
            ) from error

    def capacity(self, axis: str) -> int:
        """Rows of a table, or of a stack of rows."""
        if axis in self.tables:
            return self.tables[axis].capacity
        return next(len(v) for k, v in self.stacks.items() if self.quantities[k].axis == axis)

    def name(self, key: str) -> str:
        """What this model calls a quantity: its key, which ends in another unit in a metric one."""
        return self.names.get(key, key)

    def rows(self) -> Iterator[Quantity]:
        """Computed quantities in calculation order."""
        return (self.quantities[k] for k in self.order if k in self.expressions)


def _worked_out(node: Node, **values: Any) -> Any:
    return retrace(node, values)


def _worded_solver(solver: Solver, measure: Measure) -> Solver:
    keep, function = solver.keep, solver.function
    if solver.by_measure:
        function = partial(function, measure=measure)
    return replace(
        solver,
        function=worded_answers(function, measure),
        keep=None if keep is None else worded_answers(keep, measure),
    )


def _worst_mark(worst: Mapping[str, int], *, by_option: bool, **marks: Q) -> Q:
    """The worst mark of an option, or of the whole job; some solvers' marks count as 1 at most."""
    each = {key: mark if by_option else across("MAX", mark) for key, mark in marks.items()}
    grades = []
    for most in sorted(set(worst.values())):
        found = reduce(np.maximum, [each[key] for key in worst if worst[key] == most])
        grades.append(np.minimum(found, most) if most < OUT_OF_DATE else found)
    return reduce(np.maximum, grades)


def _place(item: Quantity) -> str:
    return f"{item.sheet}.{item.key}"
