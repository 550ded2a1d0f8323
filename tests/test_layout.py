"""Where the template puts things, and the formulas that it writes there."""

from __future__ import annotations

import re

import pytest
from toy_model import ROWS, STEPS, toy_model

from estimator.engine import Model
from estimator.errors import RowError
from estimator.formula import MAX_FORMULA
from estimator.inputs import Field
from estimator.rows import MARKS_SHEET, OPTION_KEYS, Sheet
from estimator.workbook.package.a1 import Range, parse_range, shift_formula, split_target
from estimator.workbook.package.references import check_name, sheet_prefix
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.names import names
from estimator.workbook.template.plans import SectionPlan, TablePlan
from estimator.workbook.template.writer import formulas, unguarded

MODEL = toy_model()
PLAN = layout(MODEL)
FORMULAS = formulas(MODEL, PLAN)

OLD_FUNCTIONS = """
    ABS AND COUNT COUNTA COUNTBLANK COUNTIF EXACT FIND IF IFERROR INDEX INT ISBLANK ISERROR
    ISFORMULA ISLOGICAL ISNUMBER ISTEXT LARGE
    LEFT LEN LOWER MATCH MAX MID MIN N NOT OR RIGHT REPT ROUND ROWS SQRT SUBSTITUTE SUM SUMIF
    SUMIFS SUMPRODUCT T TEXT TRIM VALUE
"""
"""Functions that formulas may use: all of them in LibreOffice and in Excel 2007 already, but for
ISFORMULA, which came with Excel 2013 and is written with the prefix that the format asks for."""


def _planned_cells(plan: Layout) -> list[tuple[str, int, int, str]]:
    cells = []
    for key, place in plan.places.items():
        if plan.quantity(key).role == "stack":
            continue
        areas = {place.area, place.typed} - {None}
        for area in areas:
            for row in range(area.row1, area.row2 + 1):
                for column in range(area.column1, area.column2 + 1):
                    cells.append((place.sheet, row, column, key))
    return cells


def test_every_quantity_has_cells_and_no_two_share_one() -> None:
    assert set(PLAN.places) == set(MODEL.quantities)
    seen: dict[tuple[str, int, int], str] = {}
    for sheet, row, column, key in _planned_cells(PLAN):
        assert seen.setdefault((sheet, row, column), key) == key


def test_formulas_stand_only_on_computed_cells() -> None:
    for key, place in PLAN.places.items():
        item = PLAN.quantity(key)
        for option, row, at, column in place.cells():
            has = (place.sheet, _cell(at, column)) in FORMULAS
            reading = place.typed is not None and place.typed != place.area
            assert has == (item.role in ("row", "mark", "stack") or reading), (key, option, row)
        if place.typed is not None and place.typed != place.area:
            cell = _cell(*place.typed_cell())
            assert (place.sheet, cell) not in FORMULAS


def _cell(row: int, column: int) -> str:
    return f"{chr(64 + column)}{row}"


def test_a_table_has_one_value_cell_a_row_and_six_columns_where_it_is_by_option() -> None:
    assert PLAN.places["soil_price"].area == Range(9, 3, 8 + ROWS, 3)
    assert PLAN.places["soil_wet_ft"].typed == Range(9, 4, 8 + ROWS, 4)
    assert PLAN.places["soil_wet_ft"].area == Range(9, 5, 8 + ROWS, 5)
    rise = PLAN.places["step_rise_in"]
    assert rise.area.column2 - rise.area.column1 + 1 == len(OPTION_KEYS)
    assert rise.area.row2 - rise.area.row1 + 1 == STEPS
    assert rise.cell(option=2, row=3) == (rise.area.row1 + 3, rise.area.column1 + 2)


def test_a_stack_covers_exactly_its_rows() -> None:
    stack = PLAN.places["line_usd"].area
    rows = [PLAN.places[key].area.row1 for key in MODEL.stacks["line_usd"]]
    assert [stack.row1, stack.row2] == [rows[0], rows[-1]]


def test_one_formula_along_an_option_row() -> None:
    for key, place in PLAN.places.items():
        if not place.by_option or place.axis is not None:
            continue
        first = FORMULAS.get((place.sheet, _cell(*place.cell(0))))
        if first is None:
            continue
        for option in range(1, len(OPTION_KEYS)):
            other = FORMULAS[place.sheet, _cell(*place.cell(option))]
            assert other == shift_formula(first, 0, option), key


def test_one_formula_down_a_table_column() -> None:
    checked = 0
    for plan in PLAN.sheets.values():
        for part in plan.parts:
            if not isinstance(part, TablePlan):
                continue
            for column in part.columns:
                first = FORMULAS.get((plan.name, _cell(part.first_row, column.column)))
                if first is None:
                    continue
                for row in range(1, part.table.capacity):
                    below = FORMULAS[plan.name, _cell(part.first_row + row, column.column)]
                    assert below == shift_formula(first, row, 0)
                    checked += 1
    assert checked > 50


def test_a_blank_option_is_quiet_behind_one_test_of_its_heading() -> None:
    assert FORMULAS["Planting", "D7"].startswith('IF(D$5="","",')
    assert FORMULAS["Planting", "D5"] == "Options!K5"
    rise = PLAN.places["step_rise_ft"].area
    first, heading = _cell(rise.row1, rise.column1), _cell(rise.row1 - 1, rise.column1)
    guard = f'IF({heading[0]}${heading[1:]}="","",'
    assert FORMULAS["Field Sheet", first].startswith(guard)
    assert FORMULAS["Field Sheet", heading] == "LEFT(Options!K$5)"


def test_job_numbers_wait_for_inputs_that_can_be_read_but_the_flag_does_not() -> None:
    dear = PLAN.places["dear_soils"]
    assert FORMULAS[dear.sheet, _cell(*dear.cell())].startswith("IF(inputs_ok=1,")
    assert {"inputs_ok", "input_problems", "option_used", "overall_flag"} <= unguarded(MODEL)
    flag = PLAN.places["overall_flag"]
    assert not FORMULAS[flag.sheet, _cell(*flag.cell())].startswith("IF(inputs_ok=1")


def test_limits_of_inputs_are_read_from_cells() -> None:
    for plan in PLAN.sheets.values():
        for part in plan.parts:
            if isinstance(part, SectionPlan):
                for key in part.rows:
                    entry = PLAN.quantity(key).field
                    if entry and entry.kind in ("number", "whole", "share", "length"):
                        place = PLAN.places[key]
                        text = FORMULAS[place.sheet, _cell(*place.cell())]
                        assert not re.search(r"[<>]=?-?[0-9]", text.replace(">=$", ""))


def test_formulas_keep_to_old_functions_and_to_the_length_limit() -> None:
    for text in FORMULAS.values():
        assert len(text) <= MAX_FORMULA
        bare = re.sub(r'"[^"]*"', "", text)
        assert set(re.findall(r"([A-Z][A-Z0-9.]*)\(", bare)) <= set(OLD_FUNCTIONS.split())


def test_every_name_points_at_cells_of_a_sheet_of_the_workbook() -> None:
    found = names(PLAN)
    for name, reference in found.items():
        target = split_target(reference)
        assert target is not None, name
        assert target[0] in PLAN.order
        parse_range(target[1])
    assert found["planter_length_ft"] == "Job!$D$8"
    assert found["in_planter_length_ft"] == "Job!$B$8"
    assert found["option_key"] == "Options!$C$5:$H$5"
    assert found["stale_steps"] == "'Solved From'!$C$6:$H$6"


@pytest.mark.parametrize("name", ["abc12", "R", "c", "r1c1", "C12", "1st", "two words", "a" * 300])
def test_a_key_that_looks_like_a_cell_is_refused(name: str) -> None:
    with pytest.raises(RowError):
        check_name(name)


def test_a_model_without_option_columns_is_refused() -> None:
    sheet = Sheet("Job", "Job", "")
    sheet.section("Size")
    sheet.typed(Field("length_ft", "Length", "ft", "length"), scope="job")
    with pytest.raises(RowError, match="typed rows of options"):
        layout(Model([sheet], []))


def test_sheet_names_are_quoted_where_they_must_be() -> None:
    assert sheet_prefix("Job") == "Job!"
    assert sheet_prefix("Cut Plan") == "'Cut Plan'!"
    assert sheet_prefix("Bob's") == "'Bob''s'!"
    assert sheet_prefix("A1") == "'A1'!"


def test_the_snapshot_has_every_value_and_column_that_a_solver_reads_once() -> None:
    lines = [line for line in PLAN.snapshot.lines if not line.size and not line.given]
    seen = [
        (line.key, line.holds, option, row)
        for line in lines
        for option in line.options
        for row in range(line.first, line.first + max(1, line.rows))
    ]
    assert len(set(seen)) == len(seen)
    expected = {
        ("planter_length_ft", "single"): 1,
        ("depth_in", "single"): 6,
        ("soil_name", "beside texts"): ROWS,
        ("soil_name", "texts"): ROWS,
        ("soil_wet_ft", "numbers"): ROWS,
        ("volume_ft3", "single"): 6,
        ("step_rise_in", "answers"): 6 * STEPS,
        ("soil_price", "numbers"): ROWS,
    }
    for what, count in expected.items():
        assert sum(each[:2] == what for each in seen) == count
    assert len(seen) == sum(expected.values())
    assert len(lines) == len(expected)
    price = next(line for line in lines if line.key == "soil_price")
    assert price.marks == ("", "p")
    sizes = [line for line in PLAN.snapshot.lines if line.size]
    assert [line.key for line in sizes] == ["soil_name"]
    assert sizes[0].marks == ("x", "p")


def test_the_snapshot_tells_what_each_solver_gave() -> None:
    given = [line for line in PLAN.snapshot.lines if line.given]
    counted = {key: [line for line in given if line.key == key] for key in {g.key for g in given}}
    assert {
        k: [(len(line.options), line.rows, line.holds) for line in lines]
        for k, lines in counted.items()
    } == {
        "trips": [(6, 0, "single")],
        "bags": [(1, 0, "single")],
        "step_at_ft": [(1, STEPS, "answers")],
        "step_rise_in": [(6, STEPS, "answers")],
        "step_word": [(1, STEPS, "texts")],
    }
    assert counted["trips"][0].marks == ("", "s")
    assert counted["step_rise_in"][0].marks == ("s", "")
    first, last = PLAN.snapshot.singles()
    assert last - first + 1 == 2
    assert PLAN.snapshot.weights == max(ROWS, STEPS)


def test_what_depends_on_a_solver_shows_its_state_beside_the_number() -> None:
    states = PLAN.snapshot.states
    beside = PLAN.sheets["Planting"].columns.state
    short = f"'{MARKS_SHEET}'!$J${states['steps', 'buying']}"
    for key in ("trips_and_steps", "verdict"):
        cell = _cell(PLAN.places[key].area.row1, beside)
        assert FORMULAS["Planting", cell] == short
    own = FORMULAS["Planting", _cell(PLAN.places["trips"].area.row1, beside)]
    assert own.endswith(f'>0,"typed over",{short})')
    assert ("Planting", _cell(PLAN.places["volume_ft3"].area.row1, beside)) not in FORMULAS
    table = next(p for p in PLAN.sheets["Field Sheet"].parts if isinstance(p, TablePlan))
    over = FORMULAS["Field Sheet", _cell(table.state_row, table.left)]
    assert over == f"'{MARKS_SHEET}'!$I${states['steps',]}"
