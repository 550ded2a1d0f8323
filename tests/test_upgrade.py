"""A workbook that an older version made, brought to the present one with all of its owner's."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import planters
import pytest
from books import Refilled, edited, formula, opened, refilled, spot, value
from libreoffice import convert
from office import needs_office
from older import RENAMED, older_program, run
from rich_workbooks import change_part, parts_of, with_picture_on
from test_refill import disagreements, fresh_values, job_of, with_own_sheet

from estimator.engine import Model
from estimator.errors import FileError
from estimator.model import build_model
from estimator.workbook.carry.upgrade import Replaced, upgraded
from estimator.workbook.package.a1 import address, parse_cell
from estimator.workbook.package.cells import Formula, apply
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import grid
from estimator.workbook.refill.file import refill_bytes
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.made_with import read_made_from
from estimator.workbook.template.names import TEMPLATE_VERSION, VERSION

pytestmark = pytest.mark.slow
NOTE = "call the yard before noon"
OWN_SHEET = "Photos"
LEFT_OUT = ("in_item_other_price", 0, 5)
"""A typed cell that a template leaves out, as its column gives it its look."""


@pytest.fixture(scope="module")
def older(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The demo as the older version makes it."""
    folder = older_program(tmp_path_factory.mktemp("older"))
    run(folder, "-m", "estimator", "new", "old.xlsx", "--demo")
    return (folder / "old.xlsx").read_bytes()


@pytest.fixture(scope="module")
def owned(older: bytes) -> bytes:
    """And after weeks in its owner's hands."""
    package = opened(older)
    soil = spot(package, "in_soil")
    net = spot(package, ("stone_net_yd3", 1))
    data = edited(
        older,
        {
            "in_building_length_ft": "14 ft",
            "in_people_working": 3.0,
            ("in_item_price", 0, 0): 9.99,
            LEFT_OUT: 12.0,
            ("stone_order_yd3", 0): 7.0,
            ("stone_order_yd3", 1): f"='{net[0]}'!{net[1]}*2+1",
        },
    )
    data = with_own_sheet(data)
    row, _ = parse_cell(soil[1])
    after = spot(package, "in_people_working")
    data = apply(
        Package.open(data),
        {
            ("Job", f"M{row}"): NOTE,
            ("Job", "A2"): "Our job, our words",
            ("Cost", "D5"): "Our first idea",
            ("Cost", "E5"): Formula('"B: "&Options!L5'),
            ("Cost", "F5"): Formula('IF(#REF!=1,"",Options!M5)'),
            ("Job", "E8"): Formula('IF(LEN(B8)>3,"fine","too short")'),
            ("Photos", "A5"): Formula(f"Job!{after[1]}*10"),
            ("Photos", "A6"): Formula("in_people_working*100"),
            ("Photos", "A7"): Formula("SUM(Job!$B$10:$B$12)"),
        },
    )
    data = with_picture_on(data, opened(older).sheet("Job").part, row - 1, 12)
    data = _restyled(_with_own_rules(data, row), *spot(package, "in_soil"))
    return _restyled(data, *spot(package, LEFT_OUT))


def _with_own_rules(data: bytes, row: int) -> bytes:
    """A rule on entries beside a typed cell, one of ours changed, and a smaller print area."""
    from lxml import etree

    def sheet(content: bytes) -> bytes:
        root = etree.fromstring(content)
        rules = root.find("{*}dataValidations")
        mine = etree.SubElement(rules, rules[0].tag, type="list", sqref=f"M{row}")
        etree.SubElement(
            mine, rules.tag.replace("dataValidations", "formula1")
        ).text = "$B$10:$B$12"
        changed = next(rule for rule in rules if rule.get("type") == "decimal")
        changed.find("{*}formula1").text = "1+1"
        text: bytes = etree.tostring(root)
        return text

    def book(content: bytes) -> bytes:
        root = etree.fromstring(content)
        area = next(
            name
            for name in root.iter("{*}definedName")
            if name.get("name") == "_xlnm.Print_Area" and name.text.startswith(("Job!", "'Job'!"))
        )
        area.text = "Job!$A$1:$F$30"
        text: bytes = etree.tostring(root)
        return text

    data = change_part(data, opened(data).sheet("Job").part, sheet)
    return change_part(data, "xl/workbook.xml", book)


def _restyled(data: bytes, name: str, cell: str) -> bytes:
    """One typed cell in bold italics, the first column of its sheet widened."""

    def styles(content: bytes) -> bytes:
        from lxml import etree

        root = etree.fromstring(content)
        main = f"{{{root.nsmap[None]}}}"
        fonts, formats = root.find(f"{main}fonts"), root.find(f"{main}cellXfs")
        bold = etree.SubElement(fonts, f"{main}font")
        for tag, val in (("name", "Arial"), ("b", "1"), ("i", "1"), ("sz", "10")):
            etree.SubElement(bold, f"{main}{tag}", val=val)
        made = etree.fromstring(etree.tostring(formats[_style(data, name, cell)]))
        made.set("fontId", str(len(fonts) - 1))
        formats.append(made)
        fonts.set("count", str(len(fonts)))
        formats.set("count", str(len(formats)))
        text: bytes = etree.tostring(root)
        return text

    count = len(_xml(data, "xl/styles.xml").find("{*}cellXfs"))
    data = change_part(data, "xl/styles.xml", styles)

    def sheet(content: bytes) -> bytes:
        from lxml import etree

        root = etree.fromstring(content)
        next(c for c in root.iter("{*}c") if c.get("r") == cell).set("s", str(count))
        root.find("{*}cols")[0].set("width", "51.5")
        text: bytes = etree.tostring(root)
        return text

    return change_part(data, opened(data).sheet(name).part, sheet)


def _style(data: bytes, name: str, cell: str) -> int:
    root = _xml(data, opened(data).sheet(name).part)
    return int(next(c for c in root.iter("{*}c") if c.get("r") == cell).get("s"))


def _xml(data: bytes, part: str) -> Any:
    from lxml import etree

    return etree.fromstring(parts_of(data)[part])


@pytest.fixture(scope="module")
def template(fresh_template: Path) -> Package:
    return Package.open(fresh_template.read_bytes(), label="template")


@pytest.fixture(scope="module")
def replaced(owned: bytes, template: Package) -> Replaced:
    return upgraded(Package.open(owned, label="shed.xlsx"), template, RENAMED)


@pytest.fixture(scope="module")
def done(replaced: Replaced) -> Refilled:
    return Refilled(*refill_bytes(replaced.data, build_model(), "shed.xlsx"))


def test_a_refill_of_an_older_workbook_names_the_command_that_brings_it_up(older: bytes) -> None:
    with pytest.raises(FileError) as caught:
        refilled(older, "shed.xlsx")
    assert "older version" in str(caught.value)
    assert "estimator upgrade shed.xlsx" in caught.value.cure


def test_every_number_after_an_upgrade_is_the_engines_for_the_inputs_that_were_kept(
    older: bytes, template: Package
) -> None:
    plain = upgraded(Package.open(older), template, RENAMED)
    assert plain.notes == ()
    fresh = refilled(plain.data)
    assert fresh.refill.typed_over == ()
    job = job_of(fresh.data)
    assert job.cells["crew_size", 0] == 2.0
    assert ("job_place", 0) not in job.cells or not job.cells["job_place", 0]
    assert disagreements(fresh.data, fresh_values(job)) == []


def test_inputs_are_kept_under_their_present_names(done: Refilled) -> None:
    assert value(done.data, "in_building_length_ft") == "14 ft"
    assert value(done.data, "in_crew_size") == 3.0
    assert value(done.data, ("in_item_price", 0, 0)) == 9.99
    assert value(done.data, VERSION) == TEMPLATE_VERSION
    assert f">{TEMPLATE_VERSION}<".encode() in parts_of(done.data)["docProps/custom.xml"]


def test_only_what_the_person_changed_is_the_persons(done: Refilled) -> None:
    """The older version's own formula in that very row is not taken for one."""
    assert [(o.label, o.what) for o in done.refill.typed_over] == [
        ("Stone to order", "typed over"),
        ("Stone to order", "own formula"),
    ]
    assert value(done.data, ("stone_order_yd3", 0)) == 7.0
    net = value(done.data, ("stone_net_yd3", 1))
    assert value(done.data, ("stone_order_yd3", 1)) == pytest.approx(2 * net + 1, rel=1e-12)
    third = formula(done.data, ("stone_order_yd3", 2))
    assert third is not None
    assert "*2" not in third


def test_own_sheets_pictures_charts_and_notes_are_kept(owned: bytes, done: Refilled) -> None:
    before, after = parts_of(owned), parts_of(done.data)
    assert [n for n in before if n not in after] == []
    mine = [n for n in before if ("901" in n or "77" in n) and "sheet" not in n]
    assert len(mine) >= 8
    moved = {"xl/drawings/drawing77.xml"}
    assert [n for n in mine if before[n] != after[n]] == sorted(moved)
    soil = spot(done.data, "in_soil")[1]
    assert _cell(done.data, "Job", f"M{parse_cell(soil)[0]}") == NOTE
    row = _xml(done.data, "xl/drawings/drawing77.xml").find(".//{*}from/{*}row")
    assert int(row.text) == parse_cell(soil)[0] - 1
    assert _cell(done.data, "Job", "A2") == "Our job, our words"


def test_headings_and_checks_of_ones_own_are_kept_and_no_others(
    replaced: Replaced, done: Refilled, template: Package
) -> None:
    """Nor a formula that lost what it reads: the template's stands there again."""
    assert _cell(done.data, "Cost", "D5") == "Our first idea"
    over = "Kept over the template's formula: "
    assert [note.removeprefix(over) for note in replaced.notes if note.startswith(over)] == [
        'Job!E8, =IF(LEN(B8)>3,"fine","too short").',
        "Cost!D5, Our first idea.",
        'Cost!E5, ="B: "&Options!L5.',
    ]
    assert _other_formulas(done.data, template) == OWN_FORMULAS


def test_a_quantity_that_is_called_like_a_limit_is_no_text_of_the_template(
    template: Package,
) -> None:
    port = FilePort(template)
    made = read_made_from(port)
    for name in ("least_fall_in", "least_total"):
        sheet, area = port.ranges()[name]
        assert not made.nameless_formulas(sheet).keys() & set(area.cells())
        assert not made.texts[sheet].keys() & set(area.cells())


OWN_FORMULAS = {
    ("Cost", "D5"): None,
    ("Cost", "E5"): '"B: "&Options!L5',
    ("Job", "E9"): 'IF(LEN(B9)>3,"fine","too short")',
}


def _other_formulas(data: bytes, template: Package) -> dict[tuple[str, str], str | None]:
    """What stands where the template has a formula of no name, and another one."""
    made, found = read_made_from(FilePort(template)), {}
    for sheet in made.nameless:
        cells = grid(opened(data), sheet)
        for place, wanted in made.nameless_formulas(sheet).items():
            formula = cells.value(*place).formula
            if formula != wanted:
                found[sheet, address(*place)] = formula
    return found


def _cell(data: bytes, sheet: str, cell: str) -> Any:
    from estimator.workbook.package.cells import read_cell

    return read_cell(opened(data), sheet, cell).value


def test_own_formulas_follow_to_where_things_stand_now(done: Refilled) -> None:
    assert _cell(done.data, "Photos", "A5") == 30.0
    assert _cell(done.data, "Photos", "A6") == 300.0
    from estimator.workbook.package.cells import read_cell

    found = [read_cell(opened(done.data), "Photos", f"A{n}").formula for n in (5, 6, 7)]
    assert found == [
        f"Job!{spot(done.data, 'in_crew_size')[1]}*10",
        "in_crew_size*100",
        "SUM(Job!$B$11:$B$13)",
    ]


def test_looks_of_ones_own_are_kept_and_new_cells_look_as_the_template_does(
    done: Refilled, tmp_path: Path
) -> None:
    path = tmp_path / "done.xlsx"
    path.write_bytes(done.data)
    book: Any = openpyxl.load_workbook(path)
    job = book["Job"]
    soil = job[spot(done.data, "in_soil")[1]]
    assert (soil.font.b, soil.font.i) == (True, True)
    assert job.column_dimensions["A"].width == 51.5
    left_out = book["Prices"][spot(done.data, LEFT_OUT)[1]]
    assert (left_out.value, left_out.font.b, left_out.font.i) == (12, True, True)
    place = job[spot(done.data, "in_job_place")[1]]
    assert place.style == job[spot(done.data, "in_job_name")[1]].style


def test_rules_on_entries_and_a_print_area_of_ones_own_are_kept(
    replaced: Replaced, done: Refilled
) -> None:
    rules = _xml(done.data, opened(done.data).sheet("Job").part).find("{*}dataValidations")
    assert rules.get("count") == str(len(rules))
    note = parse_cell(spot(done.data, "in_soil")[1])[0]
    [mine] = [rule for rule in rules if rule.get("sqref") == f"M{note}"]
    assert mine.findtext("{*}formula1") == "$B$11:$B$13"
    assert not [rule for rule in rules if rule.findtext("{*}formula1") == "1+1"]
    assert len([n for n in replaced.notes if "rule on entries" in n]) == 1
    names = opened(done.data).local_names
    assert names["Job", "_xlnm.Print_Area"].text == "Job!$A$1:$F$31"


def test_an_upgraded_workbook_refills_to_itself_and_is_not_upgraded_twice(
    done: Refilled, template: Package
) -> None:
    assert refilled(done.data).data == done.data
    with pytest.raises(FileError, match="present version"):
        upgraded(Package.open(done.data), template, RENAMED)


def test_links_of_the_template_that_stood_on_other_rows_are_nobodys(
    older: bytes, template: Package
) -> None:
    package = opened(older)
    part = package.sheet("Checks").part
    text = package.read(part)
    moved = re.sub(rb'(<hyperlink [^>]*ref="[A-Z]+)(4\d")', rb"\g<1>9\2", text)
    assert moved != text
    found = upgraded(package.changed({part: moved}), template, RENAMED)
    assert found.notes == ()
    link = re.compile(rb'<hyperlink [^>]*ref="([^"]+)"')
    there, wanted = (
        sorted(link.findall(each.read(each.sheet("Checks").part)))
        for each in (found.package, template)
    )
    assert there == wanted


def test_what_has_no_place_any_more_is_said_by_name(older: bytes, template: Package) -> None:
    lost = upgraded(Package.open(older), template, {})
    assert [n for n in lost.notes if "people_working" in n and "Job!" in n]


def test_a_workbook_of_a_newer_version_asks_for_a_newer_program(demo_book: bytes) -> None:
    newer = edited(demo_book, {VERSION: "99"})
    with pytest.raises(FileError, match="newer version"):
        refilled(newer)


def test_a_template_whose_version_was_not_counted_up_is_told_by_what_it_was_made_with(
    older: bytes, template: Package
) -> None:
    stamped = edited(older, {VERSION: TEMPLATE_VERSION})
    with pytest.raises(FileError):
        refilled(stamped)
    assert upgraded(Package.open(stamped), template, RENAMED).notes == ()


def test_a_formula_that_the_workbook_was_made_with_is_nobodys_change(
    demo_book: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program of the same version, whose template has another formula there."""
    from estimator.workbook.refill import changes

    cell = spot(demo_book, ("stone_order_yd3", 2))
    usual = changes.template_formulas

    @cache
    def other(model: Model) -> Any:
        found = dict(usual(model))
        found[cell] += "+0"
        return found

    monkeypatch.setattr(changes, "template_formulas", other)
    monkeypatch.setattr(changes, "shipped", lambda _template: changes.Shipped({}, {}))
    with pytest.raises(FileError, match="older version"):
        refilled(demo_book)


@needs_office
def test_an_older_workbook_saved_by_libreoffice_is_upgraded_alike() -> None:
    """The small one, with numbers, formulas, an entry and a sheet of its owner's."""
    book = planters.planted()
    edits: dict[Any, Any] = {
        VERSION: "1",
        planters.LENGTH: "14 ft",
        ("volume_ft3", 0): 50.0,
        ("price_usd", 1): "=INDEX(trips,2)*3+1",
    }
    data = with_own_sheet(edited(book, edits))
    beside = (OWN_SHEET, "A5"), ("Job", "M9")
    own: dict[Any, Any] = {beside[0]: Formula("INDEX(trips,1)*100"), beside[1]: NOTE}
    data = apply(Package.open(data), own)
    both = [
        planters.refilled(upgraded(Package.open(older), planters.template(), {}).data)
        for older in (data, convert(data))
    ]
    wanted, again = both
    assert [(o.place, o.what) for o in again.refill.typed_over] == [
        (o.place, o.what) for o in wanted.refill.typed_over
    ]
    assert sorted(o.what for o in again.refill.typed_over) == ["own formula", "typed over"]
    assert value(again.data, planters.LENGTH) == "14 ft"
    for option in (0, 1, 3):
        assert value(again.data, ("price_usd", option)) == pytest.approx(
            value(wanted.data, ("price_usd", option)), rel=1e-9
        )
    assert _cell(again.data, *beside[0]) == 100 * value(again.data, ("trips", 0)) > 0
    assert _cell(again.data, *beside[1]) == NOTE
