"""A workbook file as a package of parts: its sheets, its defined names, and writing it back.

Nothing here knows what the sheets are about. A package is read once and never changes; with parts
replaced it is another package, in which every other part is what it was, and nothing is read again.
"""

from __future__ import annotations

import posixpath
import stat
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import unquote
from xml.etree.ElementTree import Element

from estimator.errors import FileError
from estimator.workbook.package.a1 import LOST_REFERENCE, split_target
from estimator.workbook.package.container import (
    BOOK_ORDER,
    DAMAGED_CURE,
    SAVE_AS_XLSX,
    Entry,
    Limits,
    packed,
    parse_xml,
    parse_xml_to_change,
    part_key,
    pending,
    put_in_order,
    read_entries,
    stored,
    to_bytes,
    too_big,
    unpack,
    write_entries,
)

if TYPE_CHECKING:
    import lxml.etree

__all__ = ["Limits", "NameTarget", "Package", "Relationship", "SheetInfo"]

CONTENT_TYPES = "[Content_Types].xml"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_MAIN_STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
_RELATION_IDS = (
    "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id",
    "{http://purl.oclc.org/ooxml/officeDocument/relationships}id",
)
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
_XLSM = "application/vnd.ms-excel.sheet.macroEnabled.main+xml"


@dataclass(frozen=True, slots=True)
class Relationship:
    """A link from one part to another; ``kind`` is the last word of its type."""

    id: str
    kind: str
    target: str


@dataclass(frozen=True, slots=True)
class SheetInfo:
    """A sheet in tab order. ``kind`` is worksheet, chartsheet, dialogsheet, ..."""

    name: str
    part: str
    kind: str
    state: str


class NameTarget(NamedTuple):
    """What a defined name stands for.

    ``sheet`` and ``ref`` are filled where it is one rectangle on a sheet of this workbook (the
    sheet's name as the tab spells it, the reference without dollar signs); they are empty for
    constants, formulas and broken names. ``scope`` is the sheet of a sheet-local name.
    """

    name: str
    sheet: str
    ref: str
    text: str
    scope: str = ""
    broken: bool = False


class Package:
    """An .xlsx or .xlsm file that was read and checked.

    Attributes:
        label: File name for messages.
        sheets: All sheets in tab order.
        names: Workbook-wide defined names by their spelling.
        local_names: Sheet-local names by (sheet, name).
        date1904: Whether dates count from 1904.
        memo: Place for what readers derive from this package once.
    """

    __slots__ = (
        "__weakref__", "_by_key", "_entries", "_spelled", "_unpacked", "_xml", "date1904", "label",
        "limits", "local_names", "main_part", "memo", "names", "namespace", "sheets",
    )  # fmt: skip

    def __init__(
        self,
        entries: tuple[Entry, ...],
        label: str,
        limits: Limits,
        before: Package | None = None,
    ) -> None:
        self.label = label
        self.limits = limits
        self._entries = entries
        self._by_key = {part_key(entry.name): entry for entry in self._entries}
        self._xml: dict[str, Element] = {}
        self._unpacked: dict[str, bytes] = {}
        self.memo: dict[Any, Any] = {}
        if before is not None and self._take_over(before):
            return
        self.main_part = self._find_main_part()
        self._entry(CONTENT_TYPES)  # without it no spreadsheet opens the file
        book = self.xml(self.main_part)
        self.namespace = book.tag.removeprefix("{").partition("}")[0]
        if self.namespace not in (_MAIN, _MAIN_STRICT) or book.tag != self.tag("workbook"):
            raise FileError("This is not an .xlsx workbook.", where=label, cure=SAVE_AS_XLSX)
        properties = book.find(self.tag("workbookPr"))
        self.date1904 = properties is not None and properties.get("date1904") in ("1", "true")
        self.sheets = self._read_sheets(book)
        self.names, self.local_names = self._read_names(book)
        self._spelled = {n.casefold(): t for n, t in reversed(self.names.items())}

    def _take_over(self, before: Package) -> bool:
        """What was read of parts that are the same; whether that is all that is read at once."""
        same = {key for key, entry in self._by_key.items() if entry is before._by_key.get(key)}
        self._xml.update({p: root for p, root in before._xml.items() if part_key(p) in same})
        self._unpacked.update(
            {key: before._unpacked[key] for key in same & before._unpacked.keys()}
        )
        self.main_part = before.main_part
        links = self.relationships_part(""), self.relationships_part(self.main_part)
        if not {part_key(part) for part in (CONTENT_TYPES, self.main_part, *links)} <= same:
            return False
        self.namespace, self.date1904 = before.namespace, before.date1904
        self.sheets, self.names = before.sheets, before.names
        self.local_names, self._spelled = before.local_names, before._spelled
        return True

    @classmethod
    def open(
        cls, source: str | Path | bytes, *, label: str = "", limits: Limits | None = None
    ) -> Package:
        """Read a workbook from a path or from its bytes.

        Raises:
            FileError: If it can't be read, is no .xlsx or .xlsm workbook, is damaged, or asks
                for more than the limits allow.
        """
        limits = limits or Limits()
        if isinstance(source, bytes):
            data, label = source, label or "workbook"
        else:
            path = Path(source)
            data, label = read_file(path, limits), label or path.name
        return cls(read_entries(data, label, limits), label, limits)

    # --- parts ---

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of all parts in the file's order."""
        return tuple(entry.name for entry in self._entries)

    def has(self, part: str) -> bool:
        """Whether the part exists."""
        return part_key(part) in self._by_key

    def read(self, part: str) -> bytes:
        """Bytes of a part.

        Raises:
            FileError: If it is missing or damaged.
        """
        return self._content(part, self.limits.total_bytes)

    def xml(self, part: str) -> Element:
        """Root of an XML part to read, parsed once and shared: not to be changed."""
        root = self._xml.get(part)
        if root is None:
            content = self._content(part, self.limits.xml_bytes)
            root = self._xml[part] = parse_xml(content, part, self.label, self.limits)
        return root

    def xml_to_change(self, part: str) -> lxml.etree._Element:
        """Root of an XML part, parsed anew for the caller to change and write back."""
        content = self._content(part, self.limits.xml_bytes)
        return parse_xml_to_change(content, part, self.label, self.limits)

    def _content(self, part: str, most_bytes: int) -> bytes:
        """Bytes of a part, unpacked once."""
        entry = self._entry(part)
        found = self._unpacked.get(part_key(entry.name))
        if found is None:
            found = self._unpacked[part_key(entry.name)] = unpack(entry, self.label, most_bytes)
        elif len(found) > most_bytes:
            raise too_big(self.label)
        return found

    def _entry(self, part: str) -> Entry:
        entry = self._by_key.get(part_key(part))
        if entry is None:
            raise FileError(
                f"The file lacks its part '{part[:80]}'.", where=self.label, cure=DAMAGED_CURE
            )
        return entry

    def tag(self, local: str) -> str:
        """Full tag of a spreadsheet element in this file's namespace."""
        return f"{{{self.namespace}}}{local}"

    # --- relationships ---

    @staticmethod
    def relationships_part(part: str) -> str:
        """Name of the part that holds the relationships of ``part`` ('' for the package)."""
        folder, name = posixpath.split(part)
        return posixpath.join(folder, "_rels", f"{name}.rels")

    def relationships(self, part: str) -> tuple[Relationship, ...]:
        """Links from a part to parts of this package; links to the outside are left out."""
        rels = self.relationships_part(part)
        if not self.has(rels):
            return ()
        found = []
        for link in self.xml(rels):
            if link.get("TargetMode") == "External":
                continue
            target = self._resolve(part, link.get("Target") or "")
            kind = (link.get("Type") or "").rpartition("/")[2]
            found.append(Relationship(link.get("Id") or "", kind, target))
        return tuple(found)

    def related(self, part: str, kind: str) -> str | None:
        """First part of that kind that ``part`` links to, if it exists."""
        for link in self.relationships(part):
            if link.kind == kind and self.has(link.target):
                return link.target
        return None

    def _resolve(self, part: str, target: str) -> str:
        target = target.replace("\\", "/")
        base = "/" if target.startswith("/") else "/" + posixpath.dirname(part)
        path = posixpath.normpath(posixpath.join(base, target)).lstrip("/")
        return path if self.has(path) else unquote(path)

    # --- sheets and names ---

    @property
    def signed(self) -> bool:
        """Whether the file carries a digital signature, which any change makes invalid."""
        return any(part_key(name).startswith("_xmlsignatures/") for name in self.parts)

    def sheet(self, name: str) -> SheetInfo:
        """Sheet of that name; letter case doesn't count.

        Raises:
            FileError: If there is none.
        """
        for sheet in self.sheets:
            if sheet.name == name:
                return sheet
        for sheet in self.sheets:
            if sheet.name.casefold() == name.casefold():
                return sheet
        raise FileError(
            f"The workbook has no sheet '{name[:60]}'.",
            where=self.label,
            cure="Give the sheet its name back, or take it over from an earlier copy.",
        )

    def find_name(self, name: str, sheet: str = "") -> NameTarget | None:
        """Defined name, the sheet's own before the workbook's; letter case doesn't count."""
        wanted = name.casefold()
        for (scope, spelling), target in self.local_names.items():
            if sheet and scope == sheet and spelling.casefold() == wanted:
                return target
        return self.names.get(name) or self._spelled.get(wanted)

    def range_of(self, name: str) -> tuple[str, str]:
        """Sheet and reference of a workbook-wide name.

        Raises:
            FileError: If the name is missing, broken, or stands for no rectangle of cells.
        """
        target = self.find_name(name)
        if target is not None and target.ref:
            return target.sheet, target.ref
        if target is None:
            what = f"The workbook lacks the name '{name}'."
        elif target.broken:
            what = f"The cells of the name '{name}' were deleted (it reads {target.text[:60]})."
        else:
            what = f"The name '{name}' stands for no cells (it reads {target.text[:60]})."
        cure = "Define it again on its cells, or take an earlier copy of the workbook."
        raise FileError(what, where=self.label, cure=cure)

    def _find_main_part(self) -> str:
        for link in self.relationships(""):
            if link.kind == "officeDocument":
                if not link.target.casefold().endswith(".xml"):
                    raise FileError(
                        "This is a binary workbook (.xlsb) or another kind of document.",
                        where=self.label,
                        cure=SAVE_AS_XLSX,
                    )
                return link.target
        if self.has("mimetype") and b"opendocument" in self.read("mimetype")[:100]:
            what = "This is an OpenDocument file, not an .xlsx workbook."
        else:
            what = "This is not an .xlsx workbook, though it is a zip file."
        raise FileError(what, where=self.label, cure=SAVE_AS_XLSX)

    def _read_sheets(self, book: Element) -> tuple[SheetInfo, ...]:
        links = {link.id: link for link in self.relationships(self.main_part)}
        sheets, seen = [], set()
        for element in book.iterfind(f"{self.tag('sheets')}/{self.tag('sheet')}"):
            name = element.get("name") or ""
            identifier = next((element.get(key) for key in _RELATION_IDS if element.get(key)), "")
            link = links.get(identifier or "")
            if link is None or not name or name.casefold() in seen:
                raise FileError(
                    f"The list of sheets is damaged at '{name[:60]}'.",
                    where=self.label,
                    cure=DAMAGED_CURE,
                )
            seen.add(name.casefold())
            state = element.get("state") or "visible"
            sheets.append(SheetInfo(name, link.target, link.kind, state))
        if not sheets:
            raise FileError("The workbook has no sheets.", where=self.label, cure=DAMAGED_CURE)
        return tuple(sheets)

    def _read_names(
        self, book: Element
    ) -> tuple[dict[str, NameTarget], dict[tuple[str, str], NameTarget]]:
        spelled = {sheet.name.casefold(): sheet.name for sheet in self.sheets}
        wide: dict[str, NameTarget] = {}
        local: dict[tuple[str, str], NameTarget] = {}
        for element in book.iterfind(f"{self.tag('definedNames')}/{self.tag('definedName')}"):
            name, text = element.get("name") or "", element.text or ""
            scope = self._scope(element.get("localSheetId"), name)
            pair = split_target(text)
            broken = LOST_REFERENCE in text
            sheet, ref = "", ""
            if pair:
                sheet, ref = spelled.get(pair[0].casefold(), ""), pair[1]
                broken, ref = (False, ref) if sheet else (True, "")
            target = NameTarget(name, sheet, ref, text, scope, broken)
            if scope:
                local.setdefault((scope, name), target)
            else:
                wide.setdefault(name, target)
        return wide, local

    def _scope(self, index: str | None, name: str) -> str:
        if index is None:
            return ""
        if index.isascii() and index.isdigit() and int(index[:6]) < len(self.sheets):
            return self.sheets[int(index[:6])].name
        raise FileError(
            f"The name '{name[:60]}' belongs to a sheet that isn't there.",
            where=self.label,
            cure=DAMAGED_CURE,
        )

    # --- writing ---

    def with_parts(self, changes: Mapping[str, bytes | None]) -> bytes:
        """File with some parts replaced (bytes) or dropped (None); new ones come last.

        Every other part keeps its compressed bytes; dates inside the zip are fixed, so that the
        same content always gives the same file.
        """
        return write_entries(self._entries_with(changes))

    def to_bytes(self) -> bytes:
        """The file."""
        self._entries = tuple(packed(entry) for entry in self._entries)
        self._by_key = {part_key(entry.name): entry for entry in self._entries}
        return write_entries(self._entries)

    def to_stored_bytes(self, changes: Mapping[str, bytes]) -> bytes:
        """The file without compression: larger, and read faster by an engine beside this program.

        Args:
            changes: Content in place of that of some of its parts.

        Raises:
            FileError: If a part is damaged.
        """
        most = self.limits.total_bytes
        return write_entries(
            stored(entry.name, changes.get(entry.name) or self._content(entry.name, most))
            for entry in self._entries
        )

    def changed(self, changes: Mapping[str, bytes | None], *, label: str = "") -> Package:
        """The package that :meth:`with_parts` gives the file of, without reading that.

        Args:
            changes: By name of a part, its bytes, or None to drop it.
            label: Another file name for messages.

        Raises:
            FileError: If a part that lists sheets and names is damaged now.
        """
        return Package(self._entries_with(changes), label or self.label, self.limits, self)

    def _entries_with(self, changes: Mapping[str, bytes | None]) -> tuple[Entry, ...]:
        left = {part_key(name): (name, content) for name, content in changes.items()}
        entries = []
        for entry in self._entries:
            _, content = left.pop(part_key(entry.name), (entry.name, entry.packed))
            if content is entry.packed:
                entries.append(entry)
            elif content is not None:
                entries.append(pending(entry.name, content))
        entries += [
            pending(name, content) for name, content in left.values() if content is not None
        ]
        return tuple(entries)

    def as_xlsm(self) -> Package:
        """The file as one that may hold macros; it holds none that it did not hold before."""
        return self._of_type(_XLSM)

    def as_xlsx(self) -> Package:
        """The file as one of the kind without macros; for the engine, which takes no other."""
        return self._of_type(_XLSX)

    def _of_type(self, content_type: str) -> Package:
        types = self.xml_to_change(CONTENT_TYPES)
        for element in types:
            if isinstance(element.tag, str) and (
                part_key(element.get("PartName") or "") == part_key(self.main_part)
            ):
                element.set("ContentType", content_type)
        return self.changed({CONTENT_TYPES: to_bytes(types)})

    def without_calculation_chain(self) -> dict[str, bytes | None]:
        """Changes that drop the calculation chain, its link and its content type."""
        chain = self.related(self.main_part, "calcChain")
        if chain is None:
            return {}
        rels = self.relationships_part(self.main_part)
        links, types = self.xml_to_change(rels), self.xml_to_change(CONTENT_TYPES)
        for link in list(links):
            if isinstance(link.tag, str) and (link.get("Type") or "").endswith("/calcChain"):
                links.remove(link)
        for override in list(types):
            if isinstance(override.tag, str) and part_key(
                override.get("PartName") or ""
            ) == part_key(chain):
                types.remove(override)
        return {chain: None, rels: to_bytes(links), CONTENT_TYPES: to_bytes(types)}

    def with_calculation_on_load(self) -> dict[str, bytes | None]:
        """Changes that make spreadsheet programs calculate everything when they open the file."""
        book = self.xml_to_change(self.main_part)
        settings = book.find(self.tag("calcPr"))
        if settings is None:
            settings = book.makeelement(self.tag("calcPr"))
            put_in_order(book, settings, BOOK_ORDER)
        if settings.get("fullCalcOnLoad") in ("1", "true"):
            return {}
        settings.set("fullCalcOnLoad", "1")
        return {self.main_part: to_bytes(book)}


def read_file(path: Path, limits: Limits | None = None) -> bytes:
    """Bytes of a file on disk.

    Raises:
        FileError: If it is missing, a folder or a device, not readable, or too big.
    """
    limits = limits or Limits()
    try:
        status = path.stat()
        if not (stat.S_ISREG(status.st_mode) or stat.S_ISDIR(status.st_mode)):
            raise FileError(  # a pipe that nobody writes to is waited for without end
                "This is a pipe or a device, not a file.",
                where=str(path),
                cure="Name the workbook's file.",
            )
        if status.st_size > limits.file_bytes:
            raise FileError(
                f"The file is bigger than {limits.file_bytes >> 20} MB.",
                where=path.name,
                cure="Remove what is not needed, such as large pictures.",
            )
        return path.read_bytes()
    except FileNotFoundError as error:
        raise FileError(
            "There is no such file.", where=str(path), cure="Check the name and the folder."
        ) from error
    except IsADirectoryError as error:
        raise FileError(
            "This is a folder, not a file.", where=str(path), cure="Name the workbook inside it."
        ) from error
    except (OSError, ValueError) as error:
        raise FileError(
            "The file can't be read.",
            where=path.name,
            cure="Close it in other programs and check that you may read it.",
        ) from error
