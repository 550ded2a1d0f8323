"""Formulas of computed cells: which ones a person changed, and what belongs in a blank one.

Each formula is compared with the one that the model gives for that cell. Spreadsheets rewrite
formulas when they save (numbers, ``TRUE()``, quotes, letter case), so that both are compared in
one normal form; and people insert, move and rename, so that references are first carried over to
where things stand now, which the defined names tell.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

from estimator.engine import Model
from estimator.errors import FileError
from estimator.workbook.a1 import (
    Range,
    address,
    column_letters,
    column_number,
    named_sheet,
    parse_range,
    split_target,
    tokens,
)
from estimator.workbook.book import Book, FormulaCell, other_version
from estimator.workbook.layout import Layout, layout
from estimator.workbook.made_from import MadeFrom, read_made_from
from estimator.workbook.names import names
from estimator.workbook.port import Edit, Port, place_text
from estimator.workbook.references import sheet_prefix
from estimator.workbook.shipped import Shipped, shipped, template_of
from estimator.workbook.writer import formulas

DIGITS = 14
"""Significant digits of a number in a formula that every spreadsheet keeps."""
_PREFIX = "_XLFN."
_UNKNOWN = "?"
_REFERENCE = re.compile(r"(\$?)([A-Z]{1,3}|\?)(\$?)([0-9]+|\?)")


Pieces = list[tuple[str, str]]
"""Kind and text of each piece of a formula, as :func:`a1.tokens` gives them."""


def normal_form(pieces: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Pieces of a formula in the form in which two spellings of one formula are the same."""
    listed = [(kind, text) for kind, text in pieces if text.strip()]
    found: list[str] = []
    skip = 0
    for at, (kind, text) in enumerate(listed):
        if skip:
            skip -= 1
        elif kind == "function" and text.upper() in ("TRUE", "FALSE"):
            found.append(text.upper())
            skip = 2 if listed[at + 2 : at + 3] == [("other", ")")] else 0
        else:
            found.append(_normal_piece(kind, text))
    return tuple(found)


def _normal_piece(kind: str, text: str) -> str:
    if kind == "number":
        return f"{float(text):.{DIGITS}g}"
    if kind == "function":
        return text.upper().removeprefix(_PREFIX)
    if kind in ("cell", "columns", "rows", "error"):
        return text.upper()
    if kind == "sheet":
        return named_sheet(text).casefold() + "!"
    if kind == "word":
        return text.upper()
    return text


@dataclass(frozen=True, slots=True)
class Moves:
    """Where the template's sheets, rows and columns stand in a workbook now."""

    sheets: Mapping[str, str]
    rows: Mapping[str, Mapping[int, int | None]]
    columns: Mapping[str, Mapping[int, int | None]]
    none: bool

    def pieces(self, text: str, sheet: str) -> Pieces:
        """A formula of the template as it reads now; ``?`` stands for what can't be known."""
        if self.none:
            return list(tokens(text))
        owner, found = sheet, []
        for kind, piece in tokens(text):
            if kind == "sheet":
                owner = named_sheet(piece)
                piece = sheet_prefix(self.sheets.get(owner, owner))
            elif kind == "cell":
                piece = self._cell(piece, owner)
            elif piece != ":":
                owner = sheet
            found.append((kind, piece))
        return found

    def spot(self, sheet: str, row: int, column: int) -> tuple[int, int] | None:
        """Where a cell stands now; None where that can't be known."""
        if self.none:
            return row, column
        there = _moved(self.rows.get(sheet, {}), row), _moved(self.columns.get(sheet, {}), column)
        return None if there[0] is None or there[1] is None else (there[0], there[1])

    def _cell(self, text: str, sheet: str) -> str:
        letters = text.replace("$", "").rstrip("0123456789")
        row = _moved(self.rows.get(sheet, {}), int(text.replace("$", "")[len(letters) :]))
        column = _moved(self.columns.get(sheet, {}), column_number(letters))
        first = "$" if text.startswith("$") else ""
        second = "$" if "$" in text[1:] else ""
        return (
            f"{first}{column_letters(column) if column else _UNKNOWN}"
            f"{second}{row if row else _UNKNOWN}"
        )


def _moved(known: Mapping[int, int | None], number: int) -> int | None:
    """Where a row or column stands now: as told, or as its neighbours on both sides moved."""
    if number in known:
        return known[number]
    below = max((n for n in known if n < number), default=0)
    above = min((n for n in known if n > number), default=0)
    low = known.get(below, 0)
    high = known.get(above) if above else None
    if low is None or (above and high is None):
        return None
    if not above:
        return number + low - below
    assert high is not None
    return number + low - below if low - below == high - above else None


def moves(plan: Layout, ranges: Mapping[str, tuple[str, Range]]) -> Moves:
    """How a workbook with these named ranges differs from the template."""
    targets = ((name, split_target(text)) for name, text in names(plan).items())
    template = {name: (t[0], parse_range(t[1])) for name, t in targets if t is not None}
    return moves_between(template, ranges)


def moves_between(
    before: Mapping[str, tuple[str, Range]], ranges: Mapping[str, tuple[str, Range]]
) -> Moves:
    """How named ranges stand now, against where they stood before."""
    sheets: dict[str, str] = {}
    rows: dict[str, dict[int, int | None]] = {}
    columns: dict[str, dict[int, int | None]] = {}
    none = True
    for name, (sheet, area) in before.items():
        now = ranges.get(name)
        if now is None:
            continue
        none = none and now == (sheet, area)
        sheets[sheet] = now[0]
        _pair(rows.setdefault(sheet, {}), area.row1, area.row2, now[1].row1, now[1].row2)
        _pair(
            columns.setdefault(sheet, {}),
            area.column1,
            area.column2,
            now[1].column1,
            now[1].column2,
        )
    return Moves(sheets, rows, columns, none)


def _pair(known: dict[int, int | None], first: int, last: int, now: int, end: int) -> None:
    inner = range(first, last + 1) if last - first == end - now else (first, last)
    for number in inner:
        moved = end if number == last else now + number - first
        if known.setdefault(number, moved) != moved:
            known[number] = None


@lru_cache(maxsize=4)
def template_formulas(model: Model) -> Mapping[tuple[str, str], str]:
    """Formulas of the template as the model writes them, kept, by sheet and address."""
    return formulas(model, layout(model))


class Formulas:
    """The model's formulas, each where its cell stands in a workbook now."""

    def __init__(self, model: Model, book: Book, port: Port) -> None:
        self._model = model
        self._port = port
        self._ranges = port.ranges()
        self._book = book

    @cached_property
    def _made(self) -> MadeFrom:
        return read_made_from(self._port)

    @cached_property
    def _made_moves(self) -> Moves:
        return moves_between(self._made.ranges, self._ranges)

    @cached_property
    def _moves(self) -> Moves:
        return moves(layout(self._model), self._ranges)

    @cached_property
    def _shipped(self) -> Shipped:
        return shipped(template_of(self._model))

    def of(self, key: str, place: tuple[int, int]) -> tuple[str, str]:
        """The template's formula of a computed cell, and the sheet on which it stands there."""
        at = layout(self._model).places[key]
        row, column = at.cell(*place)
        return template_formulas(self._model)[at.sheet, address(row, column)], at.sheet

    def changed(self) -> Iterator[FormulaCell]:
        """Computed cells whose formula is not the model's."""
        for cell in self._book.formulas:
            text = cell.content.formula or ""
            sheet, row, column = cell.edit
            unmoved = self._shipped.ranges.get(cell.key) == self._ranges.get(cell.key)
            ours = self._shipped.formulas.get((sheet, address(row, column))) if unmoved else None
            if ours is not None and (text == ours or matches(tokens(ours), tokens(text))):
                continue
            wanted, sheet = self.of(cell.key, cell.place)
            if not matches(self._moves.pieces(wanted, sheet), tokens(text)):
                self._refuse_as_made(cell, text)
                yield cell

    def _refuse_as_made(self, cell: FormulaCell, text: str) -> None:
        """Refuse a formula that the workbook was made with, and that the model has no more."""
        made, (_, row, column) = self._made, cell.edit
        before, now = made.ranges.get(cell.key), self._ranges.get(cell.key)
        if before is None or now is None:
            return
        home, area = before
        wanted = made.formula(
            cell.key, area.row1 + row - now[1].row1, area.column1 + column - now[1].column1
        )
        if wanted is not None and matches(self._made_moves.pieces(wanted, home), tokens(text)):
            raise other_version(self._port, "")

    def restored(self) -> dict[Edit, str]:
        """Formulas for the blank computed cells.

        Raises:
            FileError: If one can't be told, as rows or columns moved.
        """
        found: dict[Edit, str] = {}
        for edit, (key, place) in self._book.owners.items():
            pieces = self._moves.pieces(*self.of(key, place))
            if any(kind == "cell" and _UNKNOWN in piece for kind, piece in pieces):
                raise FileError(
                    "this computed cell is blank, and its formula can't be brought back, as rows"
                    " or columns have moved.",
                    where=place_text(*edit),
                    cure="Copy the formula from the cell beside or above it, then refill.",
                )
            found[edit] = "".join(piece for _, piece in pieces)
        return found


def matches(wanted: Iterable[tuple[str, str]], found: Iterable[tuple[str, str]]) -> bool:
    """Whether two formulas are the same in normal form; ``?`` in the first fits anything."""
    ours, theirs = normal_form(wanted), normal_form(found)
    return len(ours) == len(theirs) and all(
        one == other or _fits(one, other) for one, other in zip(ours, theirs, strict=True)
    )


def _fits(wanted: str, found: str) -> bool:
    """Whether a reference fits one of which the row or the column is not known."""
    one, other = _REFERENCE.fullmatch(wanted), _REFERENCE.fullmatch(found)
    return bool(one and other) and all(
        a in (b, _UNKNOWN)
        for a, b in zip(one.groups(), other.groups(), strict=True)  # type: ignore[union-attr]
    )
