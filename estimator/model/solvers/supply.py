"""Solver that tells which options can't be supplied: those for which another had no answer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from estimator.engine import Declared, Solver
from estimator.model.solvers.reads import as_texts, blanks
from estimator.model.supply import SAYS
from estimator.model.supply import SUPPLY as NAME
from estimator.rows import NOT_PRICED


def solve_supply(values: Declared) -> Mapping[str, Any]:
    """Why an option can't be supplied, and what to do; empty for one that can."""
    told = blanks()
    for option, error in values.refused.items():
        told[option, 0] = f"{SAYS}{error} Then refill."
    return {NOT_PRICED: as_texts(told)}


SUPPLY = Solver(NAME, "what can be supplied", (), solve_supply, live=False)
