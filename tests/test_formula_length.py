"""A formula that a person can follow: no longer than a few lines, words apart."""

from __future__ import annotations

import re
from pathlib import Path

import openpyxl
import pytest

from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.workbook.template.layout import layout

ROOT = Path(__file__).resolve().parent.parent
LONGEST = 600
"""Characters outside quotation marks. Reading what is typed as a length takes more."""
QUOTED = re.compile(r'"[^"]*"')


@pytest.mark.slow
@pytest.mark.parametrize(
    ("model", "name"),
    [(build_model(), "outbuilding_base"), (metric(build_model()), "outbuilding_base_metric")],
    ids=["feet", "metric"],
)
def test_no_row_of_the_template_is_longer_than_a_person_follows(model: Model, name: str) -> None:
    book = openpyxl.load_workbook(ROOT / "workbook_templates" / f"{name}.xlsx")
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
