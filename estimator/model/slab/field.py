"""Of the sheet Field Sheet: forms, edges, steel and bolts of a slab."""

from __future__ import annotations

import numpy as np

from estimator.rows import Chapter
from estimator.vocabulary import Q, amount, join, nth, pick

FIELD = Chapter()
FIELD.section("Slab on the ground")


@FIELD.row("Forms", kind="text", scope="job")
def field_forms(
    slab_on: Q, slab_thick_used_in: Q, form_stock: Q, stake_count: Q, chosen_no: Q
) -> Q:
    text = join(
        "tops ",
        amount(pick(slab_thick_used_in, chosen_no), "in", "0.0"),
        " above the string, faces on the building's lines; ",
        pick(form_stock, chosen_no),
        ", ",
        pick(stake_count, chosen_no),
        " stakes",
    )
    return np.where(pick(slab_on, chosen_no) == 1, text, "none")


@FIELD.row("Edge, below the tops of the forms", kind="text", scope="job")
def field_edges(slab_on: Q, slab_chosen_in: Q, slab_edge_used_in: Q, chosen_no: Q) -> Q:
    text: Q = join(
        amount(pick(slab_edge_used_in, chosen_no), "in", "0.0"), " wide; at corners 1 to 4: "
    )
    for number in range(1, 5):
        text = join(
            text, amount(nth(slab_chosen_in, number), "in", "0.0"), "" if number == 4 else ", "
        )
    return np.where(pick(slab_on, chosen_no) == 1, text, "none")


@FIELD.row("Joints and anchor bolts", kind="text", scope="job")
def field_joints(slab_on: Q, joints_along: Q, joints_across: Q, bolt_count: Q, chosen_no: Q) -> Q:
    text = join(
        pick(joints_along, chosen_no),
        " joints front to back, ",
        pick(joints_across, chosen_no),
        " along; ",
        pick(bolt_count, chosen_no),
        " bolts, treated plates",
    )
    return np.where(pick(slab_on, chosen_no) == 1, text, "none")
