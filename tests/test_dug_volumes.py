"""Earth as it is dug, against prisms clipped by another library.

Every definition of the sheet Grading (cut and fill inside the timbers, the trench as a ring about
them, its bedding and backfill, the slopes of an open pad) on five shapes of ground made of planes,
under a footprint turned three ways.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from shapely import Polygon, affinity, box

from estimator.solve.shoulders import slope_stone
from estimator.solve.surface import Ground, fit_ground
from estimator.solve.trench import TrenchSpec, dig_trench
from estimator.solve.volumes import clip, cut_ft3, fill_ft3

Plane = tuple[float, float, float]
"""A height c + a x + b y as (c, a, b)."""
Shape = list[tuple[Polygon, Plane]]
FAR = 40.0
LENGTH, WIDTH = 14.0, 12.0
MIDDLE = (1.3, -0.7)
TURNS = (0.0, 17.0, 33.0)
EXACT = {"rel": 1e-9, "abs": 1e-9}


def bands(*edges_and_planes: float | Plane) -> Shape:
    """Strips along y between these x, each with its plane."""
    edges = [-FAR, *(e for e in edges_and_planes if isinstance(e, float)), FAR]
    planes = [p for p in edges_and_planes if not isinstance(p, float)]
    return [(box(a, -FAR, b, FAR), p) for (a, b), p in zip(pairwise(edges), planes, strict=True)]


SHAPES: dict[str, Shape] = {
    "plane": bands((100.0, 0.04, -0.03)),
    "ridge": bands((100.0, 0.06, 0.01), 0.0, (100.0, -0.05, 0.01)),
    "valley": bands((100.0, -0.06, 0.01), 0.0, (100.0, 0.05, 0.01)),
    "bank": bands((100.6, 0.0, 0.02), -2.0, (100.36, -0.12, 0.02), 3.0, (100.0, 0.0, 0.02)),
    "saddle": [  # 100 + 0.05 (|x| - |y|): rises to east and west, falls to south and north
        (box(min(0, sx * FAR), min(0, sy * FAR), max(0, sx * FAR), max(0, sy * FAR)), plane)
        for sx, sy in ((1, 1), (-1, 1), (-1, -1), (1, -1))
        for plane in [(100.0, 0.05 * sx, -0.05 * sy)]
    ],
}
KINKS = (-FAR, -20.0, -2.0, 0.0, 3.0, 20.0, FAR)
CASES = [(name, turn) for name in SHAPES for turn in TURNS]
SPEC = TrenchSpec(100.3, 99.95, 0.25, 5.5 / 12, 3.5 / 12, 2 / 12, 10 / 12)


def plane_at(shape: Shape, x: float, y: float) -> Plane:
    """The plane over a place."""
    for polygon, plane in shape:
        west, south, east, north = polygon.bounds
        if west <= x <= east and south <= y <= north:
            return plane
    raise AssertionError((x, y))


def at(shape: Shape, x: float, y: float) -> float:
    """Height of the ground."""
    c, a, b = plane_at(shape, x, y)
    return c + a * x + b * y


def surveyed(shape: Shape) -> Ground:
    """The ground through readings on every line where it bends."""
    places = [(x, y) for x in KINKS for y in (-FAR, -20.0, 0.0, 20.0, FAR)]
    return fit_ground(
        places, [at(shape, *p) for p in places], [f"P{i}" for i in range(len(places))]
    )


def rectangle(turn: float, x0: float, y0: float, x1: float, y1: float) -> Polygon:
    """A rectangle on the footprint's axes, from its first corner."""
    moved = affinity.translate(box(x0, y0, x1, y1), MIDDLE[0] - LENGTH / 2, MIDDLE[1] - WIDTH / 2)
    return affinity.rotate(moved, turn, origin=MIDDLE)


def corners(turn: float) -> np.ndarray:
    """Corners of the footprint, anticlockwise."""
    t = math.radians(turn)
    along = np.array([math.cos(t), math.sin(t)])
    back = np.array([-along[1], along[0]])
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return np.array([MIDDLE + i * LENGTH / 2 * along + j * WIDTH / 2 * back for i, j in signs])


def positive(region: Polygon, c: float, a: float, b: float) -> float:
    """Integral of max(c + a x + b y, 0) over a region: its prism over the part above zero."""
    if math.hypot(a, b) < 1e-12:
        return max(c, 0.0) * region.area
    size = a * a + b * b
    foot = np.array([-c * a / size, -c * b / size])
    n = np.array([a, b]) / math.sqrt(size)
    t = np.array([-n[1], n[0]])
    half = [foot + 200 * t, foot - 200 * t, foot - 200 * t + 400 * n, foot + 200 * t + 400 * n]
    above = region.intersection(Polygon(half))
    if above.is_empty:
        return 0.0
    return above.area * (c + a * above.centroid.x + b * above.centroid.y)


def over(shape: Shape, region: Polygon, level: float) -> float:
    """Ground above a level."""
    return sum(positive(region & part, c - level, a, b) for part, (c, a, b) in shape)


def under(shape: Shape, region: Polygon, level: float) -> float:
    """What lacks below a level."""
    return sum(positive(region & part, level - c, -a, -b) for part, (c, a, b) in shape)


@pytest.mark.parametrize(("name", "turn"), CASES)
def test_cut_and_fill_inside_the_timbers_are_clipped_prisms(name: str, turn: float) -> None:
    shape, width = SHAPES[name], SPEC.timber_width_ft
    region = rectangle(turn, width, width, LENGTH - width, WIDTH - width)
    patch = clip(surveyed(shape), np.array(region.exterior.coords)[:4])
    for level in (99.7, 99.95, 100.2):
        assert float(cut_ft3(patch, level)) == pytest.approx(over(shape, region, level), **EXACT)
        assert float(fill_ft3(patch, level)) == pytest.approx(under(shape, region, level), **EXACT)


@pytest.mark.parametrize(("name", "turn"), CASES)
def test_the_trench_is_a_ring_about_the_timbers(name: str, turn: float) -> None:
    shape, spec = SHAPES[name], SPEC
    out, width = spec.beyond_ft, spec.timber_width_ft
    reach = out + width
    # The second course: from 5 ft on the front, all of the right side, to 9 ft from it at the back.
    sides = [[(0.0, 5.0, 1), (5.0, 14.0, 2)], [(0.0, 12.0, 2)], [(0.0, 9.0, 2), (9.0, 14.0, 1)]]
    found = dig_trench(surveyed(shape), corners(turn), [*sides, [(0.0, 12.0, 1)]], spec)

    ring = rectangle(turn, -out, -out, LENGTH + out, WIDTH + out) - rectangle(
        turn, reach, reach, LENGTH - reach, WIDTH - reach
    )
    deep = (
        rectangle(turn, 5, -out, LENGTH + out, reach)
        | rectangle(turn, LENGTH - reach, -out, LENGTH + out, WIDTH + out)
        | rectangle(turn, 5, WIDTH - reach, LENGTH + out, WIDTH + out)
    )
    inside = rectangle(turn, width, width, LENGTH - width, WIDTH - width)
    beyond = ring - rectangle(turn, 0, 0, LENGTH, WIDTH)
    dug = bedding = back = 0.0
    for courses, part in ((1, ring - deep), (2, ring & deep)):
        # Heights of the original ground: a strip higher than those of the stripped one.
        bottom = spec.top_ft - courses * spec.timber_depth_ft + spec.strip_ft
        floor, subgrade = bottom - spec.bedding_ft, spec.subgrade_ft + spec.strip_ft
        inner, rest = part & inside, part - inside
        dug += over(shape, rest, floor) + over(shape, inner, floor) - over(shape, inner, subgrade)
        bedding += rest.area * spec.bedding_ft + under(shape, rest, floor)
        bedding += over(shape, inner, floor) - over(shape, inner, bottom)
        back += over(shape, part & beyond, bottom)
        back += over(shape, inner, bottom) - over(shape, inner, subgrade)
    assert found.dug_ft3 == pytest.approx(dug, **EXACT)
    assert found.bedding_ft3 == pytest.approx(bedding, **EXACT)
    assert found.back_ft3 == pytest.approx(back, **EXACT)


def along_ray(shape: Shape, start: np.ndarray, turn: float, level: float, run: float) -> float:
    """Moment of the stone along a ray about its start, up to where it meets the ground."""
    out = np.array([math.cos(turn), math.sin(turn)])
    ends = [(k - start[i]) / out[i] for k in KINKS for i in (0, 1) if abs(out[i]) > 1e-12]
    moment, ends = 0.0, sorted({0.0, 15.0, *(r for r in ends if 0 < r < 15)})
    for a, b in pairwise(ends):
        middle = start + (a + b) / 2 * out
        c, gx, gy = plane_at(shape, *middle)
        high = []
        for r in (a, b):
            x, y = start + r * out
            high.append(level - r / run - c - gx * x - gy * y)
        if high[0] <= 0:
            break
        foot = b if high[1] >= 0 else a + (b - a) * high[0] / (high[0] - high[1])
        last = max(high[1], 0.0)
        moment += (foot - a) * (high[0] * (2 * a + foot) + last * (a + 2 * foot)) / 6
        if high[1] <= 0:
            break
    return moment


@pytest.mark.parametrize(("name", "turn"), CASES)
def test_slopes_of_an_open_pad_follow_the_ground(name: str, turn: float) -> None:
    shape, run, strip, top = SHAPES[name], 1.5, 0.25, 100.4
    found = slope_stone(surveyed(shape), corners(turn), top, strip, run)
    stone, place = 0.0, corners(turn)
    for i in range(4):
        a, b = place[i], place[(i + 1) % 4]
        along = (b - a) / np.hypot(*(b - a))
        out = np.array([along[1], -along[0]])
        strip_out = Polygon([a, b, b + 15 * out, a + 15 * out])
        # Stone lies between the slope, a plane that falls by one in run, and the ground.
        top_plane = (top + strip + out @ a / run, -out[0] / run, -out[1] / run)
        for part, plane in shape:
            gap = [s - g for s, g in zip(top_plane, plane, strict=True)]
            stone += positive(strip_out & part, *gap)
        # The quarter cone at the corner where this side begins.
        end = math.atan2(out[1], out[0])
        stone += quad(
            lambda t, a=a: along_ray(shape, a, t, top + strip, run),
            end - math.pi / 2,
            end,
            epsabs=1e-11,
            epsrel=1e-11,
            limit=2000,
        )[0]
    assert found.stone_ft3 == pytest.approx(stone, **EXACT)


@pytest.mark.parametrize("turn", TURNS)
def test_slopes_reach_as_far_as_the_ground_that_falls_with_them(turn: float) -> None:
    # The ground falls one in ten along the length: two straight lines meet.
    t, run, strip, top = math.radians(turn), 1.5, 0.25, 100.4
    plane = (100.0, -0.1 * math.cos(t), -0.1 * math.sin(t))
    found = slope_stone(surveyed(bands(plane)), corners(turn), top, strip, run)
    edge = 100.0 - 0.1 * (MIDDLE[0] * math.cos(t) + MIDDLE[1] * math.sin(t) + LENGTH / 2)
    assert found.reach_ft == pytest.approx((top + strip - edge) / (1 / run - 0.1), rel=1e-9)
