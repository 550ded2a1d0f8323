"""Screening of a light building in wind: sliding, overturning, uplift. Screening, not design.

One pressure on one wall and one suction on the roof, whole building rigid, no torsion, no
components: enough to see that a light shed wants anchors, not enough to size a building's frame.
Where a ratio exceeds 1.0 anchor it, and ask someone licensed where wind is strong. Coefficients
are arguments; those of ``rules.csv`` are from memory of ASCE 7-16.
"""

from __future__ import annotations

import numpy as np

from estimator.solve.design import Num

LEAST_CAPACITY = 1.0  # lb or lb-ft: a building that resists nothing fails, without dividing by 0


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


def wind_force_lb(
    pressure_psf: Num, coefficient: Num, area_ft2: Num, allowable_stress: Num = 0.6
) -> Num:
    """Force on an area at the allowable-stress level, 0.6 q C A, lb (ASCE 7-16 2.4.1)."""
    return allowable_stress * pressure_psf * coefficient * area_ft2


def sliding_capacity_lb(
    dead_lb: Num, uplift_lb: Num, friction: Num, anchor_lb: Num = 0.0, dead_share: Num = 0.6
) -> Num:
    """What holds against sliding: mu (0.6 D - U) where positive, plus anchors, lb."""
    return friction * np.maximum(dead_share * dead_lb - uplift_lb, 0.0) + anchor_lb


def sliding_ratio(
    force_lb: Num,
    dead_lb: Num,
    uplift_lb: Num,
    friction: Num,
    anchor_lb: Num = 0.0,
    dead_share: Num = 0.6,
) -> Num:
    """Wind force over what holds against sliding; over 1.0 it may slide (screening).

    ``dead_lb`` is the empty building; friction of wood on stone, or 0 on smooth bases.
    """
    held = sliding_capacity_lb(dead_lb, uplift_lb, friction, anchor_lb, dead_share)
    return force_lb / np.maximum(held, LEAST_CAPACITY)


def overturning_ratio(
    force_lb: Num,
    arm_ft: Num,
    uplift_lb: Num,
    dead_lb: Num,
    base_ft: Num,
    anchor_lb: Num = 0.0,
    dead_share: Num = 0.6,
) -> Num:
    """Overturning over resisting moment about the lee edge (screening).

    Args:
        force_lb: Wind force on the wall.
        arm_ft: Height of its middle above the bottom of the base.
        uplift_lb: Roof suction, at mid-width.
        dead_lb: Weight of the empty building with its floor and skids, at mid-width.
        base_ft: Width between outer supports in the direction of the wind.
        anchor_lb: Hold-down of the windward side.
        dead_share: Share of the dead load that may resist, 0.6 (ASCE 7-16 2.4.1).
    """
    overturning = force_lb * arm_ft + uplift_lb * base_ft / 2
    resisting = dead_share * dead_lb * base_ft / 2 + anchor_lb * base_ft
    return overturning / np.maximum(resisting, LEAST_CAPACITY)


def uplift_ratio(uplift_lb: Num, dead_lb: Num, anchor_lb: Num = 0.0, dead_share: Num = 0.6) -> Num:
    """Roof suction over 0.6 D plus hold-downs (screening)."""
    return uplift_lb / np.maximum(dead_share * dead_lb + anchor_lb, LEAST_CAPACITY)


def sliding_anchor_lb(
    force_lb: Num, dead_lb: Num, uplift_lb: Num, friction: Num, dead_share: Num = 0.6
) -> Num:
    """Horizontal hold that anchors must add so that the building does not slide, lb, or 0."""
    held = sliding_capacity_lb(dead_lb, uplift_lb, friction, 0.0, dead_share)
    return np.maximum(force_lb - held, 0.0)


def hold_down_lb(
    force_lb: Num,
    arm_ft: Num,
    uplift_lb: Num,
    dead_lb: Num,
    base_ft: Num,
    dead_share: Num = 0.6,
) -> Num:
    """Hold-down needed on each long side against overturning and uplift, lb, or 0 (screening).

    Arguments as in :func:`overturning_ratio`; uplift is shared by the two sides, and the wind may
    come from either.
    """
    net = (uplift_lb - dead_share * dead_lb) / 2
    return np.maximum(force_lb * arm_ft / base_ft + net, 0.0)
