"""A concrete slab on the ground: of the sheets Options, Factors, Footings and Field Sheet."""

from __future__ import annotations

from estimator.contributions import Fixed, OfKind
from estimator.model.footings import FOOTINGS
from estimator.model.kinds import FLOORS
from estimator.model.options import OPTIONS
from estimator.model.slab import checks, field, limits, shape, steel, work
from estimator.model.slab.inputs import INPUTS

PARTS = (limits, shape, steel, work, checks, field)
"""What adds to the sheets below what stands there."""
OPTIONS.take(INPUTS, before="Floor")
FOOTINGS.adds(
    OfKind(
        key="slab",
        label="Slab",
        kinds=FLOORS,
        rows={
            "pier_depth_in": "slab_below_in",
            "hole_yd3": "slab_trench_yd3",
            "concrete_yd3": "slab_yd3",
            "mix_way_cost": "slab_placing_cost",
            "soil_psf": "slab_psf",
            "bearer_in": "slab_thick_used_in",
            "field_strings": Fixed("forms and slab"),
        },
    )
)
