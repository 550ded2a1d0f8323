"""Screening of a light building in wind: sliding, overturning, uplift. Screening, not design.

The directional method of ASCE 7-16 chapter 27 at mean roof height, whole building rigid, no
torsion, no components: enough to see how many anchors a light shed wants, not enough to size a
building's frame. Wind on a long side and on a gable end are worked out alike, each as the *lift*
of its windward side: what weight and hold-downs of one side must hold. Where wind is strong ask
someone licensed. Coefficients are arguments; their sources stand in ``rules.csv``.
"""

from __future__ import annotations

import numpy as np

from estimator.solve.design import Num

LEAST_CAPACITY = 1.0  # lb: a building that resists nothing fails, without dividing by 0
LEAST_HEIGHT_FT = 15.0
"""Height up to which the pressure is that of 15 ft (ASCE 7-16 Table 26.10-1)."""


def exposure_coefficient(height_ft: Num, at_15_ft: Num, power: Num) -> Num:
    """Kz at a height above ground (ASCE 7-16 Table 26.10-1 with Table 26.11-1).

    Args:
        height_ft: Mean roof height, ft; below 15 ft it is that of 15 ft.
        at_15_ft: Kz at 15 ft: 0.57 (B), 0.85 (C), 1.03 (D).
        power: alpha of the exposure: 7.0 (B), 9.5 (C), 11.5 (D).
    """
    return at_15_ft * (np.maximum(height_ft, LEAST_HEIGHT_FT) / LEAST_HEIGHT_FT) ** (2 / power)


def basic_speed_mph(pressure_psf: Num, constant: float = 0.00256) -> Num:
    """The gust speed V, mph, whose basic pressure q = 0.00256 V^2, psf, is this (Eq. 26.10-1).

    In metric units q = 0.613 V^2, Pa, with V in m/s: 0.75 kPa is 35 m/s.
    """
    return np.sqrt(pressure_psf / constant)


def velocity_pressure_psf(
    speed_mph: Num,
    exposure: Num = 0.85,
    topography: Num = 1.0,
    directionality: Num = 0.85,
    constant: Num = 0.00256,
) -> Num:
    """q = 0.00256 Kz Kzt Kd V^2, psf (ASCE 7-16 Eq. 26.10-1, from memory); V in mph, strength.

    Kzt exceeds 1.0 on a hill or ridge: a sloping lot may be one.
    """
    return constant * exposure * topography * directionality * speed_mph * speed_mph


def wall_pressure_psf(
    velocity_psf: Num,
    coefficient: Num,
    least_psf: Num,
    gust: Num = 0.85,
    allowable_stress: Num = 0.6,
) -> Num:
    """0.6 of G Cp q, windward and leeward together, or of the least pressure, psf.

    ASCE 7-16 Eq. 27.3-1, 27.1.5 (least, 16 psf on walls, 8 psf on a roof's rise) and 2.4.1.
    Without wind (q = 0) there is none.

    Args:
        velocity_psf: q, strength level.
        coefficient: Cp, 0.8 windward and 0.5 leeward together.
        least_psf: Least pressure, strength level.
        gust: Gust factor of a rigid building.
        allowable_stress: Share of the strength-level load, 0.6.
    """
    pressure = np.maximum(gust * coefficient * velocity_psf, least_psf)
    return allowable_stress * np.where(velocity_psf > 0, pressure, 0)


def roof_suction_coefficient(
    height_ft: Num, along_ft: Num, low: Num = 0.9, tall: Num = 1.3, behind: Num = 0.7
) -> Num:
    """Cp of the roof, averaged over its length along the wind (ASCE 7-16 Fig. 27.3-1).

    0.9 where the building is no taller than half its length; where it is as tall as long, 1.3
    within half its height of the windward edge and 0.7 behind; between them in proportion. The
    figure's lower values farther back, and for areas above 100 ft2, are left out (safe).

    Args:
        height_ft: Mean roof height.
        along_ft: Length of the roof along the wind.
        low: Of a low building.
        tall: Of a tall one, near the edge.
        behind: Of a tall one, behind that.
    """
    slender = np.minimum(np.maximum(2 * height_ft / along_ft - 1, 0), 1)
    near = np.minimum(height_ft / (2 * along_ft), 1)
    return low + slender * (near * (tall - low) - (1 - near) * (low - behind))


def uplift_force_lb(
    velocity_psf: Num,
    coefficient: Num,
    roof_ft2: Num,
    inside_ft2: Num,
    eave_ft2: Num,
    inner: Num = 0.18,
    under_eave: Num = 0.8,
    gust: Num = 0.85,
    allowable_stress: Num = 0.6,
) -> Num:
    """Uplift at the allowable-stress level, lb (ASCE 7-16 Eq. 27.3-1, 27.3.3 and 2.4.1).

    Args:
        velocity_psf: q, strength level.
        coefficient: Cp of the roof, suction.
        roof_ft2: Roof in plan, eaves and all.
        inside_ft2: Plan of the building, on which inner pressure pushes up.
        eave_ft2: Eave on the windward side, pushed up from below like the wall under it.
        inner: Inner pressure of an enclosed building; a broken door makes it about 0.55.
        under_eave: Cp under the eave.
        gust: Gust factor.
        allowable_stress: Share of the strength-level load.
    """
    pushed = gust * coefficient * roof_ft2 + inner * inside_ft2 + gust * under_eave * eave_ft2
    return allowable_stress * velocity_psf * pushed


def windward_lift_lb(
    wall_psf: Num,
    wall_ft: Num,
    roof_psf: Num,
    roof_ft2: Num,
    roof_arm_ft: Num,
    uplift_lb: Num,
    across_ft: Num,
    base_ft: Num,
) -> Num:
    """Lift of the windward side before any weight holds it, lb: moments about the lee edge.

    Args:
        wall_psf: Pressure on the wall, allowable-stress level.
        wall_ft: Its height, from the base that the floor stands on to the eaves.
        roof_psf: Pressure on the roof's rise.
        roof_ft2: The roof's rise as seen by the wind.
        roof_arm_ft: Height of its middle above the base.
        uplift_lb: Uplift on the roof, at mid-length.
        across_ft: Length of that wall.
        base_ft: Between outer bearings in the direction of the wind.
    """
    turning = wall_psf * across_ft * wall_ft * wall_ft / 2 + roof_psf * roof_ft2 * roof_arm_ft
    return turning / base_ft + uplift_lb / 2


def hold_down_lb(lift_lb: Num, dead_lb: Num, held_lb: Num = 0.0, dead_share: Num = 0.6) -> Num:
    """Hold-down that a side still needs, lb, or 0: its lift less half of 0.6 D and what holds."""
    return np.maximum(lift_lb - dead_share * dead_lb / 2 - held_lb, 0.0)


def friction_lb(dead_lb: Num, uplift_lb: Num, friction: Num, dead_share: Num = 0.6) -> Num:
    """What friction holds: mu (0.6 D - U) where positive, lb.

    ``dead_lb`` is the empty building, dry; friction of wood on stone, or 0 on smooth bases.
    """
    return friction * np.maximum(dead_share * dead_lb - uplift_lb, 0.0)


def anchors_a_side(
    hold_lb: Num, slide_lb: Num, anchor_lb: Num, length_ft: Num, apart_ft: Num, end_ft: Num
) -> Num:
    """Anchors on each long side: for hold-down and half of the sliding, together; 0 or 2 or more.

    Where any is needed they stand no farther apart than ``apart_ft``, the outer ones within
    ``end_ft`` of the ends (77 Ill. Adm. Code 870.220, a rule for anchored homes).

    Args:
        hold_lb: Hold-down that the side needs.
        slide_lb: Hold against sliding that the building needs.
        anchor_lb: Working load of an anchor.
        length_ft: Length of the side.
        apart_ft: Most distance between anchors.
        end_ft: Most distance from an end.
    """
    share = hold_lb + slide_lb / 2
    by_force = np.ceil(share / np.maximum(anchor_lb, LEAST_CAPACITY))
    by_place = np.ceil(np.maximum(length_ft - 2 * end_ft, 0) / apart_ft) + 1
    return np.where(share > 0, np.maximum(np.maximum(by_force, by_place), 2), 0)


def use(demand_lb: Num, held_lb: Num) -> Num:
    """Demand over all that holds it: a share, over 1.0 where it does not hold."""
    return demand_lb / np.maximum(held_lb, LEAST_CAPACITY)
