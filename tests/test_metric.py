"""The metric workbook: the same rows, and nothing in them that is bound to feet."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import edited, formula, refilled, spot, value
from jobs import demo, drawn_jobs
from known_job import known_job
from libreoffice import recalculated
from office import needs_office
from two_measures import alike_searches, factor_of, in_item_unit, metric_inputs

from estimator.cli import main
from estimator.errors import SolveError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob, read
from estimator.metric import metric, suited
from estimator.model import build_model
from estimator.rows import Quantity
from estimator.typed_job import METRIC_DEMO_JOB, load_job, read_inputs
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file import check_workbook
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import plan_refill
from estimator.workbook.template.made_from import FORMULAS, MADE_LINES, MADE_SHEET, unpacked

pytestmark = pytest.mark.slow

TOLERANCE = 1e-9
RANDOM_JOBS = 6
DRAWN = ("named_", "number_", "found_x_", "found_y_", "contour_mark_")
"""How keys begin of where names stand on the plan: it follows from their letters, which the units
change, and is nothing that is built."""


@pytest.fixture(scope="module")
def book(metric_book: bytes) -> bytes:
    """The known job in metric units."""
    return metric_book


# --- the same job in both ---


def _compared(values: Mapping[str, Any], others: Mapping[str, Any]) -> list[str]:
    """Quantities whose metric value is not the other times the factor of its unit."""
    model, new = build_model(), metric(build_model())
    stone = np.asarray(values["stone_item"]) != ""
    faults = []
    for key, item in model.quantities.items():
        if item.kind == "text" or item.role == "stack" or key.startswith(DRAWN):
            continue
        if in_item_unit(key) or key == "item_lb":
            continue  # a stack is its rows; what counts in an item's own unit shows in the packs
        expected = np.asarray(values[key], float) * factor_of(key)
        found = np.asarray(others[new.name(key)], float)
        if key == "stone_pack_yd3":  # an option without stone has an increment of 1 of either
            expected, found = np.where(stone, expected, 0), np.where(stone, found, 0)
        size = np.maximum(1, np.abs(expected))
        same = (np.abs(expected - found) <= TOLERANCE * size) | (
            np.isnan(expected) & np.isnan(found)
        )
        if not same.all():
            faults.append(f"{key}: {expected[~same][:3]} {found[~same][:3]}")
    return faults


def _both(job: TypedJob) -> tuple[dict[str, Any], dict[str, Any]]:
    model = build_model()
    inputs = read_inputs(model, job)
    with alike_searches():
        return evaluate(model, inputs), evaluate(metric(model), metric_inputs(inputs))


def test_the_demo_has_the_same_physical_answers_in_metres() -> None:
    values, others = _both(demo())
    assert _compared(values, others) == []
    for key in ("total_cost", "total_low", "total_high", "buy_material"):
        np.testing.assert_array_equal(
            np.round(np.asarray(values[key]), 2), np.round(np.asarray(others[key]), 2)
        )


def test_verdicts_of_the_checks_are_the_same_in_metres() -> None:
    values, others = _both(demo())
    one, other = (np.char.partition(np.asarray(v["check_text"]), ":") for v in (values, others))
    np.testing.assert_array_equal(one[..., 0], other[..., 0])


def test_random_jobs_have_the_same_physical_answers_in_metres() -> None:
    compared = 0
    for job in drawn_jobs(5, RANDOM_JOBS, most_options=4):
        try:
            values, others = _both(job)
        except SolveError:
            continue
        assert _compared(values, others) == [], job
        compared += 1
    assert compared >= RANDOM_JOBS // 2


# --- three engines, one workbook ---


def _cells(item: Quantity, area: Any, rows: int) -> list[tuple[int, int, int, int]]:
    options = 6 if item.by_option else 1
    return [
        (o, r, area.row1 + (r if item.axis else 0), area.column1 + (o if item.by_option else 0))
        for o in range(options)
        for r in range(rows)
    ]


@needs_office
def test_libreoffice_gives_the_numbers_of_the_engine(book: bytes) -> None:
    model = metric(build_model())
    port = FilePort(Package.open(book))
    values = plan_refill(port, build_model()).values
    sheets = recalculated(book)
    wrong, seen = [], 0
    for key, item in model.quantities.items():
        if item.role != "row":
            continue
        sheet, area = port.ranges()[key]
        rows = model.capacity(item.axis) if item.axis else 1
        full = np.broadcast_to(np.asarray(values[key]), (6 if item.by_option else 1, rows))
        for option, row, at, column in _cells(item, area, rows):
            shown, engine = sheets[sheet].cell(at, column).value, full[option, row].item()
            seen += 1
            if not _alike(shown, engine):
                wrong.append(f"{key} {option} {row}: {shown!r}, engine {engine!r}")
    assert wrong == []
    assert seen > 10_000


def _alike(shown: Any, engine: float | str) -> bool:
    if isinstance(engine, str):
        return str(shown if shown is not None else "") == engine
    if np.isnan(engine):
        return shown in (None, "")
    number = 0.0 if shown is None else shown
    return isinstance(number, (int, float)) and abs(number - engine) <= TOLERANCE * max(
        1.0, abs(engine)
    )


# --- lengths as people type them ---

LENGTHS = (
    (4.2, 4.2),
    ("4.2", 4.2),
    ("4,2", 4.2),
    ("4,2 m", 4.2),
    ("420 cm", 4.2),
    ("4200 mm", 4.2),
    ("13' 9\"", 4.191),
    ("13-9", 4.191),
    ("165 in", 4.191),
)
DEPTHS = ((120, 120.0), ("12 cm", 120.0), ("0.12 m", 120.0), ('4 3/4"', 120.65), ("12,5 cm", 125.0))


@pytest.mark.parametrize(
    ("key", "typed", "length"),
    [("building_length_m", *pair) for pair in LENGTHS]
    + [("strip_depth_mm", *pair) for pair in DEPTHS],
)
def test_the_engine_reads_lengths_typed_in_any_form(key: str, typed: Any, length: float) -> None:
    field = metric(build_model()).quantities[key].field
    assert field is not None
    assert read(field, typed, "here") == pytest.approx(length, abs=1e-12)


@needs_office
def test_cells_read_lengths_typed_in_any_form(book: bytes) -> None:
    """Those of the readings and depths are read; what is no length is flagged, and never zero."""
    cells: dict[Any, Any] = {
        ("in_point_x_m", 0, row): typed for row, (typed, _) in enumerate(LENGTHS)
    }
    cells |= {("in_overlap_mm", option): typed for option, (typed, _) in enumerate(DEPTHS[:4])}
    cells |= {"in_building_length_m": "4,200", "in_wall_height_m": "x"}
    sheets = recalculated(edited(book, cells))

    def shown(name: str, option: int = 0, row: int = 0) -> Any:
        sheet, cell = spot(book, (name, option, row))
        return sheets[sheet][cell].value

    for row, (_, metres) in enumerate(LENGTHS):
        assert shown("point_x_m", 0, row) == pytest.approx(metres, abs=1e-12)
    for option, (_, millimetres) in enumerate(DEPTHS[:2]):  # pads alone have fabric
        assert shown("overlap_mm", option) == pytest.approx(millimetres, abs=1e-12)
    assert shown("building_length_m") == shown("wall_height_m") == "?"


# --- a workbook that people own ---


def test_refill_check_and_next_know_a_metric_workbook(book: bytes, tmp_path: Path) -> None:
    changed = edited(
        book, {"in_building_length_m": "4,5 m", "in_joist_spacing_mm": 600, "work_hours": 30.0}
    )
    new = refilled(changed)
    assert value(new.data, "building_length_m") == pytest.approx(4.5)
    assert value(new.data, "frame_length_m") == pytest.approx(5.1)
    assert value(new.data, "work_hours") == 30.0
    assert any("keeps the value typed over it" in note for note in new.notes)
    assert refilled(new.data).data == new.data
    path = tmp_path / "shed.xlsx"
    path.write_bytes(new.data)
    assert check_workbook(path, build_model()).stale == {}
    path.write_bytes(edited(new.data, {"in_building_length_m": "4,2 m"}))
    assert check_workbook(path, build_model()).stale["ground"] == 2
    assert main(["check", str(path)]) in (0, 1)
    path.write_bytes(book)
    assert main(["next", str(path), str(tmp_path / "next.xlsx")]) == 0
    assert value((tmp_path / "next.xlsx").read_bytes(), "in_building_length_m") is None
    assert main(["prices", "out", str(path), str(tmp_path / "yard.csv")]) == 0
    assert "item_length_m" in (tmp_path / "yard.csv").read_text()


def test_a_price_list_is_read_into_a_metric_workbook(
    book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, prices = tmp_path / "shed.xlsx", tmp_path / "yard.csv"
    path.write_bytes(book)
    name, price = value(book, ("in_item_name", 0, 0)), float(value(book, ("in_item_price", 0, 0)))
    assert main(["prices", "out", str(path), str(prices)]) == 0
    with prices.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    rows[0]["item_price"] = f"{price + 1:g}"
    with prices.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    assert main(["prices", "in", str(path), str(prices)]) == 0
    assert f"{name}: {price:g} -> {price + 1:g}" in capsys.readouterr().out
    assert value(path.read_bytes(), ("in_item_price", 0, 0)) == price + 1
    assert check_workbook(path, build_model()).stale == {}


def test_a_metric_template_of_ones_own_takes_the_metric_demo(book: bytes, tmp_path: Path) -> None:
    path, mine, new = (tmp_path / f"{name}.xlsx" for name in ("shed", "mine", "new"))
    path.write_bytes(book)
    assert main(["template", str(path), "-o", str(mine)]) == 0
    assert main(["new", str(new), "--template", str(mine), "--demo"]) == 0
    model = metric(build_model())
    inputs = read_inputs(model, load_job(METRIC_DEMO_JOB, model=model))
    assert value(new.read_bytes(), "building_length_m") == float(inputs["building_length_m"])


def test_a_cleared_formula_comes_back(book: bytes) -> None:
    before = formula(book, "stone_pad_m3")
    assert before is not None
    new = refilled(edited(book, {"stone_pad_m3": None}))
    assert formula(new.data, "stone_pad_m3") == before
    assert value(new.data, ("stone_pad_m3", 0)) == value(book, ("stone_pad_m3", 0))


def test_the_measure_of_a_workbook_is_told_by_its_names(demo_book: bytes, book: bytes) -> None:
    model = build_model()
    assert suited(model, FilePort(Package.open(demo_book)).ranges()).measure == "feet"
    assert suited(model, FilePort(Package.open(book)).ranges()).measure == "metric"


def test_the_inputs_of_a_job_are_met_by_the_metric_yard(book: bytes) -> None:
    model = metric(build_model())
    inputs = read_inputs(model, known_job(model))
    assert float(inputs["building_length_m"]) == 4.2
    assert value(book, ("total_cost", 0)) > 0
    assert value(book, ("joist_use", 0)) > 0


# --- what it says ---

_UNIT = re.compile(
    r"(?<![\w$])(?:ft|ft2|ft3|yd3|lb|psf|psi|plf|mph|tons|in/|/in|board ft)(?!\w)"
    r"|(?<!\w)\d+(?:[./]\d+)?[ -]?(?:in|inch(?:es)?|feet|foot)\b(?! \d)|^in$|, in$"
)


def test_no_cell_speaks_of_feet_inches_or_pounds(book: bytes, tmp_path: Path) -> None:
    """But the record of formulas that read lengths typed in any unit."""
    path = tmp_path / "book.xlsx"
    path.write_bytes(book)
    workbook = openpyxl.load_workbook(path, data_only=True)
    found = [
        f"{sheet.title}!{cell.coordinate}: {cell.value}"
        for sheet in workbook.worksheets
        for row in sheet.iter_rows()
        if sheet.title != MADE_SHEET
        for cell in row
        if isinstance(cell.value, str) and _UNIT.search(cell.value)
    ]
    assert found == []
    port = FilePort(Package.open(book))
    cells = [str(row[0].value) for row in port.read(*port.ranges()[MADE_LINES])]
    made = [line for line in unpacked(cells) if line[0] != FORMULAS]
    assert len(made) > 1000
    assert [line for line in made if any(map(_UNIT.search, line))] == []


def test_every_name_of_a_quantity_ends_in_its_metric_unit() -> None:
    model = metric(build_model())
    ends = {"m": "_m", "mm": "_mm", "m2": "_m2", "kPa": "_kpa", "MPa": "_mpa", "kg/m3": "_kg_m3"}
    for key, item in model.quantities.items():
        assert not re.search(r"_(ft|in|ft2|ft3|yd3|lb|psf|psi|plf|mph|tons)$", key), key
        named = key.rpartition("_")[2] in {"m", "mm", "m2", "kpa", "mpa"}
        if named and item.unit in ends:
            assert key.endswith(ends[item.unit]), key


def test_charts_and_their_descriptions_are_metric(book: bytes) -> None:
    package = Package.open(book)
    parts = [name for name in package.parts if name.startswith(("xl/charts", "xl/drawings"))]
    text = b" ".join(package.read(name) for name in parts).decode()
    assert "mm from the top" in text
    assert "in millimetres above" in text
    assert not re.search(r">[^<]*\b(ft|in from)\b[^<]*</a:t>", text)


def test_its_paper_is_a4(book: bytes, tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    path.write_bytes(book)
    printed = [s for s in openpyxl.load_workbook(path) if s.sheet_state == "visible"]
    assert {sheet.page_setup.paperSize for sheet in printed} == {9}
