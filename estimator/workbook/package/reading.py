"""Reading cells of a package: values, formula texts, and which cells show dates."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any, NamedTuple

from estimator.errors import FileError
from estimator.workbook.package.a1 import (
    MAX_COLUMN,
    MAX_ROW,
    Range,
    address,
    column_number,
    parse_range,
    range_text,
    shift_formula,
)
from estimator.workbook.package.container import DAMAGED_CURE
from estimator.workbook.package.parts import Package, SheetInfo


@dataclass(frozen=True, slots=True)
class CellError:
    """An error value such as ``#REF!``."""

    code: str


Node = Any
"""An XML element, of the reading parser or of the writing one: both have the same face."""

Value = float | str | bool | CellError | None


class CellValue(NamedTuple):
    """What a cell holds.

    ``formula`` is its text without the equals sign, as the cell itself would show it (a shared
    formula is translated to the cell). ``kind`` is '' for a typed value, else plain, shared,
    array or table (a what-if table, whose formula has no text). ``date`` says that its number
    format shows a date or a time. ``style`` is its index among the file's cell formats.
    """

    value: Value
    formula: str | None = None
    kind: str = ""
    style: int = 0
    date: bool = False


BLANK = CellValue(None)

_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_NOT_FORMAT = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?!(?:h+|m+|s+)\])[^\]]*\]', re.IGNORECASE)
_DATE_LETTER = re.compile(r"[dmyhs]", re.IGNORECASE)
_DATE_IDS = frozenset((*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)))
_LETTERS = re.compile(r"[A-Z]{1,3}")


def unescape(text: str) -> str:
    """Text with the format's ``_x000D_`` escapes replaced by the characters they stand for."""
    if "_x" not in text:
        return text
    plain = _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text)
    return plain.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def whole_number(text: str) -> int:
    """Whole number of up to eight digits, or -1 where the text is something else."""
    text = text.strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 8 else -1


def shows_date(format_code: str) -> bool:
    """Whether a number format's code shows a date or a time of day."""
    section = _NOT_FORMAT.sub("", format_code).partition(";")[0]
    return "general" not in section.casefold() and bool(_DATE_LETTER.search(section))


class Grid:
    """The cells of one sheet's XML by row and column; built once, without decoding values."""

    __slots__ = (
        "cells",
        "data",
        "decoded",
        "implicit",
        "masters",
        "multi",
        "package",
        "root",
        "rows",
        "sheet",
        "styles",
        "tags",
    )

    def __init__(self, package: Package, sheet: SheetInfo, root: Node) -> None:
        if sheet.kind != "worksheet":
            raise FileError(
                f"The sheet '{sheet.name}' has no cells.",
                where=package.label,
                cure="Give a worksheet that name.",
            )
        self.package, self.sheet, self.root = package, sheet, root
        data = root.find(package.tag("sheetData"))
        if data is None:
            raise self.damaged("it has no cells part")
        if len(data) > package.limits.sheet_rows:
            raise FileError(
                f"The sheet '{sheet.name}' holds {len(data):,} rows, more than the"
                f" {package.limits.sheet_rows:,} that this program reads.",
                where=package.label,
                cure="Delete the rows below the last one that is used, and save.",
            )
        self.data: Node = data
        self.tags = package.tag("v"), package.tag("f"), package.tag("is")
        self.decoded: dict[tuple[int, int], CellValue] = {}
        self.styles: dict[str | None, tuple[int, bool]] = {}
        self.rows: dict[int, Node] = {}
        self.cells: dict[tuple[int, int], Node] = {}
        self.implicit = False
        self._scan()
        self.masters: dict[str, tuple[int, int, str]] = {}
        self.multi: list[Range] = []
        self._scan_formulas()

    def damaged(self, why: str) -> FileError:
        """Error that says that this sheet can't be read."""
        where = f"{self.package.label}, sheet {self.sheet.name}"
        return FileError(f"The sheet is damaged: {why}.", where=where, cure=DAMAGED_CURE)

    def _scan(self) -> None:
        row_tag, cell_tag, cells = self.package.tag("row"), self.package.tag("c"), self.cells
        numbers: dict[str, int] = {}
        row_number = 0
        for row in self.data:
            if row.tag != row_tag:
                continue
            row_text = row.get("r")
            number = row_number + 1 if row_text is None else whole_number(row_text)
            if not row_number < number <= MAX_ROW:
                raise self.damaged(f"its rows are out of order at '{(row_text or '')[:20]}'")
            row_text, row_number = str(number), number
            self.implicit = self.implicit or row.get("r") is None
            self.rows[number] = row
            column, digits = 0, len(row_text)
            for cell in row:
                if cell.tag != cell_tag:
                    continue
                text = cell.get("r")
                if text is None:
                    self.implicit, next_column = True, column + 1
                else:
                    letters = text[:-digits]
                    next_column = numbers.get(letters, 0)
                    if not next_column and _LETTERS.fullmatch(letters):
                        next_column = numbers[letters] = column_number(letters)
                    if text[-digits:] != row_text:
                        next_column = 0
                if not column < next_column <= MAX_COLUMN:
                    why = f"'{(text or '')[:20]}' is out of place in row {number}"
                    raise self.damaged(why)
                column = next_column
                cells[number, column] = cell

    def _scan_formulas(self) -> None:
        formulas = self.data.iter(self.tags[1])
        if all(formula.get("t") in (None, "normal") for formula in formulas):
            return
        for place, cell in self.cells.items():
            formula = self.formula_of(cell)
            if formula is None:
                continue
            kind = formula.get("t")
            if kind == "shared" and formula.text and formula.get("si") is not None:
                self.masters.setdefault(formula.get("si"), (*place, formula.text))
            elif kind in ("array", "dataTable") and formula.get("ref"):
                try:
                    area = parse_range(formula.get("ref"))
                except FileError as error:
                    raise self.damaged("an array formula has no proper range") from error
                if area.size > 1:
                    self.multi.append(area)

    def value(self, row: int, column: int) -> CellValue:
        """The cell decoded (once); a cell that isn't there is blank."""
        place = row, column
        found = self.decoded.get(place)
        if found is None:
            cell = self.cells.get(place)
            if cell is None:
                return BLANK
            found = self.decoded[place] = self._decode(cell, row, column)
        return found

    def _style(self, text: str | None, row: int, column: int) -> tuple[int, bool]:
        style = whole_number(text or "0")
        if style < 0:
            raise self.damaged(f"{address(row, column)} has no proper style")
        self.styles[text] = style, style in _date_styles(self.package)
        return self.styles[text]

    def _decode(self, cell: Node, row: int, column: int) -> CellValue:
        value_tag, formula_tag, inline_tag = self.tags
        value: Value = None
        formula: str | None = None
        kind = ""
        text: str | None = None
        cell_type = cell.get("t")
        for child in cell:
            tag = child.tag
            if tag == value_tag:
                text = child.text or ""
            elif tag == formula_tag:
                if child.get("t") is None:
                    formula, kind = child.text or "", "plain"
                else:
                    formula, kind = self._formula(child, row, column)
            elif tag == inline_tag and cell_type == "inlineStr":
                value = _rich_text(child, self.package)
        style_text = cell.get("s")
        style, is_date = self.styles.get(style_text) or self._style(style_text, row, column)
        if text is not None:
            if cell_type is None or cell_type == "n":
                if text:
                    value = self._number(text, row, column)
            elif cell_type == "str":
                value = unescape(text) if "_x" in text else text
            elif cell_type == "s":
                strings = _shared_strings(self.package)
                index = whole_number(text)
                if not 0 <= index < len(strings):
                    raise self.damaged(f"{address(row, column)} refers to a text that isn't there")
                value = strings[index]
            elif cell_type == "b":
                value = text.strip() in ("1", "true")
            elif cell_type == "e":
                value = CellError(text.strip())
            elif cell_type == "d":
                value, is_date = self._serial(text, row, column), True
        elif cell_type == "str":
            value = ""
        return CellValue(value, formula, kind, style, is_date)

    def formula_of(self, cell: Node) -> Node | None:
        """The formula element of a cell, or None."""
        tag = self.tags[1]
        for child in cell:
            if child.tag == tag:
                return child
        return None

    def without_formula(self, row: int, column: int) -> None:
        """Leave a cell the value that it shows; those that share its formula keep theirs."""
        cell = self.cells[row, column]
        formula = self.formula_of(cell)
        if formula is not None:
            cell.remove(formula)

    def _formula(self, element: Node, row: int, column: int) -> tuple[str | None, str]:
        kind = element.get("t") or "normal"
        if kind == "dataTable":
            return "", "table"
        text = element.text or ""
        if kind == "array":
            return text, "array"
        if kind == "shared":
            master = self.masters.get(element.get("si") or "")
            if master and not text:
                text = shift_formula(master[2], row - master[0], column - master[1])
            if not text:
                raise self.damaged(f"{address(row, column)} shares a formula that isn't there")
            return text, "shared"
        return text, "plain"

    def _number(self, text: str, row: int, column: int) -> float:
        try:
            number = float(text)
        except ValueError:
            number = math.nan
        if not math.isfinite(number) or "_" in text:
            raise self.damaged(f"{address(row, column)} holds '{text[:20]}', which is no number")
        return number

    def _serial(self, text: str, row: int, column: int) -> float:
        first = date(1904, 1, 1) if self.package.date1904 else date(1899, 12, 30)
        try:
            moment = datetime.fromisoformat(text.strip()).replace(tzinfo=None)
        except ValueError as error:
            raise self.damaged(f"{address(row, column)} holds no proper date") from error
        gap = moment - datetime.combine(first, time())
        return gap.days + gap.seconds / 86400


def name_addresses(cells: Grid) -> None:
    """Write its address on every row and cell that leaves it to be counted."""
    for number, row in cells.rows.items():
        row.set("r", str(number))
    for place, cell in cells.cells.items():
        cell.set("r", address(*place))
    cells.implicit = False


def grid(package: Package, sheet: str) -> Grid:
    """The sheet's cells, scanned once per package.

    Raises:
        FileError: If there is no such sheet, or it is damaged.
    """
    info = package.sheet(sheet)
    key = f"grid {info.name}"
    found: Grid | None = package.memo.get(key)
    if found is None:
        found = package.memo[key] = Grid(package, info, package.xml(info.part))
    return found


def read_range(package: Package, sheet: str, ref: str) -> tuple[tuple[CellValue, ...], ...]:
    """Rows of cells of a rectangle such as ``A1:B3`` on a sheet.

    Raises:
        FileError: If the sheet is missing or damaged, or the rectangle is unreasonably large.
    """
    return read_area(package, sheet, parse_range(ref))


def read_area(package: Package, sheet: str, area: Range) -> tuple[tuple[CellValue, ...], ...]:
    """The same of a rectangle by its rows and columns.

    Raises:
        FileError: As :func:`read_range`.
    """
    refuse_large(package, sheet, area)
    value = grid(package, sheet).value
    columns = range(area.column1, area.column2 + 1)
    return tuple(
        tuple([value(row, column) for column in columns]) for row in range(area.row1, area.row2 + 1)
    )


def refuse_large(package: Package, sheet: str, area: Range) -> None:
    """Refuse a rectangle of more cells than are read at once.

    Raises:
        FileError: If it is one.
    """
    row1, column1, row2, column2 = area
    if (row2 - row1 + 1) * (column2 - column1 + 1) > package.limits.range_cells:
        raise FileError(
            f"The range {range_text(area)} on sheet {sheet} is larger than this program reads.",
            where=package.label,
            cure="Shrink the defined name to the cells it needs.",
        )


def read_cell(package: Package, sheet: str, ref: str) -> CellValue:
    """One cell, such as ``B3``.

    Raises:
        FileError: If the sheet is missing or damaged.
    """
    return read_range(package, sheet, ref)[0][0]


def read_name(package: Package, name: str) -> tuple[tuple[CellValue, ...], ...]:
    """Rows of cells that a workbook-wide defined name stands for.

    Raises:
        FileError: If the name is missing or broken, or its sheet is damaged.
    """
    return read_range(package, *package.range_of(name))


def formula_cells(package: Package) -> Iterator[tuple[str, int, int, CellValue]]:
    """Sheet, row, column and content of every cell with a formula, in tab and sheet order."""
    for info in package.sheets:
        if info.kind == "worksheet":
            cells = grid(package, info.name)
            for (row, column), cell in cells.cells.items():
                if cells.formula_of(cell) is not None:
                    yield info.name, row, column, cells.value(row, column)


def _rich_text(item: Node, package: Package) -> str:
    text_tag = package.tag("t")
    if len(item) == 1 and item[0].tag == text_tag:
        return unescape(item[0].text or "")
    run_tag = package.tag("r")
    pieces = []
    for child in item:
        tag = child.tag
        if tag == text_tag:
            pieces.append(child.text or "")
        elif tag == run_tag:
            pieces += [text.text or "" for text in child.iterfind(text_tag)]
    return unescape("".join(pieces))


def _shared_strings(package: Package) -> list[str]:
    strings: list[str] | None = package.memo.get("strings")
    if strings is None:
        part = package.related(package.main_part, "sharedStrings")
        items = package.xml(part).iterfind(package.tag("si")) if part else ()
        strings = package.memo["strings"] = [_rich_text(item, package) for item in items]
    return strings


def _date_styles(package: Package) -> frozenset[int]:
    dates: frozenset[int] | None = package.memo.get("dates")
    if dates is None:
        dates = package.memo["dates"] = _read_date_styles(package)
    return dates


def _read_date_styles(package: Package) -> frozenset[int]:
    part = package.related(package.main_part, "styles")
    if part is None:
        return frozenset()
    root = package.xml(part)
    formats = {
        element.get("numFmtId"): shows_date(element.get("formatCode") or "")
        for element in root.iterfind(f"{package.tag('numFmts')}/{package.tag('numFmt')}")
    }
    builtin = {str(number) for number in _DATE_IDS}
    return frozenset(
        index
        for index, element in enumerate(
            root.iterfind(f"{package.tag('cellXfs')}/{package.tag('xf')}")
        )
        if formats.get(element.get("numFmtId"), element.get("numFmtId") in builtin)
    )
