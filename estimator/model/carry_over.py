"""What belongs to one job alone, and is cleared when the next one is started from its workbook."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.engine import Model
from estimator.model.cost.actuals import WORKED
from estimator.model.metric_yard import TEXTS
from estimator.model.money import MONEY, TAX
from estimator.model.prices import REALLY_PAID
from estimator.model.steps.inputs import NONE

OF_THE_JOB = (
    "job_name",
    "job_place",
    "estimate_date",
    "start_date",
    "building_length_ft",
    "building_width_ft",
    "wall_height_ft",
    "roof_height_ft",
    "site_x_ft",
    "site_y_ft",
    "turn_deg",
    "bench_name",
    "bench_reading_ft",
    "stake_length_ft",
    "stake_width_ft",
    "chosen_option",
    "second_option",
    "quote_number",
    "customer_name",
    "customer_place",
    "tip_place",
    "item_on_hand",
    REALLY_PAID,
    WORKED,
)
TABLES_OF_THE_JOB = (
    "quick",
    "setup",
    "point",
    "tape",
    "drop",
    "corner",
    "opening",
    "double",
    "change",
)

RENAMED: Mapping[str, str] = {
    "override_cell": "typed_over_cell",
    "override_label": "typed_over_label",
    "override_value": "typed_over_value",
    "override_engine": "typed_over_engine",
    "override_what": "typed_over_what",
    "overrides_listed": "typed_over_listed",
}
"""By key of a quantity in an older template, its key now, so that an upgrade carries it over."""


def job_specific(model: Model) -> frozenset[str]:
    """Keys of the inputs that the next job does not take over.

    The building with its openings, its place, the readings, the lot's lines, what is on hand, the
    choice and the what-ifs go; soil, loads, crew, money, the options' ways of building, prices, rates and
    factors stay.
    """
    tables = {
        key
        for key, item in model.quantities.items()
        if item.role == "input" and item.axis in TABLES_OF_THE_JOB
    }
    return frozenset(OF_THE_JOB) | tables


def unasked(model: Model) -> Mapping[str, str | float | None]:
    """What an upgrade sets inputs to that a workbook did not have, so that nothing is added unasked.

    By key; None leaves it blank. The person's own lists of stocks and prices may lack what the new
    assembly is made of.
    """
    stringer = "2x12 treated"
    return {
        "door_way": NONE,
        "stringer_stock": TEXTS[stringer] if model.measure == "metric" else stringer,
        "skirt_item": None,
        "permit_wanted": "no",
        "site_priced": "no",
        "hire_taxed": "no",
        "blocks_a_course": 1.0,
        "base_tied": "no",
        "currency": MONEY,
        "tax_word": TAX,
    }
