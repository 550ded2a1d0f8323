"""How particular sheets and columns are shown, where their content doesn't say it.

All of it is a matter of looks, by name of sheet, axis or key. What is named here and not in the
model is passed over, and what is not named here gets a look by what it consists of.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from estimator.engine import Model
from estimator.rows import Table

SheetRole = Literal["answer", "input", "computed", "take-along", "trust"]

ROLES: Mapping[str, SheetRole] = {
    "Start": "answer",
    "Compare": "answer",
    "Field Sheet": "take-along",
    "Floor Frame": "take-along",
    "Cut Plan": "take-along",
    "Sheet Layout": "take-along",
    "Buy List": "take-along",
    "Pictures": "take-along",
    "Checks": "trust",
    "Sources": "trust",
}
"""Roles of sheets; others are input where something is typed on them, else computed."""

LARGE_SHEETS = frozenset(("Field Sheet", "Floor Frame"))
"""Sheets that are read at arm's length, with boots on."""

SET_WIDTHS: Mapping[str, tuple[float, ...]] = {
    "Field Sheet": (
        *(5.4, 5.8, 6.7, 6.7, 5.8),
        *(5.6, 5.3, 8.0, 6.7, 5.3),
        *(5.4, 5.2, 6.7, 6.7, 5.8),
        *(5.4, 5.3, 6.7, 6.7),
    ),
}
"""Widths of the columns of sheets whose tables stand side by side, whatever they hold."""

SET_LABELS: Mapping[str, int] = {"Field Sheet": 6}
"""Number of columns that the labels of the rows of such a sheet run over."""

_BESIDE: Mapping[str, int] = {
    "heat_back_ft": 14,
    "side_2_at_ft": 6,
    "side_3_at_ft": 11,
    "side_4_at_ft": 16,
    "low_2_side": 7,
    "low_3_side": 13,
    "spot_2_no": 7,
    "spot_3_no": 13,
}
"""By first key, tables that stand beside the part before them, and the first column of each."""


def beside_column(model: Model, table: Table) -> int | None:
    """First column of a table that stands beside the part before it; None of any other."""
    columns = {model.name(key): column for key, column in _BESIDE.items()}
    return columns.get(table.keys[0])


WORKINGS: Mapping[str, frozenset[str]] = {
    "Buy List": frozenset(("item",)),
    "Footings": frozenset(("support",)),
    "Grading": frozenset(("dig_line", "shown_line", "station", "step")),
    "Pictures": frozenset(("station", "bend", "outline", "point", "bound", "contour")),
}
"""Axes of tables that serve formulas and charts, and no reader: they are not printed. Blocks with
a column an option are workings on every sheet."""

COLOURED: Mapping[str, frozenset[str]] = {"Field Sheet": frozenset(("grid",))}
"""Axes of tables that carry a colour scale and are always full: what tells lines in use from others
would hide the colours."""

WORKING_COLUMNS = frozenset(("line_key", "line_place", "line_material"))
"""Columns that stand at the right end of their table, outside of what is printed."""

PRINTED_ROWS: Mapping[str, int] = {
    "board": 54,
    "joist_line": 34,
    "line": 40,
    "offcut": 24,
    "panel_piece": 24,
}
"""By axis, rows of a long table that are printed; a line over it tells when more are in use."""

TEXT_WIDTHS: Mapping[str, float] = {
    "board_option": 8,
    "board_item": 22,
    "board_pieces": 32,
    "board_left": 12,
    "board_bar": 36,
    "offcut_option": 8,
    "offcut_item": 22,
    "offcut_length": 14,
    "item_key": 24,
    "item_name": 42,
    "item_unit": 8,
    "item_supplier": 16,
    "item_stock": 14,
    "line_item": 42,
    "line_supplier": 17,
    "line_unit": 9,
    "layout_drawn": 40,
    "point_name": 13,
    "point_setup": 13,
    "setup_name": 13,
    "line_name": 13,
    "line_at": 13,
    "drop_name": 13,
    "drop_line": 13,
    "layout_long": 12,
    "layout_wide": 12,
    "layout_from": 24,
    "laid_x": 12,
    "laid_y": 12,
    "laid_long": 12,
    "laid_wide": 12,
    "mark_near": 11,
    "mark_centre": 11,
    "under_near": 11,
    "under_centre": 11,
    "block_row": 11,
    "floor_seam": 11,
}
"""Characters that the texts of a table column have, by key."""

LONG_TEXTS: Mapping[str, int] = {
    "sheet_text": 150,
    "cut_proven": 34,
    "sheet_proof": 34,
    "default_joist": 12,
    "suggestion_first": 48,
    "rim_joints": 24,
}
"""Characters of texts that a solver writes beside a label, by key."""

DRAWINGS: Mapping[str, str] = {
    "board_bar": "Table bar",
    "layout_drawn": "Table drawing",
    "floor_drawn": "Table drawing",
}
"""Styles of columns of drawings made of letters, which must all be equally wide."""
