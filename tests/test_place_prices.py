"""Places on the lot cost what Grading and Aggregate say of a base that stands there."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from jobs import at, block, changed, on_ground, one_option, solved, solved_whole

from estimator.gather import gather
from estimator.model import SHEETS
from estimator.model.kinds import FRAMED, OPEN
from estimator.model.solvers.lot import base_corners, lot_ground
from estimator.model.solvers.place_prices import Pricer
from estimator.model.solvers.reads import Reads
from estimator.solve.courses import FrameSpec, solve_frame
from estimator.solve.shoulders import slope_stone
from estimator.solve.trench import TrenchSpec, dig_trench
from estimator.solve.volumes import clip, cut_ft3, fill_ft3

GROUNDS = 100
LINES = ("name", "area", "kind", "x_ft", "y_ft", "more_ft")
"""Columns of the property's corners: without any the readings bound the search."""
OPTIONS: dict[str, dict[str, Any]] = {FRAMED: {"timber_stock": "6x6 treated"}, OPEN: {}}


@cache
def pricer() -> Pricer:
    return Pricer(tuple(gather(SHEETS)), "feet")


@cache
def values_of(kind: str, mode: str) -> dict[str, Any]:
    job = one_option(kind, height_mode=mode, reckoned_from="original", **OPTIONS[kind])
    return solved_whole(changed(job, wage_per_h=31, work_room_in=9, courses_most=6))


def on_lot(values: dict[str, Any], rng: np.random.Generator) -> dict[str, Any]:
    """The job on a lot of 60 x 60 ft that falls, with a hump or a hollow or both."""
    x, y = np.meshgrid(np.arange(0.0, 61, 15), np.arange(0.0, 61, 15))
    places = np.stack([x.ravel(), y.ravel()], axis=1)
    heights = 100 + places @ rng.uniform(-0.03, 0.03, 2) + rng.normal(0, 0.05, len(places))
    for _ in range(2):
        middle, rise = rng.uniform(20, 40, 2), rng.uniform(-1.5, 1.9)
        away = np.hypot(*(places - middle).T)
        heights += rise * np.maximum(1 - away / 18, 0)
    found = dict(values)
    rows = np.asarray(values["point_name"]).shape[-1]
    for key, column in (("x_ft", places[:, 0]), ("y_ft", places[:, 1]), ("height_ft", heights)):
        cells = np.zeros((1, rows))
        cells[0, : len(places)] = column
        found[f"point_{key}"] = cells
    names = np.full((1, rows), "", dtype=object)
    names[0, : len(places)] = [f"P{i}" for i in range(len(places))]
    found["point_name"] = names.astype(str)
    return found


def by_hand(values: dict[str, Any], place: np.ndarray) -> tuple[float, float]:
    """Cost of earth, timber and stone at a place and courses, made of the solving functions."""
    there = values | {
        key: np.array([[v]])
        for key, v in zip(("site_x_ft", "site_y_ft", "turn_deg"), place, strict=True)
    }
    q = Reads(there)
    ground, corners = lot_ground(q), base_corners(q, 0)
    framed = q.text("option_kind") == FRAMED
    width = q.number("timber_width_in") / 12 if framed else 0.0
    strip, stone_ft = q.number("strip_ft"), q.number("stone_depth_in") / 12
    inside = clip(ground, base_corners(q, 0, -width))
    top = clip(ground, corners).highest_ft + q.number("raise_in") / 12
    cut = float(cut_ft3(inside, top - stone_ft + strip)) / 27
    fill = float(fill_ft3(inside, top - stone_ft + strip)) / 27
    length, broad = q.number("frame_length_ft"), q.number("frame_width_ft")
    stone = (length - 2 * width) * (broad - 2 * width) * stone_ft / 27
    dug, back, topsoil, courses, timber = cut, 0.0, 0.0, 0, 0.0
    area = length * broad
    if framed:
        spec = FrameSpec(
            q.number("timber_depth_in") / 12,
            width,
            q.number("bedding_in") / 12,
            q.number("embed_in") / 12,
            strip,
            "original",
        )
        frame = solve_frame(ground, corners, top, spec)
        sides = []
        for side, line in enumerate(frame.profiles):
            ends = sorted(
                {0.0, line.length_ft}
                | {e for r in frame.lower if r.side == side for e in (r.start_ft, r.end_ft)}
            )
            middles = [(a + b) / 2 for a, b in pairwise(ends)]
            counts = frame.courses_at(side, middles).tolist()
            sides.append(list(zip(ends[:-1], ends[1:], counts, strict=True)))
        broad_ft = q.number("trench_width_in") / 12
        trench = dig_trench(
            ground,
            corners,
            sides,
            TrenchSpec(
                top, top - stone_ft, strip, spec.timber_depth_ft, width, spec.bedding_ft, broad_ft
            ),
        )
        dug, back = cut + trench.dug_ft3 / 27, trench.back_ft3 / 27
        stone += trench.bedding_ft3 / 27
        more = broad_ft - width + 2 * q.number("work_room_in") / 12
        area = (length + more) * (broad + more)
        topsoil = (area - length * broad) * strip / 27
        courses = frame.courses
        timber = sum(r.end_ft - r.start_ft for r in frame.runs) * q.number("timber_cost_ft")
    else:
        slopes = slope_stone(ground, corners, top, strip, q.number("shoulder_run"))
        area += slopes.area_ft2
        stone += slopes.stone_ft3 / 27
    rate = q.number("dig_cost_yd3")
    bank = (fill + back) / q.number("compacted_per_bank")
    cost = dug * rate + (fill + back + topsoil) * q.number("fill_cost_yd3")
    cost += q.number("wage_per_h") * area * q.number("strip_h_ft2")  # 4 in: once the rate
    cost += max(bank - dug, 0) * q.number("compacted_per_bank") * q.number("bring_cost_yd3")
    cost += (max(dug - bank, 0) + area * strip / 27 - topsoil) * q.number("away_cost_yd3")
    return cost + stone * q.number("stone_cost_yd3") + timber, courses


@pytest.mark.parametrize("kind", OPTIONS)
def test_a_place_costs_what_its_volumes_and_courses_cost_on_a_hundred_grounds(kind: str) -> None:
    values = values_of(kind, "high ground")
    for seed in range(GROUNDS // len(OPTIONS)):
        rng = np.random.default_rng(seed)
        lot = on_lot(values, rng)
        place = np.array([*rng.uniform(16, 34, 2), rng.uniform(0, 40)])
        found = pricer().prices(lot, 0, place[None])
        cost, courses = by_hand(lot, place)
        assert found.cost[0] == pytest.approx(cost, rel=1e-9)
        assert found.courses[0] == courses


def test_every_place_shown_on_a_hump_costs_what_the_job_costs_there() -> None:
    # One reading 1.9 ft high in the middle of a level lot.
    points = tuple(
        (float(x), float(y), 101.9 if x == y == 30 else 100.0)
        for x in range(0, 61, 15)
        for y in range(0, 61, 15)
    )
    job = changed(
        on_ground(one_option(FRAMED, courses_most=6), points),
        siting_wanted="yes",
        siting_step_ft=3,
        siting_turn_deg=45,
        site_x_ft=24,
        site_y_ft=24,
        **{f"corner_{key}": dict.fromkeys(range(24)) for key in LINES},
    )
    values = solved(job)
    assert at(values, "siting_now_cost") == pytest.approx(at(values, "site_cost"), rel=1e-12)
    # It stands on the hump: every other place has less to fill and fewer courses.
    assert at(values, "frame_courses") > block(values, "place_courses").max() >= 1
    for n in (0, 1):
        keys = {"site_x_ft": "x_ft", "site_y_ft": "y_ft", "turn_deg": "turn_deg"}
        there = {key: block(values, f"place_{name}")[n] for key, name in keys.items()}
        moved = solved(changed(job, siting_wanted="no", **there))
        for row, shown in (("site_cost", "cost"), ("cut_yd3", "cut_yd3"), ("fill_yd3", "fill_yd3")):
            assert at(moved, row) == pytest.approx(block(values, f"place_{shown}")[n], abs=1e-9)
        assert at(moved, "top_ft") == pytest.approx(block(values, "place_top_ft")[n], abs=1e-9)
        assert at(moved, "frame_courses") == block(values, "place_courses")[n]
