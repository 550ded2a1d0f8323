"""The length formulas read as the engine does, in three spreadsheet engines."""

from __future__ import annotations

import datetime as dt
import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import formualizer
import formulas
import numpy as np
import openpyxl
import pytest
from libreoffice import recalculated
from office import needs_office

from estimator.errors import InputError
from estimator.length_formula import length_formula, normal_formula
from estimator.units import BareUnit, parse_length

NBSP, NARROW_NBSP = "\u00a0", "\u202f"

READABLE: list[str | float] = [
    12.5,
    12,
    0,
    "12    ' 6\"",
    -0.5,
    1e-7,
    43830,
    "12.5",
    " 12.5 ",
    "12",
    "12.",
    ".5",
    "0012.50",
    "0.1234567890123",
    "+6",
    "-0.5",
    "- 0.5",
    "−0.5",
    "12' 6\"",
    "12'6\"",
    "12' 6",
    "12'6''",
    "12-6",
    "12 - 6",
    "12–6",
    "12-6 1/2",
    '12-6 1/2"',
    "12' 6 1/2\"",
    "12'-6\"",
    "12' - 6\"",
    "12'-1/2\"",
    "12' 1/2\"",
    "12' 6.25\"",
    "12' 6,5\"",
    "12' .5\"",
    "12' 11 15/16\"",
    "0' 6\"",
    "-12' 6\"",
    '6 1/2"',
    '6  1/2 "',
    '1/2"',
    "1 / 2 in",
    '-6"',
    "-6'",
    "5/8",
    "-5/8",
    "1 5/8",
    "7/3",
    '150"',
    "150''",
    "150 in",
    "150 IN.",
    "150 inches",
    "1 inch",
    "12 ft",
    "12ft",
    "12 FT 6 IN",
    "12 ft 6 1/2 in",
    "12 ft. 6 in.",
    "12 feet 6 inches",
    "1 foot",
    "12 1/2 ft",
    "12.5'",
    "12'",
    "3.81 m",
    "3,81 m",
    "3.81M",
    "381 cm",
    "381,5cm",
    "3810 mm",
    "12,5",
    ",5",
    "12,3456",
    "-3,81 m",
    "12′ 6″",
    "12’ 6”",
    "12′ 6′′",
    "12‘ 6“",
    f"12{NBSP}ft{NBSP}6{NBSP}in",
    f"{NARROW_NBSP}3.81{NARROW_NBSP}m",
    "123456789012345678901234567890",
]

UNREADABLE: list[str | bool | None] = [
    None,
    "",
    " ",
    NBSP,
    True,
    False,
    "1,250",
    "3,810 m",
    "12' 1,250\"",
    "1,250,000",
    "1,250.5",
    "12,",
    "12.5.1",
    "12' 14\"",
    "12' 12\"",
    "12-12",
    "12' 11 16/16\"",
    "12' 25/2\"",
    "12.5' 6\"",
    "12.5-6",
    "1/2' 6\"",
    "6-1/2",
    '6-1/2"',
    "12-6-1/2",
    "-12-6",
    "--6",
    "+-6",
    "-+6",
    "++6",
    "5+-6",
    "12' -6'",
    "12 6",
    "12 6 1/2",
    "6 1/2 1/2",
    "1/0",
    "12' 1/0\"",
    "1/2/3",
    "/2",
    "1/",
    "1/2.5",
    "1.5/2",
    "6.5 1/2",
    "12' ft",
    "12''6",
    "12'6 ft",
    "12' 6 cm",
    "12 ft 3 m",
    "5cmm",
    "5 m m",
    "m",
    "'",
    "-",
    ".",
    "+",
    "ft",
    "twelve",
    "12 yd",
    "12e3",
    "1e-3",
    "12%",
    "$12",
    "(12)",
    "*",
    "?",
    "0;",
    "12;",
    "12#",
    "^12",
    "0;|0.",
    "0|0",
    "12;ft",
    "12:",
    "1:30",
    "TRUE",
    "#N/A",
    "2024-01-05",
    "12/6/2024",
    "12\n6",
    "12\t6",
    "١٢",
    "１２",
    "1234567890123456789012345678901",
    "0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0",
    "12' 6\" and a bit more than that, measured twice",
]

TYPED: list[str | float | bool | None] = [*READABLE, *UNREADABLE]

# bare unit and decimal comma of each pair of formula columns
WAYS: list[tuple[BareUnit, bool]] = [
    ("ft", False),
    ("in", False),
    ("m", False),
    ("cm", False),
    ("mm", False),
    ("ft", True),
]


FUNCTIONS_OF_2007 = {
    *("IF", "AND", "OR", "NOT", "IFERROR", "ISNUMBER", "ISTEXT", "ISLOGICAL", "VALUE"),
    *("FIND", "SUBSTITUTE", "LOWER", "TRIM", "MID", "LEFT", "RIGHT", "LEN", "REPT"),
}


def by_engine(value: object, bare_unit: BareUnit, decimal_comma: bool) -> float | str:
    try:
        return parse_length(value, bare_unit, decimal_comma)
    except InputError:
        return "?"


def write_workbook(path: Path, typed: list[Any], ways: list[tuple[BareUnit, bool]]) -> None:
    """Column A holds what was typed, B the normal form, C on the reading in each way."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Job"
    for row, value in enumerate(typed, start=1):
        cell = sheet.cell(row, 1, value)
        if isinstance(value, str):
            cell.data_type = "s"
            cell.number_format = "@"
        sheet.cell(row, 2, "=" + normal_formula(f"$A{row}"))
        for column, way in enumerate(ways, start=3):
            sheet.cell(row, column, "=" + length_formula(f"$B{row}", *way))
    book.save(path)


def readings_by_formualizer(path: Path, rows: int, ways: int) -> list[list[Any]]:
    book = formualizer.load_workbook(str(path))
    book.evaluate_all()
    return [
        [book.evaluate_cell("Job", row, 3 + way) for way in range(ways)]
        for row in range(1, rows + 1)
    ]


def readings_by_formulas_library(
    typed: list[Any], ways: list[tuple[BareUnit, bool]]
) -> list[list[Any]]:
    """Each formula is read once, which takes this library a fifth of a second."""
    normal = _by_formulas_library(normal_formula("A1"))
    readers = [_by_formulas_library(length_formula("A1", *way)) for way in ways]
    return [[read(normal(value)) for read in readers] for value in typed]


def _by_formulas_library(formula: str) -> Callable[[Any], Any]:
    function = formulas.Parser().ast(f"={formula}")[1].compile()

    def value_of(cell: Any) -> Any:
        contents = np.array([[cell]], dtype=object)
        found = function(formulas.ranges.Ranges().push("A1", contents))
        return np.asarray(found, dtype=object).ravel()[0]

    return value_of


def readings_by_libreoffice(path: Path, rows: int, ways: int) -> list[list[Any]]:
    sheet = recalculated(path.read_bytes())["Job"]
    return [[sheet.cell(row, 3 + way).value for way in range(ways)] for row in range(1, rows + 1)]


def assert_read_alike(
    typed: list[Any], readings: list[list[Any]], ways: list[tuple[BareUnit, bool]]
) -> None:
    differ = []
    for value, row in zip(typed, readings, strict=True):
        for way, read in zip(ways, row, strict=True):
            expected = by_engine(value, *way)
            if isinstance(expected, str):
                alike = read == expected
            else:
                alike = isinstance(read, int | float) and read == pytest.approx(
                    expected, rel=1e-12, abs=0
                )
            if not alike:
                differ.append((value, way, read, expected))
    assert not differ


def test_the_table_holds_what_the_engine_reads_and_what_it_refuses() -> None:
    assert [v for v in READABLE if by_engine(v, "ft", False) == "?"] == []
    assert [v for v in UNREADABLE if by_engine(v, "ft", False) != "?"] == []


def test_formualizer_reads_every_form_as_the_engine_does(tmp_path: Path) -> None:
    path = tmp_path / "lengths.xlsx"
    write_workbook(path, TYPED, WAYS)
    assert_read_alike(TYPED, readings_by_formualizer(path, len(TYPED), len(WAYS)), WAYS)


@pytest.mark.slow
@pytest.mark.parametrize("way", WAYS)
def test_the_formulas_library_reads_every_form_as_the_engine_does(
    way: tuple[BareUnit, bool],
) -> None:
    assert_read_alike(TYPED, readings_by_formulas_library(TYPED, [way]), [way])


@pytest.mark.slow
@needs_office
def test_libreoffice_reads_every_form_as_the_engine_does(tmp_path: Path) -> None:
    path = tmp_path / "lengths.xlsx"
    write_workbook(path, TYPED, WAYS)
    assert_read_alike(TYPED, readings_by_libreoffice(path, len(TYPED), len(WAYS)), WAYS)


def test_slips_of_the_finger_are_read_or_refused_alike(tmp_path: Path) -> None:
    """Every readable form with one character lost, doubled, swapped or put in by chance."""
    chance = random.Random(7)
    forms = [f for f in READABLE if isinstance(f, str)]
    typed: list[str] = []
    for _ in range(600):
        form = chance.choice(forms)
        at = chance.randrange(len(form))
        other = chance.choice("0123456789 '\"-+/.,;:#^|?mcftin½")
        typed.append(
            chance.choice(
                [
                    form[:at] + form[at + 1 :],
                    form[:at] + form[at] + form[at:],
                    form[:at] + other + form[at:],
                    form[:at] + other + form[at + 1 :],
                ]
            )
        )
    assert any(by_engine(t, "ft", False) == "?" for t in typed)
    path = tmp_path / "slips.xlsx"
    write_workbook(path, typed, WAYS)
    assert_read_alike(typed, readings_by_formualizer(path, len(typed), len(WAYS)), WAYS)


def test_a_date_is_refused_by_the_engine_but_is_a_number_to_the_formula(tmp_path: Path) -> None:
    date = dt.datetime(2020, 1, 1)
    assert by_engine(date, "ft", False) == "?"
    write_workbook(tmp_path / "date.xlsx", [date], WAYS)
    assert readings_by_formualizer(tmp_path / "date.xlsx", 1, 1)[0][0] == 43831


@pytest.mark.parametrize("way", WAYS)
def test_the_formulas_stay_within_the_limits_of_old_spreadsheets(
    way: tuple[BareUnit, bool],
) -> None:
    for text in (normal_formula("'Job Site'!$AB$1234"), length_formula("$AB$1234", *way)):
        assert len(text) < 3000  # the limit is 8192
        bare = re.sub(r'"[^"]*"', "", text)
        depth = deepest = 0
        for mark in bare:
            depth += (mark == "(") - (mark == ")")
            deepest = max(deepest, depth)
        assert depth == 0
        assert deepest < 64
        assert all(len(literal) <= 255 for literal in re.findall(r'"([^"]*)"', text))
        functions = set(re.findall(r"([A-Z][A-Z0-9.]*)\(", bare))
        assert functions <= FUNCTIONS_OF_2007


def test_an_unknown_unit_for_bare_numbers_is_refused() -> None:
    with pytest.raises(InputError, match="not a unit of length"):
        length_formula("$B7", "yd")
