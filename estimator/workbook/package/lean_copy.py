"""A lean copy of a workbook for an engine of formulas: what has a part in calculating, no more.

So what the engine refuses to carry, and what has no part in calculating, can't stand in its way.
"""

from __future__ import annotations

import html
import re
from collections.abc import Collection, Iterable, Mapping

from estimator.workbook.package.a1 import Cell
from estimator.workbook.package.container import pack, write_entries
from estimator.workbook.package.parts import Package, SheetInfo
from estimator.workbook.package.reading import Grid, grid, name_addresses

__all__ = ["MAIN", "RELATION", "WORD", "assembled", "lean_copy", "lean_names"]

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_STRICT = (
    (b"http://purl.oclc.org/ooxml/spreadsheetml/main", MAIN.encode()),
    (b"http://purl.oclc.org/ooxml/officeDocument/relationships", RELATION.encode()),
)
WORD = re.compile(r'"(?:[^"]|"")*"|([^\W\d][\w.]*)(\()?')


def lean_copy(package: Package, words: set[str], left_out: Collection[Cell] = ()) -> bytes:
    """File of the cells, tables, names and links alone; formulas left out keep their values."""
    links: list[tuple[str, str, str]] = []
    parts: dict[str, bytes] = {}
    sheets = []
    for number, info in enumerate(package.sheets, 1):
        sheets.append(
            f'<sheet name="{html.escape(info.name)}" sheetId="{number}" r:id="s{number}"/>'
        )
        part = f"worksheets/sheet{number}.xml"
        links.append((f"s{number}", "worksheet", part))
        _lean_sheet(package, info, f"xl/{part}", parts, left_out)
    for kind in ("sharedStrings", "styles"):
        source = package.related(package.main_part, kind)
        if source:
            links.append((kind, kind, f"{kind}.xml"))
            parts[f"xl/{kind}.xml"] = package.read(source)
    outside = [
        link for link in package.relationships(package.main_part) if link.kind == "externalLink"
    ]
    for number, link in enumerate(outside, 1):
        part = f"externalLinks/externalLink{number}.xml"
        links.append((f"x{number}", "externalLink", part))
        parts[f"xl/{part}"] = package.read(link.target)
        rels = package.relationships_part(link.target)
        if package.has(rels):
            parts[package.relationships_part(f"xl/{part}")] = package.read(rels)
    references = "".join(
        f'<externalReference r:id="x{number}"/>' for number in range(1, len(outside) + 1)
    )
    book = (
        f'<workbook xmlns="{MAIN}" xmlns:r="{RELATION}">'
        f'<workbookPr date1904="{int(package.date1904)}"/><sheets>{"".join(sheets)}</sheets>'
        + (f"<externalReferences>{references}</externalReferences>" if references else "")
        + lean_names(package, words)
        + "</workbook>"
    )
    if package.namespace != MAIN:
        for part, content in parts.items():
            for strict, transitional in _STRICT:
                content = content.replace(strict, transitional)
            parts[part] = content
    return assembled(book.encode("utf-8", "replace"), links, parts)


def lean_names(package: Package, words: set[str]) -> str:
    """The names that formulas use, also by way of other names; the engine refuses odd others."""
    targets = [*package.names.values(), *package.local_names.values()]
    used: list[int] = []
    wanted = set(words)
    while True:
        more = [i for i, t in enumerate(targets) if i not in used and t.name.casefold() in wanted]
        if not more:
            break
        used += more
        for i in more:
            wanted |= {m[1].casefold() for m in WORD.finditer(targets[i].text) if m[1]}
    tabs = {info.name: number for number, info in enumerate(package.sheets)}
    pieces = []
    for i in sorted(used):
        target = targets[i]
        local = f' localSheetId="{tabs[target.scope]}"' if target.scope else ""
        text = target.text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
        pieces.append(f'<definedName name="{html.escape(target.name)}"{local}>{text}</definedName>')
    return f"<definedNames>{''.join(pieces)}</definedNames>" if pieces else ""


def _lean_sheet(
    package: Package,
    info: SheetInfo,
    part: str,
    parts: dict[str, bytes],
    left_out: Collection[Cell],
) -> None:
    """Add a sheet's cells and tables to the parts of the lean copy."""
    if info.kind != "worksheet":
        parts[part] = f'<worksheet xmlns="{MAIN}"><sheetData/></worksheet>'.encode()
        return
    from lxml import etree

    full = package.xml_to_change(info.part)
    data = full.find(package.tag("sheetData"))
    bare = [place for sheet, *place in left_out if sheet == info.name]
    if bare or grid(package, info.name).implicit:
        cells = Grid(package, info, full)
        name_addresses(cells)
        for row, column in bare:
            cells.without_formula(row, column)
    for cell in () if data is None else data.iterfind(".//*[@vm]"):
        del cell.attrib["vm"]  # a picture in a cell, of which the engine takes none
    pieces = [] if data is None else [etree.tostring(data, with_tail=False)]
    links = []
    for link in package.relationships(info.part):
        if link.kind == "table" and package.has(link.target):
            number = sum(p.startswith("xl/tables/") for p in parts) + 1
            parts[f"xl/tables/table{number}.xml"] = package.read(link.target)
            links.append((f"t{number}", "table", f"../tables/table{number}.xml"))
    if links:
        listed = "".join(f'<tablePart r:id="{identifier}"/>' for identifier, _, _ in links)
        pieces.append(f'<tableParts count="{len(links)}">{listed}</tableParts>'.encode())
        parts[package.relationships_part(part)] = _relationships(links)
    head = f'<worksheet xmlns="{package.namespace}" xmlns:r="{RELATION}">'.encode()
    parts[part] = head + b"".join(pieces) + b"</worksheet>"


def _relationships(links: Iterable[tuple[str, str, str]]) -> bytes:
    listed = "".join(
        f'<Relationship Id="{i}" Type="{RELATION}/{kind}" Target="{target}"/>'
        for i, kind, target in links
    )
    return f'<Relationships xmlns="{_PACKAGE}/relationships">{listed}</Relationships>'.encode()


def assembled(book: bytes, links: list[tuple[str, str, str]], parts: Mapping[str, bytes]) -> bytes:
    """File of a workbook's main part, its links (identifier, kind, target) and other parts."""
    kinds = {"worksheets": "worksheet", "tables": "table", "externalLinks": "externalLink"}
    types = [f'<Override PartName="/xl/workbook.xml" ContentType="{_TYPE}.sheet.main+xml"/>']
    for part in parts:
        if part.endswith(".xml"):
            folder, _, file = part.removeprefix("xl/").rpartition("/")
            kind = kinds.get(folder) or file.removesuffix(".xml")
            types.append(f'<Override PartName="/{part}" ContentType="{_TYPE}.{kind}+xml"/>')
    content_types = (
        f'<Types xmlns="{_PACKAGE}/content-types"><Default Extension="rels" ContentType='
        '"application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Default Extension="xml" ContentType="application/xml"/>{"".join(types)}</Types>'
    )
    whole = {
        "[Content_Types].xml": content_types.encode(),
        "_rels/.rels": _relationships([("r1", "officeDocument", "xl/workbook.xml")]),
        "xl/workbook.xml": book,
        "xl/_rels/workbook.xml.rels": _relationships(links),
        **parts,
    }
    return write_entries(pack(part, content, level=1) for part, content in whole.items())
