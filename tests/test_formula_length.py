"""A formula that a person can follow: no longer than a few lines, words apart."""

from __future__ import annotations

import re

import openpyxl
import pytest

from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.workbook.template.layout import layout
from estimator.workbook.template.shipped import template_of

LONGEST = 600
"""Characters outside quotation marks. Reading what is typed as a length takes more."""
QUOTED = re.compile(r'"[^"]*"')


@pytest.mark.slow
@pytest.mark.parametrize("model", [build_model(), metric(build_model())], ids=["feet", "metric"])
def test_no_row_of_the_template_is_longer_than_a_person_follows(model: Model) -> None:
    book = openpyxl.load_workbook(template_of(model))
    plan = layout(model)
    long = {}
    rows = 0
    for key, place in plan.places.items():
        if model.quantities[key].role != "row":
            continue
        for _, _, row, column in place.cells():
            rows += 1
            text = str(book[place.sheet].cell(row, column).value)
            assert text.startswith("="), (key, text)
            length = len(QUOTED.sub("", text))
            if length > LONGEST:
                long[key] = max(length, long.get(key, 0))
    assert rows > 10_000
    assert long == {}
