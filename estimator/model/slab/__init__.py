"""A concrete slab on the ground: of the sheets Options, Factors, Footings and Field Sheet.

Its modules add to these sheets, below what stands there, in this order.
"""

from __future__ import annotations

from estimator.model.footings import FOOTINGS
from estimator.model.slab import checks, field, inputs, limits, shape, steel, work

__all__ = ["FOOTINGS", "PARTS"]
"""The sheet, whole only once this package has added what a slab has."""

PARTS = (inputs, limits, shape, steel, work, checks, field)
