"""Long formulas that are alike down and along a sheet, written once for all their cells.

A spreadsheet reads such a formula once; LibreOffice opens a workbook of many sooner.
"""

from __future__ import annotations

import html
import re
from collections.abc import Mapping

from estimator.workbook.package.a1 import (
    Range,
    column_number,
    parse_cell,
    range_text,
    shift_formula,
    tokens,
)

__all__ = ["share_formulas", "written_out"]

_LEAST_CHARACTERS = 300
"""Shorter ones are read as soon as told to be shared."""
_MAY_BE_SHARED = frozenset(("string", "function", "cell", "number", "other"))
"""Pieces of formulas that are shared: the format knows no shared reference to another sheet, and
Excel doesn't move it."""
_TRUTHS = frozenset(("TRUE", "FALSE"))
_PLAIN = re.compile(rb'(<c r="([A-Z]+)([0-9]+)"[^>]*>)<f>([^<]*)</f>')
_SHARED = re.compile(
    rb'(<c r="([A-Z]+[0-9]+)"[^>]*>)<f t="shared"(?: ref="[^"]*")? si="([0-9]+)"'
    rb"(?:/>|>([^<]*)</f>)"
)


def share_formulas(part: bytes) -> bytes:
    """A worksheet's XML, in which long formulas that are alike are shared."""
    long = {
        (int(row), column_number(column.decode())): html.unescape(text.decode())
        for _, column, row, text in _PLAIN.findall(part)
        if len(text) >= _LEAST_CHARACTERS
    }
    elements: dict[tuple[int, int], bytes] = {}
    for number, area in enumerate(_blocks(long)):
        first = (area.row1, area.column1)
        elements.update(dict.fromkeys(area.cells(), f'<f t="shared" si="{number}"/>'.encode()))
        elements[first] = b'<f t="shared" ref="%s" si="%d">%s</f>' % (
            range_text(area).encode(),
            number,
            _escaped(long[first]),
        )

    def shared(match: re.Match[bytes]) -> bytes:
        element = elements.get((int(match[3]), column_number(match[2].decode())))
        return match[0] if element is None else match[1] + element

    return _PLAIN.sub(shared, part) if elements else part


def written_out(part: bytes) -> bytes:
    """A worksheet's XML with the formulas that :func:`share_formulas` shared in their cells."""
    masters: dict[bytes, tuple[int, int, str]] = {}

    def own(match: re.Match[bytes]) -> bytes:
        row, column = parse_cell(match[2].decode())
        if match[4] is not None:
            masters[match[3]] = row, column, html.unescape(match[4].decode())
        first_row, first_column, text = masters[match[3]]
        text = shift_formula(text, row - first_row, column - first_column)
        return match[1] + b"<f>" + _escaped(text) + b"</f>"

    return _SHARED.sub(own, part)


def _blocks(formulas: Mapping[tuple[int, int], str]) -> list[Range]:
    """Cells of more than one whose formulas are alike, by their rows and columns."""
    found: list[Range] = []
    for row, column in sorted(formulas, key=lambda place: (place[1], place[0])):
        last = found[-1] if found else None
        below = last is not None and (last.column1, last.row2 + 1) == (column, row)
        if last and below and _alike(formulas, (last.row1, column), (row, column)):
            found[-1] = last._replace(row2=row)
        elif _may_be_shared(formulas[row, column]):
            found.append(Range(row, column, row, column))
    wide: dict[tuple[int, int, int], Range] = {}
    for area in found:
        beside = wide.pop((area.row1, area.row2, area.column1 - 1), None)
        if beside is not None:
            corners = (beside.row1, beside.column1), (area.row1, area.column1)
            if _alike(formulas, *corners):
                area = beside._replace(column2=area.column2)
            else:
                wide[beside.row1, beside.row2, beside.column2] = beside
        wide[area.row1, area.row2, area.column2] = area
    return [area for area in wide.values() if area.size > 1]


def _may_be_shared(formula: str) -> bool:
    return all(kind in _MAY_BE_SHARED or text in _TRUTHS for kind, text in tokens(formula))


def _alike(
    formulas: Mapping[tuple[int, int], str], first: tuple[int, int], other: tuple[int, int]
) -> bool:
    """Whether a formula is the first one, copied to its cell."""
    moved = shift_formula(formulas[first], other[0] - first[0], other[1] - first[1])
    return moved == formulas[other]


def _escaped(text: str) -> bytes:
    return html.escape(text, quote=False).encode("ascii", "xmlcharrefreplace")
