"""Lays the parts of one sheet out: what is read and printed at the left, workings aside of it."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.engine import Model
from estimator.rows import MARKS_SHEET, Notes, Quantity, Section, Sheet, Table
from estimator.workbook.package.a1 import Range, address
from estimator.workbook.template.grid import (
    LONG_TABLE,
    NOTES_WIDTH,
    Grid,
    first_column,
    is_working,
    neighbours,
    note_text,
    place_aside,
    place_table,
    section_items,
    sheet_grid,
    sheet_kind,
    sheet_role,
    table_roles,
    text_size,
)
from estimator.workbook.template.lists import LISTS_SHEET
from estimator.workbook.template.plans import (
    FIRST_ROW,
    HEADER_ROW,
    OPTIONS,
    NotesPlan,
    Part,
    Place,
    SectionPlan,
    SheetKind,
    SheetPlan,
    TableColumn,
    TablePlan,
    sheet_top,
)
from estimator.workbook.template.row_flags import shares
from estimator.workbook.template.text_size import wrapped

Placed = dict[str, tuple[list[TableColumn], int]]
"""Columns and last printed column of tables, by their first key."""


def sheet_plan(model: Model, sheet: Sheet, places: dict[str, Place]) -> SheetPlan:
    """Where everything of a sheet stands; the cells of its quantities are added to ``places``."""
    kind = sheet_kind(model, sheet)
    grid = sheet_grid(model, sheet, kind)
    tables = [part for part in sheet.parts if isinstance(part, Table)]
    placed: Placed = {}
    last = grid.columns.paper
    beside = neighbours(model, sheet)
    for table in (table for table in tables if not is_working(model, table)):
        start = table.shows.beside or first_column(model, table)
        left = beside.get(table.keys[0])
        if left is not None:
            start = placed[left.keys[0]][1] + 2
            if start + len(table_roles(model, table)) - 1 > grid.columns.last:
                del beside[table.keys[0]]
                start = 1
        columns, printed = place_table(model, sheet, table, grid, start)
        placed[table.keys[0]] = columns, printed
        last = max(last, printed)
    if last == 1:
        grid.widen(1, NOTES_WIDTH)
    for table in (table for table in tables if table.shows.aside):
        columns, printed = placed[table.keys[0]]
        at = max([last, *grid.widths]) + 1
        columns = [*columns, *place_aside(model, sheet, table, grid, at)]
        placed[table.keys[0]] = columns, printed
    aside = max([last, *grid.widths]) + 2 if kind != "plain" else 1
    for table in (table for table in tables if is_working(model, table)):
        placed[table.keys[0]] = place_table(model, sheet, table, grid, aside)
    helper = max(grid.widths) + 2
    builder = _Builder(model, sheet, kind, grid, places, placed, beside, last, helper)
    builder.run()
    return SheetPlan(
        name=sheet.name,
        title=sheet.title,
        purpose=sheet.purpose,
        kind=kind,
        role=sheet_role(model, sheet),
        columns=grid.columns,
        widths=grid.widths,
        parts=tuple(builder.parts),
        header_row=builder.header_row,
        last_row=max(builder.row - 2, HEADER_ROW),
        workings_row=builder.workings_row,
        helper=helper,
        by_option=builder.by_option,
        printed=tuple(_printed(builder.parts, last, from_top=sheet.shows.reader != "customer")),
        titles=_titles(builder),
        size=text_size(sheet),
    )


RECORDS = {
    LISTS_SHEET: "Choice lists, limits of entries, inputs that can't be read",
    MARKS_SHEET: "What the solvers read when they last ran, and whether it has changed",
}
"""By sheet that the template adds to the model's own, what stands there."""


class _Builder:
    """Puts one part below the other."""

    def __init__(
        self,
        model: Model,
        sheet: Sheet,
        kind: SheetKind,
        grid: Grid,
        places: dict[str, Place],
        placed: Placed,
        beside: Mapping[str, Table],
        last: int,
        helper: int,
    ) -> None:
        self.model, self.sheet, self.kind = model, sheet, kind
        self.grid, self.places, self.placed, self.helper = grid, places, placed, helper
        self.beside = beside
        self.parts: list[Part] = []
        self.rows = section_items(model, sheet)
        self.by_option = any(item.by_option for item in self.rows)
        self.late = kind == "computed" and self._starts_with_the_job()
        self.header_row = HEADER_ROW if kind != "plain" and not self.late else 0
        self.row = FIRST_ROW + bool(self.header_row)
        self.workings_row = 0
        self.room = sum(grid.widths.get(column, 8.43) for column in range(1, last + 1)) - 1

    def _starts_with_the_job(self) -> bool:
        """Whether options come only below rows of the whole job, and their headings with them."""
        first = next((p for p in self.sheet.parts if isinstance(p, Section)), None)
        return (
            self.by_option
            and first is not None
            and not any(self.model.quantities[key].by_option for key in first.keys)
        )

    def run(self) -> None:
        """Place what is printed, then the workings below it."""
        parts = self.sheet.parts
        top = bottom = self.row
        for part in _notes_first([p for p in parts if not self._working(p)]):
            stands_beside = self._stands_beside(part)
            self.row = top if stands_beside else bottom
            top = self.row
            self.put(part)
            bottom = max(self.row, bottom) if stands_beside else self.row
        self.row = bottom
        workings = [p for p in parts if self._working(p)]
        if workings:
            self.workings_row = self.row
            self.row += 2
        for part in workings:
            self.put(part)

    def _working(self, part: Section | Table | Notes) -> bool:
        return isinstance(part, Table) and is_working(self.model, part)

    def _stands_beside(self, part: Section | Table | Notes) -> bool:
        """Whether a part stands beside the one before it."""
        if not isinstance(part, Table):
            return False
        return part.keys[0] in self.beside or part.shows.beside > 0

    def put(self, part: Section | Table | Notes) -> None:
        """Place one part and leave a blank row below it."""
        plan: Part
        if isinstance(part, Section):
            plan = self.section(part)
        elif isinstance(part, Table):
            plan = self.table(part)
        else:
            plan = self.notes(part)
        self.parts.append(plan)
        self.row = plan.last_row + 2

    def section(self, part: Section) -> SectionPlan:
        """Place a section: its rows, and their notes below if there is no column for them."""
        columns = self.grid.columns
        items = [self.model.quantities[key] for key in part.keys]
        if self.late and not self.header_row and any(item.by_option for item in items):
            self.header_row = self.row
            self.row += 1
        rows: dict[str, int] = {}
        for at, item in enumerate(items, start=self.row + 1):
            rows[item.key] = at
            self.places[item.key] = self._row_place(item, at)
        if part.stack:
            block = Range(
                self.row + 1, columns.value, self.row + len(items), columns.value + OPTIONS - 1
            )
            stack = self.model.quantities[part.stack]
            self.places[part.stack] = Place(part.stack, stack.sheet, block, None, stack.axis, True)
        foot: list[tuple[str, str]] = []
        if self.grid.fold:
            for item in items:
                if note_text(item):
                    text = f"{item.label}: {note_text(item)}"
                    lines = wrapped(text, self.room, NOTE_SIZE * text_size(self.sheet))
                    foot += ((line, item.key) for line in lines)
        told, noted = tuple(line for line, _ in foot), tuple(key for _, key in foot)
        return SectionPlan(part, self.row, rows, told, noted, self._section_end(part))

    def _section_end(self, part: Section) -> int:
        """Last column of a section: of the sheet, or short of the table that stands beside it."""
        after = self.sheet.parts[self.sheet.parts.index(part) + 1 :]
        if after and isinstance(after[0], Table):
            column = after[0].shows.beside
            if column:
                return column - 2
        return self.grid.columns.last

    def _row_place(self, item: Quantity, at: int) -> Place:
        columns = self.grid.columns
        width = OPTIONS if item.by_option else 1
        typed = None
        if item.role == "input":
            first = columns.read
            typed = Range(at, columns.typed, at, columns.typed + width - 1)
        else:
            # Among an option's inputs, what is worked out stands under what is typed.
            own = columns.typed if self.kind == "options" else columns.value
            first = own if item.by_option else columns.job
        area = Range(at, first, at, first + width - 1)
        return Place(item.key, item.sheet, area, typed, None, item.by_option)

    def table(self, part: Table) -> TablePlan:
        """Place a table: title, note, state, heading, unit, options, rows."""
        columns, _ = self.placed[part.keys[0]]
        working = is_working(self.model, part)
        most = part.shows.printed(part.capacity)
        note, stale, more = self._lead(part)
        row = self.row + max(sum(map(len, self._lead(each))) for each in self._level(part))
        header = row + 1
        more_row = row if more else 0
        state_row = row - len(more) if stale else 0
        by_option = any(column.option is not None for column in columns)
        first = header + (3 if by_option else 2)
        last = first + part.capacity - 1
        helpers = self._table_places(part, columns, first, last)
        printed = 0 if working else min(last, first + most - 1)
        return TablePlan(
            part, self.row, self.row + 1 if note else 0, tuple(note), state_row, more_row,
            header, header + 1,
            header + 2 if by_option else 0, first, last, printed, (*columns, *helpers),
        )  # fmt: skip

    def _level(self, part: Table) -> list[Table]:
        """The table and those beside it, whose headings stand on one row."""
        levels: list[list[Table]] = [[]]
        for each in self.sheet.parts:
            if not self._stands_beside(each):
                levels.append([])
            if isinstance(each, Table):
                levels[-1].append(each)
        return next(level for level in levels if part in level)

    def _lead(self, part: Table) -> tuple[list[str], list[str], list[str]]:
        """Lines between a table's title and its headings: notes, state, rows not printed."""
        room = self.room
        if len(self._level(part)) > 1 or self._stands_beside(part):
            columns, last = self.placed[part.keys[0]]
            room = sum(self.grid.widths[c] for c in range(columns[0].column, last + 1)) + 1
        note: list[str] = []
        if part.note:
            note = wrapped(part.note, room, NOTE_SIZE * text_size(self.sheet))
        stale = any(self.model.upstream(key) for key in part.keys)
        more = part.shows.printed(part.capacity) < part.capacity
        more = more and not is_working(self.model, part)
        return note, ["state"] * stale, ["more"] * more

    def _table_places(
        self, part: Table, columns: list[TableColumn], first: int, last: int
    ) -> list[TableColumn]:
        helpers: list[TableColumn] = []
        for key in part.keys:
            item = self.model.quantities[key]
            own = [c.column for c in columns if c.key == key and c.role != "read"]
            area = Range(first, min(own), last, max(own))
            typed = area if item.role == "input" else None
            reads = [c.column for c in columns if c.key == key and c.role == "read"]
            if reads:
                area = Range(first, reads[0], last, reads[0])
                place = self.helper + len(helpers)
                helpers.append(TableColumn("normal", place, key))
                helpers.append(TableColumn("feet", place + 1, key))
            self.places[key] = Place(key, item.sheet, area, typed, item.axis, item.by_option)
        entries = [
            (entry, f"${address(last, c.column)}")
            for c in columns
            if c.role == "typed" and (entry := self.model.quantities[c.key].field)
        ]
        if entries:
            told, *others = shares(entries)
            for share in others:
                key = entries[told][0].key
                helpers.append(TableColumn("part", self.helper + len(helpers), key))
                told += share
        return helpers

    def notes(self, part: Notes) -> NotesPlan:
        """Place paragraphs, each wrapped to the width of the print."""
        if part.contents:
            others = [(s.name, s.title) for s in self.model.sheets if s is not self.sheet]
            others += RECORDS.items()
            told = tuple(t if t.startswith(name) else f"{name}: {t}" for name, t in others)
            return NotesPlan(part, self.row, told, tuple(sheet_top(name) for name, _ in others))
        lines: list[str] = []
        for paragraph in part.lines:
            lines += wrapped(paragraph, self.room, text_size(self.sheet))
        return NotesPlan(part, self.row, tuple(lines))


def _notes_first(parts: list[Section | Table | Notes]) -> list[Section | Table | Notes]:
    """The parts with the notes before the first table that is not printed to its end.

    After such a table a new page begins, which a few lines of notes should not have alone.
    """
    cut = [isinstance(p, Table) and p.shows.printed(p.capacity) < p.capacity for p in parts]
    if not any(cut):
        return parts
    first = cut.index(True)
    notes = [part for part in parts[first:] if isinstance(part, Notes)]
    others = [part for part in parts[first:] if not isinstance(part, Notes)]
    return [*parts[:first], *notes, *others]


def _printed(parts: list[Part], last: int, *, from_top: bool) -> list[Range]:
    """What is printed: a new page begins where rows of a table are left out.

    What heads a sheet is for those who work with it: a page for others begins at its first part.
    """
    areas: list[Range] = []
    first, end = int(from_top), HEADER_ROW - 1
    for part in parts:
        if isinstance(part, TablePlan) and not part.printed_row:
            continue
        bottom = part.printed_row if isinstance(part, TablePlan) else part.last_row
        if areas and not first and part.title_row <= areas[-1].row2:  # beside the one before
            areas[-1] = areas[-1]._replace(row2=max(areas[-1].row2, bottom))
            continue
        if not first:
            first = part.title_row
        end = max(end, bottom)
        if bottom < part.last_row:
            areas.append(Range(first, 1, end, last))
            first = 0
    if first:
        areas.append(Range(first, 1, end, last))
    return areas


NOTE_SIZE = 0.95
"""Size of notes in sizes of the sheet's texts."""
SCROLLED_ROWS = 15
"""Section rows from which on the column headings of a sheet with tables stay in view."""
MAIN_TABLE = 0.4
"""Share of a sheet's rows from which on a table's headings are repeated on every page."""


def _titles(builder: _Builder) -> tuple[int, int]:
    """Rows that are repeated on every page: headings of the rows, or of the longest table."""
    header = builder.header_row
    tables = [p for p in builder.parts if isinstance(p, TablePlan) and p.printed_row]
    top = (1, header if header == HEADER_ROW else 3)
    carried = sheet_role(builder.model, builder.sheet) == "take-along"
    many = len(builder.rows) >= SCROLLED_ROWS and not carried
    if not tables or (many and (builder.by_option or builder.kind == "job")):
        return top
    top = 1, 3
    longest = max(tables, key=lambda table: table.printed_row - table.first_row)
    before = builder.parts[max(builder.parts.index(longest) - 1, 0)]
    if longest.table.shows.apart and isinstance(before, SectionPlan):
        return before.title_row, longest.first_row - 1
    length = longest.printed_row - longest.first_row + 1
    lines = builder.parts[-1].last_row if not builder.workings_row else builder.workings_row
    if length < LONG_TABLE or length < MAIN_TABLE * lines:
        return top
    if longest.title_row == FIRST_ROW:
        return 1, longest.first_row - 1
    return longest.title_row, longest.first_row - 1
