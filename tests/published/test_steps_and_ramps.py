"""Steps and ramps: sources of their limits, and flights worked by hand."""

from __future__ import annotations

import pytest
from validated.wood import LIMITS_OF_STEPS

from estimator.reference import find, value
from estimator.solve import steps


@pytest.mark.parametrize("key", LIMITS_OF_STEPS)
def test_limits_of_the_residential_code_name_their_clause(key: str) -> None:
    row = find("steps", key=key)
    assert LIMITS_OF_STEPS[key][1] in row.source
    assert row.published


def test_the_landing_of_a_ramp_is_remembered_and_says_so() -> None:
    """IRC R311.8.2, from memory."""
    row = find("steps", key="ramp_landing_in")
    assert row.number("value") == 36
    assert not row.published


def test_a_flight_of_the_army_manual_has_a_tread_less_than_rises() -> None:
    """US Army EN5156 Carpentry II, p. 2-20, read on a site of army manuals: a rise of about 7 in
    is wanted, treads are the rises less one."""
    count = steps.rises(28.0, value("steps", key="rise_wanted_in"))
    assert (count, steps.treads(count)) == (4, 3)


@pytest.mark.parametrize(
    ("width_in", "expected"),
    [(36.0, 3), pytest.param(48.0, 4, id="worked: 48 in"), pytest.param(20, 3, id="worked: 20 in")],
)
def test_a_flight_three_feet_wide_has_three_stringers(width_in: float, expected: int) -> None:
    """AWC DCA 6 through a trade article: 36 in wide, three. The others are worked by hand from
    18 in between centres (from memory) and boards 1 1/2 in thick."""
    spacing = value("steps", key="stringer_spacing_in")
    assert steps.stringers(width_in, 1.5, spacing) == expected


@pytest.mark.parametrize(
    ("rise", "run", "left"),
    [(7.75, 10, 5.12), (7, 11, 5.34), (7, 10, 5.52), (6.5, 11, 5.65)],
)
def test_a_twelve_inch_board_keeps_its_throat(rise: float, run: float, left: float) -> None:
    """Worked by hand, 11 1/4 in less rise times run over the hypotenuse; AWC DCA 6 asks for 5 in
    (from memory), which the steepest flight of the code just leaves."""
    found = steps.throat_in(11.25, rise, run)
    assert found == pytest.approx(left, abs=0.005)
    assert found > value("steps", key="throat_least_in")


def test_the_throat_is_measured_across_the_board() -> None:
    """A 3-4-5 notch by hand: 6 by 8 in is 4.8 in deep, the height of the triangle on its
    hypotenuse of 10."""
    assert steps.throat_in(11.25, 6.0, 8.0) == pytest.approx(11.25 - 4.8)


def test_a_flight_of_28_inches_by_hand() -> None:
    """Worked by hand: 4 rises of 7 in, 3 treads of 10 1/2 in, run 31 1/2 in, a stringer of
    3 x sqrt(7^2 + 10.5^2) = 3 x 12.619 = 37.86 in, and 6 in at the ends."""
    count = steps.rises(28.0, 7.75)
    tread_count = steps.treads(count)
    one = steps.rise_in(28.0, count)
    assert (count, one, tread_count) == (4, 7, 3)
    assert steps.flight_run_in(tread_count, 10.5) == 31.5
    assert steps.stringer_in(tread_count, one, 10.5, 6.0) == pytest.approx(43.858, abs=0.001)
    assert steps.first_notch_in(one, 1.5) == 5.5


def test_a_ramp_of_20_inches_by_hand() -> None:
    """Worked by hand: 1 in 12 takes 20 ft, 1 in 8 takes 13 ft 4 in; along the slope
    sqrt(20^2 + 160^2) = 161.245 in; bays of at most 6 ft: three."""
    assert steps.ramp_run_in(20.0, 12.0) == 240
    run = steps.ramp_run_in(20.0, 8.0)
    assert run == 160
    assert steps.slope_length_in(20.0, run) == pytest.approx(161.245, abs=0.001)
    assert steps.bays(run, 72.0) == 3


@pytest.mark.parametrize(
    ("total", "ramp", "run_to_rise", "sides"),
    [
        (20.0, 0, 0, 0),  # three rises
        (24.0, 0, 0, 1),  # four rises of 6 in
        (30.0, 0, 0, 1),
        (30.5, 0, 0, 2),
        (20.0, 1, 12, 0),
        (20.0, 1, 8, 1),
        (31.0, 1, 12, 2),
        (0.0, 1, 8, 0),
        (-3.0, 0, 0, 0),
    ],
)
def test_rails_stand_where_the_code_asks_for_them(
    total: float, ramp: int, run_to_rise: float, sides: int
) -> None:
    """IRC R311.7.8 and R312.1.1, read in quotations of the code; R311.8.3 from memory."""
    limits = (value("steps", key=k) for k in ("guard_rise_in", "handrail_rises"))
    handrail_run = value("steps", key="ramp_handrail_run")
    count = steps.rises(total, 7.75)
    assert steps.rail_sides(total, count, ramp, run_to_rise, *limits, handrail_run) == sides


def test_boards_of_a_guard_let_no_four_inch_sphere_pass() -> None:
    """IRC R312.1.3, read in quotations: five 2x4s in 36 in leave gaps of 3.7 in; four, 5.5."""
    count = float(steps.guard_rails(36.0, 3.5, 4.0))
    assert count == 5
    assert (36 - count * 3.5) / count <= 4 < (36 - (count - 1) * 3.5) / (count - 1)
