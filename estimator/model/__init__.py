"""The model: one module a sheet, joined and checked by :func:`build_model`."""

from __future__ import annotations

from functools import cache

from estimator.model import (
    aggregate,
    buy_list,
    checks,
    compare,
    cost,
    cut_plan,
    factors,
    field_sheet,
    footings,
    grading,
    job,
    lumber,
    options,
    prices,
    sheathing,
    sources,
    start,
    survey,
)
from estimator.model.solvers import SOLVERS
from estimator.rows import Model


@cache
def build_model() -> Model:
    """All sheets in the workbook's order, with their solvers."""
    sheets = (
        start.START,
        job.JOB,
        survey.SURVEY,
        options.OPTIONS,
        prices.PRICES,
        grading.GRADING,
        footings.FOOTINGS,
        aggregate.AGGREGATE,
        lumber.LUMBER,
        sheathing.SHEATHING,
        cost.COST,
        compare.COMPARE,
        field_sheet.FIELD_SHEET,
        cut_plan.CUT_PLAN,
        cut_plan.SHEET_LAYOUT,
        buy_list.BUY_LIST,
        checks.CHECKS,
        factors.FACTORS,
        sources.SOURCES,
    )
    return Model(sheets, SOLVERS)
