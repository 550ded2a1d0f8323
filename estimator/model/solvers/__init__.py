"""Solvers: one module each, or one for a few that belong together; all of them listed here.

A solver's module adapts the quantities of the model to the functions of ``estimator/solve``: what it
reads, how it asks, how its answer fills the rows declared as solved. It imports what is long to load
where it asks: a refill in which the answers hold loads none of that.
"""

from __future__ import annotations

from collections.abc import Sequence

from estimator.engine import Solver
from estimator.gather import contributed
from estimator.model.adds import Piece, PieceList
from estimator.model.solvers.best_places import siting
from estimator.model.solvers.blank_sizes import TAKEN, sizes
from estimator.model.solvers.board_cuts import cutting
from estimator.model.solvers.cost_range import cost_range
from estimator.model.solvers.fall_totals import falls
from estimator.model.solvers.ground_beside import AROUND
from estimator.model.solvers.ground_under import BALANCE, GROUND
from estimator.model.solvers.joist_lines import JOISTS
from estimator.model.solvers.least_sizes import least_sizes
from estimator.model.solvers.outlines import OUTLINES
from estimator.model.solvers.readings import READINGS
from estimator.model.solvers.sheet_layout import SHEETS
from estimator.model.solvers.supply import SUPPLY
from estimator.model.solvers.timber_frame import FRAME
from estimator.model.solvers.typed_over_list import TYPED_OVER
from estimator.model.solvers.wanted import Wanted
from estimator.model.solvers.what_ifs import what_ifs
from estimator.rows import Sheet


def all_solvers(sheets: Sequence[Sheet]) -> tuple[Solver, ...]:
    """Every solver, in the order in which the sheet Solved From lists them.

    Args:
        sheets: With the contributions that a solver works on.
    """
    wanted = Wanted(contributed(sheets, Piece), contributed(sheets, PieceList))
    saw = cutting(wanted)
    blanks = sizes(sheets, wanted, (GROUND, FRAME, JOISTS, SHEETS, saw))
    places = siting(sheets)
    return (
        SUPPLY,
        READINGS,
        GROUND,
        AROUND,
        places,
        OUTLINES,
        BALANCE,
        blanks,
        TAKEN,
        FRAME,
        JOISTS,
        saw,
        SHEETS,
        least_sizes(sheets),
        cost_range(sheets),
        falls(sheets, (GROUND, AROUND, BALANCE, blanks, TAKEN, FRAME, JOISTS, saw, SHEETS)),
        what_ifs(sheets, (GROUND, AROUND, places, BALANCE, blanks, FRAME, JOISTS, saw, SHEETS)),
        TYPED_OVER,
    )
