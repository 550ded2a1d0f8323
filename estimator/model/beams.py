"""Sheet Footings, fourth part: beams over piers and blocks."""

from __future__ import annotations

import numpy as np

from estimator.model.supports import FOOTINGS
from estimator.solve import design
from estimator.vocabulary import Q, join, lookup

__all__ = ["FOOTINGS"]

BEAM_BEARING_IN = 3.5
"""Length of a beam's bearing on its base (common practice, no source)."""

FOOTINGS.section("Beams")


@FOOTINGS.row("Beam board width", "in")
def beam_width_in(beam_stock: Q, stock_name: Q, stock_width_in: Q) -> Q:
    return lookup(beam_stock, stock_name, stock_width_in, 0)


@FOOTINGS.row("Beam depth", "in")
def beam_depth_in(beam_stock: Q, stock_name: Q, stock_depth_in: Q) -> Q:
    return lookup(beam_stock, stock_name, stock_depth_in, 0)


@FOOTINGS.row("Wood of the beam", kind="text")
def beam_wood(species: Q, beam_stock: Q, stock_name: Q, stock_nominal: Q) -> Q:
    return join(species, " ", lookup(beam_stock, stock_name, stock_nominal, ""))


@FOOTINGS.row("Incised when treated", fmt="0")
def incised(species: Q, species_name: Q, species_incised: Q) -> Q:
    return np.where(lookup(species, species_name, species_incised) == "yes", 1, 0)


@FOOTINGS.row(
    "Beam, greatest use of what it may carry",
    "share",
    fmt="0%",
    source="NDS 2018 ch. 3 and 4, simple spans, wet service where treated",
)
def beam_use(
    on_pad: Q,
    beam_wood: Q,
    beam_stock: Q,
    stock_name: Q,
    stock_treated: Q,
    incised: Q,
    beam_width_in: Q,
    beam_depth_in: Q,
    beam_plies: Q,
    bay_along_ft: Q,
    beam_outer_plf: Q,
    beam_inner_plf: Q,
    support_load_lb: Q,
    point_load_lb: Q,
    floor_live_psf: Q,
    floor_psf: Q,
    wood_name: Q,
    wood_fb_psi: Q,
    wood_fv_psi: Q,
    wood_fc_psi: Q,
    wood_e_psi: Q,
    wet_fb: Q,
    wet_fv: Q,
    wet_fc: Q,
    wet_e: Q,
    incised_f: Q,
    incised_e: Q,
    live_ratio: Q,
    total_ratio: Q,
) -> Q:
    treated = np.where(lookup(beam_stock, stock_name, stock_treated, "no") == "yes", 1, 0)
    cut = treated * incised
    load = np.maximum(beam_outer_plf, beam_inner_plf)
    live = load * floor_live_psf / floor_psf
    use = design.member_utilisation(
        beam_width_in * beam_plies + on_pad,
        beam_depth_in + on_pad,
        lookup(beam_wood, wood_name, wood_fb_psi, 1)
        * (1 - treated * (1 - wet_fb))
        * (1 - cut * (1 - incised_f)),
        lookup(beam_wood, wood_name, wood_fv_psi, 1)
        * (1 - treated * (1 - wet_fv))
        * (1 - cut * (1 - incised_f)),
        lookup(beam_wood, wood_name, wood_fc_psi, 1) * (1 - treated * (1 - wet_fc)),
        lookup(beam_wood, wood_name, wood_e_psi, 1)
        * (1 - treated * (1 - wet_e))
        * (1 - cut * (1 - incised_e)),
        bay_along_ft + on_pad,
        live,
        load - live,
        point_load_lb,
        BEAM_BEARING_IN,
        live_ratio,
        total_ratio,
        beam_depth_in,
        1.25,
    )
    on_support = design.bearing_utilisation(
        support_load_lb,
        beam_width_in * beam_plies + on_pad,
        BEAM_BEARING_IN,
        lookup(beam_wood, wood_name, wood_fc_psi, 1) * (1 - treated * (1 - wet_fc)),
    )
    return np.where(on_pad == 1, 0, np.maximum(use, on_support))
