"""Formulas set aside, so that an engine takes their cells for values, and put back afterwards."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from estimator.workbook.package.a1 import Cell, address
from estimator.workbook.package.parts import Package

__all__ = ["Aside", "laid_aside", "put_back", "without_formulas"]

# Shared formulas that others lean on, array formulas and data tables have attributes with text.
_FORMULA_CELL = re.compile(
    rb'(<c r="([A-Z]{1,3}[1-9]\d{0,6})"[^>]*(?<!/)>)'
    rb'(<f(?: (?:aca|ca)="[^"]*")*>[^<]*</f>|<f t="shared" si="\d+"/>)'
)
_CELL = re.compile(rb'<c r="([A-Z]{1,3}[1-9]\d{0,6})"[^>]*(?<!/)>')


@dataclass(frozen=True, slots=True)
class Aside:
    """Parts of a workbook without some of their formulas, and these.

    Args:
        parts: Content of each worksheet's part that lost formulas.
        formulas: By part and address, the formula's element as it stands in the file.
    """

    parts: Mapping[str, bytes]
    formulas: Mapping[str, Mapping[bytes, bytes]]


def laid_aside(package: Package, cells: Collection[Cell]) -> Aside:
    """The worksheets without the formulas of those cells.

    A cell whose formula others share, or that fills more cells than its own, keeps it.
    """
    by_sheet: dict[str, set[bytes]] = {}
    for sheet, row, column in cells:
        by_sheet.setdefault(sheet, set()).add(address(row, column).encode())
    parts: dict[str, bytes] = {}
    formulas: dict[str, dict[bytes, bytes]] = {}
    for sheet, known in by_sheet.items():
        part = package.sheet(sheet).part
        content, taken = _bare(package.read(part), known)
        if taken:
            parts[part], formulas[part] = content, taken
    return Aside(parts, formulas)


def without_formulas(package: Package, cells: Collection[Cell]) -> Package:
    """The workbook in which those cells hold the values that they show."""
    return package.changed(dict(laid_aside(package, cells).parts))


def _bare(content: bytes, known: Collection[bytes]) -> tuple[bytes, dict[bytes, bytes]]:
    """A worksheet without the formulas of the known cells, and these."""
    taken: dict[bytes, bytes] = {}
    pieces = _FORMULA_CELL.split(content)  # what stands before, cell, address, formula, ...
    for at in range(2, len(pieces), 4):
        ref = pieces[at]
        pieces[at] = b""
        if ref in known:
            taken[ref], pieces[at + 1] = pieces[at + 1], b""
    return b"".join(pieces), taken


def put_back(content: bytes, formulas: Mapping[bytes, bytes]) -> bytes | None:
    """A worksheet with the formulas that were set aside; None where one has no cell any more."""
    met = 0

    def whole(match: re.Match[bytes]) -> bytes:
        nonlocal met
        formula = formulas.get(match[1])
        if formula is None:
            return match[0]
        met += 1
        return match[0] + formula

    found = _CELL.sub(whole, content)
    return found if met == len(formulas) else None
