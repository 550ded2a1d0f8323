"""Lengths written as a tape reads, by the formula and by the engine."""

from __future__ import annotations

import io
import math
from typing import Any

import formualizer
import openpyxl
import pytest
from libreoffice import recalculated
from office import needs_office

from estimator.model.tape import inches, tape
from estimator.tape_formula import tape_formula
from estimator.units import format_feet_inches

LENGTHS_IN = (
    *(0.0, 0.02, 0.03125, 0.0625, 0.5, 0.96, 0.97, 1.0, 7.4375, 11.96, 11.97, 12.0, 12.03),
    *(23.9375, 24.0, 24.5, 187.4375, 191.97, 192.0, 144.0 + 1e-12, 144.0 - 1e-12, 383.99),
    *(-0.02, -0.04, -0.5, -12.0, -15.25, 1 / 3, 15.1 * 12, 47.2440944882),
)


def book() -> bytes:
    made = openpyxl.Workbook()
    for row, length in enumerate(LENGTHS_IN, 1):
        made.active.cell(row, 1, length)
        made.active.cell(row, 2, f"={tape_formula(f'A{row}')}")
        made.active.cell(row, 3, f"={tape_formula(f'A{row}', 4, feet=False)}")
        made.active.cell(row, 4, f"={tape_formula(f'A{row}', 4, feet=False, unit=False)}")
    stream = io.BytesIO()
    made.save(stream)
    return stream.getvalue()


def written(done: Any, column: int = 2) -> list[str]:
    return [done.active.cell(row, column).value for row in range(1, len(LENGTHS_IN) + 1)]


WANTED = [format_feet_inches(round(length, 9) / 12) for length in LENGTHS_IN]


def in_quarters(length: float) -> str:
    """Inches alone, to the nearest quarter, halves away from 0 but for those below it."""
    quarters = math.floor(round(abs(length) + 1 / 8, 9) * 4)
    whole, part = divmod(quarters, 4)
    words = [str(whole)] if whole or not part else []
    words += [("", "1/4", "1/2", "3/4")[part]] if part else []
    return "-" * (quarters > 0 and length < 0) + " ".join([*words, "in"])


QUARTERS = [in_quarters(length) for length in LENGTHS_IN]
HEADED = [text.removesuffix(" in") for text in QUARTERS]


def test_the_engine_that_writes_caches_spells_lengths_as_python_does() -> None:
    data = formualizer.recalculate_xlsx_bytes(book())["bytes"]
    done = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    assert written(done) == WANTED
    assert written(done, 3) == QUARTERS
    assert written(done, 4) == HEADED


@pytest.mark.slow
@needs_office
def test_libreoffice_spells_lengths_as_python_does() -> None:
    done = recalculated(book())
    assert written(done) == WANTED
    assert written(done, 3) == QUARTERS
    assert written(done, 4) == HEADED


def test_the_engine_s_text_is_the_formula_s() -> None:
    assert [str(tape(length)[0, 0]) for length in LENGTHS_IN] == WANTED
    assert [str(inches(length, 4)[0, 0]) for length in LENGTHS_IN] == QUARTERS
    assert [str(inches(length, 4, headed=True)[0, 0]) for length in LENGTHS_IN] == HEADED
    assert [str(tape(length, headed=True)[0, 0]) for length in LENGTHS_IN] == WANTED


def test_the_formula_of_a_cell_is_short() -> None:
    assert len(tape_formula("Lumber!$C$12")) < 500
