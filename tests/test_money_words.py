"""The sign of money and the word for the tax are the job's own, in the book and on the terminal."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import edited, refilled, value
from jobs import changed, demo
from libreoffice import recalculated
from lxml import etree
from office import needs_office

from estimator.errors import InputError
from estimator.evaluation import evaluate
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.money import money
from estimator.report import answer, sentence
from estimator.typed_job import default_cells, read_inputs
from estimator.workbook.package.a1 import parse_range
from estimator.workbook.package.parts import Package


@pytest.mark.parametrize(
    ("sign", "shown"),
    [
        ("$", "$1,235"),
        ("£", "£1,235"),
        ("€", "€1,235"),
        ("EUR", "EUR 1,235"),
        ("kr", "kr 1,235"),
        ("", "1,235"),
    ],
)
def test_a_sign_stands_before_an_amount_and_a_word_apart_from_it(sign: str, shown: str) -> None:
    told = money(np.array([[1234.6]]), np.array([[sign]]), "#,##0")
    assert told.tolist() == [[shown]]


def test_a_new_job_has_the_words_of_its_measure() -> None:
    model = build_model()
    feet, metres = default_cells(model), default_cells(metric(model))
    words = [(cells["currency", 0], cells["tax_word", 0]) for cells in (feet, metres)]
    assert words == [("$", "Sales tax"), ("EUR", "VAT")]


def test_the_answer_on_the_terminal_has_the_sign_of_the_job() -> None:
    model = build_model()
    values = evaluate(model, read_inputs(model, changed(demo(), currency="GBP")))
    told = answer(values) + sentence(values)
    assert "$" not in told
    total = float(values["total_cost"][0, 0])
    assert f"GBP {total:,.2f}" in told
    assert re.search(r"^B: GBP [\d,.]+ less than A|: GBP [\d,.]+ less than ", told, re.MULTILINE)


def test_a_wage_that_is_refused_is_told_in_money_of_the_job() -> None:
    model = build_model()
    with pytest.raises(
        InputError, match="9000000 GBP/h; it must lie between 0 GBP/h and 1000000 GBP/h"
    ):
        read_inputs(model, changed(demo(), currency="GBP", wage_per_h=9_000_000))
    with pytest.raises(InputError, match="GST on material is 9"):
        read_inputs(model, changed(demo(), tax_word="GST", tax_share=9))


def test_money_of_many_units_to_the_dollar_is_taken() -> None:
    """An hour for 250,000 and a sheet for 600,000 rupiah (common practice, no source)."""
    job = changed(demo(), currency="Rp", wage_per_h=250_000, item_price=600_000, price_step=10_000)
    assert np.all(read_inputs(build_model(), job)["wage_per_h"] == 250_000)


WORDS = {"in_currency": "£", "in_tax_word": "GST"}


def _texts(book: Any) -> dict[str, str]:
    """Every text of the workbook's visible sheets but what is typed on Job, by sheet and cell."""
    return {
        f"{sheet.title}!{cell.coordinate}": cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and sheet.sheet_state == "visible"
    }


def _of_money(book: Any) -> list[str]:
    """Texts with an old or a new word, but Job's own cells, the note beside them, and what the
    solvers read at the last refill, which is kept behind bars."""
    texts = _texts(book)
    return sorted(
        text
        for text in texts.values()
        if re.search(r"\$|£|Sales tax|GST", text)
        and not text.startswith(("Such as", "Choose", "|"))
    )


@pytest.mark.slow
@needs_office
def test_a_word_typed_in_the_sheet_shows_at_once_everywhere(demo_book: bytes) -> None:
    before = _of_money(recalculated(demo_book))
    after = _of_money(recalculated(edited(demo_book, WORDS)))
    assert len(before) > 80
    told = sorted(t.replace("$", "£").replace("Sales tax", "GST") for t in before)
    assert after == told


@pytest.mark.slow
def test_a_refill_shows_the_words_typed(demo_book: bytes, tmp_path: Path) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(refilled(edited(demo_book, WORDS)).data)
    texts = _of_money(openpyxl.load_workbook(path, data_only=True))
    assert not [text for text in texts if "$" in text or "Sales tax" in text]
    assert {"£", "£/h", "GST", "GST on material", "GST on tool hire"} <= set(texts)


@pytest.mark.slow
def test_the_axis_of_the_costs_has_the_sign(metric_demo_book: bytes) -> None:
    renamed = refilled(edited(metric_demo_book, WORDS)).data
    for data, sign in ((metric_demo_book, "EUR"), (renamed, "£")):
        package = Package.open(data, label="x")
        root = etree.fromstring(package.read("xl/charts/chart1.xml"))
        title = root.find(".//{*}valAx/{*}title")
        assert title is not None
        sheet, cell = package.range_of("currency")
        assert parse_range(str(title.findtext(".//{*}f")).partition("!")[2]) == parse_range(cell)
        assert (sheet, title.findtext(".//{*}pt/{*}v")) == ("Job", sign)


@pytest.mark.slow
def test_a_new_metric_workbook_speaks_of_its_money(metric_demo_book: bytes, tmp_path: Path) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(metric_demo_book)
    texts = _texts(openpyxl.load_workbook(path, data_only=True))
    assert not [t for t in texts.values() if "$" in t and not t.startswith("Such as")]
    assert {"EUR", "EUR/m3", "VAT on material"} <= set(texts.values())
    assert value(metric_demo_book, "why_compared").startswith("B: EUR ")
