"""Limits of an input round its usual value, so near that one typed in another unit is refused."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from estimator.inputs import Field
from estimator.measures import limit, metric_unit

TIMES: Final = 8.0
"""How many times the usual value an input may be, or a part of it; centimetres are 10 millimetres,
square feet 10.8 to the square metre, and a limit is made rounder, in metric units once more."""


def near_usual(field: Field) -> Field:
    """A field with limits no wider than that, where its unit has another in its place.

    0 is taken as before. What holds may hold much more: a force keeps its most.
    """
    usual = field.default
    unit = metric_unit(field.unit)
    if not isinstance(usual, (int, float)) or usual <= 0 or unit.name == field.unit:
        return field
    most = field.high if field.unit == "lbf" else limit(usual * TIMES, up=True)
    least = limit(usual / TIMES, up=False)
    return replace(
        field,
        low=max(field.low, least),
        high=min(field.high, most),
        zero=field.low <= 0,
    )
