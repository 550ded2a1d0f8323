"""Floor frame layout: joists, doubled joists, blocking and supports as running measurements.

Every position is measured from one corner of the floor, so that a person hooks one tape there
and marks without adding. Common practice, no source, unless a docstring says otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimator.errors import InputError

DUST_IN = 1e-6
"""Binary dust: less than this is no length (inches)."""


@dataclass(frozen=True, slots=True)
class JoistLayout:
    """Joists along the floor length; all positions in inches from the starting corner.

    Attributes:
        length_in: Floor length along which the joists are spaced.
        spacing_in: Spacing on centre that was asked for.
        joist_width_in: Thickness of one joist (1.5 in for dressed 2-by lumber).
        centres_in: Centres of the regular joists: ``ceil(length / spacing) + 1`` of them, one less
            where the last would find no room before the end joist.
        extra_centres_in: Centres of the extra joists (doubling), ascending.
        sheet_lines_in: Where sheet ends may land: the floor's two ends and the centres of the
            joists that stand on the spacing.
    """

    length_in: float
    spacing_in: float
    joist_width_in: float
    centres_in: tuple[float, ...]
    extra_centres_in: tuple[float, ...]
    sheet_lines_in: tuple[float, ...]

    @property
    def count(self) -> int:
        """Joists in all, extra ones included."""
        return len(self.centres_in) + len(self.extra_centres_in)

    @property
    def all_centres_in(self) -> tuple[float, ...]:
        """Centres of all joists, extra ones included, ascending (in)."""
        return tuple(sorted(self.centres_in + self.extra_centres_in))

    @property
    def near_edges_in(self) -> tuple[float, ...]:
        """Near face of every joist (towards the corner), ascending: the mark on the rim (in)."""
        return tuple(c - self.joist_width_in / 2 for c in self.all_centres_in)

    @property
    def clear_bays_in(self) -> tuple[tuple[float, float], ...]:
        """(near face, clear width) of every open bay between neighbouring joists (in)."""
        centres, w = self.all_centres_in, self.joist_width_in
        return tuple((a + w / 2, b - a - w) for a, b in pairwise(centres) if b - a - w > DUST_IN)


def joist_layout(
    length_in: float,
    spacing_in: float,
    joist_width_in: float = 1.5,
    start: str = "edge",
    *,
    doubled_at_in: Sequence[float] = (),
) -> JoistLayout:
    """Lay joists out along a floor so that the ends of whole sheets land mid-joist.

    The first joist's outside face is at 0 and the last one's at ``length_in``. Those between
    have their centres at whole multiples of the spacing: from the corner with ``start="edge"``
    (so the end of an 8 ft sheet started at the corner lands mid-joist at 12, 16, 19.2, 24 in),
    from the first joist's centre with ``start="centre"`` (equal bays; sheet ends then miss the
    middle by half a joist, so the first sheet must be laid that much in). No bay exceeds the
    spacing. A last regular joist that would overlap the end joist is set snug against it.

    Args:
        length_in: Floor length (in).
        spacing_in: Spacing on centre (in), two joist widths or more.
        joist_width_in: Thickness of a joist (in).
        start: ``"edge"`` or ``"centre"``, see above.
        doubled_at_in: Positions (in) of partitions along the joists, or of an opening's sides,
            under which joists are doubled: where a joist is already within one and a half widths,
            one more is set beside it, towards the position; elsewhere two stand side by side
            about it.

    Raises:
        InputError: A length isn't positive, the floor has no room for two joists, or a doubled
            joist would stand off the floor or in another joist.
    """
    _positive("Floor length", length_in)
    _positive("Joist spacing", spacing_in)
    _positive("Joist width", joist_width_in)
    w = joist_width_in
    if start not in ("edge", "centre"):
        raise InputError(f"Joist start {start!r} is unknown.", cure="Use 'edge' or 'centre'.")
    if spacing_in < 2 * w - DUST_IN:
        raise InputError(
            f"Joist spacing {{{spacing_in:g} in}} is too close for joists of {{{w:g} in}}.",
            cure="Use {12, 16, 19.2 or 24 in|300, 400, 480 or 600 mm}.",
        )
    if length_in < 2 * w - DUST_IN:
        raise InputError(
            f"A floor {{{length_in:g} in}} long has no room for two joists of {{{w:g} in}}.",
            cure="Give the length along which the joists are spaced, in {inches|millimetres}.",
        )
    first, last = w / 2, length_in - w / 2
    origin, span = (0.0, length_in) if start == "edge" else (first, last - first)
    count = math.ceil(span / spacing_in - DUST_IN) + 1
    between = [origin + k * spacing_in for k in range(1, count - 1)]
    lines = [c for c in between if c <= last - w + DUST_IN]
    centres = [first, *lines]
    if len(lines) < len(between) and last - w - centres[-1] >= w - DUST_IN:
        centres.append(last - w)
    if last - centres[-1] > DUST_IN:
        centres.append(last)
    extra = _doubled(centres, sorted(doubled_at_in), w, length_in)
    return JoistLayout(
        length_in, spacing_in, w, tuple(centres), extra, (0.0, *lines, float(length_in))
    )


def _doubled(
    centres: Sequence[float], positions: Sequence[float], w: float, length_in: float
) -> tuple[float, ...]:
    extra: list[float] = []

    def free(c: float) -> bool:
        on_floor = w / 2 - DUST_IN <= c <= length_in - w / 2 + DUST_IN
        return on_floor and all(abs(c - o) >= w - DUST_IN for o in (*centres, *extra))

    for at in positions:
        if not (math.isfinite(at) and -DUST_IN <= at <= length_in + DUST_IN):
            raise InputError(
                f"A doubled joist at {{{at:g} in}} is off the {{{length_in:g} in}} floor.",
                cure="Measure it from the starting corner.",
            )
        near = min(centres, key=lambda c: (abs(c - at), c))
        if abs(near - at) < 1.5 * w - DUST_IN:
            side = w if at >= near else -w
            found = next(([c] for c in (near + side, near - side) if free(c)), None)
        else:
            pair = [at - w / 2, at + w / 2]
            found = pair if all(free(c) for c in pair) else None
        if found is None:
            raise InputError(
                f"No room for a doubled joist at {{{at:g} in}}.",
                cure="Move it, or leave it out where the joists already stand double.",
            )
        extra.extend(found)
    return tuple(sorted(extra))


def _positive(what: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{what} is {value:g}.", cure="It must be a length above zero.")
