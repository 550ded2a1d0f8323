"""Which formula cells depend on given cells, from the references in the formulas' texts."""

from __future__ import annotations

from bisect import bisect_left as bisect
from collections import Counter
from collections.abc import Iterable, Mapping

from estimator.errors import FileError
from estimator.workbook.package.a1 import (
    MAX_COLUMN,
    MAX_ROW,
    Cell,
    Range,
    column_number,
    named_sheet,
    parse_cell,
    parse_range,
    references,
)
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import CellValue

_ANYWHERE = frozenset(("INDIRECT", "OFFSET"))
_Area = tuple[str, Range]
_WIDE = 64
"""Columns from which on an area is not listed under each of them."""


def dependants(
    package: Package, formulas: Mapping[Cell, CellValue], cells: Iterable[Cell]
) -> set[Cell]:
    """The cells themselves and all formula cells that read them, directly or by others.

    A formula whose references are only known when it runs (INDIRECT, OFFSET) is taken to read
    everything, and a table reference to read the whole table.
    """
    reader = _Reader(package)
    reached = set(cells)
    index = _Index()
    fresh = list(reached)
    for cell, content in formulas.items():
        areas = reader.areas(content.formula or "", cell[0])
        if areas is None:
            if fresh and cell not in reached:
                reached.add(cell)
                fresh.append(cell)
        else:
            for area in areas:
                index.add(area, cell)
    while fresh:
        for reading in index.taken(fresh.pop()):
            if reading not in reached:
                reached.add(reading)
                fresh.append(reading)
    return reached


def circles(package: Package, formulas: Mapping[Cell, CellValue]) -> set[Cell]:
    """Formula cells that read themselves, directly or by others, or of which that can't be known.

    Strongly connected cells of the graph of what reads what, by scipy. A formula whose references
    are only known when it runs is one of them.
    """
    from scipy.sparse import coo_array  # slow to import, and rarely wanted
    from scipy.sparse.csgraph import connected_components

    reader = _Reader(package)
    cells = list(formulas)
    by_column: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for number, (sheet, row, column) in enumerate(cells):
        by_column.setdefault((sheet, column), []).append((row, number))
    for there in by_column.values():
        there.sort()
    nodes: dict[_Area, int] = {}
    reading, read, found = [], [], set()
    for number, (cell, content) in enumerate(formulas.items()):
        areas = reader.areas(content.formula or "", cell[0])
        if areas is None:
            found.add(cell)
        for area in areas or ():
            reading.append(number)
            read.append(nodes.setdefault(area, len(cells) + len(nodes)))
    for (sheet, place), node in nodes.items():
        for column in range(place.column1, place.column2 + 1):
            there = by_column.get((sheet, column), [])
            first, end = bisect(there, (place.row1, 0)), bisect(there, (place.row2 + 1, 0))
            reading += [node] * (end - first)
            read += [number for _, number in there[first:end]]
    size = len(cells) + len(nodes)
    graph = coo_array(([1] * len(read), (reading, read)), shape=(size, size))
    _, parts = connected_components(graph, connection="strong")
    members = Counter(parts.tolist())
    return found | {cell for cell, part in zip(cells, parts, strict=False) if members[part] > 1}


class _Index:
    """Which cells read an area, found by a cell inside it; each area is given once."""

    def __init__(self) -> None:
        self._by_column: dict[tuple[str, int], dict[Range, list[Cell]]] = {}
        self._single: dict[Cell, list[Cell]] = {}
        self._wide: dict[str, dict[Range, list[Cell]]] = {}

    def add(self, area: _Area, reading: Cell) -> None:
        """Note that a cell reads an area."""
        sheet, place = area
        if place.size == 1:
            self._single.setdefault((sheet, place.row1, place.column1), []).append(reading)
        elif place.columns > _WIDE:
            self._wide.setdefault(sheet, {}).setdefault(place, []).append(reading)
        else:
            for column in range(place.column1, place.column2 + 1):
                areas = self._by_column.setdefault((sheet, column), {})
                areas.setdefault(place, []).append(reading)

    def taken(self, cell: Cell) -> list[Cell]:
        """Cells that read areas which hold this one, these areas taken out."""
        sheet, row, column = cell
        found = self._single.pop(cell, [])
        for areas in (self._by_column.get((sheet, column), {}), self._wide.get(sheet, {})):
            for area in [area for area in areas if area.holds(row, column)]:
                found += areas.pop(area)
        return found


class _Reader:
    """Finds the areas that a formula reads."""

    def __init__(self, package: Package) -> None:
        self.package = package
        self.sheets = {info.name.casefold(): info.name for info in package.sheets}
        self.tables: dict[str, _Area] = {}
        self.named: dict[tuple[str, str], list[_Area] | None] = {}
        for info in package.sheets:
            for link in package.relationships(info.part):
                if link.kind != "table" or not package.has(link.target):
                    continue
                root = package.xml(link.target)
                try:
                    area = parse_range(root.get("ref") or "")
                except FileError:
                    continue
                for key in ("displayName", "name"):
                    self.tables[(root.get(key) or "").casefold()] = (info.name, area)

    def areas(self, formula: str, sheet: str, depth: int = 0) -> list[_Area] | None:
        """Areas that the formula reads; None where they can't be known."""
        found: list[_Area] = []
        pieces = references(formula)
        current, corner = sheet, None
        for i, (kind, text) in enumerate(pieces):
            following = pieces[i + 1][1] if i + 1 < len(pieces) else ""
            if kind == "sheet":
                plain = named_sheet(text)
                if ":" in plain and plain.casefold() not in self.sheets:
                    return None  # a block through several sheets
                current = self.sheets.get(plain.casefold(), plain)
                continue
            if kind == "function" and text.upper().rpartition(".")[2] in _ANYWHERE:
                return None
            if kind in ("cell", "columns", "rows"):
                area = _area(kind, text)
                if area and corner:
                    area = _hull(corner, area)
                if area:
                    found.append((current, area))
                if following == ":":
                    corner = area
                    continue
            elif kind == "word" and depth < 8:
                if (text, sheet) not in self.named:
                    self.named[text, sheet] = self._named(text, sheet, depth)
                inner = self.named[text, sheet]
                if inner is None:
                    return None
                found += inner
            if text != ":":
                current, corner = sheet, None
        return found

    def _named(self, word: str, sheet: str, depth: int) -> list[_Area] | None:
        if word.casefold() in self.tables:
            return [self.tables[word.casefold()]]
        target = self.package.find_name(word, sheet)
        if target is None:
            return []
        if target.ref:
            return [(target.sheet, parse_range(target.ref))]
        return self.areas(target.text, sheet, depth + 1)


def _area(kind: str, text: str) -> Range | None:
    plain = text.replace("$", "")
    first, _, last = plain.partition(":")
    if kind == "columns":
        low, high = sorted((column_number(first), column_number(last)))
        return Range(1, low, MAX_ROW, min(high, MAX_COLUMN))
    if kind == "rows":
        low, high = sorted((int(first), int(last)))
        return Range(low, 1, high, MAX_COLUMN)
    try:
        row, column = parse_cell(plain)
    except FileError:
        return None
    return Range(row, column, row, column)


def _hull(one: Range, other: Range) -> Range:
    return Range(
        min(one.row1, other.row1),
        min(one.column1, other.column1),
        max(one.row2, other.row2),
        max(one.column2, other.column2),
    )
