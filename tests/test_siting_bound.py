"""The bound on what a search for a place may have missed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_siting import COST, LOT, SHED, grid, ground_of, rough

from estimator.solve import siting
from estimator.solve.siting import search
from estimator.solve.siting_bound import Cells, local_slack_ft, slopes
from estimator.solve.siting_places import Yard


@given(st.integers(0, 10**6), st.floats(0, 2), st.floats(0, 15))
@settings(max_examples=25, deadline=None)
def test_no_two_heights_change_against_each_other_by_more_than_twice_the_slack(
    seed: int, move: float, turn: float
) -> None:
    ground, rng = rough(seed), np.random.default_rng(seed)
    arm = SHED.half_diagonal_ft
    swing = 2 * arm * np.sin(np.deg2rad(turn) / 2)
    place = np.array([rng.uniform(14, 46), rng.uniform(14, 26), rng.uniform(0, 180)])
    reach = np.array([move]), np.array([swing])
    near = float(local_slack_ft(ground, (14, 12), place[None], *reach)[0])
    whole = float(slopes(ground, beyond=False).slack_ft(move, swing))
    u, v = rng.uniform(-0.5, 0.5, (2, 40)) * [[14], [12]]

    def heights(x: float, y: float, deg: float) -> np.ndarray:
        cos, sin = np.cos(np.deg2rad(deg)), np.sin(np.deg2rad(deg))
        return ground.at(np.column_stack([x + cos * u - sin * v, y + sin * u + cos * v]))[0]

    before = heights(*place)
    for _ in range(20):
        way, angle = rng.uniform(0, 1) * move, rng.uniform(0, 2 * np.pi)
        off = np.array([way * np.cos(angle), way * np.sin(angle), rng.uniform(-turn, turn)])
        change = heights(*(place + off)) - before
        assert np.ptp(change) <= 2 * min(near, whole) + 1e-9


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
    cells = Cells(np.array([[5.0, -3.0, axis]]), half[None], np.array([axis]), np.zeros(1))
    for _ in range(5):
        cells = cells.halves(9.0)
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
