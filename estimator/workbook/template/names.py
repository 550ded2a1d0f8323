"""The defined names of the workbook: the contract between the file and everything that fills it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from estimator.errors import RowError
from estimator.rows import MARKS_SHEET
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.references import absolute, check_name
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.lists import LISTS_SHEET
from estimator.workbook.template.plans import (
    HEADER_ROW,
    OPTIONS,
    OPTIONS_COLUMNS,
    sheet_top,
)
from estimator.workbook.template.snapshot import (
    CHANGED_COLUMN,
    CHECKSUM_COLUMN,
    OVER_THEN,
    SNAPSHOT_CHANGED,
    SNAPSHOT_COLUMNS,
    SNAPSHOT_VALUE,
    THEN,
    VALUE_COLUMN,
    WIDTH,
    level_name,
)

OPTION_KEY = "option_key"
"""Name of the range that holds the options' keys, A to F."""
VERSION = "template_version"
"""Name of the cell that holds the version of the template."""
TEMPLATE_VERSION = "16"
"""Raised with every change of the template that people's workbooks are to be upgraded for."""
COSTS_THEN = "costs_then"
"""Name of the cells, one an option, that keep what it cost at the last refill."""
SOLVED_CHECKSUM = "solved_checksum"
"""Name of the cells, one a solver, that tell whether its solved cells still hold."""


def names(layout: Layout) -> Mapping[str, str]:
    """Reference, such as ``Job!$B$7``, of every defined name.

    Raises:
        RowError: As :func:`named_ranges`.
    """
    return {name: absolute(*place) for name, place in named_ranges(layout).items()}


@lru_cache(maxsize=4)
def named_ranges(layout: Layout) -> Mapping[str, tuple[str, Range]]:
    """Sheet and cells of every defined name.

    Every quantity's key is the name of its values, and ``in_`` and the key that of its typed
    cells. ``least_`` and ``most_`` are the limits of table entries, ``choices_`` the choice
    lists, ``offers_`` those that show part of a table, ``at_`` the tops of the sheets,
    ``snapshot_`` the columns of the snapshot, ``level_`` the marks of what depends on several
    solvers.

    Raises:
        RowError: If two names are the same but for case, or one can't be a name.
    """
    found: dict[str, tuple[str, Range]] = {}
    for key, place in layout.places.items():
        found[key] = place.sheet, place.area
        if place.typed is not None:
            found[f"in_{key}"] = place.sheet, place.typed
    first = OPTIONS_COLUMNS.typed
    keys = Range(HEADER_ROW, first, HEADER_ROW, first + OPTIONS - 1)
    found[OPTION_KEY] = layout.options_sheet, keys
    lists = layout.lists
    found[VERSION] = LISTS_SHEET, Range(lists.version_row, 2, lists.version_row, 2)
    row = lists.costs_row
    found[COSTS_THEN] = LISTS_SHEET, Range(row, 2, row, 1 + OPTIONS)
    for name, area in (*lists.choices.values(), *lists.offers.values()):
        found[name] = LISTS_SHEET, area
    for key in lists.limits:
        least, most = _limits(layout, key)
        found[f"least_{key}"], found[f"most_{key}"] = (LISTS_SHEET, least), (LISTS_SHEET, most)
    found.update((name, (MARKS_SHEET, area)) for name, area in _snapshot_names(layout).items())
    found.update({sheet_top(sheet): (sheet, Range(1, 1, 1, 1)) for sheet in layout.order})
    _check(found)
    return found


def limit_cells(layout: Layout, key: str) -> tuple[str, str]:
    """References to the cells of the least and most that a table's entry takes.

    Formulas that stand once a row use these and not the names, which the recalculation engine is
    slow to look up.
    """
    least, most = _limits(layout, key)
    return absolute(LISTS_SHEET, least), absolute(LISTS_SHEET, most)


def _limits(layout: Layout, key: str) -> tuple[Range, Range]:
    row = layout.lists.limits[key]
    return Range(row, 3, row, 3), Range(row, 4, row, 4)


def _snapshot_names(layout: Layout) -> dict[str, Range]:
    plan = layout.snapshot
    columns = {name: (at, 1) for at, (name, _) in enumerate(SNAPSHOT_COLUMNS, start=1)}
    columns[SNAPSHOT_VALUE] = VALUE_COLUMN, WIDTH
    columns[SNAPSHOT_CHANGED] = CHANGED_COLUMN, WIDTH
    found = {
        name: Range(plan.first_row, at, plan.last_row, at + width - 1)
        for name, (at, width) in columns.items()
    }
    if plan.computed:
        column, last = plan.weights_column + THEN, plan.first_row + len(plan.computed) - 1
        found[OVER_THEN] = Range(plan.first_row, column, last, column)
    marks = list(plan.mark_rows.values())
    if marks:
        found[SOLVED_CHECKSUM] = Range(marks[0], CHECKSUM_COLUMN, marks[-1], CHECKSUM_COLUMN)
    for solvers, row in plan.states.items():
        found[level_name(solvers)] = Range(row, 3, row, 2 + OPTIONS)
    return found


def _check(found: Iterable[str]) -> None:
    seen: dict[str, str] = {}
    for name in found:
        check_name(name)
        twin = seen.setdefault(name.casefold(), name)
        if twin != name:
            raise RowError(f"{twin} and {name} are one name to a spreadsheet.")
