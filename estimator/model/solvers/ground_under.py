"""Solvers of the ground under each base: its surface, and the height that balances cut and fill."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import Solver
from estimator.errors import OptionError
from estimator.model.footings import SUPPORTS_MOST
from estimator.model.grading import TRIANGLES
from estimator.model.kinds import FLOORS, SUPPORTS, TIMBERED
from estimator.model.solvers.edge_in_fill import EDGE_READS, edge_taken_ft3
from estimator.model.solvers.lot import (
    PLACE_READS,
    SURVEY_READS,
    base_corners,
    lot_ground,
    lot_grounds,
    turned,
)
from estimator.model.solvers.reads import Reads, zeros
from estimator.rows import OPTION_KEYS
from estimator.units import IN_PER_FT

if TYPE_CHECKING:
    from estimator.solve.siting_places import Corner
    from estimator.solve.surface import Ground
    from estimator.solve.volumes import Patch

Floats = NDArray[np.float64]
LEAST_BAY_FT = 1.0
_HEIGHT = SURVEY_READS[3]


def door_place(q: Reads) -> Floats:
    """Middle (1, 2) of the door's side of the building, in the survey's grid."""
    length, width = q.number("building_length_ft"), q.number("building_width_ft")
    middle = {
        "front": (length / 2, 0.0),
        "right": (length, width / 2),
        "back": (length / 2, width),
        "left": (0.0, width / 2),
    }
    return turned(q, np.array([middle[q.text("door_side")]]))


def support_places(q: Reads, option: int) -> Floats:
    """Supports measured from corner 1 of the building, row by row."""
    rows = int(q.number("support_rows_used", option))
    each = int(q.number("supports_per_row_used", option))
    if rows * each > SUPPORTS_MOST:
        raise OptionError(
            f"option {OPTION_KEYS[option]} has {rows * each} supports; the table holds"
            f" {SUPPORTS_MOST}.",
            option=option,
            where="Options",
            cure="Use fewer rows or fewer supports a row.",
        )
    inset = q.number("support_inset_in", option) / IN_PER_FT
    if q.number("building_width_ft") - 2 * inset < LEAST_BAY_FT * (rows - 1):
        raise OptionError(
            f"the rows of supports of option {OPTION_KEYS[option]} stand less than"
            f" {{{LEAST_BAY_FT:g} ft|300 mm}} apart.",
            option=option,
            where="Options",
            cure="Set the outer rows in by less, or use fewer rows.",
        )
    xs = np.linspace(0, q.number("building_length_ft"), each)
    ys = np.linspace(inset, q.number("building_width_ft") - inset, rows)
    return np.array([(x, y) for y in ys for x in xs])


@lru_cache(maxsize=32)
def _patches(ground: Ground, *outlines: tuple[Corner, ...]) -> Sequence[Patch]:
    from estimator.solve.volumes import clip_each

    return clip_each(ground, outlines)


def inside_by_ft(q: Reads, option: int) -> float:
    """How far inside the edge of its base an option's pad is cut and filled."""
    if q.text("option_kind", option) not in TIMBERED:
        return 0.0
    return q.number("timber_width_in", option) / IN_PER_FT


def under(q: Reads, option: int, ground: Ground) -> tuple[Patch, Patch]:
    """The surface under the base of an option, and inside its timbers, or once more where it has
    none."""
    insides = {0.0, inside_by_ft(q, option)}
    corners = (base_corners(q, option, -inside_ft) for inside_ft in sorted(insides))
    outlines = (tuple((float(x), float(y)) for x, y in each) for each in corners)
    found = _patches(ground, *outlines)
    return found[0], found[-1]


def solve_ground(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Triangles, corners, high and low ground, the door and the supports of every option."""
    q = Reads(values)
    table = {k: zeros(TRIANGLES) for k in ("ft2", "low_ft", "mid_ft", "high_ft")}
    support = {k: zeros(SUPPORTS_MOST) for k in ("on", "x_ft", "y_ft", "ground_ft", "guessed")}
    row = {k: zeros() for k in ("high_ft", "low_ft", "door_ft")}
    corner = {f"ground_corner_{n}_ft": zeros() for n in (1, 2, 3, 4)}
    guessed = zeros()
    for option in q.options():
        ground = lot_ground(q)
        corners = base_corners(q, option)
        whole, patch = under(q, option, ground)
        count = len(patch.areas_ft2)
        if count > TRIANGLES:
            raise OptionError(
                f"the ground under option {OPTION_KEYS[option]} has {count} triangles; the table"
                f" holds {TRIANGLES}.",
                option=option,
                where="Survey",
                cure="Leave out readings that add nothing.",
            )
        table["ft2"][option, :count] = patch.areas_ft2
        table["low_ft"][option, :count] = patch.low_ft
        table["mid_ft"][option, :count] = patch.mid_ft
        table["high_ft"][option, :count] = patch.high_ft
        row["high_ft"][option] = whole.highest_ft
        row["low_ft"][option] = whole.lowest_ft
        row["door_ft"][option] = ground.at(door_place(q))[0][0]
        heights, _ = ground.at(corners)
        for n in (1, 2, 3, 4):
            corner[f"ground_corner_{n}_ft"][option] = heights[n - 1]
        guessed[option] = whole.guessed_ft2 / whole.area_ft2
        if q.text("option_kind", option) in SUPPORTS:
            spots = support_places(q, option)
            support["on"][option, : len(spots)] = 1
            support["x_ft"][option, : len(spots)] = spots[:, 0]
            support["y_ft"][option, : len(spots)] = spots[:, 1]
            heights, outside = ground.at(turned(q, spots))
            support["ground_ft"][option, : len(spots)] = heights
            support["guessed"][option, : len(spots)] = outside
    return {
        **{f"triangle_{k}": v for k, v in table.items()},
        **{f"support_{k}": v for k, v in support.items()},
        **{f"ground_{k}": v for k, v in row.items()},
        **corner,
        "guessed_share": guessed,
    }


def solve_balance(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Top of the pad at which the compacted cut fills the low side.

    Where heights of readings have a leading axis, of several surveys, the answer has it, too.
    """
    from estimator.solve.volumes import balanced_height

    q = Reads(values)
    lead = np.shape(values[_HEIGHT])[:-2]
    balanced = np.zeros((*lead, *zeros().shape))
    padded = [option for option in q.options() if q.number("on_pad", option) != 0]
    ground = (lot_grounds if lead else lot_ground)(q) if padded else None
    for option in padded:
        assert ground is not None
        _, patch = under(q, option, ground)
        taken = None
        if q.text("option_kind", option) in FLOORS:
            corners, _ = ground.at(base_corners(q, option))
            taken = edge_taken_ft3(q, option, corners, patch.low_ft.min(axis=-1))
        subgrade = balanced_height(
            patch,
            q.number("compacted_per_bank", option),
            strip_ft=q.number("strip_ft", option),
            taken_ft3=taken,
        )
        stone_ft = q.number("stone_depth_in", option) / IN_PER_FT
        balanced[..., option, :] = (subgrade + stone_ft)[..., None]
    return {"balanced_ft": balanced}


GROUND = Solver(
    "ground",
    "ground under the base",
    (
        *SURVEY_READS,
        *PLACE_READS,
        "option_kind",
        "timber_width_in",
        "door_side",
        "support_rows_used",
        "supports_per_row_used",
        "support_inset_in",
    ),
    solve_ground,
)

BALANCE = Solver(
    "balance",
    "balanced height",
    (
        *SURVEY_READS,
        *PLACE_READS,
        "on_pad",
        "option_kind",
        "timber_width_in",
        "strip_ft",
        "compacted_per_bank",
        "stone_depth_in",
        *EDGE_READS,
    ),
    solve_balance,
)
