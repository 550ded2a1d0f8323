"""Openings in the floor: left open by the sheets, framed by doubled joists and headers if asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from jobs import at, block, changed, demo, on_flat, one_option, solved

from estimator.errors import SolveError
from estimator.inputs import TypedJob
from estimator.model.kinds import FRAMED

SIZES = ("opening_x_ft", "opening_y_ft", "opening_length_ft", "opening_width_ft")


def opened(*lines: tuple[float, float, float, float], framed: str = "yes") -> TypedJob:
    """The demo's 12 x 10 ft floor with openings (along, back, long, wide; ft)."""
    columns: dict[str, Any] = {
        "opening_what": {row: f"hatch {row}" for row in range(len(lines))},
        "opening_framed": dict.fromkeys(range(len(lines)), framed),
    }
    for at_, key in enumerate(SIZES):
        columns[key] = {row: line[at_] for row, line in enumerate(lines)}
    return changed(demo(), **columns)


def flat(job: TypedJob, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(FRAMED, job, **cells)))


def test_a_framed_hatch_between_joists_gets_double_trimmers_and_two_pairs_of_headers() -> None:
    values = flat(opened((4.25, 3, 2, 4)))  # 51 to 75 in; joists stand at 48, 64, 80
    assert at(values, "joist_doubled") == 3  # one beside the joist at 48, a pair past 75
    near = {round(float(x), 4) for x in block(values, "joist_near_in")}
    assert {47.25, 48.75, 75.0, 76.5} <= near
    assert block(values, "header_count")[0] == 4
    assert block(values, "header_length_in")[0] == pytest.approx(75 - 50.25)


def test_a_joist_on_the_side_of_a_hatch_is_sistered_and_bounds_the_headers() -> None:
    values = flat(opened((4, 3, 2, 4)))  # 48 to 72 in: the joist at 48 stays
    near = {round(float(x), 4) for x in block(values, "joist_near_in")}
    assert {45.75, 47.25, 72.0, 73.5} <= near
    assert block(values, "header_length_in")[0] == pytest.approx(72 - 48.75)


def test_a_rim_carries_the_end_of_an_opening_at_the_edge() -> None:
    values = flat(opened((4.25, 0, 2, 4)))
    assert block(values, "header_count")[0] == 2
    corner = flat(opened((0, 0, 3, 3)))
    assert block(corner, "header_count")[0] == 2
    assert at(corner, "joist_doubled") == 2  # the end joist carries the other side


def test_headers_are_cut_from_the_joist_stock_and_tied() -> None:
    plain, framed = flat(demo()), flat(opened((4.25, 3, 2, 4)))
    assert at(framed, "cut_cost") > at(plain, "cut_cost")
    assert any(" header " in str(text) for text in block(framed, "board_pieces"))
    ties = 2 * at(framed, "joist_doubled")
    assert at(framed, "tie_count") - at(plain, "tie_count") == ties


def test_without_framing_nothing_is_doubled_and_checks_say_to_cut_no_joist() -> None:
    values = flat(opened((4.25, 3, 1, 1), framed="no"))
    assert at(values, "joist_doubled") == 0
    assert not np.any(block(values, "header_count"))
    assert at(values, "check_openings") == (
        "LOOK: joists at an opening are not doubled; cut none of them"
    )
    assert at(flat(demo()), "check_openings") == "ok"
    assert at(flat(opened((2, 2, 5, 3))), "check_openings").startswith("LOOK: an opening is longer")


def test_sheets_leave_the_opening_open_and_a_large_one_saves_a_sheet() -> None:
    square = {"sheet_item": "sheet_3_4_square", "nominal_rips": "yes"}
    whole = flat(demo(), **square)
    assert at(whole, "sheet_count") == 4
    # A stair in the corner, 4 ft wide and as long as half of a row of sheets.
    stair = flat(opened((0, 0, 8, 4)), **square)
    assert at(stair, "sheet_count") == 3
    assert at(stair, "sheet_bound") <= 3
    # Drawn in sheets: a corner of one sheet's length and width.
    corner = [float(block(stair, f"hole_{key}")[0]) for key in ("x", "y", "long", "wide")]
    assert corner == pytest.approx([0, 0, 1, 1])
    x, long = block(stair, "piece_x_in"), block(stair, "piece_long_in")
    y = block(stair, "piece_y_in")
    assert not any(
        length > 0 and ys < 48 and xs + length <= 96 + 1e-6
        for xs, ys, length in zip(x, y, long, strict=True)
    )


def test_an_opening_off_the_floor_is_said_with_its_place() -> None:
    with pytest.raises(SolveError) as caught:
        dict(flat(opened((11, 3, 2, 2), framed="no")))
    assert "opening at 132 in, 36 in reaches beyond the floor" in str(caught.value)
    assert caught.value.where == "Floor"
