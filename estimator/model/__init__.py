"""The model: one module a sheet, joined and checked by :func:`build_model`."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from estimator.engine import Model
from estimator.gather import gather
from estimator.model import (
    aggregate,
    buy_list,
    cost,
    cut_plan,
    factors,
    field_depths,
    floor_frame,
    floor_inputs,
    footings,
    job,
    lumber,
    pad_heights,
    pictures,
    plan,
    prices,
    quote,
    sheathing,
    siting_sheet,
    sizes_in_use,
    slab,
    sources,
    start,
    survey,
    typed_over,
)
from estimator.model.solvers import all_solvers
from estimator.rows import Sheet

OF_KINDS = (slab,)
"""Packages of kinds: the sheets that they write on are whole once these are read."""

# Below all that the assemblies have added to it.
factors.FACTORS.take(sources.SOURCES)

SHEETS = (
    start.START,
    job.JOB,
    survey.SURVEY,
    siting_sheet.SITING,
    sizes_in_use.OPTIONS,
    floor_inputs.FLOOR,
    prices.PRICES,
    field_depths.FIELD_SHEET,
    pictures.PICTURES,
    cut_plan.CUT_PLAN,
    cut_plan.SHEET_LAYOUT,
    floor_frame.FLOOR_FRAME,
    buy_list.BUY_LIST,
    plan.PLAN,
    quote.QUOTE,
    typed_over.CHECKS,
    cost.COST,
    pad_heights.GRADING,
    footings.FOOTINGS,
    aggregate.AGGREGATE,
    lumber.LUMBER,
    sheathing.SHEATHING,
    factors.FACTORS,
)
"""In the workbook's order: what is typed and answered, what is carried, what it rests on; with what their assemblies contribute still to be gathered."""


@cache
def build_model() -> Model:
    """All sheets, gathered, with their solvers."""
    return model_of(SHEETS)


def model_of(sheets: Sequence[Sheet]) -> Model:
    """The model of these sheets, their contributions gathered, with all solvers."""
    gathered = gather(sheets)
    return Model(gathered, all_solvers(gathered))
