"""A yard's own list read into a workbook, with an account of what matched and what did not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from estimator.engine import Model
from estimator.errors import InputError, in_quotes
from estimator.model.money import CURRENCY as JOB_CURRENCY
from estimator.model.prices import (
    ARTICLE,
    CURRENCY,
    DATE,
    DECIMAL_COMMA,
    HEADINGS,
    LEAD,
    MOST_LEAD,
    NAME,
    NUMBERS,
    OTHER_PRICE,
    OTHER_SUPPLIER,
    PACK,
    PRICE,
    SUPPLIER,
    SUPPLIER_NAME,
)
from estimator.workbook.package.cells import patched
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.refill.file import Report, refill_package
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.port import place_text, range_of
from estimator.workbook.refill.price_list import (
    Account,
    PriceBook,
    Typed,
    old_prices,
    price_changes,
    priced,
)
from estimator.workbook.refill.save import Seen, write_atomically
from estimator.workbook.refill.yard_list import (
    YardForm,
    YardItem,
    YardLine,
    matched,
    number,
    yard_lines,
)

MOST_NAMED = 20
"""Lines of the list that are no item's, of which so many are named."""


def import_yard_list(
    book_path: Path, source: Path, model: Model, supplier: str, day: dt.date | None = None
) -> tuple[Account, Report]:
    """Put the prices of a supplier's own list into a workbook and refill it.

    Only items of this supplier are changed, and of those the price, its date, the lead time, and an
    article number that was blank; of items that it is the other supplier of, the price there.

    Args:
        supplier: Whose list it is: a name on Prices, where its headings stand.
        day: The day that its prices are of; None leaves them without a date.

    Raises:
        FileError: If a file can't be used.
        InputError: If the list can't be read as Prices says, or lists an article twice.
    """
    with locked(book_path):
        before = read_file(book_path)
        package = Package.open(before, label=book_path.name)
        prices = PriceBook.of(package, model)
        typed, parts, said = yard_entries(prices, source, supplier, day)
        data, refill, notes = refill_package(patched(package, prices.edits(typed)), prices.model)
        changed = ("changed", price_changes(prices, typed))
        old = ("older than the job allows", old_prices(refill.values))
        account = Account((changed, *parts, old))
        saved = write_atomically(book_path, data, seen=Seen.of(before))
    return account, Report(book_path, refill, (*said, *notes), saved.previous)


def yard_entries(
    prices: PriceBook, source: Path, supplier: str, day: dt.date | None
) -> tuple[Typed, tuple[tuple[str, tuple[str, ...]], ...], tuple[str, ...]]:
    """What a supplier's own list types, what is told of its lines, and how it was read.

    Raises:
        FileError: If the list can't be read.
        InputError: If it can't be read as Prices says, or lists an article twice.
    """
    form = _form(prices, supplier)
    lines, said = yard_lines(source, form)
    own = _rows_of(prices, SUPPLIER, form.supplier)
    also = _rows_of(prices, OTHER_SUPPLIER, form.supplier) - own
    items = [
        YardItem(row, prices.word(NAME, row), prices.word(ARTICLE, row) if row in own else "")
        for row in sorted(own | also)
    ]
    _refuse_twins(prices, items)
    found = matched(lines, items, form, source.name)
    typed: Typed = {}
    how, left = [], list(found.unclear)
    for row, (line, way) in found.lines.items():
        name, where = prices.word(NAME, row), f"{source.name}, line {line.number}"
        price = number(line.entries[PRICE], form, where)
        pack = number(line.entries.get(PACK, ""), form, where)
        how.append(f"{name}: line {line.number}, {way}")
        if row in own and line.entries.get(LEAD):
            lead = _lead_days(line.entries[LEAD])
            if lead is None:
                wrong = f"{in_quotes(line.entries[LEAD])} is no whole number of days to {MOST_LEAD}"
                left.append(f"{name}: line {line.number}, lead time: {wrong}.")
            else:
                typed[LEAD, row] = lead
        if price is None:
            words = line.entries[PRICE]
            said_there = f", but {in_quotes(words)}" if words else ""
            left.append(f"{name}: line {line.number} has no price{said_there}.")
        elif pack is not None and pack != prices.entry(PACK, row):
            ours = prices.word(PACK, row)
            left.append(f"{name}: line {line.number} is of {pack:g} units a pack, not {ours}.")
        elif row in also:
            typed[OTHER_PRICE, row] = price
        else:
            typed |= priced(prices, row, price, line.entries.get(ARTICLE, ""), day)
    if day is None and any(key == DATE for key, _ in typed):
        said += ("The prices have no date: say of which day they are with --date.",)
    return (
        typed,
        (
            ("matched", tuple(how)),
            ("left as they were", tuple(left)),
            (
                f"of {form.supplier}, not in its list (kept)",
                tuple(item.name for item in found.missing),
            ),
            ("in the list, no item of the workbook", _named(found.spare)),
        ),
        said,
    )


def _lead_days(text: str) -> float | None:
    """Days of a lead time as a list has them; None for anything but a whole number of them."""
    days = int(text) if text.isascii() and text.isdigit() else MOST_LEAD + 1
    return float(days) if days <= MOST_LEAD else None


def _refuse_twins(prices: PriceBook, items: Sequence[YardItem]) -> None:
    """Refuse two items of a supplier that have one article number."""
    seen: dict[str, YardItem] = {}
    for item in items:
        twin = seen.setdefault(item.article.casefold(), item)
        if item.article and twin is not item:
            raise InputError(
                f"{in_quotes(item.name)} has the article number {item.article} of"
                f" {in_quotes(twin.name)} at {prices.book.typed.where(ARTICLE, twin.row)}.",
                where=prices.book.typed.where(ARTICLE, item.row),
                cure="Correct or clear one of them.",
            )


def _rows_of(prices: PriceBook, column: str, supplier: str) -> set[int]:
    """Rows of the items that have this supplier in a column."""
    rows = prices.rows(NAME)
    return {row for row in rows if prices.word(column, row).casefold() == supplier.casefold()}


def _form(prices: PriceBook, supplier: str) -> YardForm:
    """How a supplier's list reads, as Prices says."""
    there = {prices.word(SUPPLIER_NAME, row): row for row in prices.rows(SUPPLIER_NAME)}
    found = next((name for name in there if name.casefold() == supplier.casefold()), None)
    if found is None:
        raise InputError(
            f"there is no supplier {in_quotes(supplier)} on Prices.",
            where=prices.port.label,
            cure=f"Use one of: {', '.join(there)}.",
        )
    row = there[found]
    headings = {
        column: prices.word(key, row) for column, key in HEADINGS.items() if prices.word(key, row)
    }
    if PRICE not in headings or not {ARTICLE, NAME} & headings.keys():
        sheet, area = range_of(prices.port, f"in_{HEADINGS[PRICE]}")
        raise InputError(
            f"Prices does not say how the list of {found} is headed.",
            where=place_text(sheet, area.row1 + row, area.column1),
            cure="Type what stands there over the price, and over the article number or the item.",
        )
    return YardForm(
        found,
        headings,
        ARTICLE,
        NAME,
        decimal_comma=prices.word(NUMBERS, row) == DECIMAL_COMMA,
        currency=prices.word(CURRENCY, row) or prices.word(JOB_CURRENCY, 0),
    )


def _named(lines: tuple[YardLine, ...]) -> tuple[str, ...]:
    """Lines as a person finds them again; of many the first ones, and how many more."""
    named = [
        f"line {line.number}: "
        + " ".join(filter(None, (line.entries.get(ARTICLE), line.entries.get(NAME))))
        for line in lines[:MOST_NAMED]
    ]
    more = len(lines) - MOST_NAMED
    return (*named, f"and {more} more") if more > 0 else tuple(named)
