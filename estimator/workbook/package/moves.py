"""Where sheets, rows and columns stand now, told by defined names that moved with their cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from estimator.workbook.package.a1 import Range, column_letters, column_number, named_sheet, tokens
from estimator.workbook.package.references import sheet_prefix
from estimator.workbook.package.same_formula import UNKNOWN, Pieces


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
            f"{first}{column_letters(column) if column else UNKNOWN}"
            f"{second}{row if row else UNKNOWN}"
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
