"""Values of a model in its own units, for a solver that works on the model's own rows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from estimator.amounts import Measure
from estimator.engine import Model
from estimator.measures import UNITS

_METRIC = {unit: UNITS[unit].factor for unit in ("ft", "in", "ft2", "ft3")}
_DIGITS = 9
"""Decimals kept unless more are asked for, so that 400 mm stay 400."""


@dataclass(frozen=True, slots=True)
class OwnUnits:
    """A model's keys and lengths, areas and volumes for those in feet; without a model the same.

    Args:
        model: Whose they are.
        digits: Decimals kept.
    """

    model: Model | None = None
    digits: int = _DIGITS

    @property
    def measure(self) -> Measure:
        """System of measure of the model."""
        return self.model.measure if self.model else "feet"

    def name(self, key: str) -> str:
        """What the model calls a quantity."""
        return self.model.name(key) if self.model else key

    def in_feet(self, values: Mapping[str, Any], keys: Iterable[str]) -> dict[str, Any]:
        """Values under the keys of the model in feet; lengths in feet and inches.

        No densities: what ends in ``_lb_ft3`` would be taken for a volume.
        """
        found = {key: values[self.name(key)] for key in keys}
        if self.measure == "feet":
            return found
        return {key: self._scaled(key, value, divide=True) for key, value in found.items()}

    def in_own(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Values under the keys of the model in feet, as the model has them."""
        if self.measure == "feet":
            return dict(values)
        return {
            self.name(key): self._scaled(key, value, divide=False) for key, value in values.items()
        }

    def _scaled(self, key: str, value: Any, *, divide: bool) -> Any:
        factor = _METRIC.get(key.rpartition("_")[2])
        if factor is None:
            return value
        array = np.asarray(value, dtype=float)
        return np.round(array / factor if divide else array * factor, self.digits)
