"""A model worked out: every quantity in its order, solvers asked, typed-over cells kept.

An option that a solver refuses is worked out as one that is not in use.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeVar

import numpy as np

from estimator.engine import SOLVE, Declared, Model, Refused, Solver, TypedOver
from estimator.errors import OptionError, RowError
from estimator.rows import NOT_PRICED, USED, Quantity
from estimator.values import Values, as_values

T = TypeVar("T")

_AS_GIVEN = ("input", "mark")
"""Roles that keep what they are given in the column of an option that is not in use."""


def evaluate(
    model: Model,
    inputs: Mapping[str, Any],
    *,
    solved: Mapping[str, Any] | None = None,
    typed_over: TypedOver | None = None,
    refuse: Callable[[Mapping[str, Values]], None] | None = None,
) -> dict[str, Values]:
    """Values of every quantity.

    Args:
        model: The rows and solvers.
        inputs: Value of each input quantity: scalar, (options, 1), (1, rows) or with leading
            scenario axes.
        solved: Values of solved quantities as they stand; None runs the solvers.
        typed_over: Numbers or texts typed over computed cells; they win, and are used downstream.
        refuse: Raises for what an option may not be priced with, once everything is worked out.

    Returns:
        Arrays of shape (..., options or 1, block or 1). In the column of an unused option a
        number is NaN and a text empty.

    An option for which a solver has no answer is worked out as one that is not in use, if the model
    has a place for the reason and another option is left.

    Raises:
        EstimatorError: From a solver, with the reason.
    """

    def attempt(values: dict[str, Values], refused: Refused) -> dict[str, Values]:
        with np.errstate(all="ignore"):
            for key in model.order:
                work_out(
                    model,
                    key,
                    values,
                    inputs,
                    solved=solved,
                    typed_over=typed_over or {},
                    refused=refused,
                )
        if refuse is not None:
            refuse(values)
        return values

    return despite_refusals(model, attempt)


def despite_refusals(model: Model, attempt: Callable[[dict[str, Values], Refused], T]) -> T:
    """What comes of working a model out, without the options that can't be supplied.

    Args:
        model: What is worked out.
        attempt: Works it out, given where to put the values and which options to leave out.

    Raises:
        EstimatorError: From a solver, with the reason; for an option that can't be supplied, if no
            other is left or the model has no place for the reason.
    """
    refused: dict[int, OptionError] = {}
    while True:
        values: dict[str, Values] = {}
        try:
            return attempt(values, refused)
        except OptionError as error:
            if error.option in refused or not _others_left(model, values, error.option):
                raise next(iter(refused.values()), error) from None
            refused[error.option] = error


def _others_left(model: Model, values: Mapping[str, Values], option: int) -> bool:
    """Whether options are left without one that can't be supplied, which the model can tell of."""
    if NOT_PRICED not in model.quantities or USED not in values:
        return False
    used = np.asarray(values[USED])[..., 0] > 0
    return bool(np.delete(used, option, axis=-1).any())


def work_out(
    model: Model,
    key: str,
    values: dict[str, Values],
    inputs: Mapping[str, Any],
    *,
    solved: Mapping[str, Any] | None = None,
    typed_over: TypedOver = MappingProxyType({}),
    refused: Refused = MappingProxyType({}),
) -> None:
    """Add one quantity, or what one solver answers, to the values of what it comes after.

    Args:
        model: The rows and solvers.
        key: One of ``model.order``.
        values: What has been worked out, all of ``model.after[key]`` among it.
        inputs, solved, typed_over: As :func:`evaluate` has them.
        refused: Options that can't be supplied, as far as solvers were asked.

    Raises:
        EstimatorError: From a solver, with the reason.
    """
    if key.startswith(SOLVE):
        if solved is None:
            _solve(model, model.solvers[key.removeprefix(SOLVE)], values, typed_over, refused)
        return
    item = model.quantities[key]
    if item.role == "input":
        value = as_values(inputs[key])
    elif item.role == "index":
        value = as_values(np.arange(1.0, model.capacity(str(item.axis)) + 1.0)[None, :])
    elif item.role == "mark":
        value = as_values(inputs.get(key, 0.0))
    elif item.role == "solved":
        value = as_values(solved[key]) if solved is not None else values[key]
    elif item.role == "stack":
        value = _stacked([values[k] for k in model.stacks[key]])
    else:
        assert item.function is not None
        value = as_values(item.function(**{k: values[k] for k in item.reads}))
        if value.dtype == bool:
            value = as_values(np.asarray(value, dtype=float))
    quiet = item.by_option and item.role not in _AS_GIVEN and key not in model.spoken
    if quiet and USED in values:
        value = _quiet(value, values[USED])
    if key in typed_over:
        value = with_typed_over(model, item, value, typed_over[key])
    values[key] = value


def _solve(
    model: Model,
    solver: Solver,
    values: dict[str, Values],
    typed_over: TypedOver,
    refused: Refused,
) -> None:
    read = {k: values[k] for k in (*solver.reads, *solver.prices)}
    reads = Declared(solver.name, read, typed_over if solver.by_typed_over else None, refused)
    answer = solver.function(reads)
    lacking = [key for key in model.writes[solver.name] if key not in answer]
    if lacking:
        raise RowError(f"does not answer {lacking[0]!r}.", where=f"solver {solver.name}")
    for key in model.writes[solver.name]:
        values[key] = as_values(answer[key])


def _stacked(parts: Sequence[Values]) -> Values:
    arrays = [np.asarray(p) for p in parts]
    shape = np.broadcast_shapes(*(a.shape[:-1] for a in arrays))
    return as_values(np.concatenate([np.broadcast_to(a, (*shape, 1)) for a in arrays], axis=-1))


def _quiet(value: Values, used: Values) -> Values:
    """A value for every option: of one that reads the job alone the same, of a blank one none."""
    plain = np.asarray(value)
    blank: Any = "" if plain.dtype.kind == "U" else np.nan
    return as_values(np.where(np.asarray(used) > 0, plain, blank))


def with_typed_over(
    model: Model,
    item: Quantity,
    value: Values,
    cells: Mapping[tuple[int, int], float | str],
) -> Values:
    """A quantity's value with what is typed over some of its cells, by option and row."""
    rows = model.capacity(item.axis) if item.axis else 1
    options = max([value.shape[-2], *(o + 1 for o, _ in cells)]) if item.by_option else 1
    shape = (*value.shape[:-2], options, rows)
    full = np.broadcast_to(np.asarray(value), shape)
    full = full.astype(object)
    for (option, row), typed in cells.items():
        full[..., option if item.by_option else 0, row if item.axis else 0] = typed
    return as_values(full.astype(str if item.kind == "text" else float))
