"""Of the sheet Options: what a slab on the ground is made of."""

from __future__ import annotations

from dataclasses import replace

from estimator.inputs import Field
from estimator.model.kinds import FLOORS
from estimator.rows import Chapter

INPUTS = Chapter()
MESH, BARS, NONE = "mesh", "bars", "none"
BARROW, CHUTE, PUMP = "barrow", "chute", "pump"
EDGE_MOST_IN = 60.0
"""Widest edge that may be typed, and so is suggested, in."""


def _typed(*fields: Field) -> None:
    for field in fields:
        INPUTS.typed(replace(field, kinds=FLOORS), scope="option")


INPUTS.section("Slab on the ground")
_typed(
    Field(
        "slab_thick_in",
        "Thickness of the slab",
        "in",
        "length",
        None,
        1,
        12,
        needed=False,
        when_blank="Blank: the usual thickness on Factors.",
    ),
    Field(
        "slab_edge_in",
        "Width of its edge at the bottom",
        "in",
        "length",
        None,
        4,
        EDGE_MOST_IN,
        needed=False,
        when_blank="Blank: as wide as the walls ask for on this soil, and the least on Factors.",
    ),
    Field(
        "slab_edge_below_in",
        "Least depth of the edge below the stripped ground",
        "in",
        "length",
        None,
        1,
        100,
        needed=False,
        note="Frost depth governs where it is not waived.",
        when_blank="Blank: the least on Factors.",
    ),
    Field(
        "slab_steel",
        "Steel in the slab",
        kind="choice",
        default=MESH,
        choices=(MESH, BARS, NONE),
    ),
    Field("slab_bar_spacing_in", "Bars on centre, both ways", "in", "length", 18, 6, 48),
    Field("slab_edge_bars", "Bars round the edge", "bars", "whole", 2, 0, 8),
    Field(
        "slab_retarder",
        "Vapour retarder under the slab",
        kind="choice",
        default="yes",
        choices=("no", "yes"),
        note="Codes spare unheated accessory buildings it; nothing under the slab can be put there later.",
    ),
    Field(
        "form_stock",
        "Form boards",
        kind="key",
        default="2x6",
        refers="stock_name",
        note="Set on edge, one above the other where the slab stands high.",
    ),
    Field("stake_stock", "Stakes of the forms", kind="key", default="2x4", refers="stock_name"),
    Field(
        "slab_placed_by",
        "Ready-mix placed by",
        kind="choice",
        default=BARROW,
        choices=(BARROW, CHUTE, PUMP),
        note="chute: the truck reaches every side; barrow: from where it stops; pump: hired for the pour.",
    ),
)
