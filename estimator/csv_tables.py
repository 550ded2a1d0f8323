"""Tables in CSV files whose columns are named by keys of quantities; texts that stay texts.

A spreadsheet that opens a CSV runs what begins like a formula. Such a text is written with an
apostrophe before it, and the apostrophe goes when it is read.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from estimator.engine import Model
from estimator.errors import FileError, InputError, in_quotes
from estimator.rows import Quantity

LARGEST_FILE = 5_000_000
"""Bytes of the largest job or price list."""
FORMULA_SIGNS = "=+-@\t\r"
"""What a text begins with that a spreadsheet takes for a formula."""
GUARD = "'"
_FOLDERS = {"feet": "price_book", "metric": "price_book_metric"}


def guarded(text: str) -> str:
    """A text as it is written to a CSV file: no spreadsheet runs it."""
    runs = text[:1] != "" and text[0] in FORMULA_SIGNS
    return GUARD + text if runs or _guards(text) else text


def unguarded(text: str) -> str:
    """The text that :func:`guarded` made this of; any other stays as it is."""
    return text[1:] if _guards(text) else text


def _guards(text: str) -> bool:
    return text[:1] == GUARD and text[1:2] != "" and text[1] in FORMULA_SIGNS + GUARD


def file_text(path: Path) -> str:
    """Text of a file in UTF-8, its line ends as they are.

    Raises:
        FileError: If it can't be read, is too large or not in UTF-8.
    """
    data = file_bytes(path)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileError(
            "is not a text file in UTF-8.",
            where=path.name,
            cure="Save it as UTF-8; a spreadsheet calls that CSV UTF-8.",
        ) from None


def file_bytes(path: Path) -> bytes:
    """Bytes of a job or a price list.

    Raises:
        FileError: If it can't be read or is too large.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)  # a device tells no size, and may never end
    except FileNotFoundError:
        raise FileError("there is no such file.", where=str(path)) from None
    except OSError as error:
        raise FileError(f"can't be read ({error.strerror}).", where=str(path)) from None
    if len(data) > LARGEST_FILE:
        raise FileError("is too large to be a job or price book.", where=path.name)
    return data


def table_rows(model: Model, path: Path, axis: str) -> list[tuple[int, dict[str, Any]]]:
    """Lines of a table of inputs: number in the file and typed values by key of their column.

    Raises:
        FileError: If the file can't be read; with its line where there is one.
        InputError: For a column that is not one of the table's.
    """
    header, lines = _header_and_lines(path)
    for name in header[1]:
        if header[1].count(name) > 1:
            raise InputError(
                f"the column {in_quotes(name)} stands twice.",
                where=f"{path.name}, line {header[0]}",
                cure="Keep one of them.",
            )
        item = model.quantities.get(name)
        if item is None or item.role != "input" or item.axis != axis:
            raise InputError(
                f"the column {in_quotes(name)} is not known.",
                where=f"{path.name}, line {header[0]}",
                cure=f"Use the column names of shared/{_FOLDERS[model.measure]}/items.csv, or read"
                " a supplier's own list with --from SUPPLIER.",
            )
    return [(line, _values(model, header[1], values)) for line, values in lines]


def table_columns(path: Path) -> tuple[str, ...]:
    """Names of the columns of a CSV file.

    Raises:
        FileError: If the file can't be read.
    """
    return tuple(_header_and_lines(path)[0][1])


def table_text(columns: Iterable[str], rows: Iterable[Mapping[str, str]]) -> str:
    """A table as the text of a CSV file, safe to be opened in a spreadsheet."""
    out, named = io.StringIO(), list(columns)
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(named)
    writer.writerows([guarded(row[key]) for key in named] for row in rows)
    return out.getvalue()


_Line = tuple[int, list[str]]


def _header_and_lines(path: Path) -> tuple[_Line, list[_Line]]:
    every = csv_lines(file_text(path), path.name)
    lines = [line for line in every if any(value.strip() for value in line[1])]
    if not lines:
        raise FileError("the file is empty.", where=path.name)
    header = [name.strip() for name in lines[0][1]]
    for line, values in lines[1:]:
        if len(values) != len(header):
            raise FileError(
                f"the line has {len(values)} values, the header {len(header)}.",
                where=f"{path.name}, line {line}",
                cure="Put texts that hold a comma in quotes.",
            )
    return (lines[0][0], header), lines[1:]


def csv_lines(text: str, label: str, separator: str = ",") -> list[_Line]:
    """Values of every line of a CSV file, with the number of the line where they end.

    Raises:
        FileError: If it is no table of values; with its line.
    """
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        return [(reader.line_num, values) for values in reader]
    except csv.Error as error:
        where = f"{label}, line {reader.line_num}"
        raise FileError(f"is not a table of values: {error}.", where=where) from None


def _values(model: Model, header: list[str], values: list[str]) -> dict[str, Any]:
    return {
        key: _number_or_text(model.quantities[key], unguarded(text))
        for key, text in zip(header, values, strict=True)
        if text.strip()
    }


def _number_or_text(item: Quantity, text: str) -> Any:
    assert item.field is not None
    if item.field.kind in ("number", "whole", "share"):
        try:
            return float(text)
        except ValueError:
            return text
    if item.field.kind == "date":
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            return text
    return text
