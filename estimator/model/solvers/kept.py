"""What is typed over rows, where a solver works these out again for some of the options."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

import numpy as np

from estimator.engine import Model, TypedOver
from estimator.evaluation import with_typed_over
from estimator.rows import Quantity
from estimator.values import Values, as_values


def kept(
    model: Model, typed_over: TypedOver, options: Sequence[int]
) -> dict[str, Callable[[Values], Values]]:
    """By key, what puts into a value what is typed over it, in the columns of these options."""
    column = {option: at for at, option in enumerate(options)}
    found: dict[str, Callable[[Values], Values]] = {}
    for key, cells in typed_over.items():
        item = model.quantities[key]
        here = {
            (column.get(option, 0), row): value
            for (option, row), value in cells.items()
            if option in column or not item.by_option
        }
        if here:
            found[key] = partial(_with, model, item, len(options), here)
    return found


def _with(
    model: Model,
    item: Quantity,
    options: int,
    cells: Mapping[tuple[int, int], float | str],
    value: Values,
) -> Values:
    """A value with what is typed over it, in as many columns as there are options."""
    if item.by_option:
        plain = np.asarray(value)
        value = as_values(np.broadcast_to(plain, (*plain.shape[:-2], options, plain.shape[-1])))
    return with_typed_over(model, item, value, cells)
