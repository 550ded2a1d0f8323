"""What is to be seen of the parts of a sheet on paper, besides the rows that hold something."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from estimator.engine import Model
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.print_rows import COLUMN_WIDTH, Shown
from estimator.workbook.refill.unasked import told
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.names import COSTS_THEN, SOLVED_CHECKSUM, VERSION
from estimator.workbook.template.plans import HEADER_ROW, SectionPlan, SheetPlan, TablePlan
from estimator.workbook.template.sheet_texts import ANSWER_LINE, in_large
from estimator.workbook.template.styles import BY_NAME
from estimator.workbook.template.text_size import (
    SPARE,
    line_count,
    row_height,
    text_width,
)

INDENT = 1.5
"""Characters that an indent takes."""

Ranges = Mapping[str, tuple[str, Range]]


@dataclass(slots=True)
class PartsShown:
    """What is to be seen of the parts of a tab.

    Args:
        unsaid: Rows of notes on rows that are left out.
        empty: First and last row of tables without a line.
        lettered, tables, ruled: As ``Shown`` has them.
    """

    unsaid: set[int] = field(default_factory=set)
    empty: list[tuple[int, int]] = field(default_factory=list)
    lettered: dict[int, Range] = field(default_factory=dict)
    tables: list[tuple[int, int, int]] = field(default_factory=list)
    ruled: set[int] = field(default_factory=set)


def parts_shown(
    model: Model,
    plan: Layout,
    ranges: Ranges,
    values: Mapping[str, Any],
    in_use: Collection[tuple[str, int]],
) -> dict[str, PartsShown]:
    """By title of the tab, what is to be seen of its parts.

    Args:
        plan: Where parts stand in the template: in the workbook they may stand lower.
        ranges: Sheet and cells of every name of the workbook.
        values: What the workbook says of itself.
        in_use: Title and row of every line that is printed.
    """
    found: defaultdict[str, PartsShown] = defaultdict(PartsShown)
    for sheet in plan.sheets.values():
        late = sheet.header_row > sheet.titles[1]
        head_row = 0
        for part in sheet.parts:
            if isinstance(part, SectionPlan):
                keys = [key for key in part.rows if key in ranges]
                if not keys:
                    continue
                title, last = ranges[keys[-1]]
                lower = last.row1 - part.rows[keys[-1]]
                shown = found[title]
                shown.ruled.update(range(part.title_row + lower, last.row1 + 1))
                for row, key in enumerate(part.noted, start=part.foot_row + lower):
                    if key in ranges and (title, ranges[key][1].row1) not in in_use:
                        shown.unsaid.add(row)
                options = next((k for k in keys if model.quantities[k].by_option), "")
                if late and options:
                    at = ranges[options][1]
                    if head_row:
                        cells = Range(head_row, at.column1, head_row, at.column2)
                        shown.lettered[part.title_row + lower] = cells
                    head_row = head_row or sheet.header_row + lower
            elif isinstance(part, TablePlan) and part.printed_row:
                title, area = ranges.get(part.table.keys[0], ("", Range(0, 0, 0, 0)))
                if not title:
                    continue
                first = area.row1 - part.first_row + part.title_row
                found[title].tables.append((first, area.row1 - 1, area.row2))
                if _holds_nothing(model, sheet, part, values):
                    found[title].empty.append((first, area.row2 + 1))
    return dict(found)


def _holds_nothing(
    model: Model, sheet: SheetPlan, part: TablePlan, values: Mapping[str, Any]
) -> bool:
    """Whether a table that nobody types into has no line, and no other part beside it."""
    if part.typed_keys or part.table.shows.headed:
        return False
    others = (other for other in sheet.parts if other is not part)
    beside = any(
        other.title_row <= part.last_row and part.title_row <= other.last_row for other in others
    )
    keys = (key for key in part.table.keys if model.quantities[key].role != "index")
    return not beside and not any(told(values[key]) for key in keys)


@dataclass(frozen=True, slots=True)
class Wrapped:
    """A text of the job that is longer than a line of the cells which it may take.

    Args:
        cells: These cells.
        height: Height in points of their row.
    """

    cells: Range
    height: float


def wrapped_texts(
    model: Model,
    plan: Layout,
    ranges: Ranges,
    values: Mapping[str, Any],
    widths: Mapping[str, Mapping[int, float]],
) -> dict[str, dict[int, Wrapped]]:
    """By title of the tab and row, the texts that would be cut off at what stands right of them.

    Args:
        widths: By title, the widths of columns that have one of their own.
    """
    found: defaultdict[str, dict[int, Wrapped]] = defaultdict(dict)
    for sheet in plan.sheets.values():
        for part in sheet.parts:
            if not isinstance(part, SectionPlan):
                continue
            large = in_large(sheet, map(model.quantities.__getitem__, part.rows))
            size = BY_NAME[ANSWER_LINE].size if large else sheet.size
            for key, text in _running(model, part, ranges, values):
                title, area = ranges[key]
                told = sheet.columns.state if model.upstream(key) else 0
                last = min(told - 1, part.last) if told else part.last
                wide = widths[title]
                room = sum(wide.get(c, COLUMN_WIDTH) for c in range(area.column1, last + 1))
                room -= INDENT
                if text_width(text, size, bold=large) / SPARE > room:
                    lines = line_count(text, room, size, bold=large)
                    cells = area._replace(column2=last)
                    found[title][area.row1] = Wrapped(cells, row_height(lines, size))
    return dict(found)


def _running(
    model: Model, part: SectionPlan, ranges: Ranges, values: Mapping[str, Any]
) -> Iterator[tuple[str, str]]:
    """Keys and texts of the rows of a section that say something once."""
    for key in part.rows:
        item = model.quantities[key]
        if item.kind == "text" and item.role != "input" and not item.by_option and key in ranges:
            yield key, str(np.ravel(np.asarray(values[key], dtype=object))[0])


def records_shown(plan: Layout, ranges: Ranges, least: float, short: float) -> dict[str, Shown]:
    """What is to be seen of the sheets that the template adds to the model's, by title of the tab.

    Args:
        least: Share of full size that a page may be printed at.
        short: A page is not ended before so much of it is filled.
    """
    found: dict[str, Shown] = {}
    lists = plan.lists
    if VERSION in ranges:
        title, version = ranges[VERSION]
        lower = version.row1 - lists.version_row
        kept = ranges[COSTS_THEN][1].row1 if COSTS_THEN in ranges else 0
        tables = (
            (lists.problems[0].row - 2, lists.problems[0].row - 1, lists.total_row),
            (lists.limits_title_row, lists.limits_title_row + 1, lists.choices_title_row - 2),
        )
        found[title] = Shown(
            least,
            {},
            unasked=((kept, kept),) if kept else (),
            link_row=version.row1 - 1,
            short=short,
            tables=tuple((a + lower, b + lower, c + lower) for a, b, c in tables),
        )
    if SOLVED_CHECKSUM in ranges:
        title, marks = ranges[SOLVED_CHECKSUM]
        lower = marks.row2 - max(plan.snapshot.mark_rows.values())
        joined = plan.snapshot.states_title_row + lower, plan.snapshot.title_row - 1 + lower
        found[title] = Shown(
            least, {}, unasked=(joined,), link_row=HEADER_ROW - 1, short=short
        )  # what depends on several solvers says no more than these do
    return found
