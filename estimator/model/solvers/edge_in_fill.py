"""How much fill the edge of a slab takes the place of, by the height that the slab is set at.

The rows of the slab, worked out at other heights than the chosen one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.model.footings.supports import weight_psf
from estimator.model.grading import edge_in_fill_yd3
from estimator.model.slab import shape
from estimator.model.solvers.reads import Reads
from estimator.units import FT3_PER_YD3, IN_PER_FT
from estimator.values import as_values

Floats = NDArray[np.float64]
_DIGITS = 9
"""Decimals to which a row rounds before it rounds up."""
EDGE_READS = (
    "slab_thick_used_in",
    "slab_below_in",
    "slab_edge_plf",
    "slab_edge_in",
    "edge_least_in",
    "edge_step_in",
    "bearing_psf",
    "bearing_basis",
    "soil_lb_ft3",
    "strip_depth_in",
    "concrete_lb_ft3",
    "floor_live_psf",
)
"""Keys that :func:`edge_taken_ft3` reads, with those of the place and of the height of a pad."""


def edge_taken_ft3(
    q: Reads, option: int, corners_ft: Floats, lowest_ft: Floats
) -> Callable[[Floats], Floats]:
    """Of subgrade levels (...), ft, the fill below it that the edge of an option's slab takes, ft3.

    The edge is as wide as the load asks for at that very height, or as typed.

    Args:
        q: What the solver of the balanced height reads.
        option: Its column, from 0.
        corners_ft: Original ground at the corners of the base, (..., 4).
        lowest_ft: Lowest original ground under it, (...).
    """
    number: dict[str, Any] = {
        key: q.number(key, option)
        for key in (*EDGE_READS, "stone_depth_in", "strip_ft")
        if key != "bearing_basis"
    }
    sides_ft = q.number("building_length_ft"), q.number("building_width_ft")
    net = q.text("bearing_basis") == "net"
    dug = weight_psf(number["soil_lb_ft3"], number["strip_depth_in"]) if net else 0.0
    stripped = corners_ft - number["strip_ft"]

    def taken(subgrade_ft: Floats) -> Floats:
        top = subgrade_ft + number["stone_depth_in"] / IN_PER_FT
        slab_top = shape.slab_top_ft(top, number["slab_thick_used_in"])
        deepest = shape.slab_deepest_in(
            1, slab_top, lowest_ft, number["strip_ft"], number["slab_below_in"]
        )
        over = shape.slab_over_edge_psf(
            1, deepest, number["concrete_lb_ft3"], number["floor_live_psf"], dug
        )
        asked = shape.slab_edge_needed_in(number["slab_edge_plf"], number["bearing_psf"], over)
        wide = shape.slab_edge_used_in(
            1,
            number["slab_edge_in"],
            np.round(asked, _DIGITS),
            number["edge_least_in"],
            number["edge_step_in"],
            *sides_ft,
        )
        line = shape.slab_edge_ft(1, *sides_ft, wide)
        level = as_values(subgrade_ft[..., np.newaxis])
        filled = edge_in_fill_yd3(line[..., np.newaxis], wide[..., np.newaxis], level, stripped)
        return np.asarray(filled * FT3_PER_YD3)[..., 0]

    return taken
