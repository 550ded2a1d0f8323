"""The pages that one reader carries, as a PDF."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from estimator.appearance import Reader
from estimator.engine import Model
from estimator.errors import FileError
from estimator.office import find_office, to_pdf
from estimator.report import CheckedBook
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.package.print_copy import Footer, print_copy
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book
from estimator.workbook.refill.save import write_atomically
from estimator.workbook.template.plans import FOOTER

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
        EstimatorError: If the workbook can't be used, a sheet of the set is gone, what stands at
            the target is no PDF, or LibreOffice is missing or fails.
    """
    office = find_office()
    if target.exists() and not _is_pdf(target):
        raise FileError("there is a file of that name that is no PDF.", where=target.name)
    package = Package.open(read_file(book_path), label=book_path.name)
    book = check_book(FilePort(package), model)
    tabs = [sheet.name for sheet in package.sheets if sheet.state == "visible"]
    if reader is not None:
        tabs = tabs_for(package, model, reader)
    if office is None:
        raise FileError(
            "LibreOffice, which makes the pages, is not on this machine.",
            where=book_path.name,
            cure=f"Install it, or print these sheets from your spreadsheet: {', '.join(tabs)}.",
        )
    copy = print_copy(package, tabs, foot(book.values), FOOTER)
    write_atomically(target, to_pdf(copy, book_path.name, office), keep_previous=False)
    return Printed(target, tuple(tabs), book)


def tabs_for(package: Package, model: Model, reader: Reader) -> list[str]:
    """Titles of the tabs that hold the sheets for a reader, whatever they are called now.

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
    wanted = {found.most_common(1)[0][0] for found in homes.values()}
    return [sheet.name for sheet in package.sheets if sheet.name in wanted]


def _is_pdf(path: Path) -> bool:
    try:
        return path.is_file() and path.read_bytes()[:5] == b"%PDF-"
    except OSError as error:
        raise FileError(f"it can't be read: {error.strerror}.", where=path.name) from None
