"""Formulas of a person's own where cells that they read moved, or are gone."""

from __future__ import annotations

import io
from typing import Any

import pytest
from lxml import etree
from openpyxl import Workbook

from estimator.workbook.carry.following import Following
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.moves import Block, Moves
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import grid

BLOCK = Block(Range(3, 1, 6, 2), "Soils", Range(13, 1, 15, 2), {0: 0, 1: 1, 2: 2})
"""Four lines of a table, of which the last is gone, stand ten rows further down."""
FOLLOWING = Following(
    Moves({"Soils": "Soils"}, {}, {}, none=False, blocks={"Soils": (BLOCK,)}),
    {"old_price": "soil_price"},
    frozenset(("lost_price",)),
)


@pytest.mark.parametrize(
    ("before", "now", "whole"),
    [
        ("Soils!B5*2", "Soils!B15*2", True),
        ("Soils!B6*2", "#REF!*2", False),
        ("Soils!$B$6+Soils!B3", "#REF!+Soils!B13", False),
        ("SUM(Soils!B3:B6)", "SUM(Soils!B13:B15)", True),
        ("SUM(Soils!B6:B6,A1)", "SUM(#REF!,A1)", False),
        ("A6+old_price", "A6+soil_price", True),
        ("lost_price+Soils!B4", "lost_price+Soils!B14", False),
        ('Soils!B6&"Soils!B6"', '#REF!&"Soils!B6"', False),
    ],
)
def test_what_is_gone_is_a_lost_reference_and_all_else_follows(
    before: str, now: str, whole: bool
) -> None:
    found = FOLLOWING.of(before, "Mine")
    assert (found.text, found.whole) == (now, whole)


def test_formulas_that_share_one_follow_each_by_itself() -> None:
    """One line of a column that a person filled down is gone: the others keep what they read."""
    sheets = Workbook()
    sheet = sheets.active
    assert sheet is not None
    sheet.title = "Mine"
    for row in (1, 2, 3, 4):
        sheet[f"A{row}"] = "=0"
    stream = io.BytesIO()
    sheets.save(stream)
    package = Package.open(stream.getvalue(), label="shed.xlsx")
    part = package.sheet("Mine").part
    content = package.read(part)
    first = b'<f t="shared" ref="A1:A4" si="0">Soils!B3</f>'
    content = content.replace(b"<f>0</f>", first, 1).replace(b"<f>0</f>", b'<f t="shared" si="0"/>')
    shared = package.changed({part: content})
    assert grid(shared, "Mine").value(4, 1).formula == "Soils!B6"
    root: Any = etree.fromstring(content)
    FOLLOWING.write_out_shared(root, grid(shared, "Mine"))
    written = [(node.text, dict(node.attrib)) for node in root.iter("{*}f")]
    assert written == [(f"Soils!B{row}", {}) for row in (3, 4, 5, 6)]
    assert [FOLLOWING.of(text, "Mine").text for text, _ in written] == [
        "Soils!B13", "Soils!B14", "Soils!B15", "#REF!",
    ]  # fmt: skip

    still = Following(Moves({}, {}, {}, none=True))
    root = etree.fromstring(content)
    still.write_out_shared(root, grid(shared, "Mine"))
    assert [node.get("t") for node in root.iter("{*}f")] == ["shared"] * 4
