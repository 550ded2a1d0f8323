"""A refill: the cells it owns follow the inputs; everything else in the file stays as it was.

Numbers, and what is left alone, are looked at in the whole workbook; how a refill finds, keeps and
puts back cells, in the small one of the planters.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection
from typing import Any

import numpy as np
import planters
import pytest
from books import Refilled, cells_of, edited, formula, opened, refilled, spot, value
from known_job import known_job
from libreoffice import convert
from lxml import etree
from office import Office, needs_office
from rich_workbooks import add_parts, change_part, parts_of, picture

from estimator.engine import Model
from estimator.errors import FileError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.solvers.blank_sizes import TAKEN
from estimator.typed_job import read_inputs
from estimator.workbook.package.a1 import address, parse_cell
from estimator.workbook.package.cells import Edit, Formula, apply
from estimator.workbook.package.reading import CellError, grid
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.kept_answers import from_cells
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.made_from import MADE_SHEET
from estimator.workbook.template.names import COSTS_THEN
from estimator.workbook.template.snapshot import OVER_THEN

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
EDITS = {
    "in_building_length_ft": "14 ft",
    "in_building_width_ft": "10' 6\"",
    "in_soil": "clay",
    "in_wage_per_h": 37.5,
    ("in_stone_depth_in", 0): "5",
    ("in_point_reading_ft", 0, 2): "4.75",
    ("in_item_price", 0, 0): 9.99,
}


@pytest.fixture(scope="module")
def edited_book(demo_book: bytes) -> bytes:
    """The demo after inputs of every kind of sheet were edited."""
    return edited(demo_book, EDITS)


@pytest.fixture(scope="module")
def done(edited_book: bytes) -> Refilled:
    """And refilled."""
    return refilled(edited_book)


@pytest.fixture(scope="module")
def small() -> bytes:
    """The small workbook after some of its inputs were edited."""
    edits: dict[Any, Any] = {
        planters.LENGTH: "14 ft",
        ("in_depth_in", 0): "9",
        ("in_soil_price", 0, 1): 1.75,
    }
    return edited(planters.planted(), edits)


@pytest.fixture(scope="module")
def small_done(small: bytes) -> Refilled:
    """And refilled."""
    return planters.refilled(small)


def fresh_values(
    job: TypedJob, kept_by: bytes | None = None, model: Model | None = None
) -> dict[str, Any]:
    """A fresh run on a job; the first suggestions are those that a workbook keeps, if given."""
    from estimator.workbook.refill.book import read_book

    model = model or build_model()
    inputs = read_inputs(model, job)
    if kept_by is not None:
        port = FilePort(opened(kept_by))
        model = from_cells(port, model, read_book(port, model), [TAKEN.name])
    return evaluate(model, inputs)


def disagreements(data: bytes, values: dict[str, Any], model: Model | None = None) -> list[str]:
    """Cells that do not show what the engine gives; texts to the letter, numbers to 1e-9."""
    model, port = model or build_model(), FilePort(opened(data))
    from estimator.workbook.refill.book import read_book

    book = read_book(port, model)
    found = []
    for item, _, (sheet, *at), wanted in cells_of(model, book, values, "row", "solved"):
        shown = grid(port.package, sheet).value(*at).value
        if shown is None and item.role == "solved" and item.axis:
            shown = "" if item.kind == "text" else blank_row(wanted)
        if not alike(shown, wanted):
            found.append(f"{sheet}!{address(*at)} {item.key}: {shown!r}")
    return found


def blank_row(wanted: float) -> float | None:
    """What a blank number of a solved list shows: nothing in an unused option, else 0."""
    return None if np.isnan(wanted) else 0.0


def alike(shown: Any, wanted: Any) -> bool:
    if isinstance(wanted, str):
        return (shown or "") == wanted
    if np.isnan(wanted):
        return shown in (None, "") or isinstance(shown, CellError)
    return isinstance(shown, float) and shown == pytest.approx(wanted, rel=1e-9, abs=1e-9)


def job_of(data: bytes, model: Model | None = None) -> TypedJob:
    from estimator.workbook.refill.book import read_book

    return read_book(FilePort(opened(data)), model or build_model()).typed


def test_every_number_shown_is_the_engines_for_the_edited_inputs(done: Refilled) -> None:
    job = job_of(done.data)
    assert job.cells["building_length_ft", 0] == "14 ft"
    assert disagreements(done.data, fresh_values(job, done.data)) == []


def test_the_demo_holds_the_jobs_own_numbers(demo_book: bytes) -> None:
    assert disagreements(demo_book, fresh_values(known_job())) == []


def test_nothing_is_out_of_date_after_a_refill_and_something_is_before(
    edited_book: bytes, done: Refilled
) -> None:
    model = build_model()
    before = check_book(FilePort(opened(edited_book)), model)
    after = check_book(FilePort(opened(done.data)), model)
    assert {"ground", "frame", "cutting", "range"} <= before.stale.keys()
    assert after.stale == {}
    assert after.typed_over == ()


def test_a_changed_price_makes_the_cut_plan_dearer_not_wrong(demo_book: bytes) -> None:
    row = next(
        at
        for (key, at), item in known_job().cells.items()
        if key == "item_category" and item == "lumber"
    )
    changed = edited(demo_book, {("in_item_price", 0, row): 99.0})
    stale = check_book(FilePort(opened(changed)), build_model()).stale
    assert stale["cutting"] == 1
    assert stale["range"] == 2


def test_twice_refilled_is_once_refilled_byte_for_byte(done: Refilled) -> None:
    again = refilled(done.data)
    assert again.data == done.data
    assert again.notes == ()


def test_only_sheets_change_and_in_them_only_owned_cells(
    edited_book: bytes, done: Refilled
) -> None:
    before, after = parts_of(edited_book), parts_of(done.data)
    assert list(before) == list(after)
    changed = [name for name in before if before[name] != after[name]]
    assert changed
    assert all(name.startswith("xl/worksheets/sheet") for name in changed)
    owned = owned_cells(done.data)
    names = {info.part: info.name for info in opened(done.data).sheets}
    for part in changed:
        ours = owned.get(names[part], set())
        both = cells_in(before[part]) & cells_in(after[part])
        assert emptied(before[part], ours, both) == emptied(after[part], ours, both), part


def test_what_comes_into_a_solved_list_has_the_look_of_its_first_row(
    edited_book: bytes, done: Refilled
) -> None:
    before, package = opened(edited_book), opened(done.data)
    came = 0
    for item in build_model().quantities.values():
        if item.role != "solved" or item.axis is None:
            continue
        sheet, area = FilePort(package).ranges()[item.key]
        cells, old = grid(package, sheet).cells, grid(before, sheet).cells
        for place in area.cells():
            if place in cells and place not in old:
                came += 1
                first = cells[area.row1, place[1]].get("s")
                assert first is not None
                assert cells[place].get("s") == first
    assert came


def owned_cells(data: bytes, model: Model | None = None) -> set[str] | Any:
    """By sheet, the addresses of solved cells, of the snapshot, its counts and all formulas."""
    port, model = FilePort(opened(data)), model or build_model()
    found: dict[str, set[str]] = {}
    solved = [key for key, item in model.quantities.items() if item.role == "solved"]
    for name in (*solved, "snapshot_value", "solved_checksum", OVER_THEN, COSTS_THEN):
        sheet, area = port.ranges()[name]
        found.setdefault(sheet, set()).update(
            address(row, column)
            for row in range(area.row1, area.row2 + 1)
            for column in range(area.column1, area.column2 + 1)
        )
    for info in port.package.sheets:
        cells = grid(port.package, info.name)
        found.setdefault(info.name, set()).update(
            address(*place)
            for place, cell in cells.cells.items()
            if cells.formula_of(cell) is not None
        )
    return found


def cells_in(sheet: bytes) -> set[str | None]:
    return {cell.get("r") for cell in etree.fromstring(sheet).iter(f"{MAIN}c")}


def emptied(sheet: bytes, addresses: set[str], both: Collection[str | None] | None = None) -> bytes:
    """Canonical XML of a sheet in which the given cells keep formula and style alone.

    One that has neither, or is not in ``both`` files, is left out, and a row of nothing else: a
    refill makes the cell, and its row, for what it fills. So is how far cells reach.
    """
    root = etree.fromstring(sheet)
    for reach in root.iter(f"{MAIN}dimension"):
        reach.attrib.pop("ref")
    for cell in list(root.iter(f"{MAIN}c")):
        if cell.get("r") in addresses:
            for child in list(cell):
                if child.tag != f"{MAIN}f":
                    cell.remove(child)
            cell.attrib.pop("t", None)
            bare = cell.get("s") is None or (both is not None and cell.get("r") not in both)
            if bare and len(cell) == 0:
                cell.getparent().remove(cell)
    for row in list(root.iter(f"{MAIN}row")):
        row.attrib.pop("spans", None)
        if len(row) == 0 and set(row.attrib) == {"r"}:
            row.getparent().remove(row)
    text: bytes = etree.tostring(root, method="c14n")
    return text


# --- what is solved again ---


def solved_again(
    data: bytes, monkeypatch: pytest.MonkeyPatch, model: Model
) -> tuple[Refilled, set[str]]:
    """A refill, and the names of the solvers that ran."""
    ran: set[str] = set()

    def counted(name: str, solve: Any) -> Any:
        def run(reads: Any) -> Any:
            ran.add(name)
            return solve(reads)

        return run

    solvers = {
        name: dataclasses.replace(solver, function=counted(name, solver.function))
        for name, solver in model.solvers.items()
    }
    monkeypatch.setattr(model, "solvers", solvers)
    return refilled(data, model=model), ran


def test_nothing_is_solved_again_that_reads_the_same(
    done: Refilled, monkeypatch: pytest.MonkeyPatch
) -> None:
    again, ran = solved_again(done.data, monkeypatch, build_model())
    assert ran == set()
    assert again.data == done.data


def test_a_wage_moves_the_range_and_no_cut(done: Refilled, monkeypatch: pytest.MonkeyPatch) -> None:
    dearer = edited(done.data, {"in_wage_per_h": 52.0})
    again, ran = solved_again(dearer, monkeypatch, build_model())
    assert "range" in ran
    assert not {"ground", "frame", "cutting", "sheets"} & ran
    assert disagreements(again.data, fresh_values(job_of(again.data), again.data)) == []


def test_cells_taken_as_they_are_give_the_file_that_solving_gives(
    small: bytes, small_done: Refilled, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without its checksums a workbook is solved from scratch, to the same file."""
    model = planters.model()
    lines = {("solved_checksum", 0, row): None for row in range(len(model.solvers))}
    slow, ran = solved_again(edited(small, lines), monkeypatch, model)
    assert ran == set(model.solvers)
    assert slow.data == small_done.data


def test_an_input_solves_again_what_reads_it_and_nothing_else(
    small_done: Refilled, monkeypatch: pytest.MonkeyPatch
) -> None:
    wider = edited(small_done.data, {"in_planter_width_in": 36.0})
    again, ran = solved_again(wider, monkeypatch, model := planters.model())
    assert ran == {"steps", "buying"}, "both read the volume"
    assert (
        disagreements(again.data, fresh_values(job_of(again.data, model), model=model), model) == []
    )
    drier = edited(small_done.data, {("in_soil_season", 0, 1): "fall"})
    assert solved_again(drier, monkeypatch, model)[1] == set()


def test_a_number_typed_into_a_solved_list_is_put_right(monkeypatch: pytest.MonkeyPatch) -> None:
    book = planters.planted()
    cell = ("step_rise_in", 0, 2)
    spoiled = edited(book, {cell: value(book, cell) + 1})
    again, ran = solved_again(spoiled, monkeypatch, planters.model())
    assert ran == {"steps"}
    assert [note for note in again.notes if "typed into this solved list" in note]
    before, after = parts_of(book), parts_of(again.data)
    for part in before:
        if before[part] != after[part]:
            assert emptied(before[part], set()) == emptied(after[part], set()), part


def test_a_number_typed_over_a_solved_single_value_is_kept_and_nothing_else_changes() -> None:
    cell = ("bags", 0)
    decided = edited(planters.planted(), {cell: 1.0})
    again = planters.refilled(decided)
    assert value(again.data, cell) == 1.0
    assert [note for note in again.notes if "(Bags) keeps the value typed over it, 1;" in note]
    before, after = parts_of(decided), parts_of(again.data)
    owned = owned_cells(again.data, planters.model())
    for info in opened(again.data).sheets:
        ours = owned[info.name]
        assert emptied(before[info.part], ours) == emptied(after[info.part], ours), info.name
    assert list(before) == list(after)


# --- a person's own things ---


def with_own_sheet(data: bytes) -> bytes:
    """Add a worksheet with a drawing (chart and picture) and a comment, part by part."""
    import io

    import xlsxwriter

    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        sheet = book.add_worksheet("Photos")
        sheet.write_number(0, 0, 4)
        sheet.write_comment("B2", "look at the gate")
        chart = book.add_chart({"type": "column"})
        chart.add_series({"values": "=Photos!$A$1:$A$3"})
        sheet.insert_chart("D2", chart)
        sheet.insert_image("D20", "p.png", {"image_data": picture(), "description": "site"})
    donor = parts_of(stream.getvalue())
    kinds = ("drawing", "chart", "media", "comments", "vmlDrawing")
    moved = {
        name: content
        for name, content in donor.items()
        if name.startswith("xl/") and any(kind in name for kind in kinds)
    }
    rename = {name: name.replace("1.", "901.") for name in moved}
    rename["xl/worksheets/sheet1.xml"] = "xl/worksheets/sheet901.xml"
    rename["xl/worksheets/_rels/sheet1.xml.rels"] = "xl/worksheets/_rels/sheet901.xml.rels"
    parts: dict[str, bytes] = {}
    for name, new in rename.items():
        content = donor[name]
        if not name.endswith(("png", "vml")):
            for old, other in rename.items():
                content = content.replace(
                    old.rsplit("/", 1)[1].encode(), other.rsplit("/", 1)[1].encode()
                )
        parts[new] = content
    parts["xl/worksheets/sheet901.xml"] = parts["xl/worksheets/sheet901.xml"].replace(
        b' s="1"', b""
    )
    types = donor["[Content_Types].xml"].decode()
    added = "".join(
        piece
        for piece in types.replace("/>", "/>\n").splitlines()
        if "PartName" in piece and any(kind in piece for kind in (*kinds, "worksheets/"))
    )
    for old, other in rename.items():
        added = added.replace(f"/{old}", f"/{other}")
    defaults = "".join(
        f'<Default Extension="{ending}" ContentType="{kind}"/>'
        for ending, kind in (
            ("png", "image/png"),
            ("vml", "application/vnd.openxmlformats-officedocument.vmlDrawing"),
        )
        if f'Extension="{ending}"'.encode() not in parts_of(data)["[Content_Types].xml"]
    )
    data = change_part(
        data,
        "[Content_Types].xml",
        lambda c: c.replace(b"</Types>", f"{defaults}{added}</Types>".encode()),
    )
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    link = f'<Relationship Id="rId901" Type="{office}/worksheet" Target="worksheets/sheet901.xml"/>'
    data = change_part(
        data,
        "xl/_rels/workbook.xml.rels",
        lambda c: c.replace(b"</Relationships>", f"{link}</Relationships>".encode()),
    )
    entry = f'<sheet xmlns:r="{office}" name="Photos" sheetId="901" r:id="rId901"/>'
    data = change_part(
        data, "xl/workbook.xml", lambda c: c.replace(b"</sheets>", f"{entry}</sheets>".encode())
    )
    return add_parts(data, parts)


def test_own_sheets_charts_pictures_and_comments_are_kept(
    small: bytes, small_done: Refilled
) -> None:
    furnished = with_own_sheet(small)
    own = planters.refilled(furnished)
    before, after = parts_of(furnished), parts_of(own.data)
    mine = [name for name in before if "901" in name]
    assert len(mine) >= 8
    assert all(before[name] == after[name] for name in mine)
    assert before["xl/workbook.xml"] == after["xl/workbook.xml"]
    assert value(own.data, ("cost_usd", 0)) == value(small_done.data, ("cost_usd", 0))
    assert planters.refilled(own.data).data == own.data


# --- sheets and cells that moved ---


def rearranged(data: bytes) -> bytes:
    """Job renamed and hidden, and the last sheet brought to the front, as XML."""

    def change(content: bytes) -> bytes:
        root = etree.fromstring(content)
        sheets = root.find(f"{MAIN}sheets")
        assert sheets is not None
        for element in root.iter(f"{MAIN}definedName"):
            element.text = (element.text or "").replace("Job!", "'My job & site'!")
            if element.get("localSheetId"):
                local = int(element.get("localSheetId") or 0)
                element.set("localSheetId", str((local + 1) % len(sheets)))
        for sheet in sheets:
            if sheet.get("name") == "Job":
                sheet.set("name", "My job & site")
                sheet.set("state", "hidden")
        sheets.insert(0, sheets[-1])
        for view in root.iter(f"{MAIN}workbookView"):
            view.attrib.pop("activeTab", None)
        return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)

    data = change_part(data, "xl/workbook.xml", change)
    return change_part(
        data, r"xl/worksheets/sheet\d+\.xml", lambda c: c.replace(b"Job!", b"'My job &amp; site'!")
    )


def test_renamed_hidden_and_reordered_sheets_are_followed(
    small: bytes, small_done: Refilled
) -> None:
    moved = planters.refilled(rearranged(small))
    assert moved.notes == ()
    assert spot(moved.data, "in_season")[0] == "My job & site"
    for option in (0, 1, 3):
        now, then = (value(data, ("cost_usd", option)) for data in (moved.data, small_done.data))
        assert now == then > 0
    assert {s.name for s in opened(moved.data).sheets if s.state == "hidden"} == {
        "My job & site",
        MADE_SHEET,
    }
    assert planters.refilled(moved.data).data == moved.data


def test_a_blank_computed_cell_gets_its_formula_back_on_a_renamed_sheet(small: bytes) -> None:
    key = ("volume_ft3", 1)
    wanted = formula(small, key)
    moved = rearranged(edited(small, {key: None}))
    got = formula(planters.refilled(moved).data, key)
    assert got is not None
    assert got.replace("'My job & site'!", "Job!") == wanted


def test_rows_inserted_inside_a_table_are_refused(small: bytes) -> None:
    data = change_part(
        small,
        "xl/workbook.xml",
        lambda c: longer(c, "in_soil_name"),
    )
    with pytest.raises(FileError) as caught:
        planters.refilled(data)
    assert "1 inserted" in str(caught.value)
    assert "free lines" in caught.value.cure


def longer(content: bytes, name: str) -> bytes:
    root = etree.fromstring(content)
    for element in root.iter(f"{MAIN}definedName"):
        if element.get("name") == name:
            text = element.text or ""
            head, _, last = text.rpartition("$")
            element.text = f"{head}${int(last) + 1}"
    return etree.tostring(root)


@needs_office
def test_rows_and_columns_inserted_in_a_spreadsheet_are_followed(
    small: bytes, small_done: Refilled
) -> None:
    package = opened(small)
    ports = FilePort(package).ranges()
    first_soil = ports["in_soil_name"][1].row1
    second_option = ports["in_option_kind"][1].column1 + 1
    with Office(small) as office:
        office.do(
            ["insert_rows", "Job", 3, 2],
            ["insert_columns", "Job", 2, 1],
            ["insert_rows", "Options", 7, 1],
            ["insert_columns", "Options", second_option, 1],
            ["insert_rows", "Soils", first_soil - 1, 2],
            ["insert_columns", "Soils", 3, 1],
            ["insert_columns", "Planting", 2, 1],
            ["move", "Soils", 0],
            ["hide", "Options"],
            ["rename", "Field Sheet", "Steps 2026"],
            ["copy", "Planting", "Planting before"],
        )
        moved = office.saved()
    model, again = planters.model(), planters.refilled(moved)
    job = job_of(again.data, model)
    assert disagreements(again.data, fresh_values(job, model=model), model) == []
    for option in (0, 1, 3):
        assert value(again.data, ("cost_usd", option)) == pytest.approx(
            value(small_done.data, ("cost_usd", option)), rel=1e-9
        )
    assert again.notes == ()
    assert check_book(FilePort(opened(again.data)), model).stale == {}
    cleared = edited(again.data, {("volume_ft3", 1): None})
    back = planters.refilled(cleared)
    assert value(back.data, ("volume_ft3", 1)) == value(again.data, ("volume_ft3", 1))
    assert planters.refilled(again.data).data == again.data


@pytest.mark.slow
@needs_office
def test_a_file_saved_again_by_libreoffice_gives_the_same_numbers(
    edited_book: bytes, done: Refilled
) -> None:
    saved = convert(edited_book)
    again = refilled(saved)
    assert again.notes == ()
    assert disagreements(again.data, fresh_values(job_of(again.data), again.data)) == []
    assert job_of(again.data).cells == job_of(done.data).cells
    for option in range(4):
        assert value(again.data, ("total_cost", option)) == pytest.approx(
            value(done.data, ("total_cost", option)), rel=1e-9
        )
    assert refilled(again.data).data == again.data


def test_options_out_of_order_are_refused() -> None:
    """Formulas count the columns, so that letters that change places would mix up the options."""
    book = planters.planted()
    sheet, area = FilePort(opened(book)).ranges()["option_key"]
    swap: dict[tuple[str, str], Edit] = {
        (sheet, address(area.row1, area.column1)): "B",
        (sheet, address(area.row1, area.column1 + 1)): "A",
    }
    with pytest.raises(FileError) as caught:
        planters.refilled(apply(opened(book), swap))
    assert "from A to F" in str(caught.value)


def test_an_empty_text_typed_into_a_blank_cell_is_a_blank() -> None:
    book, model = planters.planted(), planters.model()
    package = opened(book)
    sheet, cell = spot(package, ("in_soil_name", 0, 5))
    assert grid(package, sheet).value(*parse_cell(cell)).value is None
    typed = apply(package, {(sheet, cell): Formula('""', "")})
    assert check_book(FilePort(opened(typed)), model).stale == {}
    assert not planters.refilled(typed).refill.book.typed.cells.get(("soil_name", 5))


def test_a_lost_option_letter_is_named() -> None:
    with pytest.raises(FileError) as caught:
        planters.refilled(edited(planters.planted(), {("option_key", 2): None}))
    assert "option C is gone" in str(caught.value)
