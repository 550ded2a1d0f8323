"""A book open in Excel, through xlwings: the port of a refill (Windows and macOS).

Sheets are read whole and rectangles written whole, for every call crosses to another process. What
the screen shows and what is selected stays: nothing is activated, and the program's settings come
back as they were. Only ``Book``, ``Sheet``, ``Range``, ``Names`` and ``App`` of xlwings are used.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import Any

from estimator.errors import EstimatorError, FileError
from estimator.inputs import DATE_ORIGIN
from estimator.live.blocks import BLANK, Block, Cell, LiveRefill, Look, SheetContent, refill_open
from estimator.workbook.package.a1 import Range, parse_range, split_target
from estimator.workbook.package.cells import Formula
from estimator.workbook.refill.port import Content, Rows

TEXT_FORMAT = "@"
PLAIN_FORMAT = "General"
ERRORS = frozenset({"TRUE", "FALSE"})
GONE_CURE = (
    "Finish typing in the cell, close any dialog, make sure the workbook is still open, then try"
    " again."
)


class ExcelBook:
    """An open book. Make a new one for every refill, as it keeps what it has read."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._sheets: dict[str, SheetContent] = {}
        self._ranges: dict[str, tuple[str, Range]] | None = None
        with self._reach("open book"):
            self._label = str(book.name)

    @property
    def label(self) -> str:
        """Name of the workbook for messages."""
        return self._label

    def ranges(self) -> Mapping[str, tuple[str, Range]]:
        """Sheet and cells of every defined name that stands for one range."""
        if self._ranges is None:
            with self._reach(self._label):
                targets = {str(n.name): str(n.refers_to) for n in self._book.names}
            found = {name: split_target(text) for name, text in targets.items() if "!" not in name}
            self._ranges = {
                name: (target[0], parse_range(target[1]))
                for name, target in found.items()
                if target
            }
        return self._ranges

    def read(self, sheet: str, area: Range) -> Rows:
        """Contents of a range, as they were when the sheet was first read."""
        if sheet not in self._sheets:
            with self._reach(f"{self._label}, {sheet}"):
                self._sheets[sheet] = self._read_sheet(sheet)
        return self._sheets[sheet].cut(area)

    def _read_sheet(self, sheet: str) -> SheetContent:
        used = self._book.sheets[sheet].used_range
        values = used.options(ndim=2, err_to_str=True).value
        texts = _rows(used.formula, len(values), len(values[0]))
        return SheetContent(
            used.row,
            used.column,
            tuple(
                tuple(_content(v, f) for v, f in zip(row, formulas, strict=True))
                for row, formulas in zip(values, texts, strict=True)
            ),
        )

    def write(self, blocks: tuple[Block, ...], looks: tuple[Look, ...] = ()) -> None:
        """Write all blocks, each in one call, then let the program calculate.

        Raises:
            FileError: If one can't be written; those before it hold again what they held.
        """
        before = tuple(self._as_it_is(block) for block in blocks)
        self._sheets.clear()
        with self._reach(self._label), self._quiet():
            for at, block in enumerate(blocks):
                try:
                    self._put(block)
                except Exception as error:
                    self._put_back(before[: at + 1])
                    raise FileError(
                        f"the cells from {block.place} can't be written{_reason(error)}.",
                        where=self._label,
                        cure=f"If the sheet is protected, unprotect it. {GONE_CURE}",
                    ) from error
            for look in looks:
                self._dress(look)

    def _dress(self, look: Look) -> None:
        """Give cells without a number format that of another cell of their column."""
        sheet = self._book.sheets[look.sheet]
        pattern = sheet.range((look.like, look.column)).number_format
        cells = sheet.range((look.first, look.column), (look.last, look.column))
        if pattern == PLAIN_FORMAT or cells.number_format == pattern:
            return
        rows = range(look.first, look.last + 1)
        each_row = (sheet.range((row, look.column)) for row in rows)
        for each in (cells,) if cells.number_format else each_row:
            if each.number_format == PLAIN_FORMAT:
                each.number_format = pattern

    def _put_back(self, before: Sequence[Block]) -> None:
        """Give back what blocks held, the last of which perhaps never changed."""
        for at, block in enumerate(before):
            try:
                if at < len(before) - 1 or self._as_it_is(block) != block:
                    self._put(block)
            except Exception as error:
                raise FileError(
                    f"writing failed, and what stood at {block.place} before can't be put back"
                    f"{_reason(error)}.",
                    where=self._label,
                    cure="Close the workbook without saving and open it again.",
                ) from error

    def _as_it_is(self, block: Block) -> Block:
        """The block as it is now."""
        area = Range(
            block.row,
            block.column,
            block.row + len(block.rows) - 1,
            block.column + len(block.rows[0]) - 1,
        )
        rows = tuple(tuple(_back(c) for c in row) for row in self.read(block.sheet, area))
        return Block(block.sheet, block.row, block.column, rows)

    def _put(self, block: Block) -> None:
        last = (block.row + len(block.rows) - 1, block.column + len(block.rows[0]) - 1)
        cells = self._book.sheets[block.sheet].range((block.row, block.column), last)
        texts = any(isinstance(c, str) and _coerced(c) for row in block.rows for c in row)
        guard = texts and cells.number_format != TEXT_FORMAT
        cells.value = [[_written(c, guard) for c in row] for row in block.rows]

    @contextmanager
    def _quiet(self) -> Iterator[None]:
        """Screen, alerts and calculation held, and given back as they were."""
        app = self._book.app
        before = (app.screen_updating, app.display_alerts, app.calculation)
        try:
            app.screen_updating = False
            app.display_alerts = False
            app.calculation = "manual"
            yield
        finally:
            app.calculation = before[2]
            app.display_alerts, app.screen_updating = before[1], before[0]
        app.calculate()

    @contextmanager
    def _reach(self, where: str) -> Iterator[None]:
        """Errors of the connection, whose classes differ by system, as one sentence."""
        try:
            yield
        except EstimatorError:
            raise
        except Exception as error:
            raise FileError(
                f"the open workbook can't be reached{_reason(error)}.",
                where=where,
                cure=GONE_CURE,
            ) from error


def _reason(error: Exception) -> str:
    """What Excel itself says of an error, in brackets; nothing where only the connection speaks."""
    if isinstance(error, EstimatorError):
        return f" ({str(error).rstrip('.')})"
    told = getattr(error, "excepinfo", None)  # of COM: number, program, sentence, ...
    text = told[2] if isinstance(told, tuple) and len(told) > 2 else None
    return f" ({text.strip().rstrip('.')})" if isinstance(text, str) and text.strip() else ""


def _rows(value: Any, height: int, width: int) -> Sequence[Sequence[Any]]:
    """Formulas of a range as rows; one cell, row or column may come flat."""
    if not isinstance(value, (list, tuple)):
        return ((value,),)
    if isinstance(value[0], (list, tuple)):
        return value
    return (value,) if height == 1 else tuple((v,) for v in value) if width == 1 else (value,)


def _content(value: Any, formula: Any) -> Content:
    text = None
    if isinstance(formula, str) and formula.startswith("=") and formula != value:
        text = formula[1:]
    if value is None:
        return Content(None, text) if text else BLANK
    if isinstance(value, dt.datetime):
        days = (
            value.replace(tzinfo=None) - dt.datetime.combine(DATE_ORIGIN, dt.time())
        ) / dt.timedelta(1)
        return Content(days, text, date=True)
    if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool):
        return Content(float(value), text)
    return Content(value, text)


def _back(content: Content) -> Cell:
    """What to write so that a cell holds again what it held."""
    return Formula(content.formula) if content.formula is not None else content.value


def _coerced(text: str) -> bool:
    """Whether the program might read a written text as a number, a date or a formula."""
    return any(c.isdigit() for c in text) or text[:1] in tuple("=+-@'") or text.upper() in ERRORS


def _written(cell: Cell, guard: bool) -> Any:
    if isinstance(cell, Formula):
        return "=" + cell.text.removeprefix("=")
    if isinstance(cell, str) and guard and _coerced(cell):
        return "'" + cell
    return cell


def refill_book(book: Any) -> LiveRefill:
    """Refill a book that xlwings has open.

    Raises:
        EstimatorError: What is wrong; the book is then as it was.
    """
    from estimator.model import build_model

    return refill_open(ExcelBook(book), build_model())


def refill_caller() -> None:
    """What the button calls: refill the workbook it stands in; an error is shown in a box."""
    import xlwings as xw

    book = xw.Book.caller()
    try:
        done = refill_book(book)
    except EstimatorError as error:
        book.app.alert(str(error), title="Not refilled")
        return
    if done.notes:
        book.app.alert("\n".join((done.sentence, *done.notes)), title="Refilled")


def find_book(path: Path | None) -> Any:
    """The open book of this file, or the active one.

    Raises:
        FileError: If Excel is not running, or has not opened it.
    """
    import xlwings as xw

    try:
        books = [book for app in xw.apps for book in app.books]
        active = xw.books.active if books and path is None else None
    except Exception as error:
        raise FileError(
            f"Excel can't be reached{_reason(error)}.",
            cure="Open the workbook in Excel first; on Linux use LibreOffice Calc.",
        ) from error
    if path is None and active is not None:
        return active
    if path is None:
        raise FileError("No workbook is open in Excel.", cure="Open it, then try again.")
    found = {Path(book.fullname): book for book in books}
    for there, book in found.items():
        if _same_file(there, path):
            return book
    elsewhere = [str(p) for p in found if p.name.casefold() == path.name.casefold()]
    other = f" What is open there is {' and '.join(elsewhere)}." if elsewhere else ""
    raise FileError(
        f"is not open in Excel.{other}",
        where=str(path.resolve()),
        cure="Open it, then try again.",
    )


def _same_file(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False
