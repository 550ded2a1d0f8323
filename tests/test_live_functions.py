"""The live functions through xlwings' own dispatcher and conversion, beside the engine's answers.

Values arrive as Excel hands them over: floats, None for blanks, tuples of tuples, a single cell as
it is, errors as codes. There is no Excel here; see ``excel_stand_in``.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from excel_stand_in import DIV0, MISSING, SPILL, VALUE, excel_functions

from estimator import reference
from estimator.live import convert, lumber
from estimator.solve import bearing, design, sheet_program, sheet_turns
from estimator.solve.courses import FrameSpec, solve_frame, string_height_ft
from estimator.solve.cutting import Piece, Saw, Stock, cut
from estimator.solve.floor_sheets import SheetRules, SheetStock, plan_sheets
from estimator.solve.joist_layout import joist_layout
from estimator.solve.surface import fit_ground
from estimator.solve.volumes import clip, cut_ft3, fill_ft3
from estimator.units import format_feet_inches

POINTS = (
    (0.0, 0.0, 10.0),
    (24.0, 0.0, 9.5),
    (24.0, 16.0, 8.0),
    (0.0, 16.0, 8.75),
    (12.0, 7.0, 9.3),
)
CORNERS = ((4.0, 2.0), (20.0, 2.0), (20.0, 14.0), (4.0, 14.0))
PIECES = (("joist", 117.0, 13.0), ("rim", "16 ft", 2.0), (None, None, None), ("block", 14.5, 12.0))
STOCK = (("2x8 12 ft", 12.0, 11.5), ("2x8 16 ft", 16.0, 15.75), ("2x8 20 ft", 20.0, 21.4))
WANTED = [Piece("joist", 117, 13), Piece("rim", 192, 2), Piece("block", 14.5, 12)]
SOLD = [
    Stock("2x8 12 ft", 144, 11.5),
    Stock("2x8 16 ft", 192, 15.75),
    Stock("2x8 20 ft", 240, 21.4),
]
FUNCTIONS = (
    "base_ground", "base_ground_grid", "base_cut_fill", "base_courses", "base_cut_plan",
    "base_boards_cost", "base_sheets", "base_span", "base_footing", "base_feet",
    "base_feet_inches", "base_block",
)  # fmt: skip


@pytest.fixture(scope="module")
def excel() -> Iterator[SimpleNamespace]:
    with excel_functions() as found:
        yield found


@pytest.fixture(autouse=True)
def _nothing_cached() -> None:
    convert.forget()


def ground() -> Any:
    places = np.array(POINTS)
    return fit_ground(places[:, :2], places[:, 2], [f"point {n}" for n in range(len(POINTS))])


def test_heights_stand_beside_the_places_asked_about(excel: SimpleNamespace) -> None:
    places = ((5.0, 5.0), (12.0, 7.0), (40.0, 5.0))
    head, *rows = excel.call("base_ground", POINTS, places)
    heights, guessed = ground().at(places)
    assert head == ["OK", "Height from"]
    assert [row[0] for row in rows] == heights.tolist()
    assert [row[1] == "guessed" for row in rows] == guessed.tolist() == [False, False, True]


def test_one_place_and_named_readings_will_do(excel: SimpleNamespace) -> None:
    named = tuple((f"P{n}", *reading) for n, reading in enumerate(POINTS))
    assert excel.call("base_ground", named, ((5.0, 5.0),)) == excel.call(
        "base_ground", POINTS, ((5.0, 5.0),)
    )


def test_a_grid_has_its_distances_round_it(excel: SimpleNamespace) -> None:
    block = excel.call("base_ground_grid", POINTS, ((2.0, 6.0, 10.0),), ((3.0,), (8.0,)))
    assert block[0] == ["OK", 2.0, 6.0, 10.0]
    assert [row[0] for row in block[1:]] == [3.0, 8.0]
    assert block[2][3] == ground().at([(10.0, 8.0)])[0][0]


@pytest.mark.parametrize(
    "heights", [9.0, ((9.0,),), ((9.0, 8.5),), ((9.0,), (8.5,), (None,))],
    ids=["scalar", "one cell", "one row", "one column with a blank"],
)  # fmt: skip
def test_cut_and_fill_come_for_every_height(excel: SimpleNamespace, heights: Any) -> None:
    head, *rows = excel.call("base_cut_fill", POINTS, CORNERS, heights, "6 in")
    patch = clip(ground(), CORNERS).lowered(0.5)
    assert head[:3] == ["OK", "Cut, bank yd3", "Fill, compacted yd3"]
    assert rows
    for z, cut_yd3, fill_yd3, area, guessed in rows:
        assert cut_yd3 == float(cut_ft3(patch, z)) / 27
        assert fill_yd3 == float(fill_ft3(patch, z)) / 27
        assert (area, guessed) == (pytest.approx(192), 0)


def test_courses_and_trench_depths_of_one_side(excel: SimpleNamespace) -> None:
    head, *rows = excel.call(
        "base_courses", POINTS, CORNERS, None, 5.5, 5.5, 4.0, 2.0, MISSING, ((8.0, 12.0),),
        4.0, "right",
    )  # fmt: skip
    spec = FrameSpec(5.5 / 12, 5.5 / 12, 4 / 12, 2 / 12, stock_lengths_ft=(8.0, 12.0))
    string = string_height_ft(ground(), CORNERS)
    frame = solve_frame(ground(), CORNERS, string, spec)
    wanted = [s for s in frame.stations(4.0) if s.side == 1]
    assert head[0] == f"OK: string {string:.3f} ft, {len(frame.pieces)} timbers"
    assert [row[0] for row in rows] == ["right"] * len(wanted)
    assert [row[3] for row in rows] == [s.courses for s in wanted]
    assert [row[5] for row in rows] == [s.trench_below_ground_ft * 12 for s in wanted]
    assert excel.call(
        "base_courses", POINTS, CORNERS, None, 5.5, 5.5, 4.0, 2.0, MISSING, ((8.0, 12.0),),
        4.0, 2.0,
    )[1:] == rows  # fmt: skip


def test_a_cut_plan_costs_what_the_engine_says(excel: SimpleNamespace) -> None:
    head, *rows = excel.call("base_cut_plan", PIECES, STOCK, 0.125, MISSING, MISSING)
    plan = cut(WANTED, SOLD, Saw(0.125))
    assert head[0] == f"OK: ${plan.cost:,.2f}, {len(plan.boards)} boards, least cost, proven"
    assert sum(row[2] for row in rows) == len(plan.boards)
    prices = {s.item: s.price for s in SOLD}
    assert sum(row[2] * prices[row[0]] for row in rows) == pytest.approx(plan.cost)
    cost = excel.call("base_boards_cost", PIECES, STOCK, MISSING, MISSING, MISSING)
    assert cost == [[plan.cost]]


def test_a_limited_stock_is_kept_to(excel: SimpleNamespace) -> None:
    few = (("2x8 12 ft", 12.0, 11.5, 1.0), ("2x8 16 ft", 16.0, 15.75, None))
    block = excel.call("base_cut_plan", PIECES, few, MISSING, MISSING, MISSING)
    assert sum(row[2] for row in block[1:] if row[0] == "2x8 12 ft") <= 1


def test_floor_sheets_lie_as_the_engine_lays_them(excel: SimpleNamespace) -> None:
    head, *rows = excel.call("base_sheets", "16 ft", 12.0, 16.0, *[MISSING] * 5, 0.125, 0.125)
    lines = joist_layout(192.0, 16.0, 1.5).sheet_lines_in
    plan = plan_sheets(192.0, 144.0, lines, SheetStock(), SheetRules())
    assert head[0].startswith(f"OK: {plan.sheets} sheets, ")
    assert rows == [
        [p.sheet_index + 1, p.x_in, p.y_in, p.length_in, p.width_in] for p in plan.pieces
    ]


@pytest.mark.parametrize("floor", [(19.0, 13.0, 16.0), (14.0, 13.0, 16.0), (20.0, 9.0, 19.2)])
def test_sheets_of_a_cell_take_few_looks_and_say_what_these_did_not_prove(
    floor: tuple[float, float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Hard floors of whole feet. Work is counted, as no two clocks agree: 480 rows set in turns and
    3,000 pieces tried took 38 ms of a busy processor (measured)."""
    long_ft, wide_ft, spacing_in = floor
    lines = joist_layout(12 * long_ft, spacing_in, 1.5).sheet_lines_in
    fewest = plan_sheets(12 * long_ft, 12 * wide_ft, lines, SheetStock(), SheetRules())
    work = Counter[str]()
    fill, into = sheet_turns._filled, sheet_turns._Ways.into

    def filled(*asked: Any) -> Any:
        work["rows"] += 1
        return fill(*asked)

    def laid(ways: Any, *asked: Any) -> Any:
        before = ways.steps_left
        found = into(ways, *asked)
        work["pieces"] += before - ways.steps_left
        return found

    monkeypatch.setattr(sheet_turns, "_filled", filled)
    monkeypatch.setattr(sheet_turns._Ways, "into", laid)
    monkeypatch.setattr(sheet_program.Program, "solve", lambda *_: pytest.fail("too long"))
    monkeypatch.setattr(sheet_program.Program, "try_solve", lambda *_: pytest.fail("too long"))
    says = str(lumber.sheet_pieces(*floor, *[None] * 7)[0][0])
    assert 0 < work["rows"] <= 500
    assert work["pieces"] <= 4000
    sheets, least = re.fullmatch(  # type: ignore[union-attr]
        r"OK: (\d+) sheets, not proven the fewest, no layout takes fewer than (\d+): a refill.*",
        says,
    ).groups()
    assert int(least) <= fewest.sheets <= int(sheets)
    assert int(least) < int(sheets)


def test_a_joists_span_is_the_engines(excel: SimpleNamespace) -> None:
    members = (
        ("Southern pine", "No.2", "2x8", 16.0, 40.0, 10.0, None),
        ("Hem-fir", "No.2", "2x8", 16.0, 40.0, 10.0, "treated"),
    )
    head, plain, treated = excel.call("base_span", members)
    values = reference.design_values("Southern pine", "No.2", "2x8")
    share = 16 / 12
    assert head[0] == "OK"
    assert plain[0] == pytest.approx(
        float(
            design.joist_span_ft(
                1.5, 7.25, values.bending_psi * values.size_factor * 1.15, values.shear_psi,
                values.bearing_psi, values.modulus_psi, 40 * share, 10 * share,
            )
        )
    )  # fmt: skip
    dry = excel.call("base_span", ((*members[1][:6], None),))[1][0]
    assert treated[0] < dry, "hem-fir is incised for treatment"


def test_spans_agree_with_the_published_joist_table(excel: SimpleNamespace) -> None:
    """IRC Table R502.3.1(2) (2015 to 2021), the rows read in print, which gives whole inches."""
    rows = [
        row
        for row in reference.load("joist_spans")
        if row.text("member") == "floor joist" and row.published and row.number("live_psf") == 40
    ]
    assert len(rows) >= 40
    members = tuple(
        (
            *(row.text(c) for c in ("species", "grade", "nominal")),
            *(row.number(c) for c in ("spacing_in", "live_psf", "dead_psf")),
        )
        for row in rows
    )
    head, *spans = excel.call("base_span", members)
    assert head[0] == "OK"
    for row, member, span in zip(rows, members, spans, strict=True):
        assert abs(span[0] * 12 - row.number("span_in")) <= 1, member


def test_a_footing_is_sized_for_load_and_soil(excel: SimpleNamespace) -> None:
    head, clay, by_number = excel.call("base_footing", ((3000.0, "clay"), ("3000", 1500.0)), 10.0)
    across = float(bearing.footing_diameter_in(3000.0, 1500.0))
    assert head[0] == "OK"
    assert clay == by_number
    assert clay[0] == across
    assert clay[1] == float(bearing.footing_side_in(3000.0, 1500.0))
    assert clay[2] == float(bearing.footing_thickness_in(across, 10.0))
    assert clay[3] == pytest.approx(1500)


def test_a_row_that_fails_says_so_and_makes_the_status_bad(excel: SimpleNamespace) -> None:
    block = excel.call("base_footing", ((3000.0, "clay"), (None, None), (3000.0, "jelly")), MISSING)
    assert block[0][0].startswith("ERROR: ")
    assert block[1][0] > 0
    assert block[2] == ["", "", "", ""]
    assert block[3][0].startswith("ERROR: ")
    assert block[3][1:] == ["", "", ""]


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("12' 6 1/2\"", [[12 + 6.5 / 12]]),
        (3.0, [[3.0]]),
        ((("12-6", None, 2.0),), [[12.5, "", 2.0]]),
        ((("6 in",), ("3.81 m",)), [[0.5], [12.5]]),
    ],
)
def test_lengths_are_read_in_the_shape_of_the_range(
    excel: SimpleNamespace, typed: Any, wanted: Any
) -> None:
    got = excel.call("base_feet", typed, MISSING)
    assert [len(row) for row in got] == [len(row) for row in wanted]
    for row, expected in zip(got, wanted, strict=True):
        for cell, value in zip(row, expected, strict=True):
            assert cell == (pytest.approx(value) if value != "" else "")


def test_a_length_that_cannot_be_read_spoils_its_own_cell_only(excel: SimpleNamespace) -> None:
    (row,) = excel.call("base_feet", (("pi", 6.0, VALUE),), "in")
    assert row[0].startswith("ERROR: lengths, row 1, column 1: 'pi' can't be read")
    assert row[1] == 0.5
    assert row[2].startswith("ERROR: lengths, row 1, column 3")


def test_feet_are_written_as_a_tape_reads(excel: SimpleNamespace) -> None:
    assert excel.call("base_feet_inches", ((15.62, None),), MISSING) == [
        [format_feet_inches(15.62), ""]
    ]
    assert excel.call("base_feet_inches", 15.62, 8.0) == [[format_feet_inches(15.62, 8)]]


@pytest.mark.parametrize("code", [DIV0, VALUE, SPILL])
def test_an_error_cell_is_never_read_as_a_blank(excel: SimpleNamespace, code: int) -> None:
    readings = (*POINTS, (3.0, 3.0, code))
    ((text,),) = excel.call("base_ground", readings, ((5.0, 5.0),))
    assert text.startswith("ERROR: points, row 6, column 3")


def test_the_error_of_one_live_cell_spoils_what_reads_it(excel: SimpleNamespace) -> None:
    ((text,),) = excel.call("base_feet", "pi", MISSING)
    ((next_text,),) = excel.call("base_boards_cost", (("joist", text, 3.0),), STOCK, 0.125,
                                 MISSING, MISSING)  # fmt: skip
    assert next_text.startswith("ERROR: pieces, row 1, column 2")


@pytest.mark.parametrize(
    ("name", "arguments", "says"),
    [
        ("base_ground", (None, ((1.0, 1.0),)), "points: the range is blank"),
        ("base_ground", (POINTS[:2], ((1.0, 1.0),)), "only 2 readings"),
        ("base_ground", (POINTS, ((1.0,),)), "places: the range has 1 column, it takes at least 2"),
        ("base_cut_fill", (POINTS, CORNERS[:2], 9.0, MISSING), "footprint has no area"),
        ("base_cut_fill", (POINTS, CORNERS, ((None,),), MISSING), "heights: the range is blank"),
        ("base_courses", (POINTS, CORNERS[:3], None, 5.5, 5.5, 4.0, *[MISSING] * 5), "3 corners"),
        ("base_cut_plan", ((("joist", 300.0, 1.0),), STOCK, *[MISSING] * 3), "joist is 300 in"),
        ("base_cut_plan", ((("joist", 30.0, 1.5),), STOCK, *[MISSING] * 3), "not a whole number"),
        ("base_cut_plan", (PIECES, (("2x8", 12.0, 0.0),), *[MISSING] * 3), "2x8 has no price"),
        ("base_cut_plan", (PIECES, STOCK, ((0.1, 0.2),), MISSING, MISSING), "one cell is wanted"),
        ("base_sheets", (16.0, 12.0, 2.0, *[MISSING] * 7), "too close"),
        ("base_sheets", (16.0, 12.0, 5.0, *[MISSING] * 7), "joists 5 in apart"),
        ("base_sheets", (16.0, 12.0, 16.0, *[MISSING] * 3, "wavy", *[MISSING] * 3), "'wavy'"),
        ("base_feet", (1.0, "furlong"), "unit"),
        ("base_feet_inches", (1.0, 0.0), "parts"),
    ],
)  # fmt: skip
def test_what_is_wrong_stands_in_the_cell(
    excel: SimpleNamespace, name: str, arguments: Any, says: str
) -> None:
    block = excel.call(name, *arguments)
    assert len(block) == len(block[0]) == 1
    assert block[0][0].startswith("ERROR: ")
    assert says in block[0][0]
    assert len(block[0][0]) <= 255


def test_even_an_unforeseen_failure_is_a_text_in_the_cell(
    excel: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any) -> Any:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(lumber, "cut_plan", broken)
    ((text,),) = excel.call("base_cut_plan", PIECES, STOCK, *[MISSING] * 3)
    assert text == "ERROR: it can't be worked out. Look at the numbers that it reads."


def test_an_unchanged_input_is_worked_out_once(
    excel: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    real = lumber.cut
    monkeypatch.setattr(lumber, "cut", lambda *a: asked.append(a) or real(*a))
    first = excel.call("base_cut_plan", PIECES, STOCK, 0.125, MISSING, MISSING)
    assert excel.call("base_cut_plan", PIECES, STOCK, 0.125, MISSING, MISSING) == first
    assert len(asked) == 1
    excel.call("base_cut_plan", PIECES, STOCK, 0.25, MISSING, MISSING)
    assert len(asked) == 2


def test_the_cache_tells_a_yes_from_a_one(excel: SimpleNamespace) -> None:
    assert excel.call("base_feet", 1.0, MISSING) == [[1.0]]
    assert excel.call("base_feet", True, MISSING)[0][0].startswith("ERROR: ")


def test_the_cache_is_bounded() -> None:
    for n in range(convert.CACHED + 50):
        convert.answer(lumber.footings, ((3000.0, float(n + 1)),), None)
    assert convert._kept.cache_info().currsize == convert.CACHED


def test_calls_at_once_give_the_same_as_calls_in_turn(excel: SimpleNamespace) -> None:
    pieces = [((("joist", 60.0 + n, 9.0), ("rim", 90.0, 4.0)), STOCK, 0.125) for n in range(12)]
    in_turn = [excel.module.base_cut_plan(*p) for p in pieces]
    convert.forget()
    with ThreadPoolExecutor(4) as pool:
        at_once = list(pool.map(lambda p: excel.module.base_cut_plan(*p), pieces))
    assert at_once == in_turn


VBA_WORDS = frozenset(
    {
        "alias", "and", "any", "as", "boolean", "byref", "byte", "byval", "call", "case",
        "close", "const", "currency", "date", "declare", "dim", "do", "double", "each", "else",
        "end", "enum", "erase", "error", "event", "exit", "false", "for", "friend", "function",
        "get", "global", "go", "if", "imp", "in", "input", "integer", "is", "let", "lib",
        "like", "line", "lock", "long", "loop", "me", "mid", "mod", "name", "new", "next",
        "not", "nothing", "null", "object", "on", "open", "option", "optional", "or",
        "paramarray", "preserve", "print", "private", "property", "public", "put", "random",
        "read", "redim", "rem", "resume", "return", "seek", "select", "set", "single", "static",
        "step", "stop", "string", "sub", "tab", "then", "time", "to", "true", "type", "unlock",
        "until", "variant", "wend", "while", "width", "with", "write", "xor", "caller"
    }
)  # fmt: skip
"""Words that an argument can't be called, as xlwings writes it into a macro (VBA), from memory."""


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_is_as_the_wizard_and_the_macro_want_it(
    excel: SimpleNamespace, name: str
) -> None:
    info = getattr(excel.module, name).__xlfunc__
    assert info["category"] == "Outbuilding base"
    assert not info["volatile"]
    assert 0 < len(info["ret"]["doc"]) <= 255
    for argument in info["args"]:
        assert argument["name"].lower() not in VBA_WORDS
        assert not argument["doc"].startswith("Positional argument"), argument["name"]
        assert 0 < len(argument["doc"]) <= 255
        assert argument["options"]["err_to_str"] is True
        assert argument["options"].get("ndim") in (None, 2)
        assert "expand" not in argument["options"]
    assert "expand" not in info["ret"]["options"]


def test_there_are_no_other_functions_and_all_are_in_the_guide(excel: SimpleNamespace) -> None:
    there = [n for n in vars(excel.module) if hasattr(getattr(excel.module, n), "__xlfunc__")]
    assert sorted(there) == sorted(FUNCTIONS)
    guide = (Path(__file__).parent.parent / "docs" / "live_link.md").read_text(encoding="utf-8")
    for name in there:
        assert re.search(rf"\b{name.upper()}\b", guide), name


def test_every_answer_is_a_full_rectangle(excel: SimpleNamespace) -> None:
    blocks = [
        excel.call("base_ground", POINTS, ((1.0, 1.0), (2.0, 2.0))),
        excel.call("base_cut_fill", POINTS, CORNERS, ((8.0, 9.0),), MISSING),
        excel.call("base_courses", POINTS, CORNERS, 10.5, 5.5, 5.5, 4.0, *[MISSING] * 5),
        excel.call("base_cut_plan", PIECES, STOCK, *[MISSING] * 3),
        excel.call("base_sheets", 16.0, 12.0, 16.0, *[MISSING] * 7),
        excel.call("base_span", (("Hem", "No.2", "2x8", 16.0, 40.0, 10.0),)),
    ]
    for block in blocks:
        assert len({len(row) for row in block}) == 1
        for row in block:
            assert all(isinstance(cell, (float, str)) for cell in row)
