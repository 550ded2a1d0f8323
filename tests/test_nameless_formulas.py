"""Formulas of cells without a name: ``check`` says what an accident did to them."""

from __future__ import annotations

import pytest
from books import opened

from estimator.model import build_model
from estimator.workbook.carry.restore import restored
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Edit, Formula, apply, read_cell
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.made_with import read_made_from
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.shipped import template_of

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


def test_what_stands_over_a_heading_or_a_flag_is_told_and_gone_once_restored(
    demo_book: bytes,
) -> None:
    """A heading that shows the sign of money is one too; nothing is lost without a word."""
    template = Package.open(template_of(build_model()).read_bytes(), label="template")
    prices = FilePort(opened(demo_book)).ranges()["in_item_price"][1]
    heading = ("Prices", address(prices.row1 - 1, prices.column1))
    over: dict[tuple[str, str], Edit] = {
        heading: "cost",
        ("Job", "E39"): "ok",
        ("Start", "A3"): Formula('"All is "&"well"'),
    }
    before = {spot: read_cell(opened(demo_book), *spot).formula for spot in over}
    assert None not in before.values()
    broken = opened(apply(opened(demo_book), over))
    (told,) = check_book(FilePort(broken), build_model()).typed_over
    done = restored(broken, template)
    for (sheet, place), shown in zip(over, ("cost", "ok", '="All is "&"well"'), strict=True):
        assert f"{sheet}!{place} ({shown})" in told
        lost = f"Not carried over: {sheet}!{place}, {shown}: the estimator's formula stands there"
        assert any(note.startswith(lost) for note in done.notes)
    assert {spot: read_cell(done.package, *spot).formula for spot in over} == before
