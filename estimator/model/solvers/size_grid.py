"""What may be tried for each size that an option leaves blank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import Measure
from estimator.errors import OptionError
from estimator.model.footings import SUPPORTS_MOST
from estimator.model.kinds import SUPPORTS
from estimator.model.sizes_in_use import EACH, FOOTING, JOIST, PLIES, ROWS, SKID, SPACING
from estimator.model.solvers.candidates import GRID, LEAST_BAY_FT, SKIDS, offered, spacings
from estimator.model.solvers.reads import Reads
from estimator.rows import OPTION_KEYS
from estimator.units import IN_PER_FT

PLIES_TRIED = (1.0, 2.0, 3.0)
FOOTINGS: dict[Measure, Sequence[float]] = {
    "feet": (0.0, 12.0, 14.0, 16.0, 18.0, 20.0, 24.0, 28.0, 32.0, 36.0),
    "metric": (0.0, *(d / 25.4 for d in (300, 350, 400, 450, 500, 600, 700, 800, 900))),
}
"""Diameters of spread footings, in (0: a straight pier); common practice, no source."""

VARIED = (
    "joist_stock_used",
    "joist_spacing_used_in",
    "skid_count_used",
    "support_rows_used",
    "supports_per_row_used",
    "footing_diameter_used_in",
    "beam_plies_used",
)
"""Keys that a design gives values to."""
GRID_READS = (
    "option_kind",
    "joist_stock",
    "joist_spacing_in",
    "skid_count",
    "support_rows",
    "supports_per_row",
    "footing_diameter_in",
    "pier_diameter_in",
    "beam_plies",
    "building_length_ft",
    "building_width_ft",
    "support_inset_in",
    "sheet_span_in",
    "on_pad",
    "clear_above_in",
    "beam_depth_in",
    "joist_clear_in",
    "practical_joist_in",
    "practical_bay_ft",
    "practical_skids_ft",
    "practical_stack_in",
    "stock_name",
    "stock_width_in",
    "stock_depth_in",
    "stock_treated",
    "item_category",
    "item_stock",
)
"""Keys that :func:`grid_of` reads."""


@dataclass(frozen=True, slots=True)
class Design:
    """Sizes for what is left blank, with those that are typed."""

    joist: str
    spacing_in: float
    skids: float
    rows: float
    each: float
    footing_in: float
    plies: float


@dataclass(frozen=True, slots=True)
class DesignGrid:
    """Every combination of these; on each axis the weakest first.

    Args:
        under: Skids, rows of supports and supports in a row.
    """

    joists: tuple[str, ...]
    spacings_in: tuple[float, ...]
    under: tuple[tuple[float, float, float], ...]
    footings_in: tuple[float, ...]
    plies: tuple[float, ...]

    @property
    def shape(self) -> tuple[int, ...]:
        """How many there are along each axis."""
        axes = (self.joists, self.spacings_in, self.under, self.footings_in, self.plies)
        return tuple(len(axis) for axis in axes)

    def design(self, at: Sequence[int]) -> Design:
        """The design at a place on the grid."""
        joist, spacing, under, footing, plies = at
        return Design(
            self.joists[joist],
            self.spacings_in[spacing],
            *self.under[under],
            self.footings_in[footing],
            self.plies[plies],
        )

    def strongest(self) -> Design:
        """The last on every axis."""
        return self.design([n - 1 for n in self.shape])

    def columns(self) -> dict[str, NDArray[Any]]:
        """The value of each varied key along its own axis, (candidates..., 1, 1), in and feet."""
        under = np.array(self.under, dtype=float)
        along: dict[str, tuple[int, NDArray[Any]]] = {
            "joist_stock_used": (0, np.array(self.joists)),
            "joist_spacing_used_in": (1, np.array(self.spacings_in)),
            "skid_count_used": (2, under[:, 0]),
            "support_rows_used": (2, under[:, 1]),
            "supports_per_row_used": (2, under[:, 2]),
            "footing_diameter_used_in": (3, np.array(self.footings_in)),
            "beam_plies_used": (4, np.array(self.plies)),
        }
        count = len(self.shape)
        return {
            key: values.reshape((1,) * axis + (-1,) + (1,) * (count - axis - 1) + (1, 1))
            for key, (axis, values) in along.items()
        }


def grid_of(q: Reads, option: int, measure: Measure, *, practical: bool) -> DesignGrid:
    """What may be tried for an option.

    Args:
        q: What :data:`GRID_READS` and ``sizes_blank`` name, in feet and inches.
        option: Its column, from 0.
        measure: Whose usual sizes are tried.
        practical: Whether to leave out what Factors calls impractical.

    Raises:
        OptionError: If the joist is left blank and the price book has none.
    """
    blank = int(q.number("sizes_blank", option))
    under = _under(q, option, blank, practical=practical)
    return DesignGrid(
        _joists(q, option, blank, practical=practical),
        _spacings(q, option, blank, measure),
        under,
        _footings(q, option, blank, measure),
        PLIES_TRIED if blank & PLIES else (q.number("beam_plies", option),),
    )


def _joists(q: Reads, option: int, blank: int, *, practical: bool) -> tuple[str, ...]:
    if not blank & JOIST:
        return (q.text("joist_stock", option),)
    found = offered(q, _treated(q, option))
    if not found:
        raise OptionError(
            f"option {OPTION_KEYS[option]} leaves the joist blank and the price book has none"
            " to suggest.",
            option=option,
            where="Options",
            cure="Type a joist, or add its lumber to Prices.",
        )
    least = q.number("practical_joist_in") if practical else 0.0
    names = [str(name) for name in q.column("stock_name")]
    deep = [j for j in found if q.number("stock_depth_in", 0, names.index(j)) >= least - 1e-9]
    return tuple(deep or found[-1:])


def _treated(q: Reads, option: int) -> str:
    """Treated joists over stone, and over beams that stand nearer to the ground than allowed."""
    clear = q.number("clear_above_in", option) + q.number("beam_depth_in", option)
    near = q.number("on_pad", option) > 0 or clear < q.number("joist_clear_in")
    return "yes" if near else "no"


def _spacings(q: Reads, option: int, blank: int, measure: Measure) -> tuple[float, ...]:
    if not blank & SPACING:
        return (q.number("joist_spacing_in", option),)
    usual = sorted(spacings(measure).values(), reverse=True)
    rating = q.number("sheet_span_in", option)
    return tuple(s for s in usual if s <= rating + 1e-9) or (min(usual),)


def _under(
    q: Reads, option: int, blank: int, *, practical: bool
) -> tuple[tuple[float, float, float], ...]:
    """Skids, rows of supports and supports in a row to try."""
    length, width = q.number("building_length_ft"), q.number("building_width_ft")
    if q.text("option_kind", option) not in SUPPORTS:
        if not blank & SKID:
            return ((q.number("skid_count", option), 0.0, 0.0),)
        least = q.number("practical_skids_ft") if practical else 0.0
        fit = [s for s in SKIDS if s == SKIDS[0] or width >= least * (s - 1) - 1e-9]
        return tuple((float(s), 0.0, 0.0) for s in fit)
    across = width - 2 * q.number("support_inset_in", option) / IN_PER_FT
    bay = q.number("practical_bay_ft") if practical else 0.0
    rows, each = q.number("support_rows", option), q.number("supports_per_row", option)
    grids = {(r if blank & ROWS else rows, e if blank & EACH else each) for r, e in GRID}
    fit_grids = [
        (r, e)
        for r, e in grids
        if r * e <= SUPPORTS_MOST
        and (not blank & ROWS or r <= 2 or across >= max(bay, LEAST_BAY_FT) * (r - 1) - 1e-9)
        and (not blank & EACH or e <= 2 or length >= bay * (e - 1) - 1e-9)
    ]
    ordered = sorted(fit_grids or sorted(grids)[:1], key=lambda g: (g[0] * g[1], g))
    return tuple((0.0, float(r), float(e)) for r, e in ordered)


def _footings(q: Reads, option: int, blank: int, measure: Measure) -> tuple[float, ...]:
    pier = q.number("pier_diameter_in", option)
    if blank & FOOTING:
        return tuple(d for d in FOOTINGS[measure] if d == 0 or d > pier + 1e-9)
    typed = q.number("footing_diameter_in", option)
    return (typed if typed > pier else 0.0,)
