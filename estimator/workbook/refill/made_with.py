"""Reads the sheet Made From of a workbook: what the template gave it when it was made."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.errors import FileError
from estimator.workbook.package.a1 import Range, parse_range, split_target
from estimator.workbook.refill.port import Port
from estimator.workbook.template.made_from import (
    COLUMNS,
    FORMULAS,
    MOST_ROWS,
    PRINTS,
    RULES,
    TEXTS,
    MadeFrom,
    Spot,
)


def read_made_from(port: Port) -> MadeFrom:
    """What a workbook was made with; empty where that was not kept or was deleted."""
    places = [port.ranges().get(name) for name in COLUMNS]
    if any(place is None for place in places):
        return MadeFrom()
    columns = [
        [str(row[0].value or "") for row in port.read(*place)]
        for place in places
        if place is not None
    ]
    ranges: dict[str, tuple[str, Range]] = {}
    formulas: dict[str, list[tuple[Spot, str]]] = {}
    texts: dict[str, dict[Spot, str]] = {}
    nameless: dict[str, list[tuple[Range, str]]] = {}
    rules: dict[str, set[str]] = {}
    prints: dict[str, tuple[str, ...]] = {}
    for name, cells, text in zip(*columns, strict=True):
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
