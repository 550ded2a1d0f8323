"""A slab on the ground through the whole model: shape, concrete, steel, forms, work, checks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, on_flat, on_ground, one_option, slope, solved

from estimator.inputs import TypedJob
from estimator.model.hazards import TABLE
from estimator.model.kinds import SLAB
from estimator.units import parse_length

LOT_FT = {"building_length_ft": 16, "building_width_ft": 12, "site_x_ft": 10, "site_y_ft": 10}
CHOICES = {
    "slab_thick_in": [None, 3.5, 4, 5, 6],
    "slab_steel": ["mesh", "bars", "none"],
    "fill_with": ["soil", "stone"],
    "raise_in": [0, 2, 6],
}


def slab(job: TypedJob | None = None, /, **cells: Any) -> TypedJob:
    """A slab of 16 x 12 ft alone, on 4 in of stone, on the lot of the job; frost 12 in deep."""
    return one_option(
        SLAB,
        changed(job or on_flat(demo()), **LOT_FT, frost_depth_in=12, chosen_option="A"),
        **{"raise_in": 2, "margin_in": 12, "stone_depth_in": 4, **cells},
    )


def needed(values: Mapping[str, Any], item: str) -> float:
    """How much of an item option A needs."""
    return float(block(values, "item_need")[list(block(values, "item_key")).index(item)])


def cut(values: Mapping[str, Any], mark: str) -> int:
    """How many pieces of a mark option A wants."""
    return int(at(values, f"{mark}_count"))


def marks(values: Mapping[str, Any]) -> list[str]:
    """What the checks of option A say, but ok."""
    return [str(t) for t in block(values, "check_text") if str(t) not in ("", "ok")]


def says(values: Mapping[str, Any], words: str) -> bool:
    return any(words in mark for mark in marks(values))


@cache
def level() -> Mapping[str, Any]:
    """The slab on a level lot at 100 ft: stripped 4 in, base flush with that and 2 in up."""
    return solved(slab())


def test_a_level_slab_is_the_one_worked_by_hand() -> None:
    """Stripped ground at 99.667 ft, stone's top 2 in above, the slab's 4 in above that: 6 in.

    Edge: 6 + 12 = 18 in deep, 12 in wide, 56 - 4 = 52 ft along its middle line; 14 in of it lie
    below the slab, and a slope of 4 x 4 in on 4 in of stone: 52 x (14 x 12 / 144 + 16 / 288) =
    63.556 ft3. Slab: 16 x 12 x 4 / 12 = 64 ft3. 4.724 yd3, with 3 of a hundred more 4.866.
    """
    values = level()
    assert at(values, "slab_top_ft") == pytest.approx(100 - 4 / 12 + 6 / 12)
    assert at(values, "floor_top_ft") == pytest.approx(at(values, "slab_top_ft"))
    assert block(values, "slab_deep_in") == pytest.approx([18] * 4)
    assert at(values, "slab_deepest_in") == pytest.approx(18)
    assert at(values, "slab_edge_used_in") == 12
    assert at(values, "slab_edge_ft") == pytest.approx(52)
    assert at(values, "slab_edge_yd3") == pytest.approx(63.5556 / 27, abs=1e-4)
    assert at(values, "slab_plate_yd3") == pytest.approx(64 / 27)
    assert at(values, "concrete_yd3") == pytest.approx(4.8660, abs=1e-4)
    assert at(values, "slab_lb") == pytest.approx(127.5556 * 150, abs=0.01)


def test_the_edge_takes_the_place_of_stone_that_is_not_bought() -> None:
    """Along 52 ft, 4 in of stone 12 in wide and a slope of 4 x 4 in: 52 x (48 / 144 + 16 / 288) =
    20.222 ft3 less than 18 x 14 ft of base, 4 in deep, 84 ft3, and its shoulders."""
    values = level()
    assert at(values, "slab_stone_yd3") == pytest.approx(20.2222 / 27, abs=1e-5)
    assert at(values, "stone_pad_yd3") == pytest.approx(84 / 27)
    assert at(values, "stone_net_yd3") == pytest.approx(
        (84 - 20.2222) / 27 + at(values, "shoulder_yd3"), abs=1e-5
    )


def test_a_steep_edge_takes_the_place_of_fill_of_stone_too() -> None:
    flat, steep = (
        solved(slab(on_ground(demo(), slope(percent)), fill_with="stone")) for percent in (0, 8)
    )
    assert at(steep, "slab_stone_yd3") > at(flat, "slab_stone_yd3")
    soil = solved(slab(on_ground(demo(), slope(8)), fill_with="soil"))
    assert at(soil, "slab_stone_yd3") == pytest.approx(at(flat, "slab_stone_yd3"))


def test_an_edge_takes_the_place_of_the_soil_that_fills_under_the_slab() -> None:
    """Raised by 10 in: 4 in of stone on 6 in of fill. The edge, 12 in wide and 52 ft along its
    middle line, stands through all of it: 52 x 1 x 0.5 = 26 ft3 of the base's 18 x 14 x 0.5 ft3.
    """
    values = solved(slab(raise_in=10))
    assert at(values, "fill_yd3") == pytest.approx(18 * 14 * 0.5 / 27)
    assert at(values, "slab_fill_yd3") == pytest.approx(26 / 27)
    assert at(values, "fill_soil_yd3") == pytest.approx((18 * 14 * 0.5 - 26) / 27)
    assert at(level(), "slab_fill_yd3") == 0


def test_cut_balances_the_fill_beside_the_edge_alone() -> None:
    """Plane ground, h over its middle at 7 h / u from it, under 18 x 14 ft, and 0.9 of the cut: by
    hand 0.9 x 9 (7 + u)^2 = 9 (7 - u)^2 less 26 (7 - u) for the edge, so 0.9 u^2 - 213.4 u = 137.9
    and the subgrade lies as high above the middle as the ground does 0.6445 ft before it."""
    values = solved(slab(on_ground(demo(), slope(4)), height_mode="balanced"))
    assert at(values, "slab_edge_used_in") == 12
    assert at(values, "compacted_per_bank") == 0.9
    u = (213.4 - math.sqrt(213.4**2 + 4 * 0.9 * 137.9)) / (2 * 0.9)
    middle = at(values, "ground_mean_ft") - at(values, "strip_ft")
    assert at(values, "subgrade_ft") == pytest.approx(middle - u * 0.04, abs=1e-9)
    assert u == pytest.approx(-0.6445, abs=5e-5)
    assert at(values, "cut_yd3") * 0.9 == pytest.approx(at(values, "fill_soil_yd3"), abs=1e-9)
    assert at(values, "import_yd3") == pytest.approx(0, abs=1e-9)


def test_the_edge_is_dug_from_the_subgrade() -> None:
    """The subgrade lies 2 in below the stripped ground, the edge's bottom 12: 10 x 12 in, 52 ft."""
    values = level()
    assert block(values, "slab_dig_in") == pytest.approx([10] * 4)
    assert at(values, "hole_yd3") == pytest.approx(52 * 10 / 12 / 27)
    assert at(values, "backfill_yd3") == pytest.approx(0)
    trench = at(values, "cut_yd3") + at(values, "hole_yd3")
    assert at(values, "dug_yd3") == pytest.approx(trench)


def test_the_edge_carries_the_walls_and_itself() -> None:
    """8 ft walls of 8 psf and half of a roof of 10 + 30 psf over 12 ft: 64 + 240 = 304 plf.

    On 12 in: 304 psf, with 1.5 ft of concrete 225 and 50 psf of live load, 579 psf (ASD by hand).
    """
    loads = {"floor_live_psf": 50, "roof_snow_psf": 30, "roof_eave_in": 0, "soil": "loam"}
    values = solved(slab(changed(on_flat(demo()), wall_dead_psf=8, roof_dead_psf=10, **loads)))
    assert at(values, "slab_edge_plf") == pytest.approx(304)
    assert at(values, "slab_edge_psf") == pytest.approx(579)
    assert at(values, "soil_psf") == pytest.approx(579)
    assert at(values, "slab_edge_needed_in") == pytest.approx(304 / (1500 - 275) * 12)


def test_a_slab_has_no_floor_frame_and_weighs_what_its_concrete_weighs() -> None:
    values = level()
    for key in ("joist_count", "rim_count", "floor_ft2", "floor_dead_lb", "sheet_count"):
        assert at(values, key) == 0, key
    walls = at(values, "wall_dead_lb") + at(values, "roof_dead_lb")
    steps = at(values, "dead_load_lb") - walls - at(values, "slab_lb")
    assert 0 <= steps < 500
    assert needed(values, "sheet_23_32_tg") == 0
    assert needed(values, "joist_tie") == 0


def test_retarder_mesh_bars_and_bolts_are_those_counted_by_hand() -> None:
    """Retarder: 2 strips of 10 ft over 16 ft less lap, each 12 ft, or over 12 ft, each 16: 240 ft2.

    Mesh of 10 x 5 ft lapped 8 in over 15.5 x 11.5 ft: 2 x 3 along, 4 x 2 across: 6 sheets (lap of
    plain wires, ACI 318-14 25.5.4, from memory). Edge: 2 x (15.5 + 11.5) + 4 x 2 = 62 ft, 4 bars of
    20 ft, twice. Bolts (IRC R403.1.6): 16 ft: 14 / 6 up, and one: 4; 12 ft: 10 / 6 up, and one: 3;
    both sides twice, two more at the door: 16.
    """
    values = solved(changed(slab(), wind_mph=60))
    assert at(values, "retarder_ft2") == 240
    assert at(values, "mesh_sheets") == 6
    assert at(values, "edge_bar_ft") == pytest.approx(62)
    assert at(values, "slab_bar_ft") == 160
    assert at(values, "bolt_count") == 16
    assert needed(values, "vapour_retarder") == 240
    assert needed(values, "mesh_sheet") == 6
    assert needed(values, "bar_4_20ft") == 160
    assert needed(values, "anchor_bolt") == 16


def test_bolts_hold_the_walls_on_the_slab_in_the_wind() -> None:
    """A side's lift, less half of 0.6 of what stands on the slab, and half the push, by bolts
    of 500 lb (common practice, no source); the slab itself does not move.
    """
    values = solved(changed(slab(), wind_mph=120))
    above = at(values, "dry_load_lb") - at(values, "slab_lb")
    lift = max(at(values, "lift_lb") - 0.6 * above / 2, 0)
    asked = math.ceil((lift + at(values, "push_lb") / 2) / 500)
    assert at(values, "bolts_asked") == asked > 4
    assert at(values, "bolt_count") == 2 * (asked + 3) + 2
    assert at(values, "anchor_count") == 0
    for key in ("sliding_use", "overturning_use", "uplift_use"):
        assert 0 < at(values, key) < 1, key


@given(st.sampled_from([90, 115, 130]), st.integers(5, 40), st.sampled_from([7, 8, 9]))
@settings(max_examples=6, deadline=None)
def test_more_wind_never_takes_fewer_bolts(mph: int, more: int, wall_ft: int) -> None:
    calm, storm = (
        solved(changed(slab(), wind_mph=speed, wall_height_ft=wall_ft))
        for speed in (mph, mph + more)
    )
    assert at(storm, "bolt_count") >= at(calm, "bolt_count")
    assert at(storm, "anchor_count") >= at(calm, "anchor_count")


def test_bars_both_ways_take_whole_bars() -> None:
    """11.5 ft at 18 in: 8 spaces, 9 bars of 15.5 ft, one from each of 20 ft; 15.5 ft: 11 spaces, 12
    bars of 11.5 ft, one from each; 21 and the 8 of the edge, 20 ft each."""
    values = solved(slab(slab_steel="bars"))
    assert at(values, "slab_bars_along") == 9
    assert at(values, "slab_bars_across") == 12
    assert at(values, "slab_bar_ft") == 20 * (9 + 12 + 8)
    assert at(values, "mesh_sheets") == 0


def test_joints_stand_no_farther_apart_than_the_guide_says() -> None:
    """30 thicknesses of 4 in are 10 ft (ACI 302.1R-96: 24 to 36): one joint each way, 28 ft."""
    values = level()
    assert (at(values, "joints_along"), at(values, "joints_across")) == (1, 1)
    assert at(values, "joint_ft") == 28


def test_forms_are_cut_from_boards_and_stakes_from_their_rest() -> None:
    """A face of 6 in takes two 2x6 (5 1/2 in) on each side: 4 long, 4 short. Stakes: every 3 ft and
    one more a side, 2 x (6 + 1 + 4 + 1) = 24, 6 + 12 = 18 in long."""
    values = level()
    assert cut(values, "form_long") == 4
    assert cut(values, "form_short") == 4
    assert at(values, "form_long_in") == pytest.approx(195)
    assert at(values, "stake_count") == 24
    assert at(values, "stake_in") == pytest.approx(18)
    of_forms = block(values, "item_stock") == "2x6"
    feet = (block(values, "item_length_ft") * block(values, "item_boards"))[of_forms].sum()
    assert feet * 12 >= 4 * (195 + 144)
    assert "form" in "; ".join(str(text) for text in block(values, "board_pieces"))


def test_a_slab_is_placed_finished_and_cured() -> None:
    """192 ft2 at 0.028 h and 28 ft of joints at 0.005 h (rates on Factors): 5.516 h; 7 days."""
    values = level()
    assert at(values, "finish_hours") == pytest.approx(5.516)
    assert at(values, "slab_wait_days") == 7
    assert at(values, "ready_day") == at(values, "finish_day") + 7
    assert at(values, "elapsed_days") == at(values, "finish_day") + 7 - at(values, "call_day")
    assert at(values, "finish_task") == at(values, "finish_hours")


@pytest.mark.parametrize(
    ("placed_by", "trips", "pumps"), [("barrow", True, 0), ("chute", False, 0), ("pump", False, 1)]
)
def test_ready_mix_is_barrowed_or_pumped(placed_by: str, trips: bool, pumps: int) -> None:
    values = solved(slab(slab_placed_by=placed_by, concrete_by="ready-mix"))
    barrow = math.ceil(at(values, "ready_mix_yd3") * 27 / at(values, "barrow_ft3"))
    assert at(values, "pour_trips") == (barrow if trips else 0)
    assert needed(values, "concrete_pump") == pumps


def test_bags_for_a_whole_slab_are_a_point_to_look_at() -> None:
    assert says(solved(slab(concrete_by="bags")), "a lot of bags for one pour")
    assert not says(solved(slab(concrete_by="ready-mix")), "bags")


def test_a_sound_slab_passes_every_check() -> None:
    values = level()
    assert at(values, "checks_failed") == 0
    assert marks(values) == []


def test_every_hazard_has_its_answer_for_a_slab() -> None:
    answers = {hazard.key: str(at(level(), f"hazard_{hazard.key}")) for hazard in TABLE}
    assert set(answers) == {hazard.key for hazard in TABLE}
    spared = {key for key, text in answers.items() if text.startswith("none: ")}
    assert spared == {"overhang", "end_line", "stacks"}
    assert all(answers[key] == "ok" for key in answers if key not in spared)


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        # IRC R506.1: 3 1/2 in at least.
        ({"slab_thick_in": 3}, "FAIL: the slab is thinner"),
        # IRC Table R403.1: 12 in wide at least; R403.1.4: 12 in below undisturbed ground.
        ({"slab_edge_in": 10}, "FAIL: the edge is narrower"),
        # IRC R506.2.2 and R506.2.3: 4 in of base, a vapour retarder.
        ({"stone_depth_in": 3}, "LOOK: less stone under the slab"),
        ({"slab_retarder": "no"}, "LOOK: no vapour retarder"),
        # IRC R317.1 item 5: 6 in above the ground; 4 + 1 are not.
        ({"raise_in": 1}, "LOOK: raise the pad"),
        ({"raise_in": -5}, "FAIL: the slab lies below the ground"),
        ({"slab_steel": "none"}, "LOOK: little steel"),
        # IRC R506.2.1: more than 8 in of earth, 24 in of clean stone.
        ({"raise_in": 13}, "FAIL: deeper fill"),
        ({"raise_in": 29, "fill_with": "stone"}, "FAIL: deeper fill"),
    ],
)
def test_what_the_code_asks_of_a_slab_is_checked(cells: dict[str, Any], words: str) -> None:
    assert says(solved(slab(**cells)), words)


def test_an_edge_shallower_than_the_code_fails_where_frost_is_waived() -> None:
    shallow = changed(slab(slab_edge_below_in=6), frost_free_area_ft2=200)
    assert says(solved(shallow), "FAIL: the edge must go deeper")


def test_fill_within_the_code_or_accepted_does_not_fail() -> None:
    for cells in ({"raise_in": 12}, {"raise_in": 28, "fill_with": "stone"}):
        assert not says(solved(slab(**cells)), "deeper fill")
    accepted = slab(changed(on_flat(demo()), fill_accepted="yes"), raise_in=13)
    assert not says(solved(accepted), "deeper fill")


def test_frost_takes_the_edge_down_where_it_is_not_waived() -> None:
    deep = changed(slab(), frost_depth_in=30)
    assert at(solved(deep), "slab_below_in") == 30
    assert at(solved(deep), "compare_frost") == "yes"
    waived = solved(changed(deep, frost_free_area_ft2=200))
    assert at(waived, "slab_below_in") == 12
    assert not says(waived, "frost")


def test_on_a_slope_the_edge_follows_the_ground() -> None:
    """5 % over a base of 14 ft front to back: 8.4 in between corners; the edge's bottom follows."""
    values = solved(slab(on_ground(demo(), slope(5))))
    front, back = block(values, "slab_deep_in")[[0, 3]]
    assert back - front == pytest.approx(0.05 * 14 * 12)
    assert at(values, "slab_deepest_in") == pytest.approx(back)
    assert at(values, "slab_edge_yd3") > at(level(), "slab_edge_yd3")
    steep = solved(slab(on_ground(demo(), slope(11)), fill_with="stone"))
    assert says(steep, "step the bottom of the edge")


def test_the_field_sheet_tells_forms_and_edges_at_the_corners() -> None:
    values = level()
    edges = "4 in thick; edges 12 in wide at the bottom"
    assert at(values, "field_trench") == f"{edges}; shoulders 1.5 out to 1 down"
    assert block(values, "stake_edge").tolist() == ["18"] * 4
    sloping = solved(slab(on_ground(demo(), slope(5))))
    # Below the strings, which run above the forms where ground is in their way.
    deep = block(sloping, "slab_deep_in") + at(sloping, "string_offset_in")
    printed = [12 * parse_length(f"{text} in") for text in block(sloping, "stake_edge")]
    assert printed == pytest.approx(deep, abs=1 / 8)


def test_pictures_draw_the_bottom_of_the_edge() -> None:
    """From the string, 4 in below the slab's top: 18 - 4 = 14 in below it all round."""
    assert np.asarray(level()["bottom_in"]) == pytest.approx(-14)
    values = solved(slab(on_ground(demo(), slope(5))))
    deep = block(values, "slab_deep_in")
    lines = np.asarray(values["bottom_in"])[0].reshape(4, -1)
    assert lines[:, 0] == pytest.approx(4 - deep)
    assert lines[:, -1] == pytest.approx(4 - np.roll(deep, -1))


JOBS = st.fixed_dictionaries({key: st.sampled_from(v) for key, v in CHOICES.items()})


@given(JOBS, st.sampled_from([1, 4, 8]), st.integers(1, 4))
@settings(max_examples=8, deadline=None)
def test_a_thicker_slab_never_takes_less_concrete(
    cells: dict[str, Any], percent: int, more: int
) -> None:
    ground = on_ground(demo(), slope(percent))
    thin = solved(slab(ground, **cells))
    thick = at(thin, "slab_thick_used_in") + more
    thicker = solved(slab(ground, **{**cells, "slab_thick_in": thick}))
    assert at(thicker, "concrete_yd3") >= at(thin, "concrete_yd3")
    assert at(thicker, "slab_plate_yd3") > at(thin, "slab_plate_yd3")


@given(
    JOBS,
    st.sampled_from([0, 20, 60, 100]),
    st.sampled_from([("gravel", "loam"), ("sand", "clay"), ("gravel", "clay")]),
)
@settings(max_examples=8, deadline=None)
def test_softer_soil_never_narrows_the_edge(
    cells: dict[str, Any], snow_psf: int, soils: tuple[str, str]
) -> None:
    firm, soft = (
        solved(slab(changed(on_flat(demo()), soil=soil, roof_snow_psf=snow_psf), **cells))
        for soil in soils
    )
    assume(at(soft, "bearing_psf") <= at(firm, "bearing_psf"))
    assert at(soft, "slab_edge_used_in") >= at(firm, "slab_edge_used_in")
    assert at(soft, "soil_psf") <= at(soft, "bearing_psf")


def test_on_soil_that_no_edge_is_wide_enough_for_the_widest_is_suggested_and_fails() -> None:
    rows = [place for (key, place), v in demo().cells.items() if key == "soil_bearing_psf" and v]
    values = solved(changed(slab(), soil_bearing_psf=dict.fromkeys(rows, 300)))
    assert at(values, "slab_edge_needed_in") > 60
    assert at(values, "slab_edge_used_in") == 60
    assert at(values, "check_slab_edge").startswith("FAIL: the edge is narrower")


def test_edges_that_meet_in_the_middle_are_one_block_under_all_of_the_slab() -> None:
    job = changed(slab(slab_edge_in=60), building_length_ft=6, building_width_ft=4)
    values = solved(job)
    assert at(values, "slab_edge_used_in") == 24
    # Half of 4 ft from both sides: 2 x (6 + 4) - 4 x 2 ft of a strip 2 ft wide cover 24 ft2.
    assert at(values, "slab_edge_ft") * 2 == 24


@given(JOBS, st.sampled_from([0, 24, 42]), st.integers(6, 24))
@settings(max_examples=8, deadline=None)
def test_deeper_frost_never_takes_less_edge(
    cells: dict[str, Any], frost_in: int, more: int
) -> None:
    shallow = solved(changed(slab(**cells), frost_depth_in=frost_in))
    deep = solved(changed(slab(**cells), frost_depth_in=frost_in + more))
    for key in ("slab_deepest_in", "slab_edge_yd3", "slab_trench_yd3"):
        assert at(deep, key) >= at(shallow, key), key


@pytest.mark.parametrize(("mph", "begins"), [(90, "ok"), (180, "FAIL: wind asks for more")])
def test_more_bolts_than_the_plates_take_fail(mph: float, begins: str) -> None:
    job = changed(slab(), wind_mph=mph, wall_height_ft=10, building_length_ft=8)
    assert at(solved(job), "check_slab_bolts").startswith(begins)


@pytest.mark.parametrize(("deep_ft", "told"), [(0.25, "dig the edge 2.9 in deeper"), (0.05, "ok")])
def test_an_edge_over_a_hollow_between_its_corners_is_dug_deeper_there(
    deep_ft: float, told: str
) -> None:
    """The frame is 18 x 14 ft; its front runs along y = 9 ft, from x = 9 to 27 ft."""
    rim = [(x, y, 100.0) for x in (0.0, 40.0) for y in (0.0, 40.0)]
    foot = [(x, y, 100.0) for x in (13.0, 23.0) for y in (4.0, 14.0)]
    hollow = (18.0, 9.2, 100 - deep_ft)
    values = solved(slab(on_ground(demo(), (*rim, *foot, hollow)), margin_in=12))
    assert told in at(values, "check_slab_dip")
