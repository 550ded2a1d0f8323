"""Values of formulas by the recalculation engine, and writing them as caches."""

from __future__ import annotations

import io
import time

import openpyxl
import pytest
from libreoffice import convert
from office import needs_office
from openpyxl.workbook.defined_name import DefinedName
from rich_workbooks import (
    MAIN,
    RELATION,
    STRICT,
    STRICT_RELATION,
    change_part,
    parts_of,
    plain_workbook,
    rich_workbook,
)

from estimator.workbook.package.cells import CellError, Value, apply, read_cell
from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculate, recalculated, with_caches

# What a spreadsheet program shows for the formulas of the rich workbook, worked out by hand.
EXPECTED: dict[str, Value] = {
    **{f"A{n}": 2.0 * n for n in range(1, 11)},
    "B1": 110.0,
    "B2": "stake 0 x",
    "B3": True,
    "B4": CellError("#DIV/0!"),
    "B5": 15.0,
    "C1": 10.0,
    "C2": 20.0,
    "C3": 30.0,
}


def formulas(**cells: str) -> bytes:
    """Sheet S with 1, 2, 3 in A1:A3 and the given formulas."""
    rows: dict[int, str] = {n: f'<c r="A{n}"><v>{n}</v></c>' for n in (1, 2, 3)}
    for ref, text in cells.items():
        text = text.replace("&", "&amp;").replace("<", "&lt;")
        rows[int(ref[1:])] = rows.get(int(ref[1:]), "") + f'<c r="{ref}"><f>{text}</f><v>0</v></c>'
    return plain_workbook("".join(f'<row r="{n}">{rows[n]}</row>' for n in sorted(rows)))


@pytest.mark.parametrize("macros", [False, True])
def test_all_formulas_get_the_values_that_a_spreadsheet_shows(macros: bool) -> None:
    result = recalculate(rich_workbook(macros=macros))
    assert dict(result.values) == {("It's calc", ref): v for ref, v in EXPECTED.items()}
    assert result.complete
    assert result.note == ""


def test_a_changed_input_reaches_its_dependants() -> None:
    changed = apply(Package.open(rich_workbook()), {("Input", "A1"): 51})
    values = recalculate(changed).values
    assert values["It's calc", "A1"] == 102.0
    assert values["It's calc", "B1"] == 210.0
    assert values["It's calc", "C1"] == 510.0


@needs_office
def test_files_saved_by_libreoffice_with_tables_are_evaluated() -> None:
    result = recalculate(convert(rich_workbook()))
    expected = {("It's calc", ref): v for ref, v in EXPECTED.items()}
    expected["Input", "C3"] = True  # LibreOffice saves a typed TRUE as the formula TRUE()
    assert dict(result.values) == expected
    assert result.complete


def test_what_the_engine_can_t_carry_does_not_stop_it() -> None:
    def spoil(part: bytes) -> bytes:
        return part.replace(b'<dimension ref="A1:C10"/>', b'<dimension ref="A1"/>')

    data = change_part(rich_workbook(), r"xl/worksheets/sheet\d.xml", spoil)
    data = change_part(
        data,
        "xl/workbook.xml",
        lambda part: part.replace(
            b"</definedNames>",
            b'<definedName name="moving">OFFSET(Input!$A$1,0,0,COUNT(Input!$A:$A),1)</definedName>'
            b'<definedName name="gone">#REF!</definedName></definedNames>',
        ),
    )
    assert recalculate(data).complete


def test_the_strict_form_and_uncounted_cells_are_evaluated() -> None:
    strict = change_part(
        rich_workbook(),
        r".*\.(xml|rels)",
        lambda part: part.replace(MAIN.encode(), STRICT.encode()).replace(
            RELATION.encode(), STRICT_RELATION.encode()
        ),
    )
    assert recalculate(strict) == recalculate(rich_workbook())
    uncounted = plain_workbook("<row><c><v>4</v></c><c><f>A1*2</f></c></row>")
    assert dict(recalculate(uncounted).values) == {("S", "B1"): 8.0}


def test_a_function_that_the_engine_lacks_is_said_even_where_its_error_is_hidden() -> None:
    result = recalculate(
        formulas(B1="IFERROR(MYOWN(A1),7)", B2="B1+1", B3="A3*2", C1="SUM(B:B)", C2="SUM(A1:A3)")
    )
    assert result.unevaluated == (("S", "B1"),)
    assert result.doubtful == {("S", "B1"), ("S", "B2"), ("S", "C1")}
    assert dict(result.values) == {("S", "B3"): 6.0, ("S", "C2"): 6.0}
    assert not result.complete
    assert "S!B1" in result.note


def test_dependants_are_followed_through_names_tables_and_indirect_references() -> None:
    data = change_part(
        apply(
            Package.open(rich_workbook()),
            {("Mine", "B2"): 1},
        ),
        "xl/worksheets/sheet3.xml",
        lambda part: part.replace(
            b'<c r="B3"><v>2</v></c>', b'<c r="B3"><f>IFERROR(MYOWN(),2)</f><v>2</v></c>'
        ),
    )
    assert recalculate(data).doubtful == {("Mine", "B3"), ("It's calc", "B5")}
    indirect = recalculate(formulas(B1="IFERROR(MYOWN(A1),7)", B2='INDIRECT("A"&1)', B3="A1"))
    assert indirect.doubtful == {("S", "B1"), ("S", "B2")}


def test_formulas_that_the_engine_gets_wrong_are_left_to_the_spreadsheet() -> None:
    result = recalculate(
        formulas(B1="SUMPRODUCT(COUNTIF(A1:A3,A1:A3))", B2="SUMPRODUCT(A1:A3*(A1:A3>1))")
    )
    assert result.unevaluated == (("S", "B1"),)
    assert dict(result.values) == {("S", "B2"): 5.0}


@pytest.mark.parametrize(
    "refused", ["1+", "((", "SUM((A1,A2))", "[1]Sheet1!A1", "S:S!A1", "#BOGUS", "LAMBDA(x,x)(1)"]
)
def test_a_formula_that_the_engine_refuses_a_file_for_costs_no_other_its_value(
    refused: str,
) -> None:
    result = recalculate(formulas(B1=refused, B2="B1+1", B3="A3*2", C1="SUM(B1:B2)", C2="A2&A3"))
    assert dict(result.values) == {("S", "B3"): 6.0, ("S", "C2"): "23"}
    assert result.unevaluated == (("S", "B1"),)
    assert result.doubtful == {("S", "B1"), ("S", "B2"), ("S", "C1")}


@pytest.mark.parametrize("text", ["OFFSET(S!$A$1,0,0,2,1)", "Deals[Price]", "1+", "{1,2,3}"])
def test_a_name_that_the_engine_refuses_costs_only_those_that_use_it(text: str) -> None:
    names = f'</sheets><definedNames><definedName name="odd">{text}</definedName></definedNames>'
    data = change_part(
        formulas(B1="odd+1", B2="odd+1", B3="A3*2"),
        "xl/workbook.xml",
        lambda part: part.replace(b"</sheets>", names.encode()),
    )
    result = recalculate(data)
    assert dict(result.values) == {("S", "B3"): 6.0}
    assert set(result.unevaluated) == {("S", "B1"), ("S", "B2")}


def test_a_picture_in_a_cell_costs_only_those_that_read_it() -> None:
    data = change_part(
        formulas(B1="A1*2", B2="B1+1", B3="A3*2"),
        "xl/worksheets/sheet1.xml",
        lambda part: part.replace(
            b'<c r="A1"><v>1</v></c>', b'<c r="A1" t="e" vm="1"><v>#VALUE!</v></c>'
        ),
    )
    result = recalculate(data)
    assert dict(result.values) == {("S", "B3"): 6.0}
    assert result.doubtful == {("S", "B1"), ("S", "B2")}
    assert not result.complete


def test_dependants_of_a_much_used_cell_are_found_in_one_pass() -> None:
    first = '<row r="1"><c r="A1"><f>MYOWN()</f></c></row>'
    rows = "".join(
        f'<row r="{n}"><c r="A{n}"><f>A{n - 1}+$A$1</f></c><c r="B{n}"><f>SUM(A$1:A{n})</f></c>'
        f'<c r="C{n}"><f>7*{n}</f></c></row>'
        for n in range(2, 4_001)
    )
    start = time.process_time()
    result = recalculate(plain_workbook(first + rows))
    assert time.process_time() - start < 10
    assert len(result.values) == 3_999
    assert len(result.doubtful) == 1 + 2 * 3_999


@pytest.mark.parametrize(
    "circle",
    [
        {"B1": "B2", "B2": "B1+1"},
        {"B1": "B1+1"},
        {"B1": "SUM(A1:B3)"},
        {"B1": "A1+B3", "B2": "A2", "B3": "SUM(B1:B2)"},
        {"B1": "SUM(B:B)"},
    ],
)
def test_a_circle_costs_only_those_in_it_and_those_that_read_it(circle: dict[str, str]) -> None:
    result = recalculate(formulas(**circle, C1="B1*2", C2="A2*3", C3="C2+1"))
    round_it = {("S", cell) for cell, text in circle.items() if text != "A2"}
    assert set(result.unevaluated) == round_it
    assert result.doubtful == round_it | {("S", "C1")}
    kept = {("S", "C2"): 6.0, ("S", "C3"): 7.0}
    assert dict(result.values) == kept | ({("S", "B2"): 2.0} if "A2" in circle.values() else {})
    names = ", ".join(f"S!{cell}" for _, cell in sorted(round_it))
    assert result.note.endswith(f"but for what reads itself in a circle: {names}.")


def printed(formula: str) -> Package:
    """A workbook with a print area, titles to print and a formula."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet["A1"], sheet["B1"] = 21, f"={formula}"
    sheet.print_area = "A1:B2,A4:B5"
    sheet.print_title_rows = "1:1"
    saved = io.BytesIO()
    book.save(saved)
    return Package.open(saved.getvalue(), label="printed.xlsx")


def test_print_areas_stay_where_no_formula_reads_them_and_one_that_does_is_left() -> None:
    before = printed("A1*2")
    after = recalculated(before)
    assert after is not None
    assert read_cell(after, "Sheet", "B1").value == 42
    assert b"_xlnm.Print_Titles" in after.read(after.main_part)
    assert after.read(after.main_part) == before.read(before.main_part)
    reader = printed("A1*2+0*COLUMNS(_xlnm.Print_Area)")
    assert recalculated(reader) is None
    assert recalculate(reader).unevaluated == (("Sheet", "B1"),)


@pytest.mark.parametrize(
    "formula",
    [
        "Pad_Depth*2",
        "pad_depth*2",
        "twice_the_depth",
        'INDIRECT("pad_"&"depth")*2',
    ],
)
def test_a_name_that_a_formula_comes_to_is_left_to_it(formula: str) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title, sheet["A1"], sheet["B1"] = "S", 21, f"={formula}"
    for name, text in {"pad_depth": "S!$A$1", "twice_the_depth": "2*pad_depth"}.items():
        book.defined_names[name] = DefinedName(name, attr_text=text)
    book.defined_names["never_read"] = DefinedName("never_read", attr_text="S!$A$1")
    saved = io.BytesIO()
    book.save(saved)
    before = Package.open(saved.getvalue(), label="named.xlsx")
    after = recalculated(before)
    assert after is not None
    assert read_cell(after, "S", "B1").value == 42
    assert after.read(after.main_part) == before.read(before.main_part)


def test_a_workbook_without_formulas_is_complete() -> None:
    assert recalculate(plain_workbook('<row r="1"><c r="A1"><v>1</v></c></row>')).complete


def test_caches_change_no_other_part_and_twice_is_once() -> None:
    before = apply(Package.open(rich_workbook()), {("Input", "A1"): 51})
    values = recalculate(before).values
    after = with_caches(Package.open(before), values).to_bytes()
    old, new = parts_of(before), parts_of(after)
    assert {part for part in old if old[part] != new[part]} == {"xl/worksheets/sheet2.xml"}
    assert with_caches(Package.open(after), recalculate(after).values).to_bytes() == after
    book = openpyxl.load_workbook(io.BytesIO(after), data_only=True)
    assert book["It's calc"]["B1"].value == 210
    assert book["It's calc"]["C1"].value == 510


@needs_office
def test_a_formula_without_a_value_shows_none_and_the_spreadsheet_fills_it() -> None:
    before = formulas(B1="IFERROR(MYOWN(A1),7)", B2="B1+1", B3="A3*2")
    package = with_caches(Package.open(before), recalculate(before).values)
    after = package.to_bytes()
    assert [read_cell(package, "S", f"B{n}").value for n in (1, 2, 3)] == [None, None, 6.0]
    assert b'fullCalcOnLoad="1"' in parts_of(after)["xl/workbook.xml"]
    opened = Package.open(convert(after))
    assert [read_cell(opened, "S", f"B{n}").value for n in (1, 2, 3)] == [7.0, 8.0, 6.0]


def test_values_of_cells_without_formulas_are_left_out() -> None:
    before = formulas(B1="A1*2")
    values = {("S", "B1"): 2.0, ("S", "A1"): 50.0, ("Nowhere", "A1"): 1.0}
    package = with_caches(Package.open(before), values)
    assert read_cell(package, "S", "A1").value == 1.0
    assert read_cell(package, "S", "B1").value == 2.0
