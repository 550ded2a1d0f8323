"""A concrete slab on the ground: of the sheets Options, Factors, Footings and Field Sheet."""

from __future__ import annotations

from estimator.model.field_depths import FIELD_SHEET
from estimator.model.footings import FOOTINGS
from estimator.model.options import OPTIONS
from estimator.model.slab import checks, limits, shape, steel, work
from estimator.model.slab.field import FIELD
from estimator.model.slab.inputs import INPUTS

__all__ = ["FOOTINGS", "PARTS"]
"""The sheet, whole only once this package has added what a slab has."""

PARTS = (limits, shape, steel, work, checks)
"""What adds to the sheets below what stands there."""
OPTIONS.take(INPUTS, before="Floor")
FIELD_SHEET.take(FIELD, before="Order of work")
