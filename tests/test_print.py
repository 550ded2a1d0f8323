"""Pages that are carried away: which sheets they are of, what stands at their foot."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from books import opened
from office import needs_office
from pdf_pages import texts

from estimator import cli
from estimator.errors import FileError
from estimator.model import build_model
from estimator.office import to_pdf
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.parts import Package
from estimator.workbook.package.print_copy import MOST_FOOTER, Footer, print_copy
from estimator.workbook.package.print_rows import Shown
from estimator.workbook.refill import printed
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book
from estimator.workbook.refill.unasked import unasked
from estimator.workbook.template.layout import layout
from estimator.workbook.template.names import COSTS_THEN, named_ranges
from estimator.workbook.template.plans import NotesPlan, SectionPlan, TablePlan

ASKED = ("siting_asked", "falls_asked")


def renamed(data: bytes, old: str, new: str) -> bytes:
    """The workbook with another title for a sheet, in every reference to it too."""
    package = opened(data)
    changes: dict[str, bytes | None] = {
        part: package.read(part).replace(f"'{old}'!".encode(), f"'{new}'!".encode())
        for part in package.parts
        if part.endswith(".xml")
    }
    main = changes[package.main_part]
    assert main is not None
    changes[package.main_part] = main.replace(f'name="{old}"'.encode(), f'name="{new}"'.encode())
    return package.with_parts(changes)


def with_foot(data: bytes, sheet: str, foot: str) -> bytes:
    """The workbook with a footer of a person's own on a sheet."""
    package = opened(data)
    part = next(s.part for s in package.sheets if s.name == sheet)
    usual = b"&amp;L&amp;A&amp;RPage &amp;P of &amp;N"
    before = package.read(part)
    assert usual in before
    return package.with_parts({part: before.replace(usual, foot.encode())})


@pytest.mark.slow
@needs_office
def test_a_sheet_with_another_title_is_printed_and_a_foot_of_ones_own_stays(
    demo_book: bytes, tmp_path: Path
) -> None:
    book = tmp_path / "book.xlsx"
    book.write_bytes(with_foot(renamed(demo_book, "Buy List", "To order"), "To order", "Mine"))
    target = tmp_path / "orders.PDF"
    target.write_bytes(b"%PDF-1.4 of last week")
    assert cli.main(["print", str(book), "--for", "yard", "-o", str(target)]) == 0
    found = texts(target)
    assert len(found) > 1
    for page in found:
        assert page.strip().startswith("Order")
        assert "Supplier, and what is ordered" in page
        assert page.strip().endswith("Mine")


def test_without_libreoffice_the_sheets_to_print_are_named(
    demo_book: bytes,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(printed, "find_office", lambda: None)
    book = tmp_path / "book.xlsx"
    book.write_bytes(demo_book)
    assert cli.main(["print", str(book), "--for", "lot"]) == 2
    told = capsys.readouterr().err
    assert "not on this machine" in told
    assert "Field Sheet, Pictures" in told
    assert not list(tmp_path.glob("*.pdf"))


@pytest.mark.parametrize(
    ("target", "told"), [("notes.pdf", "that is no PDF"), ("notes.txt", "End it in .pdf")]
)
def test_what_is_no_pdf_is_not_written_over(
    tmp_path: Path, target: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    notes = tmp_path / target
    notes.write_text("measured on Tuesday")
    book = tmp_path / "book.xlsx"
    assert cli.main(["print", str(book), "--for", "saw", "-o", str(notes)]) == 2
    assert told in capsys.readouterr().err
    assert notes.read_text() == "measured on Tuesday"


def test_a_workbook_of_another_kind_has_no_such_pages(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    openpyxl.Workbook().save(tmp_path / "other.xlsx")
    assert cli.main(["print", str(tmp_path / "other.xlsx"), "--for", "lot"]) == 2
    assert "made by this estimator" in capsys.readouterr().err


def test_a_sheet_that_is_gone_is_named(demo_book: bytes) -> None:
    package = opened(demo_book)
    names = {n: t for n, t in package.names.items() if t.sheet == "Buy List"}
    main = package.read(package.main_part)
    for name in names:
        main = main.replace(f'name="{name}"'.encode(), f'name="gone_{name}"'.encode())
    lost = Package.open(package.with_parts({package.main_part: main}), label="lost.xlsx")
    with pytest.raises(FileError, match="Buy List is not there"):
        printed.tabs_for(lost, build_model(), "yard", {})


@pytest.mark.slow
@pytest.mark.parametrize("does", ["exit 0", "sleep 300"])
def test_a_libreoffice_that_makes_nothing_or_hangs_is_said_in_a_sentence(
    tmp_path: Path, does: str
) -> None:
    office = tmp_path / "soffice"
    office.write_text(f"#!/bin/sh\n{does}\n")
    office.chmod(0o755)
    with pytest.raises(FileError, match="LibreOffice made no pages"):
        to_pdf(b"", "book.xlsx", office, most_seconds=1)


def test_a_foot_with_codes_in_its_texts_and_one_too_long_are_whole_codes() -> None:
    short = Footer(("12 ft shed, Smith & sons", "Piers"), "Estimate of 2026-05-04").code
    assert "&10 12 ft shed, Smith && sons\n Piers&R" in short
    long = Footer(("&" * 300, "option " * 50), "today").code
    assert len(long) <= MOST_FOOTER
    assert long.endswith("&R&10 today\nPage &P of &N")
    texts = long.removeprefix("&L&10 ").partition("&R&10 ")[0]
    assert "&" not in texts.replace("&&", "")


def table_of_sixty(used: int) -> Package:
    """A sheet of two tables of thirty lines, of which so many are used, a page for each."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Cuts"
    for first in (5, 40):
        sheet.cell(first - 1, 1, "Title")
        for row in range(first, first + used):
            sheet.cell(row, 1, "used")
    sheet.cell(60, 2, "a note of one's own beside the table")
    sheet.row_dimensions[38].height = 9.0
    sheet.print_area = "A1:C35,A39:C69"
    sheet.print_title_rows = "1:3"
    sheet.page_setup.paperSize, sheet.page_setup.orientation = 1, "portrait"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    stream = io.BytesIO()
    book.save(stream)
    return opened(stream.getvalue())


@pytest.mark.parametrize(
    ("used", "area"),
    [(4, "'Cuts'!$A$1:$C$69"), (30, "'Cuts'!$A$1:$C$38,'Cuts'!$A$39:$C$69")],
)
def test_lines_that_hold_nothing_are_not_printed_and_what_is_left_is_put_together(
    used: int, area: str
) -> None:
    unused = {row: frozenset({1}) for first in (5, 40) for row in range(first + used, first + 30)}
    shown = {"Cuts": Shown(0.89, unused)}
    copy = print_copy(
        table_of_sixty(used), {"Cuts"}, Footer(("", ""), ""), ("", ""), shown, {"Cuts": {6: 11.5}}
    )
    sheet = openpyxl.load_workbook(io.BytesIO(copy))["Cuts"]
    assert sheet.print_area == area
    assert sheet.page_setup.fitToHeight == 1  # of each area
    assert sheet.page_setup.scale is None
    hidden = {row for row, look in sheet.row_dimensions.items() if look.hidden}
    assert hidden == set(unused) - {60}


def test_a_table_is_printed_to_its_last_line_though_its_sheet_stops_before() -> None:
    shown = {"Cuts": Shown(0.5, {}, goes_on={35: (37, 38)})}
    package = table_of_sixty(30)
    copy = print_copy(package, {"Cuts"}, Footer(("", ""), ""), ("", ""), shown, {})
    sheet = openpyxl.load_workbook(io.BytesIO(copy))["Cuts"]
    assert sheet.row_dimensions[38].hidden  # which tells of more
    assert sheet.print_area == "'Cuts'!$A$1:$C$69"


@pytest.mark.parametrize(("used", "titles"), [(4, "$1:$3"), (30, "$38:$39")])
def test_headings_of_a_table_are_repeated_only_where_one_goes_on(used: int, titles: str) -> None:
    book = openpyxl.load_workbook(io.BytesIO(table_of_sixty(30).with_parts({})))
    book["Cuts"].print_area = "A1:C69"
    book["Cuts"].print_title_rows = "38:39"
    for row in range(5, 70):
        book["Cuts"].row_dimensions[row].height = 15.0
    stream = io.BytesIO()
    book.save(stream)
    rows = {row: frozenset({1}) for row in range(40 + used, 70)}
    copy = print_copy(
        opened(stream.getvalue()),
        {"Cuts"},
        Footer(("", ""), ""),
        ("", ""),
        {"Cuts": Shown(1.0, rows)},
        {},
    )
    assert openpyxl.load_workbook(io.BytesIO(copy))["Cuts"].print_title_rows == titles


def test_what_a_base_has_no_frame_or_joints_for_is_not_carried(demo_book: bytes) -> None:
    model, package = build_model(), opened(demo_book)
    values = dict(check_book(FilePort(package), model).values)
    frame = next(sheet for sheet in model.sheets if sheet.name == "Floor Frame")

    def carried(**asked: object) -> tuple[list[str], set[str]]:
        told = values | {key: np.array([[value]], dtype=object) for key, value in asked.items()}
        tabs = printed.tabs_for(package, model, "saw", told)
        left = unasked(model, layout(model), frame, FilePort(package).ranges(), told)
        gone = {row for first, last in (left.rows if left else ()) for row in range(first, last)}
        notes = [p for p in layout(model).sheets["Floor Frame"].parts if isinstance(p, NotesPlan)]
        return tabs, {part.notes.title for part in notes if part.title_row in gone}

    parted, doubled = "Joists in parts", "Doubled joists and openings"
    whole = ["Cut Plan", "Sheet Layout", "Floor Frame"]
    assert carried(floor_meet="no. 3", joist_doubled=2) == (whole, set())
    assert carried(floor_meet="", joist_doubled=0) == (whole, {parted, doubled})
    assert carried(layout_sheets=0, floor_joists=0)[0] == whole[:1]


def test_folded_groups_are_open_in_what_is_kept_and_their_words_go() -> None:
    book = openpyxl.load_workbook(io.BytesIO(table_of_sixty(30).with_parts({})))
    sheet = book["Cuts"]
    sheet["A50"], sheet["B50"] = "Saw", "kerf 1/8 in, and so on past the end of the page"
    sheet.row_dimensions[50].collapsed = True
    sheet.row_dimensions[51].outlineLevel, sheet.row_dimensions[51].hidden = 1, True
    stream = io.BytesIO()
    book.save(stream)
    for unfolded in (False, True):
        copy = print_copy(
            opened(stream.getvalue()),
            {"Cuts"},
            Footer(("", ""), ""),
            ("", ""),
            {},
            {},
            unfolded=unfolded,
        )
        printed_sheet = openpyxl.load_workbook(io.BytesIO(copy))["Cuts"]
        assert printed_sheet.row_dimensions[51].hidden != unfolded
        assert (printed_sheet["B50"].value is None) == unfolded
        assert printed_sheet["A50"].value == "Saw"


@pytest.mark.slow
def test_parts_that_nothing_was_asked_of_are_left_out_with_their_chart(demo_book: bytes) -> None:
    model, port = build_model(), FilePort(opened(demo_book))
    siting = next(sheet for sheet in model.sheets if sheet.name == "Siting")
    values = dict(check_book(port, model).values)
    ranges = port.ranges()

    def left_out(**asked: float) -> tuple[set[str], bool]:
        told = values | {key: np.array([[asked.get(key, 0.0)]]) for key in ASKED}
        found = unasked(model, layout(model), siting, ranges, told)
        if found is None:
            return set(), False
        rows = {row for first, last in found.rows for row in range(first, last + 1)}
        tables = ("place_x_ft", "fall_at_in", "fall_turn_text")
        return {key for key in tables if ranges[key][1].row1 in rows}, found.drawn

    assert left_out(siting_asked=1, falls_asked=1) == (set(), False)
    assert left_out(siting_asked=1) == ({"fall_at_in", "fall_turn_text"}, True)
    assert left_out(falls_asked=1) == ({"place_x_ft"}, False)


def test_pages_under_headings_of_their_own_are_printed_from_twins_of_the_sheet() -> None:
    book = openpyxl.load_workbook(io.BytesIO(table_of_sixty(30).with_parts({})))
    after = book.create_sheet("After")
    after["A1"], after.print_area = "after", "A1:B2"
    for row in range(5, 70):
        book["Cuts"].row_dimensions[row].height = 33.0
    book["Cuts"].row_dimensions[38].height = 9.0
    stream = io.BytesIO()
    book.save(stream)
    told = Shown(1.0, {}, tables=((3, 4, 34), (39, 39, 69)))
    tabs, foot = {"Cuts", "After"}, Footer(("", ""), "")
    copy = print_copy(opened(stream.getvalue()), tabs, foot, ("", ""), {"Cuts": told}, {})
    found = openpyxl.load_workbook(io.BytesIO(copy))
    assert found.sheetnames == ["Cuts", "Cuts (1)", "Cuts (2)", "Cuts (3)", "After"]
    assert [sheet.print_title_rows for sheet in found] == [
        "$1:$3",
        "$3:$4",
        "$1:$3",
        "$39:$39",
        None,
    ]
    ends = [sheet.print_area.rpartition("$")[2] for sheet in found]
    assert ends == [*sorted(ends[:-1], key=int), "2"]  # in the order of the rows, to the last
    assert ends[-2] == "69"
    assert found["Cuts (3)"]["A50"].value == "used"


def test_letters_of_options_stand_over_sections_far_below_and_long_answers_wrap() -> None:
    book = openpyxl.load_workbook(io.BytesIO(table_of_sixty(30).with_parts({})))
    sheet = book["Cuts"]
    sheet["B5"], sheet["C5"], sheet["A42"] = "A pad", "B slab", "What else tells them apart"
    sheet["A44"], sheet["A45"] = "an answer of many words", "another"
    sheet["B45"] = "state"
    stream = io.BytesIO()
    book.save(stream)
    wide = {row: Range(row, 1, row, 3) for row in (44, 45)}
    told = {"Cuts": Shown(0.5, {}, lettered={42: Range(5, 2, 5, 3)}, wrapped=wide)}
    copy = print_copy(opened(stream.getvalue()), {"Cuts"}, Footer(("", ""), ""), ("", ""), told, {})
    printed_sheet = openpyxl.load_workbook(io.BytesIO(copy))["Cuts"]
    assert [printed_sheet[cell].value for cell in ("B42", "C42")] == ["=LEFT(B5,1)", "=LEFT(C5,1)"]
    assert printed_sheet["C42"].alignment.horizontal == "right"
    assert [str(merged) for merged in printed_sheet.merged_cells.ranges] == ["A44:C44"]
    assert printed_sheet["A44"].alignment.wrap_text


def test_notes_go_with_their_rows_and_tables_without_a_line_are_left_out(demo_book: bytes) -> None:
    model, port = build_model(), FilePort(opened(demo_book))
    book, plan = check_book(port, model), layout(model)
    shown = printed.shown_rows(model, None, port.ranges(), book, {})
    checks = plan.sheets["Checks"]
    section = next(
        p for p in checks.parts if isinstance(p, SectionPlan) and "old_prices" in p.noted
    )
    foot = {key: row for row, key in enumerate(section.noted, start=section.foot_row)}
    assert foot["old_prices"] in shown["Checks"].unused  # there are none, and no row tells it
    assert foot["overall_flag"] not in shown["Checks"].unused
    table = next(p for p in checks.parts if isinstance(p, TablePlan) and p.printed_row)
    assert (table.title_row, table.last_row + 1) in shown["Checks"].unasked
    names = named_ranges(plan)
    assert shown["Lists"].unasked == ((names[COSTS_THEN][1].row1,) * 2,)
    assert shown["Start"].lettered
