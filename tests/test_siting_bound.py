"""The bound on what a search for a place may have missed."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_siting import COST, LOT, SHED, grid, ground_of, rough

from estimator.solve import siting
from estimator.solve.siting import price_places, search
from estimator.solve.siting_bound import Cells
from estimator.solve.siting_least import least_costs
from estimator.solve.siting_places import Yard
from estimator.solve.siting_price import price, sample_points, sampled
from estimator.solve.siting_sides import _follows
from estimator.solve.siting_slack import near, slopes
from estimator.solve.surface import Ground

GROUNDS = st.integers(0, 10**6)


def ragged(seed: int) -> Ground:
    """Readings a few inches within the line of others at the outside: slivers, steep as walls."""
    rng = np.random.default_rng(seed)
    points = grid()
    outside = (points % [60, 40] == 0).any(axis=1) & ~(points % [60, 40] == 0).all(axis=1)
    away = rng.uniform(0.05, 0.4, (len(points), 1)) * outside[:, None]
    points = points + away * np.sign([30, 20] - points) * (points % [60, 40] == 0)
    return ground_of(points, points @ rng.uniform(-0.08, 0.08, 2) + rng.normal(0, 0.3, len(points)))


def uneven(seed: int) -> Ground:
    """Either, by turns."""
    return ragged(seed) if seed % 2 else rough(seed)


def cell(seed: int, move: float, turn: float, *, beyond: bool = False) -> tuple[Cells, np.ndarray]:
    """A cell on the lot, as far from its outside as it reaches or anywhere, and places in it."""
    rng = np.random.default_rng(seed)
    away = 20 if beyond else 0
    half = np.array([*(rng.uniform(0.2, 1, 2) * move), turn])
    x, y = rng.uniform(14 - away, 46 + away), rng.uniform(14 - away, 26 + away)
    place = np.array([x, y, rng.uniform(0, 180)])
    moved = rng.uniform(-1, 1, (40, 3)) * half
    return Cells(place[None], half[None], np.zeros(1), half[None]), place + moved


@pytest.mark.parametrize("beyond", [True, False])
@given(GROUNDS, st.floats(0, 2), st.floats(0, 15))
@settings(max_examples=25, deadline=None)
def test_the_heights_of_every_place_in_a_cell_are_among_those_told(
    beyond: bool, seed: int, move: float, turn: float
) -> None:
    ground, sampling = uneven(seed), sampled(SHED, 2.0)
    cells, places = cell(seed, move, turn, beyond=beyond)
    off = near(ground, slopes(ground, beyond=beyond), sampling, cells).off
    height = ground.at(sample_points(sampling, places))[0].reshape(len(places), 1, -1)
    gone = (places - cells.places) / np.maximum(cells.half, 1e-12)
    reckoned = off.height + np.einsum("kvn,pk->pvn", off.linear, gone)
    assert (np.abs(height - reckoned) <= off.rest + 1e-9).all(axis=2).any(axis=1).all()


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
    ground, sampling = uneven(seed), sampled(SHED, 2.0)
    cost = replace(
        COST, mode=mode, framed=framed, compacted_per_bank=factor, fill_with_stone=seed % 3 == 0
    )
    cells, places = cell(seed, move, turn, beyond=beyond)
    found = near(ground, slopes(ground, beyond=beyond), sampling, cells)
    least = float(least_costs(found.off, sampling, cost).min())
    assert least <= price_places(ground, SHED, cost, places).min() + 1e-6
    assert (found.share >= 0).all()


def test_a_small_cell_on_one_triangle_is_bounded_almost_exactly() -> None:
    points = grid()
    ground = ground_of(points, points @ [0.05, -0.1])
    place, half = np.array([[30.0, 20, 17]]), np.full((1, 3), 0.1)
    cells = Cells(place, half, np.zeros(1), half)
    sampling, cost = sampled(SHED, 2.0), replace(COST, framed=False)
    found = near(ground, slopes(ground, beyond=False), sampling, cells)
    least = least_costs(found.off, sampling, cost)
    assert least[0] == pytest.approx(price(found.height, sampling, cost).cost[0], rel=0.02)


@pytest.mark.parametrize("mode", ["high", "balanced"])
def test_on_a_plane_a_move_without_a_turn_changes_no_cost(
    mode: Literal["high", "balanced"],
) -> None:
    points = grid()
    ground = ground_of(points, points @ [0.05, -0.1])
    half = np.array([[1.5, 1.5, 0.0]])
    cells = Cells(np.array([[30.0, 20, 17]]), half, np.zeros(1), half)
    sampling, cost = sampled(SHED, 2.0), replace(COST, mode=mode)
    found = near(ground, slopes(ground, beyond=False), sampling, cells)
    least = least_costs(found.off, sampling, cost)
    assert least[0] == pytest.approx(price(found.height, sampling, cost).cost[0], abs=1e-6)


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
    for most in (0, 150_000, 600_000):
        monkeypatch.setattr(siting, "AIMS", ((most, 0.0, 0.01),))
        found = search(rough(seed), SHED, Yard(LOT, 5.0), COST, 1.0, 15.0, sample_ft=2.0)
        stated.append(found.places[0].cost - found.tolerance)
    assert stated == sorted(stated)
    assert stated[-1] > stated[0]


@pytest.mark.parametrize("mode", ["high", "balanced"])
@pytest.mark.parametrize("turn_deg", [0.0, 33.0])
def test_where_the_ground_steps_at_the_edge_of_the_readings_little_is_left_open(
    mode: Literal["high", "balanced"], turn_deg: float
) -> None:
    """A lot larger than its readings, which are off a plane by half a foot; 33 degrees or along."""
    wide = tuple((20 + 1.7 * (x - 20), 20 + 1.7 * (y - 20)) for x, y in LOT)
    for seed in (1, 2):
        ground = uneven(seed)
        rim = ground.hull
        plane = ground.plane[0] + ground.vertices_ft[rim] @ ground.plane[1:]
        assert np.abs(ground.vertex_heights_ft[rim] - plane).max() > 0.3
        found = search(
            ground,
            SHED,
            Yard(wide, 3.0, allow_guessed=True),
            replace(COST, mode=mode, framed=seed == 1),
            fixed_deg=turn_deg,
        )
        assert found.tolerance <= max(10.0, 0.01 * found.places[0].cost)


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("most", [0, 150_000])
def test_no_finer_step_or_turn_ends_with_a_dearer_place(
    seed: int, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However little is divided: halves, thirds and odd shares of steps."""
    monkeypatch.setattr(siting, "AIMS", ((most, 0.0, 0.01),))
    yard, cost = Yard(LOT, 3.0, allow_guessed=True), replace(COST, mode="balanced")
    steps = (4.0, 60.0), (4 / 3, 60.0), (2.8, 42.0), (2.0, 30.0), (1.0, 20.0), (0.7, 14.0)
    ends = {step: search(uneven(seed), SHED, yard, cost, *step).places[0].cost for step in steps}
    for finer, coarser in product(steps, steps):
        if finer[0] <= coarser[0] and finer[1] <= coarser[1]:
            assert ends[finer] <= ends[coarser]


def test_a_side_along_the_edge_of_the_readings_crosses_it_once() -> None:
    """Five samples in a row near one side of the readings: of 16 ways that follow, 10 can be."""
    lies = np.array([[bool(n >> i & 1) for i in range(5)] for n in range(32)])[:, :, None]
    side = np.zeros(lies.shape, dtype=np.intp)
    follows = _follows(lies, side)
    assert follows.sum() == 10
    assert not follows[0b01110]
    # Where the ends are near other sides, it may come in over one and leave over another.
    side[:, 3:] = 1
    assert _follows(lies, side)[0b01110]


@pytest.mark.parametrize("turn_deg", [0.0, 180.0])
def test_a_whole_side_of_the_base_along_the_edge_of_the_readings_leaves_little_open(
    turn_deg: float,
) -> None:
    """Any sample of the side may lie on either side of the edge: one row turns there but once."""
    ground, sampling = rough(3), sampled(SHED, 2.0)
    place = np.array([30.0, SHED.width_ft / 2, turn_deg])
    half = np.array([1e-5, 1e-5, 1e-4])
    cells = Cells(place[None], half[None], np.zeros(1), half[None])
    told = near(ground, slopes(ground, beyond=True), sampling, cells)
    along = sampling.counts[0] + 1
    assert (np.abs(sampling.offsets[:, 1]) >= SHED.width_ft / 2 - 1e-9).sum() == 2 * along
    assert len(told.cell) == 2 * along
    assert (told.off.rest + np.abs(told.off.linear).sum(axis=0)).max() < 0.01
