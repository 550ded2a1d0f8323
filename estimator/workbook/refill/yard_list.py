"""A yard's own list of prices: read by the headings that a person named once, and matched.

Nothing is guessed: what a heading means, how numbers are written and which signs stand beside a
price is said on Prices; a line is an item's by its article number, else by its name.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from estimator.csv_tables import csv_lines, file_bytes, unguarded
from estimator.errors import FileError, InputError, in_quotes

SEPARATORS = (",", ";", "\t")
_NUMBERS = {
    False: re.compile(r"(\d+|\d{1,3}(?:,\d{3})+|\d{1,3}(?: \d{3})+)(?:\.(\d+))?"),
    True: re.compile(r"(\d+|\d{1,3}(?:\.\d{3})+|\d{1,3}(?: \d{3})+)(?:,(\d+))?"),
}
"""Numbers with a decimal point, and with a decimal comma; a space may stand between thousands."""


@dataclass(frozen=True, slots=True)
class YardForm:
    """How a yard's list reads.

    Args:
        supplier: Whose list it is.
        headings: Its heading for each of our columns, by their keys.
        article, name: Keys of the columns that lines are matched by.
        decimal_comma: Whether 1.234,56 is one thousand and a bit; else 1,234.56 is.
        currency: What stands before or after a number; empty for nothing.
    """

    supplier: str
    headings: Mapping[str, str]
    article: str
    name: str
    decimal_comma: bool = False
    currency: str = ""


@dataclass(frozen=True, slots=True)
class YardLine:
    """A line of the list: where it stands, and its entries by our columns."""

    number: int
    entries: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class YardItem:
    """An item of the price book that the yard may have: its row there, name and article number."""

    row: int
    name: str
    article: str


@dataclass(frozen=True, slots=True)
class Matched:
    """Which line of the list is which item's.

    Args:
        lines: Line and how it was found, by row of the price book.
        unclear: A sentence for each item that could be several lines.
        missing: Items that the list lacks.
        spare: Lines that are no item's.
    """

    lines: Mapping[int, tuple[YardLine, str]]
    unclear: tuple[str, ...]
    missing: tuple[YardItem, ...]
    spare: tuple[YardLine, ...]


def yard_lines(path: Path, form: YardForm) -> tuple[tuple[YardLine, ...], tuple[str, ...]]:
    """The lines below the headings of a yard's list, and what is to be said of how it was read.

    Raises:
        FileError: If the file can't be read.
        InputError: If no line of it has the headings, or two columns have one of them.
    """
    text, notes = _decoded(path)
    tables: list[tuple[list[tuple[int, list[str]]], int]] = []
    for separator in SEPARATORS:
        lines = csv_lines(text, path.name, separator)
        at = next((n for n, (_, values) in enumerate(lines) if _has_all(values, form)), None)
        if at is not None:
            tables.append((lines, at))
    if not tables:
        wanted = ", ".join(in_quotes(heading) for heading in form.headings.values())
        raise InputError(
            f"no line has the headings {wanted}.",
            where=path.name,
            cure=f"Correct the headings of {form.supplier} on Prices, or the list.",
        )
    lines, at = tables[0]
    places = _places(lines[at], form, path.name)
    found = []
    for number, values in lines[at + 1 :]:
        entries = {
            key: spaced(unguarded(values[place])) if place < len(values) else ""
            for key, place in places.items()
        }
        if any(entries.values()):
            found.append(YardLine(number, entries))
    if at:
        notes.append(f"The lines above {path.name}, line {lines[at][0]}, are no part of the list.")
    return tuple(found), tuple(notes)


def matched(
    lines: Sequence[YardLine], items: Iterable[YardItem], form: YardForm, label: str
) -> Matched:
    """Find the line of each item: by its article number, else by its name.

    Raises:
        InputError: If two lines have the article number of an item.
    """
    items = list(items)
    articles, names = _by(lines, form.article), _by(lines, form.name)
    _refuse_listed_twice(items, articles, label)
    found: dict[int, tuple[YardLine, str]] = {}
    for item in items:
        if item.article.casefold() in articles:
            found[item.row] = articles[item.article.casefold()][0], "by article number"
    taken = {line.number for line, _ in found.values()}
    unclear, missing = [], []
    for item in items:
        if item.row in found:
            continue
        called = names.get(spaced(item.name).casefold(), [])
        called = [line for line in called if line.number not in taken]
        if not called:
            missing.append(item)
        elif len(called) > 1:
            unclear.append(f"{item.name}: {_lines_named(called)} are called so; type its number.")
        elif item.article and called[0].entries.get(form.article):
            other = called[0].entries[form.article]
            unclear.append(
                f"{item.name}: line {called[0].number} is called so, but its article number is"
                f" {other}, not {item.article}."
            )
            taken.add(called[0].number)
        else:
            found[item.row] = called[0], "by name"
            taken.add(called[0].number)
    spare = tuple(line for line in lines if line.number not in taken)
    return Matched(found, tuple(unclear), tuple(missing), spare)


def number(text: str, form: YardForm, where: str) -> float | None:
    """A number as the yard writes it, None where there is none, as in "on request".

    Raises:
        InputError: If it is not written as the form says.
    """
    bare = text.replace("\u00a0", " ").replace("\u202f", " ").strip()
    if form.currency:
        bare = bare.removeprefix(form.currency).removesuffix(form.currency).strip()
    if not any(letter.isdigit() for letter in bare):
        return None
    found = _NUMBERS[form.decimal_comma].fullmatch(bare)
    if found is None:
        shown = "1.234,56" if form.decimal_comma else "1,234.56"
        beside = f' with "{form.currency}" beside it' if form.currency else ""
        raise InputError(
            f"{in_quotes(text)} is no number written like {shown}{beside}.",
            where=where,
            cure=f"Correct it, or say on Prices how {form.supplier} writes numbers.",
        )
    whole, decimals = found.groups(default="0")
    return float(re.sub(r"\D", "", whole) + f".{decimals}")


def spaced(text: str) -> str:
    """A text with one space wherever there are several, none at its ends."""
    return " ".join(text.split())


def _decoded(path: Path) -> tuple[str, list[str]]:
    data = file_bytes(path)
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    for encoding in ("utf-16",) if wide else ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        named = encoding != "cp1252"
        return text, [] if named else [f"{path.name} is read as Windows text: it is not UTF-8."]
    raise FileError("is not a text file.", where=path.name, cure="Save the list as CSV.")


def _has_all(values: Sequence[str], form: YardForm) -> bool:
    there = {spaced(value).casefold() for value in values}
    return there.issuperset(spaced(h).casefold() for h in form.headings.values())


def _places(header: tuple[int, list[str]], form: YardForm, label: str) -> dict[str, int]:
    """Place in a line of each of our columns."""
    there = [spaced(value).casefold() for value in header[1]]
    found = {}
    for key, heading in form.headings.items():
        if there.count(spaced(heading).casefold()) > 1:
            raise InputError(
                f"two columns are headed {in_quotes(heading)}.",
                where=f"{label}, line {header[0]}",
                cure="Rename one of them in the list.",
            )
        found[key] = there.index(spaced(heading).casefold())
    return found


def _by(lines: Iterable[YardLine], key: str) -> dict[str, list[YardLine]]:
    """Lines by what stands in a column, without regard to case."""
    found: dict[str, list[YardLine]] = {}
    for line in lines:
        if line.entries.get(key):
            found.setdefault(line.entries[key].casefold(), []).append(line)
    return found


def _refuse_listed_twice(
    items: Iterable[YardItem], articles: Mapping[str, Sequence[YardLine]], label: str
) -> None:
    for item in items:
        listed = articles.get(item.article.casefold(), ())
        if item.article and len(listed) > 1:
            raise InputError(
                f"the article {item.article} is listed twice, in {_lines_named(listed)}.",
                where=label,
                cure="Keep one of them.",
            )


def _lines_named(lines: Sequence[YardLine]) -> str:
    numbers = [str(line.number) for line in lines]
    return f"lines {', '.join(numbers[:-1])} and {numbers[-1]}"
