"""Sheets, rows and names that were deleted from a workbook come back from the template.

All of that in the small workbook of the planters; what LibreOffice deleted, in a whole one.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import planters
import pytest
from books import edited, formula, opened, refilled, spot, value
from lxml import etree
from office import Office, needs_office
from rich_workbooks import change_part, parts_of
from test_refill import with_own_sheet

from estimator.errors import FileError
from estimator.workbook.carry.replace import Replaced
from estimator.workbook.carry.restore import restored
from estimator.workbook.package.a1 import parse_cell
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book

TYPED_OVER = ("price_usd", 0)


@pytest.fixture(scope="module")
def owned() -> bytes:
    """The planters with an input edited, a number typed over and a sheet of a person's own."""
    edits: dict[Any, Any] = {planters.LENGTH: "14 ft", TYPED_OVER: 7.0}
    return with_own_sheet(edited(planters.planted(), edits))


@pytest.fixture(scope="module")
def whole(owned: bytes) -> bytes:
    """That workbook refilled with nothing deleted."""
    return planters.refilled(owned).data


def restore(data: bytes, template: Package | None = None) -> Replaced:
    return restored(Package.open(data, label="shed.xlsx"), template or planters.template())


def without_sheet(data: bytes, name: str) -> bytes:
    """The workbook as a spreadsheet program leaves it when a sheet is deleted."""
    package = opened(data)
    info = package.sheet(name)
    at = package.sheets.index(info)
    reference = re.compile(rf"(?:'{name}'|\b{name})!\$?[A-Z]+\$?\d+(?::\$?[A-Z]+\$?\d+)?")

    def book(content: bytes) -> bytes:
        root: Any = etree.fromstring(content)
        sheets = root.find("{*}sheets")
        sheets.remove(sheets[at])
        for node in list(root.iter("{*}definedName")):
            local = node.get("localSheetId")
            if local is not None and int(local) == at:
                node.getparent().remove(node)
                continue
            if local is not None and int(local) > at:
                node.set("localSheetId", str(int(local) - 1))
            node.text = reference.sub("#REF!", node.text)
        text: bytes = etree.tostring(root)
        return text

    def sheet(content: bytes) -> bytes:
        root: Any = etree.fromstring(content)
        found = [n for n in root.iter("{*}f") if n.text and reference.search(n.text)]
        for node in found:
            node.text = reference.sub("#REF!", node.text)
        text: bytes = etree.tostring(root)
        return text if found else content

    part = info.part.rpartition("/")[2].encode()
    data = change_part(data, "xl/workbook.xml", book)
    data = change_part(data, r"xl/worksheets/[a-z0-9]+\.xml", sheet)
    gone = re.compile(rb"<(?:Relationship|Override) [^>]*" + re.escape(part) + rb"[^>]*/>")
    for name_of in (r"\[Content_Types\]\.xml", r"xl/_rels/workbook\.xml\.rels"):
        data = change_part(data, name_of, lambda c: gone.sub(b"", c))
    return Package.open(data).with_parts({info.part: None})


def without_name(data: bytes, name: str) -> bytes:
    pattern = re.compile(rb'<definedName name="' + name.encode() + rb'">[^<]*</definedName>')
    return change_part(data, "xl/workbook.xml", lambda c: pattern.sub(b"", c))


def test_a_deleted_name_is_said_and_put_back_with_nothing_else_changed(
    owned: bytes, whole: bytes
) -> None:
    broken = without_name(owned, "in_season")
    with pytest.raises(FileError) as caught:
        planters.refilled(broken, "shed.xlsx")
    assert "in_season" in caught.value.what
    assert "estimator restore shed.xlsx" in caught.value.cure
    done = restore(broken)
    before, after = parts_of(broken), parts_of(done.data)
    assert [n for n in before if before[n] != after.get(n)] == ["xl/workbook.xml"]
    assert list(before) == list(after)
    assert spot(done.data, "in_season") == spot(owned, "in_season")
    assert done.notes == (
        f"The name in_season stands on its cells again (Job!{spot(owned, 'in_season')[1]}).",
    )
    fresh, wanted = parts_of(planters.refilled(done.data).data), parts_of(whole)
    assert [n for n in wanted if wanted[n] != fresh[n]] == ["xl/workbook.xml"]


def test_a_name_is_put_back_where_its_cells_have_moved_to(owned: bytes) -> None:
    renamed = change_part(owned, "xl/workbook.xml", lambda c: c.replace(b'"Job"', b'"The job"'))
    for part in (r"xl/worksheets/sheet\d+\.xml", "xl/workbook.xml"):
        renamed = change_part(renamed, part, lambda c: c.replace(b"Job!", b"'The job'!"))
    done = restore(without_name(renamed, "in_season"))
    assert spot(done.data, "in_season") == ("The job", spot(owned, "in_season")[1])


def test_a_deleted_sheet_is_said_and_put_back_with_the_formulas_that_read_it(
    owned: bytes, whole: bytes
) -> None:
    broken = without_sheet(owned, "Planting")
    with pytest.raises(FileError) as caught:
        planters.refilled(broken, "shed.xlsx")
    assert caught.value.what == "the sheet Planting is missing."
    assert "estimator restore shed.xlsx" in caught.value.cure
    done = restore(broken)
    assert [s.name for s in opened(done.data).sheets] == [s.name for s in opened(owned).sheets]
    before, after = parts_of(broken), parts_of(done.data)
    untouched = [
        n
        for n in before
        if not n.startswith("xl/worksheets/sheet")
        and n not in ("xl/workbook.xml", "[Content_Types].xml", "xl/_rels/workbook.xml.rels")
        and n != "xl/styles.xml"
    ]
    assert len(untouched) > 10
    assert [n for n in untouched if before[n] != after[n]] == []
    read = [n for n in before if n.startswith("xl/worksheets/") and b"#REF!" not in before[n]]
    assert [n for n in read if before[n] != after[n]] == []
    formulas = [formula(data, ("price_usd", 1)) for data in (owned, broken, done.data)]
    assert formulas[0] == formulas[2]
    assert "#REF!" in str(formulas[1])
    fresh = planters.refilled(done.data)
    assert [o.what for o in fresh.refill.typed_over] == ["typed over"]
    for option in (0, 1, 3):
        assert value(fresh.data, ("cost_usd", option)) == pytest.approx(
            value(whole, ("cost_usd", option)), rel=1e-9
        )


def test_a_deleted_sheet_of_inputs_comes_back_with_the_templates_entries_and_says_so(
    owned: bytes,
) -> None:
    done = restore(without_sheet(owned, "Job"))
    assert done.notes[0] == (
        "The sheet Job is whole again, with the template's entries where yours are gone: go"
        " through them."
    )
    assert value(done.data, planters.LENGTH) != "14 ft"
    fresh = planters.refilled(done.data)
    assert formula(fresh.data, ("price_usd", 1)) == formula(owned, ("price_usd", 1))


def test_the_deleted_sheet_of_the_options_comes_back_though_it_has_their_letters(
    owned: bytes,
) -> None:
    broken = without_sheet(owned, "Options")
    with pytest.raises(FileError) as caught:
        planters.refilled(broken, "shed.xlsx")
    assert caught.value.what == "the sheet Options is missing."
    done = restore(broken)
    assert done.notes[0].startswith("The sheet Options is whole again, with the template's entries")
    assert value(done.data, planters.LENGTH) == "14 ft"
    keys = ("option_kind", "option_name", "depth_in", "boards", "option_soil")
    entries: dict[Any, Any] = {
        (f"in_{key}", option): value(owned, (f"in_{key}", option))
        for key in keys
        for option in range(4)
    }
    wanted = planters.refilled(owned)
    fresh = planters.refilled(edited(done.data, entries))
    for option in (1, 3):
        now, then = (value(book.data, ("cost_usd", option)) for book in (fresh, wanted))
        assert now == pytest.approx(then, rel=1e-9)


def test_numbers_of_lines_out_of_their_order_are_told_and_put_back(owned: bytes) -> None:
    broken = edited(owned, {("soil_no", 0, 2): 7.0})
    (told,) = check_book(FilePort(opened(broken)), planters.model()).typed_over[1:]
    assert f"Soils!{spot(owned, ('soil_no', 0, 2))[1]} (7.0)" in told
    assert value(restore(broken).data, ("soil_no", 0, 2)) == 3


def test_the_names_of_a_limit_and_of_a_version_are_missed_as_any_other(owned: bytes) -> None:
    for name in ("most_soil_price", "choices_season", "at_soils", "template_version"):
        broken = without_name(owned, name)
        with pytest.raises(FileError, match=name):
            check_book(FilePort(opened(broken)), planters.model())
        assert spot(restore(broken).data, name) == spot(owned, name)


def test_a_whole_workbook_is_left_as_it_is(owned: bytes) -> None:
    done = restore(owned)
    assert done.notes == ("Nothing is missing.",)
    assert parts_of(done.data) == parts_of(owned)


def test_a_workbook_of_somebody_else_is_refused() -> None:
    from rich_workbooks import rich_workbook

    with pytest.raises(FileError, match="not a workbook made by this estimator"):
        restore(rich_workbook())


@pytest.mark.slow
@needs_office
def test_what_libreoffice_deleted_from_a_whole_workbook_comes_back(
    demo_book: bytes, fresh_template: Path
) -> None:
    """A sheet and, on another, the rows of an input; all other entries stay."""
    template = Package.open(fresh_template.read_bytes(), label="template")
    edits: dict[Any, Any] = {"in_building_length_ft": "14 ft", ("stone_order_yd3", 0): 7.0}
    owned = with_own_sheet(edited(demo_book, edits))
    soil = parse_cell(spot(owned, "in_soil")[1])[0]
    with Office(owned) as office:
        office.do(["delete", "Sheathing"], ["delete_rows", "Job", soil, 1])
        broken = office.saved()
    with pytest.raises(FileError, match="estimator restore"):
        refilled(broken)
    fresh = refilled(restore(broken, template).data)
    assert spot(fresh.data, "in_soil") == spot(owned, "in_soil")
    assert value(fresh.data, "in_building_length_ft") == "14 ft"
    assert [o.what for o in fresh.refill.typed_over] == ["typed over"]
    again = refilled(edited(owned, {"in_soil": value(fresh.data, "in_soil")}))
    for option in range(4):
        assert value(fresh.data, ("total_cost", option)) == pytest.approx(
            value(again.data, ("total_cost", option)), rel=1e-9
        )
