"""Bearing: what soils are presumed to carry, and footings sized by it."""

from __future__ import annotations

from functools import partial

from estimator.reference import rule, soil, value
from estimator.solve.bearing import footing_diameter_in, footing_side_in
from validated.case import BEARING, Case, Group, half

DECK_FOOTINGS = {
    40: (14, 16), 60: (17, 19), 80: (20, 22), 100: (22, 25), 120: (24, 27), 140: (26, 29),
    160: (28, 31),
}  # fmt: skip
"""Side and diameter in inches by the area of deck that a footing carries, ft2."""

ROUND_FOOTINGS_LB = """
12 2300 1500 1100
13 2700 1800 1300
14 3200 2100 1600
15 3600 2400 1800
16 4100 2700 2000
17 4700 3100 2300
18 5300 3500 2600
19 5900 3900 2900
20 6500 4300 3200
21 7200 4800 3600
22 7900 5200 3900
23 8600 5700 4300
"""

SOILS = {
    "bedrock": (12000, 1200, 0.70),
    "layered rock": (4000, 400, 0.35),
    "gravel": (3000, 200, 0.35),
    "sand": (2000, 150, 0.25),
}
OF_SOILS = ("presumptive_bearing_psf", "lateral_bearing_psf_ft", "sliding_coefficient")
OTHER_SOILS = (
    ("clay", "presumptive_bearing_psf", 1500),
    ("clay", "lateral_bearing_psf_ft", 100),
    ("clay", "cohesion_psf", 130),
    ("unprepared fill", "presumptive_bearing_psf", 0),
)


def deck_footing_in(area_ft2: float, *, square: bool) -> float:
    clay = value("soils", material="clay", property="presumptive_bearing_psf")
    size = footing_side_in if square else footing_diameter_in
    return float(size(50.0 * area_ft2, clay))


def carried_lb(diameter_in: float, bearing_psf: float) -> float:
    """Load for which the product asks for a round footing of just this width."""
    return (diameter_in / float(footing_diameter_in(1.0, bearing_psf))) ** 2


GROUPS = (
    Group(
        BEARING,
        "Round footings",
        "A deck builders' page on footings: loads on gravel, sand and clay of 3,000, 2,000 and "
        "1,500 psf",
        "read in a stored copy of the page",
        "lb",
        (-0.5, 100),
        tuple(
            Case(f"{row[0]} in on {psf} psf", float(load), partial(carried_lb, float(row[0]), psf))
            for row in map(str.split, ROUND_FOOTINGS_LB.strip().splitlines())
            for psf, load in zip((3000, 2000, 1500), row[1:], strict=True)
        ),
        places=0,
        note="The page prints the hundred pounds below.",
    ),
    Group(
        BEARING,
        "Deck footings",
        "IRC Table R507.3.1 (2018), 1,500 psf soil, 40 psf live, 10 psf dead",
        "from memory",
        "in",
        half(1),
        tuple(
            Case(
                f"{area} ft2 of deck, {'square' if square else 'round'}",
                sizes[0 if square else 1],
                partial(deck_footing_in, area, square=square),
            )
            for area, sizes in DECK_FOOTINGS.items()
            for square in (True, False)
        ),
    ),
    Group(
        BEARING,
        "Presumptive values of soils",
        "IRC Table R401.4.1 and IBC (2012) Table 1806.2",
        "read in transcriptions",
        "psf, psf per ft, share",
        (0, 0),
        (
            *(
                Case(f"{name}, `{of}`", printed[i], partial(soil, name, of))
                for name, printed in SOILS.items()
                for i, of in enumerate(OF_SOILS)
            ),
            *(
                Case(f"{name}, `{of}`", printed, partial(soil, name, of))
                for name, of, printed in OTHER_SOILS
            ),
        ),
        looked_up=True,
    ),
    Group(
        BEARING,
        "Masonry piers",
        "IRC R606.7 (2018): height over least width",
        "read in a copy of the code",
        "ratio",
        (0, 0),
        (
            Case("solid", 10, partial(rule, "pier_height_ratio_solid")),
            Case("hollow, unfilled", 4, partial(rule, "pier_height_ratio_hollow")),
        ),
        looked_up=True,
    ),
)
