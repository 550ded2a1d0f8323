"""Where sheets, rows and columns stand now, told by defined names that moved with their cells."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from estimator.workbook.package.a1 import (
    MAX_COLUMN,
    MAX_ROW,
    Range,
    column_letters,
    column_number,
    named_sheet,
    tokens,
)
from estimator.workbook.package.references import sheet_prefix
from estimator.workbook.package.same_formula import UNKNOWN, Pieces


@dataclass(frozen=True, slots=True)
class Block:
    """Cells that stand together, before and now.

    Args:
        area: The cells before.
        title: The sheet that they stand on now.
        now: The cells now.
        lines: By row counted from the block's first, that row now; one that is left out is gone.
            None where every row kept its place in the block.
    """

    area: Range
    title: str
    now: Range
    lines: Mapping[int, int] | None = None

    def row(self, row: int) -> int | None:
        """Row now of a row before."""
        at = row - self.area.row1
        there = at if self.lines is None else self.lines.get(at)
        return None if there is None else self.now.row1 + there

    def column(self, column: int) -> int:
        """Column now of a column before."""
        return self.now.column1 + column - self.area.column1

    def rows(self, first: int, last: int) -> tuple[int, int] | None:
        """Rows now of a range inside the block; one that reached its end reaches it again."""
        present = [there for row in range(first, last + 1) if (there := self.row(row)) is not None]
        low = self.now.row1 if first == self.area.row1 else min(present, default=0)
        high = self.now.row2 if last == self.area.row2 else max(present, default=0)
        return (low, high) if 0 < low <= high else None


@dataclass(frozen=True, slots=True)
class Moves:
    """Where sheets, rows and columns stand now.

    Args:
        sheets: By title before, the title now.
        rows, columns: By title before, numbers now by those before; None where not known.
        none: Whether nothing moved.
        blocks: By title before, cells of which more is known than of their sheet's rows.
    """

    sheets: Mapping[str, str]
    rows: Mapping[str, Mapping[int, int | None]]
    columns: Mapping[str, Mapping[int, int | None]]
    none: bool
    blocks: Mapping[str, tuple[Block, ...]] = field(default_factory=dict)

    def pieces(self, text: str, sheet: str) -> Pieces:
        """A formula as it reads now; ``?`` stands for what can't be known."""
        listed = list(tokens(text))
        if self.none:
            return listed
        owner, at = sheet, 0
        found: Pieces = []
        while at < len(listed):
            kind, piece = listed[at]
            at += 1
            if kind == "sheet":
                owner = named_sheet(piece)
                found.append((kind, sheet_prefix(self.sheets.get(owner, owner))))
            elif kind == "cell":
                wide = [k for k, _ in listed[at : at + 2]] == ["other", "cell"]
                wide = wide and listed[at][1] == ":"
                corners = (piece, listed[at + 1][1]) if wide else (piece,)
                at += 2 * wide
                self._put(found, corners, owner, sheet)
            else:
                owner = owner if piece == ":" else sheet
                found.append((kind, piece))
        return found

    def _put(self, found: Pieces, corners: tuple[str, ...], owner: str, sheet: str) -> None:
        """Add a reference to a cell or, of two corners, a range."""
        inside = self._inside(corners, owner)
        texts = inside[1] if inside else tuple(self._cell(each, owner) for each in corners)
        title = inside[0] if inside else self.sheets.get(owner, owner)
        if found and found[-1][0] == "sheet":
            found[-1] = ("sheet", sheet_prefix(title))
        elif title != self.sheets.get(sheet, sheet):
            found.append(("sheet", sheet_prefix(title)))
        found.append(("cell", texts[0]))
        found += [each for text in texts[1:] for each in (("other", ":"), ("cell", text))]

    def _inside(self, corners: tuple[str, ...], owner: str) -> tuple[str, tuple[str, ...]] | None:
        """Title and corners now of a reference that lies within a block."""
        numbers = [_numbers(each) for each in corners]
        block = self._block(owner, *numbers[0])
        if block is None or not block.area.holds(*numbers[-1]):
            return None
        first, last = numbers[0][0], numbers[-1][0]
        if len(corners) == 1:
            rows: tuple[int | None, ...] = (block.row(first),)
        else:
            low, high = block.rows(min(first, last), max(first, last)) or (None, None)
            rows = (low, high) if first <= last else (high, low)
        texts = tuple(
            _written(text, row, block.column(column))
            for text, row, (_, column) in zip(corners, rows, numbers, strict=True)
        )
        return block.title, texts

    def _block(self, sheet: str, row: int, column: int) -> Block | None:
        return next((b for b in self.blocks.get(sheet, ()) if b.area.holds(row, column)), None)

    def spot(self, sheet: str, row: int, column: int) -> tuple[int, int] | None:
        """Where a cell stands now; None where that can't be known."""
        if self.none:
            return row, column
        block = self._block(sheet, row, column)
        if block is not None:
            there = block.row(row)
            return None if there is None else (there, block.column(column))
        place = self._place(sheet, row, column)
        return None if place[0] is None or place[1] is None else (place[0], place[1])

    def _cell(self, text: str, sheet: str) -> str:
        there = _numbers(text)
        row, column = self._place(sheet, *there)
        block = self._block(sheet, *there)
        if block is not None:
            row, column = block.row(there[0]), block.column(there[1])
        return _written(text, row, column)

    def _place(self, sheet: str, row: int, column: int) -> tuple[int | None, int | None]:
        """Row and column now of a cell of no block; what reached the end of a sheet still does."""
        rows, columns = self.rows.get(sheet, {}), self.columns.get(sheet, {})
        return (
            MAX_ROW if row == MAX_ROW else _moved(rows, row),
            MAX_COLUMN if column == MAX_COLUMN else _moved(columns, column),
        )


def _numbers(text: str) -> tuple[int, int]:
    """Row and column of a reference such as ``$B3``."""
    plain = text.replace("$", "")
    letters = plain.rstrip("0123456789")
    return int(plain[len(letters) :]), column_number(letters)


def _written(like: str, row: int | None, column: int | None) -> str:
    """A reference with the dollar signs of another; ``?`` where a number is not known."""
    first = "$" if like.startswith("$") else ""
    second = "$" if "$" in like[1:] else ""
    return f"{first}{column_letters(column) if column else UNKNOWN}{second}{row or UNKNOWN}"


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


def moves_between(
    before: Mapping[str, tuple[str, Range]], ranges: Mapping[str, tuple[str, Range]]
) -> Moves:
    """How named ranges stand now, against where they stood before."""
    sheets = titles_now(before, ranges)
    rows: dict[str, dict[int, int | None]] = {}
    columns: dict[str, dict[int, int | None]] = {}
    none = True
    for name, (sheet, area) in before.items():
        now = ranges.get(name)
        if now is None:
            continue
        none = none and now == (sheet, area)
        if now[0] != sheets[sheet]:
            continue
        _pair(rows.setdefault(sheet, {}), area.row1, area.row2, now[1].row1, now[1].row2)
        _pair(
            columns.setdefault(sheet, {}),
            area.column1,
            area.column2,
            now[1].column1,
            now[1].column2,
        )
    return Moves(sheets, rows, columns, none)


def titles_now(
    before: Mapping[str, tuple[str, Range]], ranges: Mapping[str, tuple[str, Range]]
) -> dict[str, str]:
    """By sheet before, the sheet on which its names stand now.

    That is the sheet of the same title where any of them does, or the one with most of them.
    """
    votes: dict[str, Counter[str]] = {}
    for name, (sheet, _) in before.items():
        if name in ranges:
            votes.setdefault(sheet, Counter())[ranges[name][0]] += 1
    return {
        sheet: sheet if counter[sheet] else counter.most_common(1)[0][0]
        for sheet, counter in votes.items()
    }


def _pair(known: dict[int, int | None], first: int, last: int, now: int, end: int) -> None:
    inner = range(first, last + 1) if last - first == end - now else (first, last)
    for number in inner:
        moved = end if number == last else now + number - first
        if known.setdefault(number, moved) != moved:
            known[number] = None
