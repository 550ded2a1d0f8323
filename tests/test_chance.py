"""Draws of what is uncertain, against the closed forms of the triangular distribution."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.solve.chance import chances_of_least, stratified, triangular

LOW, HIGH = st.floats(0.05, 1.0), st.floats(1.0, 10.0)
PINNED = (
    (0.29435411840853715, 0.21005406201910098),
    (0.5624496235500769, 0.7730195713205064),
    (0.8755700320248618, 0.7421717457725678),
    (0.22931284767392182, 0.42090495096785185),
)


def test_every_equal_part_of_each_thing_is_drawn_once() -> None:
    u = stratified(500, 3, 7)
    for column in u.T:
        assert (np.sort(np.floor(column * 500)) == np.arange(500)).all()


def test_the_same_seed_gives_the_same_draws_and_another_one_others() -> None:
    """Pinned, so that another machine or another library is seen."""
    u = stratified(4, 2, 20260401)
    assert u == pytest.approx(np.array(PINNED), abs=1e-12)
    assert not np.allclose(u, stratified(4, 2, 20260402))


@pytest.mark.parametrize(("low", "high"), [(0.8, 1.4), (0.9, 1.0), (1.0, 1.5), (0.62, 1.38)])
def test_mean_and_variance_are_those_of_the_triangle(low: float, high: float) -> None:
    """Mean (a + b + c) / 3, variance (a^2 + b^2 + c^2 - ab - ac - bc) / 18: closed form."""
    drawn = triangular((np.arange(20_000) + 0.5) / 20_000, low, high)
    variance = (low**2 + high**2 + 1 - low * high - low - high) / 18
    assert np.mean(drawn) == pytest.approx((low + high + 1) / 3, abs=1e-6)
    assert np.var(drawn) == pytest.approx(variance, rel=1e-4)


@given(st.floats(0, 1), LOW, HIGH)
def test_a_factor_lies_between_low_and_high(u: float, low: float, high: float) -> None:
    assert low - 1e-12 <= float(triangular(u, low, high)) <= high + 1e-12


@given(st.floats(0, 1), st.floats(0, 1), LOW, HIGH)
def test_a_greater_draw_never_gives_a_smaller_factor(
    u: float, v: float, low: float, high: float
) -> None:
    small, great = sorted((u, v))
    assert triangular(small, low, high) <= triangular(great, low, high) + 1e-12


@given(st.floats(0, 1))
def test_what_is_certain_is_1_in_every_draw(u: float) -> None:
    assert float(triangular(u, 1.0, 1.0)) == 1.0


def test_the_chance_to_cost_least_is_shared_by_equals_and_not_by_those_out_of_the_running() -> None:
    costs = np.array([[1.0, 1.0, np.inf], [3.0, 2.0, np.inf], [1.0, 2.0, np.inf], [2, 2, np.inf]])
    assert chances_of_least(costs) == pytest.approx([0.5, 0.5, 0.0])
    assert chances_of_least(np.full((3, 2), np.inf)) == pytest.approx([0.0, 0.0])
