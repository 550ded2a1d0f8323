"""The bound on what a search for a place may have missed."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_siting import COST, LOT, SHED, grid, ground_of, rough

from estimator.solve import siting
from estimator.solve.siting import price_places, search
from estimator.solve.siting_bound import Cells
from estimator.solve.siting_places import Yard
from estimator.solve.siting_price import price, sample_points, sampled
from estimator.solve.siting_slack import near, slopes

GROUNDS = st.integers(0, 10**6)


def cell(seed: int, move: float, turn: float, *, beyond: bool = False) -> tuple[Cells, np.ndarray]:
    """A cell on the lot, as far from its outside as it reaches or anywhere, and places in it."""
    rng = np.random.default_rng(seed)
    away = 20 if beyond else 0
    half = np.array([*(rng.uniform(0.2, 1, 2) * move), turn])
    axis = rng.uniform(0, 180)
    x, y = rng.uniform(14 - away, 46 + away), rng.uniform(14 - away, 26 + away)
    place = np.array([x, y, rng.uniform(0, 180)])
    cos, sin = np.cos(np.deg2rad(axis)), np.sin(np.deg2rad(axis))
    along, across, turned = (rng.uniform(-1, 1, (40, 3)) * half).T
    moved = [cos * along - sin * across, sin * along + cos * across, turned]
    zero = np.zeros(1)
    return Cells(place[None], half[None], axis + zero, zero, half[None]), place + np.stack(moved, 1)


@given(GROUNDS, st.floats(0, 2), st.floats(0, 15))
@settings(max_examples=25, deadline=None)
def test_no_two_heights_change_against_each_other_by_more_than_twice_the_slack(
    seed: int, move: float, turn: float
) -> None:
    ground, sampling = rough(seed), sampled(SHED, 2.0)
    cells, places = cell(seed, move, turn)
    reach = np.hypot(*cells.half[0, :2]), 2 * SHED.half_diagonal_ft * np.sin(np.deg2rad(turn) / 2)
    whole = float(slopes(ground, beyond=False).slack_ft(*reach))

    def heights(at: np.ndarray) -> np.ndarray:
        return ground.at(sample_points(sampling, at))[0].reshape(len(at), -1)

    change = heights(places) - heights(cells.places)
    assert np.ptp(change, axis=1).max() <= 2 * whole + 1e-9


@pytest.mark.parametrize("mode", ["high", "balanced"])
@pytest.mark.parametrize("framed", [True, False])
@pytest.mark.parametrize("beyond", [True, False])
@given(GROUNDS, st.floats(0, 2), st.floats(0, 10), st.sampled_from([0.7, 0.9, 1.0, 1.2]))
@settings(max_examples=40, deadline=None)
def test_nothing_in_a_cell_costs_less_than_its_bound(
    mode: Literal["high", "balanced"],
    framed: bool,
    beyond: bool,
    seed: int,
    move: float,
    turn: float,
    factor: float,
) -> None:
    ground, sampling = rough(seed), sampled(SHED, 2.0)
    cost = replace(
        COST, mode=mode, framed=framed, compacted_per_bank=factor, fill_with_stone=seed % 3 == 0
    )
    cells, places = cell(seed, move, turn, beyond=beyond)
    off, share = near(ground, slopes(ground, beyond=beyond), sampling, cells)
    least = float(price(off, sampling, cost).lower[0])
    assert least <= price_places(ground, SHED, cost, places).min() + 1e-6
    assert (share >= 0).all()


def test_a_small_cell_on_one_triangle_is_bounded_almost_exactly() -> None:
    points = grid()
    ground = ground_of(points, points @ [0.05, -0.1])
    place, half = np.array([[30.0, 20, 17]]), np.full((1, 3), 0.1)
    cells = Cells(place, half, np.zeros(1), np.zeros(1), half)
    off, _ = near(ground, slopes(ground, beyond=False), sampled(SHED, 2.0), cells)
    priced = price(off, sampled(SHED, 2.0), replace(COST, framed=False))
    assert priced.lower[0] == pytest.approx(priced.cost[0], rel=0.02)


def test_on_a_plane_a_move_without_a_turn_changes_no_height_against_another() -> None:
    points = grid()
    ground = ground_of(points, points @ [0.05, -0.1])
    assert float(slopes(ground, beyond=False).slack_ft(1.5, 0.0)) == pytest.approx(0, abs=1e-9)


@given(st.integers(0, 10**6), st.booleans())
@settings(max_examples=25, deadline=None)
def test_the_halves_of_a_cell_cover_it_however_often_it_is_halved(seed: int, turning: bool) -> None:
    rng = np.random.default_rng(seed)
    half = rng.uniform(0.1, 2, 3) * [1, 1, 10 * turning]
    axis = rng.uniform(0, 180)
    cos, sin = np.cos(np.deg2rad(axis)), np.sin(np.deg2rad(axis))
    share = rng.uniform(0, 1, (1, 3)) * [1, 1, turning]
    cells = Cells(np.array([[5.0, -3.0, axis]]), half[None], np.array([axis]), np.zeros(1), share)
    for _ in range(5):
        cells = cells.halves()
        cells = replace(cells, share=rng.uniform(0, 1, (len(cells.lower), 3)) * [1, 1, turning])
    assert len(cells.lower) == 32
    for _ in range(50):
        along, across, turn = rng.uniform(-1, 1, 3) * half
        place = [5 + cos * along - sin * across, -3 + sin * along + cos * across, axis + turn]
        dx, dy, dt = (place - cells.places).T
        own = np.column_stack([cos * dx + sin * dy, cos * dy - sin * dx, dt])
        assert (np.abs(own) <= cells.half + 1e-9).all(axis=1).any()


@pytest.mark.parametrize("seed", [1, 3])
def test_more_work_never_loosens_what_is_stated(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    stated = []
    for most in (0, 2_000, 8_000):
        monkeypatch.setattr(siting, "DIVIDED_MOST", most)
        found = search(rough(seed), SHED, Yard(LOT, 5.0), COST, 1.0, 15.0, sample_ft=2.0)
        stated.append(found.places[0].cost - found.tolerance)
    assert stated == sorted(stated)
    assert stated[-1] > stated[0]
