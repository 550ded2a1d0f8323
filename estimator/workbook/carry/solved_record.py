"""What the sheet Solved From says that the solvers gave, and what was decided instead.

Read without the model that solved, by the columns of that sheet: a group of lines begins where an
option stands, belongs to the quantity named last, and tells what was given where the letter for it
stands in a solver's column. A single value has no number of rows; another content than was given
is the person's decision.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from estimator.model.typed_over import COLUMNS
from estimator.rows import OPTION_KEYS
from estimator.workbook.carry.own_cells import Own
from estimator.workbook.package.a1 import Range, parse_cell
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import CellContent
from estimator.workbook.refill.solved_cells import differ
from estimator.workbook.template.made_from import MadeFrom
from estimator.workbook.template.snapshot import EVERY, GIVEN, TYPED_OVER_MARK, reads_name

VALUES = "snapshot_value"
_COLUMNS = ("snapshot_key", "snapshot_option", "snapshot_rows", VALUES)


@dataclass(frozen=True, slots=True)
class GivenLines:
    """Lines of what a solver gave a quantity for an option.

    Args:
        first: Number of the first line, counted from 0.
        values: What they hold.
        single: Whether it is a single value, not a column of a list.
    """

    first: int
    values: tuple[CellContent, ...]
    single: bool


Record = Mapping[tuple[str, str], GivenLines]
"""By quantity and option (its letter, or the word for all)."""


def solved_record(port: FilePort, made: MadeFrom | None = None) -> Record | None:
    """What the solvers gave at the last refill.

    Args:
        port: The workbook.
        made: What it was made with, if that is to be asked how many lines there were.

    Returns:
        None where names or lines of the record are gone, so that it tells nothing for sure.
    """
    ranges = port.ranges()
    if any(name not in ranges for name in _COLUMNS):
        return None
    heights = {ranges[name][1].rows for name in _COLUMNS}
    before = made.ranges.get(VALUES) if made is not None else None
    if len(heights) > 1 or (before is not None and before[1].rows not in heights):
        return None
    keys, options, rows, values = (
        [row[0].value for row in port.read(*ranges[name])] for name in _COLUMNS
    )
    marks = [
        [row[0].value for row in port.read(*ranges[name])]
        for name in ranges
        if name.startswith(reads_name(""))
    ]
    begins = [number for number, option in enumerate(options) if option not in (None, "")]
    found: dict[tuple[str, str], GivenLines] = {}
    key, count = "", None
    for number, end in zip(begins, [*begins[1:], len(options)], strict=True):
        if keys[number] not in (None, ""):
            key, count = str(keys[number]), rows[number]
        if any(column[number] == GIVEN for column in marks):
            single = count in (None, "")
            found[key, str(options[number])] = GivenLines(number, tuple(values[number:end]), single)
    return found


def is_recorded(record: Record) -> bool:
    """Whether the workbook was solved since it was made."""
    return any(v not in (None, "") for lines in record.values() for v in lines.values)


def decisions(port: FilePort, record: Record) -> Iterator[tuple[Own, GivenLines]]:
    """Contents of single values that are not what was solved, each with the line that tells it."""
    if not is_recorded(record):
        return
    ranges = port.ranges()
    for (key, option), lines in record.items():
        if not lines.single or key not in ranges:
            continue
        sheet, area = ranges[key]
        column = 0 if option == EVERY else OPTION_KEYS.index(option)
        if column >= area.columns:
            continue
        spot = area.row1, area.column1 + column
        content = port.read(sheet, Range(*spot, *spot))[0][0]
        then = lines.values[0]
        if not content.blank and (then == TYPED_OVER_MARK or differ(content.value, then)):
            yield Own(sheet, spot, content, key, (0, column)), lines


def listed_decisions(port: FilePort, made: MadeFrom) -> Iterator[str]:
    """Places of solved single values that the last refill listed as typed over."""
    ranges = port.ranges()
    if COLUMNS[0] not in ranges:
        return
    for row in port.read(*ranges[COLUMNS[0]]):
        sheet, _, cell = str(row[0].value or "").rpartition("!")
        if not sheet:
            continue
        spot = parse_cell(cell)
        if any(
            home == sheet and area.rows == 1 and area.holds(*spot)
            for name, (home, area) in ranges.items()
            if name in made.ranges and name not in made.formulas and not name.startswith("in_")
        ):
            yield f"{sheet}!{cell}"
