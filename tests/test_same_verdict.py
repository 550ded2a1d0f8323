"""What the engine refuses the flag refuses, and the other way round.

Every kind of bad entry is typed into every kind of cell. LibreOffice recalculates with no Python
in sight, and the flag on top of every sheet is held against what ``estimator check`` says.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from books import opened, refilled, spot
from office import Office, needs_office

from estimator.errors import EstimatorError
from estimator.model import build_model
from estimator.report import open_points
from estimator.workbook.package.a1 import Range, address, parse_cell
from estimator.workbook.package.cells import Formula, apply
from estimator.workbook.package.reading import CellError
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import Edit
from estimator.workbook.refill.refill import check_book

pytestmark = [pytest.mark.slow, needs_office]

ALL = os.environ.get("SAME_VERDICT") == "all"
"""Whether every entry is tried in every cell, not one in thirteen or nine, and all sheets."""
FLAG = "overall_flag"
REFUSES = ("NOT VALID", "TO DO", "#", "Err")
"""How the flag begins where no number may be believed; last, how spreadsheets write an error."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What is typed: into LibreOffice, and as the file then holds it."""

    name: str
    typed: Any
    held: Any


ENTRIES = (
    Entry("text", "about five", "about five"),
    Entry("a number as text", "12", "12"),
    Entry("a text of blanks", "   ", "   "),
    Entry("a date as text", "2026-05-01", "2026-05-01"),
    Entry("a date as people write it", "5/1/2026", "5/1/2026"),
    Entry("an error", "=NA()", Formula("NA()", CellError("#N/A"))),
    Entry("a division by nothing", "=1/0", Formula("1/0", CellError("#DIV/0!"))),
    Entry("a huge number", 1e307, 1e307),
    Entry("a negative number", -3.0, -3.0),
    Entry("a broken number", 2.5, 2.5),
    Entry("nothing", None, None),
)
TRUTH = Entry("a truth value", "=TRUE()", Formula("TRUE()", True))
PLAIN = (
    *("length", "length of an option", "choice", "choice of an option", "text of a table"),
    "reading",
)
"""Kinds of cell in the format of texts; under any other LibreOffice takes a truth for a number."""

TYPED = (
    ("length", ("in_building_length_ft",)),
    ("length of an option", ("in_stone_depth_in", 0)),
    ("number", ("in_wage_per_h",)),
    ("share", ("in_tax_share",)),
    ("choice", ("in_soil",)),
    ("choice of an option", ("in_option_kind", 0)),
    ("date", ("in_estimate_date",)),
    ("number of a table", ("in_item_price", 0, 3)),
    ("date of a table", ("in_item_date", 0, 3)),
    ("text of a table", ("in_item_name", 0, 3)),
    ("length of a table", ("in_item_length_ft", 0, 3)),
    ("reading", ("in_point_x_ft", 0, 2)),
)
OVER = (
    ("computed number of an option", ("stone_order_yd3", 0)),
    ("computed number of the job", ("chosen_total",)),
    ("computed text", ("option_state", 0)),
    ("computed number of a table", ("item_packs", 0, 3)),
    ("solved number", ("ground_corner_1_ft", 0)),
    ("solved text", ("cut_proven", 0)),
)


def cells(kinds: tuple[Any, ...], data: bytes) -> Iterator[tuple[str, Edit]]:
    """Kinds of cell and where one of each stands; every name must be there."""
    for name, where in kinds:
        sheet, cell = spot(data, where if len(where) > 1 else where[0])
        yield name, (sheet, *parse_cell(cell))


def verdict(data: bytes, cell: Edit, entry: Entry) -> str:
    """What the engine says against a workbook with that entry, or misses; empty if nothing."""
    sheet, row, column = cell
    changed = apply(opened(data), {(sheet, address(row, column)): entry.held})
    try:
        found = check_book(FilePort(opened(changed)), build_model())
    except EstimatorError as error:
        return str(error)
    return "; ".join(open_points(found.values))


def compare(
    data: bytes, office: Office, tries: list[tuple[str, Edit, Entry]], *, undone: bool
) -> list[str]:
    """Every try on which the flag and the engine don't agree, in an office that has the file open.

    After each, what stood there is typed back; or the try is undone, where that is a formula.
    """
    port = FilePort(opened(data))
    home, area = port.ranges()[FLAG]
    wrong = []
    for name, cell, entry in tries:
        seen = office.edit({cell: entry.typed}, read=[home])
        flag = str(seen[home][area.row1 - 1][area.column1 - 1])
        said = verdict(data, cell, entry)
        if undone:
            office.undo()
        else:
            office.edit({cell: held(port, cell)})
        refused = flag.startswith(REFUSES) or flag == ""
        if refused != bool(said):
            wrong.append(f"{entry.name} in {name} {cell}: engine {said!r}, flag {flag!r}")
    seen = office.edit({}, read=[home])
    flag = str(seen[home][area.row1 - 1][area.column1 - 1])
    assert flag.startswith(("OK", "LOOK")), "what stood there is back"
    return wrong


def held(port: FilePort, cell: Edit) -> Any:
    """What was typed in a cell."""
    sheet, row, column = cell
    return port.read(sheet, Range(row, column, row, column))[0][0].value


def sampled(tries: list[tuple[str, Edit, Entry]]) -> list[tuple[str, Edit, Entry]]:
    return tries if ALL else tries[::13]


def test_what_is_typed_into_an_input_is_refused_by_both_or_by_none(demo_book: bytes) -> None:
    tries = [
        (name, cell, entry)
        for name, cell in cells(TYPED, demo_book)
        for entry in (*ENTRIES, *((TRUTH,) if name in PLAIN else ()))
    ]
    with Office(demo_book) as office:
        wrong = compare(demo_book, office, sampled(tries), undone=False)
    assert not wrong, "\n".join(wrong)


def test_what_is_typed_over_a_computed_or_solved_cell_is_refused_by_both_or_by_none(
    demo_book: bytes,
) -> None:
    """A truth value is left out: LibreOffice takes it for a number, as its cell does not say."""
    wrong = []
    with Office(demo_book) as office:
        for number, (name, cell) in enumerate(cells(OVER, demo_book)):
            tries = [(name, cell, entry) for entry in ENTRIES]
            some = tries if ALL else tries[number % 9 :: 9]
            wrong += compare(demo_book, office, some, undone=True)
    assert not wrong, "\n".join(wrong)


SHEETS = ("Job", "Pictures")


@pytest.mark.parametrize("sheet", [s.name for s in build_model().sheets] if ALL else SHEETS)
def test_a_deleted_sheet_is_refused_by_both(sheet: str, demo_book: bytes) -> None:
    home, area = FilePort(opened(demo_book)).ranges()["overall_flag"]
    with Office(demo_book) as office:
        office.do(["delete", sheet])
        other = "Start" if sheet != "Start" else "Job"
        seen = office.edit({}, read=[other if sheet == home else home])
        broken = office.saved()
    if sheet == home:
        flag = str(seen[other][2][0])
    else:
        flag = str(seen[home][area.row1 - 1][area.column1 - 1])
    assert flag.startswith(REFUSES)
    with pytest.raises(EstimatorError, match="missing"):
        refilled(broken)
