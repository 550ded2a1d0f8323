"""The sheet Made From: what a workbook was made with, so that it can be told from what people did.

It holds, for every defined name, the cells and the formulas that the template gave them, the
formulas of cells without a name, and a short checksum of every other text. An older workbook thus
tells by itself which formulas and texts are a person's own, with the template that it came from
long gone.

Nobody reads these lines one by one, so that many of them stand in one cell. A record of which a
cell was edited, cut off, moved or lost tells nothing: a checksum of all its cells stands beside.
"""

from __future__ import annotations

import hashlib
import re
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from estimator.rows import MARKS_SHEET
from estimator.workbook.package.a1 import Range, shift_formula, tokens
from estimator.workbook.template.lists import LISTS_SHEET
from estimator.workbook.template.names import OPTION_KEY

MADE_SHEET = "Made From"
MADE_LINES, MADE_CHECK = "made_lines", "made_check"
"""Defined names of the cells that hold the lines, and of the one that holds their checksum."""
OLDER_COLUMNS = ("made_name", "made_cells", "made_text")
"""Defined names of the columns that held them in workbooks of versions 2 to 5."""
TEXTS, RULES, PRINTS, FORMULAS = "texts of", "rules of", "print area of", "formulas of"
"""What stands in the place of the name in lines on what has no name: a sheet's other texts and
formulas, its rules and print area."""
FORMULA = "f"
"""Stands for a formula where a text has its checksum."""
_CONSTANT = ("least_", "most_", "choices_")
MOST_ROWS = 30_000
"""A damaged record can ask for no longer a run than this."""

_BETWEEN = " : "
"""Stands between the three texts of a line; neither a name nor a sheet can hold it."""
_LINE_END = "¶"
"""Stands between lines. A line feed would make of each cell a text of hundreds of paragraphs, which
LibreOffice lays out when it opens the workbook."""
_LINE_ENDS = re.compile(f"[{_LINE_END}\n]")
"""With the line feed of workbooks made before."""
_MOST_CHARACTERS = 24_000
"""What one cell is filled with; a single line may be longer, up to the format's 32,767."""

Spot = tuple[int, int]
Line = tuple[str, str, str]
"""A name, its cells, and the formula of the first of them."""


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """What a workbook was made with.

    Args:
        ranges: Sheet and cells of every defined name.
        formulas: By name, runs of formulas: the cell where a run begins and its formula there.
        texts: By sheet, checksum of every other constant, or :data:`FORMULA`, by its cell.
        nameless: By sheet, runs down a column of other formulas: the cells and the first formula.
        rules: By sheet, checksums of its conditional formats and of its rules on entries.
        prints: By sheet, the ranges of its print area.
    """

    ranges: Mapping[str, tuple[str, Range]] = field(default_factory=dict)
    formulas: Mapping[str, tuple[tuple[Spot, str], ...]] = field(default_factory=dict)
    texts: Mapping[str, Mapping[Spot, str]] = field(default_factory=dict)
    nameless: Mapping[str, tuple[tuple[Range, str], ...]] = field(default_factory=dict)
    rules: Mapping[str, frozenset[str]] = field(default_factory=dict)
    prints: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def formula(self, name: str, row: int, column: int) -> str | None:
        """Formula that the cell of a name was made with, None if it had none."""
        found: tuple[Spot, str] | None = None
        for run in self.formulas.get(name, ()):
            if run[0] > (row, column):
                break
            found = run
        if found is None:
            return None
        (first_row, first_column), text = found
        return shift_formula(text, row - first_row, column - first_column)

    def nameless_formulas(self, sheet: str) -> dict[Spot, str]:
        """Formulas that the cells without a name of a sheet were made with."""
        return {
            (row, area.column1): shift_formula(text, row - area.row1, 0)
            for area, text in self.nameless.get(sheet, ())
            for row in range(area.row1, min(area.row2, area.row1 + MOST_ROWS) + 1)
        }


def packed(lines: Iterable[Line]) -> Iterator[str]:
    """Texts of cells that hold the lines, in their order."""
    texts: list[str] = []
    size = 0
    for line in lines:
        text = _BETWEEN.join(line)
        if texts and size + len(text) >= _MOST_CHARACTERS:
            yield _LINE_END.join(texts)
            texts, size = [], 0
        texts.append(text)
        size += len(text) + 1
    if texts:
        yield _LINE_END.join(texts)


def unpacked(cells: Iterable[str]) -> Iterator[Line]:
    """The lines that cells hold.

    Raises:
        ValueError: If a line is none.
    """
    for cell in cells:
        for line in _LINE_ENDS.split(cell):
            name, place, text = line.split(_BETWEEN, 2)
            yield name, place, text


def seal(cells: Iterable[str]) -> str:
    """Checksum of the whole record, sixteen letters."""
    return hashlib.sha256("\0".join(cells).encode()).hexdigest()[:16]


def is_constant(name: str, sheet: str) -> bool:
    """Whether the cells of a name hold texts and limits of the template, which people may change.

    The sheet is that of the template; a quantity of another sheet may begin with the same word.
    """
    return name == OPTION_KEY or (sheet == LISTS_SHEET and name.startswith(_CONSTANT))


def is_working(name: str, sheet: str) -> bool:
    """Whether the cells of a name are the workbook's own workings, and nobody types into them.

    The sheet is that of the template; a quantity of another sheet may begin with the same word.
    """
    workings = {MARKS_SHEET: ("snapshot_", "level_", "solved_checksum"), LISTS_SHEET: ("offers_",)}
    return sheet == MADE_SHEET or name.startswith(workings.get(sheet, ()))


def checksum(value: object) -> str:
    """Four letters that tell a changed text from an unchanged one."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        value = f"{value:.12g}"
    return f"{zlib.crc32(str(value).encode()) & 0xFFFF:04x}"


def rule_checksum(kind: str, formulas: Iterable[str]) -> str:
    """Checksum of a conditional format, whatever cells it applies to and however it is spelt."""
    plain = ["".join(t.upper() for _, t in tokens(f) if t.strip()) for f in formulas]
    if kind == "expression" and plain in _ALWAYS:
        plain = ["TRUE"]
    return checksum("|".join((kind, *plain)))


_ALWAYS = (["1"], ["TRUE()"])
"""Other spellings of a look that always holds: LibreOffice saves 1 where rows were deleted."""


def entry_checksum(kind: str | None, operator: str | None, *formulas: str | None) -> str:
    """Checksum of a rule on entries, whatever cells it applies to and however it is spelt.

    Formulas that say nothing, which some programs save as 0, do not count.
    """
    kind, operator = kind or "none", operator or "between"
    telling = 0 if kind == "none" else 1
    if kind not in ("none", "list", "custom") and operator in ("between", "notBetween"):
        telling = 2
    texts = [each or "" for each in formulas[:telling]] + [""] * (2 - telling)
    return rule_checksum(f"entry {kind} {operator}", texts)
