"""The sheet ``xlwings.conf`` of a workbook: the settings that xlwings looks for first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from estimator.workbook.package.cells import apply, read_range
from estimator.workbook.package.container import to_bytes
from estimator.workbook.package.parts import CONTENT_TYPES, Package

SHEET = "xlwings.conf"
HARMLESS = frozenset(
    ("SHOW CONSOLE", "DEBUG UDFS", "LICENSE_KEY", "LOG FILE", "USE UDF SERVER", "UDF_SERVER_PORT")
)
"""Settings of a person's own that say neither which Python runs nor where it looks for programs."""
_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_RELATIONSHIP = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_STRICT = "http://purl.oclc.org/ooxml/officeDocument/relationships"


def with_settings(package: Package, settings: Mapping[str, str]) -> bytes:
    """The workbook with these settings on its sheet ``xlwings.conf``, made if it is not there.

    Of other settings on that sheet those in ``HARMLESS`` stay. The rest are taken out: another
    program's interpreter, environment or path would run in the place of ours. Every other part is
    carried over as it was.

    Raises:
        FileError: If the workbook can't be changed.
    """
    if not any(sheet.name == SHEET for sheet in package.sheets):
        package = Package.open(_with_sheet(package), label=package.label)
    rows = _rows_of(package)
    row = max(rows.values(), default=0)
    edits: dict[tuple[str, str], str | None] = {}
    for key in foreign(rows, settings):
        edits[SHEET, f"A{rows[key]}"] = edits[SHEET, f"B{rows[key]}"] = None
    for key, value in settings.items():
        if key not in rows:
            row += 1
            rows[key] = row
            edits[SHEET, f"A{row}"] = key
        edits[SHEET, f"B{rows[key]}"] = value
    return apply(package, dict(edits))


def foreign(keys: Iterable[str], settings: Iterable[str]) -> tuple[str, ...]:
    """Names of settings that are neither these nor harmless."""
    known = HARMLESS | frozenset(settings)
    return tuple(key for key in keys if key not in known)


def settings_of(package: Package) -> dict[str, str]:
    """Settings on the sheet ``xlwings.conf``, empty if there is none."""
    if not any(sheet.name == SHEET for sheet in package.sheets):
        return {}
    return {
        key: str(read_range(package, SHEET, f"B{row}")[0][0].value or "")
        for key, row in _rows_of(package).items()
    }


def _rows_of(package: Package) -> dict[str, int]:
    """Row of every setting on the sheet."""
    keys = [row[0].value for row in read_range(package, SHEET, "A1:A100")]
    return {str(key).strip().upper(): at for at, key in enumerate(keys, start=1) if key}


def _with_sheet(package: Package) -> bytes:
    number = 1
    while package.has(f"xl/worksheets/sheet{number}.xml"):
        number += 1
    part = f"xl/worksheets/sheet{number}.xml"
    links_part = package.relationships_part(package.main_part)
    book, links, types = (
        package.xml_to_change(p) for p in (package.main_part, links_part, CONTENT_TYPES)
    )
    relation = _STRICT if "purl.oclc.org" in package.namespace else _RELATIONSHIP
    used = {link.get("Id") for link in links}
    rid = next(f"rId{n}" for n in range(1, len(used) + 2) if f"rId{n}" not in used)
    namespace = links.tag.rpartition("}")[0] + "}"
    link = links.makeelement(
        namespace + "Relationship",
        {"Id": rid, "Type": f"{relation}/worksheet", "Target": f"/{part}"},
    )
    links.append(link)
    override = types.makeelement(
        types.tag.rpartition("}")[0] + "}Override",
        {"PartName": f"/{part}", "ContentType": _TYPE},
    )
    types.append(override)
    sheets = book.find(package.tag("sheets"))
    assert sheets is not None  # the package lists them
    numbers = [int(s.get("sheetId") or 0) for s in sheets]
    sheets.append(
        sheets.makeelement(
            package.tag("sheet"),
            {"name": SHEET, "sheetId": str(max(numbers) + 1), f"{{{relation}}}id": rid},
            nsmap={"r": relation},  # by this prefix, which not every reader looks up
        )
    )
    blank = (
        f'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        f'<worksheet xmlns="{package.namespace}"><cols><col min="1" max="1" width="22" '
        f'customWidth="1"/><col min="2" max="2" width="70" customWidth="1"/></cols>'
        f"<sheetData/></worksheet>"
    )
    return package.with_parts(
        {
            part: blank.encode(),
            package.main_part: to_bytes(book),
            links_part: to_bytes(links),
            CONTENT_TYPES: to_bytes(types),
        }
    )
