"""Supports, rows of blocks and the diagonal of a floor frame, worked out by hand for tests.

Every position is a running measurement from one corner of the floor. Common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimator.errors import InputError
from estimator.solve.joist_layout import JoistLayout

_DUST_IN = 1e-6


@dataclass(frozen=True, slots=True)
class Block:
    """One block between two joists: row position across the floor, near face, length (in)."""

    row_in: float
    near_face_in: float
    length_in: float
    why: str


def support_positions(
    width_in: float, count: int, member_width_in: float, placement: str
) -> tuple[float, ...]:
    """Centres of skids or beams spaced evenly over a floor side, from one corner (in).

    ``"edge centred"``: the outer ones are centred on the floor's edges, so that four over 10 ft
    stand 3 ft 4 in on centre. ``"flush"``: the outer ones' outside faces are flush with the
    edges, so that four 3.5 in ones over 10 ft stand 38.83 in on centre.

    Raises:
        InputError: A size isn't positive, fewer than two, unknown placement, or no room.
    """
    _positive("Floor width", width_in)
    _positive("Support width", member_width_in)
    if count < 2:
        raise InputError(f"{count} supports can't carry a floor.", cure="Use two or more.")
    if placement not in ("edge centred", "flush"):
        raise InputError(
            f"Support placement {placement!r} is unknown.", cure="Use 'edge centred' or 'flush'."
        )
    first = 0.0 if placement == "edge centred" else member_width_in / 2
    step = (width_in - 2 * first) / (count - 1)
    if step < member_width_in - _DUST_IN:
        raise InputError(
            f"{count} supports {{{member_width_in:g} in}} wide don't fit on {{{width_in:g} in}}.",
            cure="Use fewer.",
        )
    return tuple(first + k * step for k in range(count))


def blocking(
    layout: JoistLayout,
    width_in: float,
    *,
    seams_in: Sequence[float] = (),
    mid_span: bool = False,
    supports_in: Sequence[float] = (),
    block_width_in: float = 1.5,
) -> tuple[Block, ...]:
    """Blocks between the joists: a row under each sheet seam, and mid-span where asked.

    A block is as long as the clear bay: spacing less joist width, and what the odd bays at the
    ends and beside doubled joists leave. A mid-span row that would touch a seam row is left out,
    as the seam's blocks already brace the joists there.

    Args:
        layout: The joists.
        width_in: Floor width, along the joists (in).
        seams_in: Long-edge seams of square-edged sheets that need support (in across the floor).
        mid_span: Whether to block at the middle of each span.
        supports_in: Centres of the supports that bound the spans (in); the two edges if empty.
        block_width_in: How much of the floor width a block takes (in).

    Raises:
        InputError: A row would be off the floor.
    """
    _positive("Floor width", width_in)
    _positive("Block width", block_width_in)
    rows = [(float(y), "seam") for y in sorted(seams_in)]
    if mid_span:
        ends = sorted(supports_in) or [0.0, width_in]
        for a, b in pairwise(ends):
            middle = (a + b) / 2
            if all(abs(middle - y) >= block_width_in - _DUST_IN for y, _ in rows):
                rows.append((middle, "mid-span"))
    for y, why in rows:
        if not block_width_in / 2 <= y <= width_in - block_width_in / 2:
            raise InputError(
                f"A {why} row of blocks at {{{y:g} in}} is off the {{{width_in:g} in}} floor.",
                cure="Measure it across the floor from the starting corner.",
            )
    return tuple(
        Block(y, near, clear, why)
        for y, why in sorted(rows)
        for near, clear in layout.clear_bays_in
    )


def diagonal_in(length_in: float, width_in: float) -> float:
    """Diagonal of a square-cornered floor (in): both must measure this. By Pythagoras."""
    _positive("Floor length", length_in)
    _positive("Floor width", width_in)
    return math.hypot(length_in, width_in)


def _positive(what: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{what} is {value:g}.", cure="It must be a length above zero.")
