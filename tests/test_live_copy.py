"""The copy whose solved blocks are functions: every formula through xlwings' own dispatcher.

There is no Excel here. The formulas' arguments are the workbook's cells as Excel hands them over;
what Excel itself makes of the copy was not tried. LibreOffice, which lacks the functions, shows
what becomes of the totals when no block answers.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import excel_book
import libreoffice
import openpyxl
import planters
import pytest
import xlwings
from books import Refilled, Spot, edited, formula, opened, refilled, spot
from excel_stand_in import DIV0, excel_functions, windows_engine
from office import needs_office

from estimator import cli
from estimator.engine import Model
from estimator.errors import FileError
from estimator.live import link, solved
from estimator.live.conf_sheet import settings_of
from estimator.live.open_book import refill_book
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.solvers.blank_sizes import TAKEN
from estimator.rows import mark_of
from estimator.workbook.carry.upgrade import upgraded
from estimator.workbook.package.a1 import Range, address, parse_range
from estimator.workbook.package.cells import formula_cells, grid, patched
from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculated
from estimator.workbook.refill.empty_rows import has_gaps
from estimator.workbook.refill.file import check_workbook
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.live_blocks import (
    can_be_live,
    guard_sets,
    guarded_as,
    live_cells,
    live_solvers,
    status_name,
    unwrapped,
)
from estimator.workbook.refill.live_copy import with_live_blocks
from estimator.workbook.refill.refill import plan_refill
from estimator.workbook.template.names import VERSION
from estimator.workbook.template.shipped import template_of

pytestmark = pytest.mark.slow
CALL = re.compile(r'BASE_BLOCK\("([a-z0-9_:;]+)",([a-z0-9_,]+)\)')
FAILED = "ERROR: there is no price."


@pytest.fixture(scope="module")
def model() -> Model:
    return build_model()


@pytest.fixture(scope="module")
def live(demo_book: bytes, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The copy as the command writes it."""
    path = tmp_path_factory.mktemp("live") / "demo.xlsx"
    path.write_bytes(demo_book)
    assert cli.main(["link", "--functions", str(path)]) == 0
    assert path.read_bytes() == demo_book
    return path.with_suffix(".xlsm").read_bytes()


@pytest.fixture(scope="module")
def excel() -> Iterator[SimpleNamespace]:
    with excel_functions() as found:
        yield found


@pytest.fixture(autouse=True)
def _nothing_cached() -> None:
    solved.forget()


@cache
def ranges_of(data: bytes) -> Mapping[str, tuple[str, Range]]:
    return FilePort(opened(data)).ranges()


def at(data: bytes, name: str, option: int = 0) -> Any:
    """What the first row of a named range shows for an option."""
    sheet, area = ranges_of(data)[name]
    return grid(opened(data), sheet).value(area.row1, area.column1 + option).value


def handed_over(data: bytes, name: str) -> Any:
    """A named range as a call of Excel hands it over: rows of cells, a single cell as it is."""
    sheet, area = ranges_of(data)[name]
    held = grid(opened(data), sheet)
    rows = tuple(
        tuple(held.value(row, column).value for column in range(area.column1, area.column2 + 1))
        for row in range(area.row1, area.row2 + 1)
    )
    return rows[0][0] if area.size == 1 else rows


def array_formulas(data: bytes) -> dict[tuple[str, str], str]:
    """Array formulas by sheet and range."""
    package = opened(data)
    return {
        (info.name, element.get("ref") or ""): element.text or ""
        for info in package.sheets
        for element in package.xml(info.part).iter(package.tag("f"))
        if element.get("t") == "array"
    }


def arguments(data: bytes, text: str) -> tuple[str, tuple[Any, ...]]:
    """The block that a formula asks for, and what it hands over."""
    match = CALL.fullmatch(text)
    assert match, text
    return match[1], tuple(handed_over(data, name) for name in match[2].split(","))


def block_of(data: bytes, solver: str, model: Model) -> tuple[str, tuple[Any, ...]]:
    """The first formula of a solver with a column for each option."""
    key = next(k for k in model.writes[solver] if model.quantities[k].axis is None)
    text = next(t for t in array_formulas(data).values() if t.startswith(f'BASE_BLOCK("{key}'))
    return arguments(data, text)


def gap_cells(model: Model, port: FilePort) -> set[Any]:
    """Cells of solved lists in whose tables a solver leaves some blank."""
    places = {k: port.ranges()[k] for k, item in model.quantities.items() if has_gaps(model, item)}
    return {(sheet, *spot) for sheet, area in places.values() for spot in area.cells()}


def covered_rightly(live: bytes, book: bytes, excel: SimpleNamespace, model: Model) -> set[Any]:
    """The cells of all live formulas, each of which gives exactly what the solver writes."""
    wanted = plan_refill(FilePort(opened(live)), model).answered
    written = plan_refill(FilePort(opened(book)), model).writes
    ends = gap_cells(model, FilePort(opened(book)))  # a function can't leave them blank
    same = [cell for cell in wanted if cell not in ends or written[cell] is not None]
    assert all((wanted[cell] or None) == (written[cell] or None) for cell in same)
    covered = set()
    for (sheet, ref), text in array_formulas(live).items():
        label, reads = arguments(live, text)
        block = excel.call("base_block", label, *reads)
        area = parse_range(ref)
        cells = [
            [(sheet, row, column) for column in range(area.column1, area.column2 + 1)]
            for row in range(area.row1, area.row2 + 1)
        ]
        assert block == [
            ["" if wanted[cell] is None else wanted[cell] for cell in row] for row in cells
        ], label
        covered |= {cell for row in cells for cell in row}
    return covered


def test_every_live_formula_gives_exactly_what_the_solver_writes(
    live: bytes, demo_book: bytes, excel: SimpleNamespace, model: Model
) -> None:
    covered = covered_rightly(live, demo_book, excel, model)
    assert covered == live_cells(model, FilePort(opened(live)), can_be_live(model))
    kept = {TAKEN.name, "supply"}
    not_live = {"siting", "blank_sizes", "range", "falls", "what_ifs", "typed_over", *kept}
    assert set(model.solvers) - set(can_be_live(model)) == not_live


def test_a_metric_workbook_is_answered_in_its_units(
    excel: SimpleNamespace, tmp_path: Path, model: Model, metric_demo_book: bytes
) -> None:
    path = tmp_path / "demo.xlsx"
    path.write_bytes(metric_demo_book)
    assert cli.main(["link", "--functions", str(path)]) == 0
    data = path.with_suffix(".xlsm").read_bytes()
    in_metres = metric(model)
    covered = covered_rightly(data, path.read_bytes(), excel, in_metres)
    assert covered == live_cells(in_metres, FilePort(opened(data)), can_be_live(in_metres))


def test_an_edited_input_gives_what_a_refill_would_write(
    live: bytes, demo_book: bytes, excel: SimpleNamespace, model: Model
) -> None:
    after = refilled(edited(demo_book, {"in_building_length_ft": "14 ft 6 in"}))
    for solver in ("ground", "cutting", "sheets"):
        label, _ = block_of(live, solver, model)
        keys = (*model.solvers[solver].reads, *model.solvers[solver].prices)
        block = excel.call("base_block", label, *(handed_over(after.data, key) for key in keys))
        key = label.partition(":")[0]
        shown = [at(after.data, key, option) for option in range(6)]
        assert block[0] == ["" if cell is None else cell for cell in shown]


def test_the_copy_is_a_sound_macro_enabled_workbook_without_a_macro(
    live: bytes, demo_book: bytes
) -> None:
    package = opened(live)
    assert b"sheet.macroEnabled.main+xml" in package.read("[Content_Types].xml")
    assert not any("vba" in part.lower() for part in package.parts)
    assert settings_of(package)["UDF MODULES"] == "estimator.live.udfs"
    book = openpyxl.load_workbook(io.BytesIO(live))
    sheet, cell = spot(live, "cut_cost")
    block = parse_range(book[sheet][cell].value.ref)
    assert (block.row2 - block.row1 + 1, block.column2 - block.column1 + 1) == (13, 6)
    shown = openpyxl.load_workbook(io.BytesIO(live), data_only=True)
    before = openpyxl.load_workbook(io.BytesIO(demo_book), data_only=True)
    for name in ("cut_cost", "total_cost", "overall_flag", "piece_cut"):
        sheet, cell = spot(live, name)
        assert shown[sheet][cell].value == before[sheet][cell].value is not None


def test_the_rest_of_the_workbook_is_carried_over(live: bytes, demo_book: bytes) -> None:
    old, new = opened(demo_book), opened(live)
    changed = {p for p in old.parts if not new.has(p) or old.read(p) != new.read(p)}
    sheets = {info.part for info in old.sheets}
    assert changed - sheets == {
        "[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
    }  # fmt: skip


def test_an_upgrade_asks_for_the_workbook_that_the_copy_was_made_of(live: bytes) -> None:
    older = edited(live, {VERSION: "1"})
    template = opened(template_of(build_model()).read_bytes())
    with pytest.raises(FileError, match="copy with live functions"):
        upgraded(opened(older), template, {})


def test_marks_of_live_blocks_are_off_and_the_others_stay(
    live: bytes, demo_book: bytes, model: Model
) -> None:
    moved = {("in_point_x_ft", 0, 2): 7.25}
    after, plain = edited(live, moved), edited(demo_book, moved)
    marks = _standing_in(after, model, {})
    found = recalculated(opened(plain))
    assert found is not None
    before = found.to_bytes()
    for solver in ("ground", "readings", "frame"):
        assert at(before, mark_of(solver)) == 2
        assert at(marks, mark_of(solver)) == 0, solver
    assert at(before, mark_of("siting")) == at(marks, mark_of("siting")) == 2


def _standing_in(data: bytes, model: Model, failed: dict[str, str]) -> bytes:
    """The copy worked out, values in place of the functions, some statuses bad."""
    package, ranges = opened(data), ranges_of(data)
    edits: dict[tuple[str, str], Any] = {
        (sheet, address(row, column)): grid(package, sheet).value(row, column).value
        for sheet, row, column in live_cells(model, FilePort(package), can_be_live(model))
    }
    for name in can_be_live(model):
        sheet, area = ranges[status_name((name,))]
        edits[sheet, address(area.row1, area.column1)] = failed.get(name, "OK")
    found = recalculated(patched(package, edits).as_xlsx())
    assert found is not None
    return found.to_bytes()


def test_a_total_over_a_failed_block_is_incomplete_and_never_too_small(
    live: bytes, demo_book: bytes, model: Model
) -> None:
    shown = _standing_in(live, model, {"cutting": FAILED})
    counted = 0
    for item in model.quantities.values():
        if item.role != "row" or not item.by_option or item.axis is not None:
            continue
        depends = "cutting" in model.upstream(item.key)
        for option, used in enumerate(["A", "B", "C", "D"]):
            got = at(shown, item.key, option)
            if depends:
                assert got == "incomplete", f"{item.key} of {used}"
                counted += 1
            elif item.key == "stale_most":
                assert got == 2, "the block counts as out of date"
            elif not model.upstream(item.key) and item.kind != "text":
                assert got == at(demo_book, item.key, option), item.key
    assert counted > 100
    assert at(shown, "overall_flag") == f"INCOMPLETE: {FAILED}"
    assert at(shown, "total_cost", 5) in ("", None), "an unused option stays quiet"
    assert at(shown, "ground_high_ft") == at(demo_book, "ground_high_ft")


def _alike(one: Any, other: Any) -> bool:
    """Whether two cells show the same; of numbers one may be the model's, one a formula's."""
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)
    return bool(one == other or not (one or other))


def test_numbers_are_the_same_where_every_block_answers(
    live: bytes, demo_book: bytes, model: Model
) -> None:
    shown = opened(_standing_in(live, model, {}))
    for sheet, row, column, held in formula_cells(opened(demo_book)):
        got = grid(shown, sheet).value(row, column).value
        assert _alike(got, held.value), f"{sheet}!{address(row, column)}: {got!r}, {held.value!r}"


@needs_office
def test_soffice_without_the_functions_says_that_totals_are_incomplete(
    live: bytes, model: Model
) -> None:
    shown = libreoffice.recalculated(opened(live).as_xlsx().to_bytes())

    def says(name: str, option: int = 0) -> Any:
        sheet, cell = spot(live, (name, option))
        return shown[sheet][cell].value

    assert says("overall_flag").startswith("INCOMPLETE: ERROR: the function gives no answer")
    depending = [
        item.key
        for item in model.quantities.values()
        if item.role == "row" and item.axis is None and item.by_option
        and set(model.upstream(item.key)) & set(can_be_live(model))
    ]  # fmt: skip
    assert "total_cost" in depending
    assert {says(key, option) for key in depending for option in range(4)} == {"incomplete"}
    for solvers in guard_sets(model, can_be_live(model)):
        assert says(status_name(solvers)).startswith("ERROR: ")


MOVED: dict[Spot, Any] = {("in_point_x_ft", 0, 2): 7.25}
"""A reading that was taken elsewhere."""


@pytest.fixture(scope="module")
def plain(demo_book: bytes) -> Refilled:
    """The workbook without functions, with that reading."""
    return refilled(edited(demo_book, MOVED))


def test_a_refill_keeps_the_functions_and_shows_the_engines_answers(
    live: bytes, plain: Refilled, model: Model
) -> None:
    after = refilled(edited(live, MOVED))
    assert array_formulas(after.data) == array_formulas(live)
    assert after.refill.typed_over == ()
    assert after.notes == plain.notes
    shown = opened(after.data)
    wanted = opened(plain.data)
    for sheet, row, column, held in formula_cells(wanted):
        got = grid(shown, sheet).value(row, column).value
        assert _alike(got, held.value), f"{sheet}!{address(row, column)}: {got!r}, {held.value!r}"
    ends = gap_cells(model, FilePort(wanted))
    for sheet, row, column in live_cells(model, FilePort(wanted), can_be_live(model)):
        got = grid(shown, sheet).value(row, column).value
        held = grid(wanted, sheet).value(row, column)
        if held.value is None and (sheet, row, column) in ends:
            assert got == grid(shown, sheet).value(row - 1, column).value
            continue
        assert (got or None) == (held.value or None), f"{sheet}!{address(row, column)}"
    assert refilled(after.data).data == after.data, "a second refill changes nothing"


def test_check_solves_live_blocks_itself_and_calls_only_others_out_of_date(
    live: bytes, plain: Refilled, model: Model, tmp_path: Path
) -> None:
    path = tmp_path / "live.xlsm"
    path.write_bytes(edited(live, MOVED))
    found = check_workbook(path, model)
    assert found.stale == {"siting": 2, "blank_sizes": 1, "range": 2}
    wanted = plain.refill.values
    assert found.values["ground_high_ft"].tolist()[:4] == wanted["ground_high_ft"].tolist()[:4]
    assert found.values["total_cost"].tolist()[:4] == wanted["total_cost"].tolist()[:4]


def test_a_cleared_total_gets_its_formula_back_behind_its_status() -> None:
    small = with_live_blocks(Package.open(planters.planted()), planters.model()).data
    before = formula(small, "trips_and_steps")
    assert before
    assert before.startswith("IF(live_status_")
    done = planters.refilled(edited(small, {"trips_and_steps": None}))
    assert formula(done.data, "trips_and_steps") == before
    assert array_formulas(done.data) == array_formulas(small) != {}


def test_numbers_and_formulas_of_ones_own_stay_in_the_copy() -> None:
    model = planters.model()
    typed: dict[Any, Any] = {"volume_ft3": 50.0, "price_usd": "=INDEX(trips,1)*2"}
    copy = with_live_blocks(Package.open(edited(planters.planted(), typed)), model)
    assert at(copy.data, "volume_ft3") == 50
    assert formula(copy.data, "price_usd") == "INDEX(trips,1)*2"
    assert len(plan_refill(FilePort(opened(copy.data)), model).typed_over) == 2


def test_a_formula_behind_a_status_is_read_as_the_formula(model: Model) -> None:
    names = can_be_live(model)
    for key, text in (
        ("total_cost", 'IF(C$5="","",ROUND(C1,2))'),
        ("overall_flag", 'IF(A1=2,"x","y")'),
        ("least_total", 'IF(inputs_ok=1,MAX(1,2),"")'),
        (mark_of("cutting"), 'IF(A1=0,IF(C$5="","",2),1)'),
    ):
        stands = guarded_as(model, key, text, names)
        assert stands != text
        assert unwrapped(stands) == text
        assert unwrapped(text) == text
        assert guarded_as(model, key, text, ()) == text


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda reads, _: reads[:-1], "Make the live copy again"),
        (lambda reads, at: (*reads[:at], 1.0, *reads[at + 1 :]), "has 1 columns and must have 6"),
        (
            lambda reads, at: (*reads[:at], ((DIV0,) * 6,), *reads[at + 1 :]),
            'row 1, column 1: the cell says "#DIV/0!"',
        ),
        (
            lambda reads, at: (*reads[:at], (("incomplete",) * 6,), *reads[at + 1 :]),
            'the text "incomplete"',
        ),
        (lambda reads, at: (*reads[:at], ((None,) * 6,), *reads[at + 1 :]), "option in use"),
    ],
    ids=["too few", "too narrow", "an error", "an incomplete total", "blanks"],
)
def test_a_block_without_an_answer_says_why_in_every_cell(
    live: bytes, excel: SimpleNamespace, model: Model, spoil: Any, says: str
) -> None:
    label, reads = block_of(live, "frame", model)
    place = model.solvers["frame"].reads.index("subgrade_ft")
    block = excel.call("base_block", label, *spoil(reads, place))
    answer = excel.call("base_block", label, *reads)
    assert [len(row) for row in block] == [len(row) for row in answer]
    (text,) = {cell for row in block for cell in row}
    assert text.startswith("ERROR: ")
    assert says in text


def test_an_error_of_the_engine_stands_in_every_cell_of_the_block(
    live: bytes, excel: SimpleNamespace, model: Model
) -> None:
    label, reads = block_of(live, "cutting", model)

    keys = model.solvers["cutting"].reads
    nothing = tuple(
        tuple((None,) for _ in rows) if keys[n : n + 1] and keys[n].startswith("item_") else rows
        for n, rows in enumerate(reads)
    )
    assert nothing != reads
    block = excel.call("base_block", label, *nothing)
    assert len({cell for row in block for cell in row}) == 1
    assert block[0][0].startswith("ERROR: ")


def test_a_block_that_no_solver_gives_is_refused(excel: SimpleNamespace) -> None:
    ((text,),) = excel.call("base_block", "siting_says", 1.0)
    assert text.startswith('ERROR: no solver gives "siting_says"')


def test_blocks_asked_for_at_the_same_time_are_the_right_ones(
    live: bytes, excel: SimpleNamespace
) -> None:
    asked = [arguments(live, text) for text in array_formulas(live).values()] * 2
    alone = [excel.call("base_block", label, *reads) for label, reads in asked]
    solved.forget()
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda a: excel.call("base_block", a[0], *a[1]), asked))
    assert together == alone


def test_a_refill_of_the_open_copy_leaves_live_blocks_to_their_functions(
    live: bytes, model: Model
) -> None:
    with windows_engine() as engine:
        book = excel_book.Book(live, engine)
        sheet, cell = spot(live, "in_point_x_ft")
        area = parse_range(cell)
        book.data.cells[sheet][area.row1 + 2, area.column1] = excel_book.Content(7.25)
        before = book.data.snapshot()
        done = refill_book(xlwings.Book(impl=book))
    assert done.blocks
    changed = {
        (name, *place)
        for name, cells in book.data.cells.items()
        for place, content in cells.items()
        if before[name].get(place) != content
    }
    assert changed
    assert not changed & live_cells(model, FilePort(opened(live)), can_be_live(model))
    assert done.notes == ()


def test_an_open_copy_without_its_functions_is_named_by_the_refill(live: bytes) -> None:
    with windows_engine() as engine:
        book = excel_book.Book(live, engine)
        sheet, cell = spot(live, status_name(("cutting",)))
        area = parse_range(cell)
        book.data.cells[sheet][area.row1, area.column1] = excel_book.Content(FAILED)
        done = refill_book(xlwings.Book(impl=book))
    assert done.notes == (f"Live blocks are not refilled, and one gives no answer: {FAILED}",)


def test_a_copy_is_made_once_and_has_the_ending_of_macro_workbooks(
    live: bytes, demo_book: bytes, model: Model, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    path = tmp_path / "demo.xlsx"
    path.write_bytes(demo_book)
    with pytest.raises(FileError, match=r"must be an \.xlsm"):
        link.link_functions(path, tmp_path / "copy.xlsx")
    (tmp_path / "demo.xlsm").write_bytes(live)
    with pytest.raises(FileError, match="file of that name"):
        link.link_functions(path)
    with pytest.raises(FileError, match="functions already"):
        with_live_blocks(opened(live), model)
    assert cli.main(["link", str(path), "-o", "copy.xlsm"]) == 2
    assert cli.main(["next", str(tmp_path / "demo.xlsm"), str(tmp_path / "new.xlsx")]) == 2
    said = capsys.readouterr().err
    assert "-o belongs to --functions" in said
    assert "Start from the .xlsx workbook" in said


def test_a_workbook_without_live_blocks_has_no_live_solvers(
    demo_book: bytes, live: bytes, model: Model
) -> None:
    assert live_solvers(model, FilePort(opened(demo_book)).ranges()) == ()
    assert live_solvers(model, FilePort(opened(live)).ranges()) == can_be_live(model)
