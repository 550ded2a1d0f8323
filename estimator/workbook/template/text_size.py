"""How much room a text takes: widths of letters, lines of wrapped texts, heights of rows.

Widths are in characters of a column, that is in digits of the workbook's own font at 10 points.
A spreadsheet shows a text that is too long for its cell cut off, so that rooms are reckoned here
with some to spare: screens, printers and programs differ by a few percent.
"""

from __future__ import annotations

from functools import cache, lru_cache

BASE_SIZE = 10.0
"""Size in points of the font that column widths are counted in."""
ROW_PT, LARGE_ROW_PT = 15.0, 14.2
"""Heights of rows of one line, with some air; less of it where texts are large."""
_LINE = 1.28
"""Height of a line in sizes of its font."""
_ROW_AIR_PT = 2.5
SPARE = 1.06
_BOLD = 1.07
_CELL_AIR = 0.8
"""Characters of a column that its padding takes."""
_DIGIT = 556

_WIDTHS = (
    (" !/\\:;,.[]fftI|", 278),
    ("ijl'", 222),
    ("{}", 334),
    ('"', 355),
    ("()-r`", 333),
    ("*", 389),
    ("cksvxyzJ", 500),
    ("+=<>~", 584),
    ("ABEKPSVXY&", 667),
    ("FTZ", 611),
    ("CDHNRUw", 722),
    ("GOQ", 778),
    ("Mm", 833),
    ("%", 889),
    ("W", 944),
    ("@", 1015),
)
_FOREIGN = 778
"""Thousandths of the size that a letter outside of the plain ones is taken to have."""


class _Widths(dict[str, int]):
    """Thousandths of the size that letters take; Arial's and Liberation Sans' own widths."""

    def __missing__(self, letter: str) -> int:
        return _FOREIGN


@cache
def _widths() -> _Widths:
    found = {letter: width for letters, width in _WIDTHS for letter in letters}
    return _Widths({chr(code): found.get(chr(code), _DIGIT) for code in range(32, 127)})


@lru_cache(maxsize=8192)
def _units(text: str) -> int:
    """Thousandths of its size that one line of text takes."""
    return sum(map(_widths().__getitem__, text))


def text_width(text: str, size: float = BASE_SIZE, *, bold: bool = False) -> float:
    """Width of one line of text, in characters of a column."""
    return _width(_units(text), size, bold=bold)


def _width(units: int, size: float, *, bold: bool) -> float:
    return units / _DIGIT * size / BASE_SIZE * (_BOLD if bold else 1.0) * SPARE


def column_room(width: float) -> float:
    """Characters of text that a column of a width has room for."""
    return max(width - _CELL_AIR, 1.0)


def wrapped(text: str, width: float, size: float = BASE_SIZE, *, bold: bool = False) -> list[str]:
    """The lines into which a text falls in a room of a width, in characters of a column."""
    lines: list[str] = []
    space = _units(" ")
    for paragraph in text.split("\n"):
        line, taken = "", 0
        for word in paragraph.split():
            units = _units(word)
            if line and _width(taken + space + units, size, bold=bold) > width:
                lines.append(line)
                line, taken = word, units
            elif line:
                line, taken = f"{line} {word}", taken + space + units
            else:
                line, taken = word, units
        lines.append(line)
    return lines


def line_count(text: str, width: float, size: float = BASE_SIZE, *, bold: bool = False) -> int:
    """Lines that a wrapped text takes in a column of a width, words too long for it broken."""
    room = column_room(width)
    count = 0
    for line in wrapped(text, room, size, bold=bold):
        wide = text_width(line, size, bold=bold)
        count += max(1, -int(-wide // room)) if wide > room else 1
    return count


def row_height(lines: float, size: float = BASE_SIZE) -> float:
    """Height in points of a row that shows this many lines of a size."""
    return round(lines * size * _LINE + _ROW_AIR_PT, 1)
