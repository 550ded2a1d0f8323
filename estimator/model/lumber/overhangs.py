"""Of the sheet Lumber: joists that run on past the outer beams."""

from __future__ import annotations

import numpy as np

from estimator.contributions import Fixed
from estimator.model.adds import OK, Need, check
from estimator.model.kinds import SUPPORTS, where_kind
from estimator.rows import Chapter
from estimator.solve import design
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q

OVERHANGS = Chapter()
STATICS = "Statics: simple span with an overhang"
SAG = (
    f"{STATICS}; limit of twice the overhang by IBC Table 1604.3, note on cantilevers (from memory)"
)
CODE = "IRC R502.3.3 and its table (from memory)"
BACK_SPANS = 3
"""Back span over overhang that the code's table asks for (IRC R502.3.3, from memory)."""

OVERHANGS.section("Joists past the outer beams")


@OVERHANGS.row(
    "Overhang past the outer beam", "ft", note="0 over skids: the outer ones stand at the edge."
)
def overhang_ft(option_kind: Q, support_inset_in: Q) -> Q:
    return where_kind(option_kind, SUPPORTS, support_inset_in / IN_PER_FT)


@OVERHANGS.row(
    "Walls and roof on the end of a joist", "lbf", fmt="0", source="Load by area, at its spacing"
)
def overhang_end_lb(option_kind: Q, joist_spacing_used_in: Q, side_plf: Q) -> Q:
    return where_kind(option_kind, SUPPORTS, side_plf * joist_spacing_used_in / IN_PER_FT)


@OVERHANGS.row(
    "Overhang, use in bending",
    "share",
    fmt="0%",
    source="NDS 2018 3.3.1, cantilever",
    note="A joist's end carries floor, wall and roof past the beam.",
)
def overhang_bending_use(
    option_kind: Q,
    overhang_ft: Q,
    overhang_end_lb: Q,
    joist_load_plf: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_fb_psi: Q,
) -> Q:
    moment = joist_load_plf * overhang_ft**2 / 2 + overhang_end_lb * overhang_ft
    modulus = design.section_modulus_in3(joist_width_in, joist_depth_in)
    use = design.bending_utilisation(moment, modulus, joist_fb_psi)
    return where_kind(option_kind, SUPPORTS, use)


@OVERHANGS.row("Overhang, use in shear", "share", fmt="0%", source="NDS 2018 3.4.2, cantilever")
def overhang_shear_use(
    option_kind: Q,
    overhang_ft: Q,
    overhang_end_lb: Q,
    joist_load_plf: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_fv_psi: Q,
) -> Q:
    end = np.where(overhang_ft > 0, overhang_end_lb, 0)
    area = design.section_area_in2(joist_width_in, joist_depth_in)
    use = design.shear_utilisation(joist_load_plf * overhang_ft + end, area, joist_fv_psi)
    return where_kind(option_kind, SUPPORTS, use)


@OVERHANGS.row(
    "Sag at the end of the overhang",
    "in",
    fmt="0.000",
    source=STATICS,
    note="The back span empty, as then the end sags most.",
)
def overhang_sag_in(
    option_kind: Q,
    overhang_ft: Q,
    overhang_end_lb: Q,
    joist_load_plf: Q,
    bay_across_ft: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_e_psi: Q,
) -> Q:
    inertia = design.moment_of_inertia_in4(joist_width_in, joist_depth_in)
    sag = design.overhang_sag_in(
        joist_load_plf, overhang_end_lb, bay_across_ft, overhang_ft, joist_e_psi, inertia
    )
    return where_kind(option_kind, SUPPORTS, sag)


@OVERHANGS.row("Overhang, use in sag", "share", fmt="0%", source=SAG)
def overhang_sag_use(overhang_sag_in: Q, overhang_ft: Q, total_ratio: Q) -> Q:
    length = np.maximum(2 * overhang_ft, 1e-6)
    return np.where(
        overhang_ft > 0, design.deflection_utilisation(overhang_sag_in, length, total_ratio), 0
    )


@OVERHANGS.row("Overhang, greatest use", "share", fmt="0%", note="Bending, shear and sag.")
def overhang_use(overhang_bending_use: Q, overhang_shear_use: Q, overhang_sag_use: Q) -> Q:
    return np.maximum(overhang_bending_use, np.maximum(overhang_shear_use, overhang_sag_use))


@OVERHANGS.row(
    "Lift of a joist off the next beam",
    "lbf",
    fmt="0",
    source=f"{STATICS}; equation of three moments, shares on Factors (derived)",
    note="Overhangs full, the floor between them empty; where joists meet there, half a span holds.",
)
def overhang_lift_lb(
    option_kind: Q,
    overhang_ft: Q,
    support_rows_used: Q,
    bay_across_ft: Q,
    joist_spacing_used_in: Q,
    floor_dead_psf: Q,
    floor_psf: Q,
    side_plf: Q,
    wall_plf: Q,
    next_lift: Q,
    joist_parts: Q,
    joist_spans: Q,
    joist_spans_left: Q,
) -> Q:
    moment = floor_psf * overhang_ft**2 / 2 + side_plf * overhang_ft
    alike = floor_dead_psf * (bay_across_ft / 2 + overhang_ft) + wall_plf
    meets = (joist_parts > 1) & ((joist_spans == 1) | (joist_spans_left == 1))
    behind = floor_dead_psf * bay_across_ft * np.where(meets, 0.5, 1)
    stays = np.where(support_rows_used > 2, behind, alike)
    lift = next_lift * moment / np.maximum(bay_across_ft, 1e-6) - stays
    share = joist_spacing_used_in / IN_PER_FT
    return where_kind(option_kind, SUPPORTS, np.maximum(lift, 0) * share)


@OVERHANGS.row(
    "Ties of joists to the next beam",
    "pieces",
    fmt="0",
    note="Where overhangs would lift them: one a joist and beam, beyond those at the outer ones.",
)
def lift_ties(overhang_lift_lb: Q, joists_in_all: Q, support_rows_used: Q) -> Q:
    beams = np.minimum(np.maximum(support_rows_used - 2, 0), 2)
    return np.where(overhang_lift_lb > 0, joists_in_all * beams, 0)


OVERHANGS.adds(
    Need(
        key="lift_tie",
        label="Joist ties at the beam behind an overhang",
        item=Fixed("joist_tie"),
        quantity="lift_ties",
    ),
)


@check(OVERHANGS, "Overhang of the joists", source=CODE, mend="support_inset_in", hazard="overhang")
def check_overhang(overhang_ft: Q, joist_depth_in: Q, bay_across_ft: Q, overhang_lift_lb: Q) -> Q:
    nominal = joist_depth_in + np.where(joist_depth_in > 7, 0.75, 0.5)
    long = overhang_ft * IN_PER_FT > nominal
    short_back = long & (bay_across_ft < BACK_SPANS * overhang_ft)
    return np.where(
        short_back,
        "FAIL: joists overhang by more than their depth and a third of the span behind",
        np.where(
            long,
            "LOOK: joists overhang by more than their depth; the code's table must allow it, for a light wall and roof alone",
            np.where(overhang_lift_lb > 0, "LOOK: overhangs lift the joists; tie them behind", OK),
        ),
    )
