"""The list on the sheet Checks of numbers typed over and formulas changed; a refill writes it."""

from __future__ import annotations

import numpy as np

from estimator.appearance import Appearance
from estimator.model.checks import CHECKS
from estimator.vocabulary import Q

__all__ = ["CHECKS", "COLUMNS", "LINES", "SOLVER"]

LINES = 40
COLUMNS = (
    "typed_over_cell",
    "typed_over_label",
    "typed_over_value",
    "typed_over_engine",
    "typed_over_what",
)
"""Columns of the list."""
SOLVER = "typed_over"
"""The solver whose answer the list is; a refill makes it after all others."""

CHECKS.section("Numbers typed over, and formulas changed")


@CHECKS.row(
    "Cells that are not the estimator's",
    "cells",
    fmt="0",
    scope="job",
    note="As the last refill found them; listed below.",
)
def typed_over_listed(typed_over_cell: Q) -> Q:
    return np.sum(np.where(typed_over_cell != "", 1, 0))


LIST = CHECKS.table(
    "typed_over",
    "Typed over or changed",
    LINES,
    note="These win, here and in the engine. Clear a cell and refill to get its formula back.",
    shows=Appearance(printed_rows=10),
)
for key, label in zip(
    COLUMNS, ("Cell", "Quantity", "In use", "The estimator's", "What it is"), strict=True
):
    LIST.solved(key, label, solver=SOLVER, kind="text")
