"""What a search for a place is asked and what it answers: footprint, yard, rates, places.

Lengths and heights in feet, volumes in cubic yards, turns in degrees, costs in the money of the
rates.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from estimator.errors import InputError

Floats = NDArray[np.float64]
Corner = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Footprint:
    """Outer size of the pad; ``length_ft`` lies along the turn of a place."""

    length_ft: float
    width_ft: float

    def __post_init__(self) -> None:
        if not (self.length_ft > 0 and self.width_ft > 0):
            raise InputError("the footprint needs a length and a width above zero")

    @property
    def half_diagonal_ft(self) -> float:
        """From the centre to a corner."""
        return float(np.hypot(self.length_ft, self.width_ft) / 2)


@dataclass(frozen=True, slots=True)
class Yard:
    """Where the footprint may stand.

    Attributes:
        boundary: Corners of the property in order.
        setbacks_ft: Distance to keep from each side of the boundary (side i goes from corner i to
            corner i + 1), or one distance for all.
        keep_outs: Polygons that the footprint must not touch.
        keep_out_clearance_ft: Distance to keep from them.
        allow_guessed: Whether the footprint may reach beyond the readings, where the ground is
            only guessed from the fitted plane.
    """

    boundary: tuple[Corner, ...]
    setbacks_ft: float | tuple[float, ...] = 0.0
    keep_outs: tuple[tuple[Corner, ...], ...] = ()
    keep_out_clearance_ft: float = 0.0
    allow_guessed: bool = False

    def __post_init__(self) -> None:
        for name, polygon in [("the boundary", self.boundary)] + [
            (f"keep-out {i + 1}", p) for i, p in enumerate(self.keep_outs)
        ]:
            if len(polygon) < 3 or not np.isfinite(polygon).all():
                raise InputError(f"{name} needs at least three corners, each with two lengths")
        if isinstance(self.setbacks_ft, tuple) and len(self.setbacks_ft) != len(self.boundary):
            raise InputError(
                f"there are {len(self.setbacks_ft)} setbacks for {len(self.boundary)} sides",
                cure="Give one for each side of the boundary, or one for all.",
            )
        if min(self.side_setbacks_ft) < 0 or self.keep_out_clearance_ft < 0:
            raise InputError("setbacks and clearances can't be negative")

    @property
    def side_setbacks_ft(self) -> tuple[float, ...]:
        """One setback for each side."""
        if isinstance(self.setbacks_ft, tuple):
            return self.setbacks_ft
        return (self.setbacks_ft,) * len(self.boundary)


@dataclass(frozen=True, slots=True)
class SitingCost:
    """Rates and rules by which a place is priced.

    Attributes:
        cut_per_yd3: Digging and moving, for each bank yard.
        fill_per_yd3: Placing and tamping soil, for each compacted yard.
        import_per_yd3: Buying fill that the cut does not give, for each compacted yard.
        export_per_yd3: Hauling away what is over, for each bank yard.
        stone_per_yd3: Stone in place; it fills the pad depth, and all below it if
            ``fill_with_stone``.
        timber_per_ft: One foot of one course, timber, pins and trench.
        timber_depth_ft: Depth of a course.
        pad_depth_ft: From the top of the pad down to the subgrade.
        above_high_ft: How far the top stands above the highest ground under the base (``high``).
        least_embedment_ft: Least depth of the lowest course's bottom below the ground.
        compacted_per_bank: Compacted volume that one bank volume gives.
        mode: Top reckoned from the high ground, or from balanced cut and fill.
        fill_with_stone: Stone, not tamped soil, fills below the pad; then all cut goes away.
        framed: Whether there is a timber frame at all.
    """

    cut_per_yd3: float
    fill_per_yd3: float
    import_per_yd3: float
    export_per_yd3: float
    stone_per_yd3: float
    timber_per_ft: float
    timber_depth_ft: float
    pad_depth_ft: float
    above_high_ft: float = 0.0
    least_embedment_ft: float = 0.0
    compacted_per_bank: float = 0.9
    mode: Literal["high", "balanced"] = "high"
    fill_with_stone: bool = False
    framed: bool = True

    def __post_init__(self) -> None:
        rates = (
            self.cut_per_yd3,
            self.fill_per_yd3,
            self.import_per_yd3,
            self.export_per_yd3,
            self.stone_per_yd3,
            self.timber_per_ft,
        )
        if min(rates) < 0:
            raise InputError("rates for earth, stone and timber can't be negative")
        if not (self.timber_depth_ft > 0 and self.compacted_per_bank > 0):
            raise InputError("timber depth and compacted per bank must be above zero")


@dataclass(frozen=True, slots=True)
class Place:
    """One priced place; ``x_ft`` and ``y_ft`` are the footprint's centre.

    ``saving`` is against where the building is staked now, 0 if it is not staked.
    ``timber_ft`` is the length of all courses together.
    """

    x_ft: float
    y_ft: float
    turn_deg: float
    cost: float
    saving: float
    top_ft: float
    subgrade_ft: float
    cut_bank_yd3: float
    fill_compacted_yd3: float
    timber_ft: float
    most_courses: int
    guessed: bool


@dataclass(frozen=True, slots=True)
class SitingResult:
    """What the search found.

    Attributes:
        of_each: Clearly different places, the cheapest first, of each coarser step and at last of
            the step asked for.
        now: Where it is staked today, priced; None if not given.
        now_refused: Why today's place is not allowed; empty if it is. The best place is never
            worse than today's if today's is allowed.
        tolerance: No allowed place, on the lattice or off it, is cheaper than the best by more.
        tried: Places priced, on the lattice and between.
    """

    of_each: tuple[tuple[Place, ...], ...]
    now: Place | None
    now_refused: str
    tolerance: float
    tried: int

    @property
    def places(self) -> tuple[Place, ...]:
        """Those of the step asked for."""
        return self.of_each[-1]


def turned(deg: Floats) -> tuple[Floats, Floats]:
    """Cosine and sine of turns in degrees."""
    turn = np.deg2rad(deg)
    return np.cos(turn), np.sin(turn)
