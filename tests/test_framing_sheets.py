"""Floor frame, boards, sheets and suggestions, read off the whole model.

Facts are common practice, no source, unless a test says otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, on_flat, one_option, priced, solved, with_options

from estimator.errors import EstimatorError
from estimator.inputs import TypedJob
from estimator.model.cut_plan import MARKS_LONG
from estimator.model.kinds import BLOCKS, FRAMED, KIND_NAMES, OPEN, PIERS
from estimator.model.solvers import board_cuts, sheet_layout
from estimator.model.solvers.candidates import GRID, SKIDS
from estimator.model.solvers.least_sizes import NONE
from estimator.model.suggestions import SPACINGS
from estimator.model.tape import tape
from estimator.solve.cutting import Board, CutPlan, Saw
from estimator.units import format_feet_inches, parse_length
from estimator.values import as_values

FEW = settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
PINE = {"species": "Southern pine No.2"}


def flat(kind: str, job: TypedJob | None = None, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(kind, job or demo(), **cells)))


def doubled(job: TypedJob, *places_ft: float | str) -> TypedJob:
    lines = dict(enumerate(places_ft))
    names = {row: f"partition {row + 1}" for row in lines}
    return changed(job, double_what=names, double_at_ft=lines)


# Marks by the tape


@given(st.floats(-40, 600))
@settings(max_examples=200, deadline=None)
def test_a_live_tape_reading_is_the_engines_own(length_in: float) -> None:
    got = str(np.asarray(tape(as_values(length_in)))[0, 0])
    assert got == format_feet_inches(length_in / 12)


def test_joists_are_marked_from_one_corner_without_adding() -> None:
    values = flat(FRAMED)
    near = [str(x) for x in block(values, "mark_near")[:10]]
    assert near[:4] == ["0 in", "1 ft 3 1/4 in", "2 ft 7 1/4 in", "3 ft 11 1/4 in"]
    assert near[-1] == "11 ft 10 1/2 in"
    assert [str(x) for x in block(values, "mark_centre")[6:7]] == ["8 ft 0 in"]
    assert set(block(values, "mark_near")[10:]) == {""}


@pytest.mark.parametrize("spacing_in", [12, 16, 19.2, 24])
def test_end_of_an_eight_foot_sheet_lands_mid_joist(spacing_in: float) -> None:
    values = flat(FRAMED, joist_spacing_in=spacing_in)
    assert "8 ft 0 in" in list(block(values, "mark_centre"))


@pytest.mark.parametrize(
    ("place", "centres"),
    [
        ("edge centred", ["0 in", "3 ft 4 in", "6 ft 8 in", "10 ft 0 in"]),
        # 38.83 in on centre: 1 3/4, 40.58, 79.42 and 118 1/4 in.
        ("flush", ["1 3/4 in", "3 ft 4 9/16 in", "6 ft 7 7/16 in", "9 ft 10 1/4 in"]),
    ],
)
def test_four_skids_over_ten_feet_are_marked_from_the_front(place: str, centres: list[str]) -> None:
    values = flat(FRAMED, skid_count=4, skid_place=place)
    assert [str(x) for x in block(values, "under_centre")[:4]] == centres
    step = 40 if place == "edge centred" else 38.8333333333
    assert at(values, "bearer_step_in") == pytest.approx(step)
    assert at(values, "under_near") == ("-1 3/4 in" if place == "edge centred" else "0 in")


def test_beams_and_rows_of_blocks_are_marked_from_the_front() -> None:
    values = flat(PIERS, support_rows=3, support_inset_in=12, blocking_rows=2)
    assert [str(x) for x in block(values, "under_centre")[:4]] == [
        "1 ft 0 in",
        "5 ft 0 in",
        "9 ft 0 in",
        "",
    ]
    assert [str(x) for x in block(values, "block_row")[:3]] == ["3 ft 4 in", "6 ft 8 in", ""]


# Doubled joists


def test_a_partition_on_a_joist_adds_one_and_one_between_joists_adds_two() -> None:
    job = doubled(demo(), "4 ft", "6 ft 8 in", 6.0)
    values = flat(FRAMED, job)
    assert at(values, "joist_count") == 10
    assert at(values, "joist_doubled") == 4
    assert at(values, "joists_in_all") == at(values, "joists_count") == 14
    # Beside 4 ft and 6 ft 8 in no block fits; the pair at 6 ft parts its bay in two.
    assert at(values, "blocking_count") == 10
    assert at(values, "tie_count") == 28
    marks = [float(x) for x in block(values, "mark_near_in")[:14]]
    assert marks == sorted(marks)
    assert {48.75, 70.5, 72.0, 80.75} <= {round(x, 6) for x in marks}


def test_doubling_never_lowers_the_price_of_boards() -> None:
    assert at(flat(FRAMED, doubled(demo(), 4)), "cut_cost") > at(flat(FRAMED), "cut_cost")


@pytest.mark.parametrize(
    ("places", "words"),
    [((14.0,), "off the 144 in floor"), ((6.0, 6.05), "No room for a doubled joist")],
)
def test_a_doubled_joist_that_has_no_place_is_said(places: tuple[float, ...], words: str) -> None:
    with pytest.raises(EstimatorError, match=words):
        dict(flat(FRAMED, doubled(demo(), *places)))


# Boards


def only_lengths(job: TypedJob, stock: str, *lengths_ft: float) -> TypedJob:
    """The job with a stock sold in these lengths alone."""
    cells = dict(job.cells)
    rows = [p for (k, p), v in job.cells.items() if k == "item_stock" and v == stock]
    for row in rows:
        if float(cells["item_length_ft", row]) not in lengths_ft:
            for key, place in job.cells:
                if place == row and key.startswith("item_"):
                    del cells[key, place]
    return TypedJob(cells, job.where)


def test_ten_foot_joists_from_twelve_foot_boards_leave_two_foot_blocks() -> None:
    job = changed(demo(), building_width_ft="10 ft 3 in", building_length_ft=16, kerf_in=0)
    values = flat(FRAMED, only_lengths(job, "2x6", 12, 16), joist_stock="2x6", joist_spacing_in=24)
    assert at(values, "joist_length_in") == 120
    assert at(values, "block_length_in") == 22.5
    assert at(values, "blocks_from_offcuts") == at(values, "blocking_count") == 8
    text = " ".join(str(x) for x in block(values, "board_pieces"))
    assert "1 joist 10 ft 0 in, 1 block 1 ft 10 1/2 in" in text


def test_the_cut_plan_reads_as_a_tape_and_draws_each_board_to_scale() -> None:
    values = flat(FRAMED)
    for row, pieces in enumerate(block(values, "board_pieces")):
        if not pieces:
            continue
        for part in str(pieces).split(", "):
            assert re.fullmatch(r"\d+ [a-z ]+ (\d+ ft )?(\d+ )?(\d+/\d+ |\d+ )?in", part), part
        left = float(block(values, "board_offcut_in")[row])
        assert block(values, "saw_left")[row] == format_feet_inches(left / 12)
    lines = int(at(values, "saw_lines"))
    assert list(block(values, "saw_end_line")[:lines]) == list(range(1, lines + 1))
    assert not block(values, "saw_end_line")[lines:].any()
    long_ft = dict(zip(block(values, "item_name"), block(values, "item_length_ft"), strict=True))
    longest = max(long_ft[item] for item in block(values, "board_item") if item)
    assert at(values, "longest_board_ft") == longest
    wide = 1.02 * 12 * float(longest)
    first = [line for line in range(lines) if block(values, "board_item")[line]]
    assert len(first) == len(set(block(values, "saw_cut_line"))) - 1 > 5
    for line in first:
        length = 12 * float(long_ft[block(values, "board_item")[line]])
        assert block(values, "saw_end_x")[line] * wide == pytest.approx(length)
        on_line = block(values, "saw_cut_line") == line + 1
        cuts = [float(x) * wide for x in block(values, "saw_cut_x")[on_line]]
        parts = str(block(values, "board_pieces")[line]).split(", ")
        assert len(cuts) == sum(int(part.split()[0]) for part in parts) > 0
        left = float(block(values, "board_offcut_in")[line])
        # A kerf stands between the last piece and what is left.
        assert max(cuts) == pytest.approx(length - left, abs=0.13)
        assert float(block(values, "saw_lb")[line]) > 0


def test_pieces_are_marked_as_floor_frame_counts_them() -> None:
    values = flat(FRAMED, blocking_rows=1)
    marks = " ".join(str(text) for text in block(values, "saw_marks"))
    assert "J1-J" in marks
    assert "R1-R2: " in marks
    # The second piece of a board begins a kerf behind the first.
    first, second = re.search(r"\bB1-B\d+: ([^,]+), ([^,]+),", marks).groups()  # type: ignore[union-attr]
    length = parse_length(f"{second} in") - parse_length(f"{first} in")
    assert length * 12 == pytest.approx(at(values, "block_length_in") + 1 / 8, abs=1 / 16)


def test_marks_stand_at_the_cuts_of_their_pieces_in_the_drawing() -> None:
    values = flat(FRAMED, blocking_rows=1)
    wide = 1.02 * 12 * float(at(values, "longest_board_ft"))
    drawn = list(
        zip(
            block(values, "saw_cut_mark"),
            block(values, "saw_cut_line"),
            block(values, "saw_cut_x") * wide,
            strict=True,
        )
    )
    told: dict[int, str] = {}
    for row, text in enumerate(map(str, block(values, "saw_marks")), 1):
        if block(values, "saw_item")[row - 1]:
            told[row] = text
        elif text:
            told[max(told)] += f" {text}"
    names = [(str(name), line, x) for name, line, x in drawn if name]
    assert [line > 0 for _, line, _ in drawn] == [bool(name) for name, _, _ in drawn]
    for name, line, x in (each for each in names if each[0] != ".."):
        letters, number = re.match(r"([A-Z]+)(\d+)", name).groups()  # type: ignore[union-attr]
        runs = re.findall(rf"\b{letters}(\d+)[.\d]*(?:-{letters}(\d+))?", told[int(line)])
        assert any(int(a) <= int(number) <= int(b or a) for a, b in runs)
        ends = re.findall(r"[:,] (\d+(?: \d+/\d+)?)(?=[,;]|$)", told[int(line)])
        assert min(abs(parse_length(f"{end} in") * 12 - x) for end in ends) <= 1 / 16
    assert any(name == "R1-R2" for name, _, _ in names)


@pytest.mark.parametrize(
    ("marks", "share", "drawn"),
    [
        ("B2-B11", 0.08, "B2-B11"),
        ("B2-B11", 0.05, "B2.."),
        ("B2", 0.01, ".."),
        ("RL1.1", 0.05, "RL1.1"),
        ("S1.1, S1.2, S2.1, S2.2", 0.5, "S1.1.."),
    ],
)
def test_marks_are_drawn_as_the_piece_has_room_for_them(
    marks: str, share: float, drawn: str
) -> None:
    board = Board("2x6 x 16 ft", 192.0, (("block", share * 192),), 0.0)
    line = board_cuts.Line("A", board, 1, "", (marks,), (share * 192,), ("",))
    assert board_cuts.cuts_drawn([line], 192.0) == [(1 + share, drawn)]


def test_a_board_with_many_marks_goes_on_on_the_next_line() -> None:
    pieces = tuple(("block", 14.5) for _ in range(12))
    board = Board("2x6 x 16 ft", 192.0, pieces, 192 - 12 * 14.625)
    marks = {("2x6", "block", 14.5): [f"B{n}" for n in range(1, 13)]}
    plan = CutPlan((board,), 10.0, 10.0, True, 0.0)
    (line,) = board_cuts.option_lines("A", [("2x6", plan)], marks, Saw())
    assert len(line.texts) > 1
    assert all(len(re.sub(r"\{([^|]*)\|[^}]*\}", r"\1", text)) <= MARKS_LONG for text in line.texts)
    marks_of, places = " ".join(line.texts).split(": ")
    assert marks_of == "B1-B12"
    ends = [re.sub(r"\{([^|]*)\|[^}]*\}", r"\1", place) for place in places.split(", ")]
    assert ends[:3] == ["14 1/2", "29 1/8", "43 3/4"]
    assert len(ends) == len(board.pieces)


def test_blocks_of_the_odd_bay_are_listed_with_the_joists_beside_them() -> None:
    # 13 ft at 16 in: the last bay is the 9 3/4 in that the end joist leaves of 12 in.
    values = flat(FRAMED, changed(demo(), building_length_ft=13), blocking_rows=2)
    joists = sum(bool(text) for text in block(values, "mark_near"))
    short = [str(text) for text in block(values, "short_blocks") if str(text)]
    assert short[-1].endswith(f" between J{joists - 1} and J{joists}")
    assert all(text.startswith("2 of ") for text in short)
    near = block(values, "mark_near_in")
    clear = near[joists - 1] - near[joists - 2] - 1.5
    assert parse_length(short[-1][5:].split(" between")[0]) * 12 == pytest.approx(clear, abs=1 / 16)
    assert [str(text) for text in block(values, "floor_short") if str(text)] == short
    # 10 ft at 16 in and every bay of 16 in: none but those at the ends, half a joist less.
    assert not any(block(flat(FRAMED, blocking_rows=0), "short_blocks"))


def test_boards_over_for_culls_are_bought_and_not_on_the_plan() -> None:
    plain = flat(FRAMED)
    assert at(plain, "culls") == 0
    values = flat(FRAMED, changed(demo(), cull_share=0.1, cull_boards=1))
    planned, bought = block(plain, "item_boards"), block(values, "item_boards")
    over = np.where(planned > 0, np.ceil(np.round(planned * 0.1, 9)) + 1, 0)
    assert list(bought - planned) == list(over)
    assert at(values, "culls") == over.sum() > 0
    assert at(values, "cut_cost") == at(plain, "cut_cost")
    assert at(values, "total_cost") > at(plain, "total_cost")


def test_off_cuts_long_enough_are_listed_to_keep() -> None:
    values = flat(FRAMED)
    counts = block(values, "offcut_count")
    kept = np.repeat(block(values, "offcut_length_in"), counts.astype(int))
    boards = np.repeat(block(values, "board_offcut_in"), block(values, "board_count").astype(int))
    assert sorted(kept) == pytest.approx(sorted(boards[boards >= 12]), abs=1e-3)


def cost_of_boards(job: TypedJob, **cells: Any) -> float:
    return float(at(flat(FRAMED, job, **cells), "cut_cost"))


@FEW
@given(cut=st.floats(0.5, 0.99), item=st.sampled_from(["2x6_8_treated", "2x6_10_treated"]))
def test_cheaper_stock_never_raises_the_cost_of_boards(cut: float, item: str) -> None:
    key = f"lumber_{item}"
    rows = {str(v): p for (k, p), v in demo().cells.items() if k == "item_key"}
    price = float(demo().cells["item_price", rows[key]])
    cells = {"joist_stock": "2x6 treated"}
    cheaper = cost_of_boards(priced(demo(), **{key: round(price * cut, 2)}), **cells)
    assert cheaper <= cost_of_boards(demo(), **cells) + 1e-9


@pytest.mark.parametrize("width_ft", [8, 10, 11, 12])
def test_another_stocked_length_never_raises_the_cost_of_boards(width_ft: float) -> None:
    job = changed(demo(), building_width_ft=width_ft)
    costs = [
        cost_of_boards(only_lengths(job, "2x6", *lengths), joist_stock="2x6")
        for lengths in ((12, 16), (10, 12, 16), (8, 10, 12, 16), (8, 10, 12, 16, 20))
    ]
    assert costs == sorted(costs, reverse=True)


@pytest.mark.parametrize("width_ft", [7.9, 10.25, 12])
def test_a_wider_kerf_never_lowers_the_cost_of_boards(width_ft: float) -> None:
    job = changed(demo(), building_width_ft=width_ft)
    costs = [cost_of_boards(changed(job, kerf_in=k)) for k in (0, 0.0625, 0.125, 0.25, 1)]
    assert costs == sorted(costs)


# Sheets


def test_ten_by_twelve_takes_four_square_edged_sheets_with_blocks_under_their_seams() -> None:
    cells = {"sheet_item": "sheet_3_4_square", "nominal_rips": "yes"}
    values = flat(FRAMED, **cells)
    assert at(values, "sheet_count") == at(values, "sheet_bound") == 4
    assert at(values, "seam_rows") == 2
    assert at(values, "blocking_count") == 3 * 9
    bare = flat(FRAMED, **cells, seam_blocks="no")
    assert at(bare, "blocking_count") == 9
    assert at(bare, "screw_count") < at(values, "screw_count")
    assert at(flat(FRAMED), "seam_rows") == 0  # tongue and groove


def test_screws_stand_six_inches_apart_at_the_edge_and_twelve_in_the_field() -> None:
    job = changed(demo(), building_length_ft=8, building_width_ft=4)
    values = flat(FRAMED, job, sheet_item="sheet_3_4_square", nominal_rips="yes")
    # One sheet on seven joists: 9 on each end joist, 5 on each of 5, 2 between joists at both rims.
    assert at(values, "sheet_count") == 1
    assert at(values, "screw_count") == 2 * 9 + 5 * 5 + 2 * 6 * 2


def test_floor_and_sheets_are_drawn_to_scale_in_sheets() -> None:
    values = flat(FRAMED, sheet_item="sheet_3_4_square", nominal_rips="yes")
    pieces = int(at(values, "sheet_pieces"))
    long = block(values, "laid_part_long")[:pieces] * 96
    wide = block(values, "laid_part_wide")[:pieces] * 48
    assert long == pytest.approx(block(values, "piece_long_in")[:pieces])
    assert (long * wide).sum() / 144 == pytest.approx(120)
    # The front row is drawn at the bottom: its left end is the piece at corner 1.
    at_x, at_y = block(values, "laid_at_x")[:pieces] * 96, block(values, "laid_at_y")[:pieces] * 48
    assert (at_x + long).max() == pytest.approx(144)
    assert (at_y + wide).max() == pytest.approx(120)
    # Four sheets to a row: each piece lies within its own.
    far_x, far_y = block(values, "laid_far_x")[:pieces], block(values, "laid_far_y")[:pieces]
    row, place = np.divmod(block(values, "piece_sheet")[:pieces] - 1, 4)
    assert ((far_x - long / 96 > place - 1e-6) & (far_x < place + 1 + 1e-6)).all()
    assert ((far_y - wide / 48 > row - 1e-6) & (far_y < row + 1 + 1e-6)).all()
    assert list(block(values, "floor_edge_x") * 96) == pytest.approx([0, 144, 144])
    assert list(block(values, "floor_edge_y") * 48) == pytest.approx([120, 120, 0])


def test_the_cut_list_counts_every_piece_once() -> None:
    values = flat(FRAMED)
    assert block(values, "cut_count").sum() == at(values, "sheet_pieces")
    area = block(values, "cut_count") * block(values, "cut_long_in") * block(values, "cut_wide_in")
    laid = block(values, "piece_long_in") * block(values, "piece_wide_in")
    assert area.sum() == pytest.approx(laid.sum())


def test_a_spacing_that_does_not_divide_the_sheet_is_looked_at() -> None:
    values = flat(FRAMED, joist_spacing_in=20)
    assert "cut back to 80 in" in at(values, "sheet_note")
    assert at(values, "check_sheets").startswith("LOOK")
    assert at(flat(FRAMED), "check_sheets") == "ok"


# Members, ground, wind


def test_a_skid_that_bridges_too_long_a_soft_spot_fails() -> None:
    assert at(flat(FRAMED, **PINE), "check_skids") == "ok"
    values = flat(FRAMED, changed(demo(), skid_soft_ft=16), **PINE)
    load = max(at(values, "skid_outer_plf"), at(values, "skid_inner_plf"))
    moment = load * 16**2 / 8
    # Southern pine No.2, 4x6: the table's bending value of 5 and 6 in widths; at most 1,150 psi, so
    # wet service takes nothing off (NDS Supplement Table 4B).
    strength = 1000 * 3.5 * 5.5**2 / 6
    assert at(values, "skid_use") == pytest.approx(12 * moment / strength)
    assert at(values, "check_skids").startswith("FAIL")


def test_a_safe_on_a_skid_presses_through_it_on_the_stone() -> None:
    heavy = flat(FRAMED, changed(demo(), point_load_lb=2000), skid_stock="4x4 treated")
    load = max(at(heavy, "skid_outer_plf"), at(heavy, "skid_inner_plf"))
    pressure = load * 12 / 3.5 + 2000 * 144 / (3.5 * (1.5 + 2 * 3.5))
    assert at(heavy, "skid_point_psf") == pytest.approx(pressure)
    assert at(heavy, "check_bearing") == "FAIL: skids press harder than the stone may carry"


def test_a_point_load_reaches_beam_and_support() -> None:
    job = changed(demo(), point_load_lb=500)
    light, heavy = flat(PIERS), flat(PIERS, job)
    assert at(heavy, "support_load_lb") == at(light, "support_load_lb") + 500
    assert at(heavy, "beam_use") > at(light, "beam_use")


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_a_heavier_point_load_never_turns_a_failing_check_into_a_passing_one(kind: str) -> None:
    before: set[int] = set()
    for load in (0, 300, 1000, 5000):
        texts = block(flat(kind, changed(demo(), point_load_lb=load)), "check_text")
        failing = {i for i, text in enumerate(texts) if str(text).startswith("FAIL")}
        assert before <= failing
        before = failing


def test_footing_is_as_thick_as_it_spreads_and_six_inches_at_least() -> None:
    wide = flat(PIERS, pier_diameter_in=10, footing_diameter_in=30)
    assert at(wide, "footing_thick_needed_in") == 10
    narrow = flat(PIERS, pier_diameter_in=10, footing_diameter_in=16, footing_thick_in=5)
    assert at(narrow, "footing_thick_needed_in") == 6
    assert at(narrow, "check_footing").startswith("FAIL")
    assert at(flat(PIERS, footing_diameter_in=8), "footing_thick_needed_in") == 0


def test_weights_light_medium_and_heavy_stand_for_typed_ones() -> None:
    dead = [
        at(flat(FRAMED, changed(demo(), building_weight=w)), "dead_load_lb")
        for w in ("light", "medium", "heavy")
    ]
    assert dead == sorted(dead)
    assert len(set(dead)) == 3
    # Medium is 8 psf of wall and 10 psf of roof, what the job's own defaults say.
    assert dead[1] == at(flat(FRAMED), "dead_load_lb")


def test_wood_is_classed_by_its_height_above_the_ground() -> None:
    assert at(flat(FRAMED), "bearer_class") == "ground contact, UC4A"
    low = flat(PIERS, clear_above_in=4)
    assert (at(low, "bearer_class"), at(low, "joist_class")) == (
        "ground contact, UC4A",
        "above ground, UC3B",
    )
    high = flat(PIERS, clear_above_in=12)
    assert at(high, "bearer_class") == "above ground, UC3B"
    assert at(high, "joist_class") == "untreated wood may do"


def test_untreated_beams_must_clear_the_ground_by_twelve_inches() -> None:
    # IRC R317.1 item 1, read in quotations of the code.
    texts = [
        at(flat(PIERS, beam_stock="2x8", clear_above_in=h), "check_treated")[:4] for h in (11, 12)
    ]
    assert texts == ["FAIL", "ok"]


def test_shallow_skids_leave_little_air_under_the_floor() -> None:
    assert at(flat(FRAMED), "check_air") == "ok"
    assert at(flat(FRAMED, skid_stock="4x4 treated"), "check_air").startswith("LOOK")


def test_more_wind_asks_for_no_fewer_anchors_and_a_still_place_for_none() -> None:
    counts = [
        at(flat(OPEN, changed(demo(), wind_mph=v)), "anchor_count") for v in (0, 60, 115, 150, 220)
    ]
    assert counts[0] == 0
    assert counts == sorted(counts)
    assert all(n == 0 or (n >= 4 and n % 2 == 0) for n in counts)
    gale = flat(OPEN, changed(demo(), wind_mph=220))
    side = at(gale, "hold_down_lb") + at(gale, "sliding_lack_lb") / 2
    assert at(gale, "anchor_count") * at(gale, "anchor_lb") / 2 >= side
    assert at(gale, "uplift_lb") > 0.6 * at(gale, "dry_load_lb")
    assert at(gale, "uplift_use") <= 1


# Suggestions


SUGGESTED = {f"suggest_joist_{name}": spacing for name, spacing in SPACINGS.items()}


@pytest.mark.parametrize("kind", [FRAMED, PIERS])
def test_the_suggested_joist_passes_where_it_is_typed_and_the_next_smaller_fails(
    kind: str,
) -> None:
    values = flat(kind, joist_stock="2x8", support_inset_in=6, **PINE)
    sizes = ["2x4", "2x6", "2x8", "2x10", "2x12"]
    for key, spacing in SUGGESTED.items():
        size = str(at(values, key))
        taken = flat(kind, joist_stock=size, joist_spacing_in=spacing, support_inset_in=6, **PINE)
        assert at(taken, "check_joists") == "ok"
        assert at(taken, "chosen_joist_use") == pytest.approx(
            at(values, key.replace("joist", "use"))
        )
        if size != "2x4":
            smaller = sizes[sizes.index(size) - 1]
            less = flat(
                kind, joist_stock=smaller, joist_spacing_in=spacing, support_inset_in=6, **PINE
            )
            assert at(less, "check_joists").startswith("FAIL")


def test_suggested_cost_is_never_below_the_proven_plan_of_the_same_pieces() -> None:
    job = changed(demo(), block_reuse_in=12, door_way="none")
    values = flat(PIERS, job, joist_stock="2x8", blocking_rows=0, **PINE)
    for key, spacing in SUGGESTED.items():
        cells = {"joist_stock": at(values, key), "joist_spacing_in": spacing, "blocking_rows": 0}
        taken = flat(PIERS, job, **cells, **PINE, beam_stock="2x12 treated")
        beams = flat(PIERS, job, **cells, **PINE, beam_stock="2x12 treated", beam_plies=1)
        one_ply = at(taken, "cut_cost") - at(beams, "cut_cost")
        floor = at(taken, "cut_cost") - 2 * one_ply
        assert at(values, key.replace("joist", "cost")) >= floor - 1e-6


def test_the_fewest_skids_work_and_one_less_does_not() -> None:
    cells = {"joist_stock": "2x4 treated", "joist_spacing_in": 24} | PINE
    values = flat(FRAMED, changed(demo(), floor_live_psf=100), **cells)
    fewest = int(at(values, "suggest_skids"))
    assert SKIDS[0] < fewest <= SKIDS[-1]
    assert at(values, "skid_count") == 4  # what is chosen stays
    checks = ("check_joists", "check_skids", "check_bearing")
    for count, works in ((fewest, True), (fewest - 1, False)):
        tried = flat(FRAMED, changed(demo(), floor_live_psf=100), skid_count=count, **cells)
        assert all(not at(tried, c).startswith("FAIL") for c in checks) is works


@pytest.mark.parametrize("kind", [PIERS, BLOCKS])
def test_the_fewest_supports_work_and_no_grid_of_fewer_does(kind: str) -> None:
    values = flat(kind, joist_stock="2x8", footing_diameter_in=24, footing_thick_in=8, **PINE)
    match = re.fullmatch(r"(\d+) in (\d+) rows of (\d+)", at(values, "suggest_supports"))
    assert match
    count = int(match[1])
    fewer = [(r, n) for r, n in GRID if count > r * n >= count - 2]
    cells = {"joist_stock": "2x8", "footing_diameter_in": 24, "footing_thick_in": 8} | PINE
    for rows, each in [(int(match[2]), int(match[3])), *fewer]:
        tried = flat(kind, support_rows=rows, supports_per_row=each, **cells)
        fails = any(
            at(tried, c).startswith("FAIL")
            for c in ("check_joists", "check_beams", "check_bearing")
        )
        assert fails is (rows * each < count)


def test_loads_past_everything_on_offer_say_so() -> None:
    job = changed(demo(), floor_live_psf=250, point_load_lb=5000)
    values = flat(PIERS, job)
    assert at(values, "suggest_joist_24") == at(values, "suggest_supports") == NONE
    assert at(values, "suggest_cheapest") == ""
    thin = flat(FRAMED, sheet_item="sheet_19_32_tg")
    assert at(thin, "suggest_joist_24") == "past the sheet's rating"


# Bad input: one clear sentence each


def sentence(kind: str, job: TypedJob, **cells: Any) -> str:
    with pytest.raises(EstimatorError) as caught:
        dict(flat(kind, job, **cells))
    text = str(caught.value)
    assert "\n" not in text
    return text


def test_a_joist_longer_than_every_board_is_named_with_what_would_do() -> None:
    job = only_lengths(changed(demo(), building_width_ft=16), "2x6", 8, 10, 12)
    text = str(at(flat(PIERS, job, joist_stock="2x6"), "check_joints"))
    for words in ("FAIL", "2x6", "a joist, 189 in", "no skid or beam", "longer board"):
        assert words in text


def test_boards_that_run_out_are_said() -> None:
    rows = [p for (k, p), v in demo().cells.items() if k == "item_stock" and v == "2x6"]
    job = changed(demo(), item_limit=dict.fromkeys(rows, 1))
    text = sentence(FRAMED, job, joist_stock="2x6")
    assert "option A, 2x6" in text
    assert "not enough" in text


@pytest.mark.parametrize(
    ("key", "value"),
    [("building_length_ft", 0), ("building_width_ft", "-10 ft"), ("joist_spacing_in", 0)],
)
def test_lengths_of_nothing_are_refused(key: str, value: Any) -> None:
    job = demo() if key == "joist_spacing_in" else changed(demo(), **{key: value})
    cells = {key: value} if key == "joist_spacing_in" else {}
    assert "must lie between" in sentence(FRAMED, job, **cells)


def test_a_spacing_wider_than_half_a_short_sheet_names_the_spacing() -> None:
    rows = [p for (k, p), v in demo().cells.items() if k == "panel_item"]
    job = changed(demo(), panel_length_in=dict.fromkeys(rows, 40))
    text = sentence(FRAMED, job, joist_spacing_in=24)
    assert "option A" in text
    assert "24 in" in text


def test_a_blank_option_suggests_nothing() -> None:
    values = solved(with_options(on_flat(demo()), {1: {"option_kind": OPEN}}))
    assert at(values, "suggest_cheapest", 0) == ""
    assert at(values, "suggest_cheapest", 1) != ""


# Joints on joists, lists that are never cut short in silence


@pytest.mark.parametrize(
    ("length_ft", "spacing", "boards_ft"),
    [(24, 16, (8, 10, 12)), (30, 24, (12, 16)), (20, 19.2, (8, 12))],
)
def test_a_rim_longer_than_every_board_is_joined_on_joists_in_the_fewest_parts(
    length_ft: float, spacing: float, boards_ft: tuple[int, ...]
) -> None:
    job = only_lengths(changed(demo(), building_length_ft=length_ft), "2x6 treated", *boards_ft)
    values = flat(FRAMED, job, joist_stock="2x6 treated", joist_spacing_in=spacing)
    joints = [12 * parse_length(t, "ft") for t in at(values, "rim_joints").split(", ")]
    on = block(values, "joist_on") > 0
    centres = block(values, "joist_near_in")[on] + 0.75
    # A tape reads to the sixteenth.
    assert all(min(abs(centres - x)) <= 1 / 32 for x in joints)
    stops = [0.0, *joints, 12 * length_ft]
    parts = np.diff(stops)
    assert max(parts) <= 12 * max(boards_ft) + 1 / 32
    # Fewest: with one part less some joint would stand past the last joist that a board reaches.
    reach, fewest = 0.0, 1
    while reach + 12 * max(boards_ft) < 12 * length_ft:
        reach, fewest = max(c for c in centres if c <= reach + 12 * max(boards_ft)), fewest + 1
    assert len(parts) == fewest
    cut = " ".join(str(text) for text in block(values, "board_pieces"))
    assert "rim part" in cut


@pytest.mark.parametrize(
    ("dear", "joint"),
    [("lumber_2x6_16_treated", "12 ft 0 in"), ("lumber_2x6_12_treated", "16 ft 0 in")],
)
def test_of_the_joists_that_a_rim_may_be_joined_on_the_cheapest_is_taken(
    dear: str, joint: str
) -> None:
    job = changed(demo(), building_length_ft=24, block_reuse_in=96)
    job = only_lengths(job, "2x6 treated", 8, 12, 16)
    cells = {"joist_stock": "2x6 treated", "joist_spacing_in": 24, "blocking_rows": 0}
    values = flat(FRAMED, priced(job, **{dear: 500}), **cells)
    other = "8 ft 0 in" if joint.startswith("16") else joint
    assert at(values, "rim_joints") in (joint, other)


def test_a_rim_in_one_board_has_no_joint() -> None:
    assert at(flat(FRAMED), "rim_joints") == ""


def test_offcuts_past_the_table_are_counted_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = flat(FRAMED, changed(demo(), block_reuse_in=2))
    pieces = block(whole, "offcut_count").sum()
    feet = (block(whole, "offcut_count") * block(whole, "offcut_length_in")).sum() / 12
    assert at(whole, "offcuts_left_out") == ""
    assert at(whole, "check_lists") == "ok"
    monkeypatch.setattr(board_cuts, "OFFCUTS", 2)
    short = flat(FRAMED, changed(demo(), block_reuse_in=2))
    listed = block(short, "offcut_count")
    assert (listed > 0).sum() == 2
    assert at(short, "offcuts_unlisted") == pieces - listed.sum() > 0
    kept = (listed * block(short, "offcut_length_in")).sum() / 12
    assert at(short, "offcuts_unlisted_ft") == pytest.approx(feet - kept)
    said = f"{pieces - listed.sum():g} off-cuts, {feet - kept:.1f} ft in all"
    assert at(short, "check_lists").startswith(f"LOOK: Cut Plan: {said}")


def test_a_short_table_of_offcuts_lists_the_longest_of_every_option(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(board_cuts, "OFFCUTS", 4)
    cells = {"option_kind": FRAMED}
    job = on_flat(changed(demo(), block_reuse_in=2))
    values = solved(with_options(job, {0: cells, 1: cells}))
    assert sorted(block(values, "offcut_option")) == ["A", "A", "B", "B"]


def test_sizes_past_the_cut_list_are_counted_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = flat(FRAMED)
    assert at(whole, "cuts_left_out") == ""
    monkeypatch.setattr(sheet_layout, "SHEET_CUTS", 1)
    short = flat(FRAMED)
    left = block(whole, "cut_count").sum() - block(short, "cut_count").sum()
    assert at(short, "cuts_unlisted") == left > 0
    areas = block(whole, "cut_count") * block(whole, "cut_long_in") * block(whole, "cut_wide_in")
    assert at(short, "cuts_unlisted_ft2") == pytest.approx(areas[1:].sum() / 144)
    assert at(short, "check_lists").startswith(f"LOOK: Sheet Layout: {left:g} pieces")
