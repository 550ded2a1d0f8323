"""The numbers and texts that charts keep of the cells they plot, brought up to date.

A viewer that does not calculate draws a chart from these. Only what stands inside the caches
changes; a chart whose caches agree with its cells keeps its part byte for byte.
"""

from __future__ import annotations

import re
from typing import Any

from lxml import etree

from estimator.errors import FileError
from estimator.workbook.package.a1 import parse_range, range_text, split_target
from estimator.workbook.package.cells import number_text
from estimator.workbook.package.container import to_bytes
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import CellError, Value, grid, read_range

Node = Any
_CHART = re.compile(r"(?:.*/)?charts/chart[0-9]*\.xml", re.IGNORECASE)
_TRUE = ("1", "true")


def with_chart_caches(package: Package) -> Package:
    """The package with every chart's cached values as its cells show them now.

    Left alone are caches of cells in another workbook, of named formulas, and such whose number
    of points does not fit the cells.
    """
    changes: dict[str, bytes | None] = {}
    for part in package.parts:
        if _CHART.fullmatch(part) and b"Cache>" in package.read(part):
            root: Node = package.xml_to_change(part)
            changed = [_update(package, cache) for cache in _caches(root)]
            if any(changed):
                changes[part] = to_bytes(root)
    return package.changed(changes) if changes else package


def _caches(root: Node) -> list[Node]:
    return [n for n in root.iter("{*}numCache", "{*}strCache") if n.getparent() is not None]


def _update(package: Package, cache: Node) -> bool:
    """Bring one cache up to date; whether that changed it."""
    values = _values(package, cache)
    if values is None:
        return False
    texts = etree.QName(cache).localname == "strCache"
    wanted = {
        index: text
        for index, value in enumerate(values)
        if (text := _text(value, texts=texts)) is not None
    }
    points: dict[int, Node] = {int(p.get("idx")): p for p in cache.iterfind("{*}pt")}
    changed = False
    for index, point in points.items():
        if index not in wanted:
            cache.remove(point)
            changed = True
    for index, text in wanted.items():
        found = points.get(index)
        if found is None:
            found = etree.Element(_tag(cache, "pt"), idx=str(index))
            etree.SubElement(found, _tag(cache, "v")).text = text
            _insert(cache, found, index)
            changed = True
        elif not _same(found.findtext("{*}v") or "", text, texts=texts):
            found.find("{*}v").text = text
            changed = True
    return changed


def _values(package: Package, cache: Node) -> list[Value] | None:
    """What the plotted cells show, in order; None where the cache can't be told from them."""
    target = split_target(cache.getparent().findtext("{*}f") or "")
    count = cache.find("{*}ptCount")
    if target is None or count is None:
        return None
    try:
        cells, area = grid(package, target[0]), parse_range(target[1])
        rows = read_range(package, target[0], range_text(area))
    except FileError:
        return None
    shown = [
        content.value
        for number, row in enumerate(rows, start=area.row1)
        for content in row
        if number not in cells.rows or cells.rows[number].get("hidden") not in _TRUE
    ]
    # A chart leaves hidden rows out unless it is told to plot them.
    everything = [content.value for row in rows for content in row]
    size = int(count.get("val") or 0)
    return next((found for found in (everything, shown) if len(found) == size), None)


def _text(value: Value, *, texts: bool) -> str | None:
    if value is None or value == "":
        return None
    if isinstance(value, CellError):
        return value.code
    if isinstance(value, str):
        return value if texts else None
    return number_text(float(value))


def _same(one: str, other: str, *, texts: bool) -> bool:
    if one == other or texts:
        return one == other
    try:
        return float(one) == float(other)
    except ValueError:
        return False


def _tag(cache: Node, local: str) -> str:
    return f"{{{etree.QName(cache).namespace}}}{local}"


def _insert(cache: Node, point: Node, index: int) -> None:
    """Put a point before the first one that comes after it, and before what follows the points."""
    points = [p for p in cache.iterfind("{*}pt") if int(p.get("idx")) > index]
    following = points[0] if points else cache.find("{*}extLst")
    if following is None:
        cache.append(point)
    else:
        following.addprevious(point)
