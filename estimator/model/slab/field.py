"""Of the sheet Field Sheet: edges of a slab at the corners, beside the stakes."""

from __future__ import annotations

import numpy as np

from estimator.model.field_sheet import CORNER_LINES, DUG_TO
from estimator.model.grading import CORNERS
from estimator.model.kinds import FLOORS, is_kind
from estimator.model.set_out import GUESSED
from estimator.model.tape import inches
from estimator.vocabulary import Q, join, nth, pick


@CORNER_LINES.column("Edge", kind="text")
def stake_edge(
    stake_no: Q,
    slab_chosen_in: Q,
    string_offset_in: Q,
    stake_guessed: Q,
    chosen_base: Q,
    chosen_no: Q,
) -> Q:
    deep = nth(slab_chosen_in, stake_no) + pick(string_offset_in, chosen_no)
    unsure = pick(stake_guessed, chosen_no, stake_no + 2 * CORNERS) > 0
    told = join(inches(deep, DUG_TO, headed=True), np.where(unsure, GUESSED, ""))
    return np.where(is_kind(chosen_base, FLOORS), told, "")
