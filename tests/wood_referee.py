"""Wood members worked out whole, by plain numbers, for tests to hold rows of the model against."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

from estimator.solve import design

Num: TypeAlias = Any


def wet_bending_factor(
    bending_psi: Num, size_factor: Num, wet: Num, factor: Num = 0.85, threshold_psi: Num = 1150.0
) -> Num:
    """Wet-service factor for bending, 1.0 where dry or where Fb CF is at most the threshold.

    NDS Supplement Tables 4A and 4B, wet service. ``wet`` is 1 where moisture in service exceeds
    19 percent, 0 elsewhere.
    """
    reduced = np.where(bending_psi * size_factor > threshold_psi, factor, 1.0)
    return 1.0 + wet * (reduced - 1.0)


def wet_factor(wet: Num, factor: Num) -> Num:
    """Wet-service factor of the other design values: ``factor`` where ``wet`` is 1, else 1.0."""
    return 1.0 + wet * (factor - 1.0)


def load_per_ft_plf(load_psf: Num, tributary_ft: Num) -> Num:
    """Load per foot of member w = q x tributary width, plf; a joist's is its spacing / 12."""
    return load_psf * tributary_ft


def support_load_lb(
    load_psf: Num,
    across_ft: Num,
    along_ft: Num,
    wall_plf: Num = 0.0,
    wall_ft: Num = 0.0,
    own_lb: Num = 0.0,
    continuity: Num = 1.0,
) -> Num:
    """Load on one pier or block by tributary area, lb.

    Args:
        load_psf: Live and dead load of the floor (and of a roof carried in the middle).
        across_ft: Tributary width across the beam.
        along_ft: Tributary length along the beam.
        wall_plf: Weight of wall and roof on an edge, per foot.
        wall_ft: Length of that edge on this support; 0 inside.
        own_lb: Beam, pier and anything else.
        continuity: What a middle support bears over two simple spans: 1.25 under a beam in one
            piece over two equal spans, less over more (statics of continuous beams).
    """
    return continuity * (load_psf * across_ft * along_ft + wall_plf * wall_ft) + own_lb


def reaction_lb(
    load_plf: Num, left_ft: Num, right_ft: Num, point_lb: Num = 0.0, continuity: Num = 1.25
) -> Num:
    """Load that a beam lays on one support, c w (left + right) / 2 + P, lb.

    Simple spans are safe for the beam's moment but not for its middle supports: a beam in one
    piece over two equal spans bears 1.25 times as much there as two simple spans would, over
    three 1.10, over more at most 1.15 (statics of continuous beams). ``continuity`` is 1.0 only
    where the beam is cut over every support, and at ends.
    """
    return continuity * load_plf * (left_ft + right_ft) / 2 + point_lb


def member_utilisation(
    width_in: Num,
    depth_in: Num,
    bending_adj_psi: Num,
    shear_adj_psi: Num,
    bearing_adj_psi: Num,
    modulus_adj_psi: Num,
    span_ft: Num,
    live_plf: Num,
    dead_plf: Num,
    point_lb: Num = 0.0,
    bearing_length_in: Num = 1.5,
    live_ratio: Num = 360.0,
    total_ratio: Num = 240.0,
    ignored_in: Num = 0.0,
    continuity: Num = 1.0,
) -> Num:
    """Greatest utilisation of a simple span in bending, shear, bearing and both deflections.

    Arguments as in :func:`design.joist_span_ft`; ``point_lb`` is a mower or a safe carried by this
    one member alone, at mid-span for bending and sag, at the support for shear and bearing. For
    ``continuity`` see :func:`reaction_lb`; bearing is checked at the support with
    ``span_ft`` on one side (an end), or on both where ``continuity`` exceeds 1.0 by the caller's
    own :func:`design.bearing_utilisation`.
    """
    load_plf = live_plf + dead_plf
    inertia_in4 = design.moment_of_inertia_in4(width_in, depth_in)
    modulus_in3 = design.section_modulus_in3(width_in, depth_in)
    area_in2 = design.section_area_in2(width_in, depth_in)
    end_lb = load_plf * span_ft / 2 + point_lb
    live_in = design.deflection_in(live_plf, span_ft, modulus_adj_psi, inertia_in4, point_lb)
    total_in = design.deflection_in(load_plf, span_ft, modulus_adj_psi, inertia_in4, point_lb)
    moment = design.moment_lb_ft(load_plf, span_ft, point_lb)
    shear = design.shear_lb(load_plf, span_ft, ignored_in, point_lb, continuity)
    strength = np.maximum(
        design.bending_utilisation(moment, modulus_in3, bending_adj_psi),
        design.shear_utilisation(shear, area_in2, shear_adj_psi),
    )
    stiffness = np.maximum(
        design.deflection_utilisation(live_in, span_ft, live_ratio),
        design.deflection_utilisation(total_in, span_ft, total_ratio),
    )
    bearing = design.bearing_utilisation(end_lb, width_in, bearing_length_in, bearing_adj_psi)
    return np.maximum(np.maximum(strength, stiffness), bearing)
