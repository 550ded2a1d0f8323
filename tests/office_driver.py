"""Drives one LibreOffice for a run of tests; run by the Python that has LibreOffice's bridge.

    python3 office_driver.py PROFILE_FOLDER

Reads one JSON request a line from standard input and answers each with one line. A request is of
one of the workbooks that are open, which it calls by a number of its own:

    {"book": number, "open": path}                 opened, and every formula worked out anew
    {"book": number, "close": true}
    {"book": number, "set": [[sheet, row, column, value], ...], "read": [sheet, ...]}
                                                   null empties a cell; a read of null: all sheets
    {"book": number, "set": [...], "keep": {sheet: [rows, columns], ...}}
    {"book": number, "set": [...], "differ": true}
    {"book": number, "do": [["insert_rows", sheet, row, count], ...]}    rows, columns from 1
    {"book": number, "save": path, "filter": name}
    {"book": number, "undo": true}                 all that was done since it was opened

A read answers with every sheet's rows of values, from A1. So does ``keep``, of so many rows and
columns, and keeps them: ``differ`` answers with the rows that are others now, by their place
counted from 0. Nothing of the project is imported.
"""

import contextlib
import json
import subprocess
import sys
import time
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.sheet.CellDeleteMode import UP
from com.sun.star.sheet.CellInsertMode import DOWN
from com.sun.star.sheet.FillDirection import TO_BOTTOM
from com.sun.star.table import TableSortField

ALWAYS_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


def prop(name, value):
    item = PropertyValue()
    item.Name, item.Value = name, value
    return item


def connect(pipe):
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext(
        "com.sun.star.bridge.UnoUrlResolver", local
    )
    for _ in range(600):
        try:
            return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            time.sleep(0.1)
    raise SystemExit("LibreOffice did not start")


def load(desktop, path):
    hidden = (prop("Hidden", True), prop("MacroExecutionMode", 0))
    return desktop.loadComponentFromURL(path.as_uri(), "_blank", 0, hidden)


def sheet_of(book, name):
    return book.Sheets.getByName(name)


def put(book, sheet, row, column, value):
    cell = sheet_of(book, sheet).getCellByPosition(column - 1, row - 1)
    if value is None:
        cell.clearContents(1 | 2 | 4 | 16)  # values, dates, texts, formulas
    elif isinstance(value, str) and value.startswith("="):
        cell.setFormula(value)
    elif isinstance(value, str):
        cell.setString(value)
    else:
        cell.setValue(value)


def set_all(book, cells):
    """Type into the cells, and calculate once."""
    book.enableAutomaticCalculation(False)
    for cell in cells:
        put(book, *cell)
    book.calculate()
    book.enableAutomaticCalculation(True)


def undo_all(book):
    done = book.getUndoManager()
    while done.isUndoPossible():
        done.undo()


def data(book, name, rows, columns):
    return sheet_of(book, name).getCellRangeByPosition(0, 0, columns - 1, rows - 1).getDataArray()


def values(book, name):
    cursor = sheet_of(book, name).createCursor()
    cursor.gotoEndOfUsedArea(False)
    end = cursor.RangeAddress
    return plain(data(book, name, end.EndRow + 1, end.EndColumn + 1))


def plain(rows):
    return [[cell_value(v) for v in row] for row in rows]


def differing(book, name, kept):
    now = data(book, name, len(kept), len(kept[0]))
    return {i: plain((row,))[0] for i, row in enumerate(now) if row != kept[i]}


def cell_value(value):
    """A number or text; an error arrives as an empty value of another type."""
    return value if isinstance(value, (int, float, str)) else "#ERROR"


def cells(book, sheet, area):
    """Cells such as B3:C9 of a sheet."""
    return sheet_of(book, sheet).getCellRangeByName(area)


def sorted_by(column):
    """Rows sorted by one of their columns, counted from 0, greatest first."""
    field = TableSortField()
    field.Field, field.IsAscending = column, False
    return (
        prop("IsSortColumns", False),
        prop("ContainsHeader", False),
        prop("SortFields", uno.Any("[]com.sun.star.table.TableSortField", (field,))),
    )


def change(book, kind, sheet, *rest):
    if kind == "insert_rows":
        sheet_of(book, sheet).Rows.insertByIndex(rest[0] - 1, rest[1])
    elif kind == "insert_columns":
        sheet_of(book, sheet).Columns.insertByIndex(rest[0] - 1, rest[1])
    elif kind == "delete_rows":
        sheet_of(book, sheet).Rows.removeByIndex(rest[0] - 1, rest[1])
    elif kind == "delete_columns":
        sheet_of(book, sheet).Columns.removeByIndex(rest[0] - 1, rest[1])
    elif kind == "rename":
        sheet_of(book, sheet).Name = rest[0]
    elif kind == "move":
        book.Sheets.moveByName(sheet, rest[0])
    elif kind == "delete":
        book.Sheets.removeByName(sheet)
    elif kind == "hide":
        sheet_of(book, sheet).IsVisible = False
    elif kind == "copy":
        book.Sheets.copyByName(sheet, rest[0], book.Sheets.Count)
    elif kind == "new":
        book.Sheets.insertNewByName(sheet, book.Sheets.Count)
    elif kind == "delete_cells":
        sheet_of(book, sheet).removeRange(cells(book, sheet, rest[0]).RangeAddress, UP)
    elif kind == "insert_cells":
        sheet_of(book, sheet).insertCells(cells(book, sheet, rest[0]).RangeAddress, DOWN)
    elif kind == "drag":
        there = cells(book, *rest[1:]).getCellByPosition(0, 0).CellAddress
        sheet_of(book, sheet).moveRange(there, cells(book, sheet, rest[0]).RangeAddress)
    elif kind == "fill_down":
        cells(book, sheet, rest[0]).fillAuto(TO_BOTTOM, 1)
    elif kind == "copy_down":
        area = cells(book, sheet, rest[0]).RangeAddress
        first = cells(book, sheet, rest[0]).getCellRangeByPosition(
            0, 0, area.EndColumn - area.StartColumn, 0
        )
        for row in range(area.StartRow + 1, area.EndRow + 1):
            there = sheet_of(book, sheet).getCellByPosition(area.StartColumn, row).CellAddress
            sheet_of(book, sheet).copyRange(there, first.RangeAddress)
    elif kind == "copy_cells":
        there = cells(book, *rest[1:]).getCellByPosition(0, 0).CellAddress
        sheet_of(book, rest[1]).copyRange(there, cells(book, sheet, rest[0]).RangeAddress)
    elif kind == "as_values":
        area = cells(book, sheet, rest[0])
        area.setDataArray(area.getDataArray())
    elif kind == "merge":
        cells(book, sheet, rest[0]).merge(True)
    elif kind == "hide_rows":
        cells(book, sheet, rest[0]).Rows.IsVisible = False
    elif kind == "name_again":
        there = cells(book, *rest).getCellByPosition(0, 0)
        own = sheet_of(book, rest[0]).NamedRanges
        own.addNewByName(sheet, there.AbsoluteName, there.CellAddress, 0)
    elif kind == "sort":
        cells(book, sheet, rest[0]).sort(sorted_by(rest[1]))
    elif kind == "clear":
        cells(book, sheet, rest[0]).clearContents(1 | 2 | 4 | 16)
    elif kind == "protect":
        sheet_of(book, sheet).protect("")
    elif kind == "set_name":
        book.NamedRanges.getByName(sheet).setContent(rest[0])
    elif kind == "type":
        put(book, sheet, *rest)
    elif kind == "forget":
        book.NamedRanges.removeByName(sheet)
    else:
        raise SystemExit(f"unknown change {kind}")


class Opened:
    """A workbook that is open, and what was kept of it."""

    def __init__(self, desktop, path):
        self.book = load(desktop, path)
        self.book.calculateAll()
        self.kept = {}

    def answer(self, request):
        """Do what is asked for, in the order of the list above, and read after that."""
        book = self.book
        if "set" in request:
            set_all(book, request["set"])
        for action in request.get("do", ()):
            change(book, *action)
        if request.get("undo"):
            undo_all(book)
        if "save" in request:
            place = Path(request["save"]).resolve().as_uri()
            book.storeToURL(place, (prop("FilterName", request["filter"]),))
        if "keep" in request:
            sizes = request["keep"].items()
            self.kept = {name: data(book, name, *size) for name, size in sizes}
            return {name: plain(rows) for name, rows in self.kept.items()}
        if request.get("differ"):
            return {name: differing(book, name, rows) for name, rows in self.kept.items()}
        wanted = request.get("read", ())
        if wanted is None:
            wanted = book.Sheets.ElementNames
        return {name: values(book, name) for name in wanted}


def main():
    profile = Path(sys.argv[1]).resolve()
    settings = profile / "user"
    settings.mkdir(parents=True, exist_ok=True)
    (settings / "registrymodifications.xcu").write_text(ALWAYS_RECALCULATE)
    pipe = f"estimator{abs(hash(str(profile)))}"
    office = subprocess.Popen(
        [
            "soffice",
            f"-env:UserInstallation={profile.as_uri()}",
            "--headless",
            "--norestore",
            "--nologo",
            f"--accept=pipe,name={pipe};urp;",
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    desktop = None
    try:
        context = connect(pipe)
        desktop = context.ServiceManager.createInstanceWithContext(
            "com.sun.star.frame.Desktop", context
        )
        print(json.dumps("ready"), flush=True)
        opened = {}
        for line in sys.stdin:
            request = json.loads(line)
            number = request["book"]
            answer = {}
            if "open" in request:
                opened[number] = Opened(desktop, Path(request["open"]).resolve())
            elif "close" in request:
                opened.pop(number).book.close(True)
            else:
                answer = opened[number].answer(request)
            print(json.dumps(answer), flush=True)
    finally:
        if desktop is not None:
            # The bridge falls with the program that it ends.
            with contextlib.suppress(Exception):
                desktop.terminate()
        try:
            office.wait(20)
        except subprocess.TimeoutExpired:
            office.kill()


main()
