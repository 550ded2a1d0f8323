"""Sheets Footings, Lumber and Sheathing through the whole model, against a pencil's sums."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from jobs import (
    at,
    block,
    board_lines,
    changed,
    demo,
    on_flat,
    on_ground,
    one_option,
    pooled_jobs,
    slope,
    solved,
    solved_or_skipped,
    used,
    valid_jobs,
)

from estimator.inputs import TypedJob
from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS, SUPPORTS
from estimator.units import parse_length

FEW = settings(
    max_examples=6,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
# The demo building: 12 x 10 ft, 8 ft walls of 8 psf, roof 10 dead and 30 snow, floor 50 and 10.
FLOOR, WALL, ROOF = 60.0, 8 * 8.0, 5 * 40.0


def flat(kind: str, job: TypedJob | None = None, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(kind, job or demo(), **cells)))


def test_outer_skid_carries_half_a_bay_wall_and_half_the_roof() -> None:
    values = flat(FRAMED, skid_count=4, skid_place="edge centred")
    outer = 40 / 12 / 2 * FLOOR + WALL + ROOF
    assert at(values, "skid_outer_plf") == pytest.approx(outer)
    # Joists in one piece over three spans: 1.1 of the dead load, 1.2 of the live.
    assert at(values, "skid_inner_plf") == pytest.approx(40 / 12 * (1.1 * 10 + 1.2 * 50))
    # On the soil it spreads through 4 in of stone, 2 down to 1 out: 3.5 + 4 in wide. The stone, 100
    # lb/ft3 loose and a tenth more compacted, presses too.
    assert at(values, "skid_soil_psf") == pytest.approx(outer * 12 / 7.5 + 4 / 12 * 110)


def test_middle_support_carries_its_share_and_a_quarter_more() -> None:
    values = flat(PIERS, support_rows=2, supports_per_row=3, support_inset_in=0)
    plf = 5 * FLOOR + WALL + ROOF
    assert at(values, "beam_outer_plf") == pytest.approx(plf)
    assert at(values, "support_load_lb") == pytest.approx(1.25 * 6 * plf)
    # Nothing gets lost: both beams together carry floor, long walls and roof.
    assert 2 * 12 * plf == pytest.approx(12 * 10 * FLOOR + 2 * 12 * (WALL + ROOF))


def test_two_supports_a_row_take_half_the_beam_each_and_half_an_end_wall() -> None:
    values = flat(PIERS, support_rows=2, supports_per_row=2)
    beam = 6 * at(values, "beam_outer_plf")
    assert at(values, "support_load_lb") == pytest.approx(beam + 5 * at(values, "end_plf"))


def test_walls_on_an_overhang_lever_on_the_next_of_three_beams() -> None:
    values = flat(PIERS, support_rows=3, support_inset_in=12)
    span = (10 - 2) / 2
    # Continuous over the middle beam: a moment M at both ends adds 1.5 M / L at each of them.
    floor = (span / 2 + 1 + 1.5 / (2 * span)) * FLOOR
    wall = (WALL + ROOF) * (1 + 1.5 / span)
    assert at(values, "beam_outer_plf") == pytest.approx(floor + wall)


def test_footing_presses_with_load_and_own_weight_over_its_area() -> None:
    values = flat(PIERS, pier_diameter_in=10, footing_diameter_in=20, clear_above_in=8)
    # Pier 8 in out of and 30 in in the ground, its footing 8 in thick, soil over that.
    pier, area = math.pi / 4 * (10 / 12) ** 2, math.pi / 4 * (20 / 12) ** 2
    concrete = (pier * (8 + 30 - 8) + area * 8) / 12 * at(values, "concrete_lb_ft3")
    own = concrete + (area - pier) * (30 - 8) / 12 * at(values, "soil_lb_ft3")
    assert at(values, "support_own_lb") == pytest.approx(concrete)
    pressure = (at(values, "support_load_lb") + own) / area
    assert at(values, "support_psf") == pytest.approx(pressure)
    # The diameter asked for presses just as hard as the soil may carry.
    typed = at(values, "footing_needed_in")
    assert typed > 20
    as_asked = flat(PIERS, pier_diameter_in=10, footing_diameter_in=typed, clear_above_in=8)
    assert at(as_asked, "support_psf") == pytest.approx(1500)


def test_small_footing_fails_and_a_large_one_passes() -> None:
    checks = [
        at(flat(PIERS, footing_diameter_in=d, footing_thick_in=20), "check_bearing")[:4]
        for d in (12, 36)
    ]
    assert checks == ["FAIL", "ok"]


def test_footing_thinner_than_it_spreads_fails() -> None:
    wide = {"pier_diameter_in": 10, "footing_diameter_in": 30}
    texts = [at(flat(PIERS, footing_thick_in=t, **wide), "check_footing")[:4] for t in (0, 8, 10)]
    assert texts == ["FAIL", "FAIL", "ok"]


def test_pier_reaches_frost_unless_waived_and_never_ends_inside_its_footing() -> None:
    assert at(flat(PIERS), "pier_depth_in") == 30
    waived = changed(demo(), frost_free_area_ft2=200)
    assert at(flat(PIERS, waived, least_depth_in=14), "pier_depth_in") == 14
    deep = flat(PIERS, waived, least_depth_in=6, footing_thick_in=24)
    assert at(deep, "pier_depth_in") == 24
    assert at(deep, "pier_run_ft") == pytest.approx(6 * 8 / 12)  # what stands above ground


def test_where_there_is_no_frost_nothing_need_reach_below_it() -> None:
    for kind in (FRAMED, OPEN, PIERS, BLOCKS):
        values = flat(kind, changed(demo(), frost_depth_in=0))
        assert at(values, "check_frost") == "ok"
        assert at(values, "compare_frost") == "yes"
    assert at(flat(BLOCKS), "check_frost").startswith("LOOK")


def test_each_pier_is_as_tall_as_the_ground_at_its_own_spot_asks() -> None:
    # Ground falls 5 percent from front (y = 0, 100 ft) to back; building from y = 9 to 19.
    job = on_ground(one_option(PIERS, clear_above_in=8, supports_per_row=3), slope(5))
    values = solved(job)
    rise = block(values, "support_rise_in")[:6]
    assert rise[:3] == pytest.approx(8)
    assert rise[3:] == pytest.approx(8 + 10 * 0.05 * 12)
    run = (3 * 8 + 3 * 14 + 6 * (30 - 8)) / 12
    assert at(values, "pier_run_ft") == pytest.approx(run)
    assert at(values, "bar_run_ft") == pytest.approx(2 * (run + 6 * (8 - 6) / 12))


def test_blocks_stack_whole_and_are_dug_in_until_their_tops_are_level() -> None:
    job = one_option(BLOCKS, clear_above_in=10, block_height_in=8, block_bed_in=6)
    values = solved(on_ground(job, slope(5)))
    rise = block(values, "support_rise_in")[:6]
    stack = block(values, "support_blocks")[:6]
    dig = block(values, "support_dig_in")[:6]
    assert stack == pytest.approx(np.ceil(rise / 8))
    # Bed, then blocks, up to the top: what is below the ground is what was dug.
    assert 6 + stack * 8 - dig == pytest.approx(rise)
    assert (dig >= 6 - 1e-9).all()
    assert at(values, "block_count") == 2 * stack.sum()  # 8 x 16 in, two to a course of 16 in
    assert at(values, "hole_yd3") == pytest.approx(float(4 * dig.sum() / 12 / 27))
    assert at(values, "bed_yd3") == pytest.approx(6 * 4 * 0.5 / 27)


def test_too_tall_stacks_and_slender_piers_fail() -> None:
    assert at(flat(BLOCKS, clear_above_in=25), "check_supports").startswith("FAIL")
    assert at(flat(BLOCKS, clear_above_in=20), "check_supports") == "ok"
    assert at(flat(PIERS, clear_above_in=60, pier_diameter_in=6), "check_supports")[:4] == "LOOK"
    tall = on_ground(one_option(PIERS, clear_above_in=60, pier_diameter_in=6), slope(20))
    assert at(solved(tall), "check_supports").startswith("FAIL")


def test_a_tube_form_gives_whole_piers_only() -> None:
    # 8 in above ground and 78 below without a footing: 7 ft 2 in, one to a 12 ft tube.
    deep = changed(demo(), frost_depth_in=78)
    values = flat(PIERS, deep, footing_diameter_in=8, bars_per_pier=2)
    assert at(values, "pier_longest_ft") == pytest.approx(86 / 12)
    assert at(values, "tube_need") == 6 * 12
    # Bars 6 ft 8 in: three from 20 ft; twelve of them are four bars.
    assert at(values, "bar_need") == 4 * 20
    # 8 in and 30: 3 ft 2 in, three to a tube.
    short = flat(PIERS, footing_diameter_in=8)
    assert at(short, "tube_need") == 2 * 12


def test_pins_stand_near_both_ends_and_no_farther_apart_than_allowed() -> None:
    values = flat(FRAMED, pin_spacing_in=48)
    length = block(values, "timber_length_in")
    pins = block(values, "timber_pins")
    on = length > 0
    assert ((length[on] - 12) / (pins[on] - 1) <= 48 + 1e-9).all()
    assert ((length[on] - 12) / np.maximum(pins[on] - 2, 1e-9) > 48 - 1e-9).all()
    assert at(values, "pin_count") == pins.sum()


def test_timbers_run_round_the_frame_once_a_course() -> None:
    values = flat(FRAMED)
    # Two sides whole, the others between them: 2 x 14 + 2 x (12 ft - 7 in).
    assert at(values, "timber_run_ft") == pytest.approx(2 * 14 + 2 * (12 - 7 / 12))
    assert block(values, "timber_length_in").sum() / 12 == pytest.approx(
        at(values, "timber_run_ft")
    )


def test_a_long_overhang_breaks_joists_before_their_span_does() -> None:
    values = flat(PIERS, support_inset_in=36, joist_stock="2x8", species="Southern pine No.2")
    moment = 16 / 12 * (FLOOR * 3**2 / 2 + (WALL + ROOF) * 3)
    use = 12 * moment / (1.5 * 7.25**2 / 6 * at(values, "joist_fb_psi"))
    assert at(values, "overhang_use") == pytest.approx(use)
    assert at(values, "joist_use") < 1 < use
    assert at(values, "check_joists").startswith("FAIL: joists past the beam")
    assert at(flat(PIERS, joist_stock="2x8"), "overhang_use") == 0


def test_a_beam_is_checked_where_it_bears_on_its_middle_support() -> None:
    values = flat(PIERS, beam_plies=1, supports_per_row=3, species="Southern pine No.2")
    on_support = at(values, "support_load_lb") / (1.5 * 3.5 * 565 * 0.67)
    assert at(values, "beam_use") >= on_support > 1
    assert at(values, "check_beams").startswith("FAIL")


@pytest.mark.parametrize(
    ("kind", "cells"),
    [
        (PIERS, {"joist_stock": "2x6", "joist_spacing_in": 24}),
        (FRAMED, {"joist_stock": "2x6", "skid_count": 2}),
        (PIERS, {"beam_plies": 1, "supports_per_row": 2}),
        (BLOCKS, {"supports_per_row": 2}),
    ],
)
def test_adding_floor_load_never_turns_a_failing_check_into_a_passing_one(
    kind: str, cells: dict[str, Any]
) -> None:
    before: set[int] = set()
    counts = []
    for live in (20, 40, 60, 80, 125, 250):
        texts = block(flat(kind, changed(demo(), floor_live_psf=live), **cells), "check_text")
        failing = {i for i, text in enumerate(texts) if str(text).startswith("FAIL")}
        assert before <= failing
        before = failing
        counts.append(len(failing))
    assert counts[-1] > counts[0]


@pytest.mark.slow
@FEW
@given(valid_jobs(most_options=2))
def test_heavier_floors_fail_no_fewer_checks(job: TypedJob) -> None:
    light = solved_or_skipped(changed(job, floor_live_psf=20))
    heavy = solved(changed(job, floor_live_psf=150))
    for option in used(light):
        for a, b in zip(
            block(light, "check_text", option), block(heavy, "check_text", option), strict=True
        ):
            assert not str(a).startswith("FAIL") or str(b).startswith("FAIL"), (a, b)
        for use in ("joist_use", "beam_use", "skid_soil_psf", "support_psf"):
            assert at(heavy, use, option) >= at(light, use, option) - 1e-9


@FEW
@given(pooled_jobs())
def test_tops_of_all_supports_are_level_and_clear_the_ground(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        on = block(values, "support_on", option) > 0
        supported = at(values, "option_kind", option) in SUPPORTS
        assert on.sum() == (at(values, "support_count", option) if supported else 0)
        if not supported:
            continue
        rise = block(values, "support_rise_in", option)[on]
        ground = block(values, "support_ground_ft", option)[on]
        assert ground + rise / 12 == pytest.approx(at(values, "top_ft", option), abs=1e-9)
        assert (rise >= at(values, "clear_above_in", option) - 1e-6).all()


def pieces_cut(values: dict[str, Any], option: int) -> Counter[tuple[str, str]]:
    """Pieces on the lines of the cut plan of one option, by name and length as printed."""
    found: Counter[tuple[str, str]] = Counter()
    lines = board_lines(values, option)
    for row in range(lines.start, lines.stop):
        if block(values, "board_item")[row]:
            boards = int(block(values, "board_count")[row])
            for part in str(block(values, "board_pieces")[row]).split(", "):
                match = re.fullmatch(r"(\d+) ([a-z ]+) (\d.* in)", part)
                assert match, part
                found[match[2], match[3]] += int(match[1]) * boards
    return found


@FEW
@given(pooled_jobs())
def test_every_piece_wanted_is_on_the_cut_plan_and_fits_its_board(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        cut = pieces_cut(values, option)
        names = Counter[str]()
        for (name, _), count in cut.items():
            names[name] += count
        assert names["joist"] == at(values, "joists_in_all", option)
        assert names["block"] == at(values, "blocking_count", option)
        assert names["timber"] == at(values, "timber_pieces", option)
        framed = at(values, "floor_framed", option) == 1
        rims, parts = names["rim"], names["rim part"]
        assert (rims == 2 or parts % 2 == 0 < parts) if framed else rims == parts == 0
        skids = names["skid"] + names["skid part"]
        assert skids >= at(values, "skid_count", option)
        lengths = np.asarray(values["piece_length"])[option], np.asarray(values["piece_count"])
        wanted = float(np.sum(lengths[0] * lengths[1][option]))
        wanted += float(block(values, "timber_length_in", option).sum())
        legs = block(values, "ramp_leg_in", option) * block(values, "ramp_leg_count", option)
        wanted += float(legs.sum())
        listed = sum(parse_length(length) * 12 * count for (_, length), count in cut.items())
        # The plan prints sixteenths of an inch.
        assert listed == pytest.approx(wanted, abs=sum(cut.values()) / 32 + 1e-6)
        offcuts = at(values, "cut_waste_ft", option) * 12
        lines = board_lines(values, option)
        long_ft = dict(
            zip(block(values, "item_name"), block(values, "item_length_ft"), strict=True)
        )
        lengths_ft = [float(long_ft.get(i, 0.0)) for i in block(values, "board_item")[lines]]
        over_ft = at(values, "over_length_in") / 12
        boards = (np.array(lengths_ft) + over_ft) * block(values, "board_count")[lines]
        assert wanted + offcuts <= float(boards.sum()) * 12 + 1e-6


@FEW
@given(pooled_jobs())
def test_sheets_cover_the_floor_once(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        area = block(values, "piece_long_in", option) * block(values, "piece_wide_in", option)
        floor = at(values, "floor_ft2", option) * 144
        assert at(values, "sheet_count", option) >= at(values, "sheet_bound", option)
        assert at(values, "sheet_count", option) * 96 * 48 >= float(area.sum()) - 1e-6
        # The gaps between sheets, an eighth of an inch in 4 and 8 ft, are all that stays bare.
        assert 0.98 * floor <= float(area.sum()) <= floor + 1e-6


def test_wind_turns_a_building_about_the_base_its_floor_stands_on() -> None:
    values = flat(PIERS, support_inset_in=12)
    wall = 8 + at(values, "floor_top_ft") - at(values, "top_ft")
    pressure = at(values, "wall_wind_psf")
    turning = pressure * 12 * wall**2 / 2 + pressure * 12 * 3 * (wall + 3 / 2)
    turning += at(values, "uplift_lb") * 8 / 2
    assert at(values, "lift_side_lb") == pytest.approx(turning / 8)
    held = at(values, "base_side_lb") + at(values, "anchored_lb")
    assert at(values, "sliding_lack_lb") == 0
    holding = 0.6 * at(values, "dry_load_lb") * 8 / 2 + held * 8
    assert at(values, "overturning_use") == pytest.approx(turning / holding)


def test_untreated_wood_on_the_ground_fails() -> None:
    assert at(flat(FRAMED), "check_treated") == "ok"
    values = flat(PIERS, beam_stock="2x8")
    assert at(values, "check_treated").startswith("FAIL")
