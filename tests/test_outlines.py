"""Closed outlines on the plan: property line, setback line, keep-out areas."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import block, changed, demo, solved

from estimator.model.siting_sheet import KEEP_OUTS
from estimator.model.solvers.outlines import setback_line

LOT = np.array([(0, 0), (60, 0), (60, 40), (0, 40)], dtype=float)


def area(corners: Any) -> float:
    x, y = np.asarray(corners).T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


@pytest.mark.parametrize("corners", [LOT, LOT[::-1]])
def test_a_setback_line_stands_off_every_side_either_way_round(corners: Any) -> None:
    inner = setback_line(corners, np.full(4, 5.0))
    assert sorted(map(tuple, inner)) == [(5, 5), (5, 35), (55, 5), (55, 35)]


def test_a_street_side_keeps_more() -> None:
    # The first side, along y = 0, keeps 20 ft; the others 5 ft.
    inner = setback_line(LOT, np.array([20.0, 5, 5, 5]))
    assert sorted(map(tuple, inner)) == [(5, 20), (5, 35), (55, 20), (55, 35)]


def test_sides_in_line_with_two_setbacks_make_a_step() -> None:
    lot = np.insert(LOT, 1, (30, 0), axis=0)
    inner = setback_line(lot, np.array([10.0, 5, 5, 5, 5]))
    assert {(30.0, 10.0), (30.0, 5.0)} <= set(map(tuple, inner))
    assert area(inner) == pytest.approx(50 * 30 - 25 * 5)


@pytest.mark.parametrize("keep", [20.0, 25.0, 100.0])
def test_setbacks_that_leave_nothing_draw_nothing(keep: float) -> None:
    assert not len(setback_line(LOT, np.full(4, keep)))


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.floats(0, 2 * np.pi), min_size=3, max_size=9, unique=True),
    st.floats(0.01, 3),
)
def test_in_a_convex_lot_every_place_on_the_line_keeps_the_distance(
    angles: list[float], keep: float
) -> None:
    turns = np.sort(angles)
    lot = 50 * np.column_stack([np.cos(turns), np.sin(turns)])
    side = np.roll(lot, -1, axis=0) - lot
    length = np.hypot(*side.T)
    if length.min() < 1:
        return
    for place in setback_line(lot, np.full(len(lot), keep)):
        off = place - lot
        away = (side[:, 0] * off[:, 1] - side[:, 1] * off[:, 0]) / length
        assert away.min() == pytest.approx(keep, abs=1e-7)


def test_areas_are_drawn_closed_and_those_that_are_not_there_as_a_dot() -> None:
    corners = [(100.0, 0.0), (160.0, 0.0), (160.0, 40.0), (100.0, 40.0)]
    tree = [(110.0, 10.0), (114.0, 10.0), (112.0, 13.0)]
    # Corners of the two areas stand mixed in the table.
    typed = [("lot", "property", c) for c in corners]
    for at, corner in zip((1, 3, 5), tree, strict=True):
        typed.insert(at, ("tree", "keep out", corner))
    blank = dict.fromkeys(range(24))
    cells = {
        "corner_name": blank | {n: f"N{n}" for n in range(len(typed))},
        "corner_area": blank | {n: name for n, (name, _, _) in enumerate(typed)},
        "corner_kind": blank | {n: kind for n, (_, kind, _) in enumerate(typed)},
        "corner_x_ft": blank | {n: c[0] for n, (*_, c) in enumerate(typed)},
        "corner_y_ft": blank | {n: c[1] for n, (*_, c) in enumerate(typed)},
        "corner_more_ft": blank,
    }
    values = solved(changed(demo(), siting_wanted="no", setback_ft=5, **cells))

    def drawn(name: str) -> list[tuple[float, float]]:
        return list(zip(block(values, f"{name}_x_ft"), block(values, f"{name}_y_ft"), strict=True))

    def ends(name: str) -> list[tuple[float, float]]:
        return [place for place in drawn(name) if not np.isnan(place).any()]

    assert drawn("lot")[:5] == [*corners, corners[0]]
    assert set(drawn("lot")[5:]) == {corners[0]}
    assert ends("setback") == [(105, 5), (155, 5), (155, 35), (105, 35), (105, 5)]
    assert ends("keep_1") == [*tree, tree[0]]
    for number in range(2, KEEP_OUTS + 1):
        assert len(ends(f"keep_{number}")) == 1
