"""Steps or a ramp at the door through the whole model: pieces, needs, hours, checks, kinds."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import (
    at,
    block,
    board_lines,
    changed,
    demo,
    on_flat,
    one_option,
    solved,
    used,
    with_options,
)
from known_job import known_job

from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, FRAMED, KIND_NAMES, PIERS
from estimator.typed_job import default_job, read_inputs

UNDER_FLOOR_IN = 7.25 + 5.5 + 23 / 32
"""Beam of 2x8, joist of 2x6 and floor sheet, from the top of a support to the floor."""


def floor_at(height_in: float, kind: str = PIERS, **cells: Any) -> TypedJob:
    """A level lot and a floor that stands so high above it (supports' cells of column A)."""
    job = one_option(kind, clear_above_in=height_in - UNDER_FLOOR_IN)
    return changed(on_flat(job), **cells)


def boards(values: dict[str, Any], stock: str) -> dict[float, int]:
    """Boards that option A buys of a stock, by length (ft)."""
    of = block(values, "item_stock") == stock
    lengths, counts = block(values, "item_length_ft")[of], block(values, "item_boards")[of]
    return {float(x): int(n) for x, n in zip(lengths, counts, strict=True) if n > 0}


def cut_texts(values: dict[str, Any]) -> str:
    """What Cut Plan writes on every board."""
    return "; ".join(str(t) for t in block(values, "board_pieces") if str(t))


def needed(values: dict[str, Any], item: str) -> float:
    """How much of an item option A needs."""
    return float(block(values, "item_need")[list(block(values, "item_key")).index(item)])


def marks(values: dict[str, Any], option: int = 0) -> list[str]:
    """What the checks of an option say, but ok."""
    return [str(t) for t in block(values, "check_text", option) if str(t) not in ("", "ok")]


def says(values: dict[str, Any], words: str) -> bool:
    return any(words in mark for mark in marks(values))


@cache
def high_floor() -> Mapping[str, Any]:
    """A floor 28 in above level ground."""
    return solved(floor_at(28))


def test_a_flight_of_28_inches_is_the_one_worked_by_hand() -> None:
    """4 rises of 7 in, 3 treads of 10 1/2 in, stringers of 3 x 12.619 + 6 = 43.86 in at 17 1/4 in
    on centre, 11.25 - 7 x 10.5 / 12.619 = 5.43 in left under a notch."""
    values = high_floor()
    assert at(values, "floor_door_in") == pytest.approx(28)
    assert at(values, "door_steps") == 4
    assert at(values, "step_rise_used_in") == pytest.approx(7)
    assert at(values, "tread_count") == 3
    assert at(values, "flight_run_in") == pytest.approx(31.5)
    assert at(values, "stringer_count") == 3
    assert at(values, "stringer_in") == pytest.approx(43.858, abs=0.001)
    assert at(values, "stringer_throat_in") == pytest.approx(5.426, abs=0.001)
    assert at(values, "first_notch_in") == pytest.approx(5.5)
    assert at(values, "tread_boards") == 6
    assert at(values, "riser_strips") == 0


def test_its_landing_rail_and_feet_are_those_worked_by_hand() -> None:
    """More than two rises: a landing 36 in square, 7 boards of 5 1/2 in with gaps, three joists of
    33 in between ledger and header, two posts; four rises: a handrail of 37.9 in on two posts.
    Feet: three stringers and two posts."""
    values = high_floor()
    assert at(values, "landing_on") == 1
    assert at(values, "landing_boards") == 7
    assert (at(values, "landing_joists"), at(values, "landing_joist_in")) == (3, 33)
    assert at(values, "landing_post_in") == pytest.approx(28 - 1.5)
    assert at(values, "rail_sides") == 1
    assert at(values, "handrail_ft") == pytest.approx(3 * 12.619 / 12, abs=0.001)
    assert (at(values, "rail_posts"), at(values, "rail_post_in")) == (2, 36 + 11.25)
    assert at(values, "foot_count") == 5
    assert needed(values, "block_solid_4") == 5


def test_the_saw_cuts_the_stringers_from_one_board() -> None:
    """Three of 43.86 in and two cuts are 131.8 in: one board of 12 ft, $33.60, is cheaper than an
    8 ft and a 10 ft board, $49.50."""
    values = high_floor()
    assert boards(values, "2x12 treated") == {12.0: 1}
    assert "3 stringer" in cut_texts(values)
    for piece in ("tread", "landing board", "landing joist", "landing post", "rail post"):
        assert piece in cut_texts(values)


def test_treated_joists_and_steps_are_cut_from_the_same_boards() -> None:
    """Of one stock they are one plan, which costs no more than two, and here less."""

    def spent(**cells: Any) -> float:
        values = solved(floor_at(28, **cells))
        of = block(values, "item_stock") == "2x6 treated"
        return float(np.sum(block(values, "item_cost")[of]))

    joists_alone = spent(joist_stock="2x6 treated", door_way="none")
    steps_alone = spent()
    assert 0 < spent(joist_stock="2x6 treated") < joists_alone + steps_alone


def test_the_hardware_of_the_steps_is_bought() -> None:
    values = high_floor()
    assert needed(values, "stringer_hanger") == 3
    assert needed(values, "joist_hanger") == 6
    assert needed(values, "post_base") == 2
    assert needed(values, "bolt_post") == 8
    assert needed(values, "rail_bracket") == 2
    assert needed(values, "screw_deck") == 2 * (6 * 3 + 7 * 3)


def test_their_hours_are_in_the_hours_of_the_option() -> None:
    """5 blocks at 0.5 h; 3 stringers at 1, 13 boards at 0.12, 4 posts at 0.4, 14.25 ft of 2x6 at
    0.02 a board foot, 3.155 ft of handrail at 0.06."""
    values, without = high_floor(), solved(floor_at(28, door_way="none"))
    worked = 5 * 0.5 + 3 + 13 * 0.12 + 4 * 0.4 + 14.25 * 0.02 + 3 * 12.6194 / 12 * 0.06
    assert at(values, "foot_hours") + at(values, "step_hours") == pytest.approx(worked, abs=0.001)
    hours = [at(v, "work_hours") - at(v, "cleanup_hours") for v in (values, without)]
    assert hours[0] - hours[1] == pytest.approx(worked, abs=0.001)


def test_the_chosen_option_s_buy_list_holds_stringers_and_their_hangers() -> None:
    values = solved(changed(demo(), siting_wanted="no"))
    bought = [str(t) for t in block(values, "line_item")]
    assert any(t.startswith("2x12") for t in bought)
    assert "Stringer hanger, galvanized, with screws" in bought
    assert at(values, "buy_check") == "ok"


def test_every_kind_has_its_steps_and_pays_for_them() -> None:
    """On the demo's slope: each option with two rises or more has stringers in cost and plan."""
    high = {"raise_in": 14}
    kinds = {o: {"option_kind": kind} | high for o, kind in enumerate(KIND_NAMES)}
    job = with_options(demo(), kinds)
    values = solved(job)
    without = solved(changed(job, door_way="none"))
    assert {at(values, "option_kind", o) for o in used(values)} == set(KIND_NAMES)
    for option in used(values):
        assert at(values, "door_steps", option) >= 2
        assert at(values, "stringer_count", option) >= 2
        assert at(values, "total_cost", option) > at(without, "total_cost", option)
        plan = block(values, "board_pieces")[board_lines(values, option)]
        assert any("stringer" in str(text) for text in plan)


def test_what_stands_higher_pays_more_for_its_steps() -> None:
    """The pad of the demo has two rises, its piers four: they no longer come for the same price."""
    values = solved(changed(demo(), siting_wanted="no"))
    without = solved(changed(demo(), siting_wanted="no", door_way="none"))
    more = [at(values, "total_cost", o) - at(without, "total_cost", o) for o in used(values)]
    rises = [at(values, "door_steps", o) for o in used(values)]
    assert more[rises.index(max(rises))] > 1.5 * more[rises.index(min(rises))]


@settings(max_examples=5, deadline=None)
@given(st.floats(15, 50), st.floats(0, 20))
def test_a_higher_floor_never_has_fewer_rises_nor_cheaper_stringers(
    height: float, more: float
) -> None:
    found = []
    for each in (height, height + more):
        values = solved(floor_at(each))
        assert at(values, "step_rise_used_in") <= 7.75 + 1e-9
        of = block(values, "item_stock") == "2x12 treated"
        bought = float(np.sum(block(values, "item_cost")[of]))
        found.append((at(values, "door_steps"), at(values, "stringer_in"), bought))
    (low, short, cheap), (high, long, dear) = found
    assert high >= low
    assert long >= short - 1e-9
    assert dear >= cheap


STEP_PIECES = (
    *("stringers", "treads", "riser_strip", "ramp_joist", "ramp_board", "ramp_bearer"),
    *("landing_rim", "landing_joist", "landing_board", "landing_post", "rail_post"),
    *("flight_guard", "landing_guard"),
)


@pytest.mark.parametrize("way", ["steps", "ramp"])
def test_a_floor_at_the_ground_has_no_piece_no_need_and_no_hour(way: str) -> None:
    job = one_option(FRAMED, height_mode="by hand", hand_height_ft=98.5)
    values = solved(changed(on_flat(job), door_way=way))
    assert at(values, "floor_door_in") < 0
    assert at(values, "door_steps") == 0
    for piece in STEP_PIECES:
        assert at(values, f"{piece}_count") == 0
    assert at(values, "foot_count") == 0
    assert at(values, "foot_hours") + at(values, "step_hours") == 0
    for item in ("stringer_hanger", "screw_deck", "handrail", "bolt_post", "block_solid_4"):
        assert needed(values, item) == 0
    assert boards(values, "2x12 treated") == {}
    assert not any("steps" in mark or "ramp" in mark for mark in marks(values))


def test_none_at_a_high_door_is_marked_and_not_priced() -> None:
    values = solved(floor_at(28, door_way="none"))
    assert at(values, "stringer_count") == 0
    assert boards(values, "2x12 treated") == {}
    assert says(values, "LOOK: the floor stands 28 in above the ground at the door")


def test_one_rise_needs_no_steps() -> None:
    values = solved(
        changed(on_flat(one_option(FRAMED, height_mode="by hand", hand_height_ft=99.6)))
    )
    assert 0 < at(values, "floor_door_in") <= 7.75
    assert at(values, "door_steps") == 1
    assert at(values, "steps_on") == 0
    assert at(values, "foot_count") == 0


def test_a_landing_can_be_had_and_left_out() -> None:
    low = solved(floor_at(14.5))
    assert (at(low, "door_steps"), at(low, "landing_on")) == (2, 0)
    wanted = solved(floor_at(14.5, landing_wanted="yes"))
    assert at(wanted, "landing_post_count") == 2
    left_out = solved(floor_at(28, landing_wanted="no"))
    assert at(left_out, "landing_post_count") == 0
    assert says(left_out, "FAIL: the code asks for a landing at the door")


def test_more_than_thirty_inches_have_guards_and_closed_risers() -> None:
    """36 in: five rises of 7.2 in; guards on both sides of flight and landing, five boards high;
    a strip in each riser leaves 7.2 - 1.5 - 3.5 = 2.2 in."""
    values = solved(floor_at(36))
    assert at(values, "door_steps") == 5
    assert (at(values, "rail_sides"), at(values, "guard_high")) == (2, 5)
    assert at(values, "riser_strips") == 5
    assert at(values, "step_rise_used_in") - 1.5 - 3.5 <= 4
    assert at(values, "landing_guards") == 10
    assert at(values, "flight_guards") == 10
    assert at(values, "landing_post_in") == pytest.approx(72)
    assert "landing guard" in cut_texts(values)
    bare = solved(floor_at(36, rails_wanted="none"))
    assert at(bare, "rail_post_count") == 0
    assert says(bare, "FAIL: a rail or guard that the code asks for is left out")


@pytest.mark.parametrize(("exit_door", "run"), [("no", 8), ("yes", 12)])
def test_a_ramp_is_less_steep_at_the_required_exit(exit_door: str, run: int) -> None:
    """20 in up: 1 in 8 takes 13 ft 4 in in three bays, 1 in 12 takes 20 ft in four."""
    values = solved(floor_at(20, door_way="ramp", door_exit=exit_door))
    length = 20 * run
    slope = (20**2 + length**2) ** 0.5
    bays = -(-length // 72)
    assert at(values, "ramp_ft") == pytest.approx(length / 12)
    assert at(values, "compare_ramp") == pytest.approx(length / 12)
    assert at(values, "ramp_slope_in") == pytest.approx(slope)
    assert at(values, "ramp_bays") == bays
    assert at(values, "ramp_joist_pieces") == 3 * bays
    assert at(values, "ramp_joist_in") == pytest.approx(slope / bays)
    assert at(values, "ramp_boards") == -(-(slope + 0.25) // 5.75)
    assert at(values, "landing_on") == 1
    assert at(values, "stringer_count") == 0
    legs = block(values, "ramp_leg_in")[: bays - 1]
    assert legs == pytest.approx([20 * n / bays - 1.5 for n in range(1, bays)])
    assert np.sum(block(values, "ramp_leg_count")) == 2 * (bays - 1)
    assert cut_texts(values).count("ramp leg") >= bays - 1
    assert at(values, "rail_sides") == (1 if run < 12 else 0)


def test_a_ramp_steeper_than_allowed_fails() -> None:
    values = solved(floor_at(20, door_way="ramp", door_exit="yes", ramp_run_wanted=8))
    assert at(values, "ramp_ft") == pytest.approx(160 / 12)
    assert says(values, "FAIL: the ramp is steeper than Factors allows")
    easy = solved(floor_at(20, door_way="ramp", ramp_run_wanted=15))
    assert at(easy, "ramp_ft") == pytest.approx(25)
    assert not says(easy, "ramp")


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"tread_run_in": 9}, "FAIL: treads are not as deep"),
        ({"stringer_stock": "2x10 treated"}, "FAIL: too little wood is left under the notches"),
        ({"stringer_span_in": 30}, "LOOK: notched stringers reach too far"),
        ({"landing_depth_in": 30}, "FAIL: the landing is not as deep"),
        ({"steps_width_in": 30}, "LOOK: steps or ramp are narrower"),
        ({"tread_stock": "2x6"}, "FAIL: wood of steps stands in the weather"),
        ({"frost_depth_in": 10}, "LOOK: the building stands below frost and its steps do not"),
    ],
)
def test_checks_say_what_is_wrong_with_steps(cells: dict[str, Any], words: str) -> None:
    assert not says(solved(floor_at(28, frost_depth_in=0)), words)
    assert says(solved(floor_at(28, **cells)), words)


def test_feet_of_concrete_reach_below_frost_where_asked() -> None:
    """Five feet of 10 in and 30 in: 5 x 0.5454 x 2.5 = 6.818 ft3, with 5 % waste 12 bags."""
    values = solved(
        floor_at(28, foot_kind="concrete", foot_depth_in=30, least_depth_in=30, frost_depth_in=30)
    )
    assert at(values, "foot_ft3") == pytest.approx(6.818, abs=0.001)
    assert at(values, "foot_bags") == 12
    assert needed(values, "block_solid_4") == 0
    assert not says(values, "its steps do not")


def test_blank_options_stay_quiet_and_blocks_of_the_base_are_counted_with_those_of_the_steps() -> (
    None
):
    job = one_option(BLOCKS, block_item="block_solid_4", block_height_in=4)
    values = solved(on_flat(job))
    assert needed(values, "block_solid_4") == at(values, "block_count") + at(values, "foot_blocks")
    for key in ("door_steps", "stringer_in", "rail_sides", "step_hours", "landing_on"):
        assert np.all(np.isnan(np.asarray(values[key])[1:, 0]))


def test_a_metric_yard_cuts_stringers_that_pass_the_same_checks() -> None:
    model = metric(build_model())
    values = dict(evaluate(model, read_inputs(model, known_job(model))))
    assert at(values, "step_rise_mm") == pytest.approx(196.85, abs=0.06)
    assert at(values, "throat_least_mm") == pytest.approx(127)
    for option in used(values):
        assert at(values, "step_rise_used_mm", option) <= at(values, "step_rise_mm")
        assert at(values, "stringer_throat_mm", option) >= 127
        assert not any(m.startswith("FAIL") for m in marks(values, option))


def test_defaults_of_a_new_workbook_ask_for_steps() -> None:
    cells = default_job().cells
    assert cells["door_way", 0] == "steps"
    assert cells["steps_width_in", 0] == 36


def test_a_stringer_weighs_what_its_board_weighs() -> None:
    """43.858 in of 1 1/2 x 11 1/4 in at 70 lb/ft3 as delivered: 30.0 lb; half of all the wood of
    the steps bears on the floor's edge and none of it counts against the wind."""
    values, without = high_floor(), solved(floor_at(28, door_way="none"))
    assert at(values, "stringer_lb") == pytest.approx(
        43.858 / 12 * 1.5 * 11.25 / 144 * 70, abs=0.01
    )
    more = at(values, "dead_load_lb") - at(without, "dead_load_lb")
    assert more == pytest.approx(at(values, "step_lb") / 2)
    assert at(values, "dry_load_lb") == at(without, "dry_load_lb")
