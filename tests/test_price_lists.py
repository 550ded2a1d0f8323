"""Price lists: the own one out and in again, and those that yards give out. All are invented."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from books import Spot, edited, opened, spot, value
from hypothesis import given
from hypothesis import strategies as st
from jobs import demo
from known_job import KNOWN_BOOK, KNOWN_JOB

from estimator.cli import main
from estimator.csv_tables import FORMULA_SIGNS, guarded, table_rows, table_text, unguarded
from estimator.errors import FileError, InputError
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.typed_job import load_job, read_inputs
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import apply
from estimator.workbook.refill.price_list import (
    Exported,
    PriceBook,
    export_prices,
    list_entries,
    price_changes,
)
from estimator.workbook.refill.yard_list import YardForm, number
from estimator.workbook.refill.yard_prices import yard_entries

BOOK = (KNOWN_BOOK / "items.csv").read_text(encoding="utf-8")
HOSTILE = ("=1+1", "+49 555", "-ring", "@home", "\ttab", "'=quoted", "''twice", "'tis so", "a,b\nc")

# Two yards, each with a way of its own to write a list.
COMMA_LIST = """Preisliste Holzhof Muster (erfunden);;;
gültig ab 1. Mai;;;
Art.-Nr.;Bezeichnung;VPE;Preis je VPE
Bauholz;;;
00471;Latte 2x4 x 8 ft;1;5,10 EUR
00472;2x4 x 10 ft;1;6,40 EUR
00480;Schrauben, gross;150;1.021,50 EUR
00499;Gartenbank;1;89,00 EUR
"""
TAB_LIST = (
    "Référence\tDésignation\tPrix\n"
    "G-20\tCrushed stone, clean, 3/4 in (No. 67)\t1\u00a0024,5 €\n"
    "G-40\tCrushed stone, clean, 1 in (No. 57)\tsur demande\n"
    "S-01\tSable\t12 €\n"
)
COMMA_FORM = {
    "supplier_article_heading": "Art.-Nr.",
    "supplier_item_heading": "Bezeichnung",
    "supplier_pack_heading": "VPE",
    "supplier_price_heading": "preis  je VPE",
    "supplier_numbers": "1.234,56",
    "supplier_currency": "EUR",
}
TAB_FORM = {
    "supplier_article_heading": "Référence",
    "supplier_item_heading": "Désignation",
    "supplier_price_heading": "Prix",
    "supplier_numbers": "1.234,56",
    "supplier_currency": "€",
}
STONE_YARD, LUMBER_YARD = 0, 1


def row_of(name: str) -> int:
    """Row of an item of the known price book."""
    return next(p for (k, p), v in demo().cells.items() if k == "item_name" and v == name)


def with_form(data: bytes, form: Mapping[str, str], supplier: int, **articles: str) -> bytes:
    """A workbook that knows how a supplier's list reads, with article numbers of items by key."""
    keys = {v: p for (k, p), v in demo().cells.items() if k == "item_key"}
    cells: dict[Spot, Any] = {(f"in_{key}", 0, supplier): text for key, text in form.items()}
    cells |= {("in_item_article", 0, keys[key]): text for key, text in articles.items()}
    return edited(data, cells)


def prices_of(data: bytes) -> PriceBook:
    return PriceBook.of(opened(data), build_model())


def written(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "list.csv"
    path.write_bytes(text.encode(encoding))
    return path


# --- texts that a spreadsheet would run ---


@given(st.text())
def test_no_text_is_run_and_each_comes_back_as_it_was(text: str) -> None:
    safe = guarded(text)
    assert not safe or safe[0] not in FORMULA_SIGNS
    assert unguarded(safe) == text


@pytest.mark.parametrize("text", HOSTILE)
def test_a_table_written_out_is_read_as_it_was(text: str, tmp_path: Path) -> None:
    path = written(tmp_path, table_text(["item_name", "item_price"], [
        {"item_name": text, "item_price": "1.5"}, {"item_name": "plain", "item_price": ""}
    ]))  # fmt: skip
    rows = [entries for _, entries in table_rows(build_model(), path, "item")]
    assert rows == [{"item_name": text, "item_price": 1.5}, {"item_name": "plain"}]


def test_the_own_list_out_and_in_again_changes_nothing(demo_book: bytes, tmp_path: Path) -> None:
    cells: dict[Spot, Any] = {("in_item_article", 0, row): text for row, text in enumerate(HOSTILE)}
    cells |= {("in_item_date", 0, 3): 46000.0, ("in_item_unit", 0, 4): "=yd3"}
    data = with_texts(demo_book, cells)
    book = tmp_path / "shed.xlsx"
    book.write_bytes(data)
    out = tmp_path / "out.csv"
    count = sum(k == "item_name" for k, _ in demo().cells)
    assert export_prices(book, out, build_model()) == Exported(count, None)
    with out.open(encoding="utf-8", newline="") as file:
        told = [text for line in csv.reader(file) for text in line]
    assert not [text for text in told if text[:1] and text[0] in FORMULA_SIGNS]
    prices = prices_of(data)
    typed, new, missing = list_entries(prices, out)
    assert new == missing == ()
    assert len(typed) > 1000
    there = {}
    for key in {key for key, _ in typed}:
        sheet, area = prices.port.ranges()[f"in_{key}"]
        for cell, (content,) in zip(area.cells(), prices.port.read(sheet, area), strict=True):
            there[sheet, address(*cell)] = content.value
    edits = prices.edits(typed)
    assert {place: there[place] for place in edits} == edits


def with_texts(data: bytes, cells: Mapping[Spot, Any]) -> bytes:
    """The workbook with these texts as texts, even where they begin like a formula."""
    package = opened(data)
    return apply(package, {spot(package, where): text for where, text in cells.items()})


# --- the own list ---


def test_a_price_file_brings_its_suppliers(demo_book: bytes, tmp_path: Path) -> None:
    text = BOOK.replace(",Stone yard,", ",Quarry on the hill,").replace(",Tool hire,", ",Hire Ltd,")
    typed, new, _ = list_entries(prices_of(demo_book), written(tmp_path, text))
    names = [v for (key, _), v in typed.items() if key == "supplier_name"]
    assert names == ["Quarry on the hill", "Hire Ltd"]
    assert {row for key, row in typed if key == "supplier_name"} == {6, 7}
    assert new == ()
    job = load_job(KNOWN_JOB, written(tmp_path, text))
    assert job.cells["supplier_name", 6] == "Quarry on the hill"


def test_more_suppliers_than_there_is_room_for_are_refused(
    demo_book: bytes, tmp_path: Path
) -> None:
    text = BOOK
    for number_, line in enumerate(BOOK.splitlines()[1:5]):
        text = text.replace(line, line.replace("Stone yard", f"Quarry {number_}"))
    path = written(tmp_path, text)
    for read in (
        lambda: list_entries(prices_of(demo_book), path),
        lambda: load_job(KNOWN_JOB, path),
    ):
        with pytest.raises(FileError, match="4 new suppliers and the table has room for 2"):
            read()


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["stone_57,A 1,9,Stone yard", "stone_67,A 1,9,Stone yard"], "lines 2 and 3"),
        (["stone_57,A 1,9,Stone yard", "stone_57,A 2,9,Stone yard"], "lines 2 and 3"),
        ([",A 1,9,Stone yard", "stone_57,,9,Stone yard"], "of no item of the workbook"),
    ],
)
def test_a_list_that_names_an_item_twice_or_none_is_refused(
    lines: list[str], said: str, demo_book: bytes, tmp_path: Path
) -> None:
    text = "\n".join(["item_key,item_article,item_price,item_supplier", *lines])
    with pytest.raises(InputError) as caught:
        list_entries(prices_of(demo_book), written(tmp_path, text))
    assert said in str(caught.value)
    assert "list.csv" in caught.value.where


def test_cells_that_choose_an_item_follow_when_a_list_renames_it(
    demo_book: bytes, tmp_path: Path
) -> None:
    text = "item_key,item_name\nstone_57,Gravel\nsheet_23_32_tg,Deck sheet\ndelivery_stone,Tipper\n"
    prices = prices_of(demo_book)
    typed, _, _ = list_entries(prices, written(tmp_path, text))
    chosen = {
        cell: entry for cell, entry in typed.items() if cell[0] not in ("item_key", "item_name")
    }
    assert chosen == {
        **{("stone_item", place): "Gravel" for place in range(4)},
        **{("sheet_item", place): "Deck sheet" for place in range(4)},
        ("panel_item", 0): "Deck sheet",
        ("supplier_delivery", STONE_YARD): "Tipper",
    }
    read_inputs(
        prices.model, TypedJob({**prices.book.typed.cells, **typed}, prices.book.typed.where)
    )
    edits = prices.edits(typed)
    assert edits[spot(demo_book, ("in_sheet_item", 3, 0))] == "Deck sheet"
    assert edits[spot(demo_book, ("in_panel_item", 0, 0))] == "Deck sheet"


def test_a_line_is_an_item_s_by_article_number_before_its_name(
    demo_book: bytes, tmp_path: Path
) -> None:
    data = with_form(demo_book, {}, LUMBER_YARD, lumber_2x4_8="471")
    board = row_of("2x4 x 8 ft")
    for columns in ("item_article,item_name", "item_supplier,item_article,item_name"):
        supplier = "Lumber yard," if "supplier" in columns else ""
        text = f"{columns},item_price\n{supplier}471,Stud 8 ft,4.75\n"
        typed, new, _ = list_entries(prices_of(data), written(tmp_path, text))
        assert (typed["item_price", board], typed["item_name", board]) == (4.75, "Stud 8 ft")
        assert new == ()
    text = "item_article,item_name,item_price\n471,Stud,4.75\n471,Joist,5\n"
    with pytest.raises(InputError, match='lines 2 and 3 are both of "471"'):
        list_entries(prices_of(data), written(tmp_path, text))


def test_a_list_of_few_columns_leaves_the_others_as_they_are(
    demo_book: bytes, tmp_path: Path
) -> None:
    path = written(tmp_path, "item_name,item_price\n2x4 x 8 FT,4.75\nSand,9\n")
    typed, new, missing = list_entries(prices_of(demo_book), path)
    board = row_of("2x4 x 8 ft")
    assert typed["item_price", board] == 4.75
    assert {key for key, row in typed if row == board} == {"item_name", "item_price"}
    assert new == ("Sand",)
    assert "2x4 x 10 ft" in missing


# --- lists of yards ---


@pytest.mark.parametrize(
    ("text", "comma", "sign", "worth"),
    [
        ("1,234.50", False, "", 1234.5),
        ("$ 12", False, "$", 12.0),
        ("1.234,5", True, "", 1234.5),
        ("1.234", True, "", 1234.0),
        ("1 024,5 €", True, "€", 1024.5),
        (" ", True, "€", None),
        ("on request", False, "$", None),
    ],
)
def test_a_number_is_read_as_its_yard_writes_it(
    text: str, comma: bool, sign: str, worth: float | None
) -> None:
    form = YardForm("Yard", {}, "a", "n", decimal_comma=comma, currency=sign)
    assert number(text, form, "list.csv, line 1") == worth


@pytest.mark.parametrize(
    ("text", "comma"),
    [
        ("1,50", False),
        ("1.50", True),
        ("12 EUR", True),
        ("-3", False),
        ("1.23.4", True),
        ("from 3 up", False),
    ],
)
def test_a_number_written_otherwise_is_refused_not_guessed(text: str, comma: bool) -> None:
    form = YardForm("Yard", {}, "a", "n", decimal_comma=comma)
    with pytest.raises(InputError, match="is no number written like") as caught:
        number(text, form, "list.csv, line 7")
    assert caught.value.where == "list.csv, line 7"


def test_a_list_with_commas_titles_and_another_alphabet_of_bytes(
    demo_book: bytes, tmp_path: Path
) -> None:
    """By article number first, then by name; a pack of another size is left alone."""
    data = with_form(demo_book, COMMA_FORM, LUMBER_YARD, lumber_2x4_8="00471", screw_floor="00480")
    path = written(tmp_path, COMMA_LIST, "cp1252")
    typed, parts, said = yard_entries(prices_of(data), path, "lumber yard", dt.date(2026, 5, 1))
    told = dict(parts)
    eight, ten = row_of("2x4 x 8 ft"), row_of("2x4 x 10 ft")
    assert typed == {
        ("item_price", eight): 5.1,
        ("item_date", eight): dt.date(2026, 5, 1),
        ("item_high", eight): None,
        ("item_price", ten): 6.4,
        ("item_date", ten): dt.date(2026, 5, 1),
        ("item_article", ten): "00472",
    }
    assert told["matched"][0] == "2x4 x 8 ft: line 5, by article number"
    assert told["matched"][-1] == "2x4 x 10 ft: line 6, by name"
    assert told["left as they were"] == (
        "Floor screws 2 1/2 in, box of 350: line 7 is of 150 units a pack, not 350.",
    )
    assert told["in the list, no item of the workbook"] == (
        "line 4: Bauholz",
        "line 8: 00499 Gartenbank",
    )
    kept = told["of Lumber yard, not in its list (kept)"]
    assert "2x4 x 12 ft" in kept
    assert "Fill soil, screened" not in kept
    assert said == (
        "list.csv is read as Windows text: it is not UTF-8.",
        "The lines above list.csv, line 3, are no part of the list.",
    )


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_list_with_tabs_and_signs_behind_prices(
    demo_book: bytes, tmp_path: Path, encoding: str
) -> None:
    """In the bytes of either kind of Unicode, as spreadsheets save a text with tabs."""
    data = with_form(demo_book, TAB_FORM, STONE_YARD)
    path = written(tmp_path, TAB_LIST, encoding)
    typed, parts, said = yard_entries(prices_of(data), path, "Stone yard", None)
    stone = row_of("Crushed stone, clean, 3/4 in (No. 67)")
    assert typed["item_price", stone] == 1024.5
    assert typed["item_date", stone] is None
    assert typed["item_article", stone] == "G-20"
    assert dict(parts)["left as they were"] == (
        'Crushed stone, clean, 1 in (No. 57): line 3 has no price, but "sur demande".',
    )
    assert said == ("The prices have no date: say of which day they are with --date.",)


def test_a_list_that_has_an_article_twice_is_refused(demo_book: bytes, tmp_path: Path) -> None:
    data = with_form(demo_book, COMMA_FORM, LUMBER_YARD, lumber_2x4_8="00471")
    path = written(tmp_path, COMMA_LIST + "00471;Latte, lang;1;9,00 EUR\n")
    with pytest.raises(InputError) as caught:
        yard_entries(prices_of(data), path, "Lumber yard", None)
    assert caught.value.what == "the article 00471 is listed twice, in lines 5 and 9."


def test_two_items_of_one_article_number_are_refused_with_both_cells(
    demo_book: bytes, tmp_path: Path
) -> None:
    twins = {"lumber_2x4_8": "00471", "lumber_2x4_10": "00471"}
    data = with_form(demo_book, COMMA_FORM, LUMBER_YARD, **twins)
    with pytest.raises(InputError, match="has the article number 00471 of") as caught:
        yard_entries(prices_of(data), written(tmp_path, COMMA_LIST), "Lumber yard", None)
    for name in ("2x4 x 8 ft", "2x4 x 10 ft"):
        assert "!".join(spot(data, ("in_item_article", 0, row_of(name)))) in str(caught.value)


def test_a_name_that_two_lines_have_is_left_and_told(demo_book: bytes, tmp_path: Path) -> None:
    data = with_form(demo_book, COMMA_FORM, LUMBER_YARD)
    path = written(tmp_path, COMMA_LIST + "00473;2x4 x 10 ft;1;6,60 EUR\n")
    typed, parts, _ = yard_entries(prices_of(data), path, "Lumber yard", None)
    assert typed == {}
    assert dict(parts)["left as they were"] == (
        "2x4 x 10 ft: lines 6 and 9 are called so; type its number.",
    )


def test_a_name_with_another_article_number_is_left_and_told(
    demo_book: bytes, tmp_path: Path
) -> None:
    data = with_form(demo_book, COMMA_FORM, LUMBER_YARD, lumber_2x4_10="77")
    typed, parts, _ = yard_entries(
        prices_of(data), written(tmp_path, COMMA_LIST), "Lumber yard", None
    )
    assert typed == {}
    assert dict(parts)["left as they were"] == (
        "2x4 x 10 ft: line 6 is called so, but its article number is 00472, not 77.",
    )


@pytest.mark.parametrize(
    ("text", "form", "supplier", "said"),
    [
        (COMMA_LIST, COMMA_FORM, "Sawmill", 'no supplier "Sawmill" on Prices'),
        (
            COMMA_LIST,
            {},
            "Lumber yard",
            "Prices does not say how the list of Lumber yard is headed",
        ),
        (TAB_LIST, COMMA_FORM, "Lumber yard", 'no line has the headings "Art.-Nr.", "Bezeichnung"'),
        (
            COMMA_LIST.replace("VPE;P", "Art.-Nr.;VPE;P"),
            COMMA_FORM,
            "Lumber yard",
            'two columns are headed "Art.-Nr."',
        ),
    ],
)
def test_a_list_that_is_not_as_prices_says_is_refused(
    text: str, form: dict[str, str], supplier: str, said: str, demo_book: bytes, tmp_path: Path
) -> None:
    data = with_form(demo_book, form, LUMBER_YARD)
    with pytest.raises(InputError) as caught:
        yard_entries(prices_of(data), written(tmp_path, text), supplier, None)
    assert said in caught.value.what
    assert caught.value.where
    assert caught.value.cure


@pytest.mark.slow
def test_the_command_reads_a_yard_s_list_into_the_workbook(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    book = tmp_path / "shed.xlsx"
    book.write_bytes(with_form(demo_book, COMMA_FORM, LUMBER_YARD, lumber_2x4_8="00471"))
    path = written(tmp_path, COMMA_LIST)
    arguments = ["prices", "in", str(book), str(path), "--from", "Lumber yard"]
    assert main([*arguments, "--date", "2026-05-01"]) == 0
    said = capsys.readouterr().out
    assert "changed: 2\n  2x4 x 8 ft: 4.2 -> 5.1\n" in said
    assert "in the list, no item of the workbook: 3\n" in said
    eight = row_of("2x4 x 8 ft")
    assert value(book.read_bytes(), ("item_price", 0, eight)) == 5.1
    assert value(book.read_bytes(), ("in_item_date", 0, eight)) == 46143


def test_a_list_of_the_other_supplier_changes_the_price_there(
    demo_book: bytes, tmp_path: Path
) -> None:
    data = with_form(demo_book, TAB_FORM, LUMBER_YARD)
    stone = row_of("Crushed stone, clean, 3/4 in (No. 67)")
    data = edited(data, {("in_item_other_supplier", 0, stone): "Lumber yard"})
    path = written(tmp_path, TAB_LIST)
    typed, parts, said = yard_entries(prices_of(data), path, "Lumber yard", None)
    assert typed == {("item_other_price", stone): 1024.5}
    assert said == ()
    assert price_changes(prices_of(data), typed) == (
        "Crushed stone, clean, 3/4 in (No. 67), other supplier: no price -> 1024.5",
    )
    assert dict(parts)["matched"] == ("Crushed stone, clean, 3/4 in (No. 67): line 2, by name",)


def test_the_lead_time_is_read_where_its_column_is_named(demo_book: bytes, tmp_path: Path) -> None:
    listed = (
        "Art.-Nr.;Bezeichnung;VPE;Preis je VPE;Tage\n"
        "00472;2x4 x 10 ft;1;6,40 EUR;12\n"
        "00480;Schrauben, gross;150;21,50 EUR;zwei Wochen\n"
    )
    form = {**COMMA_FORM, "supplier_lead_heading": "Tage"}
    articles = {"lumber_2x4_10": "00472", "screw_deck": "00480"}
    data = with_form(demo_book, form, LUMBER_YARD, **articles)
    typed, parts, _ = yard_entries(
        prices_of(data), written(tmp_path, listed), "Lumber yard", dt.date(2026, 5, 1)
    )
    rows = {v: p for (k, p), v in demo().cells.items() if k == "item_key"}
    assert typed["item_lead_days", rows["lumber_2x4_10"]] == 12
    assert ("item_lead_days", rows["screw_deck"]) not in typed
    left = dict(parts)["left as they were"]
    assert any('lead time: "zwei Wochen" is no whole number of days' in said for said in left)
    plain, _, _ = yard_entries(
        prices_of(with_form(demo_book, COMMA_FORM, LUMBER_YARD, **articles)),
        written(tmp_path, listed),
        "Lumber yard",
        dt.date(2026, 5, 1),
    )
    assert not [key for key, _ in plain if key == "item_lead_days"]


def test_a_price_book_is_written_over_no_workbook_and_keeps_the_list_that_was_there(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    book, out = tmp_path / "shed.xlsx", tmp_path / "yard.csv"
    book.write_bytes(demo_book)
    assert main(["prices", "out", str(book), str(book)]) == 2
    assert "that is no list of prices" in capsys.readouterr().err
    assert book.read_bytes() == demo_book

    out.write_text("the yard's own\n", encoding="utf-8")
    assert main(["prices", "out", str(book), str(out)]) == 0
    assert "The version before: yard.previous.csv" in capsys.readouterr().out
    assert out.with_name("yard.previous.csv").read_text(encoding="utf-8") == "the yard's own\n"
