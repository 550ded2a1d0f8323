"""Files that are damaged, mistaken for workbooks, or made to harm: one clear sentence, quickly."""

from __future__ import annotations

import io
import os
import struct
import time
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import planters
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from libreoffice import convert
from office import needs_office
from rich_workbooks import (
    add_parts,
    change_part,
    parts_of,
    plain_workbook,
    rich_workbook,
)

from estimator.engine import Model
from estimator.errors import EstimatorError, FileError
from estimator.workbook.package.cells import Edits, Formula, apply, read_cell, read_name, read_range
from estimator.workbook.package.parts import Limits, Package
from estimator.workbook.package.recalculate import recalculate
from estimator.workbook.refill.file import check_package, refill_package

RICH = rich_workbook()
SHEET = "xl/worksheets/sheet1.xml"
OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600
LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 10)).replace("&a0;", "&a;")
    + "]>"
)
OUTSIDE = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>'


def use(data: bytes) -> None:
    """Everything that a refill does with a file."""
    package = Package.open(data)
    for name in list(package.names):
        package.find_name(name)
    for info in package.sheets:
        if info.kind == "worksheet":
            read_range(package, info.name, "A1:D12")
    edits: Edits = {
        ("Input", "A1"): 5,
        ("Input", "Z9"): "text",
        ("It's calc", "A1"): Formula("1+1", 2.0),
    }
    Package.open(apply(package, edits, calculate_on_load=True))


def swap(part: str, old: str, new: str) -> bytes:
    """The rich workbook with a text in one part exchanged."""
    assert old.encode() in parts_of(RICH)[part]
    return change_part(RICH, part, lambda content: content.replace(old.encode(), new.encode(), 1))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "empty"),
        (b"item,price\nstone,52\n", "not an .xlsx workbook"),
        (b"<html><table></table></html>", "not an .xlsx workbook"),
        (OLE, "old .xls format"),
        (OLE + "EncryptedPackage".encode("utf-16-le"), "password"),
        (RICH[:-30], "cut short or damaged"),
        (RICH[: len(RICH) // 2], "cut short or damaged"),
        (RICH[:10], "cut short or damaged"),
        (add_parts(b"", {"a.txt": b"hello"}), "though it is a zip"),
        (
            add_parts(b"", {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet"}),
            "OpenDocument",
        ),
        (swap("_rels/.rels", "xl/workbook.xml", "xl/workbook.bin"), "binary workbook"),
        (swap("xl/workbook.xml", "<workbook ", "<document "), "damaged"),
        (swap("xl/workbook.xml", "spreadsheetml/2006/main", "other"), "not an .xlsx workbook"),
        (swap("xl/workbook.xml", 'name="Mine"', 'name="INPUT"'), "list of sheets is damaged"),
        (swap("xl/workbook.xml", 'r:id="rId2"', 'r:id="rId99"'), "list of sheets is damaged"),
        (swap("xl/workbook.xml", 'localSheetId="0"', 'localSheetId="77"'), "isn't there"),
    ],
)
def test_what_is_no_whole_workbook_is_said_in_one_sentence(data: bytes, message: str) -> None:
    with pytest.raises(FileError, match=message) as caught:
        Package.open(data, label="job.xlsx")
    assert caught.value.where == "job.xlsx"
    assert caught.value.cure


@needs_office
def test_an_opendocument_file_is_said() -> None:
    with pytest.raises(FileError, match="OpenDocument"):
        Package.open(convert(RICH, "ods"))


def test_a_workbook_without_the_types_of_its_parts_is_said() -> None:
    others = {n: content for n, content in parts_of(RICH).items() if n != "[Content_Types].xml"}
    with pytest.raises(FileError, match=r"lacks its part '\[Content_Types\]\.xml'"):
        Package.open(add_parts(b"", others))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_that_nobody_writes_to_is_no_workbook(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.xlsx"
    os.mkfifo(pipe)
    with pytest.raises(FileError, match="a pipe or a device"):
        Package.open(pipe)


def test_missing_files_folders_and_huge_files_are_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        Package.open(tmp_path / "gone.xlsx")
    with pytest.raises(FileError, match="folder"):
        Package.open(tmp_path)
    huge = tmp_path / "huge.xlsx"
    with huge.open("wb") as file:
        file.truncate(200 << 20)  # a hole, not real bytes
    with pytest.raises(FileError, match="bigger than"):
        Package.open(huge)


# --- zip tricks ---


def test_a_bomb_of_zeros_is_refused_before_it_is_unpacked() -> None:
    bomb = change_part(RICH, "xl/theme/theme1.xml", lambda _: b"0" * (40 << 20))
    start = time.perf_counter()
    with pytest.raises(FileError, match="unpacks to far more"):
        Package.open(bomb)
    assert time.perf_counter() - start < 2.0


def test_a_part_that_lies_about_its_size_is_refused() -> None:
    bomb = change_part(RICH, SHEET, lambda _: b"0" * (3 << 20))
    size = struct.pack("<I", 3 << 20)
    lie = bomb.replace(size, struct.pack("<I", 1000))
    with pytest.raises(FileError, match="damaged"):
        read_cell(Package.open(lie), "Input", "A1")


def test_many_parts_and_a_large_total_are_refused() -> None:
    many = add_parts(RICH, {f"xl/media/{n}.png": b"" for n in range(60)})
    with pytest.raises(FileError, match="too big"):
        Package.open(many, limits=Limits(parts=50))
    with pytest.raises(FileError, match="too big"):
        Package.open(RICH, limits=Limits(total_bytes=10_000))
    with pytest.raises(FileError, match="too big"):
        Package.open(RICH, limits=Limits(file_bytes=1_000))


def test_parts_that_share_their_bytes_are_refused() -> None:
    data = bytearray(RICH)
    first = data.index(b"PK\x01\x02")
    second = data.index(b"PK\x01\x02", first + 4)
    third = data.index(b"PK\x01\x02", second + 4)
    data[third + 42 : third + 46] = data[second + 42 : second + 46]
    data[third + 16 : third + 28] = data[second + 16 : second + 28]
    with pytest.raises(FileError, match="overlap"):
        use(bytes(data))


@pytest.mark.parametrize("twice", ["xl/workbook.xml", "XL/Workbook.xml", "/xl/workbook.xml"])
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_part_that_is_there_twice_is_refused(twice: str) -> None:
    with pytest.raises(FileError, match="twice"):
        Package.open(add_parts(RICH, {twice: b"<x/>"}))


@pytest.mark.parametrize(
    "name",
    ["../../evil.txt", "/etc/evil", "..\\evil", "C:\\evil.txt", "xl/../../evil", "CON", "a/"],
)
def test_part_names_with_paths_never_reach_the_disk(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "deep" / "er"
    folder.mkdir(parents=True)
    monkeypatch.chdir(folder)
    use(add_parts(RICH, {name: b"evil"}))
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == []
    assert not Path("/etc/evil").exists()


def test_links_that_leave_the_package_lead_nowhere() -> None:
    data = swap(
        "xl/_rels/workbook.xml.rels",
        "worksheets/sheet1.xml",
        "../../../../../../etc/hostname",
    )
    with pytest.raises(FileError, match="lacks its part 'etc/hostname'"):
        read_cell(Package.open(data), "Input", "A1")


def test_locked_zips_and_strange_compression_are_refused() -> None:
    data = bytearray(RICH)
    first = data.index(b"PK\x01\x02")
    locked = bytearray(data)
    locked[first + 8] |= 1
    with pytest.raises(FileError, match="zip password"):
        Package.open(bytes(locked))
    strange = bytearray(data)
    strange[first + 10] = 12
    with pytest.raises(FileError, match="compressed in a way"):
        Package.open(bytes(strange))


# --- XML tricks ---


@pytest.mark.parametrize("prolog", [LAUGHS, OUTSIDE])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize(
    "part", ["xl/workbook.xml", SHEET, "xl/sharedStrings.xml", "xl/styles.xml", "_rels/.rels"]
)
def test_document_types_and_entities_are_refused(part: str, prolog: str, encoding: str) -> None:
    def poison(content: bytes) -> bytes:
        body = content.decode().partition("?>")[2]
        text = prolog + body.replace("><", ">&a9;<" if prolog is LAUGHS else ">&a;<", 1)
        return text.encode(encoding)

    start = time.perf_counter()
    with pytest.raises(FileError, match=r"document type|damaged"):
        use(change_part(RICH, part, poison))
    assert time.perf_counter() - start < 2.0


def test_an_encoding_that_could_hide_a_document_type_is_refused() -> None:
    hidden = b'<?xml version="1.0" encoding="UTF-7"?>+ADwAIQ-DOCTYPE x+AD4-<a/>'
    with pytest.raises(FileError, match="damaged"):
        use(change_part(RICH, SHEET, lambda _: hidden))


def test_millions_of_elements_are_refused_and_deep_nesting_is_survived() -> None:
    flood = plain_workbook('<row r="1"/>' * 10)
    crowded = change_part(flood, SHEET, lambda _: os.urandom(1000) + b"<a/>" * 7_000_000)
    start = time.perf_counter()
    with pytest.raises(FileError, match=r"too big|unpacks"):
        read_cell(Package.open(crowded, limits=Limits(ratio=10**6)), "S", "A1")
    assert time.perf_counter() - start < 3.0
    nested = plain_workbook("<row>" * 100_000 + "</row>" * 100_000)
    with pytest.raises(FileError):
        apply(Package.open(nested), {("S", "A1"): 1})


@pytest.mark.parametrize(
    "cells",
    [
        '<row r="2"/><row r="1"/>',
        '<row r="1"/><row r="1"/>',
        '<row r="0"/>',
        '<row r="1048577"/>',
        '<row r="-1"/>',
        '<row r="99999999999999999999"/>',
        '<row r="1"><c r="B1"/><c r="A1"/></row>',
        '<row r="1"><c r="A1"/><c r="A1"/></row>',
        '<row r="1"><c r="A2"/></row>',
        '<row r="1"><c r="XFE1"/></row>',
        '<row r="1"><c r=""/></row>',
        '<row r="1"><c r="A1"><v>one</v></c></row>',
        '<row r="1"><c r="A1"><v>nan</v></c></row>',
        '<row r="1"><c r="A1"><v>1e999</v></c></row>',
        '<row r="1"><c r="A1"><v>1_0</v></c></row>',
        '<row r="1"><c r="A1" t="s"><v>5</v></c></row>',
        '<row r="1"><c r="A1" t="s"><v>-1</v></c></row>',
        '<row r="1"><c r="A1" t="s"><v>²</v></c></row>',
        '<row r="1"><c r="A1" t="d"><v>soon</v></c></row>',
        '<row r="1"><c r="A1" s="x"><v>1</v></c></row>',
        '<row r="1"><c r="A1"><f t="shared" si="4"/></c></row>',
        '<row r="1"><c r="A1"><f t="array" ref="all">1</f></c></row>',
    ],
)
def test_cells_that_contradict_themselves_are_said_with_their_sheet(cells: str) -> None:
    with pytest.raises(FileError, match="sheet S: The sheet is damaged"):
        read_range(Package.open(plain_workbook(cells), label="job.xlsx"), "S", "A1:B2")


@pytest.mark.parametrize("sign", ["&#10;", "&#13;&#10;&#9;", "\u202e", "&#x85;"])
def test_an_entry_that_would_break_the_sentence_is_quoted_in_one_line(sign: str) -> None:
    cells = f'<row r="1"><c r="A1"><v>1{sign}2</v></c></row>'
    with pytest.raises(FileError, match="no number") as refused:
        read_range(Package.open(plain_workbook(cells)), "S", "A1:B2")
    assert len(str(refused.value).splitlines()) == 1
    assert str(refused.value).isprintable()


def test_a_huge_dimension_costs_nothing() -> None:
    data = plain_workbook(
        '<row r="1"><c r="A1"><v>1</v></c></row>'
        '<row r="1048576"><c r="XFD1048576"><v>2</v></c></row>',
        head='<dimension ref="A1:XFD1048576"/>',
    )
    start = time.perf_counter()
    package = Package.open(data)
    assert read_cell(package, "S", "XFD1048576").value == 2
    apply(package, {("S", "B7"): 1})
    assert time.perf_counter() - start < 1.0


def test_a_name_over_a_whole_sheet_is_refused() -> None:
    data = swap("xl/workbook.xml", "Input!$A$1:$A$10", "Input!$A$1:$XFD$1048576")
    with pytest.raises(FileError, match="larger than this program reads"):
        read_name(Package.open(data), "lengths")


def test_macros_are_carried_and_never_looked_into() -> None:
    data = rich_workbook(macros=True)
    after = apply(Package.open(data), {("Input", "A1"): 2})
    assert parts_of(after)["xl/vbaProject.bin"] == parts_of(data)["xl/vbaProject.bin"]


# --- fuzzing ---

PARTS = ["[Content_Types].xml", "_rels/.rels", "xl/workbook.xml", "xl/_rels/workbook.xml.rels",
         "xl/styles.xml", "xl/sharedStrings.xml", SHEET, "xl/worksheets/sheet2.xml",
         "xl/worksheets/sheet3.xml"]  # fmt: skip
SNIPPETS = [b"", b"<", b"&", b"\0", b"</c>", b"<c>", b'"', b"99999999999", b"-1", b"#REF!", b"'",
            b"<f t='shared' si='0'/>", b"\xff", b"&#0;", b"A1:XFD1048576", b"<row r='7'>", b"r:id",
            b"[", b"t=\"s\""]  # fmt: skip
FUZZ = settings(
    max_examples=150, deadline=5000, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def only_clear_errors(data: bytes) -> None:
    """Any other exception, and any error without a sentence, fails the test."""
    sentence = "read"
    try:
        use(data)
    except EstimatorError as error:
        sentence = error.what
    assert sentence


@FUZZ
@given(st.integers(0, len(RICH) - 1), st.binary(max_size=6), st.integers(0, 400))
def test_bytes_changed_in_the_zip_give_only_clear_errors(
    place: int, patch: bytes, removed: int
) -> None:
    only_clear_errors(RICH[:place] + patch + RICH[place + removed :])


@FUZZ
@given(st.sampled_from(PARTS), st.floats(0, 1), st.integers(0, 30), st.sampled_from(SNIPPETS))
def test_parts_changed_anywhere_give_only_clear_errors(
    part: str, place: float, removed: int, snippet: bytes
) -> None:
    def mutate(content: bytes) -> bytes:
        at = int(place * len(content))
        return content[:at] + snippet + content[at + removed :]

    only_clear_errors(change_part(RICH, part, mutate))


@FUZZ
@given(st.sampled_from(PARTS), st.integers(0, 200), st.sampled_from(SNIPPETS))
def test_attribute_values_changed_give_only_clear_errors(
    part: str, index: int, snippet: bytes
) -> None:
    def mutate(content: bytes) -> bytes:
        pieces = content.split(b'"')
        at = (2 * index + 1) % len(pieces)
        pieces[at] = snippet
        return b'"'.join(pieces)

    only_clear_errors(change_part(RICH, part, mutate))


@settings(max_examples=40, deadline=5000, derandomize=True)
@given(st.sampled_from(PARTS), st.floats(0, 1), st.sampled_from(SNIPPETS))
def test_the_recalculation_of_changed_parts_gives_only_clear_errors(
    part: str, place: float, snippet: bytes
) -> None:
    def mutate(content: bytes) -> bytes:
        at = int(place * len(content))
        return content[:at] + snippet + content[at:]

    try:
        result = recalculate(change_part(RICH, part, mutate))
        sentence = "complete" if result.complete else result.note
    except EstimatorError as error:
        sentence = error.what
    assert sentence


def test_a_packed_part_with_trailing_rubbish_is_refused() -> None:
    content = parts_of(RICH)[SHEET]
    deflater = zlib.compressobj(6, zlib.DEFLATED, -15)
    packed = deflater.compress(content + b"<more/>") + deflater.flush()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", 8) as archive:
        for name, part in parts_of(RICH).items():
            archive.writestr(name, part)
        info = archive.getinfo(SHEET)
    data = out.getvalue()
    start = info.header_offset + 30 + len(SHEET)
    spoiled = data[:start] + packed[: info.compress_size] + data[start + info.compress_size :]
    with pytest.raises(FileError, match="damaged"):
        read_cell(Package.open(spoiled), "Input", "A1")


# --- whatever a refill refuses, check says, too ---

LINK_PART = "xl/externalLinks/externalLink1.xml"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def linked_outside(data: bytes) -> bytes:
    """A workbook with a link to cells of another one."""
    main = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    sheets = b'<sheetNames><sheetName val="Sheet1"/></sheetNames>'
    book = b'<externalBook xmlns:r="%s" r:id="rId1">%s</externalBook>' % (OFFICE.encode(), sheets)
    data = add_parts(data, {LINK_PART: b"<externalLink %s>%s</externalLink>" % (main, book)})
    for part, end, more in (
        (
            "xl/_rels/workbook.xml.rels",
            "</Relationships>",
            f'<Relationship Id="out1" Type="{OFFICE}/externalLink"'
            ' Target="externalLinks/externalLink1.xml"/></Relationships>',
        ),
        (
            "xl/workbook.xml",
            "</sheets>",
            f'</sheets><externalReferences><externalReference xmlns:q="{OFFICE}" q:id="out1"/>'
            "</externalReferences>",
        ),
    ):
        data = change_part(data, part, lambda c, e=end, m=more: c.replace(e.encode(), m.encode()))
    return data


def without_part(data: bytes, part: str) -> bytes:
    """A workbook that lost a part."""
    found = io.BytesIO()
    with zipfile.ZipFile(found, "w") as kept:
        for name, content in parts_of(data).items():
            if name != part:
                kept.writestr(name, content)
    return found.getvalue()


def rotten(data: bytes, part: str) -> bytes:
    """A workbook one byte of a part of which was lost on the disk."""
    with zipfile.ZipFile(io.BytesIO(data)) as there:
        info = there.getinfo(part)
    at = info.header_offset + 30 + len(part.encode()) + info.compress_size // 2
    return data[:at] + bytes([data[at] ^ 0x55]) + data[at + 1 :]


def said_by(action: Callable[[Package, Model], object], data: bytes) -> str:
    """The sentence with which a workbook of the small model is refused; empty if it is not."""
    try:
        action(Package.open(data, label="book.xlsx"), planters.model())
    except EstimatorError as error:
        return str(error)
    return ""


@pytest.mark.parametrize("harm", [without_part, rotten])
def test_check_refuses_whatever_a_refill_refuses(harm: Callable[[bytes, str], bytes]) -> None:
    book = linked_outside(planters.planted())
    assert said_by(refill_package, book) == said_by(check_package, book) == ""
    refused = set()
    for part in parts_of(book):
        by_refill, by_check = (
            said_by(action, harm(book, part)) for action in (refill_package, check_package)
        )
        assert bool(by_refill) == bool(by_check), part
        if by_refill:
            refused.add(part)
    assert LINK_PART in refused
    assert len(refused) > 5
