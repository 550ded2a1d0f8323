"""Workbooks with everything that people put into them, made for the tests of the file package."""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Callable

import xlsxwriter
from lxml import etree

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_RELATION = "http://purl.oclc.org/ooxml/officeDocument/relationships"


def picture() -> io.BytesIO:
    """An 8 x 8 PNG of one colour."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    rows = (b"\0" + b"\x10\x80\x40" * 8) * 8
    header = struct.pack(">IIBBBBB", 8, 8, 8, 2, 0, 0, 0)
    return io.BytesIO(
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


def rich_workbook(*, macros: bool = False) -> bytes:
    """Sheets Input (numbers, texts), It's calc (formulas), Mine (a person's own things), Chart."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        bold, dated = book.add_format({"bold": True}), book.add_format({"num_format": "d mmm yyyy"})
        source = book.add_worksheet("Input")
        calc = book.add_worksheet("It's calc")
        mine = book.add_worksheet("Mine")
        for row in range(10):
            source.write(row, 0, row + 1, bold)
            source.write(row, 1, f"stake {row}")
        source.write_datetime(0, 2, __import__("datetime").datetime(2024, 5, 6), dated)
        source.write_rich_string(1, 2, "plain ", bold, "bold", " end")
        source.write_boolean(2, 2, True)
        source.write_comment(3, 2, "a note")
        source.data_validation("A1:A10", {"validate": "decimal", "criteria": ">", "value": 0})
        for row in range(10):
            calc.write_formula(row, 0, f"=Input!A{row + 1}*2", None, (row + 1) * 2)
        calc.write_formula("B1", "=SUM(A1:A10)", None, 110)
        calc.write_formula("B2", '=Input!B1&" x"', None, "stake 0 x")
        calc.write_formula("B3", "=B1>100", None, True)
        calc.write_formula("B4", "=1/0", None, "#DIV/0!")
        calc.write_array_formula("C1:C3", "{=Input!A1:A3*10}", None, 10)
        calc.write_formula("B5", "=SUM(parts[Price])*rate", None, 15)
        calc.write("C2", 20)
        calc.write("C3", 30)
        mine.add_table(
            "A1:B4",
            {
                "name": "parts",
                "columns": [{"header": "Item"}, {"header": "Price"}],
                "data": [["a", 1], ["b", 2], ["c", 3]],
            },
        )
        chart = book.add_chart({"type": "column"})
        chart.add_series({"values": "=Input!$A$1:$A$10"})
        mine.insert_chart("D2", chart)
        mine.insert_image("D20", "p.png", {"image_data": picture(), "description": "site"})
        mine.insert_textbox("D30", "remember the gate")
        mine.add_sparkline("F1", {"range": "Input!A1:A10"})
        mine.conditional_format("B2:B4", {"type": "data_bar", "data_bar_2010": True})
        mine.set_header("&L&G", {"image_left": "p.png", "image_data_left": picture()})
        mine.merge_range("H1:I2", "merged")
        sheet = book.add_chartsheet("Chart")
        whole = book.add_chart({"type": "line"})
        whole.add_series({"values": "='It''s calc'!$A$1:$A$10"})
        sheet.set_chart(whole)
        book.define_name("lengths", "=Input!$A$1:$A$10")
        book.define_name("doubled", "='It''s calc'!$A$1:$A$10")
        book.define_name("rate", "=2.5")
        book.define_name("Input!own", "=Input!$B$2")
        book.set_custom_property("job", "shed")
        if macros:
            blob = io.BytesIO(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(range(256)) * 9)
            book.add_vba_project(blob, True)
    return with_extras(stream.getvalue())


def with_extras(data: bytes) -> bytes:
    """Add a calculation chain and a custom XML part, which the writer above can't make."""
    chain = (
        f'<calcChain xmlns="{MAIN}">'
        + "".join(f'<c r="A{row}" i="2"/>' for row in range(1, 11))
        + "</calcChain>"
    )

    def types(content: bytes) -> bytes:
        return content.replace(
            b"</Types>",
            b'<Override PartName="/xl/calcChain.xml" ContentType="application/vnd.openxml'
            b'formats-officedocument.spreadsheetml.calcChain+xml"/></Types>',
        )

    def links(content: bytes) -> bytes:
        return content.replace(
            b"</Relationships>",
            f'<Relationship Id="rId90" Type="{RELATION}/calcChain" Target="/xl/calcChain.xml"/>'
            f'<Relationship Id="rId91" Type="{RELATION}/customXml" '
            'Target="../customXml/item1.xml"/></Relationships>'.encode(),
        )

    data = change_part(data, "[Content_Types].xml", types)
    data = change_part(data, "xl/_rels/workbook.xml.rels", links)
    return add_parts(
        data,
        {"xl/calcChain.xml": chain.encode(), "customXml/item1.xml": b"<mine><kept/></mine>"},
    )


def plain_workbook(cells: str, *, head: str = "", tail: str = "", namespace: str = MAIN) -> bytes:
    """The least workbook: one sheet S with the given XML inside its cells part."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        book.add_worksheet("S")
    sheet = (
        f'<worksheet xmlns="{namespace}" xmlns:r="{RELATION}">{head}<sheetData>{cells}</sheetData>'
        f"{tail}</worksheet>"
    )
    return change_part(stream.getvalue(), "xl/worksheets/sheet1.xml", lambda _: sheet.encode())


def change_part(data: bytes, part: str, change: Callable[[bytes], bytes]) -> bytes:
    """The same zip with the parts whose name matches changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", 8) as new:
        for info in old.infolist():
            content = old.read(info)
            if info.filename == part or re.fullmatch(part, info.filename):
                content = change(content)
            new.writestr(info.filename, content)
    return out.getvalue()


def add_parts(data: bytes, parts: dict[str, bytes]) -> bytes:
    """The same zip with parts appended, whatever their names."""
    out = io.BytesIO(data)
    with zipfile.ZipFile(out, "a", 8) as archive:
        for name, content in parts.items():
            archive.writestr(zipfile.ZipInfo(name), content)
    return out.getvalue()


def parts_of(data: bytes) -> dict[str, bytes]:
    """Every part's bytes, read by the standard library."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        return {info.filename: archive.read(info) for info in archive.infolist()}


def without_cells(sheet: bytes, addresses: set[str]) -> bytes:
    """Canonical XML of a sheet without the given cells (and without rows that they leave empty)."""
    root = etree.fromstring(sheet)
    for cell in list(root.iter(f"{{{MAIN}}}c")):
        if cell.get("r") in addresses:
            row = cell.getparent()
            row.remove(cell)
            if len(row) == 0 and set(row.attrib) == {"r"}:
                row.getparent().remove(row)
    return etree.tostring(root, method="c14n")


def with_picture_on(data: bytes, sheet_part: str, row: int, column: int) -> bytes:
    """The workbook with a picture laid on a sheet that has no drawing, its corner on a cell.

    Rows and columns count from 0, as drawings do.
    """
    drawing = (
        '<xdr:wsDr xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"'
        ' xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"><xdr:oneCellAnchor>'
        f"<xdr:from><xdr:col>{column}</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>{row}</xdr:row>"
        '<xdr:rowOff>0</xdr:rowOff></xdr:from><xdr:ext cx="95250" cy="95250"/><xdr:pic>'
        '<xdr:nvPicPr><xdr:cNvPr id="1" name="Logo" descr="logo"/><xdr:cNvPicPr/></xdr:nvPicPr>'
        f'<xdr:blipFill><a:blip xmlns:r="{RELATION}" r:embed="rId1"/><a:stretch><a:fillRect/>'
        '</a:stretch></xdr:blipFill><xdr:spPr><a:prstGeom prst="rect"/></xdr:spPr></xdr:pic>'
        "<xdr:clientData/></xdr:oneCellAnchor></xdr:wsDr>"
    )

    def rels(kind: str, target: str) -> bytes:
        package = "http://schemas.openxmlformats.org/package/2006/relationships"
        return (
            f'<Relationships xmlns="{package}"><Relationship Id="rId1"'
            f' Type="{RELATION}/{kind}" Target="{target}"/></Relationships>'
        ).encode()

    name = sheet_part.rpartition("/")[2]
    data = change_part(
        data,
        sheet_part,
        lambda c: c.replace(
            b"</worksheet>", f'<drawing xmlns:r="{RELATION}" r:id="rId1"/></worksheet>'.encode()
        ),
    )
    kind = "application/vnd.openxmlformats-officedocument.drawing+xml"
    png = b'<Default Extension="png" ContentType="image/png"/>'
    has_png = b'Extension="png"' in parts_of(data)["[Content_Types].xml"]
    data = change_part(
        data,
        "[Content_Types].xml",
        lambda c: c.replace(
            b"</Types>",
            (b"" if has_png else png)
            + f'<Override PartName="/xl/drawings/drawing77.xml" ContentType="{kind}"/>'
            "</Types>".encode(),
        ),
    )
    return add_parts(
        data,
        {
            "xl/drawings/drawing77.xml": drawing.encode(),
            "xl/drawings/_rels/drawing77.xml.rels": rels("image", "../media/logo77.png"),
            "xl/media/logo77.png": picture().getvalue(),
            f"xl/worksheets/_rels/{name}.rels": rels("drawing", "../drawings/drawing77.xml"),
        },
    )
