"""A formula that a person can follow: no longer than a few lines, words apart."""

from __future__ import annotations

import re

import openpyxl
import pytest

from estimator.engine import Model
from estimator.formula import MAX_FORMULA
from estimator.metric import metric
from estimator.model import build_model
from estimator.tape_formula import tape_formula
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import formula_cells
from estimator.workbook.template.layout import layout
from estimator.workbook.template.shipped import template_of

LONGEST = 600
"""Characters outside quotation marks. Reading what is typed as a length takes more.

What tells a length by the tape counts as the length alone: it is the same everywhere
(``tape_formula``), and whoever follows a text with a pencil reads it as one step.
"""
MOST = MAX_FORMULA // 2
"""Characters of any formula, marks and flags too, so that sheets may get longer names."""
TOLD = re.compile(r'IF\((.+?)<=-1/(\d+),"-",""\)&TRIM\(')
QUOTED = re.compile(r'"[^"]*"')


def untold(formula: str) -> str:
    """A formula with the lengths themselves in place of what tells them by the tape."""
    text = formula
    for match in TOLD.finditer(formula):
        whole, parts = match[1], int(match[2]) // 2
        starts = [0, *(at + 1 for at, letter in enumerate(whole) if letter in "(,&")]
        for inches in (whole[at:] for at in starts):
            for feet in (True, False):
                text = text.replace(tape_formula(inches, parts, feet=feet), inches)
    return text


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
            length = len(QUOTED.sub("", untold(text)))
            if length > LONGEST:
                long[key] = max(length, long.get(key, 0))
    assert rows > 10_000
    assert long == {}


@pytest.mark.parametrize("model", [build_model(), metric(build_model())], ids=["feet", "metric"])
def test_no_formula_of_the_template_comes_near_what_a_spreadsheet_takes(model: Model) -> None:
    package = Package.open(template_of(model).read_bytes(), label="template")
    cells = [(len(c.formula or ""), sheet, row, at) for sheet, row, at, c in formula_cells(package)]
    assert len(cells) > 10_000
    assert [cell for cell in cells if cell[0] > MOST] == []
