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
from estimator.solve.siting_edges import Edges
from estimator.solve.siting_places import Yard
from estimator.solve.siting_price import price, sample_points, sampled
from estimator.solve.siting_sides import ways
from estimator.solve.siting_slack import near, slopes

GROUNDS = st.integers(0, 10**6)


def cell(seed: int, move: float, turn: float, *, beyond: bool = False) -> tuple[Cells, np.ndarray]:
    """A cell on the lot, as far from its outside as it reaches or anywhere, and places in it."""
    rng = np.random.default_rng(seed)
    away = 20 if beyond else 0
    half = np.array([*(rng.uniform(0.2, 1, 2) * move), turn])
    x, y = rng.uniform(14 - away, 46 + away), rng.uniform(14 - away, 26 + away)
    place = np.array([x, y, rng.uniform(0, 180)])
    moved = rng.uniform(-1, 1, (40, 3)) * half
    return Cells(place[None], half[None], np.zeros(1), half[None]), place + moved


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
    found = near(ground, slopes(ground, beyond=beyond), sampling, cells)
    least = float(price(found.off, sampling, cost).lower.min())
    assert least <= price_places(ground, SHED, cost, places).min() + 1e-6
    assert (found.share >= 0).all()


def test_a_small_cell_on_one_triangle_is_bounded_almost_exactly() -> None:
    points = grid()
    ground = ground_of(points, points @ [0.05, -0.1])
    place, half = np.array([[30.0, 20, 17]]), np.full((1, 3), 0.1)
    cells = Cells(place, half, np.zeros(1), half)
    found = near(ground, slopes(ground, beyond=False), sampled(SHED, 2.0), cells)
    priced = price(found.off, sampled(SHED, 2.0), replace(COST, framed=False))
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
    share = rng.uniform(0, 1, (1, 3)) * [1, 1, turning]
    middle = np.array([5.0, -3.0, 40.0])
    cells = Cells(middle[None], half[None], np.zeros(1), share)
    for _ in range(5):
        cells = cells.halves()
        cells = replace(cells, share=rng.uniform(0, 1, (len(cells.lower), 3)) * [1, 1, turning])
    assert len(cells.lower) == 32
    for _ in range(50):
        place = middle + rng.uniform(-1, 1, 3) * half
        assert (np.abs(place - cells.places) <= cells.half + 1e-9).all(axis=1).any()


@pytest.mark.parametrize("seed", [1, 3])
def test_more_work_never_loosens_what_is_stated(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    stated = []
    for most in (0, 2_000, 8_000):
        monkeypatch.setattr(siting, "DIVIDED_MOST", most)
        found = search(rough(seed), SHED, Yard(LOT, 5.0), COST, 1.0, 15.0, sample_ft=2.0)
        stated.append(found.places[0].cost - found.tolerance)
    assert stated == sorted(stated)
    assert stated[-1] > stated[0]


def together(places: np.ndarray, inside: np.ndarray, *, one_side: bool) -> set[tuple[bool, ...]]:
    """Which of samples lie within, by the ways in which they change sides."""
    shape = (1, len(places))
    which, goes = np.ones(1, dtype=np.bool_), np.ones(shape, dtype=np.bool_)
    cell, changes = ways(
        which, goes, inside[None], np.zeros(shape, int), np.full(shape, one_side), places
    )
    assert (cell == 0).all()
    return {tuple(bool(one) for one in row) for row in changes ^ inside}


@given(st.integers(0, 10**6))
@settings(max_examples=30, deadline=None)
def test_however_a_line_runs_past_a_row_of_samples_the_way_they_lie_is_known(seed: int) -> None:
    rng = np.random.default_rng(seed)
    run = rng.normal(0, 1, 2)
    row = rng.permutation(rng.uniform(-8, 8, int(rng.integers(4, 12))))[:, None] * run
    known = together(row, rng.uniform(size=len(row)) < 0.5, one_side=True)
    for _ in range(30):
        out, off = rng.normal(0, 1, 2), rng.normal(0, 4)
        assert tuple((row @ out < off).tolist()) in known
    assert len(known) == 2 * len(row)


@given(st.integers(0, 10**6))
@settings(max_examples=30, deadline=None)
def test_of_a_row_those_within_a_corner_of_the_readings_follow_one_another(seed: int) -> None:
    rng = np.random.default_rng(seed)
    row = rng.permutation(rng.uniform(-8, 8, int(rng.integers(4, 8))))[:, None] * [0.6, 0.8]
    known = together(row, rng.uniform(size=len(row)) < 0.5, one_side=False)
    for _ in range(30):
        (one, other), off = rng.normal(0, 1, (2, 2)), rng.normal(0, 4, 2)
        assert tuple(((row @ one < off[0]) & (row @ other < off[1])).tolist()) in known


@pytest.mark.parametrize("mode", ["high", "balanced"])
@pytest.mark.parametrize("turn_deg", [0.0, 33.0])
def test_where_the_ground_steps_at_the_edge_of_the_readings_little_is_left_open(
    mode: Literal["high", "balanced"], turn_deg: float
) -> None:
    """A lot larger than its readings, which are off a plane by half a foot; 33 degrees or along."""
    wide = tuple((20 + 1.7 * (x - 20), 20 + 1.7 * (y - 20)) for x, y in LOT)
    for seed in (1, 2):
        ground = rough(seed)
        assert np.abs(Edges.of(ground).steps_ft).max() > 0.3
        found = search(
            ground,
            SHED,
            Yard(wide, 3.0, allow_guessed=True),
            replace(COST, mode=mode, framed=seed == 1),
            fixed_deg=turn_deg,
        )
        assert found.tolerance <= max(10.0, 0.01 * found.places[0].cost)
        assert found.tried < siting.DIVIDED_MOST
