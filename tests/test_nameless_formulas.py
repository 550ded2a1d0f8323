"""Formulas of cells without a name: ``check`` says what an accident did to them."""

from __future__ import annotations

import pytest
from books import opened

from estimator.model import build_model
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Formula, apply
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.made_with import read_made_from
from estimator.workbook.refill.refill import check_book

pytestmark = pytest.mark.slow


def heading_cells(data: bytes) -> dict[tuple[int, int], str]:
    """Formulas of the sheet Cost in cells that no name covers."""
    port = FilePort(opened(data))
    ranges = [area for sheet, area in port.ranges().values() if sheet == "Cost"]
    found = read_made_from(port).nameless_formulas("Cost")
    return {spot: text for spot, text in found.items() if not any(a.holds(*spot) for a in ranges)}


def damage(data: bytes) -> str:
    return check_book(FilePort(opened(data)), build_model()).damage


def test_an_untouched_workbook_has_no_damage(demo_book: bytes) -> None:
    assert len(heading_cells(demo_book)) > 5
    assert damage(demo_book) == ""


def test_a_heading_emptied_or_shifted_is_told_with_its_cell(demo_book: bytes) -> None:
    cells = heading_cells(demo_book)
    first, *_, other = cells
    assert cells[first] != cells[other]
    for edit in (None, Formula(cells[other]), Formula("#REF!&A1")):
        broken = apply(opened(demo_book), {("Cost", address(*first)): edit})
        said = damage(broken)
        assert said.startswith("1 formula no longer reads"), edit
        assert f"Cost!{address(*first)}" in said


def test_a_text_or_a_formula_of_ones_own_over_a_heading_is_no_damage(demo_book: bytes) -> None:
    first = next(iter(heading_cells(demo_book)))
    for edit in ("Our first idea", Formula('"Idea "&LEN("x")')):
        own = apply(opened(demo_book), {("Cost", address(*first)): edit})
        assert damage(own) == ""
