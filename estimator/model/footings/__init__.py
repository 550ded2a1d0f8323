"""Sheet Footings: what carries the floor, and every support at its own spot."""

from __future__ import annotations

from estimator.appearance import SheetAppearance
from estimator.model.footings.beams import BEAMS
from estimator.model.footings.continuity import CONTINUITY
from estimator.model.footings.loads import LOADS
from estimator.model.footings.places import PLACES, SUPPORTS_MOST
from estimator.model.footings.skids import SKIDS
from estimator.model.footings.supports import STANDING
from estimator.model.footings.weights import WEIGHTS
from estimator.model.footings.wind_loads import WIND_LOADS
from estimator.model.footings.wind_screen import WIND
from estimator.rows import Sheet

__all__ = ["FOOTINGS", "SUPPORTS_MOST"]

FOOTINGS = Sheet(
    "Footings",
    "Footings: loads, skids, piers, blocks and beams",
    "Allowable stress design and presumptive bearing. Local codes and licensed practice govern.",
    LOADS,
    WEIGHTS,
    CONTINUITY,
    SKIDS,
    STANDING,
    BEAMS,
    WIND_LOADS,
    WIND,
    PLACES,
    shows=SheetAppearance(upright=True),
)
