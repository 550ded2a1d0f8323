"""What happens to a workbook in a spreadsheet: rows deleted, cells dragged, a sheet gone.

Each accident is done by LibreOffice and says which entries it leaves, worked out here from where
the typed cells stand, without a line of the code that mends.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from estimator.engine import Model
from estimator.workbook.package.a1 import Range, address, range_text

Ranges = Mapping[str, tuple[str, Range]]
Lines = list[Any]
SUMMED = ("in_item_price", "need_quantity", "item_cost", "line_cost", "total_cost")
OWN_SHEET = "Mine"


@dataclass(frozen=True, slots=True)
class Accident:
    """Something that happens to a workbook.

    Args:
        what: What it is, as a person would tell it.
        actions: What ``office_driver.py`` is to do.
        left: By typed name that it changes, its lines afterwards from those before; None where
            the entries are gone and the template's stand in.
        sorted: Whether lines are in another order, which only the spreadsheet's own order tells.
    """

    what: str
    actions: tuple[tuple[Any, ...], ...]
    left: Mapping[str, Callable[[Lines], Lines] | None] = field(default_factory=dict)
    sorted: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Columns that stand side by side over the same rows."""

    sheet: str
    axis: str
    names: tuple[str, ...]
    area: Range
    typed: bool

    def lines(self) -> list[int]:
        """First, a middle and the last row."""
        return [self.area.row1, (self.area.row1 + self.area.row2) // 2, self.area.row2]


class Happens:
    """Every accident that can happen to a workbook with these rows and names."""

    def __init__(self, model: Model, ranges: Ranges, sheets: Sequence[str]) -> None:
        self.model, self.ranges, self.sheets = model, ranges, sheets
        self.tables = tuple(self._tables())

    def _tables(self) -> Iterator[Table]:
        found: dict[tuple[str, str, int, int], list[str]] = {}
        for key, item in self.model.quantities.items():
            sheet, area = self.ranges[key]
            if item.axis:
                found.setdefault((sheet, item.axis, area.row1, area.row2), []).append(key)
        for (sheet, axis, first, last), keys in found.items():
            typed = [f"in_{k}" for k in keys if self.model.quantities[k].role == "input"]
            areas = [self.ranges[name][1] for name in (*keys, *typed)]
            wide = Range(first, min(a.column1 for a in areas), last, max(a.column2 for a in areas))
            yield Table(sheet, axis, (*keys, *typed), wide, bool(typed))

    def _typed(self) -> Iterator[tuple[str, str, Range]]:
        for name, (sheet, area) in self.ranges.items():
            if name.startswith("in_"):
                yield name, sheet, area

    # --- whole rows ---

    def rows_deleted(self, table: Table, row: int, count: int = 1) -> Accident:
        """Rows of the sheet deleted."""
        count = min(count, table.area.row2 - row + 1)
        left: dict[str, Callable[[Lines], Lines] | None] = {}
        for name, sheet, area in self._typed():
            if sheet == table.sheet and area.row1 <= row + count - 1 and row <= area.row2:
                if row <= area.row1 and area.row2 <= row + count - 1:
                    left[name] = None
                else:
                    left[name] = _without(row - area.row1, count)
        what = f"row {row} of {table.sheet} deleted ({count})"
        return Accident(what, (("delete_rows", table.sheet, row, count),), left)

    def rows_inserted(self, table: Table, row: int, count: int = 1) -> Accident:
        """Blank rows put into a table."""
        left = {
            name: _with_blank(row - area.row1, count)
            for name, sheet, area in self._typed()
            if sheet == table.sheet and area.row1 < row <= area.row2
        }
        what = f"{count} rows inserted at row {row} of {table.sheet}"
        return Accident(what, (("insert_rows", table.sheet, row, count),), left)

    # --- cells ---

    def line_dragged(self, table: Table, row: int, there: int) -> Accident:
        """A line of a table cut and pasted over another one."""
        area = table.area._replace(row1=row, row2=row)
        spot = address(there, table.area.column1)
        left = {
            name: _moved(row - table.area.row1, there - table.area.row1)
            for name in table.names
            if name.startswith("in_")
        }
        what = f"line {row} of {table.sheet} ({table.axis}) cut and pasted on {there}"
        return Accident(what, (("drag", table.sheet, range_text(area), table.sheet, spot),), left)

    def cells_up(self, table: Table, name: str, row: int) -> Accident:
        """One cell of a column deleted, so that those below shift up."""
        area = self.ranges[name][1]
        cells = area._replace(row1=row, row2=row)
        what = f"cell {row} of {name} deleted, cells shifted up"
        left = self._shifted(table, cells, _without(row - area.row1, 1))
        return Accident(what, (("delete_cells", table.sheet, range_text(cells)),), left)

    def cells_down(self, table: Table, name: str, row: int) -> Accident:
        """A blank cell put into a column, so that those below shift down."""
        area = self.ranges[name][1]
        cells = area._replace(row1=row, row2=row)
        what = f"cell put in at {row} of {name}, cells shifted down"
        left = self._shifted(table, cells, _with_blank(row - area.row1, 1))
        return Accident(what, (("insert_cells", table.sheet, range_text(cells)),), left)

    def _shifted(
        self, table: Table, cells: Range, change: Callable[[Lines], Lines]
    ) -> Mapping[str, Callable[[Lines], Lines]]:
        return {
            name: change
            for name in table.names
            if name.startswith("in_") and self.ranges[name][1].overlaps(cells)
        }

    def clear_below(self, table: Table, name: str) -> bool:
        """Whether nothing typed stands below a column, which shifted cells would pull out."""
        area = self.ranges[name][1]
        below = Range(area.row2 + 1, area.column1, 10_000, area.column2)
        return not any(
            sheet == table.sheet and other.overlaps(below) for _, sheet, other in self._typed()
        )

    def formulas_dragged(self, table: Table, name: str, row: int) -> Accident:
        """Some computed cells dragged a few rows down, over others."""
        area = self.ranges[name][1]
        cells = area._replace(row1=row, row2=min(row + 2, area.row2))
        spot = address(row + 3, area.column1)
        what = f"{range_text(cells)} of {table.sheet} dragged to {spot}"
        return Accident(what, (("drag", table.sheet, range_text(cells), table.sheet, spot),))

    def filled_down(self, table: Table, name: str, row: int) -> Accident:
        """A formula filled down over those below it."""
        area = self.ranges[name][1]
        cells = area._replace(row1=row, row2=min(row + 4, area.row2))
        what = f"{range_text(cells)} of {table.sheet} filled down"
        return Accident(what, (("copy_down", table.sheet, range_text(cells)),))

    def sorted_by(self, table: Table, name: str) -> Accident:
        """The lines of a table sorted by one of its columns, greatest first."""
        column = self.ranges[name][1].column1 - table.area.column1
        what = f"{table.axis} on {table.sheet} sorted by {name}"
        action = ("sort", table.sheet, range_text(table.area), column)
        return Accident(what, (action,), sorted=True)

    # --- names, sheets, whole tables ---

    def name_deleted(self, name: str) -> Accident:
        """A defined name deleted."""
        return Accident(f"the name {name} deleted", (("forget", name),))

    def sheet_deleted(self, sheet: str) -> Accident:
        """A sheet deleted."""
        left = {name: None for name, home, _ in self._typed() if home == sheet}
        return Accident(f"the sheet {sheet} deleted", (("delete", sheet),), left)

    def table_moved(self, table: Table, sheet: str = "Elsewhere") -> Accident:
        """A table cut and pasted on another sheet."""
        actions: list[tuple[Any, ...]] = [("new", sheet)] if sheet == "Elsewhere" else []
        spot = "C5" if sheet == "Elsewhere" else "B900"
        actions.append(("drag", table.sheet, range_text(table.area), sheet, spot))
        return Accident(f"{table.axis} moved from {table.sheet} to {sheet}", tuple(actions))

    # --- all ---

    def some(self, count: int, seed: int) -> list[Accident]:
        """So many accidents of every kind, the same for a seed."""
        dice = random.Random(seed)
        kinds = [self._rows, self._cells, self._drags, self._fills, self._others]
        found: dict[str, Accident] = {}
        while len(found) < count:
            made = kinds[len(found) % len(kinds)](dice)
            if made is not None:
                found.setdefault(made.what, made)
        return list(found.values())

    def _table(self, dice: random.Random, *, typed: bool | None = None) -> Table:
        fits = [t for t in self.tables if typed is None or t.typed == typed]
        return dice.choice(fits)

    def _rows(self, dice: random.Random) -> Accident | None:
        table = self._table(dice, typed=dice.choice((True, True, False)))
        row = dice.choice(table.lines())
        if dice.random() < 0.6:
            return self.rows_deleted(table, row, dice.choice((1, 1, 2)))
        return self.rows_inserted(table, max(row, table.area.row1 + 1), dice.choice((1, 1, 3)))

    def _cells(self, dice: random.Random) -> Accident | None:
        table = self._table(dice)
        name = dice.choice(table.names)
        if not self.clear_below(table, name):
            return None
        row = dice.choice(table.lines())
        if dice.random() < 0.5:
            return self.cells_up(table, name, row)
        return self.cells_down(table, name, max(row, table.area.row1 + 1))

    def _drags(self, dice: random.Random) -> Accident | None:
        table = self._table(dice)
        if dice.random() < 0.6:
            row, there = dice.choice(table.lines()), dice.choice(table.lines())
            return None if row == there else self.line_dragged(table, row, there)
        name = self._computed(dice, table)
        return self.formulas_dragged(table, name, dice.choice(table.lines()[:2])) if name else None

    def _fills(self, dice: random.Random) -> Accident | None:
        table = self._table(dice)
        name = self._computed(dice, table)
        if name is None:
            return None
        if dice.random() < 0.4:
            return self.sorted_by(table, dice.choice(table.names))
        return self.filled_down(table, name, dice.choice(table.lines()[:2]))

    def _computed(self, dice: random.Random, table: Table) -> str | None:
        rows = [n for n in table.names if self._role(n) == "row"]
        return dice.choice(rows) if rows else None

    def _role(self, name: str) -> str:
        item = self.model.quantities.get(name)
        typed = item is not None and self.ranges.get(f"in_{name}") == self.ranges[name]
        return "typed" if item is None or typed else str(item.role)

    def _others(self, dice: random.Random) -> Accident | None:
        which = dice.random()
        if which < 0.3:
            return self.name_deleted(dice.choice([*self.ranges]))
        if which < 0.6:
            return self.sheet_deleted(dice.choice(self.sheets))
        table = self._table(dice)
        if table.typed and dice.random() < 0.3:
            return self.table_moved(table, "Buy List")
        return self.table_moved(table)


def _without(at: int, count: int) -> Callable[[Lines], Lines]:
    return lambda lines: lines[:at] + lines[at + count :] + [None] * count


def _with_blank(at: int, count: int) -> Callable[[Lines], Lines]:
    return lambda lines: lines[:at] + [None] * count + lines[at:]


def fitted(columns: Sequence[Lines], capacity: int) -> tuple[list[Lines], list[Any]]:
    """The columns of a table that got lines, with as many as it holds, and entries that fell out.

    Lines with nothing in any of the columns go first, the last of them before others.
    """
    lines = list(zip(*columns, strict=True))
    blank = [at for at, line in enumerate(lines) if all(entry is None for entry in line)]
    gone = set(blank[-max(len(lines) - capacity, 0) :]) if len(lines) > capacity else set()
    left = [line for at, line in enumerate(lines) if at not in gone]
    fallen = [entry for line in left[capacity:] for entry in line if entry is not None]
    return [[line[at] for line in left[:capacity]] for at in range(len(columns))], fallen


def _moved(at: int, there: int) -> Callable[[Lines], Lines]:
    def change(lines: Lines) -> Lines:
        found = list(lines)
        found[there], found[at] = lines[at], None
        return found

    return change
