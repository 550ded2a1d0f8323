"""The price book out of a workbook as CSV, and back in with a plain account of what changed."""

from __future__ import annotations

import csv
import datetime as dt
import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from estimator.engine import Model
from estimator.errors import FileError
from estimator.inputs import DATE_ORIGIN, TypedJob
from estimator.job import load_prices
from estimator.metric import suited
from estimator.model.prices import AGE, AXIS, DATE, KEY, MOST_AGE, PRICE
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Edit, patched
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.refill.book import read_book
from estimator.workbook.refill.file import Report, cell_value, refill_package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.port import range_of
from estimator.workbook.refill.refill import Refill
from estimator.workbook.refill.save import Seen, write_atomically


@dataclass(frozen=True, slots=True)
class Difference:
    """What a price list changes in a workbook, in sentences."""

    changed: tuple[str, ...]
    new: tuple[str, ...]
    missing: tuple[str, ...]
    old: tuple[str, ...]

    def text(self) -> str:
        """All of it, a line an item."""
        parts = []
        for title, lines in (
            ("changed", self.changed),
            ("new", self.new),
            ("in the workbook, not in the list (kept)", self.missing),
            ("older than the job allows", self.old),
        ):
            parts.append(f"{title}: {len(lines)}")
            parts += [f"  {line}" for line in lines]
        return "\n".join(parts)


def export_prices(book_path: Path, target: Path, model: Model) -> int:
    """Write the items of a workbook as CSV, columns named by their keys; lines written.

    Raises:
        FileError: If a file can't be read or written.
    """
    port = FilePort(Package.open(read_file(book_path), label=book_path.name))
    model = suited(model, port.ranges())
    book = read_book(port, model)
    columns = _columns(model)
    rows = _rows(book.typed, model)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    for row in rows.values():
        writer.writerow([_text(key, row.get(key)) for key in columns])
    write_atomically(target, out.getvalue().encode(), keep_previous=False)
    return len(rows)


def import_prices(book_path: Path, source: Path, model: Model) -> tuple[Difference, Report]:
    """Put a CSV price list into a workbook and refill it.

    Lines are matched by key: what is in both is brought up to date in its place, new lines go
    below, lines that the list leaves out stay and are named.

    Raises:
        FileError: If a file can't be used, or the table has no room.
        InputError: If a line of the list can't be used.
    """
    with locked(book_path):
        before = read_file(book_path)
        package = Package.open(before, label=book_path.name)
        data, difference, refill, notes = _with_prices(package, source, model)
        saved = write_atomically(book_path, data, seen=Seen.of(before))
    return difference, Report(book_path, refill, notes, saved.previous)


def _with_prices(
    package: Package, source: Path, model: Model
) -> tuple[bytes, Difference, Refill, tuple[str, ...]]:
    port = FilePort(package)
    model = suited(model, port.ranges())
    book = read_book(port, model)
    there = _rows(book.typed, model)
    places = {key: row for row, key in enumerate(_keys(book.typed, model)) if key}
    listed = {str(row[KEY]): row for row in load_prices(model, source)}
    free = [r for r in range(model.capacity(AXIS)) if r not in places.values()]
    new = [key for key in listed if key not in places]
    if len(new) > len(free):
        raise FileError(
            f"the list has {len(new)} new items and the table has room for {len(free)}.",
            where=source.name,
            cure="Leave out items that you never buy.",
        )
    edits: dict[tuple[str, str], Edit] = {}
    for key, row in listed.items():
        place = places.get(key, -1)
        if place < 0:
            place = free.pop(0)
        for column in _columns(model):
            sheet, area = range_of(port, f"in_{column}")
            edits[sheet, address(area.row1 + place, area.column1)] = cell_value(
                model.quantities[column], row.get(column)
            )
    data, refill, notes = refill_package(patched(package, edits), model)
    return data, _difference(there, listed, refill.values), refill, notes


def _difference(
    there: dict[str, dict[str, Any]], listed: dict[str, dict[str, Any]], values: Any
) -> Difference:
    changed = []
    for key, row in listed.items():
        before = there.get(key)
        if before is None:
            continue
        was, now = before.get(PRICE), row.get(PRICE)
        if _text(PRICE, was) != _text(PRICE, now):
            changed.append(
                f"{key}: {_text(PRICE, was) or 'no price'} -> {_text(PRICE, now) or 'no price'}"
            )
    ages, allowed = values[AGE][0], float(values[MOST_AGE][0, 0])
    keys = values[KEY][0]
    old = [
        f"{k}: {float(a):.0f} days" for k, a in zip(keys, ages, strict=True) if k and a > allowed
    ]
    new = [k for k in listed if k not in there]
    missing = [k for k in there if k not in listed]
    return Difference(tuple(changed), tuple(new), tuple(missing), tuple(old))


def _columns(model: Model) -> list[str]:
    return [k for k, i in model.quantities.items() if i.role == "input" and i.axis == AXIS]


def _keys(typed: TypedJob, model: Model) -> list[str]:
    return [str(typed.cells.get((KEY, row)) or "") for row in range(model.capacity(AXIS))]


def _rows(typed: TypedJob, model: Model) -> dict[str, dict[str, Any]]:
    return {
        key: {c: typed.cells.get((c, row)) for c in _columns(model)}
        for row, key in enumerate(_keys(typed, model))
        if key
    }


def _text(key: str, value: Any) -> str:
    if value is None:
        return ""
    if hasattr(value, "isoformat"):
        return str(value.isoformat())[:10]
    if key == DATE and isinstance(value, (int, float)):
        return (DATE_ORIGIN + dt.timedelta(days=int(value))).isoformat()
    return f"{value:.15g}" if isinstance(value, (int, float)) else str(value)
