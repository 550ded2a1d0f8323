"""The list on the sheet Checks of numbers typed over and formulas changed; a refill writes it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from estimator.engine import Solver
from estimator.model.checks import CHECKS
from estimator.vocabulary import Q

LINES = 40
COLUMNS = ("override_cell", "override_label", "override_value", "override_engine", "override_what")
"""Columns of the list, which a refill fills."""

CHECKS.section("Numbers typed over, and formulas changed")


@CHECKS.row(
    "Cells that are not the estimator's",
    "cells",
    fmt="0",
    scope="job",
    note="As the last refill found them; listed below.",
)
def overrides_listed(override_cell: Q) -> Q:
    return np.sum(np.where(override_cell != "", 1, 0))


LIST = CHECKS.table(
    "override",
    "Typed over or changed",
    LINES,
    note="These win, here and in the engine. Clear a cell and refill to get its formula back.",
)
for key, label in zip(
    COLUMNS, ("Cell", "Quantity", "In use", "The estimator's", "What it is"), strict=True
):
    LIST.solved(key, label, solver="overrides", kind="text")


def none_listed(reads: Mapping[str, Any]) -> Mapping[str, Any]:
    """An empty list: only the reader of a workbook knows what was typed over in it."""
    assert not reads
    return {key: np.full((1, LINES), "") for key in COLUMNS}


OVERRIDES = Solver("overrides", "numbers typed over", (), none_listed)
