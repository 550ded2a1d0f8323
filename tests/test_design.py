"""Members, footings and wind: rules that hold for all inputs, and hand calculations."""

from __future__ import annotations

import inspect
import math
from types import ModuleType

import numpy as np
import pytest
import wood_referee
from hypothesis import given, settings
from hypothesis import strategies as st
from size_search import (
    Lumber,
    fewest_loaded_supports,
    fewest_supports,
    smallest_joist,
)

from estimator.errors import SolveError
from estimator.expression import Ref, quantity
from estimator.reference import design_values, dressed_size, rule, size_factor, soil
from estimator.solve import bearing, design, wind

FEW = settings(max_examples=60, deadline=None)
ALLOWED = 1 + 1e-9


def some(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


SECTION = st.tuples(  # width, depth, Fb', Fv', Fc_perp', E'
    some(1.5, 5.5),
    some(3.5, 11.25),
    some(500, 2000),
    some(100, 250),
    some(300, 700),
    some(0.8e6, 2e6),
)


def hem_fir(size: str, price: float = 0.0) -> Lumber:
    """No.2, dry, floor load, repetitive."""
    values = design_values("Hem-fir", "No.2", size)
    strength = design.adjusted_bending_psi(
        values.bending_psi, size=size_factor("Hem-fir", size), repetitive=1.15
    )
    return Lumber(
        size,
        *dressed_size(size),
        bending_adj_psi=strength,
        shear_adj_psi=values.shear_psi,
        bearing_adj_psi=values.bearing_psi,
        modulus_adj_psi=values.modulus_psi,
        price_per_ft=price,
    )


@FEW
@given(SECTION, some(1, 25), some(1, 400), some(0, 400), some(0, 3000), some(0, 500), some(0, 2000))
def test_adding_load_never_turns_a_failing_member_into_a_passing_one(
    section: tuple[float, ...],
    span: float,
    live: float,
    dead: float,
    point: float,
    more: float,
    more_point: float,
) -> None:
    def used(live_plf: float, dead_plf: float, point_lb: float) -> float:
        return float(wood_referee.member_utilisation(*section, span, live_plf, dead_plf, point_lb))

    before = used(live, dead, point)
    for after in (
        used(live + more, dead, point),
        used(live, dead + more, point),
        used(live, dead, point + more_point),
    ):
        assert after >= before * (1 - 1e-12)


@FEW
@given(SECTION, some(0.1, 4), some(5, 300), some(0, 300))
def test_a_deeper_joist_never_spans_less(
    section: tuple[float, ...], deeper: float, live: float, dead: float
) -> None:
    width, depth, *values = section
    shallow = design.joist_span_ft(width, depth, *values, live, dead)
    deep = design.joist_span_ft(width, depth + deeper, *values, live, dead)
    assert deep >= shallow * (1 - 1e-12)


@FEW
@given(SECTION, some(5, 300), some(0, 300), some(0.5, 6))
def test_at_its_allowable_span_a_joist_is_used_to_the_full_and_no_further(
    section: tuple[float, ...], live: float, dead: float, seat: float
) -> None:
    span = design.joist_span_ft(*section, live, dead, seat)
    used = wood_referee.member_utilisation(
        *section, span, live, dead, bearing_length_in=seat, ignored_in=section[1]
    )
    assert used == pytest.approx(1, rel=1e-9)


@FEW
@given(some(10, 60), some(0, 500), some(0, 50), some(0, 20000), some(500, 4000), some(0, 3000))
def test_adding_load_never_helps_the_ground(
    psf: float, wall: float, more: float, own: float, soil_psf: float, point: float
) -> None:
    def sizes(load_psf: float, own_lb: float, point_lb: float) -> tuple[float, ...]:
        load = wood_referee.support_load_lb(load_psf, 5.0, 6.0, wall, 5.0, own_lb)
        plf = (4.0 + 4.0) / 2 * load_psf
        return (
            float(bearing.footing_side_in(load, soil_psf)),
            float(bearing.footing_diameter_in(load, soil_psf)),
            float(bearing.skid_point_pressure_psf(plf, point_lb, 3.5, 5.5)),
            float(bearing.skid_moment_lb_ft(plf, 1.33, 2.0, point_lb)),
            float(bearing.skid_shear_lb(plf, 1.33, 2.0, point_lb)),
        )

    before = sizes(psf, own, point)
    heavier = sizes(psf + more, own + more, point + more)
    assert all(b >= a * (1 - 1e-12) for a, b in zip(before, heavier, strict=True))


def symbol(name: str) -> Ref:
    return quantity(name, kind="number", axis=None, by_option=False)


FORMULAS = [
    pytest.param(function, id=f"{module.__name__.rsplit('.', 1)[1]}.{name}")
    for module in (design, bearing, wind)
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if function.__module__ == module.__name__
]


@pytest.mark.parametrize("function", FORMULAS)
def test_every_formula_can_be_written_into_a_cell(function: object) -> None:
    assert callable(function)
    names = list(inspect.signature(function).parameters)
    assert isinstance(function(*map(symbol, names)), Ref)


@pytest.mark.parametrize("function", FORMULAS)
def test_every_formula_gives_arrays_what_it_gives_numbers(function: object) -> None:
    assert callable(function)
    count = len(inspect.signature(function).parameters)
    columns = np.random.default_rng(7).uniform(1, 9, (count, 5))
    whole = np.asarray(function(*columns))
    one_by_one = [float(function(*columns[:, i])) for i in range(5)]
    assert whole.shape == (5,)
    assert whole == pytest.approx(one_by_one, rel=1e-13)


def test_no_formula_module_looks_up_a_table() -> None:
    for module in (design, bearing, wind):
        assert not any(
            isinstance(item, ModuleType) and item.__name__ == "estimator.reference"
            for item in vars(module).values()
        )


def test_wet_lumber_of_little_strength_is_not_reduced_in_bending() -> None:
    """NDS Supplement Tables 4A, 4B: 1.0 where Fb CF is at most 1,150 psi, else 0.85."""
    strength = np.array([1150.0, 1150.1, 1150.1])
    factors = wood_referee.wet_bending_factor(strength, 1.0, np.array([1.0, 1.0, 0.0]))
    assert factors.tolist() == [1.0, 0.85, 1.0]


def test_a_mower_in_mid_span_adds_a_quarter_of_its_weight_times_the_span() -> None:
    assert design.moment_lb_ft(0.0, 8.0, 600.0) == 1200
    assert design.shear_lb(0.0, 8.0, 0.0, 600.0) == 600
    # P L^3 / (48 E I): 600 x 96^3 / (48 x 1.3e6 x 47.635)
    sag = design.deflection_in(0.0, 8.0, 1.3e6, 47.635, 600.0)
    assert sag == pytest.approx(600 * 96**3 / (48 * 1.3e6 * 47.635))


def test_a_beam_in_one_piece_over_three_piers_loads_the_middle_one_by_a_quarter_more() -> None:
    """Statics: 10/8 w L on the middle support of two equal spans, w L if the beam is cut."""
    assert wood_referee.reaction_lb(200.0, 6.0, 6.0) == 1500
    assert wood_referee.reaction_lb(200.0, 6.0, 6.0, continuity=1.0) == 1200
    assert wood_referee.reaction_lb(200.0, 0.0, 6.0, continuity=1.0) == 600


def test_joists_that_run_past_a_beam_load_it_by_more_than_half() -> None:
    """An 8 ft span with 2 ft past the beam: 10 ft of load, its middle 5 ft from the far end."""
    assert bearing.overhang_tributary_ft(8.0, 2.0) == 10 * 5 / 8


def test_a_pier_carries_its_share_of_floor_and_wall() -> None:
    # 50 psf over 5 x 6 ft is 1,500 lb; 6 ft of wall and roof at 120 plf is 720 lb; 300 lb of pier.
    assert wood_referee.support_load_lb(50.0, 5.0, 6.0, 120.0, 6.0, 300.0) == 2520


def test_a_footing_on_clay_is_as_wide_as_its_load_asks() -> None:
    clay = soil("clay", "presumptive_bearing_psf")
    side = bearing.footing_side_in(1500.0, clay)
    assert side == 12
    diameter = bearing.footing_diameter_in(1500.0, clay)
    assert bearing.round_pressure_psf(1500.0, diameter) == pytest.approx(clay)
    assert bearing.pad_pressure_psf(1500.0, side, side) == pytest.approx(clay)


def test_a_plain_footing_is_as_thick_as_it_projects() -> None:
    assert bearing.footing_thickness_in(24.0, 8.0) == 8
    assert bearing.footing_thickness_in(14.0, 8.0) == 6


def test_stone_spreads_a_skid_over_more_soil() -> None:
    # 3.5 in skid, 4 in of stone, 2 down to 1 out: 7.5 in wide; 300 plf over it is 480 psf.
    assert bearing.skid_pressure_on_soil_psf(300.0, 3.5, 4.0, 40.0) == 480
    assert bearing.skid_pressure_psf(300.0, 3.5) == pytest.approx(300 * 12 / 3.5)
    # strips that meet share the soil between them
    assert bearing.skid_pressure_on_soil_psf(300.0, 3.5, 60.0, 40.0) == 90


def test_a_skid_bridges_the_longer_of_joist_spacing_and_soft_spot() -> None:
    soft = rule("skid_soft_spot_ft")
    assert bearing.skid_moment_lb_ft(300.0, 16 / 12, soft) == 300 * 2 * 2 / 8
    assert bearing.skid_moment_lb_ft(300.0, 3.0, soft, 400.0) == 300 * 9 / 8 + 400 * 3 / 4


SIZES = [hem_fir(s, p) for s, p in (("2x12", 2.4), ("2x6", 0.9), ("2x10", 1.9), ("2x8", 1.3))]
SPACINGS = (12.0, 16.0, 19.2, 24.0)


@FEW
@given(some(2, 22), some(10, 125), some(0, 30), some(0, 1500))
def test_the_suggested_joist_works_and_nothing_smaller_does(
    span: float, live: float, dead: float, point: float
) -> None:
    for choice in smallest_joist(SIZES, span, live, dead, SPACINGS, point):
        plf = choice.spacing_in / 12
        for size in sorted(SIZES, key=lambda s: s.depth_in):
            used = wood_referee.member_utilisation(
                size.width_in, size.depth_in, size.bending_adj_psi, size.shear_adj_psi,
                size.bearing_adj_psi, size.modulus_adj_psi, span, live * plf, dead * plf, point,
                ignored_in=size.depth_in,
            )  # fmt: skip
            if size.name == choice.name:
                assert used <= ALLOWED
                assert choice.utilisation == pytest.approx(used)
                break
            assert used > 1
        else:
            assert choice.name == ""
            assert math.isnan(choice.utilisation)


def test_the_suggestion_agrees_with_the_span_table_and_carries_its_cost() -> None:
    """IRC Table R502.3.1(2), hem-fir No.2, from memory: 2x8 span 13-2, 12-0, 11-3, 10-2."""
    by_spacing = {c.spacing_in: c for c in smallest_joist(SIZES, 11.75, 40.0, 10.0, SPACINGS)}
    assert [by_spacing[s].name for s in SPACINGS] == ["2x8", "2x8", "2x10", "2x10"]
    assert by_spacing[16.0].allowable_ft == pytest.approx(12, abs=0.5 / 12)  # nearest inch
    assert by_spacing[16.0].price_per_ft2 == pytest.approx(1.3 * 12 / 16)
    too_far = smallest_joist(SIZES, 30.0, 40.0, 10.0, (16.0,))[0]
    assert too_far.name == ""


def test_a_suggestion_for_nothing_is_refused() -> None:
    with pytest.raises(SolveError, match="joist span is 0"):
        smallest_joist(SIZES, 0.0, 40.0, 10.0, SPACINGS)
    with pytest.raises(SolveError, match="joist spacing is -16 in"):
        smallest_joist(SIZES, 10.0, 40.0, 10.0, (-16.0,))
    with pytest.raises(SolveError, match="side is 0 ft"):
        fewest_supports(0.0, 4.0)
    with pytest.raises(SolveError, match="above zero"):
        fewest_loaded_supports(10.0, 4.0, 100.0, 0.0)


def test_four_skids_carry_a_ten_foot_side_on_joists_that_span_three_feet() -> None:
    # Flush 3.5 in skids, four: clear span (120 - 4 x 3.5) / 3 = 35.3 in.
    assert fewest_supports(10.0, 3.0, 3.5) == 4
    assert fewest_supports(10.0, 35.3 / 12, 3.5) == 5
    assert fewest_supports(10.0, 20.0, 3.5) == 2


@FEW
@given(some(4, 40), some(1, 20), some(0, 12), some(50, 900), some(500, 9000))
def test_the_fewest_supports_keep_span_and_load_and_one_less_does_not(
    side: float, allowable: float, width: float, plf: float, capacity: float
) -> None:
    def holds(count: int) -> bool:
        between = side - width / 12
        bays = count - 1
        clear = between / bays - width / 12
        load = plf * between / 2 if count == 2 else 1.25 * plf * between / bays
        return clear <= allowable * (1 + 1e-6) and load <= capacity * (1 + 1e-6)

    count = fewest_loaded_supports(side, allowable, plf, capacity, width)
    assert holds(count)
    if count > 2:
        strict = 1 - 1e-6
        less = count - 1
        between = side - width / 12
        clear = between / (less - 1) - width / 12
        load = plf * between / 2 if less == 2 else 1.25 * plf * between / (less - 1)
        assert clear > allowable * strict or load > capacity * strict
