"""Numbers typed over computed cells and formulas changed: as a list, in notes, on the sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from estimator.engine import Model
from estimator.model.typed_over import SOLVER
from estimator.values import Values, as_values
from estimator.workbook.refill.book import Book, FormulaCell
from estimator.workbook.refill.port import Edit, place_text

TYPED, CHANGED = "typed over", "own formula"
MOST_TOLD = 10
"""So many cells of a sheet that are typed over are told one by one."""


@dataclass(frozen=True, slots=True)
class TypedOverCell:
    """A computed cell in which a person's own number or formula stands."""

    edit: Edit
    label: str
    value: float | str
    engine: float | str
    what: str

    @property
    def place(self) -> str:
        """Sheet and address."""
        return place_text(*self.edit)

    @property
    def shown(self) -> float | str:
        """What the cell shows: an empty text for no number."""
        return "" if isinstance(self.value, float) and np.isnan(self.value) else self.value

    @property
    def sentence(self) -> str:
        """For the report."""
        own = "its own formula" if self.what == CHANGED else "the value typed over it"
        return (
            f"{self.place} ({self.label}) keeps {own}, {_shown(self.value)};"
            f" the estimator's is {_shown(self.engine)}."
        )


def sentences(found: Sequence[TypedOverCell]) -> tuple[str, ...]:
    """For the report; of a sheet with many such cells the number of them, after the first."""
    by_sheet: dict[str, list[TypedOverCell]] = {}
    for over in found:
        by_sheet.setdefault(over.edit[0], []).append(over)
    told: list[str] = []
    for sheet, cells in by_sheet.items():
        if len(cells) <= MOST_TOLD:
            told += [over.sentence for over in cells]
            continue
        told.append(
            f"{cells[0].sentence} So do {len(cells) - 1} more computed cells of {sheet}: clear"
            " those that you did not mean, and refill."
        )
    return tuple(told)


def cells_typed_over(
    model: Model,
    book: Book,
    inputs: Mapping[str, Any],
    values: Mapping[str, Values],
    changed: Sequence[FormulaCell],
) -> tuple[TypedOverCell, ...]:
    """Every number typed over with what would stand there without it, all others in force.

    Args:
        model: The rows.
        book: The workbook as read.
        inputs: The inputs as read.
        values: Every quantity, with all that is typed over in force.
        changed: Cells with a formula of a person's own.
    """
    own = {(cell.key, cell.place) for cell in changed}
    cells = [(key, place) for key, places in book.typed_over.items() for place in places]
    cells += [pair for pair in own if pair not in cells]
    found = []
    for key, place in cells:
        item = model.quantities[key]
        what = CHANGED if (key, place) in own else TYPED
        engine = _engine(model, inputs, values, key)
        found.append(
            TypedOverCell(
                book.cell(item, *place),
                item.label,
                _at(values[key], place),
                _at(engine, place),
                what,
            )
        )
    return tuple(sorted(found, key=lambda o: o.edit))


def _engine(
    model: Model, inputs: Mapping[str, Any], values: Mapping[str, Values], key: str
) -> Values:
    item = model.quantities[key]
    if item.function is None:
        return as_values(inputs.get(key, 0.0))  # what a solver gave; a mark is 0 to the engine
    with np.errstate(all="ignore"):
        return as_values(item.function(**{k: values[k] for k in item.reads}))


def _at(value: Values, place: tuple[int, int]) -> float | str:
    plain = np.asarray(value)
    option, row = min(place[0], plain.shape[-2] - 1), min(place[1], plain.shape[-1] - 1)
    found = plain[..., option, row].item()
    return found if isinstance(found, str) else float(found)


def _shown(value: float | str) -> str:
    if isinstance(value, str):
        return value or "blank"
    return "blank" if np.isnan(value) else f"{value:.10g}"


def listed(model: Model, found: Sequence[TypedOverCell]) -> dict[str, Values]:
    """The list as columns of its table; empty where the model has no such table."""
    columns = model.writes.get(SOLVER, ())
    if not columns:
        return {}
    lines = model.capacity(str(model.quantities[columns[0]].axis))
    rows: list[tuple[str, ...]] = [
        (o.place, o.label, _shown(o.value), _shown(o.engine), o.what) for o in found
    ]
    if len(rows) > lines:
        rows[lines - 1 :] = [("...", f"and {len(rows) - lines + 1} more", "", "", "")]
    rows += [("",) * len(columns)] * (lines - len(rows))
    return {
        key: as_values(np.array([row[at] for row in rows])[np.newaxis, :])
        for at, key in enumerate(columns)
    }


def followed(
    model: Model, values: Mapping[str, Values], new: Mapping[str, Values]
) -> Iterator[tuple[str, Values]]:
    """Rows of the whole job that read the list, worked out from it."""
    seen = {**values, **new}
    dirty = set(new)
    for key in model.order:
        item = model.quantities.get(key)
        if item is not None and item.function is not None and dirty.intersection(item.reads):
            value = as_values(item.function(**{k: seen[k] for k in item.reads}))
            seen[key] = as_values(np.asarray(value, float)) if value.dtype == bool else value
            dirty.add(key)
            yield key, seen[key]
