"""Of the sheet Lumber: the end joists, which carry the end walls and, where it rests there, the roof."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import OK, check
from estimator.model.kinds import SUPPORTS, where_kind
from estimator.rows import Chapter
from estimator.solve import design
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, as_text, join

END_LINES = Chapter()
BENDING = "NDS 2018 3.3.1, simple span or cantilever"
SHEAR = "NDS 2018 3.4.2, and 3.4.3.1: without the load within its depth of the support"
SAG = "NDS 2018 3.5.1; limits of IRC R301.7 on Factors"
BEARING = "NDS 2018 3.10.2"

END_LINES.section("End joists, under the end walls: uses are those of one joist alone")


@END_LINES.row(
    "Load on an end line",
    "plf",
    fmt="0",
    source="Load by area: half a bay of floor, the end wall, and the roof where it rests there",
)
def end_load_plf(floor_framed: Q, joist_spacing_used_in: Q, floor_psf: Q, end_plf: Q) -> Q:
    floor = joist_spacing_used_in / IN_PER_FT / 2 * floor_psf
    return np.where(floor_framed == 1, floor + end_plf, 0)


@END_LINES.row(
    "Bending value of an end joist",
    "psi",
    fmt="#,##0",
    source="NDS 2018 4.3.9: one or two joists are no repetitive members",
)
def end_fb_psi(joist_fb_psi: Q, repetitive: Q) -> Q:
    return joist_fb_psi / np.maximum(repetitive, 1e-6)


@END_LINES.row(
    "End joist, use in bending",
    "share",
    fmt="0%",
    source=BENDING,
    note="Between skids or beams, or past the outer beam.",
)
def end_bending_use(
    floor_framed: Q,
    end_load_plf: Q,
    joist_span_ft: Q,
    overhang_ft: Q,
    overhang_end_lb: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    end_fb_psi: Q,
) -> Q:
    past = end_load_plf * overhang_ft**2 / 2 + overhang_end_lb / 2 * overhang_ft
    moment = np.maximum(design.moment_lb_ft(end_load_plf, joist_span_ft), past)
    modulus = design.section_modulus_in3(joist_width_in, joist_depth_in)
    use = design.bending_utilisation(moment, modulus, end_fb_psi)
    return np.where(floor_framed == 1, use, 0)


@END_LINES.row("End joist, use in shear", "share", fmt="0%", source=SHEAR)
def end_shear_use(
    floor_framed: Q,
    end_load_plf: Q,
    joist_span_ft: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_fv_psi: Q,
) -> Q:
    shear = design.shear_lb(end_load_plf, joist_span_ft, joist_depth_in)
    area = design.section_area_in2(joist_width_in, joist_depth_in)
    use = design.shear_utilisation(shear, area, joist_fv_psi)
    return np.where(floor_framed == 1, use, 0)


@END_LINES.row("End joist, use in sag under all load", "share", fmt="0%", source=SAG)
def end_sag_use(
    floor_framed: Q,
    end_load_plf: Q,
    joist_span_ft: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_e_psi: Q,
    total_ratio: Q,
) -> Q:
    inertia = design.moment_of_inertia_in4(joist_width_in, joist_depth_in)
    sag = design.deflection_in(end_load_plf, joist_span_ft, joist_e_psi, inertia)
    use = design.deflection_utilisation(sag, joist_span_ft, total_ratio)
    return np.where(floor_framed == 1, use, 0)


@END_LINES.row(
    "End joist where it rests, use in bearing across the grain",
    "share",
    fmt="0%",
    source=BEARING,
    note="Over the full width of skid or beam.",
)
def end_rest_use(
    option_kind: Q,
    floor_framed: Q,
    end_load_plf: Q,
    joist_span_ft: Q,
    overhang_ft: Q,
    outer_lever: Q,
    joist_bays: Q,
    joist_middle_share: Q,
    joist_width_in: Q,
    bearer_width_in: Q,
    joist_rest_fc_psi: Q,
) -> Q:
    past = overhang_ft + outer_lever * overhang_ft**2 / (2 * np.maximum(joist_span_ft, 1e-6))
    outer = joist_span_ft / 2 + where_kind(option_kind, SUPPORTS, past)
    inner = np.where(joist_bays > 1, joist_middle_share * joist_span_ft, 0)
    rest = end_load_plf * np.maximum(outer, inner)
    use = design.bearing_utilisation(rest, joist_width_in, bearer_width_in, joist_rest_fc_psi)
    return np.where(floor_framed == 1, use, 0)


@END_LINES.row("End joist, greatest use of one alone", "share", fmt="0%")
def end_one_use(end_bending_use: Q, end_shear_use: Q, end_sag_use: Q, end_rest_use: Q) -> Q:
    strength = np.maximum(end_bending_use, end_shear_use)
    return np.maximum(strength, np.maximum(end_sag_use, end_rest_use))


@END_LINES.row(
    "Joists in each end line, in use",
    "pieces",
    fmt="0",
    note="As typed on Options; where blank, two if one alone would be used past its strength.",
)
def end_joists_used(end_joists: Q, end_one_use: Q) -> Q:
    return np.where(end_joists > 0, end_joists, np.where(end_one_use > 1, 2, 1))


@END_LINES.row("End line, greatest use of what it may carry", "share", fmt="0%")
def end_use(end_one_use: Q, end_joists_used: Q) -> Q:
    return end_one_use / np.maximum(end_joists_used, 1)


@check(
    END_LINES,
    "End joists under the end walls",
    mend="end_joists",
    hazard="end line under the gable wall",
)
def check_end_line(end_use: Q) -> Q:
    return np.where(
        end_use > 1,
        join("FAIL: end joists used to ", as_text(100 * end_use, "0"), " percent"),
        OK,
    )
