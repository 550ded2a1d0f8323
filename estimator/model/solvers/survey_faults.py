"""What is typed into a survey and can't be meant: set-ups that hang on nothing, lines that miss, marks not read."""

from __future__ import annotations

from collections import Counter

import numpy as np

from estimator.errors import SurveyError
from estimator.model.solvers.lot import readings
from estimator.model.solvers.reads import Reads
from estimator.solve.closing import SAME_PLACE_FT

FAULT_READS = (
    "survey_method",
    "setup_name",
    "setup_instrument_ft",
    "setup_foresight_ft",
    "setup_backsight_ft",
    "line_to",
    "line_run_ft",
    "line_east",
    "line_north",
    "drop_line",
    "bench_name",
    "bench_used",
    "bench_height_ft",
)
TAPE_SHARE, TAPE_FT = 0.05, 1.0
"""By how much the lengths of a line may miss the way between its readings: common practice, no
source."""
MARK_FT = 50.0
"""How far above or below all readings a bench mark may lie: common practice, no source."""


def refuse_faults(q: Reads) -> None:
    """Refuse set-ups that are not tied, lines that miss their end, a bench mark not read or far off.

    Raises:
        SurveyError: The first of them, with the cell that it was typed into.
    """
    if q.text("survey_method") == "rod readings":
        for row, name in enumerate(map(str, q.column("setup_name"))):
            if name:
                _refuse_setup(q, row, name)
    lengths = Counter(str(line).casefold() for line in q.column("drop_line") if str(line))
    for row, name in enumerate(map(str, q.column("line_name"))):
        if name and q.text("line_to", 0, row) and lengths[name.casefold()]:
            _refuse_line(q, row, name)
    if q.text("bench_name") and not q.number("bench_used"):
        raise _fault(
            "bench mark",
            ("bench_reading_ft", 0),
            "it is named, and no reading on it is typed, without which it counts for nothing",
            "Type what was read on it, or clear its name.",
        )
    heights = [height for *_, height in readings(q)]
    if q.number("bench_used") and heights:
        mark = q.number("bench_height_ft")
        if not min(heights) - MARK_FT <= mark <= max(heights) + MARK_FT:
            raise _fault(
                "bench mark",
                ("bench_reading_ft", 0),
                f"its height, {{{mark:.1f} ft}}, is out of reach of the readings, {{{min(heights):.1f}"
                f" ft}} to {{{max(heights):.1f} ft}}",
                "Read it as the readings are read, and look at its unit.",
            )


def _refuse_setup(q: Reads, row: int, name: str) -> None:
    ties = ("setup_foresight_ft", "setup_backsight_ft")
    if row == 0:
        tie = next((key for key in ties if q.number(key, 0, row)), None)
        if tie:
            raise _fault(
                f"set-up {name}",
                (tie, row),
                "it is the first, and a tie is typed for it",
                "Type the instrument's height, and leave both ties blank.",
            )
        return
    if q.number("setup_instrument_ft", 0, row):
        raise _fault(
            f"set-up {name}",
            ("setup_instrument_ft", row),
            "it is not the first, and an instrument height is typed for it, which counts for nothing",
            "Clear that, and type the two readings that tie it to the set-up before.",
        )
    blank = next((key for key in ties if not q.number(key, 0, row)), None)
    if blank:
        raise _fault(
            f"set-up {name}",
            (blank, row),
            "it is not tied to the set-up before",
            "Type what the rod read on one spot from both, or clear the line.",
        )


def _refuse_line(q: Reads, row: int, name: str) -> None:
    run_ft = q.number("line_run_ft", 0, row)
    way_ft = run_ft * float(np.hypot(q.number("line_east", 0, row), q.number("line_north", 0, row)))
    if way_ft <= SAME_PLACE_FT:
        raise _fault(
            f"line {name}",
            ("line_to", row),
            "it ends at the reading that it starts at",
            "Take the way back as a line of its own, which ends there.",
        )
    if abs(run_ft - way_ft) > TAPE_FT + TAPE_SHARE * way_ft:
        raise _fault(
            f"line {name}",
            ("line_to", row),
            f"its lengths come to {{{run_ft:.1f} ft}}, and point {q.text('line_to', 0, row)} lies"
            f" {{{way_ft:.1f} ft}} from its start",
            "Look at the lengths of its drops, and at the reading that it ends at.",
        )


def _fault(what: str, cell: tuple[str, int], said: str, cure: str) -> SurveyError:
    told = f"Survey {what} (line {cell[1] + 1})"
    return SurveyError(said, where=told, cure=cure, cells={told: cell})
