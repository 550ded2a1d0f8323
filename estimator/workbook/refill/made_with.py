"""Reads the sheet Made From of a workbook: what the template gave it when it was made."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from estimator.errors import FileError
from estimator.workbook.package.a1 import Range, parse_range, split_target
from estimator.workbook.refill.port import Port, lost
from estimator.workbook.template.made_from import (
    FORMULAS,
    MADE_CHECK,
    MADE_LINES,
    MADE_SHEET,
    MOST_ROWS,
    OLDER_COLUMNS,
    PRINTS,
    RULES,
    TEXTS,
    Line,
    MadeFrom,
    Spot,
    seal,
    unpacked,
)


def read_made_from(port: Port) -> MadeFrom:
    """What a workbook was made with; empty where that was not kept, is damaged or was deleted."""
    return _told(_lines(port) or _older_lines(port))


def record_damage(port: Port) -> str:
    """A sentence on a record that is gone or tells nothing any more; empty where it is sound."""
    if _lines(port) is not None:
        return ""
    return (
        f"Cells of the hidden sheet {MADE_SHEET}, by which a later version tells what you changed,"
        f" are gone or not as they were made; {lost(port)}"
    )


def _lines(port: Port) -> tuple[Line, ...] | None:
    """The lines of the record; None where it is not whole."""
    names = port.ranges()
    if MADE_LINES not in names or MADE_CHECK not in names:
        return None
    cells = [str(row[0].value or "") for row in port.read(*names[MADE_LINES])]
    if port.read(*names[MADE_CHECK])[0][0].value != seal(cells):
        return None
    try:
        return tuple(unpacked(cells))
    except ValueError:  # a checksum can be made for any text
        return None


def _older_lines(port: Port) -> Iterator[Line]:
    """The lines of a record of the first versions: a column for each text, a row for each line."""
    names = port.ranges()
    if not all(name in names for name in OLDER_COLUMNS):
        return iter(())
    columns = ([str(row[0].value or "") for row in port.read(*names[n])] for n in OLDER_COLUMNS)
    return zip(*columns, strict=False)


def _told(lines: Iterable[Line]) -> MadeFrom:
    ranges: dict[str, tuple[str, Range]] = {}
    formulas: dict[str, list[tuple[Spot, str]]] = {}
    texts: dict[str, dict[Spot, str]] = {}
    nameless: dict[str, list[tuple[Range, str]]] = {}
    rules: dict[str, set[str]] = {}
    prints: dict[str, tuple[str, ...]] = {}
    for name, cells, text in lines:
        if name == TEXTS:
            texts.setdefault(cells, {}).update(_spots(text))
        elif name == RULES:
            rules.setdefault(cells, set()).update(text.split())
        elif name == PRINTS:
            prints[cells] = tuple(text.split())
        else:
            target = split_target(cells)
            if target is None:
                continue
            area = parse_range(target[1])
            if name == FORMULAS:
                nameless.setdefault(target[0], []).append((area, text))
                continue
            ranges.setdefault(name, (target[0], area))
            if text:
                formulas.setdefault(name, []).append(((area.row1, area.column1), text))
    return MadeFrom(
        ranges,
        {name: tuple(runs) for name, runs in formulas.items()},
        texts,
        {sheet: tuple(runs) for sheet, runs in nameless.items()},
        {sheet: frozenset(found) for sheet, found in rules.items()},
        prints,
    )


def _spots(text: str) -> Iterator[tuple[Spot, str]]:
    for piece in text.split():
        cells, _, what = piece.partition("=")
        try:
            area = parse_range(cells)
        except FileError:
            continue
        for row in range(area.row1, min(area.row2, area.row1 + MOST_ROWS) + 1):
            yield (row, area.column1), what
