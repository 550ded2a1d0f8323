"""The last steps of the search for a place, at the price of the rows: here that of a bowl."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from estimator.model.solvers.place_descent import descend
from estimator.model.solvers.place_prices import PlacePrices

Floats = NDArray[np.float64]
LOWEST = np.array([20.0, 30.0, 12.0])
ARM_FT = 10.0


def bowl(places: Floats) -> PlacePrices:
    """Dearer by the square of the distance, ft, that corners are away from the cheapest place."""
    away = (places - LOWEST) * [1, 1, np.deg2rad(ARM_FT)]
    cost = 100 + (away**2).sum(axis=1)
    return PlacePrices(cost, cost / 10, cost / 20, np.ones(len(cost)), cost / 30)


def anywhere(places: Floats) -> NDArray[np.bool_]:
    return np.ones(len(places), dtype=np.bool_)


def nowhere(places: Floats) -> NDArray[np.bool_]:
    return np.zeros(len(places), dtype=np.bool_)


def test_it_goes_to_the_bottom_and_brings_the_price_of_that_place() -> None:
    start = LOWEST + np.array([0.5, -0.5, np.rad2deg(0.5 / ARM_FT)])
    found = descend(start, 100.75, bowl, anywhere, arm_ft=ARM_FT, turning=True)
    assert found is not None
    place, prices = found
    assert place == pytest.approx(LOWEST)
    assert prices.cost == pytest.approx([100])
    assert prices.cut_yd3 == pytest.approx([10])


def test_it_does_not_turn_what_has_a_fixed_orientation() -> None:
    start = LOWEST + np.array([0.5, 0, 3])
    found = descend(start, 101.0, bowl, anywhere, arm_ft=ARM_FT, turning=False)
    assert found is not None
    assert found[0] == pytest.approx(LOWEST + np.array([0, 0, 3]))


def test_it_stays_where_it_may_stand() -> None:
    start = LOWEST + np.array([0.7, 0, 0])
    found = descend(start, 100.49, bowl, lambda p: p[:, 0] >= 20.4, arm_ft=ARM_FT, turning=True)
    assert found is not None
    assert 20.4 <= found[0][0] < 20.5


def test_nothing_is_found_where_every_move_costs_more_or_none_is_allowed() -> None:
    assert descend(LOWEST, 100.0, bowl, anywhere, arm_ft=ARM_FT, turning=True) is None
    start = LOWEST + np.array([3, 0, 0])
    assert descend(start, 109.0, bowl, nowhere, arm_ft=ARM_FT, turning=True) is None
