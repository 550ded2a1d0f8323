"""LibreOffice as a referee: recalculates a workbook with no Python near it."""

from __future__ import annotations

import datetime as dt
import io
import math
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.datetime import to_excel

from estimator.workbook.package.a1 import address
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import formula_cells, grid

_ALWAYS_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""

needs_libreoffice = pytest.mark.skipif(
    shutil.which("soffice") is None, reason="LibreOffice is not installed"
)


def convert(data: bytes, kind: str = "xlsx") -> bytes:
    """The workbook as LibreOffice saves it after working out every formula anew."""
    with tempfile.TemporaryDirectory() as folder:
        base = Path(folder)
        profile = base / "profile" / "user"
        profile.mkdir(parents=True)
        (profile / "registrymodifications.xcu").write_text(_ALWAYS_RECALCULATE)
        (base / "book.xlsx").write_bytes(data)
        subprocess.run(
            [
                "soffice",
                f"-env:UserInstallation=file://{base / 'profile'}",
                "--headless",
                "--convert-to",
                kind,
                "--outdir",
                str(base / "out"),
                str(base / "book.xlsx"),
            ],
            check=True,
            capture_output=True,
            timeout=300,
        )
        return (base / "out" / f"book.{kind}").read_bytes()


def recalculated(data: bytes) -> Any:
    """The recalculated workbook, opened for its values; a day is its number."""
    return values_of(convert(data))


def values_of(data: bytes) -> Any:
    """A workbook opened for its values, days as the numbers that its cells hold."""
    book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    for sheet in book:
        for cell in (cell for row in sheet.iter_rows() for cell in row if cell.is_date):
            if isinstance(cell.value, (dt.date, dt.time)):
                cell.number_format, cell.value = "General", to_excel(cell.value)
    return book


def shown_otherwise(data: bytes) -> list[str]:
    """Formula cells of a workbook that LibreOffice, working out all, shows otherwise."""
    fresh = Package.open(convert(data))
    found, formulas = [], 0
    for sheet, row, column, cell in formula_cells(Package.open(data)):
        formulas += 1
        one, other = cell.value, grid(fresh, sheet).value(row, column).value
        if isinstance(one, (int, float)) and isinstance(other, (int, float)):
            same = math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)
        else:
            same = one == other or (one in (None, "") and other in (None, ""))
        if not same:
            found.append(f"{sheet}!{address(row, column)}: {one!r}, {other!r}")
    assert formulas > 10_000
    return found


def faults(book: Any) -> list[str]:
    """Cells of a recalculated workbook that show an error."""
    return [
        f"{sheet.title}!{cell.coordinate}: {cell.value}"
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value.startswith(("#", "Err:"))
    ]
