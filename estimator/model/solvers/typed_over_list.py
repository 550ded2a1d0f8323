"""Solver of the list of numbers typed over; a refill writes it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from estimator.engine import Solver
from estimator.model.typed_over import COLUMNS, LINES


def none_listed(reads: Mapping[str, Any]) -> Mapping[str, Any]:
    """An empty list: only the reader of a workbook knows what was typed over in it."""
    assert not reads
    return {key: np.full((1, LINES), "") for key in COLUMNS}


TYPED_OVER = Solver("typed_over", "numbers typed over", (), none_listed, live=False)
