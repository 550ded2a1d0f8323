"""The workbook of the small model of :mod:`toy_model`, refilled as a whole one is.

Reading, solving, writing and carrying do not know what a model is about: what they do with cells,
names and sheets is tested here in hundredths of a second, where a whole workbook takes seconds.
"""

from __future__ import annotations

from functools import cache

import books
from books import Refilled
from toy_model import TYPED, toy_model

from estimator.engine import Model
from estimator.rows import Sheet
from estimator.vocabulary import Q
from estimator.workbook.package.parts import Package
from estimator.workbook.template.build import template_bytes

LENGTH = "in_planter_length_ft"
"""An input that both solvers come to depend on, of the default 12' 6"."""


@cache
def model() -> Model:
    """The small model, the same one for all, with a sheet that reads another option by option."""
    sheet = Sheet("Offer", "Offer", "What is asked for a planter.")
    sheet.section("Offer")

    @sheet.row("Price", "$", fmt="#,##0.00")
    def price_usd(cost_usd: Q) -> Q:
        return cost_usd * 1.25

    return toy_model(sheet)


@cache
def template() -> Package:
    """Its template, with the defaults alone."""
    return Package.open(template_bytes(model()), label="template")


@cache
def planted() -> bytes:
    """The workbook of its job, refilled."""
    return refilled(template_bytes(model(), TYPED)).data


def refilled(data: bytes, label: str = "planters.xlsx") -> Refilled:
    """A workbook of the small model as a refill leaves it."""
    return books.refilled(data, label, model())
