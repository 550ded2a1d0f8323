"""Runs in the Python that comes with LibreOffice: does what it is told with an open document.

One JSON request a line comes in, one JSON answer a line goes out; nothing else is printed. It
imports nothing of this project, and runs on any Python 3 that has ``uno``.
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any

import uno

DATE = 2
"""Kind of cell that holds a date (com.sun.star.sheet.CellFlags.DATETIME)."""
PLAIN = "Default"
"""Style of a cell that was given none."""


class NotWrittenError(Exception):
    """A block that the document did not take: its sheet, and its first row from 1."""

    def __init__(self, sheet: str, row: int) -> None:
        super().__init__(sheet, row)
        self.sheet, self.row = sheet, row


def same_file(one: str, other: str) -> bool:
    """Whether two paths lead to one file."""
    try:
        return os.path.samefile(one, other)
    except OSError:
        return os.path.normcase(os.path.realpath(one)) == os.path.normcase(os.path.realpath(other))


class Document:
    """One open spreadsheet document."""

    def __init__(self, port: int, path: str) -> None:
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext(
            "com.sun.star.bridge.UnoUrlResolver", local
        )
        remote = resolver.resolve(
            f"uno:socket,host=127.0.0.1,port={port},tcpNoDelay=1;urp;StarOffice.ComponentContext"
        )
        desktop = remote.ServiceManager.createInstanceWithContext(
            "com.sun.star.frame.Desktop", remote
        )
        self.elsewhere: list[str] = []
        self.model = self._find(desktop, path)

    def _find(self, desktop: Any, path: str) -> Any:
        """The document of a file, told by its whole path, or the only or the current one.

        None if it is not open; then ``elsewhere`` has where documents of that name are.
        """
        found = []
        each = desktop.getComponents().createEnumeration()
        while each.hasMoreElements():
            item = each.nextElement()
            if hasattr(item, "supportsService") and item.supportsService(
                "com.sun.star.sheet.SpreadsheetDocument"
            ):
                found.append(item)
        if not path:
            current = desktop.getCurrentComponent()
            return found[0] if len(found) == 1 else current if current in found else None
        for document in found:
            if same_file(self.path(document), path):
                return document
        name = os.path.basename(path).lower()
        there = [self.path(document) for document in found]
        self.elsewhere = [p for p in there if os.path.basename(p).lower() == name]
        return None

    @staticmethod
    def path(model: Any) -> str:
        """Path of a document; its title if it was never saved, its address if it is no file."""
        url = model.getURL()
        path = uno.fileUrlToSystemPath(url) if url.startswith("file:") else url
        return str(path or model.getTitle())

    def opened(self) -> dict[str, Any]:
        """Name of the document for messages, or None, and its sheets; where others of it are."""
        name = self.model and self.path(self.model).replace("\\", "/").rsplit("/", 1)[-1]
        sheets = self.model.Sheets.getElementNames() if self.model else ()
        return {"label": name, "elsewhere": self.elsewhere, "sheets": sheets}

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
                self._put(area, block)
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

    def _put(self, area: Any, block: dict[str, Any]) -> None:
        if not block["formula"]:
            # Formats are a person's, and what is written may turn them to text.
            formats = self._formats(area)
            # An undo of values alone leaves them in cells that were blank before; one of an array
            # formula brings the whole area back.
            area.setArrayFormula("=0")
            area.setArrayFormula("")
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


def main() -> None:
    """Answer requests until the input ends."""
    document: Any = None
    for line in sys.stdin:
        request = json.loads(line)
        reply: dict[str, Any]
        try:
            do = request["do"]
            if do == "connect":
                document = Document(request["port"], request["path"])
                answer: Any = document.opened()
            elif do == "names":
                answer = document.names()
            elif do == "sheet":
                answer = document.sheet(request["sheet"])
            else:
                answer = document.write(request["blocks"], request["looks"])
            reply = {"answer": answer}
        except Exception as error:
            reply = {"error": "failed"}
            if isinstance(error, NotWrittenError):
                reply = {"error": "not written", "sheet": error.sheet, "row": error.row}
        sys.stdout.write(json.dumps(reply) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
