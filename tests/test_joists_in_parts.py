"""Floors deeper than the longest board: joists in parts that meet over a skid or beam."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import SIZES, at, block, changed, demo, on_flat, one_option, solved
from known_job import known_job

from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, OPEN, PIERS
from estimator.typed_job import default_cells, read_inputs
from estimator.units import IN_PER_FT

LONGEST_IN = 16 * IN_PER_FT
"""The longest 2x6 treated of the known job's price book."""
BLANK = dict.fromkeys(SIZES)
FLOORS = {(30, 22): 261.0, (22, 18): 213.0}
"""Length and depth of floors (ft), and their joists from rim to rim (in): less two of 1 1/2 in."""


def sized(length_ft: float, width_ft: float) -> TypedJob:
    return on_flat(changed(demo(), building_length_ft=length_ft, building_width_ft=width_ft))


def flat(kind: str, width_ft: float, length_ft: float = 22, /, **cells: Any) -> dict[str, Any]:
    cells = {"joist_stock": "2x6 treated", "joist_spacing_in": 24} | cells
    return solved(one_option(kind, sized(length_ft, width_ft), **cells))


def fails(values: dict[str, Any]) -> dict[str, str]:
    found = {k: str(at(values, k)) for k in values if k.startswith("check_")}
    return {k: text for k, text in found.items() if text.startswith("FAIL")}


def cut(values: dict[str, Any], mark: str) -> list[tuple[int, str]]:
    """How many pieces of a mark Cut Plan has of each length, boards and all, shortest first."""
    sizes: dict[str, int] = {}
    boards = zip(block(values, "board_pieces"), block(values, "board_count"), strict=True)
    for text, count in boards:
        for piece in filter(None, str(text).split(", ")):
            number, _, rest = piece.partition(" ")
            if rest.startswith(mark + " ") and rest.removeprefix(mark + " ")[0].isdigit():
                size = rest.removeprefix(mark + " ")
                sizes[size] = sizes.get(size, 0) + int(number) * int(count)
    return sorted((count, size) for size, count in sizes.items())


@pytest.mark.slow
@pytest.mark.parametrize("kind", [OPEN, PIERS, BLOCKS])
@pytest.mark.parametrize("size", FLOORS)
def test_large_floors_come_out_priced_and_pass(kind: str, size: tuple[int, int]) -> None:
    values = solved(one_option(kind, sized(*size), **BLANK))
    assert not fails(values)
    assert at(values, "total_cost") > 1000
    assert at(values, "default_fails") == 0
    assert at(values, "joist_length_in") == FLOORS[size]
    pieces = sum(n for n, _ in cut(values, "joist part") + cut(values, "joist"))
    assert pieces == at(values, "joists_in_all") * at(values, "joist_parts")
    assert sum(n for n, _ in cut(values, "splice")) == at(values, "splice_count")


@pytest.mark.slow
@pytest.mark.parametrize("kind", [OPEN, PIERS, BLOCKS])
def test_large_floors_of_the_metric_yard_come_out_priced_and_pass(kind: str) -> None:
    """9.1 x 6.7 m; the yard's longest boards are 5.4 m."""
    model = metric(build_model())
    job = known_job(model)
    cells = {
        (key, place): value
        for (key, place), value in job.cells.items()
        if not model.quantities[key].by_option
        and model.quantities[key].axis not in ("setup", "point")
    }
    cells |= {
        (key, place): value
        for (key, place), value in default_cells(model, options=True).items()
        if model.quantities[key].by_option and place == 0
    }
    cells["survey_method", 0] = "heights"
    for number, (x, y) in enumerate(product((0, 10, 20), repeat=2)):  # a level lot
        cells["point_name", number] = f"Q{number + 1}"
        cells["point_x_m", number], cells["point_y_m", number] = x, y
        cells["point_reading_m", number] = 30
    cells |= {("building_length_m", 0): 9.1, ("building_width_m", 0): 6.7}
    cells |= {("option_kind", 0): kind, ("siting_wanted", 0): "no"}
    values = dict(evaluate(model, read_inputs(model, TypedJob(cells, job.where))))
    assert at(values, "joist_parts") >= 2
    assert not fails(values)
    assert at(values, "total_cost") > 1000
    pieces = sum(n for n, _ in cut(values, "joist part"))
    assert pieces == at(values, "joists_in_all") * at(values, "joist_parts")


def test_joists_of_a_floor_22_ft_deep_meet_over_the_middle_of_five_skids() -> None:
    """Skids of 3 1/2 in, outer faces flush: (264 - 3.5) / 4 = 65.125 in on centre from 1.75 in; the
    third stands at 132 in. The front part runs to it from the rim's 1.5 in: 130.5 in."""
    values = flat(OPEN, 22, 30, skid_count=5, skid_stock="4x6 treated")
    assert at(values, "bearer_step_in") == pytest.approx(65.125)
    assert (at(values, "joist_whole"), at(values, "joist_parts")) == (0, 2)
    assert (at(values, "joist_spans"), at(values, "joist_spans_left")) == (2, 0)
    assert at(values, "joist_front_in") == pytest.approx(130.5)
    assert at(values, "joist_back_in") == pytest.approx(130.5)
    # 30 ft at 24 in: sixteen lines of joists, two parts and a splice each.
    assert at(values, "joists_in_all") == 16
    assert cut(values, "joist part") == [(32, "10 ft 10 1/2 in")]
    assert cut(values, "splice") == [(16, "2 ft 0 in")]
    assert at(values, "floor_meet") == "no. 3"
    assert not fails(values)


def test_joists_of_a_floor_18_ft_deep_meet_over_the_third_of_four_beams() -> None:
    """Beams at 0, 72, 144, 216 in: 144 - 1.5 = 142.5 in to the third, 216 - 1.5 - 144 = 70.5."""
    values = flat(PIERS, 18, support_rows=4, supports_per_row=5, beam_plies=3)
    assert (at(values, "joist_spans"), at(values, "joist_spans_left")) == (2, 1)
    assert at(values, "joist_front_in") == pytest.approx(142.5)
    assert at(values, "joist_back_in") == pytest.approx(70.5)
    assert at(values, "floor_meet") == "no. 3"
    assert at(values, "floor_back") == "5 ft 10 1/2 in"


def test_a_short_board_takes_three_parts() -> None:
    """Rows 6 ft apart under 24 ft; boards of 8 ft reach over one: 70.5, 72, 72, 70.5 in."""
    job = sized(16, 24)
    rows = [p for (k, p), v in job.cells.items() if k == "item_stock" and v == "2x6 treated"]
    short = dict(job.cells)
    for row in rows:
        if float(short["item_length_ft", row]) > 8:
            for key in [c for c in job.cells if c[1] == row and c[0].startswith("item_")]:
                del short[key]
    cells = {"joist_stock": "2x6 treated", "support_rows": 5, "beam_plies": 2}
    values = solved(one_option(BLOCKS, TypedJob(short, job.where), **cells))
    assert (at(values, "joist_parts"), at(values, "joist_spans")) == (4, 1)
    assert at(values, "joist_front_in") == at(values, "joist_back_in") == pytest.approx(70.5)
    assert at(values, "joist_middle_in") == pytest.approx(72)
    lines = at(values, "joists_in_all")
    assert cut(values, "joist part") == [(2 * lines, "5 ft 10 1/2 in"), (2 * lines, "6 ft 0 in")]
    assert at(values, "splice_count") == 3 * lines
    assert at(values, "floor_meet") == "no. 2, then every 1"


def test_a_floor_that_a_board_reaches_over_has_no_joint() -> None:
    values = flat(OPEN, 16)
    assert (at(values, "joist_parts"), at(values, "splice_count")) == (1, 0)
    assert at(values, "joist_back_in") == 0
    assert at(values, "floor_meet") == ""
    assert cut(values, "joist") == [(12, "15 ft 9 in")]


@pytest.mark.parametrize(
    ("kind", "cells"), [(OPEN, {"skid_count": 2}), (BLOCKS, {"support_rows": 2})]
)
def test_two_skids_or_beams_alone_leave_joists_nowhere_to_meet(
    kind: str, cells: dict[str, Any]
) -> None:
    values = flat(kind, 22, **cells)
    assert at(values, "joist_parts") == 0
    said = fails(values)["check_joints"]
    for words in ("no board of 2x6 treated", "a joist, 261 in", "no skid or beam", "more of them"):
        assert words in said
    assert at(values, "total_cost") > 1000  # priced all the same, of equal parts


def test_each_end_needs_an_inch_and_a_half_of_the_beam() -> None:
    """IRC R502.6 (from memory): two ends want 3 in; one board of a beam gives 1 1/2."""
    one = flat(BLOCKS, 22, support_rows=5, beam_plies=1)
    assert "too narrow" in fails(one)["check_joints"]
    two = flat(BLOCKS, 22, support_rows=5, beam_plies=2)
    assert at(two, "check_joints") == "ok"


def test_where_joists_meet_the_floor_is_no_longer_continuous() -> None:
    """A joist in one piece over two spans lays 1.25 w L on the beam between them; two that meet
    there lay w L / 2 each (statics)."""
    cells = {"support_rows": 3, "supports_per_row": 6}
    whole, met = flat(PIERS, 16, **cells), flat(PIERS, 22, **cells)
    assert at(whole, "joist_middle_share") == pytest.approx(1.25)
    assert (at(met, "joist_spans"), at(met, "joist_parts")) == (1, 2)
    assert at(met, "joist_middle_share") == pytest.approx(1.0)


def test_nails_and_blocks_where_joists_meet() -> None:
    """Twelve nails a joint; one row of blocks over the middle skid, a block in each open bay."""
    values = flat(OPEN, 22, 30, skid_count=5, blocking_rows=0)
    lines, touching = at(values, "joists_in_all"), at(values, "joist_touching")
    assert (at(values, "block_rows"), at(values, "floor_seam_rows")) == (1, 1)
    assert at(values, "blocking_count") == lines - 1 - touching
    nails = 6 * lines + 4 * at(values, "blocking_count") + 12 * lines + at(values, "ply_nails")
    assert at(values, "nail_lb") * at(values, "nails_per_lb") == pytest.approx(nails)


def test_a_typed_row_of_blocks_where_joists_meet_is_counted_once() -> None:
    assert at(flat(OPEN, 22, skid_count=5, blocking_rows=1), "block_rows") == 1
    assert at(flat(OPEN, 22, skid_count=5, blocking_rows=2), "block_rows") == 3


@pytest.mark.parametrize(("back_ft", "clash"), [(11.5, True), (12.5, False), (9.5, False)])
def test_headers_where_joists_are_spliced_are_refused(back_ft: float, clash: bool) -> None:
    """Joists meet 11 ft back and splices reach 12 in to both sides; a pair of headers takes 3 in.
    Where the joint lies within the opening, the joists are cut away there."""
    opening = {
        "opening_what": "stair",
        "opening_framed": "yes",
        "opening_x_ft": 8.25,
        "opening_y_ft": back_ft,
        "opening_length_ft": 3,
        "opening_width_ft": 3,
    }
    job = changed(sized(22, 22), **opening)
    values = solved(one_option(OPEN, job, joist_stock="2x6 treated", skid_count=5))
    assert at(values, "joints_by_headers") == int(clash)
    assert ("check_joints" in fails(values)) == clash


def test_sheets_of_a_spliced_floor_are_those_of_one_in_line() -> None:
    """Parts stand in one line: every sheet still ends on the spacing, from front to back."""
    values = flat(OPEN, 22, 30, skid_count=5)
    used = block(values, "piece_long_in") > 0
    ends = {
        round(float(x + long), 3)
        for x, long in zip(
            block(values, "piece_x_in")[used], block(values, "piece_long_in")[used], strict=True
        )
    }
    gap = 1 / 8
    assert all(min(end % 24, 24 - end % 24) <= gap + 1e-6 for end in ends)


@settings(max_examples=6, deadline=None)
@given(
    width_ft=st.floats(16.5, 24).map(lambda w: round(w, 2)),
    skids=st.integers(2, 8),
    place=st.sampled_from(["flush", "edge centred"]),
)
def test_parts_make_the_joist_and_none_is_longer_than_a_board(
    width_ft: float, skids: int, place: str
) -> None:
    values = flat(OPEN, width_ft, skid_count=skids, skid_place=place)
    parts = int(at(values, "joist_parts"))
    if parts == 0:
        assert skids == 2
        assert "check_joints" in fails(values)
        return
    front, middle, back = (at(values, f"joist_{k}_in") for k in ("front", "middle", "back"))
    assert front + max(parts - 2, 0) * middle + back == pytest.approx(12 * width_ft - 3)
    assert max(front, middle, back) <= LONGEST_IN + 0.5
    if parts > 1:
        step = at(values, "bearer_step_in")
        joint = (front + 1.5 - at(values, "bearer_first_in")) / step
        assert joint == pytest.approx(round(joint))
        assert 1 <= round(joint) <= skids - 2
