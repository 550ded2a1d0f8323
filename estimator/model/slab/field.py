"""Of the sheet Field Sheet: edges of a slab at the corners, beside the stakes."""

from __future__ import annotations

import numpy as np

from estimator.model.field_sheet import CORNER_LINES, DUG_TO
from estimator.model.kinds import FLOORS, is_kind
from estimator.model.tape import inches
from estimator.vocabulary import Q, nth, pick


@CORNER_LINES.column("Edge", kind="text")
def stake_edge(
    stake_no: Q, slab_chosen_in: Q, string_offset_in: Q, chosen_base: Q, chosen_no: Q
) -> Q:
    deep = nth(slab_chosen_in, stake_no) + pick(string_offset_in, chosen_no)
    return np.where(is_kind(chosen_base, FLOORS), inches(deep, DUG_TO, headed=True), "")
