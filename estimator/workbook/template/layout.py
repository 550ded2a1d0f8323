"""Where everything stands in the template: pure functions from a model to addresses.

Only the builder of the template and the writers of formulas use these addresses. Once people own
the file they move and insert, so that a refill finds things by the defined names of ``names``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from estimator.engine import Model
from estimator.errors import RowError
from estimator.inputs import Field
from estimator.rows import MARKS_SHEET, PROBLEMS, SPOILED, TYPED_OVER, Quantity
from estimator.workbook.package.a1 import Range, address
from estimator.workbook.package.references import check_name
from estimator.workbook.template.arrange import sheet_plan
from estimator.workbook.template.lists import LISTS_SHEET, ListsPlan, lists_plan
from estimator.workbook.template.plans import HEADER_ROW, OPTIONS, OPTIONS_COLUMNS, Place, SheetPlan
from estimator.workbook.template.snapshot import SnapshotPlan, snapshot_plan


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """The whole template, one a model.

    Addresses count from 1; ``places`` has every quantity of the model.
    """

    model: Model
    sheets: Mapping[str, SheetPlan]
    places: Mapping[str, Place]
    lists: ListsPlan
    snapshot: SnapshotPlan
    options_sheet: str

    @property
    def order(self) -> tuple[str, ...]:
        """Names of all sheets, left to right."""
        return (*self.sheets, LISTS_SHEET, MARKS_SHEET)

    def typed_header(self, option: int) -> tuple[str, str]:
        """Sheet and address of the cell that holds an option's key."""
        return self.options_sheet, address(HEADER_ROW, OPTIONS_COLUMNS.typed + option)

    def used_header(self, option: int) -> tuple[str, str]:
        """Sheet and address of the option's heading, empty text if the option is not used."""
        return self.options_sheet, address(HEADER_ROW, OPTIONS_COLUMNS.read + option)

    def quantity(self, key: str) -> Quantity:
        """The quantity of a key."""
        return self.model.quantities[key]

    def entry(self, key: str) -> Field:
        """The field of an input.

        Raises:
            RowError: If the quantity is not an input.
        """
        entry = self.model.quantities[key].field
        if entry is None:
            raise RowError("is not an input.", where=key)
        return entry


@lru_cache(maxsize=4)
def layout(model: Model) -> Layout:
    """Where every quantity, heading, list and snapshot line of the model stands.

    Raises:
        RowError: If a key can't be a defined name, or no sheet has typed option rows.
    """
    places: dict[str, Place] = {}
    sheets = {sheet.name: sheet_plan(model, sheet, places) for sheet in model.sheets}
    options = [name for name, plan in sheets.items() if plan.kind == "options"]
    if len(options) != 1:
        raise RowError("exactly one sheet must hold the typed rows of options.")
    lists = lists_plan(model)
    snapshot = snapshot_plan(model)
    places[PROBLEMS] = Place(PROBLEMS, LISTS_SHEET, _cell(lists.total_row, 2))
    places[SPOILED] = Place(SPOILED, LISTS_SHEET, _cell(lists.unusable_row, 2))
    places[TYPED_OVER] = Place(TYPED_OVER, LISTS_SHEET, _cell(lists.typed_over_row, 2))
    for key, row in snapshot.mark_rows.items():
        places[key] = Place(
            key, MARKS_SHEET, Range(row, 3, row, 2 + OPTIONS), axis=None, by_option=True
        )
    for key in places:
        check_name(key)
    return Layout(model, sheets, places, lists, snapshot, options[0])


def _cell(row: int, column: int) -> Range:
    return Range(row, column, row, column)
