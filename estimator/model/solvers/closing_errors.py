"""Closing errors of a survey: spots that were read twice, and lines that end at a reading."""

from __future__ import annotations

from collections import Counter

import numpy as np

from estimator.model.solvers.lot import readings
from estimator.model.solvers.reads import Reads
from estimator.solve.closing import Closing, allowed_ft, closings
from estimator.units import IN_PER_FT

CLOSING_READS = (
    "point_setup",
    "setup_name",
    "line_to",
    "line_off_in",
    "drop_line",
)


def worst_closing(q: Reads) -> Closing | None:
    """The closing error that takes the greatest share of what is allowed; None without any."""
    found = _read_twice(q) + _lines(q)
    return max(found, key=lambda each: each.share, default=None)


def _read_twice(q: Reads) -> list[Closing]:
    """Spots that were read twice; the end of a line that is tied there is no second reading."""
    points = readings(q)
    legs = _legs(q)
    tied = {
        str(line).casefold()
        for line, to in zip(q.column("line_name"), q.column("line_to"), strict=True)
        if str(line) and str(to)
    }
    on_tied = {
        f"drop {name}"
        for name, line in zip(q.column("drop_name"), q.column("drop_line"), strict=True)
        if str(name) and str(line).casefold() in tied
    }
    names = [name for name, *_ in points]
    kept = [i for i, name in enumerate(names) if name not in on_tied]
    places = np.array([(x, y) for _, x, y, _ in points]).reshape(-1, 2)[kept]
    heights = np.array([z for *_, z in points])[kept]
    return [
        each
        for each in closings(
            [names[i] for i in kept], places, heights, [legs.get(names[i], 0) for i in kept]
        )
        # A line that starts at a reading stands there again, with its height.
        if not (each.where.startswith("line ") and each.error_ft == 0)
    ]


def _legs(q: Reads) -> dict[str, int]:
    """By reading the set-ups, or lengths of the level, between it and the start."""
    found: dict[str, int] = {}
    if q.text("survey_method") == "rod readings":
        number = {str(name).casefold(): n for n, name in enumerate(q.column("setup_name"))}
        for name, setup in zip(q.column("point_name"), q.column("point_setup"), strict=True):
            found[f"point {name}"] = number.get(str(setup).casefold(), 0) if str(setup) else 0
    lengths: Counter[str] = Counter()
    for name, line in zip(q.column("drop_name"), q.column("drop_line"), strict=True):
        lengths[str(line).casefold()] += 1
        found[f"drop {name}"] = lengths[str(line).casefold()]
    return found


def _lines(q: Reads) -> list[Closing]:
    """Lines that end at a reading."""
    lengths = Counter(str(line).casefold() for line in q.column("drop_line") if str(line))
    found = []
    for row, name in enumerate(map(str, q.column("line_name"))):
        end, steps = q.text("line_to", 0, row), lengths[name.casefold()]
        if not (name and end and steps):
            continue
        off_ft = q.number("line_off_in", 0, row) / IN_PER_FT
        found.append(Closing(f"line {name} at point {end}", off_ft, allowed_ft(steps)))
    return found
