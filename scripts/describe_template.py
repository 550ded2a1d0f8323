"""A template as text that people can review: what its cells hold, sheet by sheet, row by row.

The first line is a checksum of everything in the file, described or not. Then each line is a run of
cells of one row that hold the same: its columns, its content, its style. Cells are called by the
defined names that they belong to, never by their row, so that a row which comes or goes changes
its own lines alone:

    stone_yd3        the named cell; of a table the same row, of the options the same column
    price[-1]        one row above in the named table            price#3   its third row
    total{+2}        two columns to the right in the named row   total$2   its second column
    R[-1]C4          a cell without a name: one row above, in column D; R(-1) above the table
"""

from __future__ import annotations

import hashlib
import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby
from typing import NamedTuple

from lxml import etree

from estimator.workbook.package.a1 import (
    Range,
    column_letters,
    column_number,
    parse_cell,
    parse_range,
    tokens,
)
from estimator.workbook.package.parts import Package
from estimator.workbook.package.shared_formulas import written_out

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RECORDS = ("Made From", "Solved From")
"""Sheets that record where the others stand and what solvers read of them: nothing of their own."""
FORMULA = "="
_CELL = re.compile(r"(\$?)([A-Za-z]+)(\$?)([0-9]+)")


def checksum(data: bytes) -> str:
    """Checksum of every part of a workbook, unpacked: machines pack differently."""
    found = hashlib.sha256()
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for name in archive.namelist():
            found.update(hashlib.sha256(name.encode() + b"\0" + archive.read(name)).digest())
    return found.hexdigest()


def describe(data: bytes) -> str:
    """The description of a template, its checksum first."""
    package = Package.open(data, label="template")
    names = _Names()
    for name, target in package.names.items():
        if not target.broken and target.ref and not name.startswith("_xlnm"):
            names.add(name, target.sheet, parse_range(target.ref))
    styles = _styles(package)
    lines = [checksum(data)]
    for info in package.sheets:
        lines += ["", f"== {info.name}"]
        if info.kind == "worksheet" and info.name not in RECORDS:
            lines += _sheet(written_out(package.read(info.part)), info.name, names, styles)
    return "\n".join(lines) + "\n"


class _Spot(NamedTuple):
    """The cell that a formula stands in."""

    sheet: str
    row: int
    column: int


@dataclass(slots=True)
class _Names:
    """Names that start on a row, whose a cell is, and where the table of a row starts."""

    starts: dict[tuple[str, int], list[str]] = field(default_factory=dict)
    owners: dict[tuple[str, int, int], tuple[str, Range]] = field(default_factory=dict)
    tops: dict[tuple[str, int], int] = field(default_factory=dict)

    def add(self, name: str, sheet: str, area: Range) -> None:
        self.starts.setdefault((sheet, area.row1), []).append(name)
        if area.row2 > area.row1:
            self.tops.update(
                dict.fromkeys(((sheet, r) for r in range(area.row1, area.row2 + 1)), area.row1)
            )
        for row, column in area.cells():
            held = self.owners.get((sheet, row, column))
            if held is None or _size(area) < _size(held[1]):
                self.owners[sheet, row, column] = (name, area)


def _size(area: Range) -> int:
    return (area.row2 - area.row1 + 1) * (area.column2 - area.column1 + 1)


def _styles(package: Package) -> list[str]:
    """Name and number format of each cell format."""
    root = etree.fromstring(package.read("xl/styles.xml"))
    formats = {f.get("numFmtId"): f.get("formatCode") for f in root.iter(f"{MAIN}numFmt")}
    named = {s.get("xfId"): s.get("name") for s in root.iter(f"{MAIN}cellStyle")}
    cells = root.find(f"{MAIN}cellXfs")
    found = []
    for cell in [] if cells is None else cells:
        number = cell.get("numFmtId", "0")
        shown = "" if number == "0" else f", {formats.get(number, f'format {number}')}"
        found.append(f"{named.get(cell.get('xfId'), '')}{shown}")
    return found


def _sheet(part: bytes, sheet: str, names: _Names, styles: list[str]) -> Iterator[str]:
    root = etree.fromstring(part)
    for column in root.iter(f"{MAIN}col"):
        hidden = " hidden" if column.get("hidden") == "1" else ""
        first, last = (column_letters(int(column.get(end))) for end in ("min", "max"))
        look = f", blank: {styles[int(column.get('style', 0))]}" if column.get("style") else ""
        yield f"column {first}:{last} {float(column.get('width', 0)):.4g}{hidden}{look}"
    rows = (_row(row, sheet, names, styles) for row in root.iter(f"{MAIN}row"))
    for lines, same in groupby(_without_repeats(filter(None, rows))):
        count = len(list(same))
        yield from (f"{'  ' if place else '- '}{line}" for place, line in enumerate(lines))
        if count > 1:
            yield f"  ... {count} rows so"
    for look in root.iter(f"{MAIN}conditionalFormatting"):
        row, column = parse_cell(re.split("[ :]", look.get("sqref"))[0])
        for rule in look.iter(f"{MAIN}cfRule"):
            texts = " | ".join(f.text or "" for f in rule.iter(f"{MAIN}formula"))
            yield f"rule {rule.get('type')}: {_named(texts, _Spot(sheet, row, column), names)}"


def _without_repeats(rows: Iterable[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """Rows without the formulas that stand in the row above them too."""
    above: tuple[str, ...] = ()
    for row in rows:
        kept = tuple(line for line in row if line not in above or f" {FORMULA}" not in line)
        above = row
        yield (*kept, "formulas as above") if len(kept) < len(row) else row


def _row(row: etree._Element, sheet: str, names: _Names, styles: list[str]) -> tuple[str, ...]:
    number = int(row.get("r"))
    runs: list[tuple[int, str, str]] = []
    for cell in row:
        column = parse_cell(cell.get("r"))[1]
        content = _content(cell, _Spot(sheet, number, column), names)
        if content:
            runs.append((column, content, styles[int(cell.get("s", 0))]))
    lines = []
    for (content, style), same in groupby(runs, key=lambda run: run[1:]):
        columns = [column for column, *_ in same]
        first, last = column_letters(columns[0]), column_letters(columns[-1])
        lines.append(f"{first if first == last else f'{first}:{last}'} {content}  |{style}|")
    named = sorted(names.starts.get((sheet, number), ()))
    if named and lines:
        lines.insert(0, f"[{' '.join(named)}]")
    return tuple(lines)


def _content(cell: etree._Element, spot: _Spot, names: _Names) -> str:
    formula = cell.find(f"{MAIN}f")
    if formula is not None:
        return f"{FORMULA}{_named(formula.text or '', spot, names)}"
    if cell.get("t") == "inlineStr":
        text = "".join(t.text or "" for t in cell.iter(f"{MAIN}t"))
        return f'"{text}"'.replace("\n", "\\n")
    value = cell.find(f"{MAIN}v")
    return "" if value is None else f"{value.text}"


def _named(formula: str, spot: _Spot, names: _Names) -> str:
    """A formula with its cells called by the names that they belong to."""
    found, of, before = [], spot.sheet, ""
    for kind, text in tokens(formula):
        if kind == "sheet":
            of = text[:-1].strip("'").replace("''", "'")
        elif kind == "cell":
            found.append(_cell(text, of, spot, names))
        else:
            found.append(text)
            of = of if text == ":" and before == "cell" else spot.sheet
        before = kind
    return "".join(found)


def _cell(text: str, sheet: str, spot: _Spot, names: _Names) -> str:
    match = _CELL.fullmatch(text)
    assert match is not None
    fixed_column, letters, fixed_row, digits = match.groups()
    row, column = int(digits), column_number(letters)
    owner = names.owners.get((sheet, row, column))
    right = column - spot.column
    top = names.tops.get((spot.sheet, spot.row))
    if owner is None:
        of = "" if sheet == spot.sheet else f"{sheet}!"
        across = f"C{column}" if fixed_column else f"C[{right}]"
        if top is not None and row < top and not of:
            return f"R({row - top}){across}"
        return f"{of}R{row}{across}" if fixed_row else f"{of}R[{row - spot.row}]{across}"
    name, area = owner
    if area.row2 > area.row1:
        if fixed_row:
            name += f"#{row - area.row1 + 1}"
        else:
            down = row - spot.row if top is None else row - area.row1 - (spot.row - top)
            name += f"[{down:+d}]" if down else ""
    if area.column2 > area.column1:
        if fixed_column:
            name += f"${column - area.column1 + 1}"
        elif right:
            name += f"{{{right:+d}}}"
    return name
