"""What is read from and written to an open document, inside LibreOffice where that can be.

Every call from another process takes LibreOffice a fifth of a millisecond and more, and three
thousand names are two calls each; within its own process they take a thirtieth of that. Its own
loader of components written in Python runs this file there: nothing is registered or kept in a
profile, and no macro is run. Where it has no such loader the same functions work from outside.

It imports nothing of this project, and runs on any Python 3 that has ``uno``.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import uno
import unohelper
from com.sun.star.beans import NamedValue
from com.sun.star.task import XJob

DATE = 2
"""Kind of cell that holds a date (com.sun.star.sheet.CellFlags.DATETIME)."""
PLAIN = "Default"
"""Style of a cell that was given none."""
LOADER = "com.sun.star.loader.Python"
"""LibreOffice's own loader of components."""


class NotWrittenError(Exception):
    """A block that the document did not take: its sheet, and its first row from 1."""

    def __init__(self, sheet: str, row: int) -> None:
        super().__init__(sheet, row)
        self.sheet, self.row = sheet, row


class Document:
    """An open spreadsheet document, and what is done with it."""

    def __init__(self, model: Any) -> None:
        self.model = model

    def names(self) -> dict[str, str]:
        """What every defined name of the document stands for."""
        names = self.model.NamedRanges
        return {n: names.getByName(n).getContent() for n in names.getElementNames()}

    def sheet(self, name: str) -> dict[str, Any]:
        """Values, formulas, cell errors and typed dates of the used part of a sheet."""
        sheet = self.model.Sheets.getByName(name)
        cursor = sheet.createCursor()
        cursor.gotoEndOfUsedArea(False)
        end = cursor.getRangeAddress()
        area = sheet.getCellRangeByPosition(0, 0, end.EndColumn, end.EndRow)
        values, formulas = area.getDataArray(), area.getFormulaArray()
        errors = [
            [r, c, sheet.getCellByPosition(c, r).getString()]
            for r, row in enumerate(values)
            for c, value in enumerate(row)
            if value is None
        ]
        return {
            "values": values,
            "formulas": formulas,
            "errors": errors,
            "dates": [
                [a.StartRow, a.StartColumn, a.EndRow, a.EndColumn]
                for a in sheet.queryContentCells(DATE).getRangeAddresses()
            ],
        }

    def write(self, blocks: list[dict[str, Any]], looks: list[list[Any]]) -> int:
        """Write all blocks as one step of undo; on an error put back what stood there.

        A block has a sheet, a first row and column from 0, and rows of values, or of formulas
        where ``formula`` is true. A look is a sheet, a column, a first and a last row, and the
        row of the cell whose look they take if they have none.
        """
        model = self.model
        undo = model.getUndoManager()
        steps = len(undo.getAllUndoActionTitles())
        failed: NotWrittenError | None = None
        automatic = model.isAutomaticCalculationEnabled()
        done: list[tuple[Any, Any, Any]] = []
        model.lockControllers()
        model.addActionLock()
        model.enableAutomaticCalculation(False)
        undo.enterUndoContext("Refill")
        try:
            for block in blocks:
                area = self._area(block)
                done.append((area, area.getDataArray(), area.getFormulaArray()))
                self._put(area, block, done[-1][2])
            for look in looks:
                self._dress(*look)
        except Exception:
            self._put_back(done)
            failed = NotWrittenError(block["sheet"], block["row"] + 1)
        finally:
            undo.leaveUndoContext()
            model.enableAutomaticCalculation(automatic)
            model.removeActionLock()
            model.unlockControllers()
        if failed is not None:
            if len(undo.getAllUndoActionTitles()) > steps:  # what was written and put back is none
                undo.undo()
                undo.clearRedo()
            raise failed
        model.calculate()
        return len(done)

    def _dress(self, sheet: str, column: int, first: int, last: int, like: int) -> None:
        cells = self.model.Sheets.getByName(sheet)
        model = cells.getCellByPosition(column, like)
        area = cells.getCellRangeByPosition(column, first, column, last)
        each_row = (area.getCellByPosition(0, row) for row in range(last - first + 1))
        for each in (area,) if area.CellStyle else each_row:
            if each.CellStyle == PLAIN:
                each.CellStyle, each.NumberFormat = model.CellStyle, model.NumberFormat

    def _area(self, block: dict[str, Any]) -> Any:
        rows, row, column = block["rows"], block["row"], block["column"]
        return self.model.Sheets.getByName(block["sheet"]).getCellRangeByPosition(
            column, row, column + len(rows[0]) - 1, row + len(rows) - 1
        )

    def _put(self, area: Any, block: dict[str, Any], before: Any) -> None:
        if not block["formula"]:
            # Formats are a person's, and what is written may turn them to text.
            formats = self._formats(area)
            # An undo of values alone leaves them in cells that were blank before; one of an array
            # formula, which takes as long as all else, brings a whole area back.
            filled = [row for row, cells in enumerate(block["rows"]) if _fills(before[row], cells)]
            if filled:
                last = len(block["rows"][0]) - 1
                rows = area.getCellRangeByPosition(0, filled[0], last, filled[-1])
                rows.setArrayFormula("=0")
                rows.setArrayFormula("")
            # None would become an error value; an empty text empties the cell.
            area.setDataArray(
                tuple(tuple("" if v is None else v for v in r) for r in block["rows"])
            )
            for cells, now in self._formats(area):
                for address in cells.getRangeAddresses():
                    for had, number in formats:
                        if number != now and had.queryIntersection(address).getCount():
                            had.queryIntersection(address).NumberFormat = number
            return
        parser = self.model.createInstance("com.sun.star.sheet.FormulaParser")
        parser.CompileEnglish = True
        parser.FormulaConvention = uno.getConstantByName(
            "com.sun.star.sheet.AddressConvention.XL_OOX"
        )
        for r, row in enumerate(block["rows"]):
            for c, text in enumerate(row):
                cell = area.getCellByPosition(c, r)
                cell.setTokens(parser.parseFormula(text, cell.getCellAddress()))

    @staticmethod
    def _formats(area: Any) -> list[tuple[Any, int]]:
        """Cells of an area that look alike, and their number format."""
        groups = area.getUniqueCellFormatRanges()
        each = (groups.getByIndex(n) for n in range(groups.getCount()))
        return [(group, group.NumberFormat) for group in each]

    @staticmethod
    def _put_back(done: list[tuple[Any, Any, Any]]) -> None:
        for area, values, formulas in reversed(done):
            if area.getDataArray() == values and area.getFormulaArray() == formulas:
                continue  # as it was: perhaps the block that could not be written
            area.setDataArray(tuple(tuple("" if v is None else v for v in r) for r in values))
            for r, row in enumerate(formulas):
                for c, text in enumerate(row):
                    if text.startswith("=") and text != values[r][c]:
                        area.getCellByPosition(c, r).setFormula(text)


def _fills(before: Any, cells: list[Any]) -> bool:
    """Whether a value comes into a cell of a row that was blank."""
    return any(cell not in (None, "") and not before[at] for at, cell in enumerate(cells))


def answer(model: Any, line: str) -> str:
    """The answer to a request about a document, both as JSON."""
    request: dict[str, Any] = json.loads(line)
    reply: dict[str, Any]
    try:
        do, document = request["do"], Document(model)
        if do == "names":
            found: Any = document.names()
        elif do == "sheet":
            found = document.sheet(request["sheet"])
        else:
            found = document.write(request["blocks"], request["looks"])
        reply = {"answer": found}
    except NotWrittenError as error:
        reply = {"error": "not written", "sheet": error.sheet, "row": error.row}
    except Exception:
        reply = {"error": "failed"}
    return json.dumps(reply)


class Inside(unohelper.Base, XJob):  # type: ignore[misc]
    """Answers requests in LibreOffice's own process."""

    def execute(self, arguments: tuple[Any, ...]) -> str:
        """The answer to the request among the arguments, about the document among them."""
        given = {argument.Name: argument.Value for argument in arguments}
        return answer(given["document"], given["request"])


def getComponentFactory(*_: Any) -> Any:  # noqa: N802
    """What LibreOffice's loader asks for.

    The loader keeps a file that it has read for as long as LibreOffice runs. This one is read
    again, so that it is that of whoever asks now.
    """
    scope: dict[str, Any] = {"__name__": "inside", "__file__": __file__}
    exec(compile(Path(__file__).read_bytes(), __file__, "exec"), scope)
    return scope["Inside"]()


def inside(context: Any) -> Any:
    """What answers in the process of the LibreOffice of this context; None where nothing can."""
    try:
        loader = context.ServiceManager.createInstanceWithContext(LOADER, context)
        return loader.activate("inside", "", Path(__file__).resolve().as_uri(), None)
    except Exception:
        return None


def answer_inside(job: Any, model: Any, line: str) -> str:
    """The same as :func:`answer`, by what answers in LibreOffice's process."""
    return str(job.execute((NamedValue("document", model), NamedValue("request", line))))
