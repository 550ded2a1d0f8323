"""The zip container of a workbook, read within limits and written the same way every time.

Nothing is ever extracted to disk, so a part's name is only a key. Parts that nobody changes are
carried over as the compressed bytes that were read.
"""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from estimator.errors import FileError

if TYPE_CHECKING:
    import lxml.etree

_STORED, _DEFLATED, _PENDING = 0, 8, -1
_UTF8_FLAG = 0x800
_FIXED_DATE = (0, (1 << 5) | 1)  # midnight, 1 January 1980: the earliest that a zip can hold
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCODING = re.compile(rb"^\s*<\?xml[^>]*?encoding\s*=\s*[\"']([A-Za-z0-9._-]*)[\"']")
SAVE_AS_XLSX = "Open it in your spreadsheet program and save it as .xlsx."
DAMAGED_CURE = "Take an earlier copy, or open it in a spreadsheet program and save it again."
SHEET_ORDER = (
    "sheetPr", "dimension", "sheetViews", "sheetFormatPr", "cols", "sheetData", "sheetCalcPr",
    "sheetProtection", "protectedRanges", "scenarios", "autoFilter", "sortState",
    "dataConsolidate", "customSheetViews", "mergeCells", "phoneticPr", "conditionalFormatting",
    "dataValidations", "hyperlinks", "printOptions", "pageMargins", "pageSetup", "headerFooter",
    "rowBreaks", "colBreaks", "customProperties", "cellWatches", "ignoredErrors", "smartTags",
    "drawing", "legacyDrawing", "legacyDrawingHF", "drawingHF", "picture", "oleObjects",
    "controls", "webPublishItems", "tableParts", "extLst",
)  # fmt: skip
"""Children of a sheet in the order that the file format asks for."""

BOOK_ORDER = (
    "fileVersion", "fileSharing", "workbookPr", "workbookProtection", "bookViews", "sheets",
    "functionGroups", "externalReferences", "definedNames", "calcPr", "oleSize",
    "customWorkbookViews", "pivotCaches", "smartTagPr", "smartTagTypes", "webPublishing",
    "fileRecoveryPr", "webPublishObjects", "extLst",
)  # fmt: skip
"""Children of a workbook's main part, in that order."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a file may ask of this machine before it is refused."""

    file_bytes: int = 128 << 20
    total_bytes: int = 512 << 20
    xml_bytes: int = 48 << 20
    xml_total_bytes: int = 128 << 20
    xml_elements: int = 1_000_000
    sheet_rows: int = 100_000
    parts: int = 10_000
    ratio: int = 300
    ratio_free_bytes: int = 4 << 20
    range_cells: int = 500_000


@dataclass(frozen=True, slots=True)
class Entry:
    """One part as it lies in the zip: ``packed`` are its bytes, compressed or stored.

    Of one that is pending they are not compressed, though they will be in the file.
    """

    name: str
    method: int
    crc: int
    size: int
    packed: bytes


def read_entries(data: bytes, label: str, limits: Limits) -> tuple[Entry, ...]:
    """Parts of a zip in the order of its directory, none of them unpacked yet.

    Raises:
        FileError: If the bytes are no whole, plain zip within the limits.
    """
    _check_kind(data, label)
    if len(data) > limits.file_bytes or data.count(b"PK\x01\x02") > 4 * limits.parts:
        raise too_big(label)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
    except (
        zipfile.BadZipFile, struct.error, ValueError, EOFError, OSError, OverflowError,
        NotImplementedError, IndexError,
    ) as error:  # fmt: skip
        raise FileError(
            "The file is cut short or damaged, so it can't be read.",
            where=label,
            cure=DAMAGED_CURE,
        ) from error
    if len(infos) > limits.parts or sum(i.file_size for i in infos) > limits.total_bytes:
        raise too_big(label)
    if sum(i.file_size for i in infos if i.filename.endswith(".xml")) > limits.xml_total_bytes:
        raise too_big(label)
    entries = [_read_entry(data, info, label, limits) for info in infos]
    seen: set[str] = set()
    for entry in entries:
        key = part_key(entry.name)
        if key in seen:
            raise FileError(
                f"The file holds the part '{entry.name[:80]}' twice.",
                where=label,
                cure=DAMAGED_CURE,
            )
        seen.add(key)
    spans = sorted((info.header_offset, info.compress_size) for info in infos)
    if any(start + size > following for (start, size), (following, _) in pairwise(spans)):
        raise FileError("The file's parts overlap.", where=label, cure=DAMAGED_CURE)
    return tuple(entries)


def part_key(name: str) -> str:
    """Key by which part names are the same: letter case and the kind of slash don't count."""
    return name.replace("\\", "/").lstrip("/").casefold()


def _check_kind(data: bytes, label: str) -> None:
    if data[:4] in (b"PK\x03\x04", b"PK\x05\x06"):
        return
    if not data:
        raise FileError("The file is empty.", where=label, cure=DAMAGED_CURE)
    if data.startswith(_OLE):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise FileError(
                "The workbook is locked with a password to open.",
                where=label,
                cure="Save a copy without that password.",
            )
        raise FileError(
            "This is a workbook in the old .xls format, not .xlsx.", where=label, cure=SAVE_AS_XLSX
        )
    raise FileError("This is not an .xlsx workbook.", where=label, cure=SAVE_AS_XLSX)


def too_big(label: str) -> FileError:
    return FileError(
        "The file is too big, or unpacks to far more than a workbook should.",
        where=label,
        cure="Remove what is not needed, such as large pictures or filled-down empty rows.",
    )


def _read_entry(data: bytes, info: zipfile.ZipInfo, label: str, limits: Limits) -> Entry:
    damaged = FileError(
        f"The part '{info.filename[:80]}' is damaged.", where=label, cure=DAMAGED_CURE
    )
    if info.flag_bits & 0x1:
        raise FileError("The file is locked with a zip password.", where=label, cure=SAVE_AS_XLSX)
    if info.compress_type not in (_STORED, _DEFLATED):
        raise FileError(
            "The file is compressed in a way that workbooks don't use.",
            where=label,
            cure=SAVE_AS_XLSX,
        )
    if any(ord(letter) < 32 for letter in info.orig_filename) or not info.filename:
        raise damaged
    offset = info.header_offset
    if offset < 0 or offset + 30 > len(data) or data[offset : offset + 4] != b"PK\x03\x04":
        raise damaged
    name_length, extra_length = struct.unpack_from("<HH", data, offset + 26)
    start = offset + 30 + name_length + extra_length
    packed = data[start : start + info.compress_size]
    if len(packed) != info.compress_size:
        raise damaged
    if info.compress_type == _STORED and info.file_size != info.compress_size:
        raise damaged
    if info.file_size > limits.ratio_free_bytes and info.file_size > limits.ratio * len(packed):
        raise too_big(label)
    return Entry(info.filename, info.compress_type, info.CRC, info.file_size, packed)


def unpack(entry: Entry, label: str, most_bytes: int) -> bytes:
    """Bytes of a part.

    Raises:
        FileError: If it is damaged, or longer than it says or than ``most_bytes``.
    """
    if entry.size > most_bytes:
        raise too_big(label)
    content: bytes | None = entry.packed
    if entry.method == _PENDING:
        return entry.packed
    if entry.method == _DEFLATED:
        inflater = zlib.decompressobj(-15)
        try:
            content = inflater.decompress(entry.packed, entry.size + 1)
        except zlib.error:
            content = None
    if content is None or len(content) != entry.size or zlib.crc32(content) != entry.crc:
        raise FileError(f"The part '{entry.name[:80]}' is damaged.", where=label, cure=DAMAGED_CURE)
    return content


def pack(name: str, content: bytes, level: int = 6) -> Entry:
    """Part made of new bytes."""
    deflater = zlib.compressobj(level, zlib.DEFLATED, -15)
    packed = deflater.compress(content) + deflater.flush()
    return Entry(name, _DEFLATED, zlib.crc32(content), len(content), packed)


def pending(name: str, content: bytes) -> Entry:
    """Part made of new bytes, which are compressed when the file is written and not before."""
    return Entry(name, _PENDING, 0, len(content), content)


def packed(entry: Entry) -> Entry:
    """The part as it lies in a file: compressed, if it is pending."""
    return pack(entry.name, entry.packed) if entry.method == _PENDING else entry


def stored(name: str, content: bytes) -> Entry:
    """Part made of new bytes without compression, for a reader that would unpack it at once."""
    return Entry(name, _STORED, zlib.crc32(content), len(content), content)


def write_entries(entries: Iterable[Entry]) -> bytes:
    """Zip of the parts: fixed dates and no extras, so that equal parts give equal bytes."""
    body: list[bytes] = []
    directory: list[bytes] = []
    at = 0
    for entry in map(packed, entries):
        try:
            name, flags = entry.name.encode("ascii"), 0
        except UnicodeEncodeError:
            name, flags = entry.name.encode("utf-8"), _UTF8_FLAG
        common = struct.pack(
            "<HHHHHIIIHH",
            20, flags, entry.method, *_FIXED_DATE, entry.crc, len(entry.packed), entry.size,
            len(name), 0,
        )  # fmt: skip
        head = b"PK\x03\x04" + common + name
        place = struct.pack("<HHHII", 0, 0, 0, 0, at)
        directory.append(b"PK\x01\x02" + struct.pack("<H", 20) + common + place + name)
        body += head, entry.packed
        at += len(head) + len(entry.packed)
    listing, count = b"".join(directory), len(directory)
    end = struct.pack("<HHHHIIH", 0, 0, count, count, len(listing), at, 0)
    return b"".join((*body, listing, b"PK\x05\x06", end))


def parse_xml(content: bytes, part: str, label: str, limits: Limits) -> ElementTree.Element:
    """Root of a part to read (fast to walk), without document types or outside entities.

    Raises:
        FileError: If the part is no well-formed XML, has a document type, or is too big.
    """
    _check_xml(content, part, label, limits)
    try:
        return ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise _damaged_part(part, label) from error


def parse_xml_to_change(
    content: bytes, part: str, label: str, limits: Limits
) -> lxml.etree._Element:
    """Root of a part to change and write back, with its prefixes, comments and white space.

    Raises:
        FileError: As :func:`parse_xml`.
    """
    from lxml import etree

    _check_xml(content, part, label, limits)
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, dtd_validation=False,
        huge_tree=False,
    )  # fmt: skip
    try:
        root = etree.fromstring(content, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise _damaged_part(part, label) from error
    if root is None or root.getroottree().docinfo.internalDTD is not None:
        raise _damaged_part(part, label)
    return root


def _damaged_part(part: str, label: str) -> FileError:
    return FileError(f"The part '{part[:80]}' is damaged.", where=label, cure=DAMAGED_CURE)


def _check_xml(content: bytes, part: str, label: str, limits: Limits) -> None:
    """Refuse document types (so no entity can be declared) and encodings that could hide one."""
    if len(content) > limits.xml_bytes:
        raise too_big(label)
    for sign, most in ((b"<", 2 * limits.xml_elements), (b"=", 4 * limits.xml_elements)):
        if len(content) > most and content.count(sign) > most:  # counting all takes its time
            raise too_big(label)
    plain = content.replace(b"\0", b"") if b"\0" in content[:64] else content
    encoding = _ENCODING.match(plain.lstrip(b"\xef\xbb\xbf\xff\xfe"))
    if encoding and encoding[1].lower() not in (b"utf-8", b"utf-16", b"us-ascii", b"ascii"):
        raise _damaged_part(part, label)
    if b"<!DOCTYPE" in plain or b"<!ENTITY" in plain:
        raise FileError(
            f"The part '{part[:80]}' declares a document type, which no workbook needs "
            "and which can be used to attack a reader.",
            where=label,
            cure="Don't use this file unless you know who made it.",
        )


def to_bytes(root: lxml.etree._Element) -> bytes:
    """The part's bytes again: UTF-8 with the standard declaration."""
    from lxml import etree

    declaration = b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    return declaration + etree.tostring(root.getroottree(), encoding="UTF-8", xml_declaration=False)


def put_in_order(
    root: lxml.etree._Element, node: lxml.etree._Element, order: Sequence[str]
) -> None:
    """Insert a child before those that come after it in the order that the file format asks for.

    Args:
        root: The parent.
        node: The child, one of ``order``, in the parent's namespace.
        order: Local names of the parent's children.
    """
    namespace, brace, local = node.tag.rpartition("}")
    later = {namespace + brace + name for name in order[order.index(local) + 1 :]}
    following = next((child for child in root if child.tag in later), None)
    if following is None:
        root.append(node)
    else:
        following.addprevious(node)
