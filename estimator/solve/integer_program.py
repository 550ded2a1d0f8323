"""Programs in whole numbers, solved with one thread, without a word, the same way every time."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from estimator.errors import SolveError

# In programs so small, looking for a first plan by jumps takes most of the solver's time.
_SMALL_PROGRAM = 80


@dataclass(frozen=True, slots=True)
class Model:
    """A program in whole numbers: columns, then rows in compressed column form."""

    cost: npt.NDArray[np.float64]
    lower: npt.NDArray[np.float64]
    upper: npt.NDArray[np.float64]
    row_lower: npt.NDArray[np.float64]
    row_upper: npt.NDArray[np.float64]
    start: npt.NDArray[np.int32]
    index: npt.NDArray[np.int32]
    value: npt.NDArray[np.float64]


def build(
    columns: Sequence[tuple[float, float, Sequence[tuple[int, float]]]],
    rows: Sequence[tuple[float, float]],
) -> Model:
    """A model from columns (cost, upper bound, entries by row) and rows (lower, upper)."""
    start = np.zeros(len(columns) + 1, dtype=np.int32)
    start[1:] = np.cumsum([len(c[2]) for c in columns])
    return Model(
        np.array([c[0] for c in columns], dtype=float),
        np.zeros(len(columns)),
        np.array([c[1] for c in columns], dtype=float),
        np.array([r[0] for r in rows], dtype=float),
        np.array([r[1] for r in rows], dtype=float),
        start,
        np.array([r for c in columns for r, _ in c[2]], dtype=np.int32),
        np.array([v for c in columns for _, v in c[2]], dtype=float),
    )


@dataclass(frozen=True, slots=True)
class Found:
    """What came of a program.

    Attributes:
        x: The best solution, or None.
        low: Lower bound on the objective.
        ended: Whether the search came to its end.
        iterations: Steps of the simplex method that it took: how hard it was, on any machine.
    """

    x: npt.NDArray[np.int64] | None
    low: float
    ended: bool
    iterations: int


def checked(status: Any) -> None:
    import highspy

    if status == highspy.HighsStatus.kError:
        raise SolveError("The solver refused the cutting model.", cure="Report this job.")


def run(solver: Any) -> None:
    """Run with one thread, whatever another instance in this process was set to."""
    import highspy

    if solver.run() == highspy.HighsStatus.kError:
        # The pool of threads is shared by the process and keeps its first size.
        solver.resetGlobalScheduler(True)
        checked(solver.run())


@cache
def _quiet() -> type:
    import highspy

    class Quiet(highspy.Highs):
        """Without callbacks: none is used, and taking them on prints HiGHS's banner."""

        def __init__(self) -> None:
            super(highspy.Highs, self).__init__()

    return Quiet


def quiet_solver() -> Any:
    solver = _quiet()()
    for option, setting in (("output_flag", False), ("threads", 1), ("random_seed", 1)):
        checked(solver.setOptionValue(option, setting))
    return solver


def _linear(model: Model, step: int) -> Any:
    """The model without its whole numbers, its costs in steps."""
    import highspy

    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(model.cost), len(model.row_lower)
    # In steps the objective is whole, which the solver notices and uses.
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = (
        model.cost / step,
        model.lower,
        model.upper,
    )
    lp.row_lower_, lp.row_upper_ = model.row_lower, model.row_upper
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = (
        model.start,
        model.index,
        model.value,
    )
    return lp


def relaxed(model: Model) -> Any:
    """A solver of the model whose columns need not be whole."""
    solver = quiet_solver()
    checked(solver.passModel(_linear(model, 1)))
    return solver


def solve_relaxed(model: Model) -> float:
    """The least cost where columns need not be whole; infinite where there is no solution."""
    import highspy

    solver = relaxed(model)
    run(solver)
    if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal:
        return float(solver.getInfo().objective_function_value)
    infeasible = solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible
    return math.inf if infeasible else -math.inf


def solve_integer(
    model: Model,
    *,
    deadline: float,
    work: int,
    step: int,
    target: int | None = None,
    below: int | None = None,
    within: float = 0.99,
) -> Found:
    """Minimise a model in whole numbers.

    Args:
        model: The program; every column is whole.
        deadline: When to stop in any case, on :func:`time.monotonic`'s clock.
        work: Most branches times entries of the matrix, so that a stop does not depend on the
            machine's speed; the root is worked out whatever it takes.
        step: The objective is a multiple of this.
        target: A proven lower bound: a solution that attains it ends the search.
        below: Only a solution of less is of use. Where there is none, none is found, and a search
            that came to its end has shown that every solution comes to this or more.
        within: Steps by which the solution may miss the least; below 1 it is the least.
    """
    import highspy

    solver = quiet_solver()
    lp = _linear(model, step)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(model.cost)
    for option, setting in (
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", within),
        ("mip_max_nodes", max(1, work // max(1, len(model.index)))),
        ("time_limit", max(0.05, deadline - time.monotonic())),
    ):
        checked(solver.setOptionValue(option, setting))
    if len(model.cost) <= _SMALL_PROGRAM:
        checked(solver.setOptionValue("mip_heuristic_run_feasibility_jump", False))
    if target is not None:
        checked(solver.setOptionValue("objective_target", target / step + 0.5))
    most = math.inf if below is None else -(-below // step)
    if below is not None:
        checked(solver.setOptionValue("objective_bound", most - 0.5))
    checked(solver.passModel(lp))
    run(solver)
    status = solver.getModelStatus()
    info = solver.getInfo()
    if status == highspy.HighsModelStatus.kInfeasible:
        return Found(None, most * step, True, info.simplex_iteration_count)
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    found = found and info.objective_function_value < most - 0.5
    x = np.rint(np.array(solver.getSolution().col_value)).astype(np.int64) if found else None
    low = math.ceil(info.mip_dual_bound - 1e-6) if math.isfinite(info.mip_dual_bound) else -math.inf
    if target is not None:
        low = max(low, target // step)
    low = min(low, most)  # of what is not below, it says nothing
    # 'Optimal' alone is not believed: HiGHS 1.16 says it with a wide gap after a given start.
    closed = info.objective_function_value < low + 0.5 if found else low == most
    return Found(x, low * step, closed, info.simplex_iteration_count)
