"""Random jobs worked out again with a pencil: wind, wood, footings, slabs and money.

Each formula is written here as its source prints it, over what the job types and the few results
that the source starts from, and shares no line with the model. Sources of coefficients stand in
``shared/reference``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from jobs import at, pooled_jobs, solved_or_skipped, used

from estimator.inputs import TypedJob
from estimator.model.kinds import FLOORS, ON_PIERS, PADS, SUPPORTS

FEW = settings(max_examples=8, deadline=None)


def same(value: float) -> Any:
    return pytest.approx(value, rel=1e-9, abs=1e-9)


class Option:
    """An option of a job, its quantities by key."""

    def __init__(self, values: Mapping[str, Any], option: int) -> None:
        self._values, self._option = values, option

    def __getitem__(self, key: str) -> Any:
        return at(self._values, key, self._option)


def options(job: TypedJob) -> list[Option]:
    values = solved_or_skipped(job)
    return [Option(values, option) for option in used(values)]


@FEW
@given(pooled_jobs())
def test_wind_pushes_lifts_and_turns_as_the_load_standard_says(job: TypedJob) -> None:
    """ASCE 7-16 Eq. 26.10-1 and 27.3-1, Fig. 27.3-1 and 27.1.5, 0.6 W: q = 0.00256 Kz Kd V^2;
    walls q G (0.8 + 0.5), 16 psf at least; roof suction and inside pressure; moments by statics."""
    for it in options(job):
        long, wide = it["building_length_ft"], it["building_width_ft"]
        eave, rise = it["roof_eave_in"] / 12, it["roof_height_ft"]
        q = 0.00256 * it["wind_kz"] * 0.85 * it["wind_mph"] ** 2
        assert it["wind_psf"] == same(q)
        wall, roof = (0.6 * max(q * 0.85 * 1.3, least) for least in (16, 8))
        assert it["wall_wind_psf"] == same(wall)
        plan = (long + 2 * eave) * (wide + 2 * eave)
        below = eave * (max(long, wide) + 2 * eave)
        suction = 0.85 * it["suction_coefficient"] * plan
        up = 0.6 * q * (suction + 0.18 * long * wide + 0.85 * 0.8 * below)
        assert it["uplift_lb"] == same(up)
        high = it["wall_height_ft"] + it["floor_top_ft"] - it["top_ft"]
        on_front = it["roof_bears_on"] == "front and back"
        area = (long + 2 * eave) * rise * (1 if on_front else 0.5)
        turning = wall * long * high**2 / 2 + roof * area * (high + rise / (2 if on_front else 3))
        inset = it["support_inset_in"] if it["option_kind"] in SUPPORTS else 0
        assert it["lift_side_lb"] == same(turning / (wide - 2 * inset / 12) + up / 2)


@FEW
@given(pooled_jobs())
def test_what_holds_in_the_wind_is_six_tenths_of_what_it_weighs_and_anchors(job: TypedJob) -> None:
    """ASCE 7-16 2.4.1, 0.6 D + 0.6 W; 77 Ill. Adm. Code 870.220: 2 ft from ends, 12 ft apart."""
    for it in options(job):
        dead = it["dry_load_lb"]
        lift = max(it["lift_side_lb"], it["lift_end_lb"])
        down = max(lift - 0.6 * dead / 2 - it["base_side_lb"], 0)
        push = max(it["wind_lb"], it["wind_end_lb"])
        rub = it["friction"] * max(0.6 * dead - it["uplift_lb"], 0)
        slide = max(push - rub - it["base_slide_lb"], 0)
        assert it["hold_down_lb"] == same(down)
        assert it["sliding_lack_lb"] == same(slide)
        if it["option_kind"] in FLOORS:
            continue
        asked = math.ceil(round((down + slide / 2) / it["anchor_hold_lb"], 9))
        spread = max(math.ceil(round((it["building_length_ft"] - 4) / 12, 9)) + 1, 2)
        assert it["anchors_side"] == (max(asked, spread) if asked else 0)


@FEW
@given(pooled_jobs())
def test_joists_of_one_span_bend_sag_and_shear_as_simple_beams(job: TypedJob) -> None:
    """NDS 2018 3.3, 3.4.3.1 (load within the depth of a support left out), and the elastic line:
    M = w L^2 / 8, V = w (L / 2 - d), sag 5 w L^4 / 384 E I against L / 360."""
    for it in options(job):
        if it["option_kind"] not in PADS + SUPPORTS:
            continue
        spacing, wide, deep = (
            it[key] for key in ("joist_spacing_used_in", "joist_width_in", "joist_depth_in")
        )
        count = math.ceil(round(it["building_length_ft"] * 12 / spacing, 9)) + 1
        assert it["joist_count"] == count
        if it["joist_bays"] != 1 or it["joist_past_ft"] > 0.03 or it["point_load_lb"]:
            continue
        span, live = it["joist_span_ft"], it["floor_live_psf"] * spacing / 12
        load = live + it["floor_dead_psf"] * spacing / 12
        bending = 12 * load * span**2 / 8 / (wide * deep**2 / 6)
        assert it["joist_bending_use"] == same(bending / it["joist_fb_psi"])
        shear = 1.5 * load * (span / 2 - deep / 12) / (wide * deep)
        assert it["joist_shear_use"] == same(shear / it["joist_fv_psi"])
        inertia = wide * deep**3 / 12
        sag = 5 * live / 12 * (12 * span) ** 4 / (384 * it["joist_e_psi"] * inertia)
        assert it["joist_live_sag_use"] == same(sag / (12 * span / 360))


@FEW
@given(pooled_jobs())
def test_footings_and_slabs_press_with_all_that_stands_on_them(job: TypedJob) -> None:
    """Statics: load, concrete and soil over it, over the area; walls, roof and snow on an edge."""
    for it in options(job):
        if it["option_kind"] in ON_PIERS:
            wide = max(it["footing_diameter_used_in"], it["pier_diameter_in"]) / 12
            area = math.pi / 4 * wide**2
            assert it["support_ft2"] == same(area)
            load = it["support_load_lb"] + it["support_own_lb"] + it["support_cover_lb"]
            assert it["support_psf"] == same(load / area - it["dug_psf"])
        if it["option_kind"] in FLOORS:
            long, wide = it["building_length_ft"], it["building_width_ft"]
            assert it["slab_plate_yd3"] == same(long * wide * it["slab_thick_used_in"] / 324)
            run = wide if it["roof_bears_on"] == "front and back" else long
            snow = it["roof_psf"] + it["roof_snow_psf"]
            eaves = it["wall_height_ft"] * it["wall_psf"]
            eaves += (run / 2 + it["roof_eave_in"] / 12) * snow
            gable = (it["wall_height_ft"] + it["roof_height_ft"]) * it["wall_psf"]
            assert it["slab_edge_plf"] == same(max(eaves, gable))


@FEW
@given(pooled_jobs())
def test_a_total_is_all_of_its_parts_to_the_cent(job: TypedJob) -> None:
    """Plain arithmetic: shares are taken one upon the other."""
    for it in options(job):
        paid = ("material_cost", "delivery_cost", "rental_cost", "tax_cost")
        cost = sum(it[key] for key in paid) + it["work_hours"] * it["wage_per_h"]
        for share in ("contingency_share", "overhead_share", "profit_share"):
            cost *= 1 + it[share]
        assert it["total_cost"] == pytest.approx(cost, abs=0.03)  # five amounts are rounded
