"""Workbooks of another writer, each with other features: one cell written, all else kept."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable
from typing import Any

import pytest
import xlsxwriter
from rich_workbooks import picture
from test_scripts import load

corpus = load("run_corpus")
Write = Callable[[Any, Any], object]


def _numbers(book: Any, sheet: Any) -> None:
    for n, value in enumerate((0, -1.5, 1e-12, 1e15, 12345678.9)):
        sheet.write_number(n, 0, value, book.add_format({"num_format": "#,##0.00"}))


def _texts(_: Any, sheet: Any) -> None:
    for n, value in enumerate(("  two  ", "line\nbreak", "_x000D_", "é 木 🪵", "<&>\"'")):
        sheet.write_string(n, 0, value)


def _rich(book: Any, sheet: Any) -> None:
    bold = book.add_format({"bold": True})
    sheet.write_rich_string("A1", "plain ", bold, "bold", " plain")


def _dates(book: Any, sheet: Any) -> None:
    look = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
    sheet.write_datetime("A1", dt.datetime(2026, 5, 1, 13, 30), look)


def _formulas(_: Any, sheet: Any) -> None:
    sheet.write_number("A1", 4)
    sheet.write_formula("B1", "=A1*2", None, 8)
    sheet.write_formula("B2", '=IF(A1>3,"many","few")', None, "many")
    sheet.write_formula("B3", "=1/0", None, "#DIV/0!")


def _arrays(_: Any, sheet: Any) -> None:
    sheet.write_column("A1", [1, 2, 3])
    sheet.write_array_formula("B1:B3", "{=A1:A3*2}", None, 2)
    sheet.write_dynamic_array_formula("D1:D3", "=SORT(A1:A3)", None, 1)


def _tables(_: Any, sheet: Any) -> None:
    columns = [{"header": "Item"}, {"header": "Price", "total_function": "sum"}]
    rows = [["stone", 52], ["sand", 31]]
    sheet.add_table("A1:B4", {"data": rows, "columns": columns, "total_row": True})


def _merged(book: Any, sheet: Any) -> None:
    sheet.merge_range("A1:C2", "across", book.add_format({"align": "center"}))


def _conditional(_: Any, sheet: Any) -> None:
    sheet.write_column("A1", [1, 5, 9])
    for rule in ("3_color_scale", "data_bar", "icon_set"):
        more = {"icon_style": "3_arrows"} if rule == "icon_set" else {}
        sheet.conditional_format("A1:A3", {"type": rule, **more})
    sheet.conditional_format("A1:A3", {"type": "data_bar", "data_bar_2010": True})


def _validated(_: Any, sheet: Any) -> None:
    sheet.data_validation("A1", {"validate": "list", "source": ["clay", "sand"]})
    sheet.data_validation("A2", {"validate": "decimal", "criteria": ">", "value": 0})


def _chart(book: Any, sheet: Any) -> None:
    sheet.write_column("A1", [3, 1, 2])
    chart = book.add_chart({"type": "column"})
    chart.add_series({"values": f"='{sheet.name}'!$A$1:$A$3", "trendline": {"type": "linear"}})
    sheet.insert_chart("C2", chart)


def _chartsheet(book: Any, sheet: Any) -> None:
    sheet.write_column("A1", [3, 1, 2])
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": f"='{sheet.name}'!$A$1:$A$3"})
    book.add_chartsheet("Graph").set_chart(chart)


def _picture(_: Any, sheet: Any) -> None:
    sheet.insert_image("B2", "yard.png", {"image_data": picture()})


def _in_cell(_: Any, sheet: Any) -> None:
    sheet.embed_image("A1", "yard.png", {"image_data": picture()})


def _comments(_: Any, sheet: Any) -> None:
    sheet.write_comment("A1", "Measured twice.", {"author": "someone", "visible": True})


def _links(_: Any, sheet: Any) -> None:
    sheet.write_url("A1", "https://example.com/?a=1&b=2", string="the yard")
    sheet.write_url("A2", f"internal:'{sheet.name}'!B7")


def _sparklines(_: Any, sheet: Any) -> None:
    sheet.write_row("A1", [3, 1, 2])
    sheet.add_sparkline("E1", {"range": f"'{sheet.name}'!A1:C1", "markers": True})


def _drawn(_: Any, sheet: Any) -> None:
    sheet.insert_textbox("B2", "North", {"width": 90})
    sheet.insert_button("B9", {"caption": "Press"})


def _printed(_: Any, sheet: Any) -> None:
    sheet.write_string("A1", "page")
    sheet.set_header("&L&F&R&P", {})
    sheet.repeat_rows(0)
    sheet.print_area("A1:D40")
    sheet.set_h_pagebreaks([20])
    sheet.freeze_panes(1, 1)
    sheet.set_column("B:D", 20, None, {"level": 1, "hidden": True})


def _protected(book: Any, sheet: Any) -> None:
    sheet.write_formula("A1", "=1+1", book.add_format({"hidden": True}), 2)
    sheet.protect("", {"format_cells": True})
    book.define_name("Rate", "=0.07")
    book.define_name(f"'{sheet.name}'!Mine", f"='{sheet.name}'!$A$1:$A$9")
    book.add_worksheet("Kept away").very_hidden()
    book.set_custom_property("Yard", "north")


BOOKS: tuple[Write, ...] = (
    _numbers, _texts, _rich, _dates, _formulas, _arrays, _tables, _merged, _conditional,
    _validated, _chart, _chartsheet, _picture, _in_cell, _comments, _links, _sparklines, _drawn,
    _printed, _protected,
)  # fmt: skip


def written(write: Write, **options: Any) -> bytes:
    """A workbook with one sheet of a name that needs quotes."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, **options}) as book:
        write(book, book.add_worksheet("Bob's yard"))
    return out.getvalue()


@pytest.mark.parametrize("write", BOOKS, ids=lambda write: write.__name__.strip("_"))
@pytest.mark.parametrize("options", [{}, {"use_zip64": True, "date_1904": True}])
def test_one_cell_is_written_and_all_else_is_kept(write: Write, options: dict[str, Any]) -> None:
    assert corpus.outcome(written(write, **options), "book.xlsx") == ("kept", "")


def test_what_is_no_workbook_is_refused_in_a_sentence() -> None:
    what, why = corpus.outcome(b"PK\x03\x04 and no more", "book.xlsx")
    assert what == "refused"
    assert why.startswith("book.xlsx: ")
