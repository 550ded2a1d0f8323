"""Labels and units that show words of the job: the sign of money, the word for the tax.

Where such a word stands in a label or a unit, the cell is a formula that reads the job's entry,
so that an entry typed in the sheet shows everywhere at once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from estimator.formula import quoted
from estimator.workbook.template.layout import Layout

if TYPE_CHECKING:  # a refill reads these formulas and paints nothing: openpyxl is not loaded for it
    from estimator.workbook.template.painter import Painter


def write_terms(painters: Mapping[str, Painter], layout: Layout) -> None:
    """Turn every label and unit that holds a word of the job, and texts that begin with such a
    label (notes below, and where others stand for it too), into a formula."""
    shown = {
        text: formula
        for item in layout.model.quantities.values()
        for text in (item.label, item.unit)
        if (formula := term_formula(layout, text))
    }
    begins = tuple(f"{label}{goes_on}" for label in shown for goes_on in (": ", " and "))
    for painter in painters.values():
        for row in painter.sheet.iter_rows():
            for cell in row:
                if not isinstance(cell.value, str):
                    continue
                formula = shown.get(cell.value, "")
                if not formula and cell.value.startswith(begins):
                    formula = term_formula(layout, cell.value)
                if formula:
                    cell.value = f"={formula}"
                    cell.data_type = "f"


def term_formula(layout: Layout, text: str) -> str:
    """Formula, without its ``=``, of a text that holds a word of the job; empty if it has none."""
    terms = layout.model.terms
    if not any(term in text for term in terms):
        return ""
    pieces = re.split(f"({'|'.join(map(re.escape, terms))})", text)
    return "&".join(terms.get(piece) or quoted(piece) for piece in pieces if piece)
