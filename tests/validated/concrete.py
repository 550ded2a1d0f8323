"""Concrete: volumes, bags, steel, strength."""

from __future__ import annotations

import math
from functools import partial

from jobs import at, changed, demo, on_flat, one_option, solved

from estimator.model.kinds import PIERS
from estimator.reference import value
from estimator.solve import steps
from validated.case import CONCRETE, Case, Group, half

BARS = {
    "#3": (0.375, 0.11, 0.376),
    "#4": (0.500, 0.20, 0.668),
    "#5": (0.625, 0.31, 1.043),
    "#6": (0.750, 0.44, 1.502),
    "#7": (0.875, 0.60, 2.044),
    "#8": (1.000, 0.79, 2.670),
}
OF_BARS = ("diameter_in", "area_in2", "weight_lb_ft")
BAGS = {"40 lb": (0.30, 90), "60 lb": (0.45, 60), "80 lb": (0.60, 45)}
BAG_REMEMBERED = {"50 lb": (0.375, 72)}
STRENGTHS = {
    "vertical, exposed": (2500, 3000, 3000),
    "porches, steps and garage floors": (2500, 3000, 3500),
}
WEATHERING = ("negligible", "moderate", "severe")


def tube_in3() -> float:
    """Concrete of one pier of the whole model, 8 ft of an 8 in tube."""
    job = changed(demo(), frost_depth_in=0)
    pier = {"pier_diameter_in": 8, "footing_diameter_in": 8, "least_depth_in": 80}
    values = solved(on_flat(one_option(PIERS, job, clear_above_in=16, supports_per_row=2, **pier)))
    return at(values, "concrete_yd3") * 27 * 1728 / 4


def of(item: str, size: str, name: str) -> float:
    return value("concrete", item=item, size=size, property=name)


def bags(printed: dict[str, tuple[float, int]]) -> tuple[Case, ...]:
    return tuple(
        case
        for bag, (yields, a_yard) in printed.items()
        for case in (
            Case(f"{bag}, ft3 a bag", yields, partial(of, "bag", bag, "yield_ft3")),
            Case(f"{bag}, bags a yard", a_yard, lambda b=bag: 27 / of("bag", b, "yield_ft3")),
        )
    )


GROUPS = (
    Group(
        CONCRETE,
        "A pier of the workbook, 8 ft of an 8 in tube",
        "pi / 4 x 8^2 x 96",
        "worked by hand",
        "in3",
        half(0.1),
        (Case("concrete", 4825.5, tube_in3),),
    ),
    Group(
        CONCRETE,
        "A footing of 10 in, 12 in deep",
        "pi / 4 x (10 / 12)^2 x 1",
        "worked by hand",
        "ft3",
        half(0.0001),
        (Case("concrete", 0.5454, lambda: float(steps.footing_ft3(10.0, 12.0))),),
        places=5,
    ),
    Group(
        CONCRETE,
        "Bags of mix",
        "makers' data sheets, 0.15 ft3 for each 20 lb",
        "read second-hand, in Civilsir, How Many Cubic Feet Are in a Bag of Concrete",
        "ft3, bags",
        (-1e-9, 1e-9),
        bags(BAGS),
        looked_up=True,
        places=3,
    ),
    Group(
        CONCRETE,
        "Bags of mix, 50 lb",
        "makers' data sheets",
        "from memory",
        "ft3, bags",
        (-1e-9, 1e-9),
        bags(BAG_REMEMBERED),
        looked_up=True,
        places=3,
    ),
    Group(
        CONCRETE,
        "Steel bars",
        "ASTM A615 Table 1",
        "read in three transcriptions that agree",
        "in, in2, lb/ft",
        (0, 0),
        tuple(
            Case(f"{bar}, `{name}`", printed[i], partial(of, "rebar", bar, name))
            for bar, printed in BARS.items()
            for i, name in enumerate(OF_BARS)
        ),
        looked_up=True,
        places=3,
    ),
    Group(
        CONCRETE,
        "Strength in the weather",
        "IRC Table R402.2",
        "read in Code Check Building, Table 6",
        "psi",
        (0, 0),
        tuple(
            Case(
                f"{where}, {weather} weathering",
                psi,
                partial(of, "concrete", f"{where}, {weather} weathering", "strength_psi"),
            )
            for where, printed in STRENGTHS.items()
            for weather, psi in zip(WEATHERING, printed, strict=True)
        ),
        looked_up=True,
        places=0,
    ),
    Group(
        CONCRETE,
        "Tube forms",
        "pi d2 / 4 by one foot",
        "worked by hand",
        "ft3/ft",
        half(0.0001),
        tuple(
            Case(
                f"{size} in",
                round(math.pi * (size / 24) ** 2, 4),
                partial(of, "tube form", f"{size} in", "volume_ft3_ft"),
            )
            for size in (8, 10, 12, 24)
        ),
        looked_up=True,
        places=6,
    ),
)
