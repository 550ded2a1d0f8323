"""Texts and styles of the two sheets that the workbook layer adds: Lists and Solved From."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.rows import MARKS_SHEET, OPTION_KEYS, Quantity, mark_of
from estimator.workbook.template.checksums import weights
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.lists import LISTS_SHEET
from estimator.workbook.template.painter import Painter
from estimator.workbook.template.plans import HEADER_ROW, OPTIONS
from estimator.workbook.template.sheet_texts import (
    NAME_LINES,
    least_format,
    typed_style,
    write_top,
    write_way_back,
)
from estimator.workbook.template.snapshot import (
    AMISS,
    CHANGED_COLUMN,
    CHECKSUM_COLUMN,
    LABEL_COLUMN,
    NOW,
    PART,
    ROWS_COLUMN,
    SHORT_COLUMN,
    SNAPSHOT_COLUMNS,
    SPOILT,
    STATE_COLUMN,
    THEN,
    VALUE_COLUMN,
    WIDTH,
    offset,
)

_GENERAL, _UNIT = "General", "Unit"
_LEVEL = '[=0]"up to date";[=1]"may be dearer";"out of date"'
"""Number format of a mark of what a solver gave."""


def write_lists(painters: Mapping[str, Painter], layout: Layout, version: str) -> None:
    """Texts of the sheet Lists."""
    painter, plan = painters[LISTS_SHEET], layout.lists
    write_top(
        painter, "Lists", "Choice lists, limits of table entries, and inputs that can't be read."
    )
    write_way_back(painter, layout.order[0])
    for column, width in ((1, 44), (2, 18), (3, 18), (4, 18)):
        painter.widen(column, width)
    painter.put(plan.version_row, 1, "Version of the template", "Row label")
    painter.put(plan.version_row, 2, version, "Read as text")
    painter.put(plan.costs_row, 1, "Options A to F at the last refill", "Row label")
    for option in range(OPTIONS):
        painter.put(plan.costs_row, 2 + option, None, "Working text")
    painter.put(plan.problems[0].row - 2, 1, "Inputs that can't be read", "Block title")
    _heads(painter, plan.problems[0].row - 1, "Where", "Cells or rows")
    for line in plan.problems:
        painter.put(line.row, 1, line.label, "Row label")
        painter.put(line.row, 2, None, "Computed number", "0")
    painter.put(plan.unusable_row, 1, "Cells without a number, sheets gone", "Row label")
    painter.put(plan.unusable_row, 2, None, "Computed number", "0")
    painter.put(plan.typed_over_row, 1, "Numbers typed over, and used", "Row label")
    painter.put(plan.typed_over_row, 2, None, "Computed number", "0")
    painter.put(plan.total_row, 1, "All together", "Row label")
    painter.put(plan.total_row, 2, None, "Total number", "0")
    painter.put(plan.limits_title_row, 1, "Limits of table entries", "Block title")
    _heads(painter, plan.limits_title_row + 1, "Entry", _UNIT, "Least", "Most")
    for key, row in plan.limits.items():
        entry = layout.entry(key)
        fmt = _GENERAL if entry.kind == "length" else typed_style(entry)[1]
        painter.put(row, 1, f"{layout.quantity(key).sheet}: {entry.label}", "Row label")
        painter.put(row, 2, entry.unit or None, "Row unit")
        painter.put(row, 3, entry.low, "Row limit", least_format(entry, fmt))
        painter.put(row, 4, entry.high, "Row limit", fmt)
    painter.put(plan.choices_title_row, 1, "Choice lists", "Block title")
    for choices, (name, area) in plan.choices.items():
        label = layout.entry(name.removeprefix("choices_")).label
        painter.put(area.row1 - 1, area.column1, label, "Column heading")
        for row, choice in enumerate(choices, start=area.row1):
            painter.put(row, area.column1, choice, "Computed text", width=len(choice) + 3)
        painter.widen(area.column1, 14)
    for (_, _, sort), (_, area) in plan.offers.items():
        painter.put(area.row1 - 1, area.column1, f"Items: {sort}", "Column heading")
        for row, _ in area.cells():
            painter.put(row, area.column1, None, "Computed text", width=14)
        painter.widen(area.column1, 14)


def _heads(painter: Painter, row: int, *headings: str, left: int = 1) -> None:
    """Headings of a table whose first ``left`` columns are texts."""
    for column, heading in enumerate(headings, start=1):
        style = "Column heading left" if column <= left else "Column heading"
        style = "Column heading middle" if heading == _UNIT else style
        painter.put(row, column, heading, style)


def write_snapshot(painters: Mapping[str, Painter], layout: Layout) -> None:
    """Texts of the sheet Solved From."""
    painter, plan = painters[MARKS_SHEET], layout.snapshot
    purpose = "What every solver read and gave when it last ran, and whether it has changed since."
    write_top(painter, "Solved From", purpose)
    write_way_back(painter, layout.order[0])
    for column, width in enumerate((26, 30, 12, 12, 12, 12, 12, 12, 36, 14, 36), start=1):
        painter.widen(column, width)
    _header_line(painter, HEADER_ROW, "Solved block")
    painter.heighten(HEADER_ROW, NAME_LINES + 1, "Column heading")
    labels = {name: solver.label for name, solver in layout.model.solvers.items()}
    for name, solver in layout.model.solvers.items():
        row = plan.mark_rows[mark_of(name)]
        _mark_line(painter, row, solver.label, name)
        painter.put(row, CHECKSUM_COLUMN, None, "Working text")
    painter.put(plan.states_title_row, 1, "What depends on several of them", "Block title")
    for solvers, row in plan.states.items():
        _mark_line(painter, row, "Depends on", "; ".join(labels[name] for name in solvers))
        painter.put(row, SHORT_COLUMN, None, "Row note")
        painter.put(row, plan.words_column, None, "Working text")
    painter.put(plan.title_row, 1, "What the solvers read", "Block title")
    headings = [heading for _, heading in SNAPSHOT_COLUMNS]
    places = ("Every option", *OPTION_KEYS)
    then = (f"{place}: then" for place in places)
    now = (f"{place}: changed" for place in places)
    _heads(painter, plan.header_row, *headings, *then, *now, left=LABEL_COLUMN)
    for column in range(VALUE_COLUMN + WIDTH, CHANGED_COLUMN + WIDTH):
        painter.widen(column, 15)
    for across in range(WIDTH):  # those below look as these do, where something is kept
        painter.put(plan.first_row, VALUE_COLUMN + across, None, "Working text")
    for row, line in enumerate(plan.lines, start=plan.first_row):
        item = layout.quantity(line.key)
        label = f"Rows of {_table_title(layout, item)}" if line.size else item.label
        if len(line.members) > 1:
            label = f"{label} and {len(line.members) - 1} more"
        if line.given:
            painter.put(row, 1, line.key, "Working text")
        elif line.members or line.holds != "texts":
            painter.put(row, LABEL_COLUMN, label, "Working text")
        if line.given and line.rows:
            painter.put(row, ROWS_COLUMN, line.rows, "Working text")
        for option in line.options:
            painter.put(row, CHANGED_COLUMN + offset(option), None, "Working text")
    if plan.weights:
        painter.put(plan.header_row, plan.weights_column, "Weights of sums", "Column heading")
        for row, weight in enumerate(weights(plan.weights), start=plan.first_row):
            painter.put(row, plan.weights_column, weight, "Working text")
    if plan.computed:
        told = "1: an error is told beside each part"
        painter.put(plan.title_row, plan.weights_column + PART, told, "Working text")
        painter.put(plan.title_row, plan.weights_column + SPOILT, None, "Working text")
    watched = {
        PART: "Part",
        SPOILT: "No number",
        NOW: "Typed over",
        THEN: "At the refill",
        AMISS: "Typed, no number",
    }
    for across, heading in watched.items() if plan.computed else ():
        painter.put(plan.header_row, plan.weights_column + across, heading, "Column heading")
    for row, part in enumerate(plan.computed, start=plan.first_row):
        painter.put(row, plan.weights_column + PART, part.label, "Working text")
        for across in (SPOILT, NOW, THEN, *((AMISS,) if part.numbers else ())):
            painter.put(row, plan.weights_column + across, None, "Working text")


def _table_title(layout: Layout, item: Quantity) -> str:
    return layout.model.tables[str(item.axis)].title


def _header_line(painter: Painter, row: int, heading: str) -> None:
    painter.put(row, 1, heading, "Column heading left")
    painter.put(row, 2, "Name", "Column heading left")
    for option in range(OPTIONS):
        painter.put(row, 3 + option, None, "Column heading")
    painter.put(row, STATE_COLUMN, "State", "Column heading left")
    painter.put(row, SHORT_COLUMN, "In short", "Column heading left")
    painter.put(row, CHECKSUM_COLUMN, "Checksum", "Column heading left")


def _mark_line(painter: Painter, row: int, label: str, name: str) -> None:
    painter.put(row, 1, label, "Row label")
    painter.put(row, 2, name, "Row note")
    for option in range(OPTIONS):
        painter.put(row, 3 + option, None, "Computed number", _LEVEL)
    painter.put(row, STATE_COLUMN, None, "Row note")
