"""A concrete slab on the ground: of the sheets Options, Factors, Footings and Field Sheet.

Its chapters stand below what these sheets have already.
"""

from __future__ import annotations

from estimator.model.factors import FACTORS
from estimator.model.field_depths import FIELD_SHEET
from estimator.model.footings import FOOTINGS
from estimator.model.options import OPTIONS
from estimator.model.slab.checks import CHECKS
from estimator.model.slab.field import FIELD
from estimator.model.slab.inputs import INPUTS
from estimator.model.slab.limits import LIMITS
from estimator.model.slab.shape import SHAPE
from estimator.model.slab.steel import STEEL
from estimator.model.slab.work import WORK

__all__ = ["FOOTINGS"]
"""The sheet, whole only once this package has added what a slab has."""

PLACED = {
    OPTIONS: (INPUTS,),
    FACTORS: (LIMITS,),
    FOOTINGS: (SHAPE, STEEL, WORK, CHECKS),
    FIELD_SHEET: (FIELD,),
}
"""Chapters by the sheet that they stand on."""
for _sheet, _chapters in PLACED.items():
    for _chapter in _chapters:
        _sheet.take(_chapter)
