"""The columns of a sheet: what stands in which, and how wide each is.

Sections and tables of a sheet share its columns. On a sheet that is mostly tables the labels of
the sections run over several narrow columns, so that the tables need not have a wide first one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise, zip_longest

from estimator.appearance import SheetRole
from estimator.engine import Model
from estimator.rows import Quantity, Section, Sheet, Table
from estimator.workbook.template.lists import LIMITED
from estimator.workbook.template.plans import (
    OPTIONS,
    OPTIONS_COLUMNS,
    ColumnRole,
    Columns,
    SheetKind,
    TableColumn,
)
from estimator.workbook.template.room import column_width, text_length
from estimator.workbook.template.text_size import text_width

SHORT_TEXT = 22
"""Texts an option up to this length stay on one line, shrunk if need be; longer ones wrap."""
LARGE, NORMAL = 11.0, 10.0
NOTES_WIDTH = 100.0
"""Width of a sheet that has nothing but notes."""
PORTRAIT, LANDSCAPE = 105.0, 139.0
"""Characters of columns on a page of US Letter that is printed at full size."""
_OPTION, _WIDE_OPTION, _SLIM_OPTION = 16.0, 16.5, 11.0
_NOTE, _STATE, _CHECK = 36.0, 12.5, 16.0
_ASIDE_NOTE = 60.0
"""Width of notes that are not printed."""
_SLIM_PAGE, _WIDE_PAGE = 120.5, 164.5
"""Characters of columns that still stand in 8 points or more on an upright and a lying page."""
_SLIM_STATE = 9.5
_LABEL_LEAST = 22.0
LARGE_COLUMNS = 9.0, 13.5
"""Width of the first and of the further columns of a sheet with large texts."""
LONG_TABLE = 20
"""Rows from which on a table is a long one."""
_LABEL_MOST = 33.0
_RUN_MOST = 46.0


@dataclass(slots=True)
class Grid:
    """Columns of one sheet under construction; widths by column, up to ``fixed`` set for good.

    In a ``rigid`` one no text may widen these either.
    """

    columns: Columns
    widths: dict[int, float] = field(default_factory=dict)
    fixed: int = 0
    fold: bool = False
    rigid: bool = False

    def widen(self, column: int, width: float) -> None:
        """Make a column at least this wide."""
        if self.rigid and column <= self.fixed:
            return
        self.widths[column] = max(self.widths.get(column, 0.0), round(width, 1))

    def too_wide(self, column: int, width: float) -> bool:
        """Whether a set column is far too wide for a number, which would stand lost in it."""
        return column <= self.fixed and self.widths.get(column, 0.0) > 2.2 * width

    def take(self, column: int, width: float, *, text: bool) -> int:
        """Give a table column its room from a column on, and say over how many it runs."""
        if not text or column > self.fixed:
            self.widen(column, width)
            return 1
        span, room = 1, self.widths[column]
        while room < 0.95 * width and column + span <= self.fixed:
            room += self.widths[column + span]
            span += 1
        if room < 0.95 * width:
            self.widen(column + span - 1, self.widths[column + span - 1] + width - room)
        return span


def section_items(model: Model, sheet: Sheet) -> list[Quantity]:
    """Quantities of all sections of a sheet."""
    return [
        model.quantities[key]
        for part in sheet.parts
        if isinstance(part, Section)
        for key in part.keys
    ]


def sheet_kind(model: Model, sheet: Sheet) -> SheetKind:
    """How the rows of a sheet are laid out, from what they are."""
    rows = section_items(model, sheet)
    if not rows:
        return "plain"
    typed = [q for q in rows if q.role == "input"]
    if any(q.by_option for q in typed):
        return "options"
    if len(typed) * 2 >= len(rows) and not any(q.by_option for q in rows):
        return "job"
    return "computed"


def sheet_role(model: Model, sheet: Sheet) -> SheetRole:
    """What a sheet is for."""
    if sheet.shows.role is not None:
        return sheet.shows.role
    typed = any(model.quantities[key].role == "input" for key in sheet.quantities)
    return "input" if typed else "computed"


def is_working(model: Model, table: Table) -> bool:
    """Whether a table serves formulas alone: it is neither read nor printed."""
    if table.shows.workings:
        return True
    typed = any(model.quantities[key].role == "input" for key in table.keys)
    by_option = any(model.quantities[key].by_option for key in table.keys)
    return by_option and not typed and bool(section_items(model, table.sheet))


def first_column(model: Model, table: Table) -> int:
    """First sheet column of a table: beside the numbers of other tables where it has none."""
    inputs = sheet_role(model, table.sheet) == "input"
    if not inputs or not _mostly_tables(model, table.sheet):
        return 1
    tables = [p for p in table.sheet.parts if isinstance(p, Table)]
    numbered = [model.quantities[t.keys[0]].role == "index" for t in tables]
    return 2 if any(numbered) and model.quantities[table.keys[0]].role != "index" else 1


def _mostly_tables(model: Model, sheet: Sheet) -> bool:
    tables = [p for p in sheet.parts if isinstance(p, Table) and not is_working(model, p)]
    return len(tables) > 2 and len(section_items(model, sheet)) <= 2.5 * len(tables)


def neighbours(model: Model, sheet: Sheet) -> dict[str, Table]:
    """Tables that may stand beside the one before, as both have equally many computed rows.

    By the first key of the table that stands at the right.
    """
    found: dict[str, Table] = {}
    for left, right in pairwise(sheet.parts):
        if not isinstance(left, Table) or not isinstance(right, Table):
            continue
        keys = (*left.keys, *right.keys)
        plain = all(
            model.quantities[key].role != "input" and not model.quantities[key].by_option
            for key in keys
        )
        shown = not is_working(model, left) and not is_working(model, right)
        free = left.keys[0] not in found
        free = free and not right.shows.beside
        if plain and shown and free and left.capacity == right.capacity >= LONG_TABLE:
            found[right.keys[0]] = left
    return found


def text_size(sheet: Sheet) -> float:
    """Size in points of the texts of a sheet."""
    return LARGE if sheet.shows.large else NORMAL


def note_text(item: Quantity) -> str:
    """Note and source of a row as they stand beside it."""
    source = f"Source: {item.source}" if item.source else ""
    blank = item.field.when_blank if item.field else ""
    return " ".join(filter(None, (item.note, blank, source)))


def sheet_grid(model: Model, sheet: Sheet, kind: SheetKind) -> Grid:
    """Columns and widths of the sections of a sheet, with regard to the tables beside them."""
    tables = [p for p in sheet.parts if isinstance(p, Table) and not is_working(model, p)]
    rows = section_items(model, sheet)
    if kind == "plain":
        return Grid(Columns(1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1))
    if kind == "options":
        return _options_grid()
    if sheet.shows.widths:
        return _set_grid(sheet.shows.widths, sheet.shows.label_columns)
    many = _mostly_tables(model, sheet)
    runs = bool(tables) and (many or sheet_role(model, sheet) == "take-along")
    if runs and kind == "computed":
        tables = [max(tables, key=lambda table: len(table_roles(model, table)))]
    labels, label = _labels(model, sheet, rows, tables, runs=runs)
    if kind == "job":
        return _job_grid(rows, labels, label, [] if runs else _wants(model, tables, NORMAL))
    if any(item.by_option for item in rows):
        role, upright = sheet_role(model, sheet), sheet.shows.upright
        wants = [] if runs else _wants(model, tables, NORMAL)
        return _options_computed_grid(model, role, rows, labels, label, wants, upright=upright)
    return _job_computed_grid(model, sheet, rows, tables, labels, label)


def _labels(
    model: Model, sheet: Sheet, rows: list[Quantity], tables: list[Table], *, runs: bool
) -> tuple[int, list[float]]:
    """Number of columns that labels run over, and the widths of these columns."""
    size = text_size(sheet)
    need = max(text_width(item.label, size) for item in rows) + 1.5
    if not runs:
        return 1, [min(max(need, 18.0), _LABEL_MOST)]
    need = min(need, _RUN_MOST)
    wants = _wants(model, tables, size)
    count, room = 0, 0.0
    while count < len(wants) and room < 0.97 * need:
        room += wants[count]
        count += 1
    widths = wants[:count]
    if room < 0.97 * need:
        widths[-1] += need - room
    return count, widths


def _wants(model: Model, tables: Sequence[Table], size: float) -> list[float]:
    """Width that the tables need of each of their columns, the widest of all."""
    found: list[float] = []
    for table in tables:
        roles = [r for r in table_roles(model, table) if r[0] not in table.shows.aside]
        for place, (key, role) in enumerate(roles, start=first_column(model, table) - 1):
            if size > NORMAL:
                width = LARGE_COLUMNS[bool(place)]
            else:
                width = column_width(model, key, role, size, narrow=False)
            while place >= len(found):
                found.append(0.0)
            found[place] = max(found[place], round(width, 1))
    return found


_ROLES: Mapping[str, ColumnRole] = {"input": "typed", "index": "index"}


def table_roles(model: Model, table: Table) -> list[tuple[str, ColumnRole]]:
    """Key and role of every sheet column of a table but the helpers; six for one an option."""
    found: list[tuple[str, ColumnRole]] = []
    ordered = sorted(table.keys, key=lambda key: key in table.shows.aside)
    typed = [key for key in ordered if model.quantities[key].role == "input"]
    typed = [key for key in typed if key not in table.shows.aside] or typed
    for key in ordered:
        item = model.quantities[key]
        role: ColumnRole = _ROLES.get(item.role, "value")
        found.extend((key, role) for _ in range(OPTIONS if item.by_option else 1))
        if item.field and item.field.kind == "length":
            found.append((key, "read"))
        if typed and key == typed[-1]:
            found.append(("", "check"))
    return found


def _options_grid() -> Grid:
    columns = OPTIONS_COLUMNS
    grid = Grid(columns)
    grid.widen(columns.label, 30)
    grid.widen(columns.unit, 6.5)
    for option in range(OPTIONS):
        grid.widen(columns.typed + option, 14)
        grid.widen(columns.read + option, 12)
    grid.widen(columns.check, _CHECK)
    grid.widen(columns.note, _ASIDE_NOTE)
    grid.widen(columns.least, 8)
    grid.widen(columns.most, 8)
    return grid


def _set_grid(widths: Sequence[float], labels: int) -> Grid:
    """Rows of the whole job in columns of set widths, which its tables share."""
    unit, value, state = labels + 1, labels + 2, len(widths)
    columns = Columns(
        1, unit, value, 0, 0, value, value, value, state, state, 0, state, state
    )  # fmt: skip
    grid = Grid(columns, fixed=len(widths), fold=True, rigid=True)
    grid.widths.update(enumerate(widths, start=1))
    return grid


def _job_grid(rows: list[Quantity], count: int, label: list[float], wants: Sequence[float]) -> Grid:
    """Rows of the whole job that are typed, as wide as tables with the same columns leave room.

    Where there are none of these, labels run over columns of narrow tables.
    """
    first = count + 1
    runs = count > 1
    note = 0 if runs else first + 4
    least = first + 4 + (not runs)
    columns = Columns(
        1, first + 1, first, least, least + 1, first + 2, first + 2, first + 2,
        first + 3, first + 3, note, least + 1, note or first + 3,
    )  # fmt: skip
    grid = Grid(columns, fold=runs, fixed=columns.last if runs else 0)
    words = any(item.field and item.field.kind in ("text", "key") for item in rows)
    choices = any(item.field and item.field.kind == "choice" for item in rows)
    wide = (22.0 if runs else 24.0) if words else 16.0 if choices else 13.0
    for column, width in enumerate(label, start=1):
        grid.widen(column, width)
    for column, width in (
        (columns.typed, wide), (columns.unit, 8), (columns.least, 9), (columns.most, 9),
        (columns.read, wide if words or choices else 13), (columns.check, _CHECK),
    ):  # fmt: skip
        grid.widen(column, width)
    if note:
        grid.widen(note, _NOTE)
        others = sum(width for column, width in grid.widths.items() if first <= column <= note)
        most = _WIDE_PAGE - others - sum(wants[note:]) - 1
        grid.widths[1] = round(max(_LABEL_LEAST, min(label[0], most)), 1)
    return grid


def _options_computed_grid(
    model: Model,
    role: SheetRole,
    rows: list[Quantity],
    count: int,
    label: list[float],
    wants: Sequence[float],
    *,
    upright: bool,
) -> Grid:
    job = any(not item.by_option for item in rows)
    at = count + 1
    unit, at = at, at + 1
    first_job, at = at, at + job
    value, at = at, at + OPTIONS
    stale = any(model.upstream(item.key) for item in rows)
    state, at = (at, at + 1) if stale else (0, at)
    noted = sum(bool(note_text(item)) for item in rows)
    fold = noted * 5 <= len(rows) or role in ("answer", "trust")
    note = 0 if fold else max(at, len(wants) + 1)
    start = first_job if job else value
    limits = any(item.field and item.field.kind in LIMITED for item in rows)
    columns = Columns(
        1, unit, start, start + 2, start + 3, start + 1, value, start,
        start + (4 if limits else 2), state, note, note or state or at - 1, state or at - 1,
    )  # fmt: skip
    grid = Grid(columns, fold=fold)
    for column, width in enumerate(label, start=1):
        grid.widen(column, width)
    grid.widen(unit, 7.5)
    if job:
        days = [item.fmt for item in rows if not item.by_option and "yyyy" in item.fmt]
        grid.widen(first_job, max([12.0, *(len(fmt) + 2.0 for fmt in days)]))
    long = any(text_length(model, q.key) > SHORT_TEXT for q in rows if q.by_option) and count == 1
    width = _SLIM_OPTION if upright else _WIDE_OPTION if long else _OPTION
    for option in range(OPTIONS):
        grid.widen(value + option, width)
    if state:
        grid.widen(state, _STATE if role == "answer" else _SLIM_STATE)
    if count == 1 and role != "answer":
        others = sum(
            max(pair)
            for pair in zip_longest(
                (grid.widths[column] for column in range(2, at)), wants[1:], fillvalue=0.0
            )
        )
        slim = upright and others + _LABEL_LEAST <= _SLIM_PAGE
        most = (_SLIM_PAGE if slim else _WIDE_PAGE) - others
        grid.widths[1] = round(max(_LABEL_LEAST, min(label[0], most)), 1)
    if note:
        grid.widen(note, _ASIDE_NOTE)
    grid.fixed = state or at - 1
    return grid


def _job_computed_grid(
    model: Model,
    sheet: Sheet,
    rows: list[Quantity],
    tables: list[Table],
    count: int,
    label: list[float],
) -> Grid:
    size = text_size(sheet)
    wants = _wants(model, tables, size)
    unit, value = count + 1, count + 2
    typed = any(item.role == "input" for item in rows)
    stale = any(model.upstream(item.key) for item in rows)
    fold = size > NORMAL
    noted = not fold and any(note_text(item) for item in rows)
    after = max(len(wants), value + (4 if typed else 1)) + 1
    note, after = (after, after + 1) if noted else (0, after)
    state = 0
    if stale:
        state = after if noted else max(len(wants), value + 3)
    columns = Columns(
        1, unit, value, value + 2, value + 3, value + 1, value, value, value + 4, state, note,
        max(state, note, len(wants), value + (4 if typed else 2)),
        max(state, len(wants), value + (4 if typed else 2)),
    )  # fmt: skip
    grid = Grid(columns, fold=fold)
    for column, width in enumerate(wants, start=1):
        grid.widen(column, width)
    for column, width in enumerate(label, start=1):
        grid.widen(column, width)
    grid.widen(unit, 7.5)
    grid.widen(value, 11.5 * size / NORMAL)
    for column in range(value + 1, columns.last + 1):
        grid.widen(column, 10.0)
    if note:
        grid.widen(note, _ASIDE_NOTE)
    if state:
        grid.widen(state, _SLIM_STATE if sheet.shows.upright else _STATE)
    grid.fixed = columns.last if size > NORMAL else len(wants)
    return grid


def place_table(
    model: Model, sheet: Sheet, table: Table, grid: Grid, start: int
) -> tuple[list[TableColumn], int]:
    """Sheet columns of a table from a column on, and the last of them that is printed.

    Those that stand aside are placed when all tables are.
    """
    size = text_size(sheet)
    narrow = is_working(model, table)
    found: list[TableColumn] = []
    seen: dict[str, int] = {}
    at, after_text = start, False
    roles = [each for each in table_roles(model, table) if each[0] not in table.shows.aside]
    for number, (key, role) in enumerate(roles):
        item = model.quantities.get(key)
        text = bool(item and item.kind == "text" and role == "value")
        width = column_width(model, key, role, size, narrow=narrow)
        if size > NORMAL and not narrow and not text:
            width = min(width, LARGE_COLUMNS[bool(number)])
        if after_text and not text and not narrow and grid.too_wide(at, width):
            found[-1] = replace(found[-1], span=found[-1].span + 1)
            at += 1
        span = grid.take(at, width, text=text and not narrow)
        option = None
        if item is not None and item.by_option:
            option = seen.get(key, 0)
            seen[key] = option + 1
        found.append(TableColumn(role, at, key, option, span))
        at += span
        after_text = text
    return found, _last_printed(found, grid)


_ASIDE = 20.0
"""Least width of a column that is not printed: its heading makes that of others no higher."""


def place_aside(
    model: Model, sheet: Sheet, table: Table, grid: Grid, start: int
) -> list[TableColumn]:
    """Sheet columns, from a column on, of what stands aside of a table."""
    found: list[TableColumn] = []
    roles = [each for each in table_roles(model, table) if each[0] in table.shows.aside]
    for at, (key, role) in enumerate(roles, start):
        width = column_width(model, key, role, text_size(sheet), narrow=False)
        grid.widen(at, max(width, _ASIDE))
        found.append(TableColumn(role, at, key))
    return found


def _last_printed(columns: list[TableColumn], grid: Grid) -> int:
    """The last column on paper: all, or up to the check of a table too wide for a page."""
    last = max(c.column + c.span - 1 for c in columns)
    checks = [c.column for c in columns if c.role == "check"]
    wide = sum(grid.widths[column] for column in range(1, last + 1) if column in grid.widths)
    return checks[0] if checks and wide > 1.1 * LANDSCAPE else last
