"""What the base costs at places on the lot, by the very rows of Grading and Siting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import Measure
from estimator.model.solvers.ground_beside import AROUND, solve_beside
from estimator.model.solvers.ground_under import BALANCE, GROUND
from estimator.model.solvers.lot import SURVEY_READS
from estimator.model.solvers.reads import Reads, zeros
from estimator.model.solvers.timber_frame import FRAME
from estimator.model.solvers.trial import Trial, rows_of
from estimator.rows import Sheet

Floats = NDArray[np.float64]
GOALS = ("site_cost", "cut_yd3", "fill_yd3", "frame_courses", "top_ft")
PLACED = ("site_x_ft", "site_y_ft", "turn_deg", "height_mode")
SOLD = ("stone_price_yd3", "soil_price_yd3", "haul_off_cost_yd3")
HELD = ("option_used", *SOLD, *SURVEY_READS)
"""What stays as it is wherever the building stands: readings do not move along with it. A yard's
prices are taken as those rows have them, which know the units of its packs."""


@dataclass(frozen=True, slots=True, eq=False)
class PlacePrices:
    """Prices of places, (p,) each; infinite where no base can be built.

    Attributes:
        cost: Earth, timber and stone.
        cut_yd3, fill_yd3, courses, top_ft: As on Grading.
    """

    cost: Floats
    cut_yd3: Floats
    fill_yd3: Floats
    courses: Floats
    top_ft: Floats

    def part(self, which: Sequence[int]) -> PlacePrices:
        """Those of some places."""
        return PlacePrices(*(getattr(self, each.name)[which] for each in fields(self)))

    def joined(self, other: PlacePrices) -> PlacePrices:
        """These, then the others."""
        return PlacePrices(
            *(
                np.concatenate([getattr(self, each.name), getattr(other, each.name)])
                for each in fields(self)
            )
        )


class Pricer:
    """The rows between a place and what the base costs there.

    Args:
        sheets: With the contributions of all assemblies.
        measure: System of measure, whose round steps courses take.
    """

    def __init__(self, sheets: Sequence[Sheet], measure: Measure) -> None:
        frame = replace(FRAME, function=partial(FRAME.function, measure=measure))
        balance = replace(BALANCE, reads=(*BALANCE.reads, "height_mode"), function=_balanced)
        around = replace(AROUND, reads=(*AROUND.reads, "dig_method"), function=_beside)
        through = {solver.name: solver for solver in (GROUND, balance, frame, around)}
        self._trial = Trial(rows_of(sheets), (*PLACED, *HELD), GOALS, through=through)

    @property
    def reads(self) -> tuple[str, ...]:
        """Keys of what must be known."""
        return tuple(sorted({*self._trial.reads, *PLACED, *HELD}))

    def prices(self, values: Mapping[str, Any], option: int, places: Floats) -> PlacePrices:
        """What the base of an option costs at places.

        Args:
            values: What ``reads`` names, of all options.
            option: Number of the option.
            places: (p, 3) corner 1 of the building, x and y in ft, and turn in degrees.

        Raises:
            EstimatorError: If no base can be built at any of them.
        """
        one = {key: _of(values[key], option) for key in self.reads}
        mode = "balanced" if str(one["height_mode"][0, 0]) == "balanced" else "high ground"
        placed = {
            **{key: places[:, [n]][:, None] for n, key in enumerate(PLACED[:3])},
            "height_mode": np.array([[mode]]),
            **{key: one[key] for key in HELD},
        }
        known, possible = self._trial.early(one, placed)
        count = len(places)
        there = np.broadcast_to(possible.reshape(-1), count)
        goals = {
            key: np.broadcast_to(np.asarray(known[key], dtype=np.float64).reshape(-1), count)
            for key in GOALS
        }
        return PlacePrices(
            cost=np.where(there, goals["site_cost"], np.inf),
            cut_yd3=goals["cut_yd3"],
            fill_yd3=goals["fill_yd3"],
            courses=goals["frame_courses"],
            top_ft=goals["top_ft"],
        )


def _balanced(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """The balanced height, where the height mode asks for it."""
    if Reads(values).text("height_mode") == "balanced":
        return BALANCE.function(values)
    return {"balanced_ft": zeros()}


def _beside(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """The ground beside, where what carries the stone of a drain may be a machine."""
    if Reads(values).text("dig_method") == "by hand":
        return {"side_ground_ft": zeros(4), "side_out_ft": zeros(4)}
    return solve_beside(values)


def _of(value: Any, option: int) -> NDArray[Any]:
    array = np.asarray(value)
    return array[option : option + 1] if array.shape[0] > 1 else array
