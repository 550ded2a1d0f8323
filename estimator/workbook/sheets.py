"""Texts and styles of every sheet: headings, labels, units, notes and the look of each cell."""

from __future__ import annotations

import math
from collections.abc import Mapping

from estimator.formula import Node
from estimator.inputs import Field
from estimator.rows import OPTION_KEYS, Quantity
from estimator.workbook.layout import NOTE_WIDTH, Layout
from estimator.workbook.lists import LIMITED
from estimator.workbook.painter import Painter
from estimator.workbook.plans import OPTIONS, Columns, NotesPlan, SectionPlan, SheetPlan, TablePlan

_GENERAL = "General"
_HEADINGS: Mapping[str, tuple[tuple[str, str, float], ...]] = {
    # attribute of Columns, heading, width
    "job": (
        ("label", "Input", 36),
        ("typed", "Typed", 20),
        ("unit", "Unit", 9),
        ("least", "Least", 10),
        ("most", "Most", 10),
        ("read", "Read as", 18),
        ("check", "Check", 26),
        ("note", "Note", 58),
    ),
    "options": (
        ("label", "Input", 30),
        ("unit", "Unit", 7),
        ("typed", "", 13),
        ("least", "Least", 7),
        ("most", "Most", 7),
        ("read", "", 12),
        ("check", "Check", 22),
        ("note", "Note", 40),
    ),
    "computed": (
        ("label", "Row", 34),
        ("unit", "Unit", 8),
        ("value", "", 12.5),
        ("check", "State", 34),
        ("note", "Note", 38),
        ("source", "Source", 28),
    ),
}
_NARROW = {"check": 22.0, "note": 26.0, "source": 20.0}
"""Widths on a sheet whose tables run through these columns."""
NAME_LINES = 3
"""Lines of a heading that shows an option's name."""
_SHORT_TEXT = 22
"""Texts an option up to this length stay on one line, shrunk if need be; longer ones wrap."""
_WIDE_OPTION = 20.0
"""Width of an option's column on a sheet with long texts."""
_MOST_LINES = 5
_LEFT = ("label", "check", "note", "source")


def write_sheet(painter: Painter, layout: Layout, plan: SheetPlan) -> None:
    """Everything of a model's sheet but its formulas and the typed values."""
    write_top(painter, plan.title, plan.purpose)
    if plan.header_row:
        _header(painter, layout, plan)
    elif all(isinstance(part, NotesPlan) for part in plan.parts):
        painter.widen(1, NOTE_WIDTH)
    for part in plan.parts:
        if isinstance(part, SectionPlan):
            _section(painter, layout, plan, part)
        elif isinstance(part, TablePlan):
            _table(painter, layout, part)
        else:
            _notes(painter, part)


def write_top(painter: Painter, title: str, purpose: str) -> None:
    painter.put(1, 1, title, "Sheet title")
    painter.heighten(1, 1.7)
    painter.put(2, 1, purpose, "Sheet purpose")
    painter.put(3, 1, None, "Overall flag")


def _header(painter: Painter, layout: Layout, plan: SheetPlan) -> None:
    row = plan.header_row
    long = any(
        text_length(layout, key) > _SHORT_TEXT
        for part in plan.parts
        if isinstance(part, SectionPlan)
        for key in part.rows
        if layout.quantity(key).by_option
    )
    tables = any(isinstance(part, TablePlan) for part in plan.parts)
    for attribute, heading, width in _HEADINGS[plan.kind]:
        if tables:
            width = min(width, _NARROW.get(attribute, width))
        if attribute == "value" and long:
            width = _WIDE_OPTION
        first = int(getattr(plan.columns, attribute))
        style = "Column heading left" if attribute in _LEFT else "Column heading"
        if heading:
            painter.put(row, first, heading, style, width=width)
            continue
        for option in range(OPTIONS):
            letter = OPTION_KEYS[option] if attribute == "typed" else None
            if not plan.by_option and option == 0:
                letter = "Value"
            painter.put(row, first + option, letter, style, width=width)
    if plan.by_option:
        painter.heighten(row, NAME_LINES)
    if plan.kind == "options":
        painter.put(row - 1, plan.columns.typed, "Typed", "Working text")
        painter.put(row - 1, plan.columns.read, "Read as", "Working text")


def _section(painter: Painter, layout: Layout, plan: SheetPlan, part: SectionPlan) -> None:
    columns = plan.columns
    for column in range(1, columns.last + 1):
        painter.put(part.title_row, column, None, "Section heading")
    painter.put(part.title_row, 1, part.section.title, "Section heading")
    items = [layout.quantity(key) for key in part.rows]
    if plan.kind == "computed" and any(item.role == "input" for item in items):
        for attribute in ("typed", "read", "least", "most", "check"):
            hint = "read as" if attribute == "read" else attribute
            painter.put(part.title_row, getattr(columns, attribute), hint, "Section hint")
    for item in items:
        row = part.rows[item.key]
        painter.put(row, columns.label, item.label, "Row label")
        painter.put(row, columns.unit, item.unit, "Row unit")
        note = "; ".join(filter(None, (item.note, "" if columns.source else item.source)))
        painter.put(row, columns.note, note or None, "Row note")
        if columns.source:
            painter.put(row, columns.source, item.source or None, "Row note")
        if item.field is not None:
            _typed_row(painter, layout, plan, item.field, row)
        else:
            _value_row(painter, layout, plan, item, row)


def _typed_row(painter: Painter, layout: Layout, plan: SheetPlan, entry: Field, row: int) -> None:
    columns, place = plan.columns, layout.places[entry.key]
    typed, read = typed_style(entry), read_style(entry)
    if entry.kind == "text" and place.by_option:
        typed, read = ("Typed words", "@"), ("Read as words", _GENERAL)
        painter.heighten(row, NAME_LINES)
    for option in range(OPTIONS if place.by_option else 1):
        painter.put(*place.typed_cell(option), None, *typed)
        painter.put(*place.cell(option), None, *read)
    if entry.kind in LIMITED:
        _, fmt = typed_style(entry)
        fmt = _GENERAL if entry.kind == "length" else fmt
        painter.put(row, columns.least, entry.low, "Row limit", fmt)
        painter.put(row, columns.most, entry.high, "Row limit", fmt)
    else:
        painter.put(row, columns.least, None, "Row limit")
        painter.put(row, columns.most, None, "Row limit")
    painter.put(row, columns.check, None, "Check text")
    if entry.kind == "length":
        for helper in range(2 * (OPTIONS if place.by_option else 1)):
            painter.put(row, plan.helper + helper, None, "Working text", width=12)
        top = plan.header_row
        painter.put(top, plan.helper, "Workings: lengths taken apart, then in feet", "Working text")


def typed_style(entry: Field) -> tuple[str, str]:
    """Style and number format of a typed cell."""
    if entry.kind == "length":
        return "Typed length", "@"
    if entry.kind in ("choice", "key"):
        return "Typed choice", "@"
    if entry.kind == "text":
        return "Typed text", "@"
    if entry.kind == "date":
        return "Typed date", "yyyy-mm-dd"
    return "Typed number", _number_format(entry)


def read_style(entry: Field) -> tuple[str, str]:
    """Style and number format of a read-as cell."""
    if entry.value_kind == "text":
        return "Read as text", _GENERAL
    if entry.kind == "date":
        return "Read as", "yyyy-mm-dd"
    return "Read as", _number_format(entry)


def _number_format(entry: Field) -> str:
    if entry.fmt.endswith("#"):  # a pattern such as 0.### shows a lone point behind whole numbers
        return {"share": "0.0%", "length": "0.00##"}.get(entry.kind, _GENERAL)
    return entry.fmt


def value_style(item: Quantity) -> tuple[str, str]:
    """Style and number format of a computed or solved cell."""
    who = "Solved" if item.role == "solved" else "Computed"
    if item.kind == "text":
        return f"{who} text", _GENERAL
    return f"{who} number", _GENERAL if item.fmt.endswith("#") else item.fmt


def _value_row(painter: Painter, layout: Layout, plan: SheetPlan, item: Quantity, row: int) -> None:
    columns: Columns = plan.columns
    place = layout.places[item.key]
    style, fmt = value_style(item)
    if item.kind == "text" and not item.by_option:
        style = style.replace(" text", " line")  # its neighbours are empty: it may run over them
    elif item.kind == "text":
        length = text_length(layout, item.key)
        if length <= _SHORT_TEXT:
            style = style.replace(" text", " fit")
        else:
            painter.heighten(row, min(math.ceil(length / _WIDE_OPTION), _MOST_LINES))
    if plan.kind == "computed":  # one line under the whole row, also where a job row is empty
        for option in range(OPTIONS):
            painter.put(row, columns.value + option, None, style if item.by_option else "Row unit")
    for option in range(OPTIONS if place.by_option else 1):
        painter.put(*place.cell(option), None, style, fmt)
    painter.put(row, columns.check, None, "State text")


def text_length(layout: Layout, key: str) -> int:
    """About how many characters the text of a quantity can have, from its formula's own texts."""
    item, model = layout.quantity(key), layout.model
    if item.kind != "text":
        return 6
    if item.field is not None:
        return max((len(choice) for choice in item.field.choices), default=18)
    if key in model.stacks:
        return max(text_length(layout, part) for part in model.stacks[key])
    return _node_length(layout, model.expressions[key]) if key in model.expressions else 60


def _node_length(layout: Layout, node: Node) -> int:
    if node.op == "text":
        return len(str(node.value))
    if node.op == "ref":
        return text_length(layout, str(node.value))
    lengths = [_node_length(layout, arg) for arg in node.args]
    if node.op == "&":
        return sum(lengths)
    return max(lengths[1:] if node.op == "if" else lengths, default=6)


def _notes(painter: Painter, part: NotesPlan) -> None:
    painter.put(part.title_row, 1, part.notes.title, "Block title")
    for offset, line in enumerate(part.lines, start=1):
        painter.put(part.title_row + offset, 1, line, "Plain note")


_TABLE_WIDTHS = {"index": 6.0, "typed": 11.0, "read": 10.0, "check": 18.0, "value": 12.0}


def _table(painter: Painter, layout: Layout, part: TablePlan) -> None:
    painter.put(part.title_row, 1, part.table.title, "Block title")
    if part.note_row:
        painter.put(part.note_row, 1, part.table.note, "Plain note")
    if part.state_row:
        painter.put(part.state_row, 1, None, "Table state")
    for column in part.columns:
        at = column.column
        if column.role in ("normal", "feet"):
            painter.put(part.header_row, at, f"Workings: {column.key}", "Working text", width=12)
            for row in range(part.first_row, part.last_row + 1):
                painter.put(row, at, None, "Working text")
            continue
        heading, unit, (style, fmt), wide = _table_texts(layout, column.key, column.role)
        repeated = column.option not in (None, 0)
        painter.put(part.header_row, at, None if repeated else heading, "Column heading")
        painter.put(part.unit_row, at, unit or None, "Heading unit")
        if part.option_row:
            painter.put(part.option_row, at, None, "Heading option")
            painter.heighten(part.option_row, NAME_LINES)
        words = max((len(word) for word in heading.split()), default=0) if not repeated else 0
        painter.widen(at, max(_TABLE_WIDTHS[column.role], wide, words * 1.15 + 2))
        for offset, row in enumerate(range(part.first_row, part.last_row + 1)):
            value = offset + 1 if column.role == "index" else None
            painter.put(row, at, value, style, fmt)


def _table_texts(layout: Layout, key: str, role: str) -> tuple[str, str, tuple[str, str], float]:
    """Heading, unit, style with number format, and least width of a table column."""
    if role == "check":
        return "Check", "", ("Check fit", _GENERAL), 0
    item = layout.quantity(key)
    if role == "read":
        style, fmt = read_style(layout.entry(key))
        return f"{item.label}, read as", item.unit, (style, _with_dash(fmt)), 0
    if role == "typed":
        entry = layout.entry(key)
        wide = 20.0 if entry.kind in ("text", "key") else 0.0
        if entry.kind == "choice":
            wide = max(len(choice) for choice in entry.choices) + 4.0
        return item.label, item.unit, typed_style(entry), wide
    style, fmt = value_style(item)
    if item.kind == "text":
        last = layout.model.tables[str(item.axis)].keys[-1] == key
        style = style.replace(" text", " line" if last else " fit")  # the last may run over
        return item.label, item.unit, (style, fmt), 20.0
    return item.label, item.unit, (style, fmt if role == "index" else _with_dash(fmt)), 0.0


def _with_dash(fmt: str) -> str:
    """A number format that shows 0 as a dash: the blank lines of a table stay calm."""
    return fmt if ";" in fmt or fmt[0] not in "0#G" else f'{fmt};-{fmt};"–"'
