"""Sheet Grading through the whole model: heights, cut and fill, spoil, trench, hours."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from earthwork import mean_height_ft
from hypothesis import HealthCheck, given, settings
from jobs import (
    at,
    block,
    changed,
    demo,
    on_flat,
    on_ground,
    one_option,
    pooled_jobs,
    slope,
    solved,
    solved_or_skipped,
    solved_whole,
    used,
)
from scipy.integrate import quad

from estimator.errors import SolveError
from estimator.inputs import TypedJob
from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS
from estimator.solve.volumes import Patch, cut_ft3, fill_ft3

FEW = settings(
    max_examples=6,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def patch_of(values: dict[str, Any], option: int) -> Patch:
    """The ground under one option, from the triangles on the sheet."""
    area = block(values, "triangle_ft2", option)
    on = area > 0
    low, mid, high = (
        block(values, f"triangle_{name}_ft", option)[on] for name in ("low", "mid", "high")
    )
    return Patch(area[on], low, mid, high)


@FEW
@given(pooled_jobs())
def test_cut_and_fill_are_the_exact_volumes_under_the_triangles(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        cut, fill = at(values, "cut_yd3", option) * 27, at(values, "fill_yd3", option) * 27
        if at(values, "on_pad", option) == 0:
            assert cut == fill == 0
            continue
        patch = patch_of(values, option)
        level = at(values, "subgrade_ft", option) + at(values, "strip_ft", option)
        # A millionth of a cubic inch a square foot where heights of 1,250 ft cancel.
        dust = 1e-9 * patch.area_ft2
        assert cut == pytest.approx(float(cut_ft3(patch, level)), rel=1e-9, abs=dust)
        assert fill == pytest.approx(float(fill_ft3(patch, level)), rel=1e-9, abs=dust)
        assert cut - fill == pytest.approx(
            patch.area_ft2 * (mean_height_ft(patch) - level), rel=1e-9, abs=dust
        )
        inside = at(values, "stone_length_ft", option) * at(values, "stone_width_ft", option)
        assert patch.area_ft2 == pytest.approx(inside, rel=1e-9)


@FEW
@given(pooled_jobs())
def test_balanced_height_really_balances(job: TypedJob) -> None:
    values = solved_or_skipped(changed(job, height_mode=dict.fromkeys(range(6), "balanced")))
    for option in used(values):
        if at(values, "on_pad", option):
            made = at(values, "cut_yd3", option) * at(values, "compacted_per_bank", option)
            dust = 1e-9 * at(values, "footprint_ft2", option)
            # The edge of a slab stands through the fill: there is none in its place.
            taken = at(values, "slab_fill_yd3", option)
            fill = max(at(values, "fill_yd3", option) - taken, 0)
            assert made == pytest.approx(fill, rel=1e-9, abs=dust)


@FEW
@given(pooled_jobs())
def test_soil_dug_is_filled_brought_or_spoilt_and_never_lost(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        loose = at(values, "loose_per_bank", option)
        bank_in = at(values, "dug_yd3", option) + at(values, "import_yd3", option) / loose
        topsoil = at(values, "strip_yd3", option) - at(values, "topsoil_back_yd3", option)
        assert topsoil >= 0
        left = at(values, "spoil_yd3", option) / loose - topsoil
        assert bank_in == pytest.approx(at(values, "fill_bank_yd3", option) + left, abs=1e-9)
        assert min(at(values, "import_yd3", option), left) == pytest.approx(0, abs=1e-9)


@FEW
@given(pooled_jobs())
def test_no_timber_hangs_in_the_air_and_every_trench_holds_its_courses(job: TypedJob) -> None:
    values = solved_or_skipped(job)
    for option in used(values):
        if at(values, "option_kind", option) != FRAMED:
            continue
        side = block(values, "station_side", option)
        on = side > 0
        courses = block(values, "station_courses", option)[on]
        ground = block(values, "station_ground_ft", option)[on]
        strip = at(values, "strip_ft", option) * (at(values, "reckoned_from", option) == "stripped")
        bottom = at(values, "top_ft", option) - courses * at(values, "timber_depth_in", option) / 12
        assert (bottom <= ground - strip - at(values, "embed_in", option) / 12 + 1e-9).all()
        assert courses.max() == at(values, "frame_courses", option)


@pytest.mark.parametrize(("reckoned", "top_ft"), [("stripped", 100 - 4 / 12), ("original", 100.0)])
def test_flush_is_reckoned_from_stripped_or_original_ground(reckoned: str, top_ft: float) -> None:
    values = solved(on_flat(one_option(FRAMED, reckoned_from=reckoned)))
    assert at(values, "top_ft") == pytest.approx(top_ft, abs=1e-9)
    assert at(values, "subgrade_ft") == pytest.approx(top_ft - 4 / 12, abs=1e-9)
    # Flush with the ground beside it, nothing is exposed.
    assert at(values, "exposed_in") == pytest.approx(0, abs=1e-9)


def test_the_exposed_face_is_measured_from_the_ground_as_it_will_lie_beside_the_frame() -> None:
    # 12 ft of base down a 5 percent slope: 7.2 in of fall, all of it exposed on the low side.
    for reckoned in ("stripped", "original"):
        job = on_ground(one_option(FRAMED, reckoned_from=reckoned), slope(5))
        assert at(solved(job), "exposed_in") == pytest.approx(7.2, abs=1e-9)


def test_level_lot_is_dug_to_the_subgrade_and_nothing_is_filled() -> None:
    values = solved(on_flat(one_option(FRAMED, reckoned_from="stripped", bedding_in=2)))
    # 4 in of sod over 12 x 14 ft and the trench, 3.25 in wider all round than timbers of 3.5 in.
    trench, inner, beside = 6.5 / 12, 7 / 12, 3.25 / 12
    assert at(values, "strip_yd3") == pytest.approx((12 + trench) * (14 + trench) * (4 / 12) / 27)
    # Then 4 in for the stone, inside the timbers.
    assert at(values, "cut_yd3") == pytest.approx((12 - inner) * (14 - inner) * (4 / 12) / 27)
    assert at(values, "fill_yd3") == pytest.approx(0, abs=1e-9)
    # The trench is 7.5 in deep; inside the timbers it goes on from the subgrade, 4 in lower.
    outside = (12 + trench) * (14 + trench) - (12 - inner) * (14 - inner)
    inside = (12 - inner) * (14 - inner) - (12 - inner - 2 * beside) * (14 - inner - 2 * beside)
    dug = outside * 7.5 / 12 + inside * 3.5 / 12
    assert at(values, "trench_yd3") == pytest.approx(dug / 27, rel=1e-9)
    assert at(values, "import_yd3") == 0


def test_piers_and_blocks_strip_nothing() -> None:
    for kind in (PIERS, BLOCKS):
        values = solved(on_flat(one_option(kind)))
        assert at(values, "strip_yd3") == at(values, "cut_yd3") == at(values, "fill_yd3") == 0
        assert at(values, "dug_yd3") == at(values, "hole_yd3") > 0


def test_deeper_topsoil_takes_longer_to_strip_by_hand() -> None:
    hours = [
        at(
            solved(on_flat(one_option(FRAMED, changed(demo(), strip_depth_in=depth)))),
            "strip_hours",
        )
        for depth in (0, 2, 4, 8)
    ]
    # The rate is for 4 in of sod; a thinner one is cut in the same strokes.
    area = (12 + 6.5 / 12) * (14 + 6.5 / 12)
    assert hours == pytest.approx([0, area * 0.01, area * 0.01, area * 0.02])


def test_soil_brought_in_is_bought_carted_and_tamped() -> None:
    job = on_flat(one_option(OPEN, changed(demo(), tip_distance_ft=150), raise_in=12))
    values = solved(job)
    # 12 in of pad above the stripped ground less 4 in of stone: 8 in of fill under 14 x 12 ft.
    fill = 12 * 14 * (8 / 12) / 27
    assert at(values, "fill_yd3") == pytest.approx(fill, rel=1e-9)
    loose = fill / 0.9 * 1.25
    assert at(values, "import_yd3") == pytest.approx(loose, rel=1e-9)
    trips = math.ceil(loose * 27 / 3.53)
    assert at(values, "import_hours") == pytest.approx(trips * 5 / 60)
    assert at(values, "fill_hours") == pytest.approx(fill / 1.33)
    places = {key: row for row, key in enumerate(block(values, "item_key"))}
    assert block(values, "item_packs")[places["fill_soil"]] == math.ceil(loose)
    assert at(values, "lifts") == math.ceil(8 / (4 * 0.9 / 1.25))


def test_a_machine_travels_too_and_its_hire_covers_what_it_carries() -> None:
    near, far = (
        solved(changed(demo(), dig_method="machine", spoil_distance_ft=d, tip_distance_ft=d))
        for d in (0, 300)
    )
    for option in range(4):
        assert at(far, "spoil_hours", option) > at(near, "spoil_hours", option) > 0
        carried = sum(
            at(far, key, option)
            for key in ("strip_hours", "cut_hours", "spoil_hours", "import_hours", "haul_hours")
        )
        assert at(far, "digger_need", option) == math.ceil(carried / 8) >= 1


def test_round_piers_the_hole_is_backfilled_with_its_own_soil() -> None:
    values = solved(
        on_flat(
            one_option(
                PIERS,
                pier_diameter_in=10,
                footing_diameter_in=20,
                footing_thick_in=8,
                support_rows=2,
                supports_per_row=3,
            )
        )
    )
    hole = 6 * math.pi / 4 * 20**2 * 30
    cast = 6 * math.pi / 4 * (20**2 * 8 + 10**2 * 22)
    assert at(values, "hole_yd3") * 27 * 1728 == pytest.approx(hole)
    assert at(values, "backfill_yd3") * 27 * 1728 == pytest.approx(hole - cast)
    left = (hole - (hole - cast) / 0.9) / 27 / 1728
    assert at(values, "spoil_yd3") == pytest.approx(left * 1.25)


def test_hand_height_below_the_ground_is_a_pit_and_says_so() -> None:
    values = solved(on_flat(one_option(FRAMED, height_mode="by hand", hand_height_ft=99)))
    assert at(values, "top_ft") == 99
    assert at(values, "check_buried").startswith("LOOK")
    inside = (14 - 7 / 12) * (12 - 7 / 12)
    assert at(values, "cut_yd3") == pytest.approx(inside * (1 + 4 / 12 - 4 / 12) / 27)


def test_an_open_pad_slopes_down_all_round() -> None:
    # A pad 12 in above stripped ground, slopes 1.5 to 1: four prisms and four quarter cones.
    values = solved(on_flat(one_option(OPEN, raise_in=12, shoulder_run=1.5)))
    prisms = 2 * (14 + 12) * 1.5 / 2
    cones = math.pi * 1.5**2 / 3
    assert at(values, "shoulder_ft3") == pytest.approx(prisms + cones, rel=1e-9)


def test_a_timber_wall_too_high_for_a_loaded_pad_fails() -> None:
    texts = []
    for fall in (5, 10, 20):
        values = solved(on_ground(one_option(FRAMED, embed_in=0), slope(fall)))
        texts.append(at(values, "check_wall")[:4])
    # 7.2, 14.4 and 28.8 in exposed; ties from 12, an engineer from 24.
    assert texts == ["ok", "LOOK", "FAIL"]


def test_support_on_fill_waits_for_someone_to_accept_it() -> None:
    job = on_ground(one_option(OPEN), slope(5))
    assert at(solved(job), "check_fill").startswith("LOOK")
    assert at(solved(changed(job, fill_accepted="yes")), "check_fill") == "ok"


def test_ground_outside_the_readings_is_marked_guessed() -> None:
    job = on_flat(changed(one_option(FRAMED), site_x_ft=35))
    values = solved(job)
    # Frame from x = 34 to 48, readings to 40: 8 of 14 ft are guessed.
    assert at(values, "guessed_share") == pytest.approx(8 / 14, rel=1e-6)
    assert at(values, "check_survey") == (
        "LOOK: 57 % of the ground is guessed, outside the readings; corners without readings"
        " beyond them, front right, back right"
    )


def test_a_base_that_no_reading_reaches_fails() -> None:
    values = solved(on_flat(changed(one_option(FRAMED), site_x_ft=200)))
    assert at(values, "guessed_share") == pytest.approx(1)
    assert at(values, "check_survey").startswith("FAIL: no reading reaches the base")
    assert at(values, "chosen_failed") > 0


def test_all_three_ways_to_take_readings_give_the_same_job() -> None:
    job = demo()
    heights = block(solved(job), "point_height_ft")
    rows = [row for (key, row) in job.cells if key == "point_name"]
    as_heights = changed(
        job,
        survey_method="heights",
        point_reading_ft={row: float(heights[row]) for row in rows},
    )
    as_drops = changed(
        job,
        survey_method="drops",
        level_height_ft=104,
        point_reading_ft={row: 104 - float(heights[row]) for row in rows},
    )
    totals = [np.asarray(solved(j)["total_cost"]) for j in (job, as_heights, as_drops)]
    np.testing.assert_allclose(totals[1], totals[0], rtol=1e-9)
    np.testing.assert_allclose(totals[2], totals[0], rtol=1e-9)


def test_rows_of_supports_set_in_past_the_middle_are_refused() -> None:
    job = one_option(PIERS, changed(demo(), building_width_ft=6), support_inset_in=36)
    with pytest.raises(SolveError, match="less than 1 ft apart"):
        solved_whole(on_flat(job))


def test_sod_is_stripped_under_the_slopes_of_an_open_pad_too() -> None:
    # 12 in above stripped ground, slopes 1.5 to 1: strips 1.5 ft wide and quarter rounds.
    values = solved(on_flat(one_option(OPEN, raise_in=12, shoulder_run=1.5)))
    slopes = 2 * (14 + 12) * 1.5 + math.pi * 1.5**2
    assert at(values, "shoulder_ft2") == pytest.approx(slopes, rel=1e-9)
    area = 12 * 14 + slopes
    assert at(values, "strip_yd3") == pytest.approx(area * (4 / 12) / 27, rel=1e-9)
    assert at(values, "strip_hours") == pytest.approx(area * 0.01, rel=1e-9)


def test_slopes_end_where_the_ground_meets_the_top() -> None:
    # The ground falls 20 percent to the back; the top stands 1 ft above it at the middle of the
    # sides, so that slopes begin 5 ft in front of the middle and end 6 ft behind it.
    job = one_option(
        OPEN, height_mode="by hand", shoulder_run=1, reckoned_from="original", shoulder_in=0
    )
    # Corner 1 stands at y = 8 on the demo's lot, the middle of the base at y = 14.
    ground = slope(20)
    middle = 100 - 14 * 0.2
    values = solved(on_ground(changed(job, strip_depth_in=0, hand_height_ft=middle + 1), ground))
    width, length = at(values, "frame_width_ft"), at(values, "frame_length_ft")
    assert width == pytest.approx(12)
    back = 1 + 0.2 * 6  # height of the slope along the back
    side = 11 * back / 2  # triangle from where the ground meets the top to the back
    # Behind, the slope runs after the falling ground: it closes by 1 - 0.2 a foot.
    foot = back / (1 - 0.2)
    # Round a corner the ground falls by 0.2 cos t a foot, t from straight back to the side.
    square = quad(lambda t: (back / (1 - 0.2 * math.cos(t))) ** 2, 0, math.pi / 2)[0]
    area = length * foot + 2 * side + 2 * square / 2
    stone = length * back * foot / 2 + 2 * 11 * back**2 / 6 + 2 * back * square / 6
    assert at(values, "shoulder_ft2") == pytest.approx(area, rel=1e-9)
    assert at(values, "shoulder_ft3") == pytest.approx(stone, rel=1e-9)


def test_only_the_net_of_the_trench_is_spoil() -> None:
    # Level ground: the trench is 3.5 in deep below the subgrade, 2 in of it bedding, 10 in wide;
    # beside timbers 5.5 in wide soil goes back 2.25 in wide on both sides, 1.5 in high inside and
    # 5.5 in outside.
    values = solved(
        on_flat(
            one_option(
                FRAMED,
                reckoned_from="stripped",
                bedding_in=2,
                trench_width_in=10,
                timber_stock="6x6 treated",
            )
        )
    )
    inner = (14 - 11 / 12) * (12 - 11 / 12) - (14 - 15.5 / 12) * (12 - 15.5 / 12)
    outer = (14 + 4.5 / 12) * (12 + 4.5 / 12) - 14 * 12
    back = (inner * 1.5 / 12 + outer * 5.5 / 12) / 27
    assert at(values, "trench_back_yd3") == pytest.approx(back, rel=1e-9)
    dug = at(values, "cut_yd3") + at(values, "trench_yd3")
    left = (dug - back / 0.9 + at(values, "strip_yd3")) * 1.25
    assert at(values, "spoil_yd3") == pytest.approx(left, rel=1e-9)
    assert at(values, "fill_hours") == pytest.approx(back / 1.33)


def test_a_fill_of_stone_has_lifts_and_hours_of_its_own() -> None:
    # 8 in of stone below the pad's 4 in, as in the test of soil brought in.
    job = on_flat(one_option(OPEN, raise_in=12, fill_with="stone", compaction_share=0.1))
    fill = 12 * 14 * (8 / 12) / 27
    plate, hand = (solved(changed(job, compact_method=how)) for how in ("with a plate", "by hand"))
    assert at(plate, "lifts") == at(hand, "lifts") == 0
    # UFC 3-220-04: 7.9 in of loose stone under a plate below 220 lb, 3.9 in under a hand tamper.
    assert at(plate, "stone_fill_lifts") == math.ceil(8.8 / 7.9)
    assert at(hand, "stone_fill_lifts") == math.ceil(8.8 / 3.9)
    # A plate passes over 27 ft3 x 1.1 of loose stone in lifts of 7.9 in at 0.002 h/ft2.
    each = 27 * 1.1 / (7.9 / 12) * 0.002
    assert at(plate, "stone_fill_hours") == pytest.approx(fill * each, rel=1e-9)
    assert at(hand, "stone_fill_hours") == pytest.approx(fill / 1.1, rel=1e-9)
    assert at(plate, "plate_need") == 1
    assert at(hand, "plate_need") == 0
    assert at(hand, "compact_hours") == pytest.approx(12 * 14 * (4 / 12) / 27 / 1.1, rel=1e-9)
