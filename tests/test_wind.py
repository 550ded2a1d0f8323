"""Wind on a light building: worked by hand, and rules that hold for all inputs.

Coefficients as in ``shared/reference/rules.csv``: ASCE 7-16 chapters 26 and 27, some read in a
transcription of ASCE 7-10, some from memory, as each row says.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jobs import at, changed, demo, name_of, on_flat, one_option, solved

from estimator.engine import Model
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, FRAMED, KIND_NAMES, OPEN, PIERS
from estimator.reference import rule
from estimator.report import answer
from estimator.solve import wind
from estimator.typed_job import METRIC_DEMO_JOB, load_job, read_inputs

FEW = settings(max_examples=100, deadline=None)
FEW_JOBS = settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
ALLOWED = 1 + 1e-9


def some(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


def flat(kind: str, job: TypedJob | None = None, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(kind, job or demo(), **cells)))


@pytest.mark.parametrize("exposure", "bcd")
def test_wind_is_no_slower_than_at_15_feet(exposure: str) -> None:
    at_15_ft, power = rule(f"wind_exposure_{exposure}"), rule(f"wind_power_{exposure}")
    assert wind.exposure_coefficient(8.0, at_15_ft, power) == at_15_ft


def test_walls_take_16_pounds_at_least_and_none_without_wind() -> None:
    # ASCE 7-16 27.1.5: 16 psf; 115 mph in C gives 0.85 x 1.3 x 24.46 = 27.0, x 0.6 = 16.2.
    assert wind.wall_pressure_psf(24.46, 1.3, 16.0) == pytest.approx(16.2, abs=0.05)
    assert wind.wall_pressure_psf(1.0, 1.3, 16.0) == pytest.approx(0.6 * 16)
    assert wind.wall_pressure_psf(0.0, 1.3, 16.0) == 0


def test_a_roof_without_eaves_is_lifted_by_14_pounds_a_square_foot_in_open_country() -> None:
    # q (0.85 x 0.9 + 0.18) x 0.6 at 115 mph, exposure C: 24.46 x 0.945 x 0.6 = 13.9 psf.
    assert wind.uplift_force_lb(24.46, 0.9, 1.0, 1.0, 0.0) == pytest.approx(13.87, abs=0.005)
    # A 6 in eave of a 12 ft side: 0.85 x 0.8 x 24.46 x 0.6 on 6 ft2 from below.
    more = wind.uplift_force_lb(24.46, 0.9, 100.0, 80.0, 6.0)
    less = wind.uplift_force_lb(24.46, 0.9, 100.0, 80.0, 0.0)
    assert more - less == pytest.approx(0.85 * 0.8 * 24.46 * 0.6 * 6)


def test_a_light_shed_overturns_about_its_lee_edge() -> None:
    # 10 psf on a wall 12 ft long, 8 ft high: 960 lb at 4 ft. 10 psf on 24 ft2 of roof at 9 ft:
    # 240 lb. Uplift 500 lb. On a 10 ft base: (3,840 + 2,160) / 10 + 250 = 850 lb of lift.
    lift = 850.0
    # 2,000 lb of building: 0.6 of it, half on that side, 600 lb: 250 lb of anchors.
    assert wind.hold_down_lb(lift, 2000.0, 300.0) == 0
    # Friction 0.35 of (1,200 - 500): 245 lb of the 1,200 that push.
    assert wind.friction_lb(2000.0, 500.0, 0.35) == pytest.approx(245)
    # 250 and half of 955 are 727.5 lb: two anchors of 700, four ft apart on 12 ft.
    assert wind.anchors_a_side(250.0, 955.0, 700.0, 12.0, 12.0, 2.0) == 2
    assert wind.anchors_a_side(250.0, 955.0, 300.0, 12.0, 12.0, 2.0) == 3
    # 77 Ill. Adm. Code 870.220: 2 ft from the ends, 12 ft apart: four on 30 ft.
    assert wind.anchors_a_side(1.0, 0.0, 3150.0, 30.0, 12.0, 2.0) == 4
    assert wind.anchors_a_side(0.0, 0.0, 3150.0, 30.0, 12.0, 2.0) == 0


def test_an_anchor_turned_in_by_hand_holds_less_than_a_third_of_a_tested_one() -> None:
    assert rule("anchor_tested_lb") * 1.5 == rule("anchor_tested_ultimate_lb")
    assert rule("anchor_by_hand_lb") < rule("anchor_tested_lb") / 3


def test_a_building_that_weighs_nothing_is_not_held() -> None:
    assert wind.use(100.0, wind.friction_lb(0.0, 50.0, 0.35)) > 1


@FEW
@given(some(0, 180), some(0, 60), some(1000, 20000), some(0.1, 0.7), some(6, 40), some(8, 30))
def test_more_wind_never_fewer_anchors_and_more_weight_never_more(
    mph: float, more_mph: float, dead: float, friction: float, long: float, height: float
) -> None:
    def anchors(speed: float, dead_lb: float) -> float:
        q = wind.velocity_pressure_psf(speed)
        wall = wind.wall_pressure_psf(q, 1.3, 16.0)
        cp = wind.roof_suction_coefficient(height, 8.0)
        up = wind.uplift_force_lb(q, cp, 10.0 * long, 8.0 * long, 0.5 * long)
        lift = wind.windward_lift_lb(wall, 8.0, wall, 3 * long, 9.0, up, long, 8.0)
        push = wall * 11.0 * long
        lack = np.maximum(push - wind.friction_lb(dead_lb, up, friction), 0)
        down = wind.hold_down_lb(lift, dead_lb)
        count = wind.anchors_a_side(down, lack, 700.0, long, 12.0, 2.0)
        held = 700.0 * count
        assert wind.use(lift, 0.3 * dead_lb + held - lack / 2) <= ALLOWED
        assert wind.use(push, push - lack + 2 * (held - down)) <= ALLOWED
        return float(count)

    calm = anchors(mph, dead)
    assert anchors(mph + more_mph, dead) >= calm >= anchors(mph, dead + 500)


# On whole jobs, of every kind


@FEW_JOBS
@given(
    st.sampled_from(KIND_NAMES),
    st.sampled_from(("B", "C", "D")),
    st.sampled_from(("yes", "no")),
    st.integers(8, 20),
    st.integers(6, 12),
    st.integers(0, 24),
    st.lists(st.just(0) | st.integers(30, 200), min_size=3, max_size=3),
)
def test_more_wind_never_fewer_anchors_whatever_the_building_stands_on(
    kind: str, exposure: str, tied: str, long: int, wide: int, eave: int, winds: list[int]
) -> None:
    job = changed(
        demo(),
        wind_exposure=exposure,
        building_length_ft=long,
        building_width_ft=wide,
        roof_eave_in=eave,
    )
    counts, ties = [], []
    for mph in sorted(winds):
        values = flat(kind, changed(job, wind_mph=mph), base_tied=tied)
        counts.append(at(values, "anchor_count"))
        ties.append(at(values, "tie_count"))
        for use in ("sliding_use", "overturning_use", "uplift_use"):
            assert at(values, use) <= ALLOWED
    assert counts == sorted(counts)
    assert ties == sorted(ties)


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_open_water_a_ridge_and_wide_eaves_ask_for_no_fewer_anchors(kind: str) -> None:
    wooded = at(flat(kind, changed(demo(), wind_exposure="B")), "anchor_count")
    country = at(flat(kind), "anchor_count")
    worse = (
        {"wind_exposure": "D"},
        {"topography": "a hill or ridge", "wind_kzt": 2},
        {"roof_eave_in": 36},
    )
    for cells in worse:
        assert at(flat(kind, changed(demo(), **cells)), "anchor_count") >= country
    assert wooded <= country


def test_open_country_is_taken_where_nothing_is_said() -> None:
    assert at(flat(OPEN), "wind_kz") == 0.85
    assert at(flat(OPEN, changed(demo(), wind_exposure="B")), "wind_kz") == 0.57


def test_a_ridge_is_something_to_look_at_and_counts() -> None:
    level, ridge = flat(OPEN), flat(OPEN, changed(demo(), topography="a hill or ridge"))
    assert at(level, "check_topography") == "ok"
    assert at(ridge, "check_topography").startswith("LOOK")
    assert at(ridge, "wind_psf") == pytest.approx(1.5 * at(level, "wind_psf"))


def test_stacked_blocks_hold_nothing_down_and_want_the_anchors_that_a_pad_wants() -> None:
    blocks, pad = flat(BLOCKS), flat(OPEN)
    assert at(blocks, "base_side_lb") == at(blocks, "base_slide_lb") == 0
    assert at(blocks, "anchor_count") >= at(pad, "anchor_count") > 0
    assert at(blocks, "anchor_need") == at(blocks, "anchor_count")
    assert at(blocks, "anchor_hours") == at(blocks, "anchor_count") * at(blocks, "anchor_h")


def test_a_pier_holds_no_more_than_six_tenths_of_its_weight_and_only_by_its_bracket() -> None:
    # A 10 in pier and 16 in footing weigh less than a bracket holds; a 24 in footing more.
    small, large = flat(PIERS), flat(PIERS, footing_diameter_in=36, footing_thick_in=14)
    each = at(small, "concrete_yd3") * 27 * 150 / at(small, "support_count")
    row = at(small, "supports_per_row_used")
    assert at(small, "base_side_lb") == pytest.approx(row * 0.6 * each)
    assert at(large, "base_side_lb") == at(large, "supports_per_row_used") * 500
    loose = flat(PIERS, base_tied="no")
    assert at(loose, "base_side_lb") == at(loose, "base_slide_lb") == 0
    assert at(loose, "anchor_count") > at(small, "anchor_count")


def test_anchors_set_by_machine_cost_more_come_set_and_are_fewer() -> None:
    storm = changed(demo(), wind_mph=130)
    hand = flat(BLOCKS, storm)
    machine = flat(BLOCKS, changed(storm, anchor_way="set by machine, tested"))
    assert at(machine, "anchor_count") < at(hand, "anchor_count")
    assert at(machine, "anchor_hours") == 0
    assert at(machine, "anchor_item") == name_of(machine, "ground_anchor_set")
    assert at(hand, "check_anchors") == "LOOK: have an anchor pulled to 700 lbf"
    assert at(machine, "check_anchors") == "ok"


def test_more_anchors_than_the_ground_holds_fail() -> None:
    gale = flat(BLOCKS, changed(demo(), wind_mph=220, anchor_lb=200))
    assert 3 * (at(gale, "anchors_side") - 1) > 12
    assert at(gale, "check_anchors").startswith("FAIL")


def test_eaves_carry_snow_and_weigh() -> None:
    bare, wide = flat(FRAMED), flat(FRAMED, changed(demo(), roof_eave_in=12))
    roof = at(bare, "roof_psf") + at(bare, "roof_snow_psf")
    assert at(wide, "roof_plf") - at(bare, "roof_plf") == pytest.approx(roof)
    assert at(wide, "roof_dead_lb") == 14 * 12 * at(bare, "roof_psf")


def test_a_joist_gets_a_second_tie_where_one_is_not_enough() -> None:
    once = flat(BLOCKS)
    lift = at(once, "joist_lift_lb")
    assert at(once, "ties_a_joint") == np.ceil(lift / at(once, "tie_hold_lb")) == 1
    twice = flat(BLOCKS, changed(demo(), tie_hold_lb=lift * 0.6))
    assert at(twice, "ties_a_joint") == 2
    assert at(twice, "tie_count") - at(once, "tie_count") == 2 * at(once, "joists_in_all")


def test_brackets_that_count_are_something_to_look_at_with_anchors_and_without() -> None:
    said = "brackets must be cast in or bolted, and hold what counts"
    calm, windy = changed(demo(), wind_mph=0), changed(demo(), wind_mph=130)
    assert at(flat(PIERS, calm), "check_anchors") == f"LOOK: {said}"
    assert at(flat(PIERS, windy), "check_anchors").endswith(f"lbf; {said}")
    assert said not in at(flat(PIERS, windy, base_tied="no"), "check_anchors")
    assert at(flat(BLOCKS, calm), "check_anchors") == "ok"


# --- wind as people are told it ---


def test_a_pressure_is_read_as_the_speed_that_makes_it() -> None:
    metres = metric(build_model())
    # q = 0.613 V^2, Pa: 35 m/s make 0.751 kPa (ASCE 7-16 Eq. 26.10-1 in SI units, from memory).
    typed = {"wind_given_kpa": 0.75, "wind_m_s": 46}
    values = _of_metric(metres, typed)
    assert at(values, "wind_reading") == "0.75 kPa is 34.97 m/s"
    assert at(values, "wind_speed_m_s") == pytest.approx(np.sqrt(750 / 0.613), rel=1e-3)
    assert at(values, "local_facts").count("wind 34.97 m/s") == 1
    assert at(_of_metric(metres, {"wind_m_s": 35}), "wind_reading") == "read as 35 m/s"
    assert at(_of_metric(metres, {"wind_m_s": 0}), "wind_reading") == "no wind"


def test_a_pressure_and_its_speed_ask_for_the_same_anchors() -> None:
    speed = solved(changed(demo(), wind_mph=120))
    pressure = solved(changed(demo(), wind_mph=90, wind_given_psf=0.00256 * 120**2))
    for key in ("anchor_count", "sliding_use", "uplift_use", "tie_count"):
        np.testing.assert_allclose(speed[key], pressure[key], rtol=1e-12)


@pytest.mark.parametrize("speed", [0.75, 5, 12.9])
def test_a_pressure_typed_as_a_speed_is_no_calm_but_something_to_mend(speed: float) -> None:
    metres = metric(build_model())
    values = _of_metric(metres, {"wind_m_s": speed})
    assert at(values, "todo_wind").startswith(f"Job: {speed:g} m/s is no design wind; a pressure")
    assert not np.asarray(values["option_used"]).any()
    assert answer(values).startswith(f"To do: Job: {speed:g} m/s is no design wind")
    assert at(solved(changed(demo(), wind_mph=29)), "todo_wind").startswith("Job: 29 mph is no")
    assert at(solved(changed(demo(), wind_mph=30)), "todo_wind") == ""


def _of_metric(model: Model, typed: dict[str, float]) -> Mapping[str, Any]:
    job = load_job(METRIC_DEMO_JOB, model=model)
    cells = {**job.cells, **{(key, 0): value for key, value in typed.items()}}
    return evaluate(model, read_inputs(model, TypedJob(cells, job.where)))


@pytest.mark.parametrize(
    ("check", "use", "words"),
    [
        ("check_sliding", "sliding_use", "FAIL: wind slides it"),
        ("check_overturning", "overturning_use", "FAIL: wind turns it"),
        ("check_uplift", "uplift_use", "FAIL: wind lifts it"),
    ],
)
def test_fewer_anchors_than_are_reckoned_fail(check: str, use: str, words: str) -> None:
    """Anchors typed over by none; what is reckoned holds. Only a strong wind lifts by itself."""
    model, job = build_model(), on_flat(one_option(OPEN, changed(demo(), wind_mph=180)))
    inputs = read_inputs(model, job)
    none: Any = {"anchor_count": {(0, 0): 0}}
    held, loose = (evaluate(model, inputs, typed_over=over) for over in ({}, none))
    assert at(held, use) <= 1 < at(loose, use)
    assert at(held, check) == "ok"
    assert at(loose, check).startswith(words)
