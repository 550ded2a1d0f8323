"""Openings in the floor as solvers see them: left open by the sheets, framed where asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from estimator.model.lumber.joints import SPLICE_IN
from estimator.model.solvers.reads import Reads
from estimator.units import IN_PER_FT

if TYPE_CHECKING:
    from estimator.solve.floor_sheets import Opening
    from estimator.solve.joist_layout import JoistLayout

OPENING_READS = (
    "opening_what",
    "opening_x_ft",
    "opening_y_ft",
    "opening_length_ft",
    "opening_width_ft",
    "opening_framed",
)
_SNUG_IN = 1e-6


@dataclass(frozen=True, slots=True)
class FloorOpening:
    """One opening: its line on Floor, its rectangle (in), and whether it is framed."""

    line: int
    what: str
    area: Opening
    framed: bool


def openings(q: Reads) -> tuple[FloorOpening, ...]:
    """The openings typed on Floor."""
    from estimator.solve.floor_sheets import Opening

    return tuple(
        FloorOpening(
            line,
            str(what),
            Opening(
                q.number("opening_x_ft", 0, line) * IN_PER_FT,
                q.number("opening_y_ft", 0, line) * IN_PER_FT,
                q.number("opening_length_ft", 0, line) * IN_PER_FT,
                q.number("opening_width_ft", 0, line) * IN_PER_FT,
            ),
            q.text("opening_framed", 0, line) == "yes",
        )
        for line, what in enumerate(q.column("opening_what"))
        if str(what)
    )


def trimmers_in(found: FloorOpening, length_in: float, joist_width_in: float) -> list[float]:
    """Where joists are doubled beside a framed opening: just clear of both of its sides (in).

    A side near the floor's end is carried by the end joist.
    """
    w, area = joist_width_in, found.area
    near, far = area.x_in - w, area.x_in + area.length_in + w
    sides = [near] if near >= w - _SNUG_IN else []
    return [*sides, far] if far <= length_in - w + _SNUG_IN else sides


def headers(found: FloorOpening, layout: JoistLayout, width_in: float) -> tuple[int, float, int]:
    """Headers of a framed opening, their length from trimmer to trimmer (in), and tail joists.

    Two at each end of the opening, but none where the rim is within two joist widths. A joist of
    the spacing on the opening's very side stays, as one of its trimmers. Joists between the
    trimmers are cut; a tail of each hangs from every pair of headers.
    """
    w, area = layout.joist_width_in, found.area
    centres = layout.all_centres_in
    near, far = area.x_in + w / 2, area.x_in + area.length_in - w / 2
    faces = [c + w / 2 for c in centres if c <= near + _SNUG_IN]
    others = [c - w / 2 for c in centres if c >= far - _SNUG_IN]
    length = min(others, default=layout.length_in) - max(faces, default=0.0)
    ends = (area.y_in, width_in - area.y_in - area.width_in)
    pairs = sum(end > 2 * w for end in ends)
    cut = sum(near + _SNUG_IN < c < far - _SNUG_IN for c in centres)
    return 2 * pairs, length, cut * pairs


def by_header(
    found: FloorOpening, meet_in: Sequence[float], width_in: float, joist_width_in: float
) -> bool:
    """Whether a splice of joists that meet at these places would stand at a header.

    Joists that meet within the opening are cut away there.
    """
    near, far = found.area.y_in, found.area.y_in + found.area.width_in
    room = 2 * joist_width_in + SPLICE_IN / 2
    front, back = (end > 2 * joist_width_in for end in (near, width_in - far))
    return any(
        (front and near - room + _SNUG_IN < y < near) or (back and far < y < far + room - _SNUG_IN)
        for y in meet_in
    )


def block_rows_in(
    typed: int,
    seams_in: Sequence[float],
    meet_in: Sequence[float],
    width_in: float,
    w: float,
) -> list[float]:
    """Centres of the rows of blocks, back from the front (in).

    The rows typed share the floor evenly; every seam that asks for blocks has a row, and so has
    every place where joists meet. A seam's row stands for any other that its blocks would overlap,
    one where joists meet for a typed one.
    """
    kept = list(seams_in)
    even = [width_in * k / (typed + 1) for k in range(1, typed + 1)]
    for places in (meet_in, even):
        kept += [y for y in places if all(abs(y - row) >= w - _SNUG_IN for row in kept)]
    return sorted(kept)


def blocks_set(rows_in: Sequence[float], layout: JoistLayout, holes: Sequence[FloorOpening]) -> int:
    """Blocks of these rows: one in every open bay, but those that would stand in an opening."""
    half = layout.joist_width_in / 2

    def stands(y: float, near: float, clear: float) -> bool:
        return all(
            near + clear <= hole.area.x_in + _SNUG_IN
            or near >= hole.area.x_in + hole.area.length_in - _SNUG_IN
            or y + half <= hole.area.y_in + _SNUG_IN
            or y - half >= hole.area.y_in + hole.area.width_in - _SNUG_IN
            for hole in holes
        )

    return sum(stands(y, near, clear) for y in rows_in for near, clear in layout.clear_bays_in)
