"""What happens to a workbook more rarely: columns, headings, copies of sheets, names set anew.

Every one is made for any workbook, from its tables and names, as those of :mod:`accidents` are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from accidents import Accident, Happens, Lines, Table

from estimator.workbook.package.a1 import Range, address, range_text
from estimator.workbook.package.references import absolute

Left = dict[str, Callable[[Lines], Lines] | None]


class Rarely(Happens):
    """Accidents beyond those that are drawn by lot."""

    def all(self, typed: Table, computed: Table) -> Iterator[Accident]:
        """One of each kind.

        Args:
            typed: A table with entries, which stands alone in its rows and columns.
            computed: A table with several computed columns side by side.
        """
        yield self.sheets_moved_and_renamed(typed, computed)
        yield self.column_put_in_and_another_deleted(typed)
        yield self.columns_deleted(typed)
        yield self.lines_merged(typed)
        yield self.sheet_protected(typed)
        yield self.row_cleared(typed, typed.area.row1 + 1)
        yield self.row_cleared(computed, computed.area.row1)
        yield self.filled_right(computed)
        yield self.every_other_row_deleted(typed)
        yield self.heading_row_deleted(typed)
        yield self.name_set(self._first_typed(typed), "$B$2+1")
        yield self.name_set(self._first_typed(typed), "0.5")
        yield self.name_set_lower(self._single(), 3)
        yield self.name_set_lower(self._first_typed(typed), 40)
        yield self.names_exchanged(*self._two_singles())
        yield self.names_of_a_sheet_deleted(typed.sheet)
        yield self.sheet_copied_and_deleted(typed.sheet)
        yield self.sheet_copied_and_deleted(typed.sheet, renamed=True)
        yield self.sheet_copied_and_deleted(computed.sheet)
        yield self.rows_put_in_at_the_top(typed, computed)
        yield self.lines_exchanged(typed)
        yield self.line_cut_below(typed)
        yield self.headings_pasted_over(typed)
        yield self.headings_pasted_over(computed)
        yield self.two_sheets_deleted(typed, computed)

    # --- what is chosen ---

    def _first_typed(self, table: Table) -> str:
        return next(name for name in table.names if name.startswith("in_"))

    def _two_singles(self) -> tuple[str, str]:
        found = [
            name
            for name, _, area in self._typed()
            if area.size == 1 and self.ranges.get(name.removeprefix("in_")) != self.ranges[name]
        ]
        return found[1], found[3]

    def _single(self) -> str:
        return self._two_singles()[0]

    def _rows_left(self, sheet: str, gone: Mapping[int, bool]) -> Left:
        """Entries left where rows of a sheet are deleted."""
        left: Left = {}
        for name, home, area in self._typed():
            lines = [at for at in range(area.rows) if gone.get(area.row1 + at)]
            if home == sheet and lines:
                left[name] = None if len(lines) == area.rows else _deleted(lines)
        return left

    def _left_without(self, sheet: str, columns: Range) -> Left:
        """Entries left where whole columns of a sheet are deleted."""
        return {
            name: None
            for name, home, area in self._typed()
            if home == sheet and columns.column1 <= area.column1 <= columns.column2
        }

    # --- sheets ---

    def sheets_moved_and_renamed(self, one: Table, other: Table) -> Accident:
        """Two sheets in another order, one of them under another name."""
        actions = (("move", one.sheet, 0), ("move", other.sheet, 2))
        return Accident("sheets moved, one renamed", (*actions, ("rename", one.sheet, "My own")))

    def sheet_protected(self, table: Table) -> Accident:
        """A sheet protected against changes."""
        return Accident(f"{table.sheet} protected", (("protect", table.sheet),))

    def sheet_copied_and_deleted(self, sheet: str, *, renamed: bool = False) -> Accident:
        """A copy of a sheet kept in the place of the sheet, perhaps under its name."""
        copy = f"{sheet} copy"
        actions: list[tuple[object, ...]] = [("copy", sheet, copy), ("delete", sheet)]
        if renamed:
            actions.append(("rename", copy, sheet))
        what = f"{sheet} copied and deleted{', the copy renamed' * renamed}"
        return Accident(what, tuple(actions))

    def two_sheets_deleted(self, one: Table, other: Table) -> Accident:
        """Two sheets deleted."""
        gone = (one.sheet, other.sheet)
        left: Left = {name: None for name, home, _ in self._typed() if home in gone}
        return Accident(f"{' and '.join(gone)} deleted", tuple(("delete", s) for s in gone), left)

    # --- rows and columns ---

    def column_put_in_and_another_deleted(self, table: Table) -> Accident:
        """A column put into a table, and one with entries deleted."""
        last = [n for n in table.names if n.startswith("in_")][-1]
        at = self.ranges[last][1].column1
        first = self.ranges[self._first_typed(table)][1].column1
        actions = (("insert_columns", table.sheet, first + 1, 1),)
        deleted = ("delete_columns", table.sheet, at + 1, 1)
        left = self._left_without(table.sheet, Range(1, at, 1, at))
        return Accident(f"a column into {table.sheet}, {last} deleted", (*actions, deleted), left)

    def columns_deleted(self, table: Table) -> Accident:
        """Two columns of a table deleted, the second and the third with entries."""
        names = [n for n in table.names if n.startswith("in_")][1:3]
        at = self.ranges[names[0]][1].column1
        left = self._left_without(table.sheet, Range(1, at, 1, at + 1))
        what = f"columns of {', '.join(names)} deleted"
        return Accident(what, (("delete_columns", table.sheet, at, 2),), left)

    def row_cleared(self, table: Table, row: int) -> Accident:
        """All contents of a row gone, formulas too."""
        cells = range_text(Range(row, 1, row, 60))
        left: Left = {
            name: _blank([row - area.row1])
            for name, sheet, area in self._typed()
            if sheet == table.sheet and area.row1 <= row <= area.row2
        }
        return Accident(
            f"row {row} of {table.sheet} cleared", (("clear", table.sheet, cells),), left
        )

    def every_other_row_deleted(self, table: Table) -> Accident:
        """Rows that a filter left deleted."""
        rows = [table.area.row1 + 4, table.area.row1 + 2, table.area.row1]
        actions = tuple(("delete_rows", table.sheet, row, 1) for row in rows)
        left = self._rows_left(table.sheet, dict.fromkeys(rows, True))
        return Accident(f"every other row of {table.sheet} deleted", actions, left)

    def heading_row_deleted(self, table: Table) -> Accident:
        """The row of a table's headings deleted."""
        row = table.area.row1 - 1
        return Accident(
            f"headings of {table.axis} deleted", (("delete_rows", table.sheet, row, 1),)
        )

    def rows_put_in_at_the_top(self, *tables: Table) -> Accident:
        """Rows put in above everything on several sheets."""
        actions = tuple(("insert_rows", table.sheet, 1, 2) for table in tables)
        return Accident("rows at the top", actions)

    # --- cells ---

    def lines_merged(self, table: Table) -> Accident:
        """Three entries of a column merged to one cell, which keeps the first."""
        name = self._first_typed(table)
        area = self.ranges[name][1]
        three = Range(area.row1 + 1, area.column1, area.row1 + 3, area.column1)
        rest = range_text(three._replace(row1=three.row1 + 1))
        actions = (("clear", table.sheet, rest), ("merge", table.sheet, range_text(three)))
        return Accident(f"cells of {name} merged", actions, {name: _blank([2, 3])})

    def filled_right(self, table: Table) -> Accident:
        """A computed cell copied over the next one."""
        one, other = [n for n in table.names if self._role(n) == "row"][:2]
        here, there = self.ranges[one][1], self.ranges[other][1]
        cell = range_text(here._replace(row2=here.row1, column2=here.column1))
        spot = address(there.row1, there.column1)
        action = ("copy_cells", table.sheet, cell, table.sheet, spot)
        return Accident(f"{one} filled over {other}", (action,))

    def lines_exchanged(self, table: Table) -> Accident:
        """Two lines of a table exchanged by way of free cells."""
        first, second = table.area.row1, table.area.row1 + 2
        free = 900
        actions = []
        for row, there in ((first, free), (second, first), (free, second)):
            cells = table.area._replace(row1=row, row2=row)
            spot = address(there, table.area.column1)
            actions.append(("drag", table.sheet, range_text(cells), table.sheet, spot))
        left: Left = {n: _exchanged(0, 2) for n in table.names if n.startswith("in_")}
        return Accident(f"lines of {table.axis} exchanged", tuple(actions), left)

    def line_cut_below(self, table: Table) -> Accident:
        """A line of a table cut and pasted far below it."""
        row = table.area.row1 + 1
        cells = range_text(table.area._replace(row1=row, row2=row))
        action = ("drag", table.sheet, cells, table.sheet, address(900, table.area.column1))
        left: Left = {n: _blank([1]) for n in table.names if n.startswith("in_")}
        return Accident(f"a line of {table.axis} cut and pasted below", (action,), left)

    def headings_pasted_over(self, table: Table) -> Accident:
        """Texts pasted over the row of a table's headings."""
        row = table.area.row1 - 1
        columns = range(table.area.column1, table.area.column2 + 1)
        actions = tuple(("type", table.sheet, row, column, "pasted") for column in columns)
        return Accident(f"headings of {table.axis} on {table.sheet} pasted over", actions)

    # --- names ---

    def name_set(self, name: str, content: str) -> Accident:
        """A name that stands for something else than cells."""
        return Accident(f"{name} set to {content}", (("set_name", name, content),))

    def name_set_lower(self, name: str, rows: int) -> Accident:
        """A name set on cells below its own."""
        sheet, area = self.ranges[name]
        there = area._replace(row1=area.row1 + rows, row2=area.row2 + rows)
        content = absolute(sheet, there).replace("!", ".")
        return Accident(f"{name} set {rows} rows lower", (("set_name", name, f"${content}"),))

    def names_exchanged(self, one: str, other: str) -> Accident:
        """Two names, each set on the other's cell."""
        places = [f"${absolute(*self.ranges[n])}".replace("!", ".") for n in (one, other)]
        actions = (("set_name", one, places[1]), ("set_name", other, places[0]))
        return Accident(f"{one} and {other} exchanged", actions)

    def names_of_a_sheet_deleted(self, sheet: str) -> Accident:
        """All names of a sheet deleted."""
        names = [name for name, (home, _) in self.ranges.items() if home == sheet]
        return Accident(f"all names of {sheet} deleted", tuple(("forget", name) for name in names))


def _deleted(gone: list[int]) -> Callable[[Lines], Lines]:
    return lambda lines: [e for at, e in enumerate(lines) if at not in gone] + [None] * len(gone)


def _blank(gone: list[int]) -> Callable[[Lines], Lines]:
    return lambda lines: [None if at in gone else e for at, e in enumerate(lines)]


def _exchanged(one: int, other: int) -> Callable[[Lines], Lines]:
    def change(lines: Lines) -> Lines:
        found = list(lines)
        found[one], found[other] = lines[other], lines[one]
        return found

    return change
