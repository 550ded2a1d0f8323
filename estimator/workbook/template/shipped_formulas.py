"""The formulas of a shipped template, and a list of them beside it that is read sooner than it."""

from __future__ import annotations

import hashlib
import html
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from estimator.workbook.package.a1 import Range, parse_range, range_text
from estimator.workbook.package.parts import Package
from estimator.workbook.package.shared_formulas import written_out

LISTED = ".formulas"
"""Ending of the list beside a template."""
MARK_BYTES = 32
_FORMULA = re.compile(r'<c r="([A-Z]+[0-9]+)"[^>]*><f>([^<]*)</f>')
_FIELD, _SECTION = "\x1f", "\x1e"
"""What stands between the fields and the sections of a list: no part of a workbook may hold it."""


@dataclass(frozen=True, slots=True)
class Shipped:
    """Formulas by sheet and address, and the ranges of defined names.

    A cell of a range that did not move, with the very text that it was shipped with, is nobody's
    change: most are told so, without writing out the model's twenty thousand formulas.
    """

    formulas: Mapping[str, Mapping[str, str]]
    ranges: Mapping[str, tuple[str, Range]]

    @classmethod
    def of(cls, template: bytes, label: str) -> Shipped:
        """Those of a template's file.

        Raises:
            FileError: If it is no whole workbook.
        """
        package = Package.open(template, label=label)
        formulas = {
            info.name: dict(_formulas(package.read(info.part)))
            for info in package.sheets
            if info.kind == "worksheet"
        }
        ranges = {
            name: (target.sheet, parse_range(target.ref))
            for name, target in package.names.items()
            if not target.broken and target.ref
        }
        return cls(formulas, ranges)

    @classmethod
    def read(cls, listed: bytes, template: bytes) -> Shipped | None:
        """Those of a list; None where it is not whole, or of another template."""
        body, mark = listed[:-MARK_BYTES], listed[-MARK_BYTES:]
        if mark != _mark(body, template):
            return None
        named, *sheets = body.decode().split(_SECTION)
        formulas = {}
        for sheet in sheets:
            title, *fields = sheet.split(_FIELD)
            formulas[title] = dict(zip(fields[::2], fields[1::2], strict=True))
        names = named.split(_FIELD) if named else []
        ranges = {
            name: (sheet, parse_range(ref))
            for name, sheet, ref in zip(names[::3], names[1::3], names[2::3], strict=True)
        }
        return cls(formulas, ranges)

    def listed(self, template: bytes) -> bytes:
        """The list of a template whose formulas these are."""
        names = ((name, sheet, range_text(area)) for name, (sheet, area) in self.ranges.items())
        sheets = (
            _FIELD.join((title, *chain.from_iterable(cells.items())))
            for title, cells in self.formulas.items()
        )
        body = _SECTION.join((_FIELD.join(chain.from_iterable(names)), *sheets)).encode()
        return body + _mark(body, template)

    def formula(self, sheet: str, place: str) -> str | None:
        """The formula of a cell as it reads; None where none stands."""
        cells = self.formulas.get(sheet)
        return None if cells is None else cells.get(place)


def _formulas(part: bytes) -> Iterator[tuple[str, str]]:
    """Address and text of every formula of a worksheet."""
    for place, text in _FORMULA.findall(written_out(part).decode()):
        yield place, html.unescape(text)


def _mark(body: bytes, template: bytes) -> bytes:
    """What a list ends in: the checksum of what it says and of the template that it is of."""
    checksum = hashlib.sha256(template)
    checksum.update(body)
    return checksum.digest()
