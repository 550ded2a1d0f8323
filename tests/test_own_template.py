"""A template of a person's own, made from a workbook that they restyled, and workbooks from it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import edited, opened, spot, value
from known_job import AS_NEW, KNOWN_JOB
from rich_workbooks import parts_of, with_picture_on
from test_next_job import typed_of
from test_refill import with_own_sheet

from estimator.cli import main
from estimator.model import build_model
from estimator.model.carry_over import job_specific

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def mine(demo_book: bytes, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A template from the demo with another price, a sheet, a logo and a look of its owner's."""
    folder = tmp_path_factory.mktemp("mine")
    data = with_own_sheet(edited(demo_book, {("in_item_price", 0, 0): 9.99}))
    data = with_picture_on(data, opened(data).sheet("Job").part, 0, 6)
    (folder / "book.xlsx").write_bytes(data)
    path = folder / "mine.xlsx"
    assert main(["template", str(folder / "book.xlsx"), "-o", str(path)]) == 0
    return path


def test_a_template_has_no_entry_of_the_old_job_and_all_else(mine: Path) -> None:
    cleared = job_specific(build_model())
    before, after = typed_of(mine.with_name("book.xlsx")), typed_of(mine)
    assert {c for c in before if c[0] in cleared}
    assert {c: v for c, v in after.items() if c[0] in cleared} == AS_NEW
    kept = {c: v for c, v in after.items() if c[0] not in cleared}
    assert {c: v for c, v in before.items() if c[0] not in cleared} == kept
    assert value(mine.read_bytes(), ("total_cost", 0)) in (None, "")


def test_sheets_logos_and_looks_go_into_a_workbook_from_it(mine: Path, tmp_path: Path) -> None:
    new = tmp_path / "coop.xlsx"
    assert main(["new", str(new), "--template", str(mine), "--job", str(KNOWN_JOB)]) == 0
    before, after = parts_of(mine.with_name("book.xlsx").read_bytes()), parts_of(new.read_bytes())
    own = [n for n in before if "901" in n or "77" in n]
    assert len(own) >= 9
    assert [n for n in own if before[n] != after[n]] == []
    assert value(new.read_bytes(), ("in_item_price", 0, 0)) == 9.99
    book: Any = openpyxl.load_workbook(new)
    assert book["Job"][spot(new.read_bytes(), "in_building_length_ft")[1]].value
    assert float(value(new.read_bytes(), ("total_cost", 0))) > 0


def test_without_a_job_a_workbook_from_it_asks_for_the_building(
    mine: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = tmp_path / "coop.xlsx"
    assert main(["new", str(new), "--template", str(mine)]) == 0
    capsys.readouterr()
    assert main(["refill", str(new)]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "To do: Job: type the length and the width of the building"
    assert main(["new", str(new), "--template", str(mine)]) == 2, "never replaced unasked"
    assert main(["new", str(new), "--template", str(mine), "--force"]) == 0
