"""Long formulas that are alike are written once in a file, and are in every cell all the same."""

from __future__ import annotations

import html
import re

from estimator.model import build_model
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import formula_cells
from estimator.workbook.package.shared_formulas import share_formulas, written_out
from estimator.workbook.template.shipped import template_of

LONG = "+".join(["A1*$A$1"] * 60)


def _sheet(*cells: tuple[str, str]) -> bytes:
    rows: dict[int, str] = {}
    for at, text in cells:
        row = int(re.sub(r"\D", "", at))
        rows[row] = (
            rows.get(row, "") + f'<c r="{at}"><f>{html.escape(text, quote=False)}</f><v>1</v></c>'
        )
    return "".join(f'<row r="{row}">{cells}</row>' for row, cells in rows.items()).encode()


def _block(text: str) -> bytes:
    moved = {"B2": "A1", "C2": "B1", "B3": "A2", "C3": "B2"}
    return _sheet(*((at, text.replace("A1", first)) for at, first in moved.items()))


def test_a_block_of_one_formula_has_it_once_and_is_written_out_as_it_was() -> None:
    before = _block(f'{LONG}&IF(TRUE,"<a>")')
    after = share_formulas(before)
    assert after.count(b"$A$1") == 60
    assert after.count(b'<f t="shared" si="0"/>') == 3
    assert b'<f t="shared" ref="B2:C3" si="0">' in after
    assert written_out(after) == before


def test_short_formulas_names_and_other_sheets_are_not_shared() -> None:
    for text in ("A1+1", f"{LONG}+total_cost", f"{LONG}+Cost!A1"):
        assert share_formulas(_block(text)) == _block(text)


def test_every_formula_of_the_template_reads_as_when_none_is_shared() -> None:
    path = template_of(build_model())
    package = Package.open(path.read_bytes(), label=path.name)
    sheets = [info.part for info in package.sheets]
    apart = package.changed({part: written_out(package.read(part)) for part in sheets})
    assert sum(package.read(part).count(b't="shared"') for part in sheets) > 1_000
    assert not any(b't="shared"' in apart.read(part) for part in sheets)
    texts = {(s, r, c): content.formula for s, r, c, content in formula_cells(package)}
    assert texts == {(s, r, c): content.formula for s, r, c, content in formula_cells(apart)}
