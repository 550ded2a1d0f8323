"""Sheet Footings: beams over piers and blocks."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import OK, check
from estimator.model.kinds import SUPPORTS, is_kind, where_kind
from estimator.rows import YES_OR_NO, Chapter
from estimator.solve import design
from estimator.vocabulary import Q, as_text, join, lookup

BEAMS = Chapter()
BEAM_BEARING_IN = 3.5
"""Length of a beam's bearing on its base (common practice, no source)."""
NDS_VALUES = "NDS 2018 Table 4.3.1, wet service, incised where treated; design values on Factors"
LIMITS = "NDS 2018 3.5.1; limits of IRC R301.7 on Factors"

BEAMS.section("Beams")


@BEAMS.row("Beam board width", "in")
def beam_width_in(beam_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(beam_stock, stock_name, stock_width_in, 0)


@BEAMS.row("Beam depth", "in")
def beam_depth_in(beam_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(beam_stock, stock_name, stock_depth_in, 0)


@BEAMS.row("Beam width, its boards together", "in")
def beam_across_in(beam_width_in: Q, beam_plies_used: Q) -> Q:
    return beam_width_in * beam_plies_used


@BEAMS.row("Wood of the beam", kind="text")
def beam_wood(species: Q, beam_stock: Q, stock_name: Q, stock_nominal: Q) -> Q:
    return join(species, " ", lookup(beam_stock, stock_name, stock_nominal, ""))


@BEAMS.row("Incised when treated", fmt=YES_OR_NO)
def incised(species: Q, species_name: Q, species_incised: Q) -> Q:
    return np.where(lookup(species, species_name, species_incised, "no") == "yes", 1, 0)


@BEAMS.row("Beam treated", fmt=YES_OR_NO)
def beam_treated(beam_stock: Q, stock_name: Q, stock_treated: Q) -> Q:
    return np.where(lookup(beam_stock, stock_name, stock_treated, "no") == "yes", 1, 0)


@BEAMS.row(
    "Beam is wet in service",
    fmt=YES_OR_NO,
    source="common practice, no source: as near to the ground as untreated beams may not be",
    note="yes where it lies lower than the height that IRC R317.1 asks of untreated beams.",
)
def beam_wet(option_kind: Q, clear_above_in: Q, beam_clear_least_in: Q) -> Q:
    low = np.where(clear_above_in < beam_clear_least_in, 1, 0)
    return where_kind(option_kind, SUPPORTS, low)


def _adjusted(value: Q, where: Q, share: Q) -> Q:
    """A design value reduced where that is so (1)."""
    return value * (1 - where * (1 - share))


@BEAMS.row("Beam, bending value", "psi", fmt="#,##0", source=NDS_VALUES)
def beam_fb_psi(
    option_kind: Q,
    beam_wood: Q,
    wood_name: Q,
    wood_fb_psi: Q,
    beam_treated: Q,
    beam_wet: Q,
    wood_wet_fb: Q,
    incised: Q,
    incised_f: Q,
) -> Q:
    share = lookup(beam_wood, wood_name, wood_wet_fb, 1)
    wet = _adjusted(lookup(beam_wood, wood_name, wood_fb_psi, 1), beam_wet, share)
    return where_kind(option_kind, SUPPORTS, _adjusted(wet, beam_treated * incised, incised_f))


@BEAMS.row("Beam, shear value", "psi", fmt="#,##0", source=NDS_VALUES)
def beam_fv_psi(
    option_kind: Q,
    beam_wood: Q,
    wood_name: Q,
    wood_fv_psi: Q,
    beam_treated: Q,
    beam_wet: Q,
    wood_wet_fv: Q,
    incised: Q,
    incised_f: Q,
) -> Q:
    share = lookup(beam_wood, wood_name, wood_wet_fv, 1)
    wet = _adjusted(lookup(beam_wood, wood_name, wood_fv_psi, 1), beam_wet, share)
    return where_kind(option_kind, SUPPORTS, _adjusted(wet, beam_treated * incised, incised_f))


@BEAMS.row("Beam, bearing value", "psi", fmt="#,##0", source=NDS_VALUES)
def beam_fc_psi(
    option_kind: Q, beam_wood: Q, wood_name: Q, wood_fc_psi: Q, beam_wet: Q, wood_wet_fc: Q
) -> Q:
    value = lookup(beam_wood, wood_name, wood_fc_psi, 1)
    share = lookup(beam_wood, wood_name, wood_wet_fc, 1)
    return where_kind(option_kind, SUPPORTS, _adjusted(value, beam_wet, share))


@BEAMS.row("Beam, modulus of elasticity", "psi", fmt="#,##0", source=NDS_VALUES)
def beam_e_psi(
    option_kind: Q,
    beam_wood: Q,
    wood_name: Q,
    wood_e_psi: Q,
    beam_treated: Q,
    beam_wet: Q,
    wood_wet_e: Q,
    incised: Q,
    incised_e: Q,
) -> Q:
    share = lookup(beam_wood, wood_name, wood_wet_e, 1)
    wet = _adjusted(lookup(beam_wood, wood_name, wood_e_psi, 1), beam_wet, share)
    return where_kind(option_kind, SUPPORTS, _adjusted(wet, beam_treated * incised, incised_e))


@BEAMS.row("Load on the beam that bears most", "plf", fmt="0")
def beam_most_plf(beam_outer_plf: Q, beam_inner_plf: Q) -> Q:
    return np.maximum(beam_outer_plf, beam_inner_plf)


@BEAMS.row(
    "Of that, live",
    "plf",
    fmt="0",
    note="In the proportion of the floor's loads.",
    source="Statics: from the area that the floor gives the beam",
)
def beam_live_plf(beam_most_plf: Q, floor_live_psf: Q, floor_psf: Q) -> Q:
    return beam_most_plf * floor_live_psf / floor_psf


@BEAMS.row(
    "Beam, use in bending",
    "share",
    fmt="0%",
    source="NDS 2018 3.3.1, simple spans",
    note="With the point load at mid-span.",
)
def beam_bending_use(
    option_kind: Q,
    beam_most_plf: Q,
    bay_along_ft: Q,
    point_load_lb: Q,
    beam_across_in: Q,
    beam_depth_in: Q,
    beam_fb_psi: Q,
) -> Q:
    moment = design.moment_lb_ft(beam_most_plf, bay_along_ft, point_load_lb)
    modulus = design.section_modulus_in3(beam_across_in, beam_depth_in)
    use = design.bending_utilisation(moment, modulus, beam_fb_psi)
    return where_kind(option_kind, SUPPORTS, use)


@BEAMS.row(
    "Beam, use in shear",
    "share",
    fmt="0%",
    source="NDS 2018 3.4.2, and 3.4.3.1: without the load within its depth of the support",
    note="More by a middle support of a board over several spans; the point load whole there.",
)
def beam_shear_use(
    option_kind: Q,
    beam_most_plf: Q,
    bay_along_ft: Q,
    point_load_lb: Q,
    beam_across_in: Q,
    beam_depth_in: Q,
    beam_fv_psi: Q,
    beam_shear_share: Q,
) -> Q:
    shear = design.shear_lb(
        beam_most_plf, bay_along_ft, beam_depth_in, point_load_lb, beam_shear_share
    )
    area = design.section_area_in2(beam_across_in, beam_depth_in)
    return where_kind(option_kind, SUPPORTS, design.shear_utilisation(shear, area, beam_fv_psi))


@BEAMS.row(
    "Beam, use in sag under live load",
    "share",
    fmt="0%",
    source=LIMITS,
    note="With the point load at mid-span.",
)
def beam_live_sag_use(
    option_kind: Q,
    beam_live_plf: Q,
    bay_along_ft: Q,
    point_load_lb: Q,
    beam_across_in: Q,
    beam_depth_in: Q,
    beam_e_psi: Q,
    live_ratio: Q,
) -> Q:
    inertia = design.moment_of_inertia_in4(beam_across_in, beam_depth_in)
    sag = design.deflection_in(beam_live_plf, bay_along_ft, beam_e_psi, inertia, point_load_lb)
    use = design.deflection_utilisation(sag, bay_along_ft, live_ratio)
    return where_kind(option_kind, SUPPORTS, use)


@BEAMS.row("Beam, use in sag under all load", "share", fmt="0%", source=LIMITS)
def beam_sag_use(
    option_kind: Q,
    beam_most_plf: Q,
    bay_along_ft: Q,
    point_load_lb: Q,
    beam_across_in: Q,
    beam_depth_in: Q,
    beam_e_psi: Q,
    total_ratio: Q,
) -> Q:
    inertia = design.moment_of_inertia_in4(beam_across_in, beam_depth_in)
    sag = design.deflection_in(beam_most_plf, bay_along_ft, beam_e_psi, inertia, point_load_lb)
    use = design.deflection_utilisation(sag, bay_along_ft, total_ratio)
    return where_kind(option_kind, SUPPORTS, use)


@BEAMS.row(
    "Beam where it rests, use in bearing across the grain",
    "share",
    fmt="0%",
    source="NDS 2018 3.10.2",
    note="On the heaviest support, {3 1/2 in} of bearing.",
)
def beam_rest_use(option_kind: Q, support_load_lb: Q, beam_across_in: Q, beam_fc_psi: Q) -> Q:
    use = design.bearing_utilisation(support_load_lb, beam_across_in, BEAM_BEARING_IN, beam_fc_psi)
    return where_kind(option_kind, SUPPORTS, use)


@BEAMS.row("Beam, greatest use of what it may carry", "share", fmt="0%")
def beam_use(
    beam_bending_use: Q,
    beam_shear_use: Q,
    beam_live_sag_use: Q,
    beam_sag_use: Q,
    beam_rest_use: Q,
) -> Q:
    strength = np.maximum(beam_bending_use, np.maximum(beam_shear_use, beam_rest_use))
    return np.maximum(strength, np.maximum(beam_live_sag_use, beam_sag_use))


@check(BEAMS, "Beams", mend="beam_stock", hazard="weak beams")
def check_beams(beam_use: Q) -> Q:
    return np.where(
        beam_use > 1,
        join("FAIL: beams used to ", as_text(100 * beam_use, "0"), " percent"),
        OK,
    )


@check(BEAMS, "Headroom for frost and splash", mend="clear_above_in", hazard="splash")
def check_clear(option_kind: Q, clear_above_in: Q) -> Q:
    low = is_kind(option_kind, SUPPORTS) & (clear_above_in < 6)
    return np.where(low, "LOOK: beams closer than {6 in} to the ground", OK)
