"""Values over the axes of candidates, (candidates..., options, rows)."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.values import Values, as_values

Ints = NDArray[np.int64]


def moves(value: Values) -> bool:
    """Whether a value has candidates that may differ."""
    return value.ndim > 2 and math.prod(value.shape[:-2]) > 1


def narrow(value: Values, lead: int) -> Values:
    """A value without the axes of candidates along which it is the same all over.

    Args:
        value: (candidates..., options, rows).
        lead: How many axes candidates have; a value with none keeps none.
    """
    array = np.asarray(value)
    if array.ndim <= 2:
        return as_values(array)
    for axis in range(lead):
        if array.shape[axis] > 1:
            first = array[(slice(None),) * axis + (slice(0, 1),)]
            if (first == array).all():
                array = first
    if all(n == 1 for n in array.shape[:lead]):
        array = array.reshape(array.shape[lead:])
    return as_values(array)


def coded(value: Any, lead: int) -> Ints:
    """A number for each different content along the leading axes, of those axes alone."""
    array = np.ascontiguousarray(value)
    rows = array.reshape(math.prod(array.shape[:lead]), -1)
    seen: dict[bytes, int] = {}
    codes = [seen.setdefault(row.tobytes(), len(seen)) for row in rows]
    return np.array(codes, dtype=np.int64).reshape(array.shape[:lead])
