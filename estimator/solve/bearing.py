"""Loads on the ground: tributary loads, footings, blocks and skids on stone.

Plain formulas over floats, arrays or symbolic references. Presumptive bearing values (IRC Table
R401.4.1) hold on undisturbed soil only: nothing here makes a fill acceptable.
"""

from __future__ import annotations

import numpy as np

from estimator.solve.design import IN_PER_FT, Num

IN2_PER_FT2 = 144.0


def overhang_tributary_ft(span_ft: Num, overhang_ft: Num, lever: Num = 1.0) -> Num:
    """Width of floor on an edge beam whose joists run on past it, L / 2 + a + c a^2 / (2 L), ft.

    Statics of a span L with an overhang a, all of it loaded. ``lever`` is c, what a moment at the
    end adds to the end support: 1 for a simple span, when it is (L + a)^2 / (2 L); more where
    the joists run on over further spans (``continuous.Continuity.lever``).
    """
    return span_ft / 2 + overhang_ft + lever * overhang_ft * overhang_ft / (2 * span_ft)


def footing_side_in(load_lb: Num, bearing_psf: Num) -> Num:
    """Side of a square footing, sqrt(P / q), in (presumptive bearing: IRC Table R401.4.1)."""
    return IN_PER_FT * np.sqrt(load_lb / bearing_psf)


def footing_diameter_in(load_lb: Num, bearing_psf: Num) -> Num:
    """Diameter of a round footing, sqrt(4 P / (pi q)), in (IRC Table R401.4.1)."""
    return IN_PER_FT * np.sqrt(4 * load_lb / (np.pi * bearing_psf))


def footing_diameter_under_soil_in(
    load_lb: Num,
    bearing_psf: Num,
    pier_in: Num,
    above_in: Num,
    depth_in: Num,
    thick_in: Num,
    concrete_lb_ft3: Num,
    soil_lb_ft3: Num,
) -> Num:
    """Diameter of a round footing that also carries itself, its pier and the soil over it, in.

    q A = P + pier + A (thick x concrete + cover x soil) - pier's area x cover x soil, solved for A
    (statics; presumptive bearing: IRC Table R401.4.1).

    Args:
        load_lb: Load on the pier, P.
        bearing_psf: What the soil may carry in all, q.
        pier_in: Diameter of the pier.
        above_in: Pier above ground.
        depth_in: Bottom of the footing below ground.
        thick_in: Thickness of the footing; cover is the depth less it.
    """
    pier_ft2 = np.pi / 4 * (pier_in / IN_PER_FT) * (pier_in / IN_PER_FT)
    cover_ft = (depth_in - thick_in) / IN_PER_FT
    pier_psf = (above_in / IN_PER_FT + cover_ft) * concrete_lb_ft3 - cover_ft * soil_lb_ft3
    own_psf = thick_in / IN_PER_FT * concrete_lb_ft3 + cover_ft * soil_lb_ft3
    left_psf = np.maximum(bearing_psf - own_psf, 1.0)
    return footing_diameter_in(load_lb + pier_ft2 * pier_psf, left_psf)


def footing_thickness_in(footing_in: Num, pier_in: Num, least_in: Num = 6.0) -> Num:
    """Thickness of a plain footing: its projection past the pier, at least ``least_in``, in.

    IRC R403.1.1: projection not over the thickness (from memory), thickness at least 6 in.
    """
    return np.maximum((footing_in - pier_in) / 2, least_in)


def round_pressure_psf(load_lb: Num, diameter_in: Num) -> Num:
    """Pressure under a round footing, psf."""
    return load_lb * 4 * IN2_PER_FT2 / (np.pi * diameter_in * diameter_in)


def pad_pressure_psf(load_lb: Num, width_in: Num, length_in: Num) -> Num:
    """Pressure under a rectangular block or footing, psf."""
    return load_lb * IN2_PER_FT2 / (width_in * length_in)


def spread_in(size_in: Num, depth_in: Num, slope: Num = 0.5) -> Num:
    """Side of the loaded area at the bottom of a stone layer, in.

    Pressure spreads 2 down to 1 out on each side (common practice, no source), but never past
    the stone: the caller holds it to the size of the stone pad.
    """
    return size_in + 2 * slope * depth_in


def skid_pressure_psf(load_plf: Num, skid_width_in: Num) -> Num:
    """Pressure on the stone under a skid bedded all along, w / b, psf."""
    return load_plf * IN_PER_FT / skid_width_in


def skid_point_pressure_psf(
    load_plf: Num, point_lb: Num, skid_width_in: Num, skid_depth_in: Num, contact_in: Num = 1.5
) -> Num:
    """Pressure on the stone under a point load on a skid, psf.

    The point load spreads at 45 degrees through the skid, over contact + 2 d, on top of the
    uniform pressure: conservative, a stiff skid spreads it further (common practice, no source).
    """
    return skid_pressure_psf(load_plf, skid_width_in) + pad_pressure_psf(
        point_lb, skid_width_in, contact_in + 2 * skid_depth_in
    )


def skid_pressure_on_soil_psf(
    load_plf: Num, skid_width_in: Num, stone_in: Num, skid_spacing_in: Num, slope: Num = 0.5
) -> Num:
    """Pressure on the soil under a long skid on a stone layer, psf; stone's own weight apart.

    Spread across the skid only, and no wider than the skids' spacing, where strips meet.
    """
    width_in = np.minimum(spread_in(skid_width_in, stone_in, slope), skid_spacing_in)
    return load_plf * IN_PER_FT / width_in


def skid_moment_lb_ft(
    load_plf: Num, joist_spacing_ft: Num, soft_ft: Num, point_lb: Num = 0.0
) -> Num:
    """Moment in a skid on stone, lb-ft, conservative.

    Joists load the skid at points, stone carries it all along: turned over it is a beam over the
    joists with the stone's pressure as load, at most w s^2 / 8 for simple spans of the joist
    spacing s. It must also bridge a soft spot, a simple span of ``soft_ft`` with the point load
    in its middle. The longer of the two governs; the point load is taken on either.
    """
    span_ft = np.maximum(joist_spacing_ft, soft_ft)
    return load_plf * span_ft * span_ft / 8 + point_lb * span_ft / 4


def skid_shear_lb(load_plf: Num, joist_spacing_ft: Num, soft_ft: Num, point_lb: Num = 0.0) -> Num:
    """Shear in a skid on stone, w s / 2 + P, lb; spans as in :func:`skid_moment_lb_ft`."""
    return load_plf * np.maximum(joist_spacing_ft, soft_ft) / 2 + point_lb
