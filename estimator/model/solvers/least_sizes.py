"""Solver of the least sizes that work for the loads, beside what is chosen.

Candidates are tried on the very rows that check the chosen sizes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.amounts import Measure
from estimator.engine import Solver
from estimator.model.footings import SUPPORTS_MOST
from estimator.model.kinds import PADS, SUPPORTS
from estimator.model.solvers.candidates import (
    GRID,
    LEAST_BAY_FT,
    SKIDS,
    YARD_READS,
    Boards,
    goal,
    offered,
    spacings,
)
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.model.solvers.trial import Rows, Trial, rows_of
from estimator.model.suggestions import SPACINGS
from estimator.rows import OPTION_KEYS, Sheet
from estimator.units import IN_PER_FT
from estimator.values import Values

NONE = "none on offer works"


@dataclass(frozen=True, slots=True)
class _Trials:
    """The rows that check joists, skids and supports."""

    joists: Trial
    skids: Trial
    supports: Trial


def _trials(rows: Rows) -> _Trials:
    floor = ("check_joists", "check_end_line", "check_joints")
    return _Trials(
        Trial(
            rows,
            ("joist_stock_used", "joist_spacing_used_in"),
            ("joist_use", "overhang_use", "joist_rest_use", "joists_in_all", "joist_length_in"),
            checks=floor,
        ),
        Trial(rows, ("skid_count_used",), (), checks=(*floor, "check_skids", "check_bearing")),
        Trial(
            rows,
            ("support_rows_used", "supports_per_row_used"),
            ("bay_across_ft",),
            checks=(*floor, "check_overhang", "check_beams", "check_bearing"),
        ),
    )


def least_sizes(sheets: Sequence[Sheet]) -> Solver:
    """The solver, on the rows of these sheets."""
    trials = _trials(rows_of(sheets))
    reads = trials.joists.reads | trials.skids.reads | trials.supports.reads | YARD_READS
    return Solver(
        "suggest",
        "suggestions",
        tuple(sorted(reads | _OTHERS)),
        partial(solve_suggestions, trials),
        by_measure=True,
        prices=("item_paid",),
        worst=1,
    )


_OTHERS = {
    "option_used",
    "option_kind",
    "joist_stock_used",
    "building_length_ft",
    "sheet_span_in",
    "stock_nominal",
    "support_inset_in",
    "building_width_ft",
}


def solve_suggestions(
    trials: _Trials, values: Mapping[str, Any], measure: Measure = "feet"
) -> Mapping[str, Any]:
    """Smallest joists, fewest skids and fewest supports of every option."""
    q = Reads(values)
    return {
        **_joists(trials.joists, q, spacings(measure)),
        "suggest_skids": _skids(trials.skids, q),
        "suggest_supports": _supports(trials.supports, q),
    }


def _joists(trial: Trial, q: Reads, usual: Mapping[str, float]) -> dict[str, Any]:
    answer: dict[str, Any] = {"suggest_cheapest": blanks()}
    for name in SPACINGS:
        answer[f"suggest_joist_{name}"] = blanks()
        answer[f"suggest_use_{name}"], answer[f"suggest_cost_{name}"] = zeros(), zeros()
    for treated in ("no", "yes"):
        options = [
            o for o in q.options() if _is_treated(q, q.text("joist_stock_used", o)) == treated
        ]
        sizes = offered(q, treated)
        if not options or not sizes:
            continue
        tried = [(size, spacing) for spacing in usual.values() for size in sizes]
        goals, failing = _tried(
            trial,
            q,
            {
                "joist_stock_used": np.array([s for s, _ in tried])[:, np.newaxis, np.newaxis],
                "joist_spacing_used_in": np.array([x for _, x in tried])[:, np.newaxis, np.newaxis],
            },
        )
        for option in options:
            _put_joists(q, answer, option, tried, goals, failing[:, option], usual)
    for key, value in answer.items():
        if value.dtype == object:
            answer[key] = as_texts(value)
    return answer


def _put_joists(
    q: Reads,
    answer: dict[str, Any],
    option: int,
    tried: Sequence[tuple[str, float]],
    goals: Mapping[str, Values],
    failing: NDArray[np.bool_],
    usual: Mapping[str, float],
) -> None:
    boards = Boards.read(q)
    best: tuple[float, str] = (math.inf, "")
    for name, spacing in usual.items():
        at = next((i for i, t in enumerate(tried) if t[1] == spacing and not failing[i]), None)
        if spacing > q.number("sheet_span_in", option) + 1e-9:
            answer[f"suggest_joist_{name}"][option] = "past the sheet's rating"
            continue
        if at is None:
            answer[f"suggest_joist_{name}"][option] = NONE
            continue
        size = tried[at][0]
        cost = boards.price_of(
            size,
            [
                (
                    goal(goals, "joist_length_in", at, option),
                    goal(goals, "joists_in_all", at, option),
                ),
                (q.number("building_length_ft") * IN_PER_FT, 2),
            ],
        )
        answer[f"suggest_joist_{name}"][option] = size
        answer[f"suggest_use_{name}"][option] = max(
            goal(goals, key, at, option) for key in ("joist_use", "overhang_use", "joist_rest_use")
        )
        answer[f"suggest_cost_{name}"][option] = cost
        best = min(best, (cost, f"{size} at {{{spacing:g} in}}"))
    answer["suggest_cheapest"][option] = best[1] if best[0] > 0 else ""


def _skids(trial: Trial, q: Reads) -> NDArray[np.float64]:
    fewest = zeros()
    counts = np.array(SKIDS, dtype=float)[:, np.newaxis, np.newaxis]
    _, failing = _tried(trial, q, {"skid_count_used": counts})
    for option in q.options():
        if q.text("option_kind", option) in PADS:
            fewest[option] = next(
                (n for n, bad in zip(SKIDS, failing[:, option], strict=True) if not bad), 0
            )
    return fewest


def _supports(trial: Trial, q: Reads) -> NDArray[np.str_]:
    fewest = blanks()
    grid = np.array(GRID, dtype=float)[:, :, np.newaxis, np.newaxis]
    goals, failing = _tried(
        trial, q, {"support_rows_used": grid[:, 0], "supports_per_row_used": grid[:, 1]}
    )
    for option in q.options():
        if q.text("option_kind", option) not in SUPPORTS:
            continue
        works = [
            (rows * each, rows, each)
            for i, (rows, each) in enumerate(GRID)
            if not failing[i, option]
            and rows * each <= SUPPORTS_MOST
            and goal(goals, "bay_across_ft", i, option) >= LEAST_BAY_FT
        ]
        if works:
            count, rows, each = min(works)
            fewest[option] = f"{count} in {rows} rows of {each}"
        else:
            fewest[option] = NONE
    return as_texts(fewest)


def _tried(
    trial: Trial, q: Reads, varied: Mapping[str, Any]
) -> tuple[Mapping[str, Values], NDArray[np.bool_]]:
    """What is known of every candidate, and which fail a check, (candidates, options)."""
    known, _ = trial.early(q.values, varied)
    count = len(next(iter(varied.values())))
    failing = np.zeros((count, len(OPTION_KEYS)), dtype=bool)
    for fails in trial.failing(known, late=False).values():
        failing |= fails[..., 0]
    return known, failing


def _is_treated(q: Reads, stock: str) -> str:
    names = [str(n).casefold() for n in q.column("stock_name")]
    return q.text("stock_treated", 0, names.index(stock.casefold()))
