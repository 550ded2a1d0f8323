"""Lines without an entry left out of the print, and what is left put on as few pages as can be."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lxml import etree

from estimator.workbook.package.a1 import Range, parse_cell
from estimator.workbook.package.parts import Package

PAPERS_PT: Mapping[str, tuple[float, float]] = {"1": (612.0, 792.0), "9": (595.3, 841.9)}
"""Width and height of US Letter and A4, by their codes."""
_INCH_PT, _CHARACTER_PT = 72.0, 5.28
_ROW_PT, COLUMN_WIDTH = 15.0, 8.43
"""Height of a row and width of a column where the file has none."""
_GAP_PT = 5.0, 9.5
"""Between these heights is the blank row that stands between two parts of a sheet."""
_SHORT = 0.25
"""A page is not ended before so much of it is filled."""

Unused = Mapping[int, frozenset[int]]
"""Rows in which a table holds nothing, and the columns of the table there."""


@dataclass(frozen=True, slots=True)
class Pages:
    """What is printed of a sheet.

    Args:
        areas: A page, or several, for each.
        longest: Pages of the longest of them.
    """

    areas: tuple[Range, ...]
    longest: int


def close_up(
    root: etree._Element,
    package: Package,
    areas: Sequence[Range],
    titles: tuple[int, int],
    unused: Unused,
    least: float,
) -> Pages | None:
    """Hide the unused rows of a sheet, and say what to print; None where it is left as it is.

    Args:
        root: The sheet, which is changed.
        areas: What is printed of it now.
        titles: Rows repeated on every page.
        unused: Rows of tables that hold nothing. One where something else stands is kept.
        least: Share of full size that a page may be printed at.
    """
    page = _page_pt(root, package)
    first, last = areas[0].column1, areas[0].column2
    if page is None or any((a.column1, a.column2) != (first, last) for a in areas):
        return None
    rows = {int(row.get("r", "0")): row for row in root.iter(package.tag("row"))}
    hidden = {
        number
        for number, columns in unused.items()
        if not any(first <= c <= last and c not in columns for c in _filled(rows.get(number)))
    }
    whole = [areas[0]]
    for area in areas[1:]:
        between = range(whole[-1].row2 + 1, area.row1)
        if area.row1 > whole[-1].row2 and not any(
            _any(rows.get(row)) for row in between if row not in hidden
        ):
            whole[-1] = whole[-1]._replace(row2=area.row2)
        else:
            whole.append(area)
    for number in sorted(hidden):
        _row(root, package, rows, number).set("hidden", "1")

    def height(row: int) -> float:
        return 0.0 if row in hidden else _height(rows.get(row))

    wide = _width(root, package, first, last) * _CHARACTER_PT
    fitted = min(1.0, page[0] / wide)
    starts = {
        number + 1
        for number, row in rows.items()
        if number not in hidden and _GAP_PT[0] < _height(row) < _GAP_PT[1] and not _any(row)
    }
    heads = sum(height(row) for row in range(titles[0], titles[1] + 1))
    steps = range(math.floor(100 * fitted), math.ceil(100 * min(fitted, least)) - 1, -1)
    tried = []
    for scale in (fitted, *(step / 100 for step in steps)):
        room = page[1] / scale
        found = [each for area in whole for each in _split(area, starts, room, heads, height)]
        need = [
            math.ceil(sum(map(height, range(each.row1, each.row2 + 1))) / room) for each in found
        ]
        tried.append((sum(need), -scale, max(need), tuple(found)))
    *_, longest, areas_found = min(tried)
    return Pages(areas_found, longest)


def _split(
    area: Range, starts: set[int], room: float, heads: float, height: Callable[[int], float]
) -> Iterator[Range]:
    """The area, cut before every part that does not fit on what is left of a page."""
    inside = sorted(row for row in starts if area.row1 < row <= area.row2)
    ends = [*(row - 1 for row in inside), area.row2]
    first, filled = area.row1, 0.0
    for start, end in zip([area.row1, *inside], ends, strict=True):
        need = sum(map(height, range(start, end + 1)))
        if room - heads >= need > room - filled and filled > _SHORT * room:
            yield area._replace(row1=first, row2=start - 1)
            first, filled = start, heads
        filled += need
        while filled > room:
            filled += heads - room
    yield area._replace(row1=first)


def lower(root: etree._Element, package: Package, heights: Mapping[int, float]) -> None:
    """Make rows no higher than so many points."""
    for row in root.iter(package.tag("row")):
        most = heights.get(int(row.get("r", "0")))
        if most is not None and most < float(row.get("ht", _ROW_PT)):
            row.set("ht", f"{most:g}")
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
    """Width and height of what is printed on a page; None if its width is not fitted."""
    setup, margins = (root.find(package.tag(tag)) for tag in ("pageSetup", "pageMargins"))
    if setup is None or margins is None or setup.get("fitToHeight") != "0":
        return None
    paper = PAPERS_PT.get(setup.get("paperSize", ""))
    if paper is None:
        return None
    if setup.get("orientation") == "landscape":
        paper = paper[::-1]
    sides = [float(margins.get(side, 0)) for side in ("left", "right", "top", "bottom")]
    return (
        paper[0] - sum(sides[:2]) * _INCH_PT,
        paper[1] - sum(sides[2:]) * _INCH_PT,
    )


def fit(root: etree._Element, package: Package, pages: Pages) -> None:
    """Print each area of a sheet on so many pages at most, as large as its width allows."""
    setup = root.find(package.tag("pageSetup"))
    if setup is not None:
        setup.set("fitToHeight", str(pages.longest))


def _width(root: etree._Element, package: Package, first: int, last: int) -> float:
    """Characters that columns are wide, all together."""
    own = _own_widths(root, package)
    return sum(own.get(column, COLUMN_WIDTH) for column in range(first, last + 1))


def _height(row: etree._Element | None) -> float:
    if row is None:
        return _ROW_PT
    return 0.0 if row.get("hidden") in ("1", "true") else float(row.get("ht", _ROW_PT))


def _filled(row: etree._Element | None) -> Iterator[int]:
    """Columns of the cells of a row that hold something."""
    for cell in () if row is None else row:
        if any(text for part in cell for text in part.itertext()):
            yield parse_cell(cell.get("r", "A1"))[1]


def _any(row: etree._Element | None) -> bool:
    return next(_filled(row), None) is not None


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
