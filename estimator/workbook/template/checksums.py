"""How the sheet Solved From keeps many cells in one: what the engine writes, and its formulas.

Of numbers a weighted sum is kept, of texts all, behind each other. What the engine gives for cells
is what the formula gives for the same cells.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from estimator.workbook.package.references import sheet_prefix

CHECKSUM_DIGITS = 6
_STEP = 0.6180339887498949
_FILLED, _NUMBER = 1234.5671, 3571.0137
"""What a filled cell (times its row's weight) and a number add to a checksum."""
LONGEST = 32_767
"""Characters that a cell holds at most."""
_PART = 12
_A_NUMBER, _STROKE = "#", "."
Cell = float | str | bool | None


@lru_cache(maxsize=256)
def weights(count: int) -> tuple[float, ...]:
    """Weights of the rows of a column in its checksum, each another one between 1 and 2.

    Two edits of a column would have to differ by their ratio to cancel.
    """
    return tuple(round(1 + row * _STEP % 1, 6) for row in range(1, count + 1))


def checksum(cells: Sequence[Cell], *, texts: bool = False) -> float:
    """Checksum of a column: of its numbers, of which cells are filled, of how many are numbers.

    An edit that changes a number by less than half a millionth is not seen. In a column of
    ``texts`` numbers are added up as they are.
    """
    found = 0.0
    for weight, cell in zip(weights(len(cells)), cells, strict=True):
        if cell is None or cell == "":
            continue
        found += _FILLED * weight
        if isinstance(cell, float):
            found += cell * (1.0 if texts else weight) + _NUMBER
    return found


def checksum_formula(column: str, weights_of_rows: str, *, texts: bool = False) -> str:
    """The same of a column's cells as they are now, in a formula.

    One engine multiplies by the number of a text that reads like one, but does not add it up.
    """
    numbers = f"SUM({column})" if texts else f"SUMPRODUCT({column},{weights_of_rows})"
    filled, count = f'({column}<>"")', f"COUNT({column})"
    return f"{count}*{_NUMBER}+{numbers}+SUMPRODUCT({filled}*{weights_of_rows})*{_FILLED}"


def answers_checksum(columns: Sequence[Sequence[Cell]]) -> float:
    """Checksum of columns of numbers that a solver gave, each weighted by its place among them.

    A 0 is a blank. Whatever else than a number stands there counts besides.
    """
    found = 0.0
    for weight, column in zip(weights(len(columns)), columns, strict=True):
        for row_weight, cell in zip(weights(len(column)), column, strict=True):
            if isinstance(cell, float):
                found += weight * row_weight * cell
            elif cell not in (None, ""):
                found += 1
    return found


def answers_formula(
    columns: Sequence[str], weights_of_columns: Sequence[str], weights_of_rows: str
) -> str:
    """The same of their cells as they are now."""
    pairs = list(zip(columns, weights_of_columns, strict=True))
    # One engine is wrong about a COUNT behind a SUMPRODUCT.
    counts = [f"-COUNT({cells})" for cells in columns]
    sums = [
        f'{weight}*SUMPRODUCT({cells},{weights_of_rows})+SUMPRODUCT(({cells}<>"")*1)'
        for cells, weight in pairs
    ]
    return f"{''.join(counts)}+{'+'.join(sums)}"


def answers_room(sheet: str) -> int:
    """Characters that a column takes in that formula, at most."""
    return 3 * _range_room(sheet) + 60


def _cell_room(sheet: str) -> int:
    return len(sheet_prefix(sheet)) + len("AB123")


def _range_room(sheet: str) -> int:
    return len(sheet_prefix(sheet)) + len("$AB$123:$AB$234")


def joined(cells: Sequence[Cell]) -> str:
    """The texts of a column behind each other, a bar before each; the rest is left to a checksum.

    What no cell can hold is cut, and so stays another text than the formula gives.
    """
    return "".join(f"|{cell if isinstance(cell, str) else ''}" for cell in cells)[:LONGEST]


def given_texts(cells: Sequence[Cell]) -> str:
    """The same of a column that was given texts alone: anything else there is another text.

    A stroke for each cell that is not blank comes first, which tells of a number where none was.
    """
    texts = [_A_NUMBER if isinstance(cell, (float, bool)) else cell or "" for cell in cells]
    return (_STROKE * sum(text != "" for text in texts) + joined(texts))[:LONGEST]


def given_formula(cells: Sequence[str], column: str, then: str) -> str:
    """Whether the cells of such a column hold the texts that it was given, and nothing else."""
    # One engine counts the text "6" as a number.
    strokes = f'REPT("{_STROKE}",SUMPRODUCT(({column}<>"")*1))'
    return f"EXACT({strokes}&{joined_formula(cells)},{then})"


def joined_formula(cells: Sequence[str]) -> str:
    """The same of cells as they are now."""
    return _in_parts([f'"|"&T({cell})' for cell in cells], "&")


def joined_room(sheet: str) -> int:
    """Characters that a cell takes in that formula, at most."""
    return _cell_room(sheet) + len('"|"&T()&')


def sum_of_singles(cells: Sequence[Cell]) -> float:
    """Weighted sum of the numbers among single values, and of how many there are."""
    pairs = zip(weights(len(cells)), cells, strict=True)
    return sum((weight * cell + _NUMBER for weight, cell in pairs if isinstance(cell, float)), 0.0)


def sum_formula(cells: Sequence[str], weights_of_cells: Sequence[str]) -> str:
    """The same of cells as they are now, wherever they stand."""
    pairs = zip(cells, weights_of_cells, strict=True)
    numbers = _in_parts([f"N({cell})*{weight}" for cell, weight in pairs], "+")
    return f"COUNT({','.join(cells)})*{_NUMBER}+{numbers}"


def number_room(sheet: str) -> int:
    """Characters that a cell takes in that formula, at most."""
    return 2 * _cell_room(sheet) + len(",N()*$Y$123+")


def texts_of_singles(cells: Sequence[Cell]) -> str:
    """The texts of single values; a number as it is written."""
    return joined([f"{cell:.15g}" if isinstance(cell, float) else cell for cell in cells])


def texts_formula(cells: Sequence[tuple[str, bool]]) -> str:
    """The same of cells as they are now; of each whether a formula belongs there, not a blank."""
    texts = [
        f'"|"&IF(ISBLANK({cell}),"?",{cell})' if computed else f'"|"&{cell}'
        for cell, computed in cells
    ]
    return _in_parts(texts, "&")


def text_room(sheet: str) -> int:
    """Characters that a cell takes in that formula, at most."""
    return 2 * _cell_room(sheet) + len('"|"&IF(ISBLANK(),"?",)&')


def amiss_room(sheet: str) -> int:
    """Characters that a range takes in the formula of what is typed and no number, at most."""
    return 3 * _range_room(sheet) + 65


def typed_room(sheet: str) -> int:
    """Characters that a range takes in the formula of what is typed over, at most."""
    return 2 * _range_room(sheet) + 45


def _in_parts(terms: Sequence[str], sign: str) -> str:
    """Terms put together in parts, as some engines take only so many in a row."""
    parts = [sign.join(terms[at : at + _PART]) for at in range(0, len(terms), _PART)]
    return sign.join(f"({part})" for part in parts)
