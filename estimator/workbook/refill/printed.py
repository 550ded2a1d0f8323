"""The pages that one reader carries, as a PDF."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from estimator.appearance import Reader
from estimator.engine import Model
from estimator.errors import FileError
from estimator.metric import suited
from estimator.office import find_office, to_pdf
from estimator.report import CheckedBook, refuse_unsupplied
from estimator.rows import Notes, Part, Section, Table
from estimator.workbook.package.a1 import Range
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.package.print_copy import Footer, print_copy
from estimator.workbook.package.print_rows import COLUMN_WIDTH, SHORT, Shown, column_widths
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.printed_parts import (
    INDENT,
    PartsShown,
    Wrapped,
    parts_shown,
    records_shown,
    wrapped_texts,
)
from estimator.workbook.refill.refill import check_book
from estimator.workbook.refill.save import bytes_at, write_atomically
from estimator.workbook.refill.unasked import filled, told, unasked
from estimator.workbook.template.arrange import NOTE_SIZE
from estimator.workbook.template.grid import text_size
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.plans import FOOTER, HEADER_ROW, TablePlan
from estimator.workbook.template.text_size import BASE_SIZE, ROW_PT, line_count, row_height

PDF = b"%PDF-"
"""How a PDF begins."""
SMALLEST_PT = 8.0
"""Least size of printed texts."""
FILE_PT = 7.0
"""Least size of printed texts where every sheet is printed, to be kept."""
FILE_SHORT = 0.45
"""Share of a page to be kept that is filled before it is ended."""
OUTDOORS_PT = 10.0
"""Size below which large texts that are carried to the lot are made no smaller."""
_BESIDE = 40
"""Columns right of a row of a section in which what is said of it stands: state, note, limits."""

__all__ = ["Footer", "Printed", "print_pages", "tabs_for"]


@dataclass(frozen=True, slots=True)
class Printed:
    """What was printed.

    Args:
        path: The PDF.
        tabs: Titles of the sheets whose pages it has.
        book: What the workbook says of itself as it stands.
    """

    path: Path
    tabs: tuple[str, ...]
    book: CheckedBook


def print_pages(
    book_path: Path,
    target: Path,
    model: Model,
    reader: Reader | None,
    foot: Callable[[Mapping[str, Any]], Footer],
) -> Printed:
    """Write the pages of a reader as a PDF; the workbook stays as it is.

    Args:
        book_path: The workbook.
        target: The PDF; one of that name is replaced.
        model: The model, in either measure.
        reader: Where the pages are carried to; None for every sheet that is not hidden.
        foot: What stands at the foot of the pages, by the values of the workbook.

    Raises:
        EstimatorError: If the workbook can't be used, the option that a reader would carry can't
            be supplied, a sheet of the set is gone, what stands at the target is no PDF, or
            LibreOffice is missing or fails.
    """
    office = find_office()
    with locked(target):
        before = bytes_at(target)
        if before is not None and not before.startswith(PDF):
            raise FileError("there is a file of that name that is no PDF.", where=target.name)
        package = Package.open(read_file(book_path), label=book_path.name)
        port = FilePort(package)
        model = suited(model, port.ranges())
        book = check_book(port, model)
        tabs = [sheet.name for sheet in package.sheets if sheet.state == "visible"]
        if reader is not None:
            refuse_unsupplied(book.values)
            tabs = tabs_for(package, model, reader, book.values)
        if office is None:
            raise FileError(
                "LibreOffice, which makes the pages, is not on this machine.",
                where=book_path.name,
                cure=f"Install it, or print these sheets from your spreadsheet: {', '.join(tabs)}.",
            )
        widths = {sheet.name: column_widths(package, sheet.part) for sheet in package.sheets}
        long = wrapped_texts(model, layout(model), port.ranges(), book.values, widths)
        shown = shown_rows(model, reader, port.ranges(), book, long)
        heights = row_heights(model, widths, port.ranges(), book.values, long)
        copy = print_copy(
            package, tabs, foot(book.values), FOOTER, shown, heights, unfolded=reader is None
        )
        write_atomically(target, to_pdf(copy, book_path.name, office), keep_previous=False)
        return Printed(target, tuple(tabs), book)


def tabs_for(
    package: Package, model: Model, reader: Reader, values: Mapping[str, Any]
) -> list[str]:
    """Titles of the tabs that hold the sheets for a reader, whatever they are called now: those
    that have something to tell, or all where none has.

    Args:
        values: What the workbook says of itself.

    Raises:
        FileError: If one of them is not there any more.
    """
    homes: dict[str, Counter[str]] = {
        sheet.name: Counter() for sheet in model.sheets if sheet.shows.reader == reader
    }
    for key, item in model.quantities.items():
        name = f"in_{key}" if item.role == "input" else key
        target = package.names.get(name)
        if item.sheet in homes and target is not None and target.sheet:
            homes[item.sheet][target.sheet] += 1
    gone = [sheet for sheet, found in homes.items() if not found]
    if gone:
        raise FileError(
            f"the sheet {gone[0]} is not there any more.",
            where=package.label,
            cure="Run: estimator restore",
        )
    silent = {s.name for s in model.sheets if s.shows.told_by and not told(values[s.shows.told_by])}
    telling = [sheet for sheet in homes if sheet not in silent] or homes
    wanted = {homes[sheet].most_common(1)[0][0] for sheet in telling}
    return [sheet.name for sheet in package.sheets if sheet.name in wanted]


def shown_rows(
    model: Model,
    reader: Reader | None,
    ranges: Mapping[str, tuple[str, Range]],
    book: CheckedBook,
    long: Mapping[str, Mapping[int, Wrapped]],
) -> dict[str, Shown]:
    """What is to be seen of sheets that are carried, by title of the tab.

    The first row of a table or a section stays, so that an empty one is seen to be empty. Where a
    table is typed, what is typed counts; in a section that is for all options, every one of them.

    Args:
        reader: Where they are carried to; None for every sheet.
        ranges: Sheet and cells of every name of the workbook.
        book: What the workbook says of itself as it stands.
        long: By title and row, texts that take several lines.
    """
    in_use: set[tuple[str, int]] = set()
    columns: defaultdict[str, defaultdict[int, set[int]]] = defaultdict(lambda: defaultdict(set))
    least: dict[str, float] = {}
    small: dict[str, bool] = {}
    stretches: dict[str, tuple[tuple[int, int], ...]] = {}
    plan = layout(model)
    quiet = [unasked(model, plan, sheet, ranges, book.values) for sheet in model.sheets]
    left_out = {each.title: each for each in quiet if each is not None}
    goes_on = _goes_on(plan, ranges)
    for sheet in model.sheets:
        if reader not in (None, sheet.shows.reader):
            continue
        smallest = (SMALLEST_PT if reader else FILE_PT) / (NOTE_SIZE * text_size(sheet))
        if reader == "lot" and sheet.shows.large:
            smallest = OUTDOORS_PT / text_size(sheet)
        for part in sheet.parts:
            for title, row, beside, used in _lines(model, part, ranges, book.values):
                least[title] = smallest
                small[title] = not sheet.shows.large
                columns[title][row].update(beside)
                if used:
                    in_use.add((title, row))
            title = _headed(part, ranges) if reader is not None else ""
            if title:
                columns[title][HEADER_ROW].update(range(1, _BESIDE))
            if reader is not None and isinstance(part, Table) and part.shows.apart:
                title, area = ranges[part.shows.apart]
                stretches[title] = tuple(_apart(part, area, book.values))
    parts = parts_shown(model, plan, ranges, book.values, in_use)
    found = {} if reader else records_shown(plan, ranges, FILE_PT / BASE_SIZE, FILE_SHORT)
    for title, smallest in least.items():
        more = parts.get(title, PartsShown())
        for row in more.unsaid:
            columns[title][row].add(1)
        out = left_out[title].rows if title in left_out else ()
        found[title] = Shown(
            smallest,
            {r: frozenset(at) for r, at in columns[title].items() if (title, r) not in in_use},
            frozenset(columns[title]),
            not book.stale,
            stretches.get(title, ()),
            (*out, *more.empty),
            title in left_out and left_out[title].drawn,
            goes_on.get(title, {}),
            HEADER_ROW - 1 if small[title] else 0,
            SHORT if reader else FILE_SHORT,
            more.lettered,
            {row: text.cells for row, text in long.get(title, {}).items()},
            () if reader else tuple(more.tables),
            frozenset() if reader else frozenset(more.ruled),
        )
    return found


def _headed(part: Part, ranges: Mapping[str, tuple[str, Range]]) -> str:
    """Title of the tab where above a section the headings of its columns stand, which say
    nothing to those who read its rows on paper; empty where they don't."""
    first = part.keys[0] if isinstance(part, Section) and part.keys else ""
    title, area = ranges.get(first, ("", Range(0, 0, 0, 0)))
    return title if area.row1 == HEADER_ROW + 2 else ""


def _goes_on(
    plan: Layout, ranges: Mapping[str, tuple[str, Range]]
) -> dict[str, dict[int, tuple[int, int]]]:
    """By title of the tab, of tables of which a sheet prints the first rows alone: by the last of
    these, the last of all and the row that tells of more."""
    found: defaultdict[str, dict[int, tuple[int, int]]] = defaultdict(dict)
    for sheet in plan.sheets.values():
        for part in sheet.parts:
            if isinstance(part, TablePlan) and 0 < part.printed_row < part.last_row:
                title, area = ranges.get(part.table.keys[0], ("", Range(0, 0, 0, 0)))
                last = area.row2 - (part.last_row - part.printed_row)
                found[title][last] = (area.row2, area.row1 - (part.first_row - part.more_row))
    return found


def _apart(part: Table, area: Range, values: Mapping[str, Any]) -> Iterator[tuple[int, int]]:
    """First and last row of each page of a table whose heads begin pages of their own."""
    heads, told = (
        np.ravel(np.asarray(values[key], dtype=float))
        for key in (part.shows.heads, part.shows.apart)
    )
    starts = [int(at) for at in np.flatnonzero(heads > 0)]
    ends = [*starts[1:], len(heads)]
    begun = [
        start
        for number, (start, end) in enumerate(zip(starts, ends, strict=True))
        if not number or told[start:end].any()
    ]
    for start, end in zip(begun, [*begun[1:], len(heads)], strict=True):
        yield area.row1 + start, area.row1 + end - 1


def _lines(
    model: Model,
    part: Part,
    ranges: Mapping[str, tuple[str, Range]],
    values: Mapping[str, Any],
) -> Iterator[tuple[str, int, range, bool]]:
    """Of every quantity of a part its rows: title of the tab, row, columns, whether in use."""
    if isinstance(part, Notes):
        return
    table = isinstance(part, Table)
    typed = {key for key in part.keys if model.quantities[key].role == "input"}
    shown = [
        key
        for key in part.keys
        if key in ranges and not (table and model.quantities[key].by_option)
    ]
    for key in shown:
        title, area = ranges[key]
        # Beside a row of a section stands what is said of it.
        at = range(area.column1 if table else 1, area.column2 + (1 if table else _BESIDE))
        standing = isinstance(part, Table) and key in part.shows.standing
        tells = not table or not typed or key in typed or standing
        tells = tells and model.quantities[key].role != "index"
        tells = tells and not (isinstance(part, Table) and key in part.shows.aside)
        entry = model.quantities[key].field
        blank = entry.blank if entry is not None else None
        entries = np.atleast_2d(np.asarray(values[key], dtype=object))
        for number, row in enumerate(range(area.row1, area.row2 + 1)):
            column = entries[:, number] if number < entries.shape[1] else ()
            stays = number == 0 if table else key == shown[0] or key in typed
            used = tells and any(filled(each) and each != blank for each in column)
            yield title, row, at, stays or used


def row_heights(
    model: Model,
    widths: Mapping[str, Mapping[int, float]],
    ranges: Mapping[str, tuple[str, Range]],
    values: Mapping[str, Any],
    long: Mapping[str, Mapping[int, Wrapped]],
) -> dict[str, dict[int, float]]:
    """Heights in points of rows by what they hold now: on a sheet they have room for texts of
    the usual length, and names that a person types may be longer.

    Args:
        widths: By title of the tab, the widths of columns that have one of their own.
        long: By title and row, texts that take several lines.

    Returns:
        By title of the tab, the rows of options and of these texts.
    """
    found = {
        title: {row: text.height for row, text in rows.items()} for title, rows in long.items()
    }
    for sheet in model.sheets:
        for part in sheet.parts:
            for key in part.keys if isinstance(part, Section) else ():
                item = model.quantities[key]
                if not item.by_option or key not in ranges:
                    continue
                title, area = ranges[key]
                wide = widths[title]
                lines = line_count(item.label, wide.get(1, COLUMN_WIDTH))
                if item.kind == "text":
                    room = wide.get(area.column1, COLUMN_WIDTH) - INDENT
                    texts = map(str, np.ravel(np.asarray(values[key], dtype=object)))
                    lines = max(lines, *(line_count(text, room) for text in texts))
                found.setdefault(title, {})[area.row1] = max(ROW_PT, row_height(lines))
    return found
