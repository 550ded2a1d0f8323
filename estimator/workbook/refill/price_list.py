"""The price book out of a workbook as CSV, and back in with a plain account of what changed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from estimator.csv_tables import table_columns, table_rows, table_text
from estimator.engine import Model
from estimator.errors import FileError, InputError, in_quotes
from estimator.inputs import DATE_ORIGIN, TypedJob, words
from estimator.metric import suited
from estimator.model.prices import (
    ARTICLE,
    AXIS,
    DATE,
    DAY,
    HIGH,
    KEY,
    LOW,
    MOST_AGE,
    NAME,
    OTHER_PRICE,
    OTHER_SUPPLIER,
    PRICE,
    SUPPLIER,
    SUPPLIER_NAME,
)
from estimator.typed_job import new_suppliers
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Edit, patched
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.refill.book import Book, read_book
from estimator.workbook.refill.file import Report, cell_value, refill_package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.option_columns import OptionColumns
from estimator.workbook.refill.port import range_of
from estimator.workbook.refill.save import Seen, bytes_at, write_atomically

Typed = dict[tuple[str, int], Any]
"""What is to be typed, by key and place: number of the option, or row of the table."""


@dataclass(frozen=True, slots=True)
class Account:
    """What a price list did in a workbook: sentences under headings."""

    parts: tuple[tuple[str, tuple[str, ...]], ...]

    def of(self, title: str) -> tuple[str, ...]:
        """The sentences under a heading."""
        return dict(self.parts)[title]

    def text(self) -> str:
        """All of it, a line an item."""
        lines = []
        for title, sentences in self.parts:
            lines.append(f"{title}: {len(sentences)}")
            lines += [f"  {sentence}" for sentence in sentences]
        return "\n".join(lines)


@dataclass(frozen=True, slots=True)
class PriceBook:
    """The price book of a workbook that is open to be changed."""

    port: FilePort
    model: Model
    book: Book

    @classmethod
    def of(cls, package: Package, model: Model) -> PriceBook:
        """Read it.

        Raises:
            EstimatorError: If the workbook can't be read.
        """
        port = FilePort(package)
        model = suited(model, port.ranges())
        return cls(port, model, read_book(port, model))

    def entry(self, key: str, row: int) -> Any:
        """What is typed in a column of a table."""
        return self.book.typed.cells.get((key, row))

    def word(self, key: str, row: int) -> str:
        """The same as a text."""
        return words(self.entry(key, row))

    def rows(self, key: str) -> list[int]:
        """Rows of a table in which a column has an entry."""
        axis = str(self.model.quantities[key].axis)
        return [row for row in range(self.model.capacity(axis)) if self.word(key, row)]

    def free(self, key: str) -> list[int]:
        """Rows of a table in which a column has none."""
        axis = str(self.model.quantities[key].axis)
        return [row for row in range(self.model.capacity(axis)) if not self.word(key, row)]

    def edits(self, typed: Typed) -> dict[tuple[str, str], Edit]:
        """Cells of the workbook that hold these entries."""
        found: dict[tuple[str, str], Edit] = {}
        offsets = OptionColumns(self.port).typed
        for (key, place), entry in typed.items():
            item = self.model.quantities[key]
            sheet, area = range_of(self.port, f"in_{key}")
            row = area.row1 + (place if item.axis else 0)
            column = area.column1 + (offsets[place] if item.by_option else 0)
            found[sheet, address(row, column)] = cell_value(item, entry)
        return found


def columns(model: Model) -> list[str]:
    """Keys of the columns of the price book that people type."""
    return [k for k, i in model.quantities.items() if i.role == "input" and i.axis == AXIS]


@dataclass(frozen=True, slots=True)
class Exported:
    """A price book as CSV: how many items, and where what stood there before is kept, if it is."""

    count: int
    previous: Path | None


def export_prices(book_path: Path, target: Path, model: Model) -> Exported:
    """Write the items of a workbook as CSV, columns named by their keys.

    A text that a spreadsheet would take for a formula has an apostrophe before it there. A list
    of that name is replaced, its version from before kept beside it.

    Raises:
        FileError: If a file can't be read or written, or what stands at the target is no text.
    """
    with locked(target):
        before = bytes_at(target)
        if before is not None and b"\0" in before:
            raise FileError(
                "there is a file of that name that is no list of prices.",
                where=target.name,
                cure="Give a name that ends in .csv.",
            )
        prices = PriceBook.of(Package.open(read_file(book_path), label=book_path.name), model)
        keys, rows = columns(prices.model), prices.rows(NAME)
        lines = [{key: shown(key, prices.entry(key, row)) for key in keys} for row in rows]
        saved = write_atomically(target, table_text(keys, lines).encode(), seen=Seen.of(before))
    return Exported(len(rows), saved.previous)


def import_prices(book_path: Path, source: Path, model: Model) -> tuple[Account, Report]:
    """Put a CSV price list into a workbook and refill it.

    A line is an item's by its key, else by its article number, else by its name. What is in both
    is brought up to date in its place, in the columns that the list has; new lines and new
    suppliers go below; lines that the list leaves out stay and are named.

    Raises:
        FileError: If a file can't be used, or a table has no room.
        InputError: If a line of the list can't be used, or two lines are of one item.
    """
    with locked(book_path):
        before = read_file(book_path)
        package = Package.open(before, label=book_path.name)
        prices = PriceBook.of(package, model)
        typed, new, missing = list_entries(prices, source)
        data, refill, notes = refill_package(patched(package, prices.edits(typed)), prices.model)
        account = Account(
            (
                ("changed", price_changes(prices, typed)),
                ("new", new),
                (
                    "new suppliers",
                    tuple(v for (key, _), v in typed.items() if key == SUPPLIER_NAME),
                ),
                ("in the workbook, not in the list (kept)", missing),
                ("older than the job allows", old_prices(refill.values)),
            )
        )
        saved = write_atomically(book_path, data, seen=Seen.of(before))
    return account, Report(book_path, refill, notes, saved.previous)


def price_changes(prices: PriceBook, typed: Typed) -> tuple[str, ...]:
    """A sentence for each item that had another price."""
    found = []
    for (key, row), entry in typed.items():
        was, now = shown(key, prices.entry(key, row)), shown(key, entry)
        if key in (PRICE, OTHER_PRICE) and was != now and prices.word(NAME, row):
            name = prices.word(NAME, row) + (", other supplier" if key == OTHER_PRICE else "")
            found.append(f"{name}: {was or 'no price'} -> {now or 'no price'}")
    return tuple(found)


def priced(prices: PriceBook, row: int, price: float, article: str, day: dt.date | None) -> Typed:
    """Entries of an item with a new price; a low or high that no longer fits is cleared."""
    typed: Typed = {(PRICE, row): price, (DATE, row): day}
    low, high = prices.entry(LOW, row), prices.entry(HIGH, row)
    if isinstance(low, float) and low > price:
        typed[LOW, row] = None
    if isinstance(high, float) and high < price:
        typed[HIGH, row] = None
    if article and not prices.word(ARTICLE, row):
        typed[ARTICLE, row] = article
    return typed


def old_prices(values: Mapping[str, Any]) -> tuple[str, ...]:
    """A sentence for each item whose price is older than the job allows."""
    today, allowed = float(values[DAY][0, 0]), float(values[MOST_AGE][0, 0])
    named = zip(values[NAME][0], values[DATE][0], strict=True)
    aged = [(name, today - float(date)) for name, date in named if name and today > 0 and date > 0]
    return tuple(f"{name}: {age:.0f} days" for name, age in aged if age > allowed)


def shown(key: str, value: Any) -> str:
    """An entry as a list shows it."""
    if value is None:
        return ""
    if hasattr(value, "isoformat"):
        return str(value.isoformat())[:10]
    if key == DATE and isinstance(value, (int, float)):
        return (DATE_ORIGIN + dt.timedelta(days=int(value))).isoformat()
    return f"{value:.15g}" if isinstance(value, (int, float)) else str(value)


def list_entries(prices: PriceBook, source: Path) -> tuple[Typed, tuple[str, ...], tuple[str, ...]]:
    """What a list types, and the names of new items and of those that it leaves out.

    Raises:
        FileError: If the list can't be read, or a table has no room.
        InputError: If a line of it can't be used, or two lines are of one item.
    """
    listed = table_rows(prices.model, source, AXIS)
    keys = table_columns(source)
    places = _places(prices, listed, source.name)
    free = prices.free(NAME)
    new = [entries for (_, entries), place in zip(listed, places, strict=True) if place is None]
    if len(new) > len(free):
        raise FileError(
            f"the list has {len(new)} new items and the table has room for {len(free)}.",
            where=source.name,
            cure="Leave out items that you never buy.",
        )
    typed: Typed = {}
    for (_, entries), place in zip(listed, places, strict=True):
        row = free.pop(0) if place is None else place
        typed |= {(key, row): entries.get(key) for key in keys}
    typed |= new_suppliers(
        [prices.word(SUPPLIER_NAME, row) for row in prices.rows(SUPPLIER_NAME)],
        [words(entries.get(key)) for _, entries in listed for key in (SUPPLIER, OTHER_SUPPLIER)],
        prices.free(SUPPLIER_NAME),
        source.name,
    )
    typed |= _followed(prices, typed)
    left = set(prices.rows(NAME)) - set(places)
    return (
        typed,
        tuple(words(entries[NAME]) for entries in new),
        tuple(prices.word(NAME, row) for row in sorted(left)),
    )


def _followed(prices: PriceBook, typed: Typed) -> Typed:
    """Entries of the cells that choose an item by a name that it no longer has."""
    renamed = {
        prices.word(NAME, row).casefold(): entry
        for (key, row), entry in typed.items()
        if key == NAME and prices.word(NAME, row) not in ("", words(entry))
    }
    return {
        (key, place): renamed[words(entry).casefold()]
        for (key, place), entry in prices.book.typed.cells.items()
        if (field := prices.model.quantities[key].field) is not None
        and field.by_key
        and words(entry).casefold() in renamed
    }


def _places(
    prices: PriceBook, listed: Sequence[tuple[int, Mapping[str, Any]]], label: str
) -> list[int | None]:
    """Row of the item of each line, None for a new one."""
    rows_by = {
        keys: _rows_by(prices.book.typed, prices.rows(NAME), keys)
        for keys in ((KEY,), (SUPPLIER, ARTICLE), (ARTICLE,), (NAME,))
    }
    seen: dict[object, int] = {}
    places: list[int | None] = []
    for line, entries in listed:
        place = None
        for keys, rows in rows_by.items():
            if keys == (ARTICLE,) and words(entries.get(SUPPLIER)):
                continue  # another supplier's number may be the same
            called = tuple(words(entries.get(key)).casefold() for key in keys)
            if not all(called):
                continue
            if seen.setdefault((keys, called), line) != line:
                raise InputError(
                    f"lines {seen[keys, called]} and {line} are both of"
                    f" {in_quotes(' '.join(called))}.",
                    where=label,
                    cure="Keep one of them.",
                )
            place = rows.get(called) if place is None else place
        if place is None and not words(entries.get(NAME)):
            raise InputError(
                "the line is of no item of the workbook and has no name.",
                where=f"{label}, line {line}",
                cure="Type the name.",
            )
        if place is not None and seen.setdefault(place, line) != line:
            raise InputError(
                f"lines {seen[place]} and {line} are both of"
                f" {in_quotes(prices.word(NAME, place))}.",
                where=label,
                cure="Keep one of them.",
            )
        places.append(place)
    return places


def _rows_by(
    typed: TypedJob, rows: Iterable[int], keys: Sequence[str]
) -> dict[tuple[str, ...], int]:
    """Row by what it alone is called in some columns, where it is called anything in all."""
    found: dict[tuple[str, ...], list[int]] = {}
    for row in rows:
        called = tuple(words(typed.cells.get((key, row))).casefold() for key in keys)
        if all(called):
            found.setdefault(called, []).append(row)
    return {called: same[0] for called, same in found.items() if len(same) == 1}
