"""The same job told otherwise: another datum, a turned grid, other names, another order."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest
from jobs import changed, demo, on_ground, solved, with_options

from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS, SLAB

QUANTITIES = (
    "yd3",
    "ft2",
    "ft3",
    "in",
    "$",
    "h",
    "courses",
    "lb",
    "days",
    "loads",
    "trips",
    "lifts",
)
"""Units of what is dug, bought, worked and measured from the string, not of places and heights."""
PLACES = [(float(x), float(y)) for x in (0, 15, 30, 45) for y in (0, 14, 28, 42)]
CORNER, TURN = (12.0, 11.0), 10.0


@cache
def heights() -> tuple[float, ...]:
    rng = np.random.default_rng(3)
    levels = [100 - 0.04 * x - 0.02 * y + float(rng.normal(0, 0.15)) for x, y in PLACES]
    levels[9], levels[13] = levels[6], levels[2]  # told from each other by their places
    return tuple(levels)


def job(
    places: list[tuple[float, float]], levels: list[float], *, turn_deg: float = 0.0
) -> TypedJob:
    """A building of every kind on readings; it stands where these were turned to."""
    original = {"reckoned_from": "original"}
    kinds = [{"option_kind": FRAMED} | original, {"option_kind": OPEN, "height_mode": "balanced"}]
    kinds += [{"option_kind": PIERS}, {"option_kind": BLOCKS}, {"option_kind": SLAB} | original]
    x, y = turned(CORNER, turn_deg)
    built = changed(
        with_options(demo(), dict(enumerate(kinds))),
        site_x_ft=x,
        site_y_ft=y,
        turn_deg=TURN + turn_deg,
    )
    return on_ground(built, tuple((*p, z) for p, z in zip(places, levels, strict=True)))


def turned(place: tuple[float, float], deg: float) -> tuple[float, float]:
    cos, sin = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return cos * place[0] - sin * place[1], sin * place[0] + cos * place[1]


@cache
def first() -> Mapping[str, Any]:
    return solved(job(PLACES, list(heights())))


def told_otherwise(way: str) -> TypedJob:
    levels = list(heights())
    if way == "datum":
        return changed(
            job(PLACES, [z + 300 for z in levels]), hand_height_ft={0: 400, 1: 400, 4: 400}
        )
    if way == "turned":
        return job([turned(p, 25) for p in PLACES], levels, turn_deg=25)
    if way == "renamed":
        names = {i: f"stake {chr(65 + i)}" for i in range(len(PLACES))}
        return changed(job(PLACES, levels), point_name=names)
    order = np.random.default_rng(1).permutation(len(PLACES)).tolist()
    return job([PLACES[i] for i in order], [levels[i] for i in order])


@pytest.mark.parametrize("way", ["datum", "turned", "renamed", "ordered"])
def test_no_quantity_changes_when_the_same_job_is_told_otherwise(way: str) -> None:
    before, after = first(), solved(told_otherwise(way))
    compared = 0
    for key, item in build_model().quantities.items():
        if item.unit not in QUANTITIES or key.startswith(("triangle_", "dot_", "contour_")):
            continue
        a, b = (np.asarray(values[key]) for values in (before, after))
        if a.dtype.kind == "U":
            continue
        np.testing.assert_allclose(
            b.astype(float), a.astype(float), rtol=1e-7, atol=1e-7, err_msg=key
        )
        compared += 1
    assert compared > 300
