"""A formula that a person can follow: no longer than a few lines, words apart."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.tape_formula import tape_formula
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import formula_cells
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.plans import OPTIONS, SectionPlan, TablePlan
from estimator.workbook.template.shipped import template_of

LONGEST = 600
"""Characters outside quotation marks. Only reading what is typed as a length takes more.

What tells a length by the tape counts as the length alone: it is the same everywhere
(``tape_formula``), and whoever follows a text with a pencil reads it as one step.
"""
TOLD = re.compile(r'IF\((.+?)<=-1/(\d+),"-",""\)&TRIM\(')
QUOTED = re.compile(r'"[^"]*"')


def untold(formula: str) -> str:
    """A formula with the lengths themselves in place of what tells them by the tape."""
    text = formula
    for match in TOLD.finditer(formula):
        whole, parts = match[1], int(match[2]) // 2
        starts = [0, *(at + 1 for at, letter in enumerate(whole) if letter in "(,&")]
        for inches in (whole[at:] for at in starts):
            for feet, unit in ((True, True), (False, True), (False, False)):
                text = text.replace(tape_formula(inches, parts, feet=feet, unit=unit), inches)
    return text


def read_lengths(plan: Layout) -> set[tuple[str, int]]:
    """Sheets and columns of the two steps that read a typed length."""
    found: set[tuple[str, int]] = set()
    for name, sheet in plan.sheets.items():
        for part in sheet.parts:
            if isinstance(part, TablePlan):
                helpers = [c for c in part.columns if c.role in ("normal", "feet")]
                found |= {(name, column.column) for column in helpers}
            elif isinstance(part, SectionPlan) and sheet.helper:
                found |= {(name, sheet.helper + at) for at in range(2 * OPTIONS)}
    return found


@pytest.mark.slow
@pytest.mark.parametrize("model", [build_model(), metric(build_model())], ids=["feet", "metric"])
def test_no_formula_is_longer_than_a_person_follows(model: Model) -> None:
    plan = layout(model)
    lengths = read_lengths(plan)
    package = Package.open(template_of(model).read_bytes(), label="template")
    counted: Counter[str] = Counter()
    long = []
    for sheet, row, column, cell in formula_cells(package):
        length = len(QUOTED.sub("", untold(cell.formula or "")))
        if (sheet, column) in lengths:
            kind = "length"
        else:
            kind = "other"
            if length > LONGEST:
                long.append((length, sheet, row, column))
        counted[kind] += 1
    assert counted["length"] > 1_000
    assert counted["other"] > 15_000
    assert long == []
