"""The record of what a workbook was made with: many lines a cell, and never half believed."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from books import edited, opened
from hypothesis import given
from hypothesis import strategies as st

from estimator.model import build_model
from estimator.model.carry_over import RENAMED
from estimator.workbook.carry.restore import restored
from estimator.workbook.carry.upgrade import upgraded
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.made_with import read_made_from, record_damage
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.made_from import (
    MADE_CHECK,
    MADE_LINES,
    MADE_SHEET,
    MadeFrom,
    packed,
    unpacked,
)
from estimator.workbook.template.names import VERSION
from estimator.workbook.template.shipped import template_of

LINES = st.lists(
    st.tuples(
        st.sampled_from(["total_cost", "texts of", "in_soil"]),
        st.sampled_from(["'Buy List'!$A$4:$F$90", "Cost"]),
        st.sampled_from(["", 'IF(A1=" : ",B2,C3)', "A7=1a2b C8:C30=f ", "x" * 5_000, "y" * 9_000]),
    ),
    max_size=700,
)


@given(LINES)
def test_lines_are_packed_into_cells_that_any_spreadsheet_takes(
    lines: list[tuple[str, str, str]],
) -> None:
    cells = list(packed(lines))
    assert list(unpacked(cells)) == lines
    for cell in cells:
        assert len(cell) < 32_767
        assert "\n" not in cell, "LibreOffice lays out the paragraphs of such a cell"
    assert all(len(one + other) > 23_000 for one, other in pairwise(cells))


def test_lines_of_a_workbook_that_parted_them_by_line_feeds_are_read() -> None:
    lines = [("total_cost", "Cost", "A1+1"), ("texts of", "Cost", "A7=1a2b")]
    (cell,) = packed(lines)
    assert list(unpacked([cell.replace("¶", "\n")])) == lines


def _ours() -> Package:
    path = template_of(build_model())
    return Package.open(path.read_bytes(), label=path.name)


def test_the_record_takes_a_few_hundred_cells_and_names_every_cell_of_the_template() -> None:
    port = FilePort(_ours())
    ranges = port.ranges()
    assert ranges[MADE_LINES][1].rows < 300
    made = read_made_from(port)
    assert {**made.ranges} == {
        name: place for name, place in ranges.items() if place[0] != MADE_SHEET
    }
    assert sum(map(len, made.formulas.values())) > 1000
    assert sum(map(len, made.nameless.values())) > 1000


def _text(data: bytes, line: int) -> str:
    port = FilePort(opened(data))
    return str(port.read(*port.ranges()[MADE_LINES])[line][0].value)


DAMAGES: dict[str, Any] = {
    "edited": lambda data: {(MADE_LINES, 0, 2): _text(data, 2).replace("(", "[", 1)},
    "cut off": lambda data: {(MADE_LINES, 0, 2): _text(data, 2)[:4_000]},
    "emptied": lambda _: {(MADE_LINES, 0, 2): None},
    "exchanged": lambda data: {
        (MADE_LINES, 0, 2): _text(data, 3),
        (MADE_LINES, 0, 3): _text(data, 2),
    },
    "without its checksum": lambda _: {MADE_CHECK: None},
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_record_is_said_tells_nothing_and_comes_back(
    demo_book: bytes, damage: str
) -> None:
    broken = edited(demo_book, DAMAGES[damage](demo_book))
    port = FilePort(opened(broken))
    assert read_made_from(port) == MadeFrom()
    assert f"the hidden sheet {MADE_SHEET}" in record_damage(port)
    done = restored(opened(broken), _ours())
    assert f"The sheet {MADE_SHEET} is whole again." in done.notes
    sound = FilePort(done.package)
    assert read_made_from(sound) == read_made_from(FilePort(opened(demo_book)))
    assert record_damage(sound) == ""


def test_check_says_that_the_record_is_damaged(demo_book: bytes) -> None:
    broken = edited(demo_book, DAMAGES["cut off"](demo_book))
    book = check_book(FilePort(opened(broken)), build_model())
    assert f"hidden sheet {MADE_SHEET}" in book.damage
    assert "estimator restore" in book.damage


def test_an_upgrade_says_that_a_damaged_record_tells_no_formulas(demo_book: bytes) -> None:
    old = edited(demo_book, {**DAMAGES["edited"](demo_book), VERSION: "1"})
    done = upgraded(opened(old), _ours(), RENAMED)
    assert [note for note in done.notes if "does not tell what it was made with" in note]
