"""A job as typed: from defaults, a TOML file or a workbook; and its inputs, read and checked."""

from __future__ import annotations

import csv
import datetime as dt
import io
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from estimator.engine import Model
from estimator.errors import FileError, InputError
from estimator.inputs import Cell, Field, TypedJob, read, words
from estimator.model import build_model
from estimator.model.factors import factor_rows
from estimator.model.metric_yard import metric_factor_rows
from estimator.resources import shipped_folder
from estimator.rows import OPTION_KEYS, Quantity

SHARED = shipped_folder("shared")
DEMO_JOB = SHARED / "demo_job.toml"
METRIC_DEMO_JOB = SHARED / "demo_job_metric.toml"
PRICE_BOOK = SHARED / "price_book"
METRIC_PRICE_BOOK = SHARED / "price_book_metric"
BOOK_TABLES = {"items": "item", "suppliers": "supplier", "rolls": "roll", "panels": "panel"}
ESTIMATE_DATE = "estimate_date"
LARGEST_FILE = 5_000_000


def default_cells(model: Model, *, options: bool = False) -> dict[Cell, Any]:
    """What a new workbook holds: field defaults, factor tables and the shipped price book.

    With ``options`` every option column carries its defaults; a kind is never set.
    """
    cells: dict[Cell, Any] = {}
    for item in _inputs(model):
        field = _field(item)
        if item.axis is None and field.default is not None:
            for place in range(len(OPTION_KEYS) if item.by_option and options else 1):
                if not item.by_option or options:
                    cells[item.key, place] = field.default
    factors = metric_factor_rows if model.measure == "metric" else factor_rows
    for axis, rows in factors().items():
        _put_rows(model, cells, axis, rows, f"Factors, {axis}")
    for name, axis in BOOK_TABLES.items():
        path = _price_book(model) / f"{name}.csv"
        rows = [row for _, row in _csv_rows(model, path, axis)]
        _put_rows(model, cells, axis, rows, path.name)
    return cells


def _price_book(model: Model) -> Path:
    return METRIC_PRICE_BOOK if model.measure == "metric" else PRICE_BOOK


def demo_job(model: Model) -> Path:
    """The invented demo job in a model's system of measure."""
    return METRIC_DEMO_JOB if model.measure == "metric" else DEMO_JOB


def _example(model: Model) -> str:
    """The file that shows a job's names."""
    return f"shared/{demo_job(model).name}"


def default_job(
    prices: Path | None = None, *, model: Model | None = None, made: dt.date | None = None
) -> TypedJob:
    """A job with the defaults alone; its readings are blank and no option has a kind.

    Args:
        prices: A CSV price book of items; None keeps the shipped one.
        model: Whose inputs they are; None takes the one in feet.
        made: The day it is made on, which is the estimate's date; None takes today.

    Raises:
        FileError: If the price book can't be read.
    """
    model = model or build_model()
    cells = default_cells(model, options=True)
    _date(cells, made)
    lines: dict[Cell, str] = {}
    if prices is not None:
        _load_prices(model, cells, lines, prices)
    return TypedJob(cells, lambda key, place: lines.get((key, place), key))


def load_job(
    path: Path,
    prices: Path | None = None,
    *,
    over: Mapping[Cell, Any] | None = None,
    model: Model | None = None,
    made: dt.date | None = None,
) -> TypedJob:
    """A job from a TOML file, with an optional CSV price book of items.

    Args:
        path: The TOML file.
        prices: The price book; None keeps the one there is.
        over: Typed cells that the file is laid over; None takes the defaults.
        model: Whose inputs the file names; None takes the one in feet.
        made: The day it is made on: the estimate's date, unless one is given; None takes today.

    Raises:
        FileError: If a file can't be read; with its line where there is one.
        InputError: For a name that is no input.
    """
    model = model or build_model()
    cells = default_cells(model) if over is None else dict(over)
    lines: dict[Cell, str] = {}
    text = _text(path)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FileError(f"is not valid TOML: {error}.", where=path.name) from None
    except RecursionError:
        raise FileError("is not valid TOML: lists stand too deep.", where=path.name) from None
    finder = _Lines(path.name, text)
    for key, value in data.items():
        if key == "option":
            _load_options(model, cells, lines, value, finder)
        elif key in model.tables and isinstance(value, list):
            _load_table(model, cells, lines, key, value, finder)
        elif isinstance(value, dict):
            for name, entry in value.items():
                _load_scalar(model, cells, lines, name, entry, finder)
        else:
            _load_scalar(model, cells, lines, key, value, finder)
    _date(cells, made)
    if prices is not None:
        _load_prices(model, cells, lines, prices)

    def where(key: str, place: int) -> str:
        return lines.get((key, place), f"{path.name}, {key}")

    return TypedJob(cells, where)


def _date(cells: dict[Cell, Any], made: dt.date | None) -> None:
    """Give a job that has no date of the estimate the day it is made on."""
    cells.setdefault((ESTIMATE_DATE, 0), made or dt.date.today())


def _load_prices(
    model: Model, cells: dict[Cell, Any], lines: dict[Cell, str], prices: Path
) -> None:
    _clear_axis(model, cells, "item")
    rows = _csv_rows(model, prices, "item")
    _put_rows(model, cells, "item", [values for _, values in rows], prices.name)
    for row, (line, _) in enumerate(rows):
        for item in _inputs(model):
            if item.axis == "item":
                lines[item.key, row] = f"{prices.name}, line {line}"


def load_prices(model: Model, path: Path) -> list[dict[str, Any]]:
    """Lines of a CSV price book of items: typed values by column key.

    Raises:
        FileError: If the file can't be read; with its line where there is one.
        InputError: For a column that is not one of the items', or a line without a key.
    """
    rows = [values for _, values in _csv_rows(model, path, "item")]
    first = _first(model, "item")
    for line, values in _csv_rows(model, path, "item"):
        if first not in values:
            raise InputError(
                "the line has no key.", where=f"{path.name}, line {line}", cure="Type the key."
            )
    return rows


def read_inputs(model: Model, typed: TypedJob) -> dict[str, Any]:
    """Checked values of every input quantity, ready for ``evaluate``.

    Raises:
        InputError: The first input that can't be used: what, where, cure.
    """
    values: dict[str, Any] = {}
    known: dict[str, frozenset[str]] = {}
    items = sorted(_inputs(model), key=lambda i: _field(i).kind == "key")
    firsts = _firsts(model)
    kinds: list[str] = []
    for axis, first in firsts.items():
        entries = [words(_cell(typed, first, r)) for r in range(model.capacity(axis))]
        known[first] = frozenset(e for e in entries if e)
        _refuse_repeats(model, typed, first, entries)
    for item in items:
        if item.axis is not None:
            values[item.key] = _read_column(model, typed, item, firsts[item.axis], known)
        elif item.by_option:
            kinds = kinds or _read_kinds(model, typed)
            values[item.key] = _read_row(typed, item, kinds, known)
        else:
            field = _field(item)
            values[item.key] = read(
                field,
                typed.cells.get((item.key, 0)),
                typed.where(item.key, 0),
                _known(known, field),
            )
    return values


def _read_kinds(model: Model, typed: TypedJob) -> list[str]:
    """The kind of each option, "" where it is not in use."""
    field = _field(model.quantities["option_kind"])
    return [
        str(read(field, _cell(typed, field.key, place), typed.where(field.key, place)))
        for place in range(len(OPTION_KEYS))
    ]


def _read_row(
    typed: TypedJob, item: Quantity, kinds: Sequence[str], known: Mapping[str, frozenset[str]]
) -> Any:
    field = _field(item)
    out: list[float | str] = []
    for place, kind in enumerate(kinds):
        if item.key == "option_kind":
            out.append(kind)
        elif not kind or (field.kinds and kind not in field.kinds):
            out.append(field.blank)
        else:
            typed_value = _cell(typed, item.key, place)
            out.append(read(field, typed_value, typed.where(item.key, place), _known(known, field)))
    return np.array(out, dtype=str if item.kind == "text" else float)[:, np.newaxis]


def _read_column(
    model: Model,
    typed: TypedJob,
    item: Quantity,
    first: str,
    known: Mapping[str, frozenset[str]],
) -> Any:
    field = _field(item)
    out = []
    for row in range(model.capacity(str(item.axis))):
        value = _cell(typed, item.key, row)
        if not words(_cell(typed, first, row)):
            if words(value):
                label = model.quantities[first].label
                raise InputError(
                    f"the line has a {field.label.lower()} but its {label.lower()} is blank.",
                    where=typed.where(first, row),
                    cure=f"Type the {label.lower()}, or clear the line.",
                )
            out.append(field.blank)
        else:
            out.append(read(field, value, typed.where(item.key, row), _known(known, field)))
    return np.array(out, dtype=str if item.kind == "text" else float)[np.newaxis, :]


def _refuse_repeats(model: Model, typed: TypedJob, first: str, entries: list[str]) -> None:
    seen: dict[str, int] = {}
    for row, entry in enumerate(entries):
        if any(c in entry for c in "*?~") or entry.startswith(("<", ">", "=")):
            raise InputError(
                f'a spreadsheet can\'t look for "{entry}".',
                where=typed.where(first, row),
                cure="Leave out * ? ~ and a leading < > or =.",
            )
        if entry and entry.casefold() in seen:
            raise InputError(
                f'two lines have the {model.quantities[first].label.lower()} "{entry}".',
                where=typed.where(first, row),
                cure="Rename or clear one of them.",
            )
        seen[entry.casefold()] = row


def _cell(typed: TypedJob, key: str, place: int) -> Any:
    return typed.cells.get((key, place))


def _known(known: Mapping[str, frozenset[str]], field: Field) -> frozenset[str]:
    return known.get(field.refers, frozenset()) if field.refers else frozenset()


def _inputs(model: Model) -> Iterator[Quantity]:
    return (i for i in model.quantities.values() if i.role == "input")


def _field(item: Quantity) -> Field:
    assert item.field is not None
    return item.field


def _first(model: Model, axis: str) -> str:
    """Key of the column that names the lines of a table of inputs; empty if it has none."""
    return next((i.key for i in _inputs(model) if i.axis == axis), "")


def _firsts(model: Model) -> dict[str, str]:
    """That key for every table of inputs, in the model's order of tables."""
    found: dict[str, str] = {}
    for item in _inputs(model):
        if item.axis is not None:
            found.setdefault(item.axis, item.key)
    return {axis: found[axis] for axis in model.tables if axis in found}


def _put_rows(
    model: Model, cells: dict[Cell, Any], axis: str, rows: list[dict[str, Any]], where: str
) -> None:
    if len(rows) > model.capacity(axis):
        raise InputError(
            f"there are {len(rows)} lines; the table holds {model.capacity(axis)}.",
            where=where,
            cure="Leave out lines that you don't use.",
        )
    for row, values in enumerate(rows):
        for key, value in values.items():
            cells[key, row] = value


def _clear_axis(model: Model, cells: dict[Cell, Any], axis: str) -> None:
    for key, place in list(cells):
        if model.quantities[key].axis == axis:
            del cells[key, place]


def _csv_rows(model: Model, path: Path, axis: str) -> list[tuple[int, dict[str, Any]]]:
    reader = csv.reader(io.StringIO(_text(path), newline=""))
    try:
        lines = [(reader.line_num, values) for values in reader if any(v.strip() for v in values)]
    except csv.Error as error:
        where = f"{path.name}, line {reader.line_num}"
        raise FileError(f"is not a table of values: {error}.", where=where) from None
    if not lines:
        raise FileError("the file is empty.", where=path.name)
    header = [h.strip() for h in lines[0][1]]
    for name in header:
        if header.count(name) > 1:
            raise InputError(
                f'the column "{name}" stands twice.',
                where=f"{path.name}, line {lines[0][0]}",
                cure="Keep one of them.",
            )
        item = model.quantities.get(name)
        if item is None or item.role != "input" or item.axis != axis:
            raise InputError(
                f'the column "{name}" is not known.',
                where=f"{path.name}, line {lines[0][0]}",
                cure=f"Use the column names of shared/{_price_book(model).name}/items.csv.",
            )
    found = []
    for line, values in lines[1:]:
        if len(values) != len(header):
            raise FileError(
                f"the line has {len(values)} values, the header {len(header)}.",
                where=f"{path.name}, line {line}",
                cure="Put texts that hold a comma in quotes.",
            )
        row = {
            k: _number_or_text(model.quantities[k], v)
            for k, v in zip(header, values, strict=True)
            if v.strip()
        }
        found.append((line, row))
    return found


def _number_or_text(item: Quantity, text: str) -> Any:
    field = _field(item)
    if field.kind in ("number", "whole", "share"):
        try:
            return float(text)
        except ValueError:
            return text
    if field.kind == "date":
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            return text
    return text


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise FileError("is too large to be a job or price book.", where=path.name)
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise FileError("there is no such file.", where=str(path)) from None
    except UnicodeDecodeError:
        raise FileError("is not a text file in UTF-8.", where=path.name) from None
    except OSError as error:
        raise FileError(f"can't be read ({error.strerror}).", where=str(path)) from None


@dataclass(slots=True)
class _Lines:
    """Line of each entry of a TOML file, for messages: the n-th mention of a key under a header."""

    name: str
    text: str

    def of(self, key: str, header: str = "", nth: int = 0) -> str:
        seen = -1
        inside = not header
        place = f"{self.name}, {key}"
        for number, line in enumerate(self.text.splitlines(), 1):
            bare = line.strip()
            if bare.startswith("["):
                if bare.startswith(f"[[{header}]]"):
                    seen += 1
                inside = not header or (bare.startswith(f"[[{header}]]") and seen == nth)
                if header and inside:
                    place = f"{self.name}, line {number}"
            elif inside and bare.split("=")[0].strip() == key:
                return f"{self.name}, line {number}"
        return place


def _load_scalar(
    model: Model,
    cells: dict[Cell, Any],
    lines: dict[Cell, str],
    key: str,
    value: Any,
    finder: _Lines,
) -> None:
    item = model.quantities.get(key)
    if item is None or item.role != "input" or item.axis or item.by_option:
        raise InputError(
            f'"{key}" is not an input of the job.',
            where=finder.of(key),
            cure=f"Use the names that {_example(model)} shows.",
        )
    cells[key, 0] = value
    lines[key, 0] = finder.of(key)


def _load_options(
    model: Model, cells: dict[Cell, Any], lines: dict[Cell, str], entries: Any, finder: _Lines
) -> None:
    if not _are_tables(entries) or len(entries) > len(OPTION_KEYS):
        raise InputError(
            f"there may be up to {len(OPTION_KEYS)} options, each under [[option]].",
            where=finder.name,
        )
    defaults = default_cells(model, options=True)
    for place, entry in enumerate(entries):
        for (key, at), value in defaults.items():
            if at == place and model.quantities[key].by_option:
                cells[key, place] = value
        for key, value in entry.items():
            item = model.quantities.get(key)
            where = finder.of(key, "option", place)
            if item is None or item.role != "input" or not item.by_option:
                raise InputError(
                    f'"{key}" is not an input of an option.',
                    where=where,
                    cure=f"Use the names that {_example(model)} shows.",
                )
            cells[key, place] = value
            lines[key, place] = where


def _are_tables(entries: Any) -> bool:
    return isinstance(entries, list) and all(isinstance(entry, dict) for entry in entries)


def _load_table(
    model: Model,
    cells: dict[Cell, Any],
    lines: dict[Cell, str],
    axis: str,
    entries: list[Any],
    finder: _Lines,
) -> None:
    if not _are_tables(entries):
        raise InputError(
            f'"{axis}" is not a list of lines, each under [[{axis}]].',
            where=finder.of(axis),
            cure=f"Write it as {_example(model)} does.",
        )
    if len(entries) > model.capacity(axis):
        raise InputError(
            f"there are {len(entries)} entries [[{axis}]]; the table holds {model.capacity(axis)}.",
            where=finder.name,
        )
    _clear_axis(model, cells, axis)
    for row, entry in enumerate(entries):
        for key, value in entry.items():
            item = model.quantities.get(key)
            where = finder.of(key, axis, row)
            if item is None or item.role != "input" or item.axis != axis:
                raise InputError(
                    f'"{key}" is not a column of {axis}.',
                    where=where,
                    cure=f"Use the names that {_example(model)} shows.",
                )
            cells[key, row] = value
            lines[key, row] = where
        start = finder.of(_first(model, axis), axis, row)
        for item in _inputs(model):
            if item.axis == axis:
                lines.setdefault((item.key, row), start)
