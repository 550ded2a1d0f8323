"""Puts values into the typed cells of a new workbook, and the rules for what may be typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from openpyxl.worksheet.datavalidation import DataValidation

from estimator.inputs import Field, day
from estimator.workbook.package.a1 import Range, column_letters, range_text
from estimator.workbook.package.references import absolute
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.painter import Painter
from estimator.workbook.template.plans import OPTIONS
from estimator.workbook.template.read_as import inside, number_tests
from estimator.workbook.template.writer import entry_cells

MOST_TITLE = 32
MOST_MESSAGE = 255
"""Characters that the file format allows in a validation message and its title."""


def write_typed(
    painters: Mapping[str, Painter],
    layout: Layout,
    typed: Mapping[tuple[str, int], Any] | None,
) -> None:
    """Fill the typed cells with ``typed``, or with the defaults of the fields if that is None.

    Table columns have no default: a row that nobody typed is blank.
    """
    if typed is None:
        typed = {
            (key, option): layout.entry(key).default
            for key, place in layout.places.items()
            if place.typed is not None and place.axis is None
            for option in range(OPTIONS if place.by_option else 1)
        }
    for (key, number), given in typed.items():
        value = _cell_value(layout.entry(key), given)
        if value is None:
            continue
        place = layout.places[key]
        at, column = place.typed_cell(number if place.by_option else 0, number if place.axis else 0)
        cell: Any = painters[place.sheet].sheet.cell(at, column)
        cell.value = value
        if isinstance(value, str):
            cell.data_type = "s"


def _cell_value(entry: Field, value: Any) -> Any:
    """A value as its cell holds it: lengths and texts as text, days as dates."""
    if value is None:
        return None
    if entry.kind == "date":
        return day(value)
    if entry.kind in ("length", "text", "choice", "key"):
        return f"{value:.12g}" if isinstance(value, float) else str(value)
    return value


def add_validations(painters: Mapping[str, Painter], layout: Layout) -> None:
    """Give every typed cell its rule and its message."""
    for key, place in layout.places.items():
        if place.typed is not None:
            rule = _validation(layout, layout.entry(key))
            rule.add(range_text(place.typed))
            painters[place.sheet].sheet.add_data_validation(rule)


_Rule = Literal["list", "decimal", "whole", "date"]
_RULES: Mapping[str, _Rule] = {
    "choice": "list",
    "key": "list",
    "number": "decimal",
    "share": "decimal",
    "whole": "whole",
    "date": "date",
}


def _validation(layout: Layout, entry: Field) -> DataValidation:
    cells = entry_cells(layout, entry.key)
    kind = _RULES.get(entry.kind)
    rule = DataValidation(type=kind, allow_blank=True, showInputMessage=True, showErrorMessage=True)
    if entry.labels:
        rule.type, rule.formula1 = "list", _labels(layout, *entry.labels)
        rule.errorStyle, rule.error = "warning", "It is none of the names listed."
    elif kind == "list":
        rule.formula1 = cells.offered or cells.listed
        rule.errorStyle = "warning" if cells.offered else "stop"
        rule.error = (
            f"It is none of those listed. Another line of {layout.quantity(entry.refers).sheet}"
            " is taken by its name."
            if cells.offered
            else "Choose an entry of the list."
        )
    elif kind is not None:
        rule.operator = "between"
        rule.formula1, rule.formula2 = cells.least, cells.most
        if entry.zero:
            rule.type, rule.operator, rule.formula2 = "custom", None, None
            rule.formula1 = (
                f"AND({','.join(number_tests(entry, cells))},{inside(entry, cells.typed, cells)})"
            )
        rule.errorStyle = "warning"
        rule.error = f"{_limits(layout, entry)} Outside of that it is not used."[:MOST_MESSAGE]
    rule.errorTitle = rule.promptTitle = _cut(entry.label, MOST_TITLE)
    rule.prompt = _cut(message(layout, entry), MOST_MESSAGE)
    return rule


def _labels(layout: Layout, by: str, of: tuple[str, ...]) -> str:
    """Formula of the names that a list shows, by the word in the column beside."""
    typed = layout.places[by].typed
    assert typed is not None
    word = f"${column_letters(typed.column1)}{typed.row1}"
    listed = layout.lists.choices_name(layout.entry(by))
    at = f"MIN(MATCH({word},{listed},0),{len(of)})"
    read = read_for(layout, layout.places[by].axis)
    return f"CHOOSE({at},{','.join(names(layout, key, read) for key in of)})"


def read_for(layout: Layout, axis: str | None) -> frozenset[str]:
    """Keys that the solvers read which answer in a table."""
    model = layout.model
    answered = {item.solver for item in model.quantities.values() if item.axis == axis}
    solvers = (model.solvers[name] for name in answered if name)
    return frozenset(key for solver in solvers for key in solver.reads)


def names(layout: Layout, key: str, read: frozenset[str]) -> str:
    """The cells of a column of names, or those that the labels of a sheet's inputs stand in.

    Args:
        layout: Of the template.
        key: Of the column, or of an input of the sheet.
        read: Keys that matter: from the first of the sheet's inputs among them to the last.
    """
    place = layout.places[key]
    if place.axis is not None:
        return f"in_{key}"
    rows = [
        other.area.row1
        for other_key, other in layout.places.items()
        if other.sheet == place.sheet
        and other.axis is None
        and other_key in read
        and layout.quantity(other_key).role == "input"
    ]
    column = layout.sheets[place.sheet].columns.label
    return absolute(place.sheet, Range(min(rows), column, max(rows), column))


_ALSO: Mapping[str, str] = {
    "feet": "Also like 12' 6 1/2\", 12-6, 150 in, 3.81 m.",
    "metric": "Also like 3.81 m, 381 cm, 12' 6 1/2\", 150 in.",
}


def message(layout: Layout, entry: Field) -> str:
    """What a person is told who selects a typed cell."""
    parts = [entry.note]
    if entry.kind == "length":
        parts.append(f"A bare number is in {entry.bare_unit}. {_ALSO[layout.model.measure]}")
    if entry.kind == "choice":
        parts.append("Choose from the list.")
    if entry.kind == "key":
        parts.append(f"Choose an entry of {layout.quantity(entry.refers).sheet}.")
    parts.append(_limits(layout, entry))
    if not entry.needed:
        parts.append(entry.when_blank or _when_blank(layout, entry))
    return " ".join(filter(None, parts)) or "A few words."


def _when_blank(layout: Layout, entry: Field) -> str:
    """What a blank that is allowed means: in the column that names a table's lines, no line."""
    axis = layout.places[entry.key].axis
    keys = layout.model.tables[axis].keys if axis else []
    first = next((key for key in keys if layout.model.quantities[key].field), "")
    return "Blank: the line is not used." if first == entry.key else "May be blank."


def _limits(layout: Layout, entry: Field) -> str:
    if not entry_cells(layout, entry.key).least:
        return ""
    where = "on the sheet Lists" if layout.places[entry.key].axis else "on this row"
    return f"Least and most stand {where}."


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 3].rstrip() + "..."
