"""Flags of table rows that say nothing, as every entry of the row can surely be used.

They are the longest formulas of a workbook. What is told here holds of plain entries alone: any
other, and a row whose flag somebody touched, is left to the engine.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from estimator.engine import Model
from estimator.inputs import MOST_SEARCHED, Field
from estimator.length_formula import formulas_give
from estimator.units import UNITS_PER_FT
from estimator.workbook.package.a1 import Range
from estimator.workbook.refill.port import Edit, Port
from estimator.workbook.refill.refill import Refill, Value
from estimator.workbook.refill.untouched import undisturbed, untouched
from estimator.workbook.template.layout import layout
from estimator.workbook.template.length_cells import unit_given
from estimator.workbook.template.lists import LIMITED, LISTS_SHEET
from estimator.workbook.template.plans import TablePlan
from estimator.workbook.template.shipped_formulas import Shipped

_SEARCHED_FOR = frozenset("*?~")
_COMPARED = ("<", ">", "=")
_NEAR = 1e-9
"""How near a limit a length may lie and be left to the engine."""
Entry = float | str | None


def flags(port: Port, model: Model, refill: Refill, shipped: Shipped) -> dict[Edit, Value]:
    """Flags of rows, and the cells that they are put together of, which are empty texts.

    There are none where something may stand in a cell that the model does not know of.
    """
    if not undisturbed(port, refill, shipped):
        return {}
    rows = _Rows(port, model, refill)
    found: dict[Edit, Value] = {}
    for sheet, plan in layout(model).sheets.items():
        for part in plan.parts:
            if isinstance(part, TablePlan) and part.typed_keys:
                usable = list(rows.usable(part))
                for column in part.columns:
                    if column.role in ("check", "part"):
                        area = Range(part.first_row, column.column, part.last_row, column.column)
                        cells = zip(area.cells(), port.read(sheet, area), usable, strict=True)
                        for place, (content,), sure in cells:
                            if sure and untouched(shipped, sheet, place, content):
                                found[sheet, *place] = ""
    return found


class _Rows:
    """Rows of tables whose typed entries can surely be used."""

    def __init__(self, port: Port, model: Model, refill: Refill) -> None:
        self._port, self._model = port, model
        self._typed: Mapping[tuple[str, int], Entry] = refill.book.typed.cells
        self._lists = layout(model).lists

    def usable(self, part: TablePlan) -> Iterator[bool]:
        """Whether every entry of a row, or none of a blank one, can be used; row by row."""
        fields = [self._field(key) for key in part.typed_keys]
        columns = [self._column(field.key) for field in fields]
        known = [self._known(field) for field in fields]
        told_apart = fields[0].value_kind != "text" or _differ(columns[0])
        for entries in zip(*columns, strict=True):
            if entries[0] is None:
                yield all(entry is None for entry in entries)
                continue
            yield (
                told_apart
                and (fields[0].value_kind != "text" or _plain(entries[0]))
                and all(map(_usable, fields, entries, known))
            )

    def _field(self, key: str) -> Field:
        field = self._model.quantities[key].field
        assert field is not None
        return field

    def _column(self, key: str) -> list[Entry]:
        axis = str(self._model.quantities[key].axis)
        return [self._typed.get((key, row)) for row in range(self._model.capacity(axis))]

    def _known(self, field: Field) -> frozenset[Entry] | None:
        """Texts that a field takes, none where it is not told by a list; None where the entries
        are not all told apart, or cells with its list or limits are not as in the template."""
        if field.unlike and not _differ(self._column(field.key) + self._column(field.unlike)):
            return None
        if field.kind == "key":
            return frozenset(self._column(field.refers))
        if field.kind == "choice":
            area = self._lists.choices[field.choices][1]
            stand = self._hold(area, field.choices)
            return frozenset(field.choices) if stand else None
        if field.kind in LIMITED:
            row = self._lists.limits[field.key]
            return frozenset() if self._hold(Range(row, 3, row, 4), _limits(field)) else None
        return frozenset()

    def _hold(self, area: Range, wanted: Sequence[Entry]) -> bool:
        """Whether cells of the sheet Lists hold just this, and no formula."""
        cells = [content for row in self._port.read(LISTS_SHEET, area) for content in row]
        return all(cell.formula is None for cell in cells) and (
            [cell.value for cell in cells] == list(wanted)
        )


def _limits(field: Field) -> tuple[float, float]:
    return float(field.low), float(field.high)


def _differ(entries: Sequence[Entry]) -> bool:
    """Whether the names of lines are texts that differ whatever their letters' case."""
    names = [entry for entry in entries if entry is not None]
    texts = [name.casefold() for name in names if isinstance(name, str) and name.isascii()]
    return len(set(texts)) == len(names)


def _plain(entry: Entry) -> bool:
    """Whether an entry is a text that spreadsheets find as it is written."""
    return (
        isinstance(entry, str)
        and entry.isprintable()
        and entry == entry.strip() != ""
        and "  " not in entry
        and not entry.startswith(_COMPARED)
        and not _SEARCHED_FOR.intersection(entry)
        and len(entry) <= MOST_SEARCHED
    )


def _usable(field: Field, entry: Entry, known: frozenset[Entry] | None) -> bool:
    if known is None:
        return False
    if entry is None:
        return not field.needed
    if field.kind == "text":
        return isinstance(entry, str) and entry == entry.strip() != ""
    if field.kind in ("choice", "key"):
        return _plain(entry) and entry in known
    if field.kind == "length":
        return _length_usable(field, entry)
    if not isinstance(entry, float) or (field.kind in ("whole", "date") and entry != int(entry)):
        return False
    return field.low <= entry <= field.high or (field.zero and entry == 0)


def _length_usable(field: Field, entry: float | str) -> bool:
    given = formulas_give(entry, field.bare_unit, gives=unit_given(field))
    if given is None or isinstance(given[1], str):
        return False
    length = given[1] * UNITS_PER_FT[field.bare_unit] / UNITS_PER_FT[unit_given(field)]
    return field.low + _NEAR < length < field.high - _NEAR or (field.zero and length == 0)
