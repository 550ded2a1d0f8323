"""Wood members by allowable stress design (NDS 2018): spans, and use of strength and stiffness.

Plain formulas over floats, arrays or symbolic references: no table is looked up here, every
design value and factor is an argument (``estimator.reference`` has them). A utilisation is
demand over capacity: 1.0 is just allowed, more fails.

Symbols: w load per foot (plf), P point load (lb), L span (ft), b and d dressed width and depth
(in), A area (in2), S section modulus (in3), I moment of inertia (in4), Fb, Fv, Fc_perp, E the
design values and a prime the adjusted ones (psi).
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

Num: TypeAlias = Any
"""A float, an array, or a symbolic reference to a cell: all three go through the same code."""

IN_PER_FT = 12.0


# Section properties (NDS 3.3.2, 3.4.2; NDS Supplement Table 1B)


def section_area_in2(width_in: Num, depth_in: Num) -> Num:
    """Area A = b d, in2."""
    return width_in * depth_in


def section_modulus_in3(width_in: Num, depth_in: Num) -> Num:
    """Section modulus about the strong axis S = b d^2 / 6, in3 (NDS 3.3.2)."""
    return width_in * depth_in * depth_in / 6


def moment_of_inertia_in4(width_in: Num, depth_in: Num) -> Num:
    """Moment of inertia about the strong axis I = b d^3 / 12, in4 (NDS 3.3.2)."""
    return width_in * depth_in * depth_in * depth_in / 12


# Adjusted design values (NDS 2018 Table 4.3.1, allowable stress design)


def adjusted_bending_psi(
    bending_psi: Num,
    load_duration: Num = 1.0,
    wet_service: Num = 1.0,
    size: Num = 1.0,
    repetitive: Num = 1.0,
    incising: Num = 1.0,
) -> Num:
    """Fb' = Fb CD CM CF Cr Ci, psi (NDS 2018 Table 4.3.1).

    Temperature, flat-use and beam-stability factors are taken as 1.0: ordinary temperatures, load
    on the narrow face, compression edge held by the subfloor (NDS 3.3.3, 4.4.1).
    """
    return bending_psi * load_duration * wet_service * size * repetitive * incising


def adjusted_shear_psi(
    shear_psi: Num, load_duration: Num = 1.0, wet_service: Num = 1.0, incising: Num = 1.0
) -> Num:
    """Fv' = Fv CD CM Ci, psi (NDS 2018 Table 4.3.1)."""
    return shear_psi * load_duration * wet_service * incising


def adjusted_bearing_psi(
    bearing_psi: Num, wet_service: Num = 1.0, incising: Num = 1.0, bearing_area: Num = 1.0
) -> Num:
    """Fc_perp' = Fc_perp CM Ci Cb, psi (NDS 2018 Table 4.3.1); load duration does not apply."""
    return bearing_psi * wet_service * incising * bearing_area


def adjusted_modulus_psi(modulus_psi: Num, wet_service: Num = 1.0, incising: Num = 1.0) -> Num:
    """E' = E CM Ci, psi (NDS 2018 Table 4.3.1)."""
    return modulus_psi * wet_service * incising


# Allowable simple span of a uniformly loaded member


def span_by_bending_ft(bending_adj_psi: Num, modulus_in3: Num, load_plf: Num) -> Num:
    """L from M = w L^2 / 8 = Fb' S, ft (NDS 2018 3.3)."""
    return np.sqrt(8 * bending_adj_psi * modulus_in3 / (IN_PER_FT * load_plf))


def span_by_shear_ft(
    shear_adj_psi: Num, area_in2: Num, load_plf: Num, ignored_in: Num = 0.0
) -> Num:
    """L from V = w (L / 2 - x) = 2/3 Fv' A, ft (NDS 2018 3.4.2).

    ``ignored_in`` is x: the depth d where load within d of a support may be left out
    (NDS 3.4.3.1: member bears on its bottom, load on its top), 0 where it may not.
    """
    return 2 * (2 * shear_adj_psi * area_in2 / (3 * load_plf) + ignored_in / IN_PER_FT)


def span_by_deflection_ft(modulus_adj_psi: Num, inertia_in4: Num, load_plf: Num, ratio: Num) -> Num:
    """L from 5 w L^4 / (384 E' I) = L / ratio, ft (NDS 2018 3.5).

    ``ratio`` is 360 with the live load alone, 240 with the total load (IRC R301.7, IBC 1604.3).
    """
    cube_in3 = 384 * modulus_adj_psi * inertia_in4 * IN_PER_FT / (5 * load_plf * ratio)
    return cube_in3 ** (1 / 3) / IN_PER_FT


def span_by_bearing_ft(
    bearing_adj_psi: Num, width_in: Num, bearing_length_in: Num, load_plf: Num
) -> Num:
    """L from R = w L / 2 = Fc_perp' b lb, ft (NDS 2018 3.10)."""
    return 2 * bearing_adj_psi * width_in * bearing_length_in / load_plf


def governing_span_ft(first_ft: Num, *others_ft: Num) -> Num:
    """The least of the spans, ft."""
    least = first_ft
    for other in others_ft:
        least = np.minimum(least, other)
    return least


def joist_span_ft(
    width_in: Num,
    depth_in: Num,
    bending_adj_psi: Num,
    shear_adj_psi: Num,
    bearing_adj_psi: Num,
    modulus_adj_psi: Num,
    live_plf: Num,
    dead_plf: Num,
    bearing_length_in: Num = 1.5,
    live_ratio: Num = 360.0,
    total_ratio: Num = 240.0,
) -> Num:
    """Clear span that a simple-span joist may have, ft: least of bending, shear, bearing, sag.

    Shear leaves out the load within d of the supports (NDS 3.4.3.1). Loads in plf of joist, dead
    load with the joist's own weight; design values adjusted, psi; sizes dressed, in.
    """
    load_plf = live_plf + dead_plf
    inertia_in4 = moment_of_inertia_in4(width_in, depth_in)
    return governing_span_ft(
        span_by_bending_ft(bending_adj_psi, section_modulus_in3(width_in, depth_in), load_plf),
        span_by_shear_ft(shear_adj_psi, section_area_in2(width_in, depth_in), load_plf, depth_in),
        span_by_deflection_ft(modulus_adj_psi, inertia_in4, live_plf, live_ratio),
        span_by_deflection_ft(modulus_adj_psi, inertia_in4, load_plf, total_ratio),
        span_by_bearing_ft(bearing_adj_psi, width_in, bearing_length_in, load_plf),
    )


# Demands on a given span


def moment_lb_ft(load_plf: Num, span_ft: Num, point_lb: Num = 0.0) -> Num:
    """Greatest moment w L^2 / 8 + P L / 4, lb-ft: uniform load, point load at mid-span."""
    return load_plf * span_ft * span_ft / 8 + point_lb * span_ft / 4


def shear_lb(
    load_plf: Num, span_ft: Num, ignored_in: Num = 0.0, point_lb: Num = 0.0, continuity: Num = 1.0
) -> Num:
    """Greatest shear c w L / 2 - w x + P, lb (NDS 2018 3.4.3.1).

    The point load is taken whole, as when it stands just off a support: conservative. x is
    ``ignored_in``, see :func:`span_by_shear_ft`; c is above 1.0 beside the middle supports of a
    member in one piece.
    """
    uniform = load_plf * (continuity * span_ft / 2 - ignored_in / IN_PER_FT)
    return np.maximum(uniform, 0.0) + point_lb


def deflection_in(
    load_plf: Num, span_ft: Num, modulus_adj_psi: Num, inertia_in4: Num, point_lb: Num = 0.0
) -> Num:
    """Sag at mid-span 5 w L^4 / (384 E' I) + P L^3 / (48 E' I), in (NDS 2018 3.5)."""
    span_in = span_ft * IN_PER_FT
    stiffness = modulus_adj_psi * inertia_in4
    cube = span_in * span_in * span_in
    uniform = 5 * (load_plf / IN_PER_FT) * cube * span_in / (384 * stiffness)
    return uniform + point_lb * cube / (48 * stiffness)


def overhang_sag_in(
    load_plf: Num,
    end_lb: Num,
    span_ft: Num,
    overhang_ft: Num,
    modulus_adj_psi: Num,
    inertia_in4: Num,
) -> Num:
    """Sag at the end of an overhang a past a simple span L, the span itself empty, in.

    w a^3 (4 L + 3 a) / (24 E' I) + P a^2 (L + a) / (3 E' I) (statics; NDS 2018 3.5).
    """
    span, past = span_ft * IN_PER_FT, overhang_ft * IN_PER_FT
    uniform = load_plf / IN_PER_FT * past * past * past * (4 * span + 3 * past) / 24
    return (uniform + end_lb * past * past * (span + past) / 3) / (modulus_adj_psi * inertia_in4)


# Utilisations: demand over capacity


def bending_utilisation(moment: Num, modulus_in3: Num, bending_adj_psi: Num) -> Num:
    """fb / Fb' with fb = 12 M / S, M in lb-ft (NDS 2018 3.3.1)."""
    return IN_PER_FT * moment / (modulus_in3 * bending_adj_psi)


def shear_utilisation(shear: Num, area_in2: Num, shear_adj_psi: Num) -> Num:
    """fv / Fv' with fv = 3 V / (2 A), V in lb (NDS 2018 3.4.2)."""
    return 1.5 * shear / (area_in2 * shear_adj_psi)


def deflection_utilisation(sag_in: Num, span_ft: Num, ratio: Num) -> Num:
    """Sag over its limit L / ratio (NDS 2018 3.5.1; IRC R301.7)."""
    return sag_in * ratio / (span_ft * IN_PER_FT)


def bearing_utilisation(
    reaction: Num, width_in: Num, bearing_length_in: Num, bearing_adj_psi: Num
) -> Num:
    """fc_perp / Fc_perp' with fc_perp = R / (b lb), R in lb (NDS 2018 3.10.2)."""
    return reaction / (width_in * bearing_length_in * bearing_adj_psi)
