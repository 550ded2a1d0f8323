"""Every part of the demo workbook against the schemas of the file format.

The schemas are those that the package openxml-audit carries: content models, attribute types and
relations of ECMA-376 as the published Open XML SDK states them (read by that package).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from openxml_audit import FileFormat, OpenXmlValidator
from openxml_audit.errors import ValidationSeverity
from rich_workbooks import change_part
from test_refill import with_own_sheet

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


def test_a_part_that_is_not_valid_is_told(demo_book: bytes, tmp_path: Path) -> None:
    """So that the test above means something."""
    wrong = change_part(
        with_own_sheet(demo_book),
        "xl/worksheets/sheet1.xml",
        lambda c: re.sub(rb"(<pageMargins[^>]*/>)(<pageSetup[^>]*/>)", rb"\2\1", c),
    )
    assert any("sheet1.xml" in fault for fault in faults(wrong, tmp_path))
