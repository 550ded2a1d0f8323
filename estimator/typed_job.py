"""A job as typed: from defaults, a TOML file or a workbook; and its inputs, read and checked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from estimator.csv_tables import file_text, table_rows
from estimator.engine import Model
from estimator.errors import FileError, InputError, SurveyError, in_quotes
from estimator.inputs import MOST_SEARCHED, Cell, Field, TypedJob, read, words
from estimator.item_names import keyed, named
from estimator.keys import KIND
from estimator.model import build_model
from estimator.model.factors import factor_rows
from estimator.model.kinds import KIND_NAMES
from estimator.model.metric_yard import metric_factor_rows
from estimator.model.prices import OTHER_SUPPLIER, SUPPLIER, SUPPLIER_NAME
from estimator.resources import shipped_folder
from estimator.rows import OPTION_KEYS, Quantity

SHARED = shipped_folder("shared")
DEMO_JOB = SHARED / "demo_job.toml"
METRIC_DEMO_JOB = SHARED / "demo_job_metric.toml"
PRICE_BOOK = SHARED / "price_book"
METRIC_PRICE_BOOK = SHARED / "price_book_metric"
BOOK_TABLES = {"items": "item", "suppliers": "supplier", "rolls": "roll", "panels": "panel"}
ESTIMATE_DATE = "estimate_date"


def default_cells(model: Model, *, options: bool = False) -> dict[Cell, Any]:
    """What a new workbook holds: field defaults, factor tables and the shipped price book.

    With ``options`` every option column carries its defaults; a kind is never set.
    """
    return named(model, _defaults(model, options=options))


def _defaults(model: Model, *, options: bool) -> dict[Cell, Any]:
    """The same with items still called by their keys, which hold in any price book."""
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
        rows = [row for _, row in table_rows(model, path, axis)]
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
    """A job with the defaults alone, an option of each kind; its building and readings are blank.

    Args:
        prices: A CSV price book of items; None keeps the shipped one.
        model: Whose inputs they are; None takes the one in feet.
        made: The day it is made on, which is the estimate's date; None takes today.

    Raises:
        FileError: If the price book can't be read.
    """
    model = model or build_model()
    cells = _defaults(model, options=True)
    cells.update({(KIND, place): kind for place, kind in enumerate(KIND_NAMES)})
    _date(cells, made)
    lines: dict[Cell, str] = {}
    if prices is not None:
        _load_prices(model, cells, lines, prices)
    cells = named(model, cells)
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

    An item is called by its name or by its key in the price book.

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
    import tomllib  # a workbook's refill reads none

    model = model or build_model()
    cells = _defaults(model, options=False) if over is None else dict(over)
    lines: dict[Cell, str] = {}
    text = file_text(path)
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
    cells = named(model, cells)

    def where(key: str, place: int) -> str:
        return lines.get((key, place), f"{path.name}, {key}")

    return TypedJob(cells, where)


def _date(cells: dict[Cell, Any], made: dt.date | None) -> None:
    """Give a job that has no date of the estimate the day it is made on."""
    cells.setdefault((ESTIMATE_DATE, 0), made or dt.date.today())


def _load_prices(
    model: Model, cells: dict[Cell, Any], lines: dict[Cell, str], prices: Path
) -> None:
    cells.update(keyed(model, cells))
    _clear_axis(model, cells, "item")
    rows = table_rows(model, prices, "item")
    _put_rows(model, cells, "item", [values for _, values in rows], prices.name)
    for row, (line, _) in enumerate(rows):
        for item in _inputs(model):
            if item.axis == "item":
                lines[item.key, row] = f"{prices.name}, line {line}"
    suppliers = [words(cells.get((SUPPLIER_NAME, n))) for n in range(model.capacity("supplier"))]
    named_there = [words(v.get(key)) for _, v in rows for key in (SUPPLIER, OTHER_SUPPLIER)]
    free = [n for n, name in enumerate(suppliers) if not name]
    cells.update(new_suppliers(filter(None, suppliers), named_there, free, prices.name))


def new_suppliers(
    known: Iterable[str], named: Iterable[str], free: Sequence[int], label: str
) -> dict[Cell, Any]:
    """Entries that give suppliers who are not known a line each.

    Raises:
        FileError: If there is no room for them.
    """
    there = {name.casefold() for name in known}
    found = {name.casefold(): name for name in reversed(list(named)) if name}
    new = [name for word, name in reversed(found.items()) if word not in there]
    if len(new) > len(free):
        raise FileError(
            f"the list brings {len(new)} new suppliers and the table has room for {len(free)}.",
            where=label,
            cure="Clear suppliers on Prices that you buy nothing from.",
        )
    return {(SUPPLIER_NAME, row): name for name, row in zip(new, free, strict=False)}


@contextmanager
def told_where_typed(model: Model, typed: TypedJob) -> Iterator[None]:
    """Let what is wrong with the survey name the cells, or the lines, that readings stand in.

    Raises:
        SurveyError: The one that is met, each reading with where it was typed; as it is where the
            job knows no place but the input's key.
    """
    try:
        yield
    except SurveyError as error:
        found = {cell: typed.where(model.name(cell[0]), cell[1]) for cell in error.cells.values()}
        if any(where == model.name(key) for (key, _), where in found.items()):
            raise
        raise error.placed(found) from error


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
        if _field(model.quantities[first]).value_kind != "text":
            continue
        entries = [words(_cell(typed, first, r)) for r in range(model.capacity(axis))]
        known[first] = frozenset(e for e in entries if e)
        _refuse_repeats(model, typed, first, entries)
    for item in items:
        if item.axis is not None:
            values[item.key] = _read_column(model, typed, item, firsts[item.axis], known)
        elif item.by_option:
            kinds = kinds or _read_kinds(model, typed)
            values[item.key] = _read_row(model, typed, item, kinds, known)
        else:
            values[item.key] = _reader(model, typed, item, known)(0)
    return values


def _read_kinds(model: Model, typed: TypedJob) -> list[str]:
    """The kind of each option, "" where it is not in use."""
    field = _field(model.quantities["option_kind"])
    return [
        str(read(field, _cell(typed, field.key, place), typed.where(field.key, place)))
        for place in range(len(OPTION_KEYS))
    ]


def _read_row(
    model: Model,
    typed: TypedJob,
    item: Quantity,
    kinds: Sequence[str],
    known: Mapping[str, frozenset[str]],
) -> Any:
    field, read_cell = _field(item), _reader(model, typed, item, known)
    out: list[float | str] = []
    for place, kind in enumerate(kinds):
        if item.key == "option_kind":
            out.append(kind)
        elif not kind or (field.kinds and kind not in field.kinds):
            out.append(field.blank)
        else:
            out.append(read_cell(place))
    return np.array(out, dtype=str if item.kind == "text" else float)[:, np.newaxis]


def _read_column(
    model: Model,
    typed: TypedJob,
    item: Quantity,
    first: str,
    known: Mapping[str, frozenset[str]],
) -> Any:
    field, read_cell = _field(item), _reader(model, typed, item, known)
    out = []
    for row in range(model.capacity(str(item.axis))):
        value = _cell(typed, item.key, row)
        if not words(_cell(typed, first, row)):
            if words(value):
                label = model.quantities[first].label
                raise InputError(
                    f'the line has "{field.label}" but its {label.lower()} is blank.',
                    where=typed.where(first, row),
                    cure=f"Type the {label.lower()}, or clear the line.",
                )
            out.append(field.blank)
        else:
            out.append(read_cell(row))
    return np.array(out, dtype=str if item.kind == "text" else float)[np.newaxis, :]


def _refuse_repeats(model: Model, typed: TypedJob, first: str, entries: list[str]) -> None:
    label = model.quantities[first].label.lower()
    seen: dict[str, int] = {}
    for row, entry in enumerate(entries):
        unsearchable = any(c in entry for c in ("*", "?", "~", "  ")) or len(entry) > MOST_SEARCHED
        if unsearchable or entry.startswith(("<", ">", "=")):
            raise InputError(
                f"a spreadsheet can't look for {in_quotes(entry)}.",
                where=typed.where(first, row),
                cure=f"Leave out * ? ~, two spaces in a row and a leading < > or =; at most"
                f" {MOST_SEARCHED} letters.",
            )
        if entry and entry.casefold() in seen:
            before = typed.where(first, seen[entry.casefold()])
            raise InputError(
                f"two lines have the {label} {in_quotes(entry)}, the other one at {before}.",
                where=typed.where(first, row),
                cure="Rename or clear one of them.",
            )
        seen[entry.casefold()] = row
    for key in _unlike(model, first):
        _refuse_twins(model, typed, key, {e: f"the {label}" for e in seen if e})


def _unlike(model: Model, first: str) -> list[str]:
    """Keys of the columns whose entries differ from those that name the lines."""
    return [item.key for item in _inputs(model) if _field(item).unlike == first]


def _refuse_twins(model: Model, typed: TypedJob, key: str, taken: dict[str, str]) -> None:
    """Refuse an entry that stands twice in a column, or in the one that names the lines."""
    label = model.quantities[key].label.lower()
    for row in range(model.capacity(str(model.quantities[key].axis))):
        entry = words(_cell(typed, key, row)).casefold()
        if entry in taken:
            raise InputError(
                f"the {label} {in_quotes(entry)} is {taken[entry]} of a line already.",
                where=typed.where(key, row),
                cure=f"Clear the {label}: only lines that came with the workbook have one.",
            )
        if entry:
            taken[entry] = f"the {label}"


def _cell(typed: TypedJob, key: str, place: int) -> Any:
    return typed.cells.get((key, place))


def _reader(
    model: Model, typed: TypedJob, item: Quantity, known: Mapping[str, frozenset[str]]
) -> Callable[[int], float | str]:
    """Reads an input's cell at a place; what holds for all of its cells is looked up once."""
    field = _told(model, typed, item)
    entries = known.get(field.refers, frozenset())
    offered: tuple[str, ...] = ()
    if field.among:
        column, sort = field.among
        offered = tuple(
            words(_cell(typed, field.refers, row))
            for row in range(model.capacity(str(model.quantities[column].axis)))
            if words(_cell(typed, column, row)).casefold() == sort.casefold()
        )

    def read_cell(place: int) -> float | str:
        entry = _cell(typed, item.key, place)
        return read(field, entry, typed.where(item.key, place), entries, offered)

    return read_cell


def _told(model: Model, typed: TypedJob, item: Quantity) -> Field:
    """The field of an input; messages call money and tax as the job does."""
    field = _field(item)
    for term, key in model.terms.items():
        if term in field.unit or term in field.label:
            word = words(_cell(typed, key, 0))
            label, unit = field.label.replace(term, word), field.unit.replace(term, word)
            field = replace(field, label=label, unit=unit)
    return field


def _inputs(model: Model) -> Iterator[Quantity]:
    return (i for i in model.quantities.values() if i.role == "input")


def _field(item: Quantity) -> Field:
    assert item.field is not None
    return item.field


def _first(model: Model, axis: str) -> str:
    """Key of the first typed column, without which a line of a table is blank; empty if none."""
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
            f"{in_quotes(key)} is not an input of the job.",
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
    defaults = _defaults(model, options=True)
    for place, entry in enumerate(entries):
        for (key, at), value in defaults.items():
            if at == place and model.quantities[key].by_option:
                cells[key, place] = value
        for key, value in entry.items():
            item = model.quantities.get(key)
            where = finder.of(key, "option", place)
            if item is None or item.role != "input" or not item.by_option:
                raise InputError(
                    f"{in_quotes(key)} is not an input of an option.",
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
            f"{in_quotes(axis)} is not a list of lines, each under [[{axis}]].",
            where=finder.of(axis),
            cure=f"Write it as {_example(model)} does.",
        )
    most = model.capacity(axis)
    if len(entries) > most:
        raise InputError(
            f"there are {len(entries)} entries [[{axis}]]; the table holds {most}.",
            where=finder.of(_first(model, axis), axis, most),
            cure=f"Leave out {len(entries) - most} of them.",
        )
    _clear_axis(model, cells, axis)
    for row, entry in enumerate(entries):
        for key, value in entry.items():
            item = model.quantities.get(key)
            where = finder.of(key, axis, row)
            if item is None or item.role != "input" or item.axis != axis:
                raise InputError(
                    f"{in_quotes(key)} is not a column of {axis}.",
                    where=where,
                    cure=f"Use the names that {_example(model)} shows.",
                )
            cells[key, row] = value
            lines[key, row] = where
        start = finder.of(_first(model, axis), axis, row)
        for item in _inputs(model):
            if item.axis == axis:
                lines.setdefault((item.key, row), start)
