"""Surveys of ground that bends or breaks, drawn by a seed, and how often their slips are named."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from estimator.solve.mesh import outline, triangulate
from estimator.solve.surface import Ground, fit_ground

Floats = NDArray[np.float64]

GROUNDS = ("plane", "ridge", "valley", "bank", "saddle")
CROSSED = "crossed"
"""A ridge that meets a valley."""
TERRACE = "terrace"
"""Two banks that run alongside each other, about the middle of the readings."""
DRAWN = (*GROUNDS, CROSSED, TERRACE)
LAYOUTS = ("grid", "scattered")
NOISE_FT, SLIP_FT = 0.05, 1.0
"""Of rod and grass, and of a foot misread; rod readings are written to a hundredth."""


@dataclass(frozen=True, slots=True)
class Survey:
    """Places (n, 2) and heights (n,) in ft, and the readings that others surround."""

    points_ft: Floats
    heights_ft: Floats
    inside: tuple[int, ...]

    def ground(self, slips: Sequence[tuple[int, float]] = ()) -> Ground:
        """Its surface, with some readings off by so many ft."""
        heights = self.heights_ft.copy()
        for place, off in slips:
            heights[place] += off
        return fit_ground(self.points_ft, heights, [label(i) for i in range(len(heights))])


def label(place: int) -> str:
    return f"Q{place}"


def turned(points: Floats, deg: float) -> Floats:
    t = np.deg2rad(deg)
    return np.asarray(points @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]]))


def _grid(rng: np.random.Generator, step: float) -> Floats:
    columns = int(rng.integers(5, 8))
    rows = int(rng.integers(4, 6 if columns > 6 else 7))
    x, y = np.meshgrid(np.arange(columns) * step, np.arange(rows) * step)
    return np.stack([x.ravel(), y.ravel()], axis=1)


def _scattered(rng: np.random.Generator, step: float) -> Floats:
    """Places of 20 to 40 at least half a step apart, on a lot that has a square step for each."""
    count = int(rng.integers(20, 41))
    found: list[Floats] = []
    side = step * np.sqrt(count)
    while len(found) < count:
        place = rng.uniform(0, side, 2)
        if all(np.hypot(*(place - other)) >= step / 2 for other in found):
            found.append(place)
    return np.round(np.array(found), 1)


def _heights(ground: str, rng: np.random.Generator, points: Floats) -> Floats:
    """A plane that falls up to 8 %, and over it the shape, which lies at any angle."""
    middle = points.mean(axis=0)
    half = float(np.ptp(points, axis=0).min()) / 2
    u, v = (turned(points - middle, rng.uniform(0, 180)) + rng.uniform(-0.4, 0.4, 2) * half).T
    side = rng.uniform(0.08, 0.2)
    rise, wide = rng.uniform(2, 4), rng.uniform(3, 8)
    bend = rng.uniform(2, 4) / half**2
    shapes: dict[str, Floats] = {
        "plane": 0 * u,
        "ridge": -side * np.abs(u),
        "valley": side * np.abs(u),
        "bank": rise * np.clip(u / wide, -0.5, 0.5),
        "saddle": bend * (u**2 - v**2),
        CROSSED: side * (np.abs(v) - np.abs(u)),
        TERRACE: rise
        * sum(np.clip((u - np.median(u) - at * half) / wide, -0.5, 0.5) for at in (-0.25, 0.25)),
    }
    return np.asarray(shapes[ground] + points @ rng.uniform(-0.08, 0.08, 2))


def drawn(ground: str, layout: str, seed: int, noise_ft: float = NOISE_FT) -> Survey:
    """A survey of 20 to 40 readings, 8 to 15 ft apart; the same for the same seed."""
    rng = np.random.default_rng([DRAWN.index(ground), LAYOUTS.index(layout), seed])
    step = float(rng.uniform(8, 15))
    lay: Callable[[np.random.Generator, float], Floats] = _grid if layout == "grid" else _scattered
    points = lay(rng, step)
    heights = 100 + _heights(ground, rng, points) + rng.normal(0, noise_ft, len(points))
    if noise_ft:
        heights = np.round(heights, 2)
    rim = set(outline(triangulate(points - points.mean(axis=0), heights)[2]).tolist())
    return Survey(points, heights, tuple(i for i in range(len(points)) if i not in rim))


@dataclass(frozen=True, slots=True)
class Rates:
    """Of how many surveys, in how many a sound reading was named, and how slips went.

    A slip is named if the reading that bears it is, and asked for if a check reading is wanted
    there; ``others`` counts surveys with a slip in which a sound reading was named too.
    """

    surveys: int
    false_alarms: int
    checks_asked: int
    slips: int
    named: int
    asked: int
    others: int

    def __add__(self, other: Rates) -> Rates:
        return Rates(
            self.surveys + other.surveys,
            self.false_alarms + other.false_alarms,
            self.checks_asked + other.checks_asked,
            self.slips + other.slips,
            self.named + other.named,
            self.asked + other.asked,
            self.others + other.others,
        )


NONE = Rates(0, 0, 0, 0, 0, 0, 0)
Finds = Callable[[Ground], tuple[list[str], list[str]]]
"""Names of the readings to read again, and of those to take a check reading at."""


def rates(
    finds: Finds,
    ground: str,
    layout: str,
    seeds: Sequence[int],
    slips: Literal["each", "one", "none"] = "one",
) -> Rates:
    """How often slips of a foot are named in surveys of these seeds, as a rule one in each."""
    found = NONE
    for seed in seeds:
        survey = drawn(ground, layout, seed)
        rng = np.random.default_rng(seed)
        again, check = finds(survey.ground())
        places = {"each": survey.inside, "none": (), "one": (int(rng.choice(survey.inside)),)}
        named = asked = others = 0
        for place in places[slips]:
            names, checks = finds(survey.ground([(place, SLIP_FT * float(rng.choice([-1, 1])))]))
            named += label(place) in names
            asked += label(place) in checks
            others += bool(set(names) - {label(place)})
        found += Rates(1, bool(again), bool(check), len(places[slips]), named, asked, others)
    return found
