"""Where the template takes typed lengths apart: the entry and its two working cells."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from estimator.inputs import Field
from estimator.units import BareUnit
from estimator.workbook.template.layout import Layout
from estimator.workbook.template.plans import OPTIONS, SheetPlan, TablePlan

Cell = tuple[int, int]


@dataclass(frozen=True, slots=True)
class LengthCells:
    """One entry that is a length; cells are row and column of its sheet, counted from 1.

    Args:
        entry: Its field.
        typed: What a person types.
        normal: Its normal form.
        length: The length that this is.
    """

    entry: Field
    typed: Cell
    normal: Cell
    length: Cell


def length_cells(layout: Layout) -> Iterator[tuple[str, list[LengthCells]]]:
    """Sheet and cells of every input that is a length, input by input."""
    for key, place in layout.places.items():
        item = layout.model.quantities[key]
        entry = item.field
        if item.role != "input" or entry is None or entry.kind != "length":
            continue
        plan = layout.sheets[place.sheet]
        if place.axis is None:
            options = range(OPTIONS if place.by_option else 1)
            spots = [(place.typed_cell(option), option) for option in options]
            feet = feet_column(layout, plan, key)
            yield (
                plan.name,
                [
                    LengthCells(entry, typed, (typed[0], plan.helper + at), (typed[0], feet + at))
                    for typed, at in spots
                ],
            )
            continue
        table = table_of(layout, key)
        columns = table.find("normal", key).column, table.find("feet", key).column
        rows = (place.typed_cell(0, row) for row in range(table.table.capacity))
        yield (
            plan.name,
            [
                LengthCells(entry, typed, (typed[0], columns[0]), (typed[0], columns[1]))
                for typed in rows
            ],
        )


def feet_column(layout: Layout, plan: SheetPlan, key: str) -> int:
    """Column of the length of a row's entry; of the first option's, where it has one an option."""
    return plan.helper + (OPTIONS if layout.quantity(key).by_option else 1)


def table_of(layout: Layout, key: str) -> TablePlan:
    """The table in which a quantity is a column."""
    plan = layout.sheets[layout.places[key].sheet]
    return next(
        part for part in plan.parts if isinstance(part, TablePlan) and key in part.table.keys
    )


def unit_given(entry: Field) -> BareUnit:
    """Unit of the length that is worked out: feet, or metres where the entry is metric."""
    return "m" if entry.bare_unit in ("m", "mm") else "ft"
