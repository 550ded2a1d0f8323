"""Hours and prices of a finished job: told beside the estimate, and taken by the next one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import edited, refilled, spot, value
from libreoffice import recalculated
from office import needs_office

from estimator.cli import main
from estimator.errors import EstimatorError
from estimator.evaluation import evaluate
from estimator.model import build_model
from estimator.model.adds import TRADES
from estimator.rows import OPTION_KEYS
from estimator.typed_job import read_inputs
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.book import read_book
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.kept_answers import from_cells

pytestmark = pytest.mark.slow
PACES = dict(zip(TRADES, (1.2, 0.8, 1.1, 1.25, 1.3, 1.5), strict=True))
"""Invented: how many times the hours reckoned each trade took."""
DEARER = 2.0


def trade(data: bytes, key: str, row: int) -> float:
    return float(value(data, (key, 0, row)) or 0)


def bought(data: bytes) -> list[int]:
    return [row for row in range(120) if value(data, ("buy_packs", 0, row))]


def unbought(data: bytes) -> int:
    """An item that the chosen option does not buy."""
    named = (row for row in range(120) if value(data, ("in_item_name", 0, row)))
    return next(row for row in named if not value(data, ("buy_packs", 0, row)))


def actuals(data: bytes) -> dict[Any, float]:
    """What a finished job's builder types: hours of each trade, prices of two things bought."""
    hours = [trade(data, "trade_hours", row) for row in range(len(TRADES))]
    cells = {
        ("in_trade_hours_worked", 0, row): round(hours[row] * pace, 2)
        for row, pace in enumerate(PACES.values())
        if hours[row]
    }
    first, second = bought(data)[:2]
    for row in (first, second):
        cells["in_item_really_paid", 0, row] = float(value(data, ("item_paid", 0, row))) + DEARER
    return cells


def expected(data: bytes, cells: Mapping[Any, float]) -> tuple[float, float]:
    """Hours and money more than reckoned, by hand."""
    hours = sum(
        worked - trade(data, "trade_hours", key[2])
        for key, worked in cells.items()
        if key[0] == "in_trade_hours_worked"
    )
    packs = sum(value(data, ("buy_packs", 0, row)) for row in bought(data)[:2])
    return hours, DEARER * float(packs)


@pytest.fixture(scope="module")
def finished(demo_book: bytes) -> bytes:
    """The demo with what its builder types at the end, a thing not bought among it, refilled."""
    spare = ("in_item_really_paid", 0, unbought(demo_book))
    return refilled(edited(demo_book, {**actuals(demo_book), spare: 9.0})).data


def test_a_workbook_tells_hours_and_money_more_than_reckoned(
    demo_book: bytes, finished: bytes
) -> None:
    cells, data = actuals(demo_book), finished
    hours, money = expected(demo_book, cells)
    assert hours != 0
    assert value(data, "hours_more") == pytest.approx(hours)
    assert value(data, "bought_more") == pytest.approx(money)
    wage = float(value(data, "wage_per_h"))
    assert value(data, "job_more") == pytest.approx(round(hours * wage, 2) + money, abs=0.011)
    assert value(data, ("total_cost", 0)) == value(demo_book, ("total_cost", 0))


@needs_office
def test_the_difference_shows_at_once_in_a_spreadsheet(demo_book: bytes) -> None:
    cells = {**actuals(demo_book), ("in_item_really_paid", 0, unbought(demo_book)): 9.5}
    hours, money = expected(demo_book, cells)
    sheets = recalculated(edited(demo_book, cells))

    def shown(name: str) -> Any:
        sheet, cell = spot(demo_book, name)
        return sheets[sheet][cell].value

    assert shown("hours_more") == pytest.approx(hours)
    assert shown("bought_more") == pytest.approx(money)
    assert shown("paid_unbought") == 1
    assert shown("stale_worst") in (0, None)


def test_the_next_job_takes_hours_as_rates_and_prices_with_their_day(
    demo_book: bytes, finished: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cells = actuals(demo_book)
    spare = unbought(demo_book)
    old, new, plain = (tmp_path / f"{name}.xlsx" for name in ("shed", "coop", "plain"))
    old.write_bytes(finished)
    assert main(["next", str(old), str(plain)]) == 0
    assert main(["next", str(old), str(new), "--take-actuals"]) == 0
    said = capsys.readouterr().out
    assert f"{value(demo_book, ('in_item_name', 0, spare))}: not taken" in said
    data, without = new.read_bytes(), plain.read_bytes()
    for row in bought(demo_book)[:2]:
        assert value(data, ("in_item_price", 0, row)) == cells["in_item_really_paid", 0, row]
        day = dt.date(1899, 12, 30) + dt.timedelta(days=int(value(data, ("in_item_date", 0, row))))
        assert day == dt.date.today()
        assert value(without, ("in_item_price", 0, row)) == value(
            demo_book, ("in_item_price", 0, row)
        )
    for book in (data, without):  # of the old job alone
        assert value(book, ("in_trade_hours_worked", 0, 0)) is None
        assert value(book, ("in_item_really_paid", 0, bought(demo_book)[0])) is None
    assert value(data, ("in_item_price", 0, spare)) == value(demo_book, ("in_item_price", 0, spare))
    assert hours_with_rates_of(data, demo_book) == pytest.approx(
        [cells.get(("in_trade_hours_worked", 0, row), 0.0) for row in range(len(TRADES))], rel=2e-3
    )
    assert hours_with_rates_of(without, demo_book) == pytest.approx(
        [trade(demo_book, "trade_hours", row) for row in range(len(TRADES))]
    )


def hours_with_rates_of(new: bytes, old: bytes) -> list[float]:
    """Hours by trade of the old job, reckoned with the rates of the new workbook."""
    model = build_model()
    port = FilePort(Package.open(old, label="old"))
    book = read_book(port, model)
    typed = read_book(FilePort(Package.open(new, label="new")), model).typed.cells
    inputs = read_inputs(model, book.typed)
    for key, item in model.quantities.items():
        rate = item.role == "input" and (item.sheet == "Factors" or key == "yard_trip_h")
        if rate and item.field and item.field.value_kind == "number":
            rows = model.capacity(item.axis) if item.axis else 1
            entries = [float(typed.get((key, row)) or 0) for row in range(rows)]
            inputs[key] = np.array(entries)[np.newaxis, :] if item.axis else entries[0]
    held = from_cells(port, model, book, tuple(model.solvers))
    chosen = int(value(old, "chosen_no")) - 1
    return [float(h) for h in np.asarray(evaluate(held, inputs)["trade_hours_of"])[chosen]]


def test_without_anything_typed_the_next_job_says_where_to_type_it(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = tmp_path / "shed.xlsx", tmp_path / "coop.xlsx"
    old.write_bytes(demo_book)
    assert main(["next", str(old), str(new), "--take-actuals"]) == 2
    assert "Type the hours really worked on Cost" in capsys.readouterr().err
    assert not new.exists()


@pytest.mark.parametrize(
    ("cell", "entry", "told"),
    [
        (("in_trade_hours_worked", 0, 0), "two days", 'Really worked holds the text "two days"'),
        (("in_trade_hours_worked", 0, 1), -3.0, "Really worked is -3 h; it must lie between"),
        (("in_item_really_paid", 0, 1), -5.0, "Really paid, a pack is -5 $; it must lie between"),
    ],
)
def test_hours_and_prices_that_are_none_are_refused_by_their_cell(
    demo_book: bytes, tmp_path: Path, cell: Any, entry: Any, told: str
) -> None:
    data = edited(demo_book, {cell: entry})
    with pytest.raises(EstimatorError) as refused:
        refilled(data)
    assert told in str(refused.value)
    sheet, address = spot(demo_book, cell)
    assert f"{sheet}!{address}" in str(refused.value).replace(", ", "!").replace("'", "")
    old = tmp_path / "shed.xlsx"
    old.write_bytes(data)
    assert main(["next", str(old), str(tmp_path / "coop.xlsx"), "--take-actuals"]) == 2


def test_hours_of_a_trade_that_was_not_reckoned_make_no_rate(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    option, row = next(
        (option, row)
        for option in range(5)
        for row in range(len(TRADES))
        if not value(demo_book, ("trade_hours_of", option, row))
    )
    old = tmp_path / "shed.xlsx"
    typed = {"in_chosen_option": OPTION_KEYS[option], ("in_trade_hours_worked", 0, row): 4.0}
    old.write_bytes(edited(demo_book, typed))
    assert main(["next", str(old), str(tmp_path / "coop.xlsx"), "--take-actuals"]) == 0
    said = capsys.readouterr().out
    assert f"{TRADES[row]}: 4.0 h were worked and none were reckoned; no rate follows" in said
