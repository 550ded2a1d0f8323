"""Hardware and blocks counted piece by piece, each against a job that is counted by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from jobs import at, block, changed, demo, needed, on_flat, on_ground, one_option, slope, solved
from test_openings import opened

from estimator import reference
from estimator.inputs import TypedJob
from estimator.model.kinds import BLOCKS, FRAMED, PIERS
from estimator.model.solvers.board_cuts import sawn_ends
from estimator.solve.cutting import Board

SQUARE = {"sheet_item": "sheet_3_4_square"}


def flat(kind: str, job: TypedJob | None = None, /, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(kind, job, **cells)))


# Structural screws


def test_one_course_on_level_ground_has_four_screws_at_each_of_four_corners() -> None:
    values = flat(FRAMED)
    assert (at(values, "frame_courses"), at(values, "timber_corners")) == (1, 4)
    assert at(values, "timber_joints") == 0
    assert at(values, "timber_screws") == 16


def test_a_lower_course_has_screws_at_the_corners_that_it_turns_and_along_it_alone() -> None:
    """The demo: a second course of 10 ft on the right, 8 ft on the back, that meet in one corner.
    Four corners and one, of four screws; one every 2 ft of 18 ft; no joints."""
    values = solved(demo())
    assert (at(values, "frame_courses"), at(values, "frame_lower_ft")) == (2, 18)
    assert (at(values, "timber_corners"), at(values, "timber_joints")) == (5, 0)
    assert at(values, "timber_screws") == 4 * 5 + 9


def test_a_side_longer_than_a_timber_has_two_screws_at_its_joint() -> None:
    """A pad of 22 by 12 ft: front and back of two timbers each, no longer than 16 ft."""
    values = flat(FRAMED, changed(demo(), building_length_ft=20))
    assert at(values, "timber_pieces") == 6
    assert at(values, "timber_joints") == 2
    assert at(values, "timber_screws") == 16 + 2 * 2


# Cut ends


@pytest.mark.parametrize(
    ("pieces", "offcut_in", "trim_in", "ends"),
    [
        (1, 0.0, 0.0, 0),  # as it comes from the yard
        (1, 24.0, 0.0, 1),
        (2, 0.0, 0.0, 2),  # one cut through the middle
        (3, 6.0, 0.0, 5),  # the first begins with the factory's end
        (3, 0.0, 1.0, 6),  # squared
    ],
)
def test_factory_ends_of_a_board_are_no_cuts(
    pieces: int, offcut_in: float, trim_in: float, ends: int
) -> None:
    board = Board("x", 144.0, (("joist", 40.0),) * pieces, offcut_in)
    assert sawn_ends(board, trim_in) == ends


def test_ends_are_counted_from_the_boards_of_treated_stock() -> None:
    values = flat(FRAMED, joist_stock="2x6")
    ends = 0
    treated = [str(x) for x in block(values, "board_item")]
    for row, name in enumerate(treated):
        if "treated" in name:
            text, count = (
                str(block(values, "board_pieces")[row]),
                int(block(values, "board_count")[row]),
            )
            pieces = sum(int(part.split()[0]) for part in text.split(", "))
            left = float(block(values, "board_offcut_in")[row]) > 0
            ends += count * (2 * pieces - (1 if left else 2))
    assert 0 < at(values, "ends_coated") == ends == needed(values, "preservative")


# Nails


PER_LB = reference.value("fasteners", connection="common nail", size="16d", property="count_per_lb")


def test_nails_a_pound_are_those_of_the_table_and_near_what_steel_weighs() -> None:
    """USDA Wood Handbook Table 8-1: 3 1/2 in long, 0.162 in thick; steel of 490 lb/ft3, 48.9."""
    volume = math.pi / 4 * 0.162**2 * 3.5
    assert pytest.approx(1 / (volume * 490 / 1728), rel=0.05) == PER_LB
    assert at(flat(FRAMED), "nails_per_lb") == PER_LB


def test_nails_of_a_plain_floor_are_three_a_joist_end_and_two_a_block_end() -> None:
    """The 12 x 10 ft floor at 16 in: ten joists, nine blocks: 60 and 36 nails."""
    values = flat(FRAMED)
    assert at(values, "ply_nails") == 0
    assert at(values, "nail_lb") == pytest.approx((6 * 10 + 4 * 9) / PER_LB)


def test_a_doubled_joist_is_nailed_to_its_neighbour_from_end_to_end() -> None:
    """A joist of 117 in, two rows 24 in apart: 117 / 24 is 4.9: six nails a row, twelve."""
    job = changed(demo(), double_what={0: "partition"}, double_at_ft={0: 4})
    values = flat(FRAMED, job)
    assert (at(values, "joist_doubled"), at(values, "joist_touching")) == (1, 1)
    assert at(values, "ply_nails") == 12


def test_boards_of_a_beam_are_nailed_to_each_other() -> None:
    """Two beams of two boards, 144 in: two rows of seven each."""
    values = flat(PIERS, beam_plies=2, support_rows=2, end_joists=1)
    assert at(values, "ply_nails") == 2 * 14
    values = flat(PIERS, beam_plies=3, support_rows=2, end_joists=1)
    assert at(values, "ply_nails") == 2 * 28


# Hangers


def test_a_pair_of_headers_hangs_in_two_double_hangers_and_each_tail_in_one_of_its_own() -> None:
    """A hatch from 51 to 75 in between joists at 48 and 80: the joist at 64 is cut, two tails."""
    values = flat(FRAMED, opened((4.25, 3, 2, 4)))
    assert at(values, "headers_in_all") == 4
    assert needed(values, "joist_hanger_double") == 4
    assert needed(values, "joist_hanger") == at(values, "tail_hangers") == 2
    # Three doubled joists, and each pair of headers, 24 3/4 in: three nails a row.
    assert at(values, "ply_nails") == at(values, "joist_touching") * 12 + 2 * 6


def test_at_the_rim_an_opening_has_one_pair_and_one_tail() -> None:
    values = flat(FRAMED, opened((4.25, 0, 2, 4)))
    assert (at(values, "double_hangers"), at(values, "tail_hangers")) == (2, 1)


# Two whole floors


def test_a_floor_with_a_hatch_and_a_partition_is_counted_piece_by_piece() -> None:
    """16 x 9 ft at 16 in: 13 joists. A hatch of 3 ft from 51 in cuts those at 64 and 80 in, front
    and back; it stands between the joist at 48 in, doubled, and a pair of its own from 87 in; a
    pair more stands under the partition at 120 in. Joists are 105 in, rims 192 in.
    """
    job = changed(
        opened((4.25, 3, 3, 4)),
        building_length_ft=16,
        building_width_ft=9,
        double_what="partition",
        double_at_ft=10,
    )
    values = flat(FRAMED, job, blocking_rows=1)
    assert at(values, "joist_count") == 13
    assert at(values, "joists_in_all") == 13 + 1 + 2 + 2
    assert at(values, "joist_touching") == 3
    assert (at(values, "headers_in_all"), at(values, "double_hangers")) == (4, 4)
    assert at(values, "tail_hangers") == 2 * 2
    # 17 gaps between 18 joists, 3 of them none, and the row passes the hatch's three.
    assert at(values, "blocking_count") == 17 - 3 - 3
    # 105 / 24 is 4.4: six nails a row; 36 3/4 / 24 is 1.5: three.
    assert at(values, "ply_nails") == 3 * 2 * 6 + 2 * 2 * 3
    nails = 18 * 6 + 11 * 4 + 48
    assert at(values, "nail_lb") == pytest.approx(nails / PER_LB)
    assert at(values, "adhesive_tubes") == math.ceil((18 * 105 + 2 * 192) / 12 / 60)
    assert at(values, "tie_count") == 2 * 18


def test_a_floor_on_three_beams_of_blocks_is_counted_piece_by_piece() -> None:
    """20 x 12 ft of 2x8 at 16 in: 16 joists of 141 in, 15 bays, two rows of blocks; three beams of
    three boards, two faces each, eleven nails in each of two rows; twelve stacks of three courses.
    """
    job = changed(demo(), building_length_ft=20, building_width_ft=12)
    cells = {"joist_stock": "2x8", "support_rows": 3, "supports_per_row": 4, "beam_plies": 3}
    values = flat(BLOCKS, job, **cells, blocking_rows=2, clear_above_in=12)
    assert at(values, "joists_in_all") == 16
    assert at(values, "blocking_count") == 2 * 15
    assert at(values, "ply_nails") == 3 * 2 * 2 * 11
    assert at(values, "nail_lb") == pytest.approx((16 * 6 + 30 * 4 + 132) / PER_LB)
    assert at(values, "adhesive_tubes") == math.ceil((16 * 141 + 2 * 240) / 12 / 60)
    assert (at(values, "beam_boards"), at(values, "block_count")) == (9, 12 * 3 * 2)
    assert at(values, "support_hours") == pytest.approx(12 * 0.5 + 60 * 0.1)


# Adhesive


def test_adhesive_goes_on_every_joist_and_both_rims() -> None:
    """Ten joists of 117 in and rims of 144 in: 121.5 ft, a foot and a half
    more than two tubes do."""
    assert at(flat(FRAMED), "adhesive_tubes") == 3
    job = changed(demo(), double_what={row: f"wall {row}" for row in range(6)})
    places = {row: 2 + row * 16 / 12 for row in range(6)}
    doubled = flat(FRAMED, changed(job, double_at_ft=places))
    run = at(doubled, "joists_in_all") * 117 + 2 * 144
    assert at(doubled, "adhesive_tubes") == math.ceil(run / 12 / 60) > 3


# Blocks between joists


def test_no_block_stands_in_a_hatch() -> None:
    """One row at mid-width, 60 in; the hatch from 36 to 84 in takes the bays between its trimmers,
    which the joist at 64 parts in two."""
    values = flat(FRAMED, opened((4.25, 3, 2, 4)))
    bays = at(values, "joists_in_all") - 1 - at(values, "joist_touching")
    assert at(values, "blocking_count") == bays - 2
    behind = flat(FRAMED, opened((4.25, 6, 2, 3)))  # from 72 in: the row passes in front of it
    assert at(behind, "blocking_count") == bays


def test_a_seam_by_a_row_of_blocks_takes_its_place() -> None:
    """8 ft deep, two rows of sheets: the seam lies at 48 in, within a sixteenth of the row."""
    job = changed(demo(), building_width_ft=8)
    values = flat(FRAMED, job, blocking_rows=1, **SQUARE)
    seam = float(block(values, "seam_in")[0])
    assert at(values, "seam_rows") == 1
    assert 0 < abs(seam - 48) < 0.1
    assert (at(values, "block_rows"), at(values, "blocking_count")) == (1, 9)
    assert at(flat(FRAMED, job, blocking_rows=2, **SQUARE), "block_rows") == 3
    bare = flat(FRAMED, job, blocking_rows=1, seam_blocks="no", **SQUARE)
    assert at(bare, "block_rows") == 1


# Blocks of a stack


def test_a_stack_is_two_blocks_a_course_and_the_first_alone_takes_its_time() -> None:
    """Six stacks 10 in high of 4 in blocks: three courses of two; half an hour for each first
    block, six minutes for the five others."""
    values = flat(BLOCKS, clear_above_in=10)
    assert at(values, "support_count") == 6
    assert needed(values, "block_solid_4") >= at(values, "block_count") == 6 * 3 * 2
    assert at(values, "block_upper_count") == 6 * 5
    assert at(values, "support_hours") == pytest.approx(6 * 0.5 + 30 * 0.1)


def test_a_taller_stack_never_takes_less_time() -> None:
    hours = [at(flat(BLOCKS, clear_above_in=h), "support_hours") for h in (4, 8, 12, 16, 20)]
    assert hours == sorted(hours)
    assert hours[-1] > hours[0]


def test_a_block_is_one_that_a_person_lifts() -> None:
    """A solid block of 3 5/8 x 7 5/8 x 15 5/8 in at 135 lb/ft3 (from memory) weighs 34 lb."""
    values = solved(on_ground(one_option(BLOCKS), slope(3)))
    assert at(values, "block_lb") == round(3.625 * 7.625 * 15.625 / 1728 * 135)
    assert np.max(block(values, "fresh_weight")) >= at(values, "block_lb")
