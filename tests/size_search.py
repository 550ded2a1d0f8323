"""Searches for sizes: the smallest joist at each spacing, the fewest skids, the fewest piers.

Used as defaults that a person can overrule; nothing here changes an input.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import wood_referee

from estimator.errors import SolveError
from estimator.solve import design

DUST = 1e-9


@dataclass(frozen=True, slots=True)
class Lumber:
    """A size and grade on offer: dressed size, adjusted design values, price.

    ``price_per_ft`` is 0 where unknown.
    """

    name: str
    width_in: float
    depth_in: float
    bending_adj_psi: float
    shear_adj_psi: float
    bearing_adj_psi: float
    modulus_adj_psi: float
    price_per_ft: float = 0.0


@dataclass(frozen=True, slots=True)
class JoistChoice:
    """The smallest joist at one spacing, or none (``name`` empty) if no size on offer works."""

    spacing_in: float
    name: str
    span_ft: float
    allowable_ft: float
    utilisation: float
    price_per_ft2: float


def smallest_joist(
    offered: Sequence[Lumber],
    span_ft: float,
    live_psf: float,
    dead_psf: float,
    spacings_in: Sequence[float],
    point_lb: float = 0.0,
    bearing_length_in: float = 1.5,
    live_ratio: float = 360.0,
    total_ratio: float = 240.0,
) -> tuple[JoistChoice, ...]:
    """For each spacing the smallest joist that carries the loads over the span.

    Args:
        offered: Sizes on offer; smallest means least depth, then least area.
        span_ft: Clear span.
        live_psf, dead_psf: Floor loads; dead load with the joists.
        spacings_in: Spacings to try, centre to centre.
        point_lb: Point load borne by one joist alone (wood_referee.member_utilisation).
        bearing_length_in, live_ratio, total_ratio: As in ``design.joist_span_ft``.

    Returns:
        One choice a spacing, in the order given; ``allowable_ft`` is for the uniform load,
        ``utilisation`` with the point load. With none that works the figures are NaN.

    Raises:
        SolveError: If span, spacing or load is not above zero.
    """
    for what, amount in (("joist span", span_ft), ("live load", live_psf)):
        if not amount > 0:
            raise SolveError(f"the {what} is {amount:g}.", cure="It must be above zero.")
    choices = []
    for spacing_in in spacings_in:
        if not spacing_in > 0:
            raise SolveError(
                f"the joist spacing is {{{spacing_in:g} in}}.",
                cure="Use {12 to 24 in|300 to 600 mm}.",
            )
        live_plf, dead_plf = live_psf * spacing_in / 12, dead_psf * spacing_in / 12
        choice = JoistChoice(spacing_in, "", span_ft, math.nan, math.nan, math.nan)
        for size in sorted(offered, key=lambda s: (s.depth_in, s.depth_in * s.width_in)):
            used = wood_referee.member_utilisation(
                *_section(size), span_ft, live_plf, dead_plf, point_lb, bearing_length_in,
                live_ratio, total_ratio, size.depth_in,
            )  # fmt: skip
            if used <= 1 + DUST:
                allowable = design.joist_span_ft(
                    *_section(size), live_plf, dead_plf, bearing_length_in, live_ratio, total_ratio
                )
                price = size.price_per_ft * 12 / spacing_in
                choice = JoistChoice(
                    spacing_in, size.name, span_ft, float(allowable), float(used), price
                )
                break
        choices.append(choice)
    return tuple(choices)


def _section(size: Lumber) -> tuple[float, float, float, float, float, float]:
    return (
        size.width_in,
        size.depth_in,
        size.bending_adj_psi,
        size.shear_adj_psi,
        size.bearing_adj_psi,
        size.modulus_adj_psi,
    )


def fewest_supports(length_ft: float, allowable_ft: float, support_in: float = 0.0) -> int:
    """Fewest evenly spaced supports (skids, piers of a beam) along a side, at least two.

    Args:
        length_ft: Side of the building, out to out; the outer supports stand flush.
        allowable_ft: Longest clear span between supports.
        support_in: Width of a support, which shortens the clear spans.

    Raises:
        SolveError: If a length is not above zero.
    """
    for what, amount in (("side", length_ft), ("allowable span", allowable_ft)):
        if not amount > 0:
            raise SolveError(f"the {what} is {{{amount:g} ft}}.", cure="It must be above zero.")
    width_ft = support_in / 12
    bays = (length_ft - width_ft) / (allowable_ft + width_ft)
    return max(math.ceil(round(bays, 9)), 1) + 1


def fewest_loaded_supports(
    length_ft: float,
    allowable_ft: float,
    load_plf: float,
    capacity_lb: float,
    support_in: float = 0.0,
    continuity: float = 1.25,
) -> int:
    """Fewest evenly spaced supports that keep both the span and the load on each.

    A middle support bears ``continuity`` times load x spacing (``reaction_lb``), each of two
    alone half of the whole.

    Raises:
        SolveError: If an amount is not above zero.
    """
    if not (load_plf > 0 and capacity_lb > 0):
        raise SolveError(
            "the load per {foot|metre} and the load that a support may bear must be above zero."
        )
    by_span = fewest_supports(length_ft, allowable_ft, support_in)
    total_lb = load_plf * (length_ft - support_in / 12)
    if by_span == 2 and total_lb / 2 <= capacity_lb * (1 + DUST):
        return 2
    by_load = math.ceil(round(continuity * total_lb / capacity_lb, 9)) + 1
    return max(by_span, by_load, 3)
