"""What happens to cells in a spreadsheet is said by ``check`` and mended by ``restore``.

Each accident is done by LibreOffice. Afterwards the entries are those that it left, every number
is the engine's for them, a few sentences tell it, and a person's own sums cover the mended tables.
``ACCIDENTS=all`` tries two hundred of them in feet and twenty in metric; otherwise four and one.
Rarer ones happen to the small workbook.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator

import planters
import pytest
from accidents import OWN_SHEET, SUMMED, Accident, Happens
from mending import Scene, lines_of, mends, what_is_said
from office import needs_office
from rarer_accidents import Rarely

from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.workbook.carry.restore import restored
from estimator.workbook.package.a1 import address
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import CellError, grid
from estimator.workbook.package.recalculate import recalculate
from estimator.workbook.template.build import template_bytes
from estimator.workbook.template.shipped import template_of

pytestmark = [pytest.mark.slow, needs_office]

SEED = 1
ALL = os.environ.get("ACCIDENTS") == "all"
FEET, METRIC = (200, 20) if ALL else (4, 1)
RARER = 25
AXES = "soil", "step"
"""Tables of the small workbook: with entries, and computed."""


@pytest.fixture(autouse=True)
def _room_for_the_next() -> Iterator[None]:
    """Give back the three workbooks of an accident: those of two hundred take ten gigabytes."""
    yield
    gc.collect()


def whole(data: bytes, model: Model) -> Iterator[Scene]:
    scene = Scene(data, model, template_of(model).read_bytes(), SUMMED)
    with scene.office:
        yield scene


def drawn(scene: Scene, count: int) -> list[Accident]:
    """A row of prices deleted, a cell deleted of a column over another table, others by lot."""
    happens = Happens(scene.model, scene.ranges, scene.sheets)
    prices = next(t for t in happens.tables if (t.sheet, t.axis) == ("Prices", "item"))
    known = [happens.rows_deleted(prices, prices.area.row1 + 5)]
    if count > 1:
        drives = next(t for t in happens.tables if "drive_low" in t.names)
        known.append(happens.cells_up(drives, "drive_low", drives.area.row2))
    return [*known, *happens.some(count - len(known), SEED)]


@pytest.fixture(scope="module")
def feet(demo_book: bytes) -> Iterator[Scene]:
    yield from whole(demo_book, build_model())


@pytest.fixture(scope="module")
def metres(metric_book: bytes) -> Iterator[Scene]:
    yield from whole(metric_book, metric(build_model()))


@pytest.mark.parametrize("number", range(FEET))
def test_an_accident_is_said_and_mended(feet: Scene, number: int) -> None:
    mends(feet, drawn(feet, FEET)[number])


@pytest.mark.parametrize("number", range(METRIC))
def test_an_accident_to_a_metric_workbook_is_said_and_mended(metres: Scene, number: int) -> None:
    mends(metres, drawn(metres, METRIC)[number])


@pytest.fixture(scope="module")
def small() -> Iterator[Scene]:
    """The small workbook, in which an accident is mended in a second."""
    summed = ("in_soil_price", "soil_full_price", "cost_usd")
    template = template_bytes(planters.model())
    scene = Scene(planters.planted(), planters.model(), template, summed)
    with scene.office:
        yield scene


def rarer(scene: Scene) -> list[Accident]:
    happens = Rarely(scene.model, scene.ranges, scene.sheets)
    soils, steps = (next(t for t in happens.tables if t.axis == axis) for axis in AXES)
    return [*happens.all(soils, steps)]


@pytest.mark.parametrize("number", range(RARER))
def test_a_rarer_accident_is_said_and_mended(small: Scene, number: int) -> None:
    accidents = rarer(small)
    assert len(accidents) == RARER
    mends(small, accidents[number])


def test_sums_over_a_table_that_was_moved_to_another_of_our_sheets_cover_it_again(
    small: Scene,
) -> None:
    happens = Happens(small.model, small.ranges, small.sheets)
    soils = next(table for table in happens.tables if table.axis == AXES[0])
    mends(small, happens.table_moved(soils, "Job"))


def test_an_entry_that_falls_out_of_a_full_table_is_told_by_name_and_value(small: Scene) -> None:
    """A line put into a full table and filled leaves no blank one to go: the last one falls out."""
    sheet, area = small.ranges["in_soil_name"]
    prices = small.ranges["in_soil_price"][1].column1
    names = {(sheet, row, area.column1): f"Soil {row - area.row1}" for row, _ in area.cells()}
    priced = {(sheet, row, prices): float(row - area.row1 + 1) for row, _ in area.cells()}
    small.office.open(small.data)
    small.office.edit({**names, **priced})
    middle = area.row1 + 2
    small.office.do(["insert_rows", sheet, middle, 1])
    small.office.edit({(sheet, middle, area.column1): "New", (sheet, middle, prices): 20.0})
    fallen, kept = (address(row, prices) for row in (area.row2 + 1, area.row2))
    own = {20: f"{fallen}*2", 21: f"{kept}*2"}
    small.office.edit({(OWN_SHEET, row, 2): f"=$'{sheet}'.{text}" for row, text in own.items()})
    broken = small.office.saved()
    assert "1 inserted" in what_is_said(broken, small.model)
    done = restored(Package.open(broken, label="shed.xlsx"), small.template)
    left = [*lines_of(done.data)["in_soil_name"].values()]
    assert left == ["Soil 0", "Soil 1", "New", "Soil 2", "Soil 3", "Soil 4"]
    told = [note for note in done.notes if "the table is full" in note]
    assert told == [
        f"Not carried over: row {area.row2 + 1} of {sheet}, as the table is full:"
        " soil_name Soil 5, soil_price 6."
    ]
    formulas = grid(done.package, OWN_SHEET)
    now = address(area.row2, prices)
    assert kept == now
    assert formulas.value(20, 2).formula == "#REF!*2", "else it read what took the line's place"
    assert formulas.value(21, 2).formula == f"{sheet}!{now}*2"
    assert any(f"{OWN_SHEET}!B20" in note and "#REF! stands there" in note for note in done.notes)
    shown = recalculate(done.package).values
    assert (shown[OWN_SHEET, "B20"], shown[OWN_SHEET, "B21"]) == (CellError("#REF!"), 10.0)
