"""What bears on the soil, end joists under the walls, overhangs, and wood that is wet."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from jobs import at, block, changed, demo, on_flat, one_option, solved

from estimator.inputs import TypedJob
from estimator.model.kinds import BLOCKS, FLOORS, FRAMED, KIND_NAMES, OPEN, PIERS
from estimator.reference import design_values
from estimator.solve import bearing, design

FEW = settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
MANY = settings(max_examples=200, deadline=None)
PINE = "Southern pine No.2"
# The demo building: 12 x 10 ft, 8 ft walls of 8 psf, roof 10 dead and 30 snow, floor 50 and 10.
FLOOR, WALL, ROOF = 60.0, 8 * 8.0, 5 * 40.0


def flat(kind: str, job: TypedJob | None = None, **cells: Any) -> Mapping[str, Any]:
    return solved(on_flat(one_option(kind, job or demo(), **cells)))


# What presses on the soil


def test_net_pressure_is_less_the_soil_dug_out_and_only_where_typed() -> None:
    gross, net = flat(PIERS), flat(PIERS, changed(demo(), bearing_basis="net"))
    assert at(gross, "dug_psf") == 0
    assert at(net, "support_psf") == pytest.approx(at(gross, "support_psf") - 120 * 30 / 12)
    assert at(net, "footing_needed_in") < at(gross, "footing_needed_in")


def test_a_stack_weighs_with_its_bed_and_the_blocks_in_the_ground() -> None:
    """Flat ground, top 10 in up: two blocks of 8 in, 6 in of them in the ground, on 6 in of stone;
    the bed carries 16 + 6 in square, 2 down to 1 out."""
    values = flat(BLOCKS, clear_above_in=10, block_height_in=8, block_bed_in=6)
    area = (22 / 12) ** 2
    assert at(values, "support_ft2") == pytest.approx(area)
    assert at(values, "support_own_lb") == pytest.approx((16 / 12) ** 2 * 16 / 12 * 150)
    stone = area * 6 / 12 * at(values, "stone_in_place_lb_ft3")
    beside = (area - (16 / 12) ** 2) * 6 / 12 * 120
    assert at(values, "support_cover_lb") == pytest.approx(stone + beside)


def test_the_diameter_asked_for_presses_just_as_hard_as_the_soil_may_carry() -> None:
    needed = bearing.footing_diameter_under_soil_in(2700, 1500, 10, 8, 30, 8, 150, 120)
    area, pier = math.pi / 4 * (needed / 12) ** 2, math.pi / 4 * (10 / 12) ** 2
    own = (area * 8 + pier * 30) / 12 * 150 + (area - pier) * 22 / 12 * 120
    assert (2700 + own) / area == pytest.approx(1500)


@MANY
@given(
    st.floats(100, 20000),
    st.floats(800, 4000),
    st.floats(0, 2000),
    st.floats(6, 16),
    st.floats(0, 40),
    st.floats(12, 48),
)
def test_softer_soil_never_asks_for_a_smaller_footing(
    load: float, soft: float, more: float, pier: float, above: float, depth: float
) -> None:
    def needed(soil: float) -> float:
        return float(
            bearing.footing_diameter_under_soil_in(load, soil, pier, above, depth, 8, 150, 120)
        )

    assert needed(soft) >= needed(soft + more) - 1e-9


# Spans that boards cover


def test_a_beam_board_that_ends_over_a_support_is_no_longer_continuous() -> None:
    """Boards to 20 ft: five supports on 12 ft are one board of four spans; on 32 ft bays of 8 ft
    take boards of two. Loads 1.143 dead, 1.223 live, and 1.25, of bay times load."""
    short = flat(PIERS, supports_per_row=5)
    assert (at(short, "beam_spans"), at(short, "beam_spans_left")) == (4, 0)
    share = 1 / 7 + 1 + (1.2232142857 - 1.1428571429) * 50 / 60
    assert at(short, "beam_middle_share") == pytest.approx(share, abs=1e-8)
    long = flat(PIERS, changed(demo(), building_length_ft=32), supports_per_row=5)
    assert (at(long, "beam_spans"), at(long, "beam_spans_left")) == (2, 0)
    assert at(long, "beam_middle_share") == pytest.approx(1.25)
    odd = flat(PIERS, changed(demo(), building_length_ft=30), supports_per_row=6)
    assert (at(odd, "beam_spans"), at(odd, "beam_spans_left")) == (3, 2)
    assert at(odd, "beam_middle_share") == pytest.approx(1.25)


def test_an_end_support_carries_the_end_wall_by_way_of_the_end_joist() -> None:
    values = flat(PIERS, support_rows=2, supports_per_row=2)
    # Joists span 10 ft, gable of 3 ft at two thirds: 64 + 8 x 3 x 2/3 plf over half of the width.
    wall = 5 * (WALL + 8 * 3 * 2 / 3)
    assert at(values, "end_wall_lb") == pytest.approx(wall)
    load = 6 * (5 * FLOOR + WALL + ROOF) + wall
    assert at(values, "support_load_lb") == pytest.approx(load)


# End lines


def test_an_end_joist_under_a_gable_is_doubled_where_one_is_too_weak() -> None:
    """2x6 at 16 in over 8 ft between beams 1 ft in: half a bay of floor, wall, and a gable of
    3 ft whose moment is that of 2/3 of its height and 1/3 of what it has at the beams."""
    values = flat(PIERS, support_inset_in=12, joist_stock="2x6 treated", species=PINE)
    load = 16 / 24 * FLOOR + WALL + 8 * 3 * (2 + 2 * 1 / 10) / 3
    assert at(values, "end_load_plf") == pytest.approx(load)
    # Southern pine No.2 2x6: 1,000 psi, no repetitive member.
    use = 12 * load * 64 / 8 / (1.5 * 5.5**2 / 6 * 1000)
    assert at(values, "end_one_use") == pytest.approx(use)
    assert 1.3 < use < 2
    assert at(values, "end_joists_used") == 2
    assert at(values, "joist_doubled") == 2
    near = block(values, "joist_near_in")[:12]
    assert (near[0], near[1], near[10], near[11]) == (0, 1.5, 141, 142.5)
    assert at(values, "check_end_line") == "ok"
    pieces = at(flat(PIERS, support_inset_in=12, end_joists=1, species=PINE), "joists_in_all")
    assert at(values, "joists_in_all") == pieces + 2


def test_a_single_end_joist_that_is_typed_fails_where_it_is_too_weak() -> None:
    values = flat(PIERS, support_inset_in=12, joist_stock="2x6", species=PINE, end_joists=1)
    assert at(values, "check_end_line").startswith("FAIL: end joists used to 15")


def test_a_roof_that_rests_on_the_ends_loads_end_joists_and_not_the_sides() -> None:
    ends = flat(FRAMED, changed(demo(), roof_bears_on="left and right"))
    assert at(ends, "end_plf") == pytest.approx(WALL + 6 * 40)
    assert at(ends, "side_plf") == pytest.approx(WALL + 3 * 8)
    assert at(flat(FRAMED), "side_plf") == pytest.approx(WALL + ROOF)


def test_a_partition_beside_the_end_takes_the_place_of_the_second_end_joist() -> None:
    job = changed(demo(), double_what="partition", double_at_ft=0.1)
    values = flat(PIERS, job, support_inset_in=12, joist_stock="2x6 treated", species=PINE)
    assert at(values, "end_joists_used") == 2
    assert at(values, "joist_doubled") == 2  # the partition's and the far end's


def test_an_end_joist_with_another_hard_beside_it_stands_double_as_it_is() -> None:
    """10 ft 3 in at 24 in: the line at 120 in leaves 3/4 in to the end joist at 121.5 in."""
    job = changed(demo(), building_length_ft=10.25)
    values = flat(PIERS, job, joist_spacing_in=24, end_joists=2)
    assert at(values, "joist_doubled") == 1  # the near end's


# Overhangs


def test_the_end_of_an_overhang_sags_as_statics_says() -> None:
    """P = 100 lb at 2 ft past 8 ft: P a^2 (L + a) / (3 E I), by hand 100 x 24^2 x 120 over
    3 x 1.6e6 x 20.8 in4 = 0.0692 in; a cantilever from a wall (L to 0) gives w a^4 / 8 E I."""
    sag = design.overhang_sag_in(0.0, 100.0, 8.0, 2.0, 1.6e6, 20.8)
    assert sag == pytest.approx(100 * 24**2 * 120 / (3 * 1.6e6 * 20.8))
    wall = design.overhang_sag_in(12.0, 0.0, 0.0, 2.0, 1.6e6, 20.8)
    assert wall == pytest.approx(1.0 * 24**4 / (8 * 1.6e6 * 20.8))


@pytest.mark.parametrize(
    ("inset", "verdict"), [(0, "ok"), (7, "ok"), (8, "ok"), (9, "LOOK"), (24, "LOOK"), (25, "FAIL")]
)
def test_a_joist_overhangs_by_its_depth_and_the_tables_route_asks_for_three_spans_behind(
    inset: float, verdict: str
) -> None:
    """IRC R502.3.3 (from memory): nominal depth of a 2x8; beyond it a back span of three times the
    overhang, 10 ft less two of 2 ft being the last."""
    values = flat(PIERS, support_inset_in=inset, joist_stock="2x8", species=PINE)
    assert at(values, "check_overhang")[:4].strip(":") == verdict


def test_joists_that_overhangs_would_lift_are_tied_to_the_middle_beam() -> None:
    """Three beams, 1 ft past: 3 M / L off the middle one, with M of floor, wall and roof."""
    values = flat(PIERS, support_rows=3, support_inset_in=12)
    moment = FLOOR / 2 + WALL + ROOF
    lift = 16 / 12 * (3 * moment / 4 - 10 * 4)
    assert at(values, "overhang_lift_lb") == pytest.approx(lift)
    assert at(values, "lift_ties") == at(values, "joists_in_all")
    assert at(values, "lift_tie_need") == at(values, "lift_ties")
    assert at(flat(PIERS, support_rows=3), "lift_ties") == 0


@FEW
@given(st.just(0.0) | st.floats(0.5, 30), st.floats(0.5, 6))
def test_a_longer_overhang_is_never_used_less(inset: float, more: float) -> None:
    short, long = (
        flat(PIERS, support_inset_in=i, joist_stock="2x8", species=PINE)
        for i in (inset, inset + more)
    )
    assert at(long, "overhang_use") >= at(short, "overhang_use") - 1e-9


@FEW
@example(kind=PIERS, snow=90, more=60)
@given(
    kind=st.sampled_from(KIND_NAMES), snow=st.just(0) | st.floats(4, 100), more=st.floats(5, 100)
)
def test_more_snow_never_uses_a_joist_or_its_end_line_less(
    kind: str, snow: float, more: float
) -> None:
    light, heavy = (
        flat(kind, changed(demo(), roof_snow_psf=s, roof_bears_on="left and right"))
        for s in (snow, snow + more)
    )
    for use in ("joist_use", "overhang_use", "end_one_use", "joist_rest_use", "beam_use"):
        assert at(heavy, use) >= at(light, use) - 1e-9
    assert at(heavy, "end_joists_used") >= at(light, "end_joists_used")
    if kind not in FLOORS:  # all of the snow comes down on it
        assert at(heavy, "end_one_use") > at(light, "end_one_use")


@pytest.mark.parametrize("kind", [OPEN, BLOCKS])
def test_more_snow_never_suggests_a_smaller_joist(kind: str) -> None:
    long = changed(demo(), building_length_ft=20, building_width_ft=12)
    long = changed(long, roof_bears_on="left and right")
    sizes = {"support_rows": 3, "supports_per_row": 4, "beam_plies": 3, "species": PINE}
    depths = [
        at(flat(kind, changed(long, roof_snow_psf=s), joist_stock=None, **sizes), "joist_depth_in")
        for s in (0, 40, 150)
    ]
    assert depths == sorted(depths)
    assert depths[-1] > depths[0]


# Wood that is wet


def test_hem_fir_timbers_of_the_better_grade_have_values_of_their_own() -> None:
    better, other = (design_values("Hem-fir", g, "6x6") for g in ("No.1", "No.2"))
    assert (better.bending_psi, better.modulus_psi) == (975, 1_300_000)  # Table 4D, from memory
    assert (other.bending_psi, other.modulus_psi) == (575, 1_100_000)


def test_beams_are_wet_near_the_ground_and_joists_where_they_count_as_in_it() -> None:
    low, high = flat(PIERS, clear_above_in=8), flat(PIERS, clear_above_in=12)
    assert (at(low, "beam_wet"), at(high, "beam_wet")) == (1, 0)
    assert at(low, "beam_e_psi") == pytest.approx(0.9 * at(high, "beam_e_psi"))
    pad = flat(FRAMED, joist_stock="2x6 treated", species=PINE)
    assert at(pad, "joist_class").startswith("ground contact")
    assert (at(pad, "joist_wet"), at(low, "joist_wet")) == (1, 0)
    assert at(pad, "joist_e_psi") == pytest.approx(0.9 * 1_400_000)
    assert at(pad, "joist_fv_psi") == pytest.approx(0.97 * 175)


def test_fresh_treated_wood_is_lifted_at_seventy_pounds_a_cubic_foot() -> None:
    """A chart of pressure-treated lumber gives 40 lb for a 2x6 of 10 ft: 70 lb/ft3 dressed."""
    dressed_ft3 = 1.5 * 5.5 / 144 * 10
    assert dressed_ft3 * 70 == pytest.approx(40, abs=0.2)
    values = flat(FRAMED, timber_stock="4x6 treated")
    longest = float(np.max(block(values, "timber_length_in"))) / 12
    assert at(values, "timber_lb") == pytest.approx(longest * 3.5 * 5.5 / 144 * 70)
