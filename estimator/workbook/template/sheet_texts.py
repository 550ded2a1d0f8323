"""Texts and styles of every sheet: headings, labels, units, notes and the look of each cell."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.amounts import in_measure
from estimator.engine import Model
from estimator.inputs import Field, words
from estimator.rows import OPTION_KEYS, Quantity, Table
from estimator.workbook.template.folded import phrase_cell, words_cell
from estimator.workbook.template.grid import note_text
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.lists import LIMITED
from estimator.workbook.template.painter import Painter
from estimator.workbook.template.plans import (
    HEADER_ROW,
    HELPERS,
    OPTIONS,
    NotesPlan,
    SectionPlan,
    SheetPlan,
    TableColumn,
    TablePlan,
    sheet_top,
)
from estimator.workbook.template.room import declared_text, heading_of, sample_texts
from estimator.workbook.template.styles import APART, BY_NAME, STYLES
from estimator.workbook.template.text_size import line_count

_GENERAL = "General"
_LEFT_STYLES = frozenset(style.name for style in STYLES if style.across == "left")
_HELPER_WIDTH = 12.0
NAME_LINES = 2
"""Lines of a heading that shows an option's name."""
_MOST_LINES = 10
_NAMED = 2
"""Lines of a text that may be a name, which may be longer than the one it is reckoned by."""
ANSWER_LINE = "Answer line"
"""Style of a text of the answer."""
_STATE_HEADED = 7.0
"""Width from which on its heading has room on one line."""
_STATE_LEAST = 10.0
"""Width from which on a state stands in its own column; else it runs on to the left."""
_SLIM = 14.0
"""Width below which a heading with an option's name takes a line more."""
_INDENT = 1.5
"""Characters of a column that an indent takes."""


def write_sheet(painter: Painter, layout: Layout, plan: SheetPlan) -> None:
    """Everything of a model's sheet but its formulas and the typed values."""
    for column, width in plan.widths.items():
        painter.widen(column, width)
    write_top(painter, plan.title, plan.purpose, first=plan.name == layout.order[0])
    if plan.name != layout.order[0]:
        write_way_back(painter, layout.order[0])
    if plan.header_row:
        _header(painter, plan)
    painter.gap(HEADER_ROW - 1)
    for part in plan.parts:
        painter.gap(part.last_row + 1)
        if isinstance(part, SectionPlan):
            _section(painter, layout, plan, part)
        elif isinstance(part, TablePlan):
            _table(painter, layout, part)
        else:
            _notes(painter, part)
    _flatten(painter, layout, plan)
    if plan.workings_row:
        aside = any(
            isinstance(p, TablePlan) and p.left > 1 and not p.printed_row for p in plan.parts
        )
        where = "below, at the right" if aside else "below"
        text = f"Workings, which formulas and charts read, stand {where}. They are not printed."
        painter.put(plan.workings_row, 1, text, "Foot note")


def write_top(painter: Painter, title: str, purpose: str, *, first: bool = False) -> None:
    """Title, purpose and the flag over all; larger on the first sheet."""
    flag = "Overall flag on Start" if first else "Overall flag"
    for row, text, style in ((1, title, "Sheet title"), (2, purpose, "Sheet purpose")):
        painter.put(row, 1, text, style)
        painter.heighten(row, 1, style)
    for column in range(1, 3):
        painter.put(3, column, None, flag)
    painter.heighten(3, 1.35, flag)


def write_way_back(painter: Painter, first: str) -> None:
    """A link to the first sheet, in the low row over the headings; from large texts, the title."""
    row = 1 if painter.large else HEADER_ROW - 1
    if not painter.large:
        painter.put(row, 1, f"Back to {first}", "Way back")
    painter.link(row, 1, sheet_top(first), f"To the sheet {first}")


def _header(painter: Painter, plan: SheetPlan) -> None:
    row, columns = plan.header_row, plan.columns
    for column in range(1, columns.last + 1):
        painter.put(row, column, None, "Column heading")
    typed = plan.kind in ("job", "options")
    left = [(columns.label, "Input" if typed else "Row"), (columns.note, "Note")]
    if columns.state:
        left.append((columns.state, "Check" if typed else "State"))
    for column, heading in left:
        if column:
            if heading == "State" and plan.widths[column] < _STATE_LEAST:
                told = heading if plan.widths[column] >= _STATE_HEADED else None
                painter.put(row, column, told, "Column heading")
                continue
            runs = column == columns.label and columns.label + 1 not in (
                columns.unit,
                columns.typed,
            )
            look = "Column heading run" if runs else "Column heading left"
            painter.put(row, column, heading, look)
    painter.put(row, columns.unit, "Unit", "Column heading middle")
    if plan.kind == "job":
        painter.put(row, columns.typed, "Typed", "Column heading middle")
        painter.put(row, columns.read, "Read as", "Column heading middle")
    if typed:
        painter.put(row, columns.least, "Least", "Limit heading")
        painter.put(row, columns.most, "Most", "Limit heading")
    if plan.kind == "options":
        for option, letter in enumerate(OPTION_KEYS):
            painter.put(row, columns.typed + option, letter, "Column heading middle")
            painter.put(row, columns.read + option, None, "Column heading middle")
        painter.put(row - 1, columns.typed, "Typed", "Working text")
        painter.put(row - 1, columns.read, "Read as", "Working text")
    elif plan.kind == "computed" and columns.job != columns.value and row == HEADER_ROW:
        painter.put(row, columns.job, "Job", "Column heading")
    elif not plan.by_option and plan.kind == "computed":
        painter.put(row, columns.job, "Value", "Column heading")
    slim = plan.by_option and plan.widths[columns.value] < _SLIM
    lines = NAME_LINES + slim if plan.by_option else 1.2
    painter.heighten(row, lines, "Column heading")


def _section(painter: Painter, layout: Layout, plan: SheetPlan, part: SectionPlan) -> None:
    columns = plan.columns
    for column in range(1, part.last + 1):
        painter.put(part.title_row, column, None, "Section heading")
    painter.put(part.title_row, 1, part.section.title, "Section heading")
    painter.heighten(part.title_row, 1.5, "Section heading")
    if part.section.folded:
        painter.put(*words_cell(plan, part), None, "Section words")
        for row in part.rows.values():
            painter.put(*phrase_cell(plan, row), None, "Working text")
        painter.fold(part.title_row, part.title_row + 1, part.last_row)
    items = [layout.quantity(key) for key in part.rows]
    if plan.kind == "computed" and any(item.role == "input" for item in items):
        hints = [(columns.typed, "typed"), (columns.read, "read as"), (columns.check, "check")]
        if any(item.field and item.field.kind in LIMITED for item in items):
            hints += [(columns.least, "least"), (columns.most, "most")]
        for column, hint in hints:
            painter.put(part.title_row, column, hint, "Section hint")
    large = in_large(plan, items)
    for item in items:
        row = part.rows[item.key]
        if item is items[0]:
            painter.heighten(row, 1.25, "Row label")
        for column in range(1, part.last + 1):
            painter.put(row, column, None, "Row unit")
        plain = "Row name" if plan.label_runs else "Row label"
        painter.put(row, 1, item.label, "Row link" if item.mended_at else plain)
        if item.mended_at:
            led = layout.quantity(item.mended_at)
            painter.link(row, 1, f"in_{led.key}", f"Mended on the sheet {led.sheet}: {led.label}")
        painter.put(row, columns.unit, item.unit, "Row unit")
        if columns.note and note_text(item):
            painter.put(row, columns.note, note_text(item), "Row note")
        if item.field is not None:
            _typed_row(painter, layout, plan, item.field, row)
        else:
            _value_row(painter, layout, plan, part, item, row, answer=large)
    for offset, line in enumerate(part.foot):
        painter.put(part.foot_row + offset, 1, line, "Foot note")


def in_large(plan: SheetPlan, items: Iterable[Quantity]) -> bool:
    """Whether the rows of a section stand in large letters: those of the answer itself."""
    return plan.role == "answer" and not any(item.by_option for item in items)


def _typed_row(painter: Painter, layout: Layout, plan: SheetPlan, entry: Field, row: int) -> None:
    columns, place = plan.columns, layout.places[entry.key]
    typed, read = typed_style(entry), read_style(entry)
    if (entry.kind == "text" and place.by_option) or entry.by_key:
        typed, read = ("Typed words", "@"), ("Read as words", _GENERAL)
        sheets = bool(entry.by_key) and not entry.among  # their names are the longest
        painter.heighten(row, NAME_LINES + (3 if sheets else 1), "Typed words")
    elif (lines := _listed_lines(layout, plan, entry)) > 1:
        typed, read = ("Typed words", "@"), ("Read as words", _GENERAL)
        painter.heighten(row, lines, "Typed words")
    for option in range(OPTIONS if place.by_option else 1):
        painter.put(*place.typed_cell(option), None, *typed)
        painter.put(*place.cell(option), None, *read)
    painter.put(row, columns.check, None, "Check text")
    if entry.kind in LIMITED:
        _, fmt = typed_style(entry)
        fmt = _GENERAL if entry.kind == "length" else fmt
        painter.put(row, columns.least, entry.low, "Row limit", least_format(entry, fmt))
        painter.put(row, columns.most, entry.high, "Row limit", fmt)
    elif plan.kind == "options":
        painter.put(row, columns.least, None, "Row limit")
        painter.put(row, columns.most, None, "Row limit")
    if entry.kind == "length":
        for helper in range(2 * (OPTIONS if place.by_option else 1)):
            painter.put(row, plan.helper + helper, None, "Working text", width=_HELPER_WIDTH)
        top = plan.header_row or HEADER_ROW
        text = in_measure(
            "Workings: lengths taken apart, then in {feet|metres}", layout.model.measure
        )
        painter.put(top, plan.helper, text, "Working text")


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
        return "Read as", 'yyyy-mm-dd;;"blank"'
    fmt = _number_format(entry)
    no_answer = not entry.needed and not entry.absent and entry.low > 0 and not entry.zero
    return "Read as", f'{fmt};-{fmt};"blank"' if no_answer else fmt


def _number_format(entry: Field) -> str:
    if entry.fmt.endswith("#"):  # a pattern such as 0.### shows a lone point behind whole numbers
        if entry.kind == "length" and entry.bare_unit == "mm":
            return _GENERAL
        return {"share": "0.0%", "length": "0.00##"}.get(entry.kind, _GENERAL)
    return entry.fmt


def _listed_lines(layout: Layout, plan: SheetPlan, entry: Field) -> int:
    """Lines that the longest word of a list, or the usual entry of a table, takes in its cells."""
    if entry.kind not in ("choice", "key"):
        return 1
    place = layout.places[entry.key]
    columns = place.typed_cell(0)[1], place.cell(0)[1]
    room = min(plan.widths[column] for column in columns) - _INDENT
    usual = (words(entry.default), declared_text(layout.model, entry.key))
    return max(line_count(text, room) for text in entry.choices or usual)


def least_format(entry: Field, fmt: str) -> str:
    """Number format of a least that 0 is taken below."""
    return f'"0 or "{fmt}' if entry.zero else fmt


def value_style(item: Quantity) -> tuple[str, str]:
    """Style and number format of a computed or solved cell."""
    who = "Solved" if item.role == "solved" else "Computed"
    if item.kind == "text":
        return f"{who} text", _GENERAL
    return f"{who} number", _GENERAL if item.fmt.endswith("#") else item.fmt


def _value_row(
    painter: Painter,
    layout: Layout,
    plan: SheetPlan,
    part: SectionPlan,
    item: Quantity,
    row: int,
    *,
    answer: bool,
) -> None:
    columns, place = plan.columns, layout.places[item.key]
    style, fmt = value_style(item)
    if answer:
        style = ANSWER_LINE if item.kind == "text" else "Answer number"
        painter.heighten(row, 1.1, style)
    elif item.kind == "text" and not item.by_option:
        style = style.replace(" text", " line")  # its neighbours are empty: it may run over them
    elif item.kind == "text":
        painter.heighten(row, _lines(layout.model, plan, item.key, style), style)
    for option in range(OPTIONS if place.by_option else 1):
        painter.put(*place.cell(option), None, style, fmt)
    if columns.state and layout.model.upstream(item.key):
        state = min(columns.state, part.last)
        narrow = plan.widths[state] < _STATE_LEAST
        painter.put(row, state, None, "State run" if narrow else "State text")


def _lines(model: Model, plan: SheetPlan, key: str, style: str) -> int:
    """Lines that a text may take in a column of an option."""
    width, size = plan.widths[plan.columns.value] - _INDENT, BY_NAME[style].size
    lines = max(line_count(text, width, size) for text in sample_texts(model, key))
    return min(lines + (lines == _NAMED), _MOST_LINES)


def _notes(painter: Painter, part: NotesPlan) -> None:
    painter.put(part.title_row, 1, part.notes.title, "Block title")
    painter.heighten(part.title_row, 1.4, "Block title")
    for offset, line in enumerate(part.lines, start=1):
        painter.put(part.title_row + offset, 1, line, "Note link" if part.links else "Plain note")
        if part.links:
            painter.link(part.title_row + offset, 1, part.links[offset - 1], "To this sheet")


def _table(painter: Painter, layout: Layout, part: TablePlan) -> None:
    left = part.left
    painter.put(part.title_row, left, part.table.title or None, "Block title")
    painter.heighten(part.title_row, 1.4, "Block title")
    for offset, line in enumerate(part.note_lines):
        painter.put(part.note_row + offset, left, line, "Foot note")
    if part.state_row:
        painter.put(part.state_row, left, None, "Table state")
    if part.more_row:
        painter.put(part.more_row, left, None, "Not printed")
    for column in part.columns:
        if column.role in HELPERS:
            at = column.column
            text = f"Workings: {column.key}"
            if column.role == "part":
                text = f"Workings: check, {layout.entry(column.key).label} and on"
            painter.put(part.header_row, at, text, "Working text", width=_HELPER_WIDTH)
            for row in range(part.first_row, part.last_row + 1):
                painter.put(row, at, None, "Working text")
        else:
            _table_column(painter, layout, part, column)


def _flatten(painter: Painter, layout: Layout, plan: SheetPlan) -> None:
    """Make rows of units thin bands where no column of any table has one."""
    tables = [part for part in plan.parts if isinstance(part, TablePlan)]
    with_units = {
        table.unit_row
        for table in tables
        if any(column.key and layout.quantity(column.key).unit for column in table.columns)
    }
    for row in {table.unit_row for table in tables} - with_units:
        painter.thin(row)


def _table_column(painter: Painter, layout: Layout, part: TablePlan, column: TableColumn) -> None:
    at = column.column
    heading = heading_of(layout.model, column.key, column.role)
    unit = layout.quantity(column.key).unit if column.key else ""
    style, fmt = _table_style(layout, part.table, column)
    last = max(c.column for c in part.columns if c.role not in HELPERS)
    look = "Column heading left" if style in _LEFT_STYLES else "Column heading"
    if column.role == "read" and look == "Column heading":
        look = "Read as heading"
    if column.span > 1:
        look = "Column heading run"
    apart = APART if painter.large and _behind_number(layout, part, column) else ""
    for number in range(column.span):
        painter.put(part.header_row, at + number, None, look)
        painter.put(part.unit_row, at + number, None, "Heading unit")
    if not column.option:
        painter.put(part.header_row, at, heading, look + apart)
        painter.put(part.unit_row, at, unit or None, "Heading unit")
    if part.option_row:
        painter.put(part.option_row, at, None, "Heading option")
    if style.endswith(" fit") and (column.span > 1 or at == last):
        style = style.replace(" fit", " line")
    style += apart
    solved = bool(column.key) and layout.quantity(column.key).role == "solved"
    for offset, row in enumerate(range(part.first_row, part.last_row + 1)):
        if solved and offset:  # a refill gives what it fills the look of the first cell
            painter.stand(row)
            continue
        painter.put(row, at, offset + 1 if column.role == "index" else None, style, fmt)


def _behind_number(layout: Layout, part: TablePlan, column: TableColumn) -> bool:
    """Whether a column of texts stands right behind one of numbers."""
    if _table_style(layout, part.table, column)[0] not in _LEFT_STYLES:
        return False
    before = [c for c in part.columns if c.column + c.span == column.column]
    return any(
        c.role not in (*HELPERS, "index")
        and _table_style(layout, part.table, c)[0] not in _LEFT_STYLES
        for c in before
    )


def _table_style(layout: Layout, table: Table, column: TableColumn) -> tuple[str, str]:
    """Style and number format of a table column."""
    if column.role == "check":
        return "Table check", _GENERAL
    item = layout.quantity(column.key)
    if column.role == "read":
        return "Table read as", read_style(layout.entry(column.key))[1]
    if column.role == "typed":
        return typed_style(layout.entry(column.key))
    if column.role == "index":
        letters = table.shows.letters
        return "Row number", f'"{letters}"0' if letters else "0"
    style, fmt = value_style(item)
    return f"Table {style.lower()}".replace(" text", " fit"), fmt
