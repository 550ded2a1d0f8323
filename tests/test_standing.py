"""Formulas set aside for the engine: the cells hold their values, and all comes back as it was."""

from __future__ import annotations

import io

from openpyxl import Workbook

from estimator.workbook.package.a1 import parse_cell
from estimator.workbook.package.cells import Cache, patched
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import grid
from estimator.workbook.package.recalculate import recalculated
from estimator.workbook.package.standing import laid_aside, put_back, without_formulas

SHARED = (
    b'<c r="A3"><f t="shared" ref="A3:A4" si="0">A1+1</f><v>8</v></c>',
    b'<c r="A4"><f t="shared" si="0"/><v>9</v></c>',
)


def book(formulas: dict[str, str]) -> Package:
    """One sheet with 7 in A1 and formulas, none worked out."""
    sheets = Workbook()
    sheet = sheets.active
    assert sheet is not None
    sheet.title, sheet["A1"] = "Pad", 7
    for place, formula in formulas.items():
        sheet[place] = f"={formula}"
    stream = io.BytesIO()
    sheets.save(stream)
    return Package.open(stream.getvalue(), label="pad.xlsx")


def shown(package: Package, place: tuple[int, int]) -> object:
    return grid(package, "Pad").value(*place).value


def test_a_known_cell_keeps_the_value_that_it_shows_and_others_are_worked_out_from_it() -> None:
    package = patched(book({"B1": "A1*2", "C1": "B1+1"}), {("Pad", "B1"): Cache(100.0)})
    fresh = recalculated(package, {("Pad", 1, 2)})
    assert fresh is not None
    assert (shown(fresh, (1, 2)), shown(fresh, (1, 3))) == (100.0, 101.0)
    assert [grid(fresh, "Pad").value(1, c).formula for c in (2, 3)] == ["A1*2", "B1+1"]
    everything = recalculated(package)
    assert everything is not None
    assert (shown(everything, (1, 2)), shown(everything, (1, 3))) == (14.0, 15.0)


def test_what_is_set_aside_and_put_back_is_the_sheet_to_the_byte() -> None:
    values = {("Pad", "B1"): Cache("a < b"), ("Pad", "B2"): Cache(""), ("Pad", "B3"): Cache(True)}
    package = patched(book({"B1": '"a"&A1', "B2": "A1", "B3": "A1>B2"}), values)
    known = {(sheet, *parse_cell(place)) for sheet, place in values}
    [(part, content)] = laid_aside(package, known).parts.items()
    assert b"<f>" not in content
    assert put_back(content, laid_aside(package, known).formulas[part]) == package.read(part)
    values_alone = without_formulas(package, known)
    assert [shown(values_alone, (row, 2)) for row in (1, 2, 3)] == ["a < b", "", True]


def test_a_formula_that_others_share_stays() -> None:
    package = book({"A3": "A1+1"})
    [(part, plain)] = [(p, package.read(p)) for p in package.parts if "worksheets/" in p]
    first, second = SHARED
    whole = plain.replace(b'<c r="A3"><f>A1+1</f><v></v></c>', first)
    whole = whole.replace(first + b"</row>", first + b'</row><row r="4">' + second + b"</row>")
    assert SHARED[1] in whole
    shared = package.changed({part: whole})
    aside = laid_aside(shared, {("Pad", 3, 1), ("Pad", 4, 1)})
    assert aside.formulas[part] == {b"A4": b'<f t="shared" si="0"/>'}
    assert put_back(aside.parts[part], aside.formulas[part]) == whole


def test_a_cell_that_is_gone_is_noticed() -> None:
    assert put_back(b'<c r="A1"><v>1</v></c>', {b"B1": b"<f>A1</f>"}) is None
