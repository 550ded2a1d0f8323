"""A job's whole workbook by the engine, by LibreOffice, by formualizer and by ``formulas``.

The ``formulas`` library can't load the workbook in reasonable time, so that each formula is
worked out by it alone, given what LibreOffice found for the cells that the formula reads. Formulas
that are alike but for where their cells stand are compiled once.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import formulas as library
import numpy as np
import pytest
import schedula
from formulas.functions import Array as LibraryArray
from formulas.ranges import Ranges
from formulas.tokens.operand import Error as LibraryErrors
from formulas.tokens.operand import XlError as LibraryError
from libreoffice import convert

from estimator.engine import Model
from estimator.inputs import TypedJob
from estimator.rows import OPTION_KEYS, Quantity
from estimator.values import Values
from estimator.workbook.package.a1 import Range, address, parse_cell, parse_range, tokens
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import CellError, Value, formula_cells, grid
from estimator.workbook.refill.file import create_workbook
from estimator.workbook.refill.file_port import FilePort

Cell = tuple[str, int, int]
"""Sheet, row and column."""

WRONG = -98765.4321
"""What every formula's cell shows before it is worked out anew: no number of a real job."""
_SHOWN = re.compile(rb"(</f>|<f [^<>]*/>)(?:<v>[^<]*</v>|<v */>)?")


Cells = Mapping[Cell, Value]
"""What the cells of a file hold that are not empty."""


def read_cells(data: bytes, by_formula: Iterable[Cell]) -> Cells:
    """What a file shows; a formula that yields an empty text shows one, and no empty cell."""
    package = Package.open(data)
    found: dict[Cell, Value] = dict.fromkeys(by_formula, "")
    for info in package.sheets:
        sheet = grid(package, info.name)
        for row, column in sheet.cells:
            value = sheet.value(row, column).value
            if value is not None:
                found[info.name, row, column] = value
    return found


@dataclass(frozen=True, slots=True)
class Written:
    """A job's workbook as the program writes it.

    Args:
        label: Says which job it is.
        data: The file.
        model: The rows that it was made from.
        engine: Every quantity by the engine.
        formulas: Text of every formula, without the leading ``=``.
        cells: What the file shows: typed values, and formualizer's for every formula.
        names: Sheet and range of every defined name, by its name in small letters.
    """

    label: str
    data: bytes
    model: Model
    engine: Mapping[str, Values]
    formulas: Mapping[Cell, str]
    cells: Cells
    names: Mapping[str, tuple[str, Range]]


def write(label: str, job: TypedJob, folder: Path, model: Model) -> Written:
    """Make the workbook of a job of this model.

    Raises:
        EstimatorError: If the job can't be solved.
    """
    path = folder / f"{label}.xlsx"
    report = create_workbook(path, model, job)
    assert not report.notes, report.notes
    data = path.read_bytes()
    package = Package.open(data)
    texts = {(s, r, c): content.formula or "" for s, r, c, content in formula_cells(package)}
    names = {name.casefold(): target for name, target in FilePort(package).ranges().items()}
    return Written(label, data, model, report.refill.values, texts, read_cells(data, texts), names)


def by_libreoffice(books: Sequence[Written]) -> list[Cells]:
    """Every cell as LibreOffice works it out, from files whose formulas all show :data:`WRONG`."""
    return [read_cells(convert(_wrong(book)), book.formulas) for book in books]


def _wrong(book: Written) -> bytes:
    """The file with :data:`WRONG`, as a number or a text, for the value of every formula."""
    target, changed = io.BytesIO(), 0
    with (
        zipfile.ZipFile(io.BytesIO(book.data)) as old,
        zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as new,
    ):
        for part in old.namelist():
            content = old.read(part)
            if part.startswith("xl/worksheets/sheet"):
                content, count = _SHOWN.subn(rb"\g<1><v>%a</v>" % WRONG, content)
                changed += count
            new.writestr(part, content)
    assert changed == len(book.formulas)
    return target.getvalue()


# --- the engine against the cells of a file ---


def engine_disagreements(book: Written, cells: Cells) -> list[str]:
    """Cells of the model's quantities that hold something else than the engine's value."""
    found, idle = [], _idle(book)
    for item in book.model.quantities.values():
        for cell, expected in places(book, item):
            value = cells.get(cell)
            if value is None:
                value = _of_empty(item, expected, idle=cell in idle)
            if not alike(expected, value):
                found.append(f"{_place(book, cell)} {item.key}: engine {expected!r}, {value!r}")
    return found


def places(book: Written, item: Quantity) -> Iterator[tuple[Cell, Value]]:
    """Every cell of a quantity, and what it shows by the engine: an empty text for its NaN."""
    sheet, area = book.names[item.key.casefold()]
    rows, columns = area.row2 - area.row1 + 1, area.column2 - area.column1 + 1
    assert columns == (len(OPTION_KEYS) if item.by_option else 1), item.key
    assert item.axis or rows == 1, item.key
    values = np.broadcast_to(np.asarray(book.engine[item.key]), (columns, rows))
    used = np.broadcast_to(np.asarray(book.engine["option_used"]), (len(OPTION_KEYS), 1))
    for option in range(columns):
        # The engine takes every solver as up to date, of options that are not in use as well.
        quiet = item.role == "mark" and item.by_option and not used[option, 0]
        for row in range(rows):
            shown = "" if quiet else _shown(values[option, row])
            yield (sheet, area.row1 + row, area.column1 + option), shown


def _shown(value: Any) -> Value:
    if isinstance(value, str):
        return str(value)
    return "" if np.isnan(value) else float(value)


def _idle(book: Written) -> set[Cell]:
    """Cells of solved lists in lines where no list of the solver's table says anything."""
    tables: dict[tuple[str, str, bool], list[list[tuple[Cell, Value]]]] = {}
    for item in book.model.quantities.values():
        if item.role == "solved" and item.axis:
            table = tables.setdefault((item.axis, item.solver, item.by_option), [])
            table.append(list(places(book, item)))
    return {
        cell
        for columns in tables.values()
        for line in zip(*columns, strict=True)
        if all(expected in (0.0, "") for _, expected in line)
        for cell, _ in line
    }


def _of_empty(item: Quantity, expected: Value, *, idle: bool) -> Value:
    """What an empty cell says: nothing where it was typed or solved, which a sum takes for 0.

    In a solved list a 0 may be left blank only where the whole line says nothing: beside
    something, it is a number that is missing.
    """
    if (item.role == "input" or idle) and expected == 0.0:
        return 0.0
    return "" if item.role in ("input", "solved") else None


def alike(expected: Value, value: Value) -> bool:
    """Whether two engines agree: to 1e-9 relative, texts and truths exactly.

    Differences that cancel leave dust: half a unit of the ninth decimal, where rounding up and
    comparisons stop looking, is nothing beside zero.
    """
    if _is_number(expected) and _is_number(value):
        return bool(value == pytest.approx(expected, rel=1e-9, abs=5e-10))
    return type(expected) is type(value) and expected == value


def _is_number(value: Value) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def disagreements(book: Written, one: Cells, other: Cells) -> list[str]:
    """Formulas that two spreadsheets work out differently."""
    return [
        f"{_place(book, cell)}: {one[cell]!r}, {other[cell]!r}: {text[:120]}"
        for cell, text in book.formulas.items()
        if not alike(one[cell], other[cell])
    ]


def _place(book: Written, cell: Cell) -> str:
    sheet, row, column = cell
    return f"{book.label} {sheet}!{address(row, column)}"


# --- the formulas library, one formula at a time ---

_POSITION = ("ROW(", "COLUMN(", "CELL(", "OFFSET(", "INDIRECT(")
"""Functions whose value depends on where a reference stands, which a compiled pattern forgets."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A formula whose references are numbered, and what each of them stands for.

    Args:
        text: The formula over cells of nowhere, one stretch of columns a reference.
        slots: The cell or range of nowhere that stands for each reference.
    """

    text: str
    slots: tuple[str, ...]


def pattern_of(
    text: str, sheet: str, names: Mapping[str, tuple[str, Range]]
) -> tuple[Pattern, tuple[tuple[str, Range], ...]]:
    """The pattern of a formula and the ranges that it reads, in the order of the slots."""
    assert not any(word in text for word in _POSITION), text
    pieces = list(tokens(text))
    slots: dict[tuple[str, Range], str] = {}
    written: list[str] = []
    column = 1
    at = 0
    while at < len(pieces):
        target, used = _reference(pieces, at, sheet, names)
        if target is None:
            written.append(pieces[at][1])
            at += 1
            continue
        if target not in slots:
            area = target[1]
            height, width = area.row2 - area.row1 + 1, area.column2 - area.column1 + 1
            first, last = address(1, column), address(height, column + width - 1)
            slots[target] = first if first == last else f"{first}:{last}"
            column += width
        written.append(slots[target])
        at += used
    return Pattern("".join(written), tuple(slots.values())), tuple(slots)


def _reference(
    pieces: Sequence[tuple[str, str]], at: int, sheet: str, names: Mapping[str, tuple[str, Range]]
) -> tuple[tuple[str, Range] | None, int]:
    """The range that begins at a piece of a formula, if any, and the pieces that it takes."""
    kind, text = pieces[at]
    if kind == "word" and text.upper() not in ("TRUE", "FALSE"):
        return names[text.casefold()], 1
    used = 0
    if kind == "sheet":
        sheet = text[:-1].strip("'").replace("''", "'")
        used = 1
        kind, text = pieces[at + 1]
    if kind != "cell":
        return None, 0
    used += 1
    after = pieces[at + used : at + used + 2]
    if len(after) == 2 and after[0][1] == ":" and after[1][0] == "cell":
        return (sheet, parse_range(f"{text}:{after[1][1]}")), used + 2
    row, column = parse_cell(text)
    return (sheet, Range(row, column, row, column)), used


_JOINS_CELLS = "): INDEX("
"""A range from one found cell to another, which the library makes in its dispatcher alone."""


class _Compiled:
    """A pattern as the library parses it: its functions, called in the order of its own graph.

    The library's dispatcher, which finds that order anew at every call, takes most of the time.
    It works out the first cell of every pattern too, and must agree.
    """

    def __init__(self, pattern: Pattern) -> None:
        self._slots = pattern.slots
        self._whole = library.Parser().ast(f"={pattern.text}")[1].compile()
        graph = self._whole.dsp
        self.inputs = tuple(self._whole.inputs)
        self._constants = {key: found["value"] for key, found in graph.default_values.items()}
        [self._result] = self._whole.outputs
        self._steps: list[_Step] = []
        known, left = {*self._constants, *self.inputs}, list(graph.function_nodes.items())
        while left:
            ready = [(name, n) for name, n in left if known.issuperset(n["inputs"])]
            assert ready, pattern.text
            for name, node in ready:
                [output] = node["outputs"]
                named = name.partition("<")[0].upper()
                self._steps.append(_Step(named, node["function"], tuple(node["inputs"]), output))
                known.add(output)
                left.remove((name, node))
        self._checked = False

    def __call__(self, rows: Sequence[Blocks]) -> list[Value]:
        """What the formula gives for each row of what its slots hold."""
        slots = dict(zip(self._slots, zip(*rows, strict=True), strict=True))
        if _JOINS_CELLS in self._result:
            return [self._by_dispatcher(slots, row) for row in range(len(rows))]
        values: dict[str, Any] = dict(self._constants)
        values.update((slot, _given(slot, slots[slot])) for slot in self.inputs)
        for step in self._steps:
            values[step.output] = step.run([values[key] for key in step.inputs], len(rows))
        result = values[self._result]
        if isinstance(result, _Spread):
            found = [_first(result.at(row)) for row in range(len(rows))]
        else:
            found = [_first(result)] * len(rows)
        if not self._checked:
            self._checked = True
            whole = self._by_dispatcher(slots, 0)
            assert whole == found[0], (self._result, whole, found[0])
        return found

    def _by_dispatcher(self, slots: Mapping[str, Sequence[_Block]], row: int) -> Value:
        """One cell as the library itself works it out."""
        return _first(self._whole(*(slots[slot][row].given(slot) for slot in self.inputs)))


class _Spread:
    """A value for each of many rows: a column of single cells, or whatever each row has."""

    def __init__(self, rows: Sequence[Any]) -> None:
        self._rows = rows

    def at(self, row: int) -> Any:
        """The value of one row."""
        return self._rows[row]


class _Column(_Spread):
    """A single cell for each row, in one array."""

    def __init__(self, column: Any) -> None:
        super().__init__(column)
        self.column = column

    def at(self, row: int) -> Any:
        """The cell of one row, as an array of one row."""
        return self.column[row : row + 1]


@dataclass(frozen=True, slots=True)
class _Step:
    """A function of a pattern.

    Args:
        name: What formulas call it.
        function: The library's.
        inputs: What it is called with.
        output: What it gives.
    """

    name: str
    function: Any
    inputs: tuple[str, ...]
    output: str

    def run(self, given: Sequence[Any], height: int) -> Any:
        """What it gives: once if nothing differs by row, for a column at once if it can be."""
        if not any(isinstance(value, _Spread) for value in given):
            return self.function(*given)
        if self._takes_columns(given):
            columns = [v.column if isinstance(v, _Column) else v for v in given]
            found = _array(self.function(*columns))
            if found.shape == (height, 1):
                return _Column(found.view(LibraryArray))
        rows = [
            _array(self.function(*(v.at(row) if isinstance(v, _Spread) else v for v in given)))
            for row in range(height)
        ]
        if any(row.size != 1 for row in rows):
            return _Spread(rows)
        return _Column(np.array([[row.item()] for row in rows], dtype=object).view(LibraryArray))

    def _takes_columns(self, given: Sequence[Any]) -> bool:
        """Whether it gives for each cell of columns what it gives for that cell alone."""
        spread = {place for place, value in enumerate(given) if isinstance(value, _Spread)}
        if not all(isinstance(given[place], _Column) for place in spread):
            return False
        if self.name in _EACH_ALONE:
            return all(_array(v).size == 1 for place, v in enumerate(given) if place not in spread)
        return spread <= _LOOKED_FOR.get(self.name, frozenset())


_EACH_ALONE = frozenset(
    (
        *("+", "-", "*", "/", "^", "&", "=", "<>", "<", ">", "<=", ">=", "U-"),
        *("ABS", "CHOOSE", "COS", "EXACT", "FIND", "IF", "IFERROR", "INT", "ISBLANK", "ISERROR"),
        *("ISLOGICAL", "ISNUMBER", "ISTEXT", "LEFT", "LEN", "LOWER", "MID", "MOD", "N", "NOT"),
        *("PI", "REPT", "RIGHT", "ROUND", "SIN", "SQRT", "SUBSTITUTE", "TEXT", "TRIM", "VALUE"),
    )
)
"""Operators and functions of single cells that take a column of each at once."""
_LOOKED_FOR: Mapping[str, frozenset[int]] = {
    **dict.fromkeys(("SUMIF", "COUNTIF", "LARGE"), frozenset({1})),
    **{"SUMIFS": frozenset(range(2, 40, 2)), "COUNTIFS": frozenset(range(1, 40, 2))},
    "MATCH": frozenset({0}),
}
"""Arguments of functions over ranges that may be a column of what to look for in them."""


def _given(slot: str, blocks: Sequence[_Block]) -> Any:
    """What stands in a slot, row by row where it is not the same in all."""
    if all(block is blocks[0] for block in blocks):
        return blocks[0].given(slot)
    if ":" in slot:
        own = {id(block): block.given(slot) for block in blocks}
        return _Spread([own[id(block)] for block in blocks])
    return _Column(np.vstack([block.values() for block in blocks]).view(LibraryArray))


def _array(value: Any) -> Any:
    return np.asarray(value.value if isinstance(value, Ranges) else value, dtype=object)


def _first(value: Any) -> Value:
    return _from_library(_array(value).ravel()[0])


@cache
def _compiled(pattern: Pattern) -> _Compiled:
    return _Compiled(pattern)


Patterns = Mapping[Cell, tuple[Pattern, tuple[tuple[str, Range], ...]]]
"""The pattern of each formula, and what it reads."""


def patterns_of(book: Written, chosen: Iterable[Cell]) -> Patterns:
    """The patterns of the formulas in some cells of a workbook."""
    return {cell: pattern_of(book.formulas[cell], cell[0], book.names) for cell in chosen}


class _Block:
    """What the cells of a range hold; its hash is worked out once, as it may be a long column."""

    def __init__(self, shape: tuple[int, int], contents: tuple[Value, ...]) -> None:
        self._shape = shape
        self._contents = contents
        # With their types, as 1 is not TRUE.
        self._key = shape, tuple(map(type, contents)), contents
        self._hash = hash(self._key)

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        return isinstance(other, _Block) and self._key == other._key

    def without_digits(self) -> _Block:
        """The same with texts that a number could be read from as other texts."""
        texts = [f"'{v}" if isinstance(v, str) and v else v for v in self._contents]
        return _Block(self._shape, tuple(texts))

    def values(self) -> Any:
        """An array of its own for the library, which may write into it."""
        found = np.empty(self._shape, dtype=object)
        found.flat = [_to_library(value) for value in self._contents]
        return found

    def given(self, slot: str) -> Any:
        """The range of a slot that holds these cells."""
        return Ranges().push(slot, self.values())


Blocks = tuple[_Block, ...]
"""What the slots of a pattern hold, in their order."""


class _BlocksOf:
    """Blocks of a file's cells: cells that hold the same are one block."""

    def __init__(self) -> None:
        self._same: dict[Any, _Block] = {}

    def of(self, cells: Cells, areas: Iterable[tuple[str, Range]]) -> dict[Any, _Block]:
        """The block of each area of a file."""
        return {area: self._block(cells, *area) for area in areas}

    def _block(self, cells: Cells, sheet: str, area: Range) -> _Block:
        shape = area.row2 - area.row1 + 1, area.column2 - area.column1 + 1
        found = _Block(shape, tuple(cells.get((sheet, *spot)) for spot in area.cells()))
        return self._same.setdefault(found, found)


def _to_library(value: Value) -> Any:
    if value is None:
        return schedula.EMPTY
    return LibraryErrors.errors[value.code] if isinstance(value, CellError) else value


def _from_library(value: Any) -> Value:
    if value is schedula.EMPTY:
        return 0.0
    if isinstance(value, LibraryError):
        return CellError(str(value))
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    return str(value) if isinstance(value, str) else float(value)


ASKS_FOR_FORMULAS = "ISFORMULA("
"""What the library can't answer: it is given the values of cells, not how they came about."""
SUMS_TEXTS = re.compile(r'SUM\(([^()]+)\)\+SUMPRODUCT\(\(\1<>""\)')
"""A checksum of what stands among texts. The library adds up and counts texts of digits in a range,
which spreadsheets don't: there it is given them as other texts."""
MOST_ROWS = 512
"""Cells of one pattern that are worked out in one go."""


def library_disagreements(books: Sequence[tuple[Written, Cells]], patterns: Patterns) -> list[str]:
    """Formulas that the ``formulas`` library works out differently from the given cells.

    The same formula on the same content is worked out once, and all of one pattern together; once
    more alone where they seem to differ. What asks whether a cell holds a formula is left to the
    other engines.

    Args:
        books: Workbooks of the same formulas, and what each of their cells holds.
        patterns: Of the formulas to look at.
    """
    areas = {area for _, reads in patterns.values() for area in reads}
    same = _BlocksOf()
    holds = [same.of(cells, areas) for _, cells in books]
    asked: dict[Pattern, dict[Blocks, list[tuple[int, Cell]]]] = {}
    for cell, (pattern, reads) in patterns.items():
        if ASKS_FOR_FORMULAS not in pattern.text:
            rows = asked.setdefault(pattern, {})
            for number, blocks in enumerate(holds):
                row = tuple(blocks[area] for area in reads)
                if SUMS_TEXTS.search(pattern.text):
                    row = tuple(block.without_digits() for block in row)
                rows.setdefault(row, []).append((number, cell))
    found = []
    for pattern, rows in asked.items():
        for row, value in _together(pattern, list(rows)):
            for number, cell in rows[row]:
                book, cells = books[number]
                if alike(cells[cell], value):
                    continue
                [alone] = _compiled(pattern)([row])
                if not alike(cells[cell], alone):
                    found.append(
                        f"{_place(book, cell)}: {cells[cell]!r}, library {alone!r}:"
                        f" {book.formulas[cell][:120]}"
                    )
    return found


def _together(pattern: Pattern, rows: Sequence[Blocks]) -> Iterator[tuple[Blocks, Value]]:
    """The value of a pattern for each row of what it reads."""
    for first in range(0, len(rows), MOST_ROWS):
        some = rows[first : first + MOST_ROWS]
        yield from zip(some, _compiled(pattern)(some), strict=True)
