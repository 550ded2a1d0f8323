"""Parts of a sheet that its print leaves out: what no solver was asked, notes on what is not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from estimator.engine import Model
from estimator.rows import Sheet
from estimator.workbook.package.a1 import Range
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.plans import NotesPlan, SectionPlan, TablePlan


@dataclass(frozen=True, slots=True)
class Unasked:
    """What is left out of the print of a sheet.

    Args:
        title: Of the tab.
        rows: First and last row of each part.
        drawn: Whether the charts of the sheet are among them.
    """

    title: str
    rows: tuple[tuple[int, int], ...]
    drawn: bool


def unasked(
    model: Model,
    plan: Layout,
    sheet: Sheet,
    ranges: Mapping[str, tuple[str, Range]],
    values: Mapping[str, Any],
) -> Unasked | None:
    """The parts of a sheet which hold nothing but answers of solvers that this very sheet asks, and
    did not, and notes on what the job does not have; None where there are none.

    Args:
        plan: Where parts stand in the template: in the workbook they may stand lower.
        ranges: Sheet and cells of every name of the workbook.
        values: What the workbook says of itself.
    """
    quiet = {
        name
        for name, solver in model.solvers.items()
        if solver.counts_when in sheet.quantities
        and not np.any(np.asarray(values[solver.counts_when], dtype=float) > 0)
    }
    silent = {key for name in quiet for key in model.writes[name] if key in sheet.quantities}
    rows: list[tuple[int, int]] = []
    title, drawn = "", False
    lower = 0
    by = sheet.shows.notes_by
    for part in plan.sheets[sheet.name].parts if silent or by else ():
        if isinstance(part, NotesPlan):
            drawn |= _draws(sheet, part, silent)
            key = by.get(part.notes.title, "")
            gone = _draws(sheet, part, silent) or bool(key and not told(values[key]))
        else:
            keys = [key for key in _keys(part) if key in ranges]
            if keys:
                title, area = ranges[keys[0]]
                lower = area.row1 - plan.places[keys[0]].area.row1
            answers = [key for key in keys if model.quantities[key].role != "index"]
            gone = bool(answers) and silent.issuperset(answers)
        if gone:
            rows.append((part.title_row + lower, part.last_row + lower + 1))
    return Unasked(title, tuple(rows), drawn) if rows else None


def told(values: Any) -> bool:
    """Whether any of these values is something but a blank or nothing."""
    return any(map(filled, np.ravel(np.asarray(values, dtype=object))))


def filled(entry: Any) -> bool:
    """Whether an entry is anything but a blank or nothing."""
    if isinstance(entry, str):
        return bool(entry.strip())
    return entry is not None and bool(entry) and entry == entry


def _draws(sheet: Sheet, part: NotesPlan, silent: set[str]) -> bool:
    """Whether a part of notes is the room of charts that draw nothing else."""
    band = sheet.shows.band
    if band is None or band.part != part.notes.title:
        return False
    return all(silent.issuperset(chart.keys()) for chart in band.charts)


def _keys(part: SectionPlan | TablePlan) -> tuple[str, ...]:
    return tuple(part.section.keys if isinstance(part, SectionPlan) else part.table.keys)
