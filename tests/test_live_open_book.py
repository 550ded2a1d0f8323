"""The open-book adapter on xlwings' own classes over a stand-in for Excel, which is not here."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import excel_book
import pytest
import xlwings
from books import meanwhile
from excel_stand_in import windows_engine
from hypothesis import given, settings
from hypothesis import strategies as st
from xlwings import base_classes

from estimator.engine import Model
from estimator.errors import EstimatorError, FileError, SolveError
from estimator.live.blocks import Block, Content, LiveRefill, rectangles, refill_open
from estimator.live.open_book import ExcelBook, find_book, refill_book
from estimator.model import build_model
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Formula, apply
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import range_of
from estimator.workbook.refill.refill import Refill, plan_refill

MOVED_FT = 7.25


@pytest.fixture(scope="module")
def model() -> Model:
    return build_model()


@pytest.fixture(scope="module")
def engine() -> Iterator[Any]:
    with windows_engine() as found:
        yield found


@pytest.fixture
def excel(demo_book: bytes, engine: Any) -> excel_book.Book:
    return excel_book.Book(demo_book, engine)


def opened(excel: excel_book.Book) -> Any:
    return xlwings.Book(impl=excel)


def place_of(excel: excel_book.Book, name: str, down: int = 0) -> tuple[str, int, int]:
    sheet, area = range_of(ExcelBook(opened(excel)), name)
    return sheet, area.row1 + down, area.column1


def type_in(excel: excel_book.Book, name: str, value: Any, down: int = 0) -> None:
    sheet, row, column = place_of(excel, name, down)
    excel.data.cells[sheet][row, column] = Content(value)


def held(excel: excel_book.Book, sheet: str, row: int, column: int) -> Content:
    return excel.data.cells[sheet].get((row, column), Content(None))


def expected(demo_book: bytes, excel: excel_book.Book, model: Model) -> Refill:
    """What the refill of the file writes after the same edit."""
    sheet, row, column = place_of(excel, "in_point_x_ft", 2)
    edited = apply(Package.open(demo_book), {(sheet, address(row, column)): MOVED_FT})
    return plan_refill(FilePort(Package.open(edited, label="demo.xlsx")), model)


def test_an_open_book_reads_like_the_file_of_it(
    excel: excel_book.Book, demo_book: bytes, model: Model
) -> None:
    done = refill_book(opened(excel))
    assert done.refill.writes == plan_refill(FilePort(Package.open(demo_book)), model).writes
    assert done.sentence == "demo.xlsx was up to date."
    assert done.refill.typed_over == ()
    assert excel.data.writes == []


def test_an_open_book_gets_what_the_refill_of_the_file_writes(
    excel: excel_book.Book, demo_book: bytes, model: Model
) -> None:
    wanted = expected(demo_book, excel, model)
    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    before = excel.data.snapshot()

    done = refill_book(opened(excel))

    differing = {
        cell: (held(excel, *cell).value, value)
        for cell, value in wanted.writes.items()
        if (held(excel, *cell).value or None) != (value or None)
    }
    assert differing == {}
    for sheet, cells in excel.data.cells.items():
        for place, content in cells.items():
            if (sheet, *place) not in wanted.writes:
                assert content == before[sheet].get(place), f"{sheet} {place} is not ours"
    assert excel.data.calculated == 1
    assert len(excel.data.writes) == len(done.blocks)
    assert len(done.blocks) < 120, "one write a rectangle, not one a cell"


def test_what_fills_a_list_in_an_open_book_takes_the_format_of_its_first_row(
    excel: excel_book.Book,
) -> None:
    sheet, row, column = place_of(excel, "triangle_ft2")
    excel.data.formats = {(sheet, row, column): "0.000", (sheet, row + 3, column): "0.0"}
    gone = {down: excel.data.cells[sheet].pop((row + down, column)) for down in (2, 3, 4)}

    refill_book(opened(excel))

    assert {down: held(excel, sheet, row + down, column) for down in gone} == gone
    shown = {down: excel.data.formats.get((sheet, row + down, column)) for down in range(6)}
    assert shown == {0: "0.000", 1: None, 2: "0.000", 3: "0.0", 4: "0.000", 5: None}, (
        "a format of one's own stays"
    )


def test_screen_alerts_and_calculation_are_as_they_were_after_a_refill(
    excel: excel_book.Book,
) -> None:
    excel.app.calculation = "semiautomatic"
    excel.app.display_alerts = False
    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    refill_book(opened(excel))
    assert excel.data.writes
    assert (excel.app.screen_updating, excel.app.display_alerts) == (True, False)
    assert excel.app.calculation == "semiautomatic"


def test_a_length_kept_as_text_does_not_turn_into_a_date(excel: excel_book.Book) -> None:
    type_in(excel, "in_building_length_ft", "12-6")
    refill_book(opened(excel))
    sheet, _, column = place_of(excel, "snapshot_value")
    written = [c.value for (_, c_at), c in excel.data.cells[sheet].items() if c_at == column]
    assert all(not c.date for c in excel.data.cells[sheet].values())
    assert 12.5 in written or "12-6" in written


def test_a_text_over_a_computed_number_is_refused_and_nothing_is_written(
    excel: excel_book.Book,
) -> None:
    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    type_in(excel, "total_load_lb", "about a ton")
    before = excel.data.snapshot()
    with pytest.raises(EstimatorError, match="about a ton"):
        refill_book(opened(excel))
    assert excel.data.snapshot() == before
    assert excel.data.writes == []


@pytest.mark.parametrize("at", [0, 1, 7])
def test_a_write_that_fails_leaves_the_open_book_as_it_was(excel: excel_book.Book, at: int) -> None:
    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    before = excel.data.snapshot()
    excel.data.fail_at = at
    with pytest.raises(FileError, match="can't be written"):
        refill_book(opened(excel))
    assert excel.data.snapshot() == before
    assert excel.app.screen_updating
    assert excel.app.calculation == "automatic"


def test_a_book_closed_meanwhile_is_said_plainly(excel: excel_book.Book) -> None:
    book = opened(excel)
    excel.data.closed = True
    with pytest.raises(FileError, match=r"can't be reached.*still open"):
        refill_book(book)


def test_an_error_of_the_engine_in_the_middle_leaves_the_open_book_as_it_was(
    excel: excel_book.Book, model: Model
) -> None:
    def fails() -> None:
        raise SolveError("no frame fits.", where="Options")

    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    before = excel.data.snapshot()
    with pytest.raises(SolveError, match="no frame fits"):
        refill_open(ExcelBook(opened(excel)), meanwhile(model, fails))
    assert excel.data.snapshot() == before
    assert excel.data.writes == []
    assert excel.app.screen_updating


def test_a_book_closed_while_it_is_solved_is_said_plainly_and_nothing_is_written(
    excel: excel_book.Book, model: Model
) -> None:
    def closes() -> None:
        excel.data.closed = True

    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    before = excel.data.snapshot()
    with pytest.raises(FileError, match=r"can't be reached.*still open"):
        refill_open(ExcelBook(opened(excel)), meanwhile(model, closes))
    assert excel.data.snapshot() == before


def test_a_book_closed_while_it_is_written_is_said_plainly(excel: excel_book.Book) -> None:
    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    excel.data.close_at = 3
    with pytest.raises(FileError, match=r"can't be put back.*without saving"):
        refill_book(opened(excel))
    assert excel.app.screen_updating


def test_two_refills_at_once_leave_what_one_leaves(
    excel: excel_book.Book, demo_book: bytes, model: Model
) -> None:
    wanted = expected(demo_book, excel, model)
    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    others: list[LiveRefill] = []
    first = refill_open(
        ExcelBook(opened(excel)),
        meanwhile(model, lambda: others.append(refill_book(opened(excel)))),
    )
    assert first.blocks
    assert others[0].blocks
    differing = {
        cell: value
        for cell, value in wanted.writes.items()
        if (held(excel, *cell).value or None) != (value or None)
    }
    assert differing == {}


def test_a_blank_computed_cell_of_an_open_book_gets_its_formula_back(
    excel: excel_book.Book,
) -> None:
    sheet, row, column = place_of(excel, "total_load_lb")
    formula = excel.data.cells[sheet].pop((row, column)).formula
    assert formula
    done = refill_book(opened(excel))
    assert held(excel, sheet, row, column).formula == formula
    assert done.notes == ("1 blank computed cells got their formulas back.",)


def test_a_workbook_of_another_kind_is_refused_when_it_is_open(excel: excel_book.Book) -> None:
    excel.data.names = {"total": "='Start'!$A$1"}
    with pytest.raises(FileError, match="not a workbook made by this estimator"):
        refill_book(opened(excel))


STAND_INS = ("App", "Book", "Names", "Name", "Sheets", "Sheet", "Range")


@pytest.mark.parametrize("name", STAND_INS)
def test_the_stand_in_has_nothing_that_the_installed_xlwings_lacks(name: str) -> None:
    ours, theirs = getattr(excel_book, name), getattr(base_classes, name)
    for member, value in vars(ours).items():
        if member.startswith("_") and member not in ("__call__", "__len__"):
            continue
        there = inspect.getattr_static(theirs, member)
        if inspect.isfunction(value):
            wanted = list(inspect.signature(value).parameters)
            assert list(inspect.signature(there).parameters) == wanted, f"{name}.{member}"
        elif isinstance(value, property) and value.fset:
            assert there.fset is not None, f"{name}.{member} can be set"


PLACES = st.tuples(st.sampled_from(["Job", "Cost"]), st.integers(1, 12), st.integers(1, 8))
CELLS = st.one_of(st.none(), st.floats(0, 9), st.text("ab", max_size=2), st.just(Formula("A1")))


@settings(max_examples=150)
@given(st.dictionaries(PLACES, CELLS, max_size=60))
def test_rectangles_hold_exactly_the_cells_given(cells: dict[Any, Any]) -> None:
    found: dict[Any, Any] = {}
    for block in rectangles(cells):
        assert len({len(row) for row in block.rows}) == 1
        kinds = {isinstance(c, Formula) for row in block.rows for c in row}
        assert len(kinds) == 1, "formulas stand apart"
        for r, row in enumerate(block.rows):
            for c, value in enumerate(row):
                place = (block.sheet, block.row + r, block.column + c)
                assert place not in found
                found[place] = value
    assert found == cells


def test_a_full_block_is_one_rectangle() -> None:
    cells = {("Cost", row, column): float(row) for row in range(3, 40) for column in range(2, 8)}
    (block,) = rectangles(cells)
    assert (block.place, block.size) == ("Cost!B3", 37 * 6)


def test_the_sentence_counts_cells_and_blocks(excel: excel_book.Book) -> None:
    type_in(excel, "in_point_x_ft", MOVED_FT, 2)
    done: LiveRefill = refill_book(opened(excel))
    cells = sum(block.size for block in done.blocks)
    assert done.sentence == f"Refilled demo.xlsx: {cells} cells in {len(done.blocks)} blocks."
    assert all(isinstance(block, Block) for block in done.blocks)


def test_the_open_book_of_the_file_that_is_named_is_found_and_no_other_of_that_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, other = tmp_path / "a" / "shed.xlsx", tmp_path / "b" / "shed.xlsx"
    for path in (one, other):
        path.parent.mkdir()
        path.write_bytes(b"")
    books = {path: SimpleNamespace(fullname=str(path)) for path in (one, other)}
    monkeypatch.setattr(xlwings, "apps", [SimpleNamespace(books=[books[other]])])
    with pytest.raises(FileError, match=f"is not open in Excel.*{other}"):
        find_book(one)
    second = SimpleNamespace(books=[books[one]])
    monkeypatch.setattr(xlwings, "apps", [SimpleNamespace(books=[books[other]]), second])
    monkeypatch.chdir(one.parent)
    assert find_book(Path("shed.xlsx")) is books[one]
    assert find_book(other) is books[other]
