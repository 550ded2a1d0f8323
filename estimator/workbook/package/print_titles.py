"""Headings of each page of a sheet: a sheet repeats the same rows on all its pages, so that pages
under other headings are printed from twins of it in the copy."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import replace
from itertools import groupby
from typing import Any

from lxml import etree

from estimator.workbook.package.container import to_bytes
from estimator.workbook.package.new_parts import RELATION, NewParts
from estimator.workbook.package.parts import CONTENT_TYPES, Package
from estimator.workbook.package.print_rows import TOP, Pages, Shown
from estimator.workbook.package.references import absolute

_LINKED = (
    "hyperlinks", "legacyDrawing", "legacyDrawingHF", "drawingHF", "picture", "oleObjects",
    "controls", "tableParts", "extLst",
)  # fmt: skip
"""Children of a sheet that link to other parts, or are the only ones of their kind."""
_MOST_NAME = 24
"""Letters of a sheet's name that the name of its twin begins with."""


def by_titles(root: Any, package: Package, pages: Pages, shown: Shown) -> list[Pages]:
    """The pages of a sheet in runs, each of which repeats the same rows.

    A page that begins within a table repeats the headings of that table; one without a row that
    the headings of the sheet are for repeats only what heads the sheet. Pictures stand on one
    sheet alone: where there are some all pages repeat what the first one does.
    """
    if root.find(package.tag("drawing")) is not None:
        return [pages]

    def titles(first: int, last: int) -> tuple[int, int]:
        within = [(t[0], t[1]) for t in shown.tables if t[1] + 1 < first <= t[2]]
        headed = pages.titles[0] == TOP[0] and pages.titles[1] > TOP[1]
        if within:
            return within[0]
        if headed and shown.ruled and not shown.ruled.intersection(range(first, last + 1)):
            return TOP
        return pages.titles

    runs = groupby(pages.areas, lambda area: titles(area.row1, area.row2))
    return [replace(pages, areas=tuple(areas), titles=rows) for rows, areas in runs]


def add_twins(
    package: Package,
    changes: dict[str, bytes | None],
    book: etree._Element,
    twins: Mapping[int, list[tuple[etree._Element, Pages]]],
) -> None:
    """Put twins of sheets behind them, each with pages of its own.

    Args:
        changes: Changed parts of the package, to which the new ones are added.
        book: The workbook's part, which is changed.
        twins: By the number of a sheet, from 0, its cells and what each of its twins prints.
    """
    sheets = book.find(package.tag("sheets"))
    names = book.find(package.tag("definedNames"))
    if sheets is None or names is None or not any(twins.values()):
        return
    nodes = [node for node in sheets if isinstance(node.tag, str)]
    moved, at = {}, 0
    for number in range(len(nodes)):
        moved[str(number)] = str(at)
        at += 1 + len(twins.get(number, ()))
    for name in names:
        if name.get("localSheetId") in moved:
            name.set("localSheetId", moved[str(name.get("localSheetId"))])
    for view in book.iter(package.tag("workbookView")):
        for attribute in ("activeTab", "firstSheet"):
            if view.get(attribute) in moved:
                view.set(attribute, moved[str(view.get(attribute))])
    added = NewParts(package)
    kind = _type_of(package, package.sheets[0].part)
    numbers = [int(node.get("sheetId", "0")) for node in nodes]
    for number, pages in twins.items():
        for count, (root, printed) in enumerate(pages, start=1):
            part = added.free("xl/worksheets/sheet{}.xml")
            added.set_type(part, kind)
            node = deepcopy(nodes[number])
            node.set("name", f"{package.sheets[number].name[:_MOST_NAME]} ({count})")
            node.set("sheetId", str(max(numbers) + 1))
            numbers.append(max(numbers) + 1)
            node.set(f"{{{RELATION}}}id", added.link(package.main_part, "worksheet", part))
            sheets.insert(sheets.index(nodes[number]) + count, node)
            index = int(moved[str(number)]) + count
            _prints(names, index, str(node.get("name")), printed)
            added.changes[part] = to_bytes(_twin(root, package))
    changes.update(added.changes)


def _type_of(package: Package, part: str) -> str:
    """The content type of a part of its own."""
    types = package.xml(CONTENT_TYPES)
    return next(str(e.get("ContentType")) for e in types if e.get("PartName") == f"/{part}")


def _prints(names: etree._Element, sheet: int, title: str, pages: Pages) -> None:
    areas = ",".join(absolute(title, area) for area in pages.areas)
    first, last = pages.titles
    rows = absolute(title, pages.areas[0]).rpartition("!")[0] + f"!${first}:${last}"
    for kind, text in (("Print_Area", areas), ("Print_Titles", rows)):
        name = etree.SubElement(names, names.tag.removesuffix("s"))
        name.set("name", f"_xlnm.{kind}")
        name.set("localSheetId", str(sheet))
        name.text = text


def _twin(root: Any, package: Package) -> Any:
    """The cells of a sheet without what only one sheet may have."""
    twin = deepcopy(root)
    for tag in _LINKED:
        for node in twin.findall(package.tag(tag)):
            twin.remove(node)
    for view in twin.iter(package.tag("sheetView")):
        view.attrib.pop("tabSelected", None)
    setup = twin.find(package.tag("pageSetup"))
    if setup is not None:
        setup.attrib.pop(f"{{{RELATION}}}id", None)
    return twin
