"""Of the sheet Lumber: the floor frame, its strength, wood near the ground."""

from __future__ import annotations

import numpy as np

from estimator.model.adds import (
    EQUAL_PARTS,
    FROM_OFFCUTS,
    ON_JOISTS,
    OVER_SUPPORTS,
    WHOLE,
    Piece,
)
from estimator.model.kinds import (
    FLOORS,
    GRADED,
    PADS,
    SUPPORTS,
    TIMBERED,
    by_kind,
    is_kind,
    where_kind,
)
from estimator.rows import Chapter
from estimator.solve import design
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, lookup

FRAME = Chapter()
NDS = "NDS 2018 ch. 3 and 4, allowable stress design; design values on Factors"

FRAME.section("Floor frame")


@FRAME.row("Joist width", "in")
def joist_width_in(joist_stock_used: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(joist_stock_used, stock_name, stock_width_in)


@FRAME.row("Joist depth", "in")
def joist_depth_in(joist_stock_used: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(joist_stock_used, stock_name, stock_depth_in)


@FRAME.row(
    "Joists",
    "pieces",
    fmt="0",
    note="One at each end, the rest on centre from corner 1; the last may stand snug by the end.",
)
def joist_count(building_length_ft: Q, joist_spacing_used_in: Q) -> Q:
    return np.ceil(building_length_ft * IN_PER_FT / joist_spacing_used_in) + 1


@FRAME.row("Length of a joist", "in", fmt="0.0", note="Between the rims.")
def joist_length_in(building_width_ft: Q, joist_width_in: Q) -> Q:
    return building_width_ft * IN_PER_FT - 2 * joist_width_in


@FRAME.row("Length of a rim", "in", fmt="0.0")
def rim_length_in(building_length_ft: Q) -> Q:
    return building_length_ft * IN_PER_FT


@FRAME.row("Rims", "pieces", fmt="0", note="Front and back.")
def rim_count() -> Q:
    return 2


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


@FRAME.row(
    "Rows of blocks", "rows", fmt="0", note="As typed, and one under each seam of square edges."
)
def block_rows(blocking_rows: Q, seam_blocks: Q, seam_rows: Q) -> Q:
    return blocking_rows + np.where(seam_blocks == "yes", seam_rows, 0)


@FRAME.row("Blocks", "pieces", fmt="0", note="Off-cuts give them first: see Cut Plan.")
def blocking_count(block_rows: Q, joists_in_all: Q, joist_touching: Q) -> Q:
    return block_rows * (joists_in_all - 1 - joist_touching)


FRAME.adds(
    Piece(
        key="joists",
        label="Joists",
        stock="joist_stock_used",
        length="joist_length_in",
        count="joists_in_all",
        joined=WHOLE,
        mark="joist",
        use="joist_class",
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
def bearer_count(option_kind: Q, skid_count_used: Q, support_rows_used: Q) -> Q:
    cases = {PADS: skid_count_used, SUPPORTS: support_rows_used, FLOORS: 0}
    return by_kind(option_kind, cases)


@FRAME.row("Width", "in")
def bearer_width_in(option_kind: Q, skid_width_in: Q, beam_across_in: Q) -> Q:
    return by_kind(option_kind, {PADS: skid_width_in, SUPPORTS: beam_across_in, FLOORS: 0})


@FRAME.row("Centre of the first, back from the front", "in", fmt="0.00")
def bearer_first_in(option_kind: Q, skid_place: Q, skid_width_in: Q, support_inset_in: Q) -> Q:
    skid = np.where(skid_place == "flush", skid_width_in / 2, 0)
    return by_kind(option_kind, {PADS: skid, SUPPORTS: support_inset_in, FLOORS: 0})


@FRAME.row("On centre", "in", fmt="0.00")
def bearer_step_in(option_kind: Q, skid_spacing_in: Q, bay_across_ft: Q) -> Q:
    beams = bay_across_ft * IN_PER_FT
    return by_kind(option_kind, {PADS: skid_spacing_in, SUPPORTS: beams, FLOORS: 0})


@FRAME.row("Length of a skid", "in", fmt="0.0")
def skid_length_in(option_kind: Q, building_length_ft: Q) -> Q:
    return where_kind(option_kind, PADS, building_length_ft * IN_PER_FT)


@FRAME.row("Length of a beam", "in", fmt="0.0")
def beam_length_in(option_kind: Q, building_length_ft: Q) -> Q:
    return where_kind(option_kind, SUPPORTS, building_length_ft * IN_PER_FT)


@FRAME.row("Boards of the beams", "pieces", fmt="0")
def beam_boards(support_rows_used: Q, beam_plies: Q) -> Q:
    return support_rows_used * beam_plies


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
def joist_span_ft(option_kind: Q, skid_spacing_in: Q, bay_across_ft: Q) -> Q:
    skids = skid_spacing_in / IN_PER_FT
    return by_kind(option_kind, {PADS: skids, SUPPORTS: bay_across_ft, FLOORS: 0})


@FRAME.row("Wood", kind="text")
def joist_wood(species: Q, joist_stock_used: Q, stock_name: Q, stock_nominal: Q) -> Q:
    return join(species, " ", lookup(joist_stock_used, stock_name, stock_nominal, ""))


@FRAME.row("Joist treated", fmt="0")
def joist_treated(joist_stock_used: Q, stock_name: Q, stock_treated: Q) -> Q:
    return np.where(lookup(joist_stock_used, stock_name, stock_treated, "no") == "yes", 1, 0)


@FRAME.row("Bending value", "psi", fmt="#,##0", source=NDS)
def joist_fb_psi(
    joist_wood: Q,
    wood_name: Q,
    wood_fb_psi: Q,
    repetitive: Q,
    joist_treated: Q,
    incised: Q,
    incised_f: Q,
) -> Q:
    base = lookup(joist_wood, wood_name, wood_fb_psi, 1)
    return base * repetitive * (1 - joist_treated * incised * (1 - incised_f))


@FRAME.row("Shear value", "psi", fmt="#,##0", source=NDS)
def joist_fv_psi(
    joist_wood: Q, wood_name: Q, wood_fv_psi: Q, joist_treated: Q, incised: Q, incised_f: Q
) -> Q:
    base = lookup(joist_wood, wood_name, wood_fv_psi, 1)
    return base * (1 - joist_treated * incised * (1 - incised_f))


@FRAME.row("Bearing value", "psi", fmt="#,##0", source=NDS)
def joist_fc_psi(joist_wood: Q, wood_name: Q, wood_fc_psi: Q) -> Q:
    return lookup(joist_wood, wood_name, wood_fc_psi, 1)


@FRAME.row("Modulus of elasticity", "psi", fmt="#,##0", source=NDS)
def joist_e_psi(
    joist_wood: Q, wood_name: Q, wood_e_psi: Q, joist_treated: Q, incised: Q, incised_e: Q
) -> Q:
    base = lookup(joist_wood, wood_name, wood_e_psi, 1)
    return base * (1 - joist_treated * incised * (1 - incised_e))


@FRAME.row(
    "Span allowed",
    "ft",
    source=NDS,
    note="Least of bending, shear, bearing, sag L/360 live and L/240 total.",
)
def joist_allowed_ft(
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_fb_psi: Q,
    joist_fv_psi: Q,
    joist_fc_psi: Q,
    joist_e_psi: Q,
    joist_spacing_used_in: Q,
    floor_live_psf: Q,
    floor_dead_psf: Q,
    bearing_length_in: Q,
    live_ratio: Q,
    total_ratio: Q,
) -> Q:
    share = joist_spacing_used_in / IN_PER_FT
    return design.joist_span_ft(
        joist_width_in,
        joist_depth_in,
        joist_fb_psi,
        joist_fv_psi,
        joist_fc_psi,
        joist_e_psi,
        floor_live_psf * share,
        floor_dead_psf * share,
        bearing_length_in,
        live_ratio,
        total_ratio,
    )


@FRAME.row(
    "Greatest use of what a joist may carry",
    "share",
    fmt="0%",
    source=NDS,
    note="With the point load.",
)
def joist_use(
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_fb_psi: Q,
    joist_fv_psi: Q,
    joist_fc_psi: Q,
    joist_e_psi: Q,
    joist_span_ft: Q,
    joist_spacing_used_in: Q,
    floor_live_psf: Q,
    floor_dead_psf: Q,
    point_load_lb: Q,
    bearing_length_in: Q,
    live_ratio: Q,
    total_ratio: Q,
) -> Q:
    share = joist_spacing_used_in / IN_PER_FT
    return design.member_utilisation(
        joist_width_in,
        joist_depth_in,
        joist_fb_psi,
        joist_fv_psi,
        joist_fc_psi,
        joist_e_psi,
        joist_span_ft,
        floor_live_psf * share,
        floor_dead_psf * share,
        point_load_lb,
        bearing_length_in,
        live_ratio,
        total_ratio,
        joist_depth_in,
    )


@FRAME.row(
    "Overhang past the outer beam, use in bending",
    "share",
    fmt="0%",
    source=NDS,
    note="A joist's end carries floor, wall and roof past the beam.",
)
def overhang_use(
    option_kind: Q,
    support_inset_in: Q,
    joist_spacing_used_in: Q,
    floor_psf: Q,
    wall_plf: Q,
    roof_plf: Q,
    joist_width_in: Q,
    joist_depth_in: Q,
    joist_fb_psi: Q,
) -> Q:
    share = joist_spacing_used_in / IN_PER_FT
    overhang = support_inset_in / IN_PER_FT
    moment = share * (floor_psf * overhang**2 / 2 + (wall_plf + roof_plf) * overhang)
    modulus = design.section_modulus_in3(joist_width_in, joist_depth_in)
    use = design.bending_utilisation(moment, modulus, joist_fb_psi)
    return where_kind(option_kind, SUPPORTS, use)


@FRAME.row(
    "Joists where they rest, use in bearing across the grain",
    "share",
    fmt="0%",
    source=NDS,
    note="Outer ones with wall and roof; over the full width of skid or beam, wet service.",
)
def joist_rest_use(
    joist_width_in: Q,
    joist_spacing_used_in: Q,
    joist_fc_psi: Q,
    wet_fc: Q,
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
    return design.bearing_utilisation(rest, joist_width_in, bearer_width_in, joist_fc_psi * wet_fc)


FRAME.section("Wood near the ground")


@FRAME.row(
    "Skids or beams: treatment",
    kind="text",
    source="AWPA U1, read in trade summaries; UC3B from memory",
)
def bearer_class(option_kind: Q, clear_above_in: Q, ground_contact_in: Q) -> Q:
    contact, above = "ground contact, UC4A", "above ground, UC3B"
    beams = np.where(clear_above_in < ground_contact_in, contact, above)
    return by_kind(option_kind, {PADS: contact, SUPPORTS: beams, FLOORS: "none"})


@FRAME.row(
    "Joists: treatment",
    kind="text",
    source="AWPA U1, read in trade summaries; UC3B from memory; IRC R317.1",
)
def joist_class(joist_clear_least_in: Q, ground_contact_in: Q, joist_clear_in: Q) -> Q:
    return np.where(
        joist_clear_least_in < ground_contact_in,
        "ground contact, UC4A",
        np.where(
            joist_clear_least_in < joist_clear_in, "above ground, UC3B", "untreated wood may do"
        ),
    )


@FRAME.row(
    "Timbers of the frame: treatment", kind="text", source="AWPA U1, read in trade summaries"
)
def timber_class(option_kind: Q) -> Q:
    return where_kind(option_kind, TIMBERED, "ground contact, UC4A", "none")


@FRAME.row("Nails, screws and ties in treated wood", kind="text", source="IRC R317.3, from memory")
def treated_hardware(option_kind: Q, joist_treated: Q) -> Q:
    return np.where(
        is_kind(option_kind, GRADED) | (joist_treated == 1),
        "hot-dip galvanized or stainless",
        "hot-dip galvanized or stainless at the beams",
    )


@FRAME.row("Air under the joists", "in", fmt="0.0", note="Above the stone, or above the ground.")
def air_under_in(option_kind: Q, skid_depth_in: Q, clear_above_in: Q, beam_depth_in: Q) -> Q:
    beams = clear_above_in + beam_depth_in
    return by_kind(option_kind, {PADS: skid_depth_in, SUPPORTS: beams, FLOORS: 0})
