"""Wind: pressures and coefficients."""

from __future__ import annotations

from functools import partial

from estimator.reference import rule
from estimator.solve import wind
from validated.case import WIND, Case, Group, half

EXPOSURES = (("B", 15, 0.57), ("B", 30, 0.70), ("C", 15, 0.85), ("C", 30, 0.98), ("D", 30, 1.16))
READ_EXPOSURES = (("B", 30), ("C", 30))
ROOFS = ((6, 12, 0.9), (12, 12, 1.0), (9, 12, 0.9125), (24, 12, 1.3), (5, 40, 0.9))
"""Mean roof height and length along the wind, ft, and suction averaged over the roof."""


def exposure(name: str, height_ft: float) -> float:
    at_15_ft, power = (rule(f"wind_{of}_{name.lower()}") for of in ("exposure", "power"))
    return float(wind.exposure_coefficient(height_ft, at_15_ft, power))


def exposures(*, read: bool) -> tuple[Case, ...]:
    return tuple(
        Case(f"exposure {name}, {height} ft", printed, partial(exposure, name, height))
        for name, height, printed in EXPOSURES
        if ((name, height) in READ_EXPOSURES) == read
    )


def pressure_psf() -> float:
    """As the rows of the workbook reckon it, with the constants of the reference table."""
    return float(
        wind.velocity_pressure_psf(
            115.0,
            rule("wind_exposure_c"),
            1.0,
            rule("wind_directionality"),
            rule("wind_pressure_constant"),
        )
    )


GROUPS = (
    Group(
        WIND,
        "Exposure coefficients",
        "ASCE 7-16 Table 26.10-1",
        "read in a transcription of ASCE 7-10, which prints the same",
        "Kz",
        (-0.006, 0.006),
        exposures(read=True),
        places=4,
        note="To the print's two decimals, of the coefficient at 15 ft and of this one.",
    ),
    Group(
        WIND,
        "Exposure coefficients, other cells",
        "ASCE 7-16 Table 26.10-1",
        "from memory",
        "Kz",
        (-0.006, 0.006),
        exposures(read=False),
        places=4,
    ),
    Group(
        WIND,
        "Velocity pressure at 115 mph in open country",
        "ASCE 7-16 Eq. 26.10-1: 0.00256 x 0.85 x 0.85 x 115^2",
        "from memory",
        "psf",
        half(0.01),
        (Case("exposure C, 15 ft", 24.46, pressure_psf),),
        places=4,
    ),
    Group(
        WIND,
        "Roof suction of low and tall buildings",
        "ASCE 7-16 Figure 27.3-1: 0.9 to h/L 1/2; 1.3 over h/2 and 0.7 behind it from h/L 1",
        "worked by hand from coefficients read in a transcription of ASCE 7-10",
        "Cp",
        (-1e-9, 1e-9),
        tuple(
            Case(
                f"{height} ft high, {along} ft along the wind",
                printed,
                lambda h=height, a=along: float(wind.roof_suction_coefficient(h, a)),
            )
            for height, along, printed in ROOFS
        ),
        places=4,
    ),
    Group(
        WIND,
        "Overturning of a light shed",
        "10 psf on a wall 12 by 8 ft and on 24 ft2 of roof at 9 ft, 500 lb of uplift, 10 ft base",
        "worked by hand",
        "lb",
        (-1e-9, 1e-9),
        (
            Case(
                "lift of the windward side",
                850,
                lambda: float(wind.windward_lift_lb(10.0, 8.0, 10.0, 24.0, 9.0, 500.0, 12.0, 10.0)),
            ),
            Case(
                "anchors' share of it under 2,000 lb of building",
                250,
                lambda: float(wind.hold_down_lb(850.0, 2000.0)),
            ),
        ),
    ),
    Group(
        WIND,
        "Tested ground anchors",
        "77 Ill. Adm. Code 870.200",
        "read",
        "lb",
        (0, 0),
        (
            Case("working load", 3150, partial(rule, "anchor_tested_lb")),
            Case("tested to", 4725, partial(rule, "anchor_tested_ultimate_lb")),
        ),
        looked_up=True,
    ),
)
