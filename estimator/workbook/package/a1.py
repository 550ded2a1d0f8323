"""Cell addresses, ranges and the references inside a formula's text, in A1 style."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import product
from typing import NamedTuple

from estimator.errors import FileError

Cell = tuple[str, int, int]
"""Sheet, row, column."""
MAX_ROW = 1_048_576
MAX_COLUMN = 16_384
LOST_REFERENCE = "#REF!"
"""What a formula holds in place of a reference to cells that were deleted."""

_CELL = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")
_TARGET = re.compile(r"(?:'((?:[^']|'')+)'|([^'!\[\]:,;+*/&<>=()\"{} -]+))!([$A-Za-z0-9:]+)")

_TOKEN = re.compile(
    r"""
    (?P<string>"(?:[^"]|"")*")
  | (?P<error>\#(?:REF!|DIV/0!|N/A|NAME\?|NULL!|NUM!|VALUE!|SPILL!|CALC!|GETTING_DATA))
  | (?P<sheet>(?:'(?:[^']|'')+'|[^\W\d][\w.]*(?::[^\W\d][\w.]*)?)!)
  | (?P<function>[^\W\d][\w.]*(?=\())
  | (?P<columns>\$?[A-Za-z]{1,3}:\$?[A-Za-z]{1,3}(?![\w.($!\[]))
  | (?P<rows>\$?[0-9]{1,7}:\$?[0-9]{1,7}(?![\w.($!\[]))
  | (?P<cell>\$?[A-Za-z]{1,3}\$?[0-9]{1,7}(?![\w.(!\[]))
  | (?P<word>[^\W\d][\w.\\?]*)
  | (?P<number>\d+(?:\.\d*)?(?:[eE][+-]?\d+)?)
  | (?P<other>[\s\S])
    """,
    re.VERBOSE,
)
_REFERENCE = re.compile(_TOKEN.pattern.replace(r"[\s\S]", ":"), re.VERBOSE)
_REFERRING = frozenset(("sheet", "function", "columns", "rows", "cell", "word"))
_MOVING = frozenset(("columns", "rows", "cell"))
_PARTS = re.compile(r"(\$?)([A-Za-z]{1,3})(\$?)([0-9]{1,7})")


class Range(NamedTuple):
    """A rectangle of cells; rows and columns count from 1, both ends included."""

    row1: int
    column1: int
    row2: int
    column2: int

    @property
    def rows(self) -> int:
        """Number of rows."""
        return self.row2 - self.row1 + 1

    @property
    def columns(self) -> int:
        """Number of columns."""
        return self.column2 - self.column1 + 1

    @property
    def size(self) -> int:
        """Number of cells."""
        return self.rows * self.columns

    def holds(self, row: int, column: int) -> bool:
        """Whether the cell lies inside."""
        return self.row1 <= row <= self.row2 and self.column1 <= column <= self.column2

    def overlaps(self, other: Range) -> bool:
        """Whether both have a cell in common."""
        return (
            self.row1 <= other.row2
            and other.row1 <= self.row2
            and self.column1 <= other.column2
            and other.column1 <= self.column2
        )

    def with_next(self, other: Range) -> Range | None:
        """Both as one, where the other stands right below or right beside; else None."""
        both = Range(*self[:2], *other[2:])
        below = self[1::2] == other[1::2] and self.row2 == other.row1 - 1
        beside = self[::2] == other[::2] and self.column2 == other.column1 - 1
        return both if below or beside else None

    def cells(self) -> Iterator[tuple[int, int]]:
        """Row and column of every cell, row by row."""
        return product(range(self.row1, self.row2 + 1), range(self.column1, self.column2 + 1))


@lru_cache(maxsize=4096)
def column_number(letters: str) -> int:
    """Number of a column from its letters: A is 1, XFD is 16,384."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


@lru_cache(maxsize=4096)
def column_letters(number: int) -> str:
    """Letters of a column from its number."""
    letters = ""
    while number:
        number, digit = divmod(number - 1, 26)
        letters = chr(65 + digit) + letters
    return letters


def address(row: int, column: int) -> str:
    """Address such as ``B3`` from row and column numbers that count from 1."""
    return f"{column_letters(column)}{row}"


@lru_cache(maxsize=65_536)
def parse_cell(text: str) -> tuple[int, int]:
    """Row and column of an address such as ``B3`` or ``$B$3``.

    Raises:
        FileError: If the text is no address, or lies beyond the largest sheet.
    """
    match = _CELL.fullmatch(text)
    if match:
        row, column = int(match[2]), column_number(match[1])
        if 1 <= row <= MAX_ROW and column <= MAX_COLUMN:
            return row, column
    raise FileError(f"'{text[:40]}' is not a cell address.")


@lru_cache(maxsize=65_536)
def parse_range(text: str) -> Range:
    """Rectangle of a reference such as ``B3`` or ``$A$1:$B$3``, its corners put in order.

    Raises:
        FileError: If the text is no such reference.
    """
    first, _, last = text.partition(":")
    row1, column1 = parse_cell(first)
    row2, column2 = parse_cell(last) if last else (row1, column1)
    return Range(min(row1, row2), min(column1, column2), max(row1, row2), max(column1, column2))


def range_text(area: Range) -> str:
    """Reference without dollar signs; one cell is written as its address."""
    first = address(area.row1, area.column1)
    last = address(area.row2, area.column2)
    return first if first == last else f"{first}:{last}"


@lru_cache(maxsize=16_384)
def split_target(text: str) -> tuple[str, str] | None:
    """Sheet and reference of ``Sheet!$A$1:$B$3`` or ``'It''s'!A1``; None for anything else."""
    match = _TARGET.fullmatch(text.strip().removeprefix("="))
    if not match or "[" in (match[1] or ""):
        return None
    try:
        area = parse_range(match[3])
    except FileError:
        return None
    return (match[1].replace("''", "'") if match[1] else match[2]), range_text(area)


def listed_ranges(text: str) -> list[str]:
    """Bare ranges of a list such as ``'The Job'!$A$1:$F$40,'The Job'!$H$1``; none if it is none."""
    bare = "".join(piece for kind, piece in tokens(text) if kind != "sheet").replace("$", "")
    try:
        return [range_text(parse_range(piece)) for piece in bare.split(",")]
    except FileError:
        return []


def named_sheet(text: str) -> str:
    """Name of the sheet that a piece of a formula such as ``'It''s'!`` stands for."""
    return text[:-1].removeprefix("'").removesuffix("'").replace("''", "'")


def tokens(formula: str) -> Iterator[tuple[str, str]]:
    """Kind and text of each piece of a formula; the texts joined give the formula.

    Kinds: string, error, sheet (with its ``!``), function (without its bracket), columns, rows,
    cell, word (names, TRUE), table (a whole ``[...]``), number, other.
    """
    if "[" not in formula:
        for match in _TOKEN.finditer(formula):
            yield match.lastgroup or "other", match.group()
        return
    position, end = 0, len(formula)
    while position < end:
        if formula[position] == "[":
            close = _closing_bracket(formula, position)
            yield "table", formula[position:close]
            position = close
            continue
        piece = _TOKEN.match(formula, position)
        assert piece is not None  # the last alternative takes any character
        yield piece.lastgroup or "other", piece.group()
        position = piece.end()


def references(formula: str) -> list[tuple[str, str]]:
    """The pieces of :func:`tokens` that may refer to cells, and the colons between them."""
    if "[" in formula:
        return [piece for piece in tokens(formula) if piece[1] == ":" or piece[0] in _REFERRING]
    return [
        (match.lastgroup or "other", match.group())
        for match in _REFERENCE.finditer(formula)
        if match.lastgroup in _REFERRING or match.group() == ":"
    ]


def _closing_bracket(formula: str, start: int) -> int:
    depth, position = 0, start
    while position < len(formula):
        letter = formula[position]
        if letter == "'":  # escapes the next character inside a table reference
            position += 1
        elif letter == "[":
            depth += 1
        elif letter == "]":
            depth -= 1
            if depth == 0:
                return position + 1
        position += 1
    return len(formula)


@lru_cache(maxsize=4096)
def shift_formula(formula: str, rows: int, columns: int) -> str:
    """Formula as it reads when copied ``rows`` down and ``columns`` to the right.

    Relative references move, absolute ones stay; one that would leave the sheet is ``#REF!``.
    Texts, names, functions, sheet names and table references stay as they are.
    """
    if not rows and not columns:
        return formula
    copied = _movable(formula)
    moved = [
        _shift_cell(each, rows, columns)
        if isinstance(each, _Cell)
        else _shift_whole(each, rows, columns)
        for each in copied.moving
    ]
    pieces = list(copied.still)
    for at, which in enumerate(copied.which):
        pieces[at] += moved[which]
    return "".join(pieces)


class _Cell(NamedTuple):
    """A reference to a cell inside a formula; its dollar signs or nothing, and its numbers."""

    column_sign: str
    column: int
    row_sign: str
    row: int


class _Whole(NamedTuple):
    """A reference to whole columns or rows, as it is written."""

    kind: str
    text: str


class _Copied(NamedTuple):
    """A formula that is copied: the texts that stay, and the references that move, each once.

    Behind the first text stands the reference of the first number, and so on; the last text ends
    the formula.
    """

    still: tuple[str, ...]
    moving: tuple[_Cell | _Whole, ...]
    which: tuple[int, ...]


@lru_cache(maxsize=512)
def _movable(formula: str) -> _Copied:
    """What stays and what moves of a formula; kept, as it is mostly copied to many cells."""
    still: list[str] = []
    moving: list[_Cell | _Whole] = []
    which: list[int] = []
    known: dict[str, int | None] = {}
    end = 0
    for kind, start, after in _moving(formula):
        text = formula[start:after]
        if text not in known:
            piece = _cell(text) if kind == "cell" else _Whole(kind, text)
            known[text] = None if piece is None else len(moving)
            moving += [] if piece is None else [piece]
        number = known[text]
        if number is not None:
            still.append(formula[end:start])
            which.append(number)
            end = after
    return _Copied((*still, formula[end:]), tuple(moving), tuple(which))


def _moving(formula: str) -> Iterator[tuple[str, int, int]]:
    """Kind of each reference that may move, and where it begins and ends in a formula."""
    if "[" not in formula:
        for match in _REFERENCE.finditer(formula):
            if match.lastgroup in _MOVING:
                yield match.lastgroup or "", *match.span()
        return
    start = 0
    for kind, text in tokens(formula):
        if kind in _MOVING:
            yield kind, start, start + len(text)
        start += len(text)


def _cell(text: str) -> _Cell | None:
    """A reference to a cell; None where it looks like one and can't be: a name."""
    match = _PARTS.fullmatch(text)
    assert match is not None
    cell = _Cell(match[1], column_number(match[2]), match[3], int(match[4]))
    if cell.column > MAX_COLUMN or not 1 <= cell.row <= MAX_ROW:
        return None
    return cell


def _shift_cell(cell: _Cell, rows: int, columns: int) -> str:
    row = cell.row + (0 if cell.row_sign else rows)
    column = cell.column + (0 if cell.column_sign else columns)
    if not (1 <= row <= MAX_ROW and 1 <= column <= MAX_COLUMN):
        return LOST_REFERENCE
    return f"{cell.column_sign}{column_letters(column)}{cell.row_sign}{row}"


def _shift_whole(whole: _Whole, rows: int, columns: int) -> str:
    is_column = whole.kind == "columns"
    by, limit = (columns, MAX_COLUMN) if is_column else (rows, MAX_ROW)
    ends = [_shift_end(end, by, limit, is_column) for end in whole.text.split(":")]
    return LOST_REFERENCE if "" in ends else ":".join(ends)


def _shift_end(text: str, by: int, limit: int, is_column: bool) -> str:
    if text.startswith("$"):
        return text
    number = (column_number(text) if is_column else int(text)) + by
    if not 1 <= number <= limit:
        return ""
    return column_letters(number) if is_column else str(number)
