"""Links of the workbook: to every sheet and back, and from a check to the input that mends it."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from typing import Any

import openpyxl
import pytest
from office import Office, needs_office

from estimator.gather import contributed
from estimator.model import build_model
from estimator.model.adds import Check
from estimator.workbook.package.a1 import parse_cell, parse_range, split_target

FIRST, HIDDEN = "Start", "Made From"


def opened(data: bytes) -> Any:
    return openpyxl.load_workbook(io.BytesIO(data))


def targets(book: Any) -> Mapping[str, tuple[str, str]]:
    """Sheet and cells of every defined name."""
    texts = {name: split_target(item.attr_text) for name, item in book.defined_names.items()}
    return {name: target for name, target in texts.items() if target is not None}


def links(book: Any) -> Iterator[tuple[str, str, str]]:
    """Sheet, cell and what it leads to."""
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.hyperlink is not None:
                    yield sheet.title, cell.coordinate, cell.hyperlink.location


def led(book: Any) -> dict[tuple[str, str], tuple[str, str]]:
    """By the cell of a link the sheet and cells that it leads to."""
    named = targets(book)
    return {(sheet, cell): named[name] for sheet, cell, name in links(book)}


def test_the_first_sheet_leads_to_every_other_and_each_of_them_back(demo_book: bytes) -> None:
    book = opened(demo_book)
    others = [name for name in book.sheetnames if name not in (FIRST, HIDDEN)]
    found = led(book)
    tops = [
        there
        for (sheet, _), (there, cells) in found.items()
        if sheet == FIRST and there in others and cells == "A1"
    ]
    assert sorted(tops) == sorted(others)
    back = {sheet for (sheet, _), target in found.items() if target == (FIRST, "A1")}
    assert back == set(others)


def test_the_label_of_every_check_leads_to_the_input_that_mends_it(demo_book: bytes) -> None:
    model, book = build_model(), opened(demo_book)
    named, found = targets(book), led(book)
    checks = contributed(model.written.sheets, Check)
    assert len(checks) > 50
    for check in checks:
        sheet, cells = named[check.key]
        label = f"A{parse_range(cells).row1}"
        assert book[sheet][label].value == model.quantities[check.key].label
        assert found[sheet, label] == named[f"in_{check.mend}"], check.key
        assert (
            book[named[f"in_{check.mend}"][0]].max_row
            >= parse_range(named[f"in_{check.mend}"][1]).row1
        )


@pytest.mark.slow
@needs_office
def test_links_lead_there_after_sheets_are_renamed_and_rows_moved(demo_book: bytes) -> None:
    before = led(opened(demo_book))
    with Office(demo_book) as office:
        office.do(
            ["rename", "Options", "Ways"],
            ["rename", "Start", "First"],
            ["insert_rows", "Job", 8, 2],
        )
        book = opened(office.saved())
    after = led(book)
    assert len(after) == len(before)
    renamed = {"Options": "Ways", "Start": "First"}
    for (sheet, cell), (there, cells) in before.items():
        row = parse_cell(cell)[0]
        moved = f"A{row + 2}" if sheet == "Job" and row >= 8 else cell
        now, area = after[renamed.get(sheet, sheet), moved]
        assert now == renamed.get(there, there)
        shift = 2 if there == "Job" and parse_range(cells).row1 >= 8 else 0
        assert parse_range(area).row1 == parse_range(cells).row1 + shift
