"""Places priced a second when siting a building, against plain Python loops over the same cost.

Run: python scripts/bench_siting.py
A 60 x 40 ft yard with 60 readings, a 14 x 12 ft pad, half-foot steps and five-degree turns.
"""

from __future__ import annotations

import math
import time

import numpy as np

from estimator.solve.siting import price_places, search
from estimator.solve.siting_places import Footprint, SitingCost, Yard
from estimator.solve.surface import Ground, fit_ground

SHED = Footprint(14.0, 12.0)
YARD = Yard(((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)), setbacks_ft=3.0)
COST = SitingCost(
    cut_per_yd3=40.0,
    fill_per_yd3=30.0,
    import_per_yd3=35.0,
    export_per_yd3=25.0,
    stone_per_yd3=60.0,
    timber_per_ft=6.0,
    timber_depth_ft=5.5 / 12,
    pad_depth_ft=4.0 / 12,
)
SAMPLES = (7, 6)


def yard_ground() -> Ground:
    """Sixty readings on an uneven slope of about one in fifteen; the corners among them."""
    rng = np.random.default_rng(11)
    corners = [[0, 0], [60, 0], [60, 40], [0, 40]]
    points = np.vstack([corners, np.round(rng.uniform([0, 0], [60, 40], (56, 2)), 1)])
    heights = points @ [0.06, -0.03] + 0.4 * np.sin(points[:, 0] / 9) + rng.normal(0, 0.05, 60)
    return fit_ground(points, np.round(heights, 2), [f"Survey row {i}" for i in range(60)])


def plain_height(ground: dict[str, list[list[float]]], x: float, y: float) -> float:
    """Height at one place by trying the triangles in turn."""
    for (ax, ay, bx, by, cx, cy), (c, gx, gy) in zip(
        ground["corners"], ground["coefficients"], strict=True
    ):
        if (
            (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= -1e-9
            and (cx - bx) * (y - by) - (cy - by) * (x - bx) >= -1e-9
            and (ax - cx) * (y - cy) - (ay - cy) * (x - cx) >= -1e-9
        ):
            return c + gx * x + gy * y
    c, gx, gy = ground["plane"][0]
    return c + gx * x + gy * y


def plain_cost(ground: dict[str, list[list[float]]], x: float, y: float, deg: float) -> float:
    """The cost of one place with no array in sight."""
    x0, y0 = ground["centre"][0]
    cos, sin = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    nu, nv = SAMPLES
    du, dv = SHED.length_ft / nu, SHED.width_ft / nv
    height, area, outline = [], [], []
    for i in range(nu + 1):
        for j in range(nv + 1):
            u, v = i * du - SHED.length_ft / 2, j * dv - SHED.width_ft / 2
            height.append(
                plain_height(ground, x + cos * u - sin * v - x0, y + sin * u + cos * v - y0)
            )
            wu, wv = (du / 2 if i in (0, nu) else du), (dv / 2 if j in (0, nv) else dv)
            area.append(wu * wv)
            outline.append((wu if j in (0, nv) else 0.0) + (wv if i in (0, nu) else 0.0))
    top = max(height)
    subgrade = top - COST.pad_depth_ft
    cut = sum(w * max(h - subgrade, 0) for h, w in zip(height, area, strict=True)) / 27
    fill = sum(w * max(subgrade - h, 0) for h, w in zip(height, area, strict=True)) / 27
    timber = sum(
        w * max(1, math.ceil((top - h) / COST.timber_depth_ft - 1e-9))
        for h, w in zip(height, outline, strict=True)
        if w
    )
    return (
        cut * COST.cut_per_yd3
        + fill * COST.fill_per_yd3
        + max(fill - COST.compacted_per_bank * cut, 0) * COST.import_per_yd3
        + max(cut - fill / COST.compacted_per_bank, 0) * COST.export_per_yd3
        + timber * COST.timber_per_ft
        + COST.stone_per_yd3 * COST.pad_depth_ft * sum(area) / 27
    )


def main() -> None:
    """Time the search and both loops, check that they agree, and print."""
    ground = yard_ground()
    began = time.process_time()
    result = search(ground, SHED, YARD, COST, 0.5, 5.0, now=(12.0, 30.0, 0.0))
    whole_s = time.process_time() - began

    rng = np.random.default_rng(5)
    places = np.column_stack(
        [rng.uniform(13, 47, 300), rng.uniform(13, 27, 300), 5.0 * rng.integers(0, 36, 300)]
    )
    began = time.process_time()
    one_by_one = [float(price_places(ground, SHED, COST, p[None])[0]) for p in places]
    array_loop_s = (time.process_time() - began) / len(places)

    plain = {
        "corners": ground.vertices_ft[ground.triangles].reshape(-1, 6).tolist(),
        "coefficients": ground.coefficients.tolist(),
        "plane": [ground.plane.tolist()],
        "centre": [ground.centre_ft.tolist()],
    }
    began = time.process_time()
    by_hand = [plain_cost(plain, *p) for p in places[:60].tolist()]
    plain_loop_s = (time.process_time() - began) / 60
    if not np.allclose(by_hand, one_by_one[:60], rtol=0, atol=1e-6):
        raise SystemExit("the plain loop and the search price differently")

    rate = result.tried / whole_s
    best = result.places[0]
    print(f"places priced                 {result.tried:>12,}")
    print(f"whole search                  {whole_s:>12.2f} CPU s, {rate:,.0f} places a second")
    print(f"Python loop over the arrays   {1 / array_loop_s:>12,.0f} places a second (300 sampled)")
    print(f"plain Python loop             {1 / plain_loop_s:>12,.0f} places a second (60 sampled)")
    print(f"search against array loop     {rate * array_loop_s:>12,.0f} times")
    print(f"search against plain loop     {rate * plain_loop_s:>12,.0f} times")
    print(
        f"best ({best.x_ft:.2f}, {best.y_ft:.2f}) ft at {best.turn_deg:.1f} degrees: "
        f"{best.cost:.2f}, saves {best.saving:.2f}; nothing cheaper by more than "
        f"{result.tolerance:.2f}"
    )


if __name__ == "__main__":
    main()
