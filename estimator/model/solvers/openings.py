"""Openings in the floor as solvers see them: left open by the sheets, framed where asked."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.model.solvers.reads import Reads
from estimator.solve.floor_sheets import Opening
from estimator.solve.joist_layout import JoistLayout
from estimator.units import IN_PER_FT

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


def headers(found: FloorOpening, layout: JoistLayout, width_in: float) -> tuple[int, float]:
    """Headers of a framed opening and their length, from trimmer to trimmer (in).

    Two at each end of the opening, but none where the rim is within two joist widths. A joist of
    the spacing on the opening's very side stays, as one of its trimmers.
    """
    w, area = layout.joist_width_in, found.area
    centres = layout.all_centres_in
    near, far = area.x_in + w / 2, area.x_in + area.length_in - w / 2
    faces = [c + w / 2 for c in centres if c <= near + _SNUG_IN]
    others = [c - w / 2 for c in centres if c >= far - _SNUG_IN]
    length = min(others, default=layout.length_in) - max(faces, default=0.0)
    ends = (area.y_in, width_in - area.y_in - area.width_in)
    return 2 * sum(end > 2 * w for end in ends), length
