"""Every part of the demo workbook against the schemas of the file format.

The schemas are those that the package openxml-audit carries: content models, attribute types and
relations of ECMA-376 as the published Open XML SDK states them (read by that package).
"""

from __future__ import annotations

import re
from pathlib import Path

import openpyxl
import pytest
from openxml_audit import FileFormat, OpenXmlValidator
from openxml_audit.errors import ValidationSeverity
from rich_workbooks import change_part

from estimator.workbook.template.build import workbook_bytes

pytestmark = pytest.mark.slow


def faults(data: bytes, folder: Path) -> list[str]:
    """What the schemas forbid; hints on what a program would rewrite are not of that kind."""
    path = folder / "book.xlsx"
    path.write_bytes(data)
    found = OpenXmlValidator(file_format=FileFormat.OFFICE_2016, max_errors=0).validate(path)
    return [
        f"{e.part_uri} {e.path}: {e.description}"
        for e in found.errors
        if e.severity is ValidationSeverity.ERROR
    ]


def test_every_part_of_the_demo_workbook_is_valid(demo_book: bytes, tmp_path: Path) -> None:
    assert faults(demo_book, tmp_path) == []


def test_a_part_that_is_not_valid_is_told(tmp_path: Path) -> None:
    """So that the test above means something."""
    book = openpyxl.Workbook()
    book.worksheets[0].page_setup.orientation = "landscape"
    small = workbook_bytes(book)
    assert faults(small, tmp_path) == []
    wrong = change_part(
        small,
        "xl/worksheets/sheet1.xml",
        lambda c: re.sub(rb"(<pageMargins[^>]*/>)(<pageSetup[^>]*/>)", rb"\2\1", c),
    )
    assert any("sheet1.xml" in fault for fault in faults(wrong, tmp_path))
