"""How large a workbook is: what there is to open, and to find one's way in."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from books import opened

from estimator import cli

MOST_TABS, MOST_CELLS = 26, 45_000


def _size(data: bytes) -> tuple[int, int]:
    """Sheets, and cells that stand in the file, formulas, values and styled ones alike."""
    package = opened(data)
    parts = [sheet.part for sheet in package.sheets]
    return len(parts), sum(len(re.findall(rb"<c[ >/]", package.read(part))) for part in parts)


def _assert_fits(data: bytes) -> None:
    tabs, cells = _size(data)
    assert tabs <= MOST_TABS
    assert 10_000 < cells <= MOST_CELLS


def test_the_demo_has_few_enough_tabs_and_cells(demo_book: bytes) -> None:
    _assert_fits(demo_book)


@pytest.mark.parametrize("measure", [(), ("--metric",)])
def test_a_plain_workbook_has_few_enough_tabs_and_cells(
    tmp_path: Path, measure: tuple[str, ...]
) -> None:
    path = tmp_path / "plain.xlsx"
    assert cli.main(["new", str(path), *measure]) == 0
    _assert_fits(path.read_bytes())
