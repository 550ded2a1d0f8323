"""A job in feet, and the very same job as a metric workbook has it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import numpy as np
import pytest

from estimator.measures import ITEM_UNIT, KG_PER_LB, M3_PER_YD3, MM_PER_IN, metric_unit
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.metric_yard import SIZES, TEXTS
from estimator.model.solvers import candidates, contours, timber_frame
from estimator.units import M_PER_FT

ITEM_UNITS = {
    "yd3": ("m3", M3_PER_YD3),
    "ft2": ("m2", M_PER_FT**2),
    "ft": ("m", M_PER_FT),
    "lb": ("kg", KG_PER_LB),
}
"""Units by which items are sold, and how many metric ones make one of each."""
ITEMS = {old: new for old, new in TEXTS.items() if old.split(" ")[0] not in SIZES}
"""Keys of items; sizes are names, so that the same yard goes on selling 2x6."""


def factor_of(key: str) -> float:
    """How many of the metric unit of a quantity make one of the other."""
    return metric_unit(build_model().quantities[key].unit).factor


def in_item_unit(key: str) -> bool:
    """Whether a quantity counts in the own unit of an item."""
    return build_model().quantities[key].unit == ITEM_UNIT


def metric_inputs(inputs: Mapping[str, Any]) -> dict[str, Any]:
    """Inputs as read, in metric units: the same building, ground, price book and factors."""
    model = metric(build_model())
    sold = np.asarray(inputs["item_unit"])
    own = np.vectorize(lambda unit: ITEM_UNITS.get(unit, ("", 1.0))[1])(sold)
    found: dict[str, Any] = {}
    for key, value in inputs.items():
        array = np.asarray(value)
        if array.dtype.kind == "U":
            new = np.vectorize(metric_text, otypes=[str])(array)
        elif in_item_unit(key):
            new = array * own
        elif key == "item_lb":  # by the item's own unit
            new = array * factor_of(key) / own
        else:
            new = array * factor_of(key)
        found[model.name(key)] = new
    return found


def metric_text(text: str) -> str:
    """A key or a unit as the metric yard calls it."""
    if text.startswith("tube_"):
        return f"tube_{float(text.removeprefix('tube_')) * MM_PER_IN:.0f}"
    return ITEMS.get(text, ITEM_UNITS.get(text, (text, 1.0))[0])


@contextmanager
def alike_searches() -> Iterator[None]:
    """While this holds, solvers of both measures try the same sizes.

    A metric solver tries round metric sizes: stations every 0.6 m and not every 2 ft.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(candidates, "METRIC_SPACINGS", candidates.SPACINGS)
        patch.setattr(contours, "STEPS_M", [M_PER_FT * s for s in contours.STEPS_FT])
        for step in ("STATION_STEP", "RUN_STEP"):
            feet = getattr(timber_frame, f"{step}_FT")
            patch.setattr(timber_frame, f"{step}_M", M_PER_FT * feet)
        yield
