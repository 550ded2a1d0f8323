"""Floor frame layout. Values are common practice, no source, worked by hand unless noted."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from floor_marks import blocking, diagonal_in, support_positions
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.errors import InputError
from estimator.solve.joist_layout import joist_layout


def test_twelve_foot_floor_at_16_in_takes_ten_joists() -> None:
    layout = joist_layout(144, 16)
    assert layout.count == 10
    assert layout.centres_in == (0.75, 16, 32, 48, 64, 80, 96, 112, 128, 143.25)
    assert layout.near_edges_in[:3] == (0, 15.25, 31.25)
    assert layout.near_edges_in[-1] == 142.5


@pytest.mark.parametrize("spacing_in", [12, 16, 19.2, 24])
def test_end_of_an_eight_foot_sheet_lands_mid_joist(spacing_in: float) -> None:
    layout = joist_layout(192, spacing_in)
    assert any(abs(c - 96) < 1e-9 for c in layout.centres_in)


def test_measuring_from_the_first_joists_centre_misses_the_middle_by_half_a_joist() -> None:
    layout = joist_layout(192, 16, start="centre")
    assert 96.75 in layout.centres_in
    assert 96 not in layout.centres_in


def test_a_last_joist_that_would_overlap_the_end_joist_stands_snug_against_it() -> None:
    layout = joist_layout(145, 16)
    assert layout.count == math.ceil(145 / 16) + 1
    assert layout.centres_in[-2:] == (142.75, 144.25)
    assert layout.sheet_lines_in[-2:] == (128, 145)


def test_a_spacing_of_a_tenth_of_a_foot_more_is_not_one_joist_more_by_binary_dust() -> None:
    assert joist_layout(19.2 * 10, 19.2).count == 11
    assert joist_layout(1.1 * 3 * 10, 3.3).count == 11


@given(
    length_in=st.integers(48, 600).map(lambda n: n * 0.8125),
    spacing_in=st.sampled_from([12.0, 16.0, 19.2, 24.0]),
    start=st.sampled_from(["edge", "centre"]),
)
@settings(max_examples=100, deadline=None)
def test_joists_stand_on_the_floor_without_overlap_and_no_further_apart_than_the_spacing(
    length_in: float, spacing_in: float, start: str
) -> None:
    layout = joist_layout(length_in, spacing_in, start=start)
    centres = layout.centres_in
    steps = [b - a for a, b in pairwise(centres)]
    assert centres[0] == 0.75
    assert centres[-1] == length_in - 0.75
    assert all(1.5 - 1e-6 <= step <= spacing_in + 1e-6 for step in steps)
    if start == "edge":
        assert layout.count == math.ceil(length_in / spacing_in - 1e-6) + 1
    clear = sum(width for _, width in layout.clear_bays_in)
    assert clear + 1.5 * layout.count == pytest.approx(length_in, abs=1e-5)


def test_a_partition_over_a_joist_doubles_it_and_one_between_joists_gets_a_pair() -> None:
    layout = joist_layout(144, 16, doubled_at_in=[49, 72])
    assert layout.extra_centres_in == (49.5, 71.25, 72.75)
    assert layout.count == 13
    assert 49.5 not in layout.sheet_lines_in


def test_doubling_at_the_floors_end_goes_inward() -> None:
    assert joist_layout(144, 16, doubled_at_in=[0, 144]).extra_centres_in == (2.25, 141.75)


def test_four_skids_over_ten_feet_stand_3_ft_4_in_on_centre_when_centred_on_the_edges() -> None:
    assert support_positions(120, 4, 3.5, "edge centred") == (0, 40, 80, 120)


def test_four_flush_skids_over_ten_feet_stand_38_83_in_on_centre() -> None:
    at = support_positions(120, 4, 3.5, "flush")
    assert at[0] - 1.75 == 0
    assert at[-1] + 1.75 == pytest.approx(120, abs=1e-9)
    assert [b - a for a, b in pairwise(at)] == pytest.approx([116.5 / 3] * 3)
    assert round(at[1] - at[0], 1) == 38.8


def test_blocks_are_spacing_less_joist_and_shorter_in_the_end_bays() -> None:
    blocks = blocking(joist_layout(144, 16), 120, mid_span=True)
    assert {b.row_in for b in blocks} == {60}
    assert [b.length_in for b in blocks] == [13.75, *[14.5] * 7, 13.75]
    assert blocks[1].near_face_in == 16.75


def test_seams_and_spans_each_get_a_row_of_blocks_but_not_twice_the_same() -> None:
    layout = joist_layout(144, 16)
    skids = support_positions(120, 4, 3.5, "edge centred")
    blocks = blocking(layout, 120, seams_in=[48, 96], mid_span=True, supports_in=skids)
    assert sorted({(b.row_in, b.why) for b in blocks}) == [
        (20, "mid-span"),
        (48, "seam"),
        (60, "mid-span"),
        (96, "seam"),
        (100, "mid-span"),
    ]
    same = blocking(layout, 120, seams_in=[60], mid_span=True)
    assert {(b.row_in, b.why) for b in same} == {(60, "seam")}


def test_no_block_between_joists_that_stand_double() -> None:
    blocks = blocking(joist_layout(144, 16, doubled_at_in=[48.5]), 120, mid_span=True)
    assert [b.length_in for b in blocks[2:5]] == [14.5, 13, 14.5]
    assert len(blocks) == 9


def test_diagonal_of_a_ten_by_twelve_floor_is_15_ft_7_and_seven_sixteenths() -> None:
    diagonal = diagonal_in(120, 144)
    assert round(diagonal, 1) == 187.4
    assert round(diagonal * 16) / 16 == 15 * 12 + 7 + 7 / 16


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: joist_layout(0, 16), "Floor length is 0"),
        (lambda: joist_layout(144, -16), "spacing is -16"),
        (lambda: joist_layout(144, math.nan), "spacing is nan"),
        (lambda: joist_layout(144, 2), "too close"),
        (lambda: joist_layout(2, 16), "no room for two"),
        (lambda: joist_layout(144, 16, start="corner"), "unknown"),
        (lambda: joist_layout(144, 16, doubled_at_in=[150]), "off the 144 in floor"),
        (lambda: joist_layout(144, 16, doubled_at_in=[72, 72.5]), "No room"),
        (lambda: support_positions(120, 1, 3.5, "flush"), "can't carry"),
        (lambda: support_positions(120, 40, 3.5, "flush"), "don't fit"),
        (lambda: support_positions(120, 4, 3.5, "inside"), "unknown"),
        (lambda: blocking(joist_layout(144, 16), 120, seams_in=[130]), "off the 120 in floor"),
        (lambda: diagonal_in(120, -1), "width is -1"),
    ],
)
def test_bad_frame_input_gets_one_clear_sentence(call: object, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        call()  # type: ignore[operator]
    assert caught.value.cure
