"""A copy of a workbook that prints some of its sheets alone."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from lxml import etree

from estimator.workbook.package.a1 import (
    Range,
    address,
    listed_ranges,
    parse_cell,
    parse_range,
    range_text,
)
from estimator.workbook.package.container import BOOK_ORDER, SHEET_ORDER, put_in_order, to_bytes
from estimator.workbook.package.parts import Package
from estimator.workbook.package.print_looks import PrintLooks
from estimator.workbook.package.print_rows import Pages, Shown, close_up, fit, size
from estimator.workbook.package.print_titles import add_twins, by_titles
from estimator.workbook.package.references import absolute

MOST_FOOTER = 250
"""Characters that a footer may have, its codes included; spreadsheets take 255."""
NOTHING = Range(1_048_576, 16_384, 1_048_576, 16_384)
"""The last cell that a sheet can have."""
_PRINTS = ("_xlnm.Print_Area", "_xlnm.Print_Titles")
_ROWS = re.compile(r"\$(\d+):\$(\d+)")
_LOOKS = re.compile(r'&"[^"]*"|&\d+|&K[0-9A-Fa-f]{6}')
_FRAME = "&L&10 {}\n {}&R&10 {}\nPage &P of &N"


@dataclass(frozen=True, slots=True)
class Footer:
    """What stands at the foot of every page, above it the number of the page at the right.

    Args:
        left: Two lines of text at the left.
        right: The text above the number of the page.
    """

    left: tuple[str, str]
    right: str

    @property
    def code(self) -> str:
        """The footer in the codes of the file format, its longest texts cut where they must."""
        texts = [" ".join(text.split()) for text in (*self.left, self.right)]
        room = MOST_FOOTER - len(_FRAME.format("", "", ""))
        while sum(len(text) + text.count("&") for text in texts) > room:
            longest = max(range(len(texts)), key=lambda n: len(texts[n]))
            texts[longest] = f"{texts[longest][:-2].rstrip()}…"
        return _FRAME.format(*(text.replace("&", "&&") for text in texts))


def print_copy(
    package: Package,
    titles: Collection[str],
    footer: Footer,
    usual: tuple[str, str],
    shown: Mapping[str, Shown],
    heights: Mapping[str, Mapping[int, float]],
    *,
    unfolded: bool = False,
) -> bytes:
    """The workbook with nothing to print on all other sheets, on as few pages as can be.

    They are not hidden for it: not every spreadsheet leaves hidden sheets out of a PDF.

    Args:
        package: The workbook; it stays as it is.
        titles: Titles of the sheets to print.
        footer: What stands at the foot of their pages.
        usual: Left and right of the footer that they have from the start; another is a person's
            own, and stays.
        shown: By title, what is to be seen of a sheet; of others, all that they print.
        heights: By title, heights in points of rows, as much as they need.
        unfolded: Whether folded groups are opened; what their headings say of them goes.
    """
    changes: dict[str, bytes | None] = {}
    book = package.xml_to_change(package.main_part)
    names = book.find(package.tag("definedNames"))
    if names is None:
        names = book.makeelement(package.tag("definedNames"))
        put_in_order(book, names, BOOK_ORDER)
    for number, sheet in enumerate(package.sheets):
        if sheet.name not in titles:
            _print_nothing(names, number, absolute(sheet.name, NOTHING))
    looks = PrintLooks(package)
    twins: defaultdict[int, list[tuple[etree._Element, Pages]]] = defaultdict(list)
    for number, sheet in enumerate(package.sheets):
        if sheet.name in titles and sheet.kind == "worksheet":
            root = package.xml_to_change(sheet.part)
            _put_footer(root, package, footer, usual)
            _unlink(root, package, shown[sheet.name].link_row if sheet.name in shown else 0)
            if unfolded:
                _unfold(root, package)
            size(root, package, heights.get(sheet.name, {}))
            if sheet.name in shown:
                told = shown[sheet.name]
                _letter(root, package, looks, told.lettered)
                _wrap(root, package, looks, told.wrapped)
                others = _close_up(root, names, number, package, told)
                twins[number] += [(root, pages) for pages in others]
            changes[sheet.part] = to_bytes(root)
    add_twins(package, changes, book, twins)
    changes |= looks.changes
    changes[package.main_part] = to_bytes(book)
    return package.with_parts(changes)


def _print_nothing(names: etree._Element, sheet: int, nowhere: str) -> None:
    """Let a sheet print a cell that is empty: no page comes of it."""
    for name in list(names):
        if name.get("localSheetId") == str(sheet) and name.get("name") in _PRINTS:
            names.remove(name)
    area = etree.SubElement(names, names.tag.removesuffix("s"))
    area.set("name", _PRINTS[0])
    area.set("localSheetId", str(sheet))
    area.text = nowhere


def _close_up(
    root: etree._Element,
    names: etree._Element,
    sheet: int,
    package: Package,
    shown: Shown,
) -> list[Pages]:
    """Print a sheet without its unused rows; one whose print is a person's own stays as it is.

    Returns:
        Pages under other headings than the first, which the sheet itself can't print.
    """
    own = {n.get("name"): n for n in names if n.get("localSheetId") == str(sheet)}
    area, heads = (own.get(name) for name in _PRINTS)
    areas = (
        [parse_range(text) for text in listed_ranges(area.text or "")] if area is not None else []
    )
    repeated = _ROWS.search((heads.text or "") if heads is not None else "")
    if area is None or not areas:
        return []
    titles = (int(repeated[1]), int(repeated[2])) if repeated else (1, 0)
    pages = close_up(root, package, areas, titles, shown)
    if pages is None:
        return []
    first, *others = by_titles(root, package, pages, shown) if repeated else [pages]
    name = package.sheets[sheet].name
    area.text = ",".join(absolute(name, each) for each in first.areas)
    if heads is not None and first.titles != titles:
        heads.text = _ROWS.sub(f"${first.titles[0]}:${first.titles[1]}", heads.text or "")
    fit(root, package)
    return others


def _letter(
    root: etree._Element, package: Package, looks: PrintLooks, lettered: Mapping[int, Range]
) -> None:
    """Repeat the first letters of headings in blank cells of rows below them, in the looks of the
    first cell there."""
    for row in root.iter(package.tag("row")):
        number = int(row.get("r", "0"))
        heads = lettered.get(number)
        cells = {parse_cell(cell.get("r", "A1"))[1]: cell for cell in row}
        if heads is None or not cells:
            continue
        look = looks.aligned(cells[min(cells)].get("s", "0"), horizontal="right")
        for column in range(heads.column1, heads.column2 + 1):
            cell = cells.setdefault(column, row.makeelement(package.tag("c")))
            if not len(cell):
                cell.attrib.pop("t", "")
                cell.set("r", address(number, column))
                cell.set("s", look)
                formula = etree.SubElement(cell, package.tag("f"))
                formula.text = f"LEFT({address(heads.row1, column)},1)"
        row[:] = [cells[column] for column in sorted(cells)]


def _wrap(
    root: etree._Element, package: Package, looks: PrintLooks, wrapped: Mapping[int, Range]
) -> None:
    """Let texts take several lines over cells beside them, where these hold nothing."""
    taken: list[Range] = []
    for row in root.iter(package.tag("row")):
        area = wrapped.get(int(row.get("r", "0")))
        if area is None:
            continue
        cells = {parse_cell(cell.get("r", "A1"))[1]: cell for cell in row}
        beside = range(area.column1 + 1, area.column2 + 1)
        if area.column1 in cells and not any(len(cells[c]) for c in beside if c in cells):
            cell = cells[area.column1]
            cell.set("s", looks.aligned(cell.get("s", "0"), wrapText="1"))
            taken.append(area)
    if taken:
        merged = root.find(package.tag("mergeCells"))
        if merged is None:
            merged = root.makeelement(package.tag("mergeCells"))
            put_in_order(root, merged, SHEET_ORDER)
        for area in taken:
            etree.SubElement(merged, package.tag("mergeCell")).set("ref", range_text(area))
        merged.set("count", str(len(merged)))


def _unfold(root: etree._Element, package: Package) -> None:
    """Show the rows of folded groups, and of the row above each its first text alone."""
    for row in root.iter(package.tag("row")):
        if row.get("outlineLevel") and row.get("hidden"):
            del row.attrib["hidden"]
        elif row.get("collapsed"):
            del row.attrib["collapsed"]
            filled = [cell for cell in row if len(cell)]
            for cell in filled[1:]:
                del cell[:]


def _unlink(root: etree._Element, package: Package, alone: int) -> None:
    """Take out links, which lead nowhere on paper and which LibreOffice draws in a colour, and what
    the first cell of a row says, if it is there for its link alone."""
    links = root.find(package.tag("hyperlinks"))
    if links is None:
        return
    first = f"A{alone}"
    if any(link.get("ref") == first for link in links):
        for cell in root.iter(package.tag("c")):
            if cell.get("r") == first:
                del cell[:]
                cell.attrib.pop("t", "")
    root.remove(links)


def _put_footer(
    root: etree._Element, package: Package, footer: Footer, usual: tuple[str, str]
) -> None:
    there = root.find(package.tag("headerFooter"))
    if there is None:
        there = root.makeelement(package.tag("headerFooter"))
        put_in_order(root, there, SHEET_ORDER)
    odd = there.find(package.tag("oddFooter"))
    if odd is None:
        odd = etree.SubElement(there, package.tag("oddFooter"))
    text = _LOOKS.sub("", odd.text or "")
    if text in ("", f"&L{usual[0]}&R{usual[1]}"):
        odd.text = footer.code
