"""The model: one module a sheet, joined and checked by :func:`build_model`."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from estimator.engine import Model
from estimator.gather import gather
from estimator.model import (
    aggregate,
    buy_list,
    compare,
    cost,
    cut_plan,
    factors,
    field_depths,
    floor_frame,
    floor_inputs,
    grading,
    job,
    lumber,
    options,
    pad_heights,
    pictures,
    prices,
    sheathing,
    siting_sheet,
    sizes_in_use,
    slab,
    sources,
    start,
    survey,
    typed_over,
    water,
)
from estimator.model.solvers import all_solvers
from estimator.rows import Sheet

SHEETS = (
    start.START,
    job.JOB,
    survey.SURVEY,
    options.OPTIONS,
    floor_inputs.FLOOR,
    prices.PRICES,
    siting_sheet.SITING,
    grading.GRADING,
    pad_heights.PAD_HEIGHTS,
    slab.FOOTINGS,
    aggregate.AGGREGATE,
    water.WATER,
    lumber.LUMBER,
    sheathing.SHEATHING,
    sizes_in_use.SUGGESTIONS,
    cost.COST,
    compare.COMPARE,
    field_depths.FIELD_SHEET,
    pictures.PICTURES,
    floor_frame.FLOOR_FRAME,
    cut_plan.CUT_PLAN,
    cut_plan.SHEET_LAYOUT,
    buy_list.BUY_LIST,
    typed_over.CHECKS,
    factors.FACTORS,
    sources.SOURCES,
)
"""In the workbook's order, with what their assemblies contribute still to be gathered."""


@cache
def build_model() -> Model:
    """All sheets, gathered, with their solvers."""
    return model_of(SHEETS)


def model_of(sheets: Sequence[Sheet]) -> Model:
    """The model of these sheets, their contributions gathered, with all solvers."""
    gathered = gather(sheets)
    return Model(gathered, all_solvers(gathered))
