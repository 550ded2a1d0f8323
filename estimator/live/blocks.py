"""The refill of an open book: read whole sheets, solve, write few rectangles, or nothing at all.

What an adapter must do is :class:`OpenBook`; the refill itself is the one of the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

from estimator.engine import Model
from estimator.workbook.package.a1 import Range, address
from estimator.workbook.package.cells import Formula
from estimator.workbook.refill.live_blocks import OK, status_cells
from estimator.workbook.refill.port import Content, Edit, Rows
from estimator.workbook.refill.refill import Refill, Value, plan_refill

BLANK = Content(None)
ROUNDS = 4
"""Refills in a row at most, while a person's own formulas change with what is solved."""
Cell = Value | Formula


@dataclass(frozen=True, slots=True)
class SheetContent:
    """What the used part of a sheet holds; ``row`` and ``column`` are its first, from 1."""

    row: int
    column: int
    rows: Rows

    def cut(self, area: Range) -> Rows:
        """Contents of a range; blank where the sheet holds nothing."""
        return tuple(
            tuple(self.cell(row, column) for column in range(area.column1, area.column2 + 1))
            for row in range(area.row1, area.row2 + 1)
        )

    def cell(self, row: int, column: int) -> Content:
        """What one cell holds."""
        down, right = row - self.row, column - self.column
        if 0 <= down < len(self.rows) and 0 <= right < len(self.rows[down]):
            return self.rows[down][right]
        return BLANK


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle to write: sheet, first row and column from 1, its cells."""

    sheet: str
    row: int
    column: int
    rows: tuple[tuple[Cell, ...], ...]

    @property
    def size(self) -> int:
        """Number of cells."""
        return len(self.rows) * len(self.rows[0])

    @property
    def place(self) -> str:
        """Where it stands, for messages."""
        return f"{self.sheet}!{address(self.row, self.column)}"


@dataclass(frozen=True, slots=True)
class Look:
    """Cells one below the other, blank until now, that look as another one of their column.

    Args:
        sheet, column: Where they stand.
        first, last: Their rows.
        like: Row of the other one.
    """

    sheet: str
    column: int
    first: int
    last: int
    like: int


class OpenBook(Protocol):
    """An open workbook: the port of a refill, and what it needs to be written to."""

    @property
    def label(self) -> str:
        """Name of the workbook for messages."""

    def ranges(self) -> Mapping[str, tuple[str, Range]]:
        """Sheet and cells of every defined name that stands for one range."""

    def read(self, sheet: str, area: Range) -> Rows:
        """Contents of a range, as they were when the sheet was first read."""

    def write(self, blocks: tuple[Block, ...], looks: tuple[Look, ...] = ()) -> None:
        """Write all blocks, then let the program calculate; cells with a look keep their own.

        Raises:
            FileError: If one can't be written; those before it hold again what they held.
        """


@dataclass(frozen=True, slots=True)
class LiveRefill:
    """What became of an open book: what was solved, the rectangles written, notes for people."""

    label: str
    refill: Refill
    blocks: tuple[Block, ...]
    notes: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """One line for a person."""
        cells = sum(block.size for block in self.blocks)
        if not cells:
            return f"{self.label} was up to date."
        return f"Refilled {self.label}: {cells} cells in {len(self.blocks)} blocks."


def refill_open(book: OpenBook, model: Model) -> LiveRefill:
    """Solve an open book again and write its solved cells; everything else it calculates itself.

    Everything is worked out before the first cell is written. Where a person's own formulas stand
    over computed cells, the program works them out anew after that, so that it is done again until
    nothing changes, a few times at most.

    Raises:
        EstimatorError: One sentence on what is wrong, where, and what to do. The book is then as
            it was.
    """
    written: list[Block] = []
    for _ in range(ROUNDS):
        refill = plan_refill(book, model)
        cells: dict[Edit, Cell] = dict(refill.writes)
        cells.update({edit: Formula(text) for edit, text in refill.restored.items()})
        blocks = tuple(b for b in rectangles(cells) if not _holds(book, b))
        if blocks:
            book.write(blocks, tuple(new_looks(book, refill)))
            written += blocks
        if not (blocks and refill.typed_over):
            break
    return LiveRefill(book.label, refill, tuple(written), (*refill.notes, *_unanswered(book)))


def new_looks(book: OpenBook, refill: Refill) -> Iterator[Look]:
    """Looks of cells of solved lists that are filled and were blank."""
    for sheet, area in refill.alike:
        before = book.read(sheet, area)
        for column in range(area.column1, area.column2 + 1):
            start = 0
            for row in range(area.row1 + 1, area.row2 + 2):
                inside = row <= area.row2
                filled = inside and refill.writes.get((sheet, row, column)) is not None
                fresh = filled and before[row - area.row1][column - area.column1].blank
                if fresh and not start:
                    start = row
                elif start and not fresh:
                    yield Look(sheet, column, start, row - 1, area.row1)
                    start = 0


def _unanswered(book: OpenBook) -> Iterable[str]:
    """What the live blocks say that give no answer."""
    found = dict[str, None]()
    for sheet, row, column in status_cells(book.ranges()):
        says = book.read(sheet, Range(row, column, row, column))[0][0].value
        if says != OK:
            found[f"Live blocks are not refilled, and one gives no answer: {says}"] = None
    return found


def rectangles(cells: Mapping[Edit, Cell]) -> tuple[Block, ...]:
    """Cells as rectangles, as few as come of joining neighbours along rows, then equal runs.

    No cell is in a rectangle that was not given, and none is in two. Formulas stand apart.
    """
    runs: dict[tuple[str, int, int, bool], list[tuple[int, tuple[Cell, ...]]]] = {}
    for sheet, row, column, values, formula in _runs(cells):
        runs.setdefault((sheet, column, len(values), formula), []).append((row, values))
    found = []
    for (sheet, column, _, _), rows in runs.items():
        start = 0
        for at in range(1, len(rows) + 1):
            if at == len(rows) or rows[at][0] != rows[at - 1][0] + 1:
                part = tuple(values for _, values in rows[start:at])
                found.append(Block(sheet, rows[start][0], column, part))
                start = at
    return tuple(sorted(found, key=lambda b: (b.sheet, b.row, b.column)))


def _runs(
    cells: Mapping[Edit, Cell],
) -> Iterable[tuple[str, int, int, tuple[Cell, ...], bool]]:
    """Neighbours along a row, formulas apart from values."""
    run: list[Cell] = []
    first: Edit = ("", 0, 0)
    for place in sorted(cells):
        value = cells[place]
        beside = place == (first[0], first[1], first[2] + len(run))
        if run and not (beside and isinstance(value, Formula) == isinstance(run[0], Formula)):
            yield *first, tuple(run), isinstance(run[0], Formula)
            run = []
        if not run:
            first = place
        run.append(value)
    if run:
        yield *first, tuple(run), isinstance(run[0], Formula)


def _holds(book: OpenBook, block: Block) -> bool:
    """Whether the cells hold these values already."""
    last_row, last_column = block.row + len(block.rows), block.column + len(block.rows[0])
    area = Range(block.row, block.column, last_row - 1, last_column - 1)
    before = book.read(block.sheet, area)
    return all(
        was.formula is None and (was.value or None) == (now or None)
        if not isinstance(now, float)
        else was.formula is None and was.value == now
        for row_before, new in zip(before, block.rows, strict=True)
        for was, now in zip(row_before, new, strict=True)
    )
