"""Solvers of the sizes left blank on Options: what each takes, and what was taken first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Any

import numpy as np

from estimator.engine import Model, Solver
from estimator.gather import contributed
from estimator.model.adds import Check
from estimator.model.sizes_in_use import (
    EACH,
    FOOTING,
    IMPRACTICAL,
    JOIST,
    NONE_PASSES,
    PASSES,
    PLIES,
    ROWS,
    SKID,
    SPACING,
)
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.reads import Reads, as_texts, blanks, zeros
from estimator.model.solvers.size_grid import GRID_READS, VARIED, Design, grid_of
from estimator.model.solvers.trial import Rows, Trial, rows_of
from estimator.model.solvers.wanted import Wanted
from estimator.rows import Sheet

if TYPE_CHECKING:
    from estimator.model.solvers.least_total import Search
    from estimator.model.solvers.one_search import Found

_DECIDES = ("option_used", "option_kind", "sizes_blank")
_OWN = ("blank_sizes", "first_suggestions")


def sizes(sheets: Sequence[Sheet], wanted: Wanted, others: Sequence[Solver]) -> Solver:
    """The solver of the sizes left blank.

    Args:
        sheets: With what their assemblies contribute.
        wanted: What they want cut.
        others: Solvers that stand between a size and what it costs, that of the saw among them.
    """
    checks = tuple(item.key for item in contributed(sheets, Check))
    through = {solver.name: solver for solver in others}
    trial = _trial(rows_of(sheets), through, checks, OwnUnits())
    return Solver(
        "blank_sizes",
        "sizes left blank",
        _DECIDES,
        partial(solve_sizes, wanted, tuple(through), checks),
        prices=tuple(sorted((trial.reads | set(GRID_READS)) - set(_DECIDES))),
        live=False,  # no cell can name all that it reads
        counts_when="sizes_blank",
        by_model=True,
    )


def _trial(
    rows: Rows, through: Mapping[str, Solver], checks: Sequence[str], units: OwnUnits
) -> Trial:
    varied = [units.name(key) for key in VARIED]
    return Trial(
        rows,
        varied,
        [units.name(key) for key in ("total_cost", "item_cost", "stack_in")],
        checks=[key for key in checks if not rows.rest_on(key, _OWN, varied)],
        through=through,
        last=("cutting",),
    )


@lru_cache(maxsize=4)
def _trial_of(model: Model, through: tuple[str, ...], checks: tuple[str, ...]) -> Trial:
    """The trial of a model's own rows."""
    others = {name: model.solvers[name] for name in through}
    return _trial(Rows(model.quantities, model.stacks), others, checks, OwnUnits(model))


def solve_sizes(
    wanted: Wanted,
    through: tuple[str, ...],
    checks: tuple[str, ...],
    values: Mapping[str, Any],
    model: Model,
) -> Mapping[str, Any]:
    """What each blank of every option takes; nothing where it is typed.

    Of all designs on the grid, the one of least total cost among those that pass every check that
    the sizes decide and are practical; if none is practical, among those that pass; if none
    passes, the strongest. Of some that cost the same it is the first on the grid.

    Args:
        wanted: What the assemblies want cut.
        through: Solvers between a size and what it costs.
        checks: Keys of all checks.
        values: What the model knows, in its own units.
        model: Whose rows are tried.

    Raises:
        OptionError: If the joist is left blank and the price book has none.
    """
    from estimator.model.solvers.least_total import Search

    trial, units = _trial_of(model, through, checks), OwnUnits(model)
    q = Reads(units.in_feet(values, (*_DECIDES, *GRID_READS)))
    joist = blanks()
    names = ("spacing_in", "skids", "rows", "per_row", "footing_in", "plies")
    number = {key: zeros() for key in (*names, "designs", "passing", "proven", "fails")}
    blanks_of = {o: int(blank) for o in q.options() if (blank := q.number("sizes_blank", o))}
    search = Search(trial, wanted, units, values)
    for option, (design, found, says) in _chosen(search, q, tuple(blanks_of), units).items():
        blank = blanks_of[option]
        if blank & JOIST:
            joist[option] = design.joist
        taken = {
            "spacing_in": design.spacing_in if blank & SPACING else 0,
            "skids": design.skids if blank & SKID else 0,
            "rows": design.rows if blank & ROWS else 0,
            "per_row": design.each if blank & EACH else 0,
            "footing_in": design.footing_in if blank & FOOTING else 0,
            "plies": design.plies if blank & PLIES else 0,
            "designs": found.designs,
            "passing": found.passing,
            "proven": found.proven,
            "fails": says,
        }
        for key, value in taken.items():
            number[key][option] = value
    answer: dict[str, Any] = {f"default_{key}": value for key, value in number.items()}
    answer["default_joist"] = as_texts(joist)
    return units.in_own(answer)


def _chosen(
    search: Search, q: Reads, options: Sequence[int], units: OwnUnits
) -> dict[int, tuple[Design, Found, int]]:
    """Of each option the design, what was found, and what is to be said of it."""
    grid, every = (
        {o: grid_of(q, o, units.measure, practical=practical) for o in options}
        for practical in (True, False)
    )
    chosen: dict[int, tuple[Design, Found, int]] = {}
    first = search.least(grid, stack_most_in=q.number("practical_stack_in"))
    for option, found in first.items():
        if found.at is not None:
            chosen[option] = grid[option].design(found.at), found, PASSES
    second = search.least({o: every[o] for o in options if o not in chosen})
    for option, found in second.items():
        if found.at is not None:
            chosen[option] = every[option].design(found.at), found, IMPRACTICAL
        else:  # the last on every axis of what can be built at all
            strongest = grid[option].design(search.last(option, grid[option]))
            chosen[option] = strongest, found, NONE_PASSES
    return chosen


def first_taken(reads: Mapping[str, Any]) -> Mapping[str, Any]:
    """What is suggested, as the first that is taken."""
    return {
        "suggestion_first": np.asarray(reads["suggested_text"]),
        "suggestion_first_of": np.asarray(reads["sizes_blank"]),
    }


def still_taken(reads: Mapping[str, Any], last_answer: Mapping[str, Any]) -> Mapping[str, Any]:
    """What was first suggested for the same blanks; else what is suggested now."""
    now = first_taken(reads)
    first, first_of = (
        np.asarray(last_answer["suggestion_first"]),
        np.asarray(last_answer["suggestion_first_of"]),
    )
    same = (first_of == now["suggestion_first_of"]) & (first != "")
    return {
        "suggestion_first": np.where(same, first, now["suggestion_first"]),
        "suggestion_first_of": now["suggestion_first_of"],
    }


TAKEN = Solver(
    "first_suggestions",
    "first suggestions",
    (),
    first_taken,
    prices=("suggested_text", "sizes_blank"),
    live=False,
    worst=1,
    keep=still_taken,
)
