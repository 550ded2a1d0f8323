"""Writing cells as surgery: only the cells concerned change, all else stays as it was.

Text goes inline, so that the shared strings stay untouched; formats stay. The only other parts
that may change are the calculation chain (dropped when formulas come or go) and the calculation
settings (where a formula is left without a value).
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lxml import etree

from estimator.errors import FileError
from estimator.workbook.package.a1 import Cell, Range, address, parse_cell, parse_range, range_text
from estimator.workbook.package.container import to_bytes
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import (
    BLANK,
    CellError,
    CellValue,
    Grid,
    Value,
    formula_cells,
    grid,
    name_addresses,
    read_cell,
    read_name,
    read_range,
    whole_number,
)

__all__ = [
    "BLANK", "Cache", "CellError", "CellValue", "Edit", "Edits", "Formula", "Grid", "Value",
    "apply", "formula_cells", "grid", "number_text", "read_cell", "read_name", "read_range",
]  # fmt: skip

_MAX_TEXT, _MAX_FORMULA = 32_767, 8_192
_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_UNWRITABLE = re.compile("[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]|_x(?=[0-9A-Fa-f]{4}_)")
_UNFIT_FORMULA = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula to write, without the equals sign, and its value where that is known."""

    text: str
    cached: Value = None


@dataclass(frozen=True, slots=True)
class Cache:
    """The value to show for the formula that the cell already holds; None: not known.

    A cell without a formula is left alone, unless an array formula fills it.
    """

    value: Value


Edit = Value | Formula | Cache
Edits = Mapping[tuple[str, str], Edit]
_Place = tuple[int, int]


def apply(package: Package, edits: Edits, *, calculate_on_load: bool = False) -> bytes:
    """File of the package that :func:`patched` gives."""
    return patched(package, edits, calculate_on_load=calculate_on_load).to_bytes()


def patched(
    package: Package,
    edits: Edits,
    *,
    calculate_on_load: bool = False,
    alike: Iterable[tuple[str, Range]] = (),
) -> Package:
    """The package with the given cells changed; the one given stays as it is.

    Args:
        package: The file as read.
        edits: By sheet name and address: a value (None empties the cell), a :class:`Formula`,
            or a :class:`Cache`. A cell that holds the value already is not touched.
        calculate_on_load: Whether spreadsheet programs are told to calculate everything on
            opening. They are told in any case when an edit leaves a formula without a value.
        alike: Sheets and ranges in whose columns a cell that comes in looks as the first one.

    Raises:
        FileError: If a sheet is missing, a value can't be stored, or an edit would hit part of
            a merged cell or of an array formula.
    """
    places = {(sheet, *parse_cell(ref)): edit for (sheet, ref), edit in edits.items()}
    return patched_places(package, places, calculate_on_load=calculate_on_load, alike=alike)


def patched_places(
    package: Package,
    edits: Mapping[Cell, Edit],
    *,
    calculate_on_load: bool = False,
    alike: Iterable[tuple[str, Range]] = (),
) -> Package:
    """What :func:`patched` gives, of edits by sheet name, row and column.

    Raises:
        FileError: As :func:`patched`.
    """
    by_sheet: dict[str, dict[_Place, Edit]] = {}
    spelled: dict[str, dict[_Place, Edit]] = {}
    incomplete = calculate_on_load
    for (sheet, row, column), edit in edits.items():
        if sheet not in spelled:
            spelled[sheet] = by_sheet.setdefault(package.sheet(sheet).name, {})
        spelled[sheet][row, column] = edit
        if (isinstance(edit, Formula) and edit.cached is None) or (
            isinstance(edit, Cache) and edit.value is None
        ):
            incomplete = True
    looks: dict[str, list[Range]] = {}
    for sheet, area in alike:
        looks.setdefault(sheet, []).append(area)
    changes: dict[str, bytes | None] = {}
    formulas_changed = False
    for name, cells in by_sheet.items():
        present = grid(package, name)
        _refuse_parts_of_merged(present, cells)
        _refuse_parts_of_arrays(present, cells)
        wanted = {p: edit for p, edit in cells.items() if _differs(present, p, edit)}
        if wanted:
            info = package.sheet(name)
            root = package.xml_to_change(info.part)
            patch = _Patch(Grid(package, info, root), looks.get(name, ()))
            patch.run(wanted)
            changes[info.part] = to_bytes(patch.grid.root)
            formulas_changed = formulas_changed or patch.formulas_changed
    if formulas_changed:
        changes.update(package.without_calculation_chain())
    if incomplete:
        changes.update(package.with_calculation_on_load())
    return package.changed(changes)


def not_shown(package: Package, values: Mapping[Cell, Value]) -> dict[Cell, Value]:
    """Of values that formulas are to show, those that they do not show yet.

    Raises:
        FileError: If a sheet is missing.
    """
    found: dict[Cell, Value] = {}
    sheets: dict[str, Grid] = {}
    for cell, value in values.items():
        sheet, row, column = cell
        if sheet not in sheets:
            sheets[sheet] = grid(package, sheet)
        before = sheets[sheet].value(row, column)
        if before.formula is None or value is None or not _same(before.value, value):
            found[cell] = value
    return found


# --- what an edit may not do ---


def _refuse_parts_of_merged(cells: Grid, edits: Mapping[_Place, Edit]) -> None:
    tag = cells.package.tag
    merged = cells.root.findall(f"{tag('mergeCells')}/{tag('mergeCell')}")
    if not merged:
        return
    filled = (p for p, e in edits.items() if e is not None and not isinstance(e, Cache))
    by_row: dict[int, list[int]] = {}
    for row, column in sorted(filled):
        by_row.setdefault(row, []).append(column)
    rows = sorted(by_row)
    for element in merged:
        try:
            area = parse_range(element.get("ref") or "")
        except FileError as error:
            raise cells.damaged("a merged cell has no proper range") from error
        for row in rows[bisect_left(rows, area.row1) : bisect_right(rows, area.row2)]:
            columns = by_row[row]
            low, high = bisect_left(columns, area.column1), bisect_right(columns, area.column2)
            for column in columns[low:high]:
                if (row, column) != (area.row1, area.column1):
                    raise FileError(
                        f"The cell is inside the merged cells {range_text(area)}, so what "
                        "belongs there would not show.",
                        where=_where(cells, (row, column)),
                        cure="Unmerge them.",
                    )


def _refuse_parts_of_arrays(cells: Grid, edits: Mapping[_Place, Edit]) -> None:
    for area in cells.multi:
        inside = [
            place
            for place, edit in edits.items()
            if area.holds(*place) and not isinstance(edit, Cache)
        ]
        if inside and len(inside) < area.size:
            raise FileError(
                f"The cell is part of the array formula in {range_text(area)}, which can't "
                "be changed in part.",
                where=_where(cells, inside[0]),
                cure="Remove the array formula, or move it elsewhere.",
            )


def _where(cells: Grid, place: _Place) -> str:
    return f"{cells.sheet.name}!{address(*place)}"


def _checked(cells: Grid, value: object, place: _Place) -> Value:
    """The value in a form that can be stored; numbers of any library become floats."""
    if not isinstance(value, (bool, int, float, str, CellError)) and hasattr(value, "item"):
        value = value.item()
    if value is None or isinstance(value, (bool, CellError)):
        return value
    if isinstance(value, (int, float)) and math.isfinite(value):
        return float(value)
    if isinstance(value, str) and len(value) <= _MAX_TEXT:
        return str(value)
    raise FileError(
        f"A cell can't hold this: {str(value)[:60]}.",
        where=_where(cells, place),
        cure=f"Give a number, a text of at most {_MAX_TEXT} characters, or yes or no.",
    )


def _differs(cells: Grid, place: _Place, edit: Edit) -> bool:
    """Whether the edit would change what the cell holds."""
    before = cells.value(*place)
    plain = edit.value if isinstance(edit, Cache) else edit
    if (before.formula is None) is (plain is edit) and _same(before.value, plain):
        return False  # what was read can be stored
    if isinstance(edit, Cache):
        if before.formula is None and not any(area.holds(*place) for area in cells.multi):
            return False
        return not _same(before.value, _checked(cells, edit.value, place))
    if isinstance(edit, Formula):
        same_text = before.formula == edit.text.removeprefix("=")
        return not (
            same_text
            and before.kind in ("plain", "shared")
            and _same(before.value, _checked(cells, edit.cached, place))
        )
    return before.formula is not None or not _same(before.value, _checked(cells, edit, place))


class _Patch:
    """Edits of one sheet's freshly parsed XML, each of which changes something."""

    def __init__(self, cells: Grid, alike: Iterable[Range] = ()) -> None:
        self.grid = cells
        self._alike: dict[int, list[Range]] = {}
        for area in alike:
            for column in range(area.column1, area.column2 + 1):
                self._alike.setdefault(column, []).append(area)
        self.formulas_changed = False
        tag = cells.package.tag
        self._value, self._formula, self._inline = cells.tags
        self._text, self._cell, self._row = tag("t"), tag("c"), tag("row")
        self._row_numbers = list(cells.rows)
        self._new: list[_Place] = []

    def run(self, edits: Mapping[_Place, Edit]) -> None:
        """Make all edits, top to bottom."""
        for place in sorted(edits):
            edit = edits[place]
            if isinstance(edit, Formula):
                self._set_formula(place, edit)
                continue
            found = self.grid.cells.get(place)
            if found is None:
                found = self._create(place)
            is_cache = isinstance(edit, Cache)
            value = _checked(self.grid, edit.value if isinstance(edit, Cache) else edit, place)
            formula = self.grid.formula_of(found)
            if formula is not None and not is_cache:
                self._drop_formula(found, formula)
            self._store(found, value, inline=not is_cache)
        if self._new:
            self._widen_dimension()

    def _set_formula(self, place: _Place, edit: Formula) -> None:
        text = edit.text.removeprefix("=")
        if not text or len(text) > _MAX_FORMULA or _UNFIT_FORMULA.search(text):
            raise FileError(
                "The formula is empty, too long, or has characters that can't be stored.",
                where=_where(self.grid, place),
            )
        found = self.grid.cells.get(place)
        if found is None:
            found = self._create(place)
        before = self.grid.value(*place)
        if before.formula != text or before.kind not in ("plain", "shared"):
            formula = self.grid.formula_of(found)
            if formula is not None:
                self._drop_formula(found, formula)
            formula = etree.Element(self._formula)
            formula.text = text
            found.insert(0, formula)
            self.formulas_changed = True
        self._store(found, _checked(self.grid, edit.cached, place), inline=False)

    # --- the XML ---

    def _store(self, cell: etree._Element, value: Value, *, inline: bool) -> None:
        """Put a value into a cell, whose formula (if any) stays."""
        holder, place = None, 0
        for child in list(cell):
            if child.tag == self._formula:
                place = 1
            elif child.tag == self._inline or (child.tag == self._value and holder is not None):
                cell.remove(child)
            elif child.tag == self._value:
                holder = child
        attributes = cell.attrib
        for attribute in ("t", "vm"):
            if attribute in attributes:
                del attributes[attribute]
        if value is None or (inline and isinstance(value, str)):
            if holder is not None:
                cell.remove(holder)
            if value is not None:
                cell.set("t", "inlineStr")
                cell.insert(place, self._inline_text(str(value)))
            return
        if holder is None:
            holder = etree.Element(self._value)
            cell.insert(place, holder)
        elif holder.attrib:
            holder.attrib.clear()
        if isinstance(value, bool):
            cell.set("t", "b")
            holder.text = "1" if value else "0"
        elif isinstance(value, CellError):
            cell.set("t", "e")
            holder.text = value.code
        elif isinstance(value, str):
            cell.set("t", "str")
            holder.text = _escape(value)
            if value != value.strip():
                holder.set(_SPACE, "preserve")
        else:
            holder.text = number_text(value)

    def _inline_text(self, value: str) -> etree._Element:
        holder = etree.Element(self._inline)
        text = etree.SubElement(holder, self._text)
        text.text = _escape(value)
        if value != value.strip() or "\n" in value or "  " in value:
            text.set(_SPACE, "preserve")
        return holder

    def _drop_formula(self, cell: etree._Element, formula: etree._Element) -> None:
        if formula.get("t") == "shared" and formula.text:
            self._unshare(formula.get("si") or "")
        cell.remove(formula)
        cell.attrib.pop("cm", "")
        self.formulas_changed = True

    def _unshare(self, index: str) -> None:
        """Give every cell that shares a formula its own text, as its first cell is going away."""
        followers = [
            (place, formula)
            for place, cell in self.grid.cells.items()
            if (formula := self.grid.formula_of(cell)) is not None
            and formula.get("t") == "shared"
            and formula.get("si") == index
        ]
        texts = [self.grid.value(*place).formula for place, _ in followers]
        for (_, formula), text in zip(followers, texts, strict=True):
            formula.text = text
            for attribute in ("t", "si", "ref"):
                formula.attrib.pop(attribute, "")

    def _create(self, place: _Place) -> etree._Element:
        row_number, column = place
        if self.grid.implicit:
            name_addresses(self.grid)  # else a new cell would shift the others
        row = self.grid.rows.get(row_number)
        if row is None:
            row = etree.Element(self._row, r=str(row_number))
            index = bisect_left(self._row_numbers, row_number)
            if index < len(self._row_numbers):
                self.grid.rows[self._row_numbers[index]].addprevious(row)
            else:
                self.grid.data.append(row)
            insort(self._row_numbers, row_number)
            self.grid.rows[row_number] = row
        cell = etree.Element(self._cell, r=address(row_number, column))
        style = self._style_alike(place) or self._style_of_blank(row, column)
        if style:
            cell.set("s", style)
        following = next((c for c in row if self._column_of(c) > column), None)
        if following is not None:
            following.addprevious(cell)
        else:
            last = max((i for i, c in enumerate(row) if c.tag == self._cell), default=-1)
            row.insert(last + 1, cell)
        self.grid.cells[place] = cell
        self._new.append(place)
        first, _, last_text = (row.get("spans") or "").partition(":")
        if " " not in last_text and whole_number(first) > 0 and whole_number(last_text) > 0:
            low, high = min(int(first), column), max(int(last_text), column)
            row.set("spans", f"{low}:{high}")
        elif "spans" in row.attrib:
            del row.attrib["spans"]
        return cell

    def _column_of(self, cell: etree._Element) -> int:
        ref = cell.get("r") if cell.tag == self._cell else None
        return parse_cell(ref)[1] if ref else 0

    def _style_alike(self, place: _Place) -> str:
        """Style of the first cell of the column that a place is to look like, if there is one."""
        row, column = place
        for area in self._alike.get(column, ()):
            first = self.grid.cells.get((area.row1, column)) if area.holds(row, column) else None
            if first is not None:
                return first.get("s") or ""
        return ""

    def _style_of_blank(self, row: etree._Element, column: int) -> str:
        """Style that an empty place takes from its row or its column."""
        if row.get("customFormat") in ("1", "true") and row.get("s"):
            return row.get("s") or ""
        tag = self.grid.package.tag
        for element in self.grid.root.iterfind(f"{tag('cols')}/{tag('col')}"):
            low, high = (
                whole_number(element.get("min") or ""),
                whole_number(element.get("max") or ""),
            )
            if low <= column <= high:
                return element.get("style") or ""
        return ""

    def _widen_dimension(self) -> None:
        element = self.grid.root.find(self.grid.package.tag("dimension"))
        if element is None:
            return
        try:
            old = parse_range(element.get("ref") or "")
        except FileError:
            self.grid.root.remove(element)  # optional, and a wrong one misleads readers
            return
        new = Range(
            min(old.row1, *(row for row, _ in self._new)),
            min(old.column1, *(column for _, column in self._new)),
            max(old.row2, *(row for row, _ in self._new)),
            max(old.column2, *(column for _, column in self._new)),
        )
        if new != old:
            element.set("ref", range_text(new))


def _same(before: Value, after: object) -> bool:
    return type(before) is type(after) and before == after


def number_text(value: float) -> str:
    """A number as the file format writes it."""
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return repr(value)


def _escape(text: str) -> str:
    """Text with what XML can't hold, and what would read as an escape, as ``_x000D_`` escapes."""

    def code(match: re.Match[str]) -> str:
        letter = match[0]
        return "_x005F_x" if letter == "_x" else f"_x{ord(letter):04X}_"

    return _UNWRITABLE.sub(code, text)
