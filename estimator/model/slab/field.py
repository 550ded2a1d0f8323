"""Of the sheet Field Sheet: forms and edges of a slab at the corners, beside the stakes."""

from __future__ import annotations

import numpy as np

from estimator.model.field_sheet import STAKES
from estimator.vocabulary import Q, nth, pick


@STAKES.column("Slab form", "in", fmt="0.0;-0.0;")
def stake_form_in(stake_no: Q, slab_thick_used_in: Q, chosen_no: Q) -> Q:
    return np.where(stake_no > 0, pick(slab_thick_used_in, chosen_no), 0)


@STAKES.column("Its edge", "in", fmt="0.0;-0.0;")
def stake_edge_in(stake_no: Q, slab_chosen_in: Q) -> Q:
    return nth(slab_chosen_in, stake_no)


@STAKES.column("Edge wide", "in", fmt="0.0;-0.0;")
def stake_edge_wide_in(stake_no: Q, slab_edge_used_in: Q, chosen_no: Q) -> Q:
    return np.where(stake_no > 0, pick(slab_edge_used_in, chosen_no), 0)
