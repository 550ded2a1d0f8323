"""Of the sheet Lumber: the floor frame, its strength, wood near the ground."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import (
    ABOVE_GROUND,
    EQUAL_PARTS,
    FROM_OFFCUTS,
    GROUND_CONTACT,
    OK,
    ON_JOISTS,
    OVER_BEARERS,
    OVER_SUPPORTS,
    Piece,
    check,
)
from estimator.model.kinds import (
    FLOORS,
    GRADED,
    JOISTED,
    PADS,
    SUPPORTS,
    TIMBERED,
    MoreCases,
    by_kind,
    is_kind,
    where_kind,
)
from estimator.rows import YES_OR_NO, Chapter
from estimator.solve import design
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, as_text, join, lookup

FRAME = Chapter()
VALUES = "NDS 2018 Table 4.3.1, allowable stress design; design values on Factors"
BENDING = "NDS 2018 3.3.1, simple span"
SHEAR = "NDS 2018 3.4.2, and 3.4.3.1: without the load within its depth of the support"
SAG = "NDS 2018 3.5.1; limits of IRC R301.7 on Factors"
BEARING = "NDS 2018 3.10.2"

FRAME.section("Floor frame")


@FRAME.row(
    "Floor frame",
    fmt=YES_OR_NO,
    note="yes: joists carry the floor. no: the base is the floor itself.",
)
def floor_framed(option_kind: Q) -> Q:
    return where_kind(option_kind, JOISTED, 1)


def _framed(floor_framed: Q, value: Q) -> Q:
    """What a floor frame has; 0 where there is none."""
    return np.where(floor_framed == 1, value, 0)


@FRAME.row("Joist width", "in")
def joist_width_in(floor_framed: Q, joist_stock_used: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return _framed(floor_framed, lookup(joist_stock_used, stock_name, stock_width_in))


@FRAME.row("Joist depth", "in")
def joist_depth_in(floor_framed: Q, joist_stock_used: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return _framed(floor_framed, lookup(joist_stock_used, stock_name, stock_depth_in))


@FRAME.row(
    "Joists",
    "pieces",
    fmt="0",
    note="One at each end, the rest on centre from corner 1; the last may stand snug by the end.",
)
def joist_count(floor_framed: Q, building_length_ft: Q, joist_spacing_used_in: Q) -> Q:
    return _framed(
        floor_framed, np.ceil(building_length_ft * IN_PER_FT / joist_spacing_used_in) + 1
    )


@FRAME.row("Length of a joist", "in", fmt="0.0", note="Between the rims.")
def joist_length_in(building_width_ft: Q, joist_width_in: Q) -> Q:
    return building_width_ft * IN_PER_FT - 2 * joist_width_in


@FRAME.row("Length of a rim", "in", fmt="0.0")
def rim_length_in(building_length_ft: Q) -> Q:
    return building_length_ft * IN_PER_FT


@FRAME.row("Rims", "pieces", fmt="0", note="Front and back.")
def rim_count(floor_framed: Q) -> Q:
    return 2 * floor_framed


@FRAME.row("Length of a block", "in", fmt="0.0")
def block_length_in(joist_spacing_used_in: Q, joist_width_in: Q) -> Q:
    return joist_spacing_used_in - joist_width_in


FRAME.solved(
    "joist_doubled",
    "Joists more, for doubling",
    "pieces",
    solver="joists",
    fmt="0",
    note="Under the partitions and beside the openings on Floor.",
)
FRAME.solved(
    "joist_touching",
    "Joists that touch the one before",
    "pieces",
    solver="joists",
    fmt="0",
    note="No block fits between them.",
)


@FRAME.row("Joists in all", "pieces", fmt="0")
def joists_in_all(joist_count: Q, joist_doubled: Q) -> Q:
    return joist_count + joist_doubled


FRAME.solved(
    "block_rows",
    "Rows of blocks",
    "rows",
    solver="joists",
    fmt="0",
    note="As typed, one under each seam of square edges, and one where joists meet; one row where two fall on one place.",
)
FRAME.solved(
    "blocking_count",
    "Blocks",
    "pieces",
    solver="joists",
    fmt="0",
    note="One in each bay between joists, none in an opening. Off-cuts give them first: see Cut Plan.",
)

FRAME.adds(
    Piece(
        key="joists",
        label="Joists",
        stock="joist_stock_used",
        length="joist_length_in",
        count="joists_in_all",
        joined=OVER_BEARERS,
        mark="joist",
        use="joist_class",
        note="Longer than the longest board: in parts that meet over a skid or beam.",
    ),
    Piece(
        key="rims",
        label="Rims",
        stock="joist_stock_used",
        length="rim_length_in",
        count="rim_count",
        joined=ON_JOISTS,
        mark="rim",
        use="joist_class",
        note="Longer than the longest board: joined over a joist.",
    ),
    Piece(
        key="blocks",
        label="Blocks",
        stock="joist_stock_used",
        length="block_length_in",
        count="blocking_count",
        joined=FROM_OFFCUTS,
        mark="block",
        use="joist_class",
    ),
)

FRAME.section("Skids or beams under the joists")


@FRAME.row("Skids or beams", "pieces", fmt="0")
def bearer_count(
    option_kind: Q, skid_count_used: Q, support_rows_used: Q, more_cases: MoreCases
) -> Q:
    cases = {PADS: skid_count_used, SUPPORTS: support_rows_used, FLOORS: 0}
    return by_kind(option_kind, cases, more_cases)


@FRAME.row("Width", "in")
def bearer_width_in(
    option_kind: Q, skid_width_in: Q, beam_across_in: Q, more_cases: MoreCases
) -> Q:
    return by_kind(
        option_kind, {PADS: skid_width_in, SUPPORTS: beam_across_in, FLOORS: 0}, more_cases
    )


@FRAME.row("Centre of the first, back from the front", "in", fmt="0.00")
def bearer_first_in(
    option_kind: Q, skid_place: Q, skid_width_in: Q, support_inset_in: Q, more_cases: MoreCases
) -> Q:
    skid = np.where(skid_place == "flush", skid_width_in / 2, 0)
    return by_kind(option_kind, {PADS: skid, SUPPORTS: support_inset_in, FLOORS: 0}, more_cases)


@FRAME.row("On centre", "in", fmt="0.00")
def bearer_step_in(
    option_kind: Q, skid_spacing_in: Q, bay_across_ft: Q, more_cases: MoreCases
) -> Q:
    beams = bay_across_ft * IN_PER_FT
    return by_kind(option_kind, {PADS: skid_spacing_in, SUPPORTS: beams, FLOORS: 0}, more_cases)


@FRAME.row("Length of a skid", "in", fmt="0.0")
def skid_length_in(option_kind: Q, building_length_ft: Q) -> Q:
    return where_kind(option_kind, PADS, building_length_ft * IN_PER_FT)


@FRAME.row("Length of a beam", "in", fmt="0.0")
def beam_length_in(option_kind: Q, building_length_ft: Q) -> Q:
    return where_kind(option_kind, SUPPORTS, building_length_ft * IN_PER_FT)


@FRAME.row("Boards of the beams", "pieces", fmt="0")
def beam_boards(support_rows_used: Q, beam_plies_used: Q) -> Q:
    return support_rows_used * beam_plies_used


FRAME.adds(
    Piece(
        key="skids",
        label="Skids",
        stock="skid_stock",
        length="skid_length_in",
        count="skid_count_used",
        joined=EQUAL_PARTS,
        mark="skid",
        use="bearer_class",
        note="Longer than the longest board: lapped over the stone.",
    ),
    Piece(
        key="beams",
        label="Beam boards",
        stock="beam_stock",
        length="beam_length_in",
        count="beam_boards",
        joined=OVER_SUPPORTS,
        mark="beam board",
        use="bearer_class",
        note="One bay where the beam is too long for a board: joined over a support.",
    ),
)

FRAME.section("Strength of the joists")


@FRAME.row("Span", "ft", note="Between skids or beams.")
def joist_span_ft(option_kind: Q, skid_spacing_in: Q, bay_across_ft: Q, more_cases: MoreCases) -> Q:
    skids = skid_spacing_in / IN_PER_FT
    return by_kind(option_kind, {PADS: skids, SUPPORTS: bay_across_ft, FLOORS: 0}, more_cases)


@FRAME.row("Wood", kind="text")
def joist_wood(species: Q, joist_stock_used: Q, stock_name: Q, stock_nominal: Q) -> Q:
    return join(species, " ", lookup(joist_stock_used, stock_name, stock_nominal, ""))


@FRAME.row("Joist treated", fmt=YES_OR_NO)
def joist_treated(joist_stock_used: Q, stock_name: Q, stock_treated: Q) -> Q:
    return np.where(lookup(joist_stock_used, stock_name, stock_treated, "no") == "yes", 1, 0)


@FRAME.row(
    "Joists are wet in service",
    fmt=YES_OR_NO,
    source="common practice, no source: as near to the ground as counts as in contact with it",
    note="yes where Wood near the ground below says ground contact.",
)
def joist_wet(joist_clear_least_in: Q, ground_contact_in: Q) -> Q:
    return np.where(joist_clear_least_in < ground_contact_in, 1, 0)


def _where_wet(value: Q, wet: Q, share: Q) -> Q:
    """A design value, reduced to its share where the wood is wet (1)."""
    return value * (1 - wet * (1 - share))


@FRAME.row("Bending value", "psi", fmt="#,##0", source=VALUES)
def joist_fb_psi(
    joist_wood: Q,
    wood_name: Q,
    wood_fb_psi: Q,
    joist_wet: Q,
    wood_wet_fb: Q,
    repetitive: Q,
    joist_treated: Q,
    incised: Q,
    incised_f: Q,
) -> Q:
    share = lookup(joist_wood, wood_name, wood_wet_fb, 1)
    base = _where_wet(lookup(joist_wood, wood_name, wood_fb_psi, 1), joist_wet, share)
    return base * repetitive * (1 - joist_treated * incised * (1 - incised_f))


@FRAME.row("Shear value", "psi", fmt="#,##0", source=VALUES)
def joist_fv_psi(
    joist_wood: Q,
    wood_name: Q,
    wood_fv_psi: Q,
    joist_wet: Q,
    wood_wet_fv: Q,
    joist_treated: Q,
    incised: Q,
    incised_f: Q,
) -> Q:
    share = lookup(joist_wood, wood_name, wood_wet_fv, 1)
    base = _where_wet(lookup(joist_wood, wood_name, wood_fv_psi, 1), joist_wet, share)
    return base * (1 - joist_treated * incised * (1 - incised_f))


@FRAME.row("Bearing value, dry", "psi", fmt="#,##0", source=VALUES)
def joist_dry_fc_psi(joist_wood: Q, wood_name: Q, wood_fc_psi: Q) -> Q:
    return lookup(joist_wood, wood_name, wood_fc_psi, 1)


@FRAME.row("Bearing value, wet", "psi", fmt="#,##0", source=VALUES)
def joist_wet_fc_psi(joist_dry_fc_psi: Q, joist_wood: Q, wood_name: Q, wood_wet_fc: Q) -> Q:
    return joist_dry_fc_psi * lookup(joist_wood, wood_name, wood_wet_fc, 1)


@FRAME.row("Bearing value", "psi", fmt="#,##0", source=VALUES)
def joist_fc_psi(joist_wet: Q, joist_wet_fc_psi: Q, joist_dry_fc_psi: Q) -> Q:
    return np.where(joist_wet == 1, joist_wet_fc_psi, joist_dry_fc_psi)


@FRAME.row(
    "Bearing value where joists rest on skid or beam",
    "psi",
    fmt="#,##0",
    source=VALUES,
    note="Wet where either of the two is; a skid on stone is.",
)
def joist_rest_fc_psi(
    option_kind: Q, joist_wet: Q, beam_wet: Q, joist_wet_fc_psi: Q, joist_dry_fc_psi: Q
) -> Q:
    wet = (joist_wet == 1) | (beam_wet == 1) | is_kind(option_kind, PADS)
    return np.where(wet, joist_wet_fc_psi, joist_dry_fc_psi)


@FRAME.row("Modulus of elasticity", "psi", fmt="#,##0", source=VALUES)
def joist_e_psi(
    joist_wood: Q,
    wood_name: Q,
    wood_e_psi: Q,
    joist_wet: Q,
    wood_wet_e: Q,
    joist_treated: Q,
    incised: Q,
    incised_e: Q,
) -> Q:
    share = lookup(joist_wood, wood_name, wood_wet_e, 1)
    base = _where_wet(lookup(joist_wood, wood_name, wood_e_psi, 1), joist_wet, share)
    return base * (1 - joist_treated * incised * (1 - incised_e))


@FRAME.row("Live load on a joist", "plf", fmt="0.0", source="Load by area, at its spacing")
def joist_live_plf(joist_spacing_used_in: Q, floor_live_psf: Q) -> Q:
    return floor_live_psf * joist_spacing_used_in / IN_PER_FT


@FRAME.row("All load on a joist", "plf", fmt="0.0", source="Load by area, at its spacing")
def joist_load_plf(joist_spacing_used_in: Q, floor_live_psf: Q, floor_dead_psf: Q) -> Q:
    return (floor_live_psf + floor_dead_psf) * joist_spacing_used_in / IN_PER_FT


@FRAME.row("Span that bending allows", "ft", source=BENDING)
def joist_bending_ft(
    floor_framed: Q, joist_width_in: Q, joist_depth_in: Q, joist_fb_psi: Q, joist_load_plf: Q
) -> Q:
    modulus = design.section_modulus_in3(joist_width_in, joist_depth_in)
    return _framed(floor_framed, design.span_by_bending_ft(joist_fb_psi, modulus, joist_load_plf))


@FRAME.row("Span that shear allows", "ft", source=SHEAR)
def joist_shear_ft(
    floor_framed: Q, joist_width_in: Q, joist_depth_in: Q, joist_fv_psi: Q, joist_load_plf: Q
) -> Q:
    area = design.section_area_in2(joist_width_in, joist_depth_in)
    return _framed(
        floor_framed, design.span_by_shear_ft(joist_fv_psi, area, joist_load_plf, joist_depth_in)
    )


@FRAME.row("Span that sag under live load allows", "ft", source=SAG)
def joist_live_sag_ft(
    floor_framed: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_e_psi: Q,
    joist_live_plf: Q,
    live_ratio: Q,
) -> Q:
    inertia = design.moment_of_inertia_in4(joist_width_in, joist_depth_in)
    return _framed(
        floor_framed, design.span_by_deflection_ft(joist_e_psi, inertia, joist_live_plf, live_ratio)
    )


@FRAME.row("Span that sag under all load allows", "ft", source=SAG)
def joist_sag_ft(
    floor_framed: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_e_psi: Q,
    joist_load_plf: Q,
    total_ratio: Q,
) -> Q:
    inertia = design.moment_of_inertia_in4(joist_width_in, joist_depth_in)
    return _framed(
        floor_framed,
        design.span_by_deflection_ft(joist_e_psi, inertia, joist_load_plf, total_ratio),
    )


@FRAME.row("Span that bearing at its ends allows", "ft", source=BEARING)
def joist_bearing_ft(
    floor_framed: Q, joist_width_in: Q, joist_fc_psi: Q, bearing_length_in: Q, joist_load_plf: Q
) -> Q:
    return _framed(
        floor_framed,
        design.span_by_bearing_ft(joist_fc_psi, joist_width_in, bearing_length_in, joist_load_plf),
    )


@FRAME.row("Span allowed", "ft", note="Least of bending, shear, bearing, sag.")
def joist_allowed_ft(
    joist_bending_ft: Q,
    joist_shear_ft: Q,
    joist_live_sag_ft: Q,
    joist_sag_ft: Q,
    joist_bearing_ft: Q,
) -> Q:
    return design.governing_span_ft(
        joist_bending_ft, joist_shear_ft, joist_live_sag_ft, joist_sag_ft, joist_bearing_ft
    )


@FRAME.row(
    "Use in bending", "share", fmt="0%", source=BENDING, note="With the point load at mid-span."
)
def joist_bending_use(
    floor_framed: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_fb_psi: Q,
    joist_span_ft: Q,
    joist_load_plf: Q,
    point_load_lb: Q,
) -> Q:
    moment = design.moment_lb_ft(joist_load_plf, joist_span_ft, point_load_lb)
    modulus = design.section_modulus_in3(joist_width_in, joist_depth_in)
    return _framed(floor_framed, design.bending_utilisation(moment, modulus, joist_fb_psi))


@FRAME.row(
    "Use in shear", "share", fmt="0%", source=SHEAR, note="With the point load at a support."
)
def joist_shear_use(
    floor_framed: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_fv_psi: Q,
    joist_span_ft: Q,
    joist_load_plf: Q,
    point_load_lb: Q,
) -> Q:
    shear = design.shear_lb(joist_load_plf, joist_span_ft, joist_depth_in, point_load_lb)
    area = design.section_area_in2(joist_width_in, joist_depth_in)
    return _framed(floor_framed, design.shear_utilisation(shear, area, joist_fv_psi))


@FRAME.row(
    "Use in sag under live load",
    "share",
    fmt="0%",
    source=SAG,
    note="With the point load at mid-span.",
)
def joist_live_sag_use(
    floor_framed: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_e_psi: Q,
    joist_span_ft: Q,
    joist_live_plf: Q,
    point_load_lb: Q,
    live_ratio: Q,
) -> Q:
    inertia = design.moment_of_inertia_in4(joist_width_in, joist_depth_in)
    sag = design.deflection_in(joist_live_plf, joist_span_ft, joist_e_psi, inertia, point_load_lb)
    return _framed(floor_framed, design.deflection_utilisation(sag, joist_span_ft, live_ratio))


@FRAME.row("Use in sag under all load", "share", fmt="0%", source=SAG)
def joist_sag_use(
    floor_framed: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_e_psi: Q,
    joist_span_ft: Q,
    joist_load_plf: Q,
    point_load_lb: Q,
    total_ratio: Q,
) -> Q:
    inertia = design.moment_of_inertia_in4(joist_width_in, joist_depth_in)
    sag = design.deflection_in(joist_load_plf, joist_span_ft, joist_e_psi, inertia, point_load_lb)
    return _framed(floor_framed, design.deflection_utilisation(sag, joist_span_ft, total_ratio))


@FRAME.row("Use in bearing at its ends", "share", fmt="0%", source=BEARING)
def joist_bearing_use(
    floor_framed: Q,
    joist_width_in: Q,
    joist_fc_psi: Q,
    bearing_length_in: Q,
    joist_span_ft: Q,
    joist_load_plf: Q,
    point_load_lb: Q,
) -> Q:
    end = joist_load_plf * joist_span_ft / 2 + point_load_lb
    return _framed(
        floor_framed,
        design.bearing_utilisation(end, joist_width_in, bearing_length_in, joist_fc_psi),
    )


@FRAME.row("Greatest use of what a joist may carry", "share", fmt="0%")
def joist_use(
    joist_bending_use: Q,
    joist_shear_use: Q,
    joist_live_sag_use: Q,
    joist_sag_use: Q,
    joist_bearing_use: Q,
) -> Q:
    strength = np.maximum(joist_bending_use, np.maximum(joist_shear_use, joist_bearing_use))
    return np.maximum(strength, np.maximum(joist_live_sag_use, joist_sag_use))


@FRAME.row(
    "Joists where they rest, use in bearing across the grain",
    "share",
    fmt="0%",
    source=BEARING,
    note="Outer ones with wall and roof; over the full width of skid or beam.",
)
def joist_rest_use(
    floor_framed: Q,
    joist_width_in: Q,
    joist_spacing_used_in: Q,
    joist_rest_fc_psi: Q,
    bearer_width_in: Q,
    point_load_lb: Q,
    skid_outer_plf: Q,
    skid_inner_plf: Q,
    beam_outer_plf: Q,
    beam_inner_plf: Q,
) -> Q:
    skid = np.maximum(skid_outer_plf, skid_inner_plf)
    beam = np.maximum(beam_outer_plf, beam_inner_plf)
    rest = (skid + beam) * joist_spacing_used_in / IN_PER_FT + point_load_lb
    return _framed(
        floor_framed,
        design.bearing_utilisation(rest, joist_width_in, bearer_width_in, joist_rest_fc_psi),
    )


FRAME.section("Wood near the ground")


@FRAME.row(
    "Skids or beams: treatment",
    kind="text",
    source="AWPA U1, read in summaries of yards; UC3B from memory",
)
def bearer_class(
    option_kind: Q, clear_above_in: Q, ground_contact_in: Q, more_cases: MoreCases
) -> Q:
    contact, above = GROUND_CONTACT, ABOVE_GROUND
    beams = np.where(clear_above_in < ground_contact_in, contact, above)
    return by_kind(option_kind, {PADS: contact, SUPPORTS: beams, FLOORS: "none"}, more_cases)


@FRAME.row(
    "Joists: treatment",
    kind="text",
    source="AWPA U1, read in summaries of yards; UC3B from memory; IRC R317.1",
)
def joist_class(joist_clear_least_in: Q, ground_contact_in: Q, joist_clear_in: Q) -> Q:
    return np.where(
        joist_clear_least_in < ground_contact_in,
        GROUND_CONTACT,
        np.where(joist_clear_least_in < joist_clear_in, ABOVE_GROUND, "untreated wood may do"),
    )


@FRAME.row(
    "Timbers of the frame: treatment", kind="text", source="AWPA U1, read in summaries of yards"
)
def timber_class(option_kind: Q) -> Q:
    return where_kind(option_kind, TIMBERED, GROUND_CONTACT, "none")


@FRAME.row("Nails, screws and ties in treated wood", kind="text", source="IRC R317.3, from memory")
def treated_hardware(option_kind: Q, joist_treated: Q) -> Q:
    return np.where(
        is_kind(option_kind, GRADED) | (joist_treated == 1),
        "hot-dip galvanized or stainless",
        "hot-dip galvanized or stainless at the beams",
    )


@FRAME.row("Air under the joists", "in", fmt="0.0", note="Above the stone, or above the ground.")
def air_under_in(
    option_kind: Q, skid_depth_in: Q, clear_above_in: Q, beam_depth_in: Q, more_cases: MoreCases
) -> Q:
    beams = clear_above_in + beam_depth_in
    return by_kind(option_kind, {PADS: skid_depth_in, SUPPORTS: beams, FLOORS: 0}, more_cases)


@check(FRAME, "Joists", mend="joist_stock", hazard="weak joists")
def check_joists(joist_use: Q, overhang_use: Q, joist_rest_use: Q) -> Q:
    return np.where(
        joist_use > 1,
        join("FAIL: joists used to ", as_text(100 * joist_use, "0"), " percent"),
        np.where(
            overhang_use > 1,
            join(
                "FAIL: joists past the beam used to ", as_text(100 * overhang_use, "0"), " percent"
            ),
            np.where(
                joist_rest_use > 1,
                "FAIL: joists are crushed where they rest on skid or beam",
                OK,
            ),
        ),
    )


@check(FRAME, "Wood near the ground", mend="clear_above_in", hazard="rot")
def check_wood(floor_framed: Q, joist_treated: Q, joist_clear_least_in: Q, joist_clear_in: Q) -> Q:
    untreated = (floor_framed == 1) & (joist_treated == 0)
    low = untreated & (joist_clear_least_in < joist_clear_in)
    return np.where(low, "LOOK: untreated joists near the ground; treated ones are usual", OK)


@check(FRAME, "Air under the floor", mend="clear_above_in", hazard="rot for lack of air")
def check_air(floor_framed: Q, air_under_in: Q, air_least_in: Q) -> Q:
    return np.where(
        (floor_framed == 1) & (air_under_in < air_least_in),
        "LOOK: little air under the joists; use deeper skids and keep the ends open",
        OK,
    )
