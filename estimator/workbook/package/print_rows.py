"""Lines without an entry left out of the print, and what is left put on as few pages as can be."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from lxml import etree

from estimator.workbook.package.a1 import Range, parse_cell
from estimator.workbook.package.parts import Package

PAPERS_PT: Mapping[str, tuple[float, float]] = {"1": (612.0, 792.0), "9": (595.3, 841.9)}
"""Width and height of US Letter and A4, by their codes."""
_INCH_PT, _CHARACTER_PT = 72.0, 5.56
"""Points of an inch, and of a digit of the workbook's font, which LibreOffice makes columns of."""
_MOST_SIDE_IN = 0.3
"""Margin at the left and the right of a page; printers leave a quarter of an inch blank."""
_LOWERED_PT = 14.5, 15.5, 12.9
"""Rows between two heights, of one line, and how low they may be."""
_ROW_PT, COLUMN_WIDTH = 15.0, 8.43
"""Height of a row and width of a column where the file has none."""
_GAP_PT = 5.0, 9.5
"""Between these heights is the blank row that stands between two parts of a sheet."""
_EMPTY = 1 / 3
"""A page that is filled less takes of what stands on the one before it."""
TOP = 1, 3
"""Title, purpose and flag of a sheet."""
SHORT = 0.25
"""A page is not ended before so much of it is filled, unless another share is asked for."""
_SPARSE = 0.2
"""Where pages are as many either way, they are cut so that fewest hold less than this share."""
_HEADING_ROWS = 4
"""Rows of a part, its heading first, that don't stand alone at the foot of a page."""
_BEGUN = 0.25
"""A part that is longer than a page begins on one of which no less than this share is left."""

_BLANK = "str"
"""Type of a cell whose formula gave a text; where that is empty, nothing is seen of it."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What is to be seen of a sheet on paper.

    Args:
        least: Share of full size that a page may be printed at.
        unused: Rows in which a table holds nothing, and the columns of the table there. One where
            something else stands is kept.
        held: Rows of which it is known what they hold. Others of which nothing is seen, as their
            formulas gave empty texts when they were last worked out, are left out.
        current: Whether all formulas give now what they gave then.
        stretches: What alone is printed, a page for each; none: all that the sheet prints.
        unasked: First and last row of parts that nothing was asked of, which are left out whole.
        undrawn: Whether all charts of the sheet stand there.
        goes_on: By the last row that the sheet prints of a table: the last row of the table, down
            to which it is printed too, and the row that tells of more, which is not.
        link_row: Row whose first cell is there for its link alone, which is not printed; 0: none.
        short: A page is not ended before so much of it is filled.
        lettered: By row of a section's title, the cells of headings of columns that stand too far
            above it: their first letters are repeated there.
        wrapped: By row the cells that a text takes which is longer than they have room for.
        tables: First and last row of the headings of each table, and its last row.
        ruled: Rows that the headings on top of the sheet are for; none: it does not matter.
    """

    least: float
    unused: Mapping[int, frozenset[int]]
    held: frozenset[int] = frozenset()
    current: bool = False
    stretches: tuple[tuple[int, int], ...] = ()
    unasked: tuple[tuple[int, int], ...] = ()
    undrawn: bool = False
    goes_on: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    link_row: int = 0
    short: float = SHORT
    lettered: Mapping[int, Range] = field(default_factory=dict)
    wrapped: Mapping[int, Range] = field(default_factory=dict)
    tables: tuple[tuple[int, int, int], ...] = ()
    ruled: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Pages:
    """What is printed of a sheet.

    Args:
        areas: A page for each.
        titles: Rows repeated on every page.
    """

    areas: tuple[Range, ...]
    titles: tuple[int, int]


def close_up(
    root: etree._Element,
    package: Package,
    areas: Sequence[Range],
    titles: tuple[int, int],
    shown: Shown,
) -> Pages | None:
    """Hide the unused rows of a sheet, and say what to print; None where it is left as it is.

    Args:
        root: The sheet, which is changed.
        areas: What is printed of it now.
        titles: Rows repeated on every page.
        shown: What is to be seen of it.
    """
    page = _page_pt(root, package)
    first, last = areas[0].column1, areas[0].column2
    if page is None or any((a.column1, a.column2) != (first, last) for a in areas):
        return None
    rows = {int(row.get("r", "0")): row for row in root.iter(package.tag("row"))}
    hidden = {
        number
        for number, columns in shown.unused.items()
        if not any(
            first <= c <= last and c not in columns
            for c in (_seen if shown.current else _filled)(rows.get(number))
        )
    }
    if shown.current:
        others = (n for n in rows if n not in shown.held)
        hidden |= {n for n in others if _seems_empty(rows[n], last)}
    hidden |= {row for row1, row2 in shown.unasked for row in range(row1, row2 + 1)}
    going = {area.row2: shown.goes_on[area.row2] for area in areas if area.row2 in shown.goes_on}
    hidden |= {more for _, more in going.values()}
    areas = [a._replace(row2=going[a.row2][0]) if a.row2 in going else a for a in areas]
    drawing = root.find(package.tag("drawing"))
    if shown.undrawn and drawing is not None:
        root.remove(drawing)
    if shown.stretches:
        areas = [Range(row1, first, row2, last) for row1, row2 in shown.stretches]
    whole = [areas[0]]
    for area in areas[1:]:
        between = range(whole[-1].row2 + 1, area.row1)
        joins = area.row1 > whole[-1].row2 and not shown.stretches
        if joins and not any(_any(rows.get(row)) for row in between if row not in hidden):
            whole[-1] = whole[-1]._replace(row2=area.row2)
        else:
            whole.append(area)
    for number in sorted(hidden):
        _row(root, package, rows, number).set("hidden", "1")

    def height(row: int, *, tight: bool) -> float:
        own = 0.0 if row in hidden else _height(rows.get(row))
        lowered = tight and _any(rows.get(row)) and _LOWERED_PT[0] <= own <= _LOWERED_PT[1]
        return _LOWERED_PT[2] if lowered else own

    wide = _width(root, package, first, last) * _CHARACTER_PT
    fitted = min(100, math.floor(100 * page[0] / wide))  # in whole percents
    starts = {
        number + 1
        for number, row in rows.items()
        if number not in hidden
        and not titles[0] <= number < titles[1]
        and _GAP_PT[0] < _height(row) < _GAP_PT[1]
        and not _any(row)
    }

    def turns(first: int, row: int) -> bool:
        """Whether a row asks for other headings than a page that begins at the first row has."""
        within = any(t[1] + 1 < first <= t[2] for t in shown.tables)
        return within and row in shown.ruled and row in starts

    tried = []
    for tight in (False, True):
        high = partial(height, tight=tight)
        heads = sum(map(high, range(titles[0], titles[1] + 1)))
        for percent in range(fitted, min(fitted, math.ceil(100 * shown.least)) - 1, -1):
            room = page[1] * 100 / percent
            found = [
                each
                for area in whole
                for part in _split(
                    area, starts, room, heads * (area.row1 > titles[1]), heads, high, shown.short
                )
                for each in _one_page_each(
                    part, starts, room, heads * (part.row1 > titles[1]), heads, high, turns
                )
            ]
            sparse = sum(_high(each, high) < _SPARSE * room for each in found)
            tried.append((len(found), sparse, tight, -percent, tuple(found)))
    _, _, tight, percent, chosen = min(tried)
    if tight:
        lowered = (n for n in rows if height(n, tight=False) != height(n, tight=True))
        size(root, package, dict.fromkeys(lowered, _LOWERED_PT[2]))
    if shown.stretches or any(each.row1 not in starts | {a.row1 for a in whole} for each in chosen):
        return Pages(chosen, titles)
    high, room = partial(height, tight=tight), page[1] * 100 / -percent
    heads = sum(map(high, range(titles[0], titles[1] + 1)))
    chosen = _evened(chosen, starts, room, heads, high)
    if titles[0] > TOP[1]:
        # No table goes on: what heads the sheet tells more than the headings of one.
        top = sum(map(high, range(TOP[0], TOP[1] + 1)))
        if all(_high(each, high) + top * (each.row1 > TOP[1]) <= room for each in chosen):
            titles = TOP
    return Pages(chosen, titles)


def _high(area: Range, height: Callable[[int], float]) -> float:
    """How high the rows of an area are together."""
    return sum(map(height, range(area.row1, area.row2 + 1)))


def _one_page_each(
    area: Range,
    starts: set[int],
    room: float,
    begun: float,
    heads: float,
    height: Callable[[int], float],
    turns: Callable[[int, int], bool],
) -> Iterator[Range]:
    """The area page by page, no heading alone at the foot of one: a sheet is printed as large as
    the fewest pages to an area let it, and shorter areas would run on. A page ends too before a
    row that takes a turn from its first one."""
    first, filled = area.row1, begun
    for row in range(area.row1, area.row2 + 1):
        if row > first and (filled + height(row) > room or turns(first, row)):
            part = max((start for start in starts if first < start <= row), default=0)
            cut = part if row - part <= _HEADING_ROWS else row
            yield area._replace(row1=first, row2=cut - 1)
            first, filled = cut, heads + sum(map(height, range(cut, row)))
        filled += height(row)
    yield area._replace(row1=first)


def _split(
    area: Range,
    starts: set[int],
    room: float,
    begun: float,
    heads: float,
    height: Callable[[int], float],
    short: float,
) -> Iterator[Range]:
    """The area, cut before every part that does not fit on what is left of a page, or begins at
    its foot; so much of the page is filled when the area begins."""
    inside = sorted(row for row in starts if area.row1 < row <= area.row2)
    ends = [*(row - 1 for row in inside), area.row2]
    first, filled = area.row1, begun
    for start, end in zip([area.row1, *inside], ends, strict=True):
        need = sum(map(height, range(start, end + 1)))
        whole = need <= room - heads
        fits = need <= room - filled if whole else room - filled >= _BEGUN * room
        if not fits and filled > short * room:
            yield area._replace(row1=first, row2=start - 1)
            first, filled = start, heads
        filled += need
        while filled > room:
            filled += heads - room
    yield area._replace(row1=first)


def _evened(
    areas: tuple[Range, ...],
    starts: set[int],
    room: float,
    heads: float,
    height: Callable[[int], float],
) -> tuple[Range, ...]:
    """The pages, with parts of the last but one moved to a last one that is nearly empty."""
    if len(areas) < 2 or areas[-2].row2 + 1 != areas[-1].row1:
        return areas
    *others, before, last = areas
    kept, filled = _high(before, height), heads + _high(last, height)
    for start in sorted((row for row in starts if before.row1 < row <= before.row2), reverse=True):
        if filled >= _EMPTY * room:
            break
        moved = sum(map(height, range(start, last.row1)))
        if filled + moved > room or kept - moved < _EMPTY * room:
            break
        before, last = before._replace(row2=start - 1), last._replace(row1=start)
        kept, filled = kept - moved, filled + moved
    return (*others, before, last)


def size(root: etree._Element, package: Package, heights: Mapping[int, float]) -> None:
    """Make rows as high as so many points."""
    for row in root.iter(package.tag("row")):
        wanted = heights.get(int(row.get("r", "0")))
        if wanted is not None and wanted != float(row.get("ht", _ROW_PT)):
            row.set("ht", f"{wanted:g}")
            row.set("customHeight", "1")


def column_widths(package: Package, part: str) -> dict[int, float]:
    """Characters that the columns of a sheet are wide, of those with a width of their own."""
    return _own_widths(package.xml(part), package)


def _own_widths(root: Any, package: Package) -> dict[int, float]:
    return {
        column: 0.0 if col.get("hidden") else float(col.get("width", COLUMN_WIDTH))
        for col in root.iter(package.tag("col"))
        for column in range(int(col.get("min", "1")), int(col.get("max", "1")) + 1)
    }


def _page_pt(root: etree._Element, package: Package) -> tuple[float, float] | None:
    """Width and height of what is printed on a page; None if it is not to be laid out anew: its
    width is not fitted, or its pictures are fitted to a number of pages."""
    setup, margins = (root.find(package.tag(tag)) for tag in ("pageSetup", "pageMargins"))
    drawn = root.find(package.tag("drawing")) is not None
    if setup is None or margins is None:
        return None
    if setup.get("fitToHeight") not in (("0",) if drawn else ("0", "1")):
        return None
    paper = PAPERS_PT.get(setup.get("paperSize", ""))
    if paper is None:
        return None
    if setup.get("orientation") == "landscape":
        paper = paper[::-1]
    for side in ("left", "right"):
        margins.set(side, str(min(float(margins.get(side, 0)), _MOST_SIDE_IN)))
    sides = [float(margins.get(side, 0)) for side in ("left", "right", "top", "bottom")]
    return (
        paper[0] - sum(sides[:2]) * _INCH_PT,
        paper[1] - sum(sides[2:]) * _INCH_PT,
    )


def fit(root: etree._Element, package: Package) -> None:
    """Print each area of a sheet on a page, as large as its width allows."""
    setup = root.find(package.tag("pageSetup"))
    if setup is not None:
        setup.set("fitToHeight", "1")


def _width(root: etree._Element, package: Package, first: int, last: int) -> float:
    """Characters that columns are wide, all together."""
    own = _own_widths(root, package)
    return sum(own.get(column, COLUMN_WIDTH) for column in range(first, last + 1))


def _height(row: etree._Element | None) -> float:
    if row is None:
        return _ROW_PT
    return 0.0 if row.get("hidden") in ("1", "true") else float(row.get("ht", _ROW_PT))


def _holding(row: etree._Element | None) -> Iterator[tuple[int, etree._Element]]:
    """Columns and cells of a row that hold something."""
    for cell in () if row is None else row:
        if any(text for part in cell for text in part.itertext()):
            yield parse_cell(cell.get("r", "A1"))[1], cell


def _filled(row: etree._Element | None) -> Iterator[int]:
    """Columns of the cells of a row that hold something."""
    return (column for column, _ in _holding(row))


def _seen(row: etree._Element | None) -> Iterator[int]:
    """Columns of the cells of a row of which something is seen: no formula that gave an empty
    text."""
    return (column for column, cell in _holding(row) if not _gave_nothing(cell))


def _gave_nothing(cell: etree._Element) -> bool:
    """Whether a cell holds a formula that gave an empty text when it was last worked out."""
    return cell.get("t") == _BLANK and not any(v.text for v in cell.iter() if v.tag.endswith("}v"))


def _any(row: etree._Element | None) -> bool:
    return next(_filled(row), None) is not None


def _seems_empty(row: etree._Element, last: int) -> bool:
    """Whether all that stands in a row up to a column is formulas that gave an empty text."""
    printed = [cell for column, cell in _holding(row) if column <= last]
    return bool(printed) and all(map(_gave_nothing, printed))


def _row(
    root: etree._Element, package: Package, rows: dict[int, etree._Element], number: int
) -> etree._Element:
    """A row of a sheet, made where the file has none."""
    if number not in rows:
        data = root.find(package.tag("sheetData"))
        assert data is not None
        row = rows[number] = data.makeelement(package.tag("row"), {"r": str(number)})
        after = (n for n, each in enumerate(data) if int(each.get("r", "0")) > number)
        data.insert(next(after, len(data)), row)
    return rows[number]
