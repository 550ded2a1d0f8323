"""A plain new workbook: its defaults read as if typed, and it asks for size and readings alone."""

from __future__ import annotations

import datetime as dt
import io
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import edited, spot, value
from libreoffice import shown_otherwise
from office import needs_office

from estimator.cli import main
from estimator.engine import Model
from estimator.errors import InputError
from estimator.inputs import Field, day
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import KIND_NAMES
from estimator.report import OPEN_POINTS, open_points
from estimator.rows import OPTION_KEYS
from estimator.typed_job import default_job, read_inputs
from estimator.workbook.carry.unsolved import unsolved_bytes
from estimator.workbook.package.a1 import Range, parse_cell
from estimator.workbook.package.cells import formula_cells, patched, read_cell
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.package.recalculate import recalculated
from estimator.workbook.refill.file import create_workbook, typed_edits
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.shipped import template_of

pytestmark = pytest.mark.slow
MEASURES = ("feet", "metric")
LATER = dt.date(2041, 7, 19)
TO_DO = "TO DO: something is still to be typed; Start lists it"
OPEN = (
    "Job: type the length and the width of the building",
    "Survey: type a reading at each of the nine stakes, or readings of your own",
)


def model_of(measure: str) -> Model:
    return metric(build_model()) if measure == "metric" else build_model()


@lru_cache(maxsize=4)
def plain(measure: str, made: dt.date | None, folder: Path) -> bytes:
    """A workbook as ``estimator new`` makes it, on a day."""
    model = model_of(measure)
    path = folder / f"{measure}.xlsx"
    create_workbook(path, model, default_job(model=model, made=made), replace=True)
    return path.read_bytes()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("plain")


def flags(data: bytes) -> dict[str, Any]:
    """The flag at the top of every sheet that has one, by sheet."""
    package = Package.open(data, label="plain.xlsx")
    found = {
        info.name: read_cell(package, info.name, "A3")
        for info in package.sheets
        if info.kind == "worksheet"
    }
    return {name: cell.value for name, cell in found.items() if cell.formula == "overall_flag"}


@pytest.mark.parametrize("measure", MEASURES)
def test_every_default_reads_in_its_cell_as_the_engine_reads_it(measure: str) -> None:
    model = model_of(measure)
    typed = default_job(model=model)
    inputs = read_inputs(model, typed)
    template = template_of(model)
    package = Package.open(read_file(template), label=template.name)
    filled = patched(package, typed_edits(FilePort(package), model, typed))
    data = unsolved_bytes(filled, model)
    port = FilePort(Package.open(data, label="defaults.xlsx"))
    assert value(data, "inputs_ok") == 1
    compared = 0
    for item in model.quantities.values():
        if item.role != "input":
            continue
        rows = model.capacity(item.axis) if item.axis else 1
        columns = len(OPTION_KEYS) if item.by_option else 1
        sheet, area = port.ranges()[item.key]
        area = Range(area.row1, area.column1, area.row1 + rows - 1, area.column1 + columns - 1)
        shown = [[cell.value for cell in row] for row in port.read(sheet, area)]
        wanted = np.broadcast_to(np.asarray(inputs[item.key]), (columns, rows)).T
        for cells, numbers in zip(shown, wanted, strict=True):
            for cell, number in zip(cells, numbers, strict=True):
                blank = item.field.blank if item.field else None
                assert (blank if cell in (None, "") else cell) == number, item.key
                compared += 1
    assert compared > 1000


def test_a_default_that_nobody_could_type_is_refused_where_it_is_written() -> None:
    with pytest.raises(InputError, match="the default of width_ft"):
        Field("width_ft", "Width", "ft", "length", "wide")
    with pytest.raises(InputError, match="between"):
        Field("crew", "People", "people", "whole", 0, 1, 20)


@pytest.mark.parametrize(("measure", "made"), [("feet", None), ("metric", LATER)])
def test_a_plain_workbook_asks_for_the_size_and_the_readings_and_nothing_else(
    measure: str, made: dt.date | None, folder: Path
) -> None:
    data = plain(measure, made, folder)
    shown = flags(data)
    assert set(shown.values()) == {TO_DO}
    assert {"Start", "Checks", "Prices", "Job", "Survey"} <= set(shown)
    assert (value(data, "todo_building"), value(data, "todo_readings")) == OPEN
    assert value(data, "todo_kinds") in (None, "")
    kinds = [value(data, ("option_kind", place)) for place in range(len(OPTION_KEYS))]
    assert kinds == [*KIND_NAMES, *[""] * (len(OPTION_KEYS) - len(KIND_NAMES))]
    assert value(data, "inputs_ok") == 1
    assert value(data, "old_prices") == 0
    assert value(data, "stale_worst") == 0
    assert value(data, "in_estimate_date") == day(made or dt.date.today())
    checked = check_book(FilePort(Package.open(data, label="plain.xlsx")), model_of(measure))
    assert open_points(checked.values) == list(OPEN)
    assert checked.stale == {}
    assert checked.typed_over == ()


@needs_office
@pytest.mark.parametrize("measure", MEASURES)
def test_what_waits_for_entries_shows_what_its_formulas_give(measure: str, folder: Path) -> None:
    assert shown_otherwise(plain(measure, LATER, folder)) == []


@pytest.mark.parametrize("measure", MEASURES)
def test_each_open_point_leads_to_the_cell_that_closes_it(measure: str, folder: Path) -> None:
    data, model = plain(measure, LATER, folder), model_of(measure)
    book = openpyxl.load_workbook(io.BytesIO(data))
    typed = (
        *("building_length_ft", "wind_mph", "quick_reading_ft", "option_kind"),
        "chosen_option",
    )
    for point, key in zip(OPEN_POINTS, typed, strict=True):
        sheet, cell = spot(data, point)
        label = book[sheet].cell(parse_cell(cell)[0], 1)
        assert label.hyperlink.location == f"in_{model.name(key)}"


def test_a_size_and_a_reading_that_cannot_be_read_are_told_of_and_leave_no_error(
    folder: Path,
) -> None:
    wrong = {"in_building_length_ft": "long", ("in_quick_reading_ft", 0, 2): "four"}
    data = edited(plain("feet", LATER, folder), wrong)
    found = recalculated(Package.open(data, label="plain.xlsx"))
    assert found is not None
    assert value(found.to_bytes(), "overall_flag").startswith("NOT VALID: 2 inputs")
    shown = [(sheet, row, column, cell.value) for sheet, row, column, cell in formula_cells(found)]
    assert len(shown) > 10_000
    assert [cell for cell in shown if str(cell[3]).startswith("#")] == []


def test_the_command_lists_the_open_points_when_it_makes_and_when_it_checks_a_workbook(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.xlsx"
    assert main(["new", str(path), "--metric"]) == 0
    made = capsys.readouterr().out.splitlines()
    assert main(["check", str(path)]) == 0
    assert capsys.readouterr().out.splitlines() == [f"To do: {text}" for text in OPEN]
    assert made[: len(OPEN)] == [f"To do: {text}" for text in OPEN]


def test_a_job_file_without_a_date_is_of_the_day_it_is_read_on(tmp_path: Path) -> None:
    path, book = tmp_path / "job.toml", tmp_path / "job.xlsx"
    path.write_text('[job]\njob_name = "Coop"\n', encoding="utf-8")
    assert main(["new", str(book), "--job", str(path)]) == 0
    assert value(book.read_bytes(), "estimate_date") == day(dt.date.today())
    assert set(flags(book.read_bytes()).values()) == {TO_DO}


def test_a_dated_price_grows_old_and_an_undated_one_does_not(folder: Path) -> None:
    made = plain("feet", LATER, folder)
    assert value(made, "in_item_date") is None
    old = patched(
        Package.open(made, label="plain.xlsx"),
        {
            spot(made, "in_item_date"): day(LATER) - 31,
            spot(made, ("in_item_date", 0, 1)): day(LATER),
        },
    )
    found = recalculated(old)
    assert found is not None
    fresh = found.to_bytes()
    assert value(fresh, "old_prices") == 1
