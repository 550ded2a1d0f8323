"""What the sheet Solved From says that the solvers gave, and what was decided instead.

Read without the model that solved, by the columns of that sheet: a line tells what was given where
a quantity's key stands in its first one; what belongs to no option stands before what the
options were given. A single value has no number of rows; another content than was given is the
person's decision.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from estimator.model.typed_over import COLUMNS
from estimator.rows import OPTION_KEYS
from estimator.workbook.carry.own_cells import Own
from estimator.workbook.package.a1 import Range, parse_cell
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import CellContent
from estimator.workbook.refill.solved_cells import differ
from estimator.workbook.template.made_from import MadeFrom
from estimator.workbook.template.snapshot import (
    EVERY,
    SNAPSHOT_VALUE,
    TYPED_OVER_MARK,
    WIDTH,
)

_COLUMNS = ("snapshot_key", "snapshot_rows", SNAPSHOT_VALUE)


@dataclass(frozen=True, slots=True)
class GivenCell:
    """What a solver gave a quantity for an option, or a part of that.

    Args:
        place: Row and column within the values of the record, counted from 0.
        value: What it holds.
        rows: How many rows of a list it tells of; None for a single value.
    """

    place: tuple[int, int]
    value: CellContent
    rows: CellContent

    @property
    def single(self) -> bool:
        """Whether it is a single value, not a column of a list."""
        return self.rows in (None, "")


Record = Mapping[tuple[str, str, int], GivenCell]
"""By quantity, option (its letter, or the word for all) and number of the quantity's line."""


def solved_record(port: FilePort, made: MadeFrom | None = None) -> Record | None:
    """What the solvers gave at the last refill.

    Args:
        port: The workbook.
        made: What it was made with, if that is to be asked how many lines there were.

    Returns:
        None where names or lines of the record are gone, or it is laid out in another way, so that
        it tells nothing for sure.
    """
    ranges = port.ranges()
    if any(name not in ranges for name in _COLUMNS) or ranges[SNAPSHOT_VALUE][1].columns != WIDTH:
        return None
    heights = {ranges[name][1].rows for name in _COLUMNS}
    before = made.ranges.get(SNAPSHOT_VALUE) if made is not None else None
    if len(heights) > 1 or (before is not None and before[1].rows not in heights):
        return None
    keys, rows = ([row[0].value for row in port.read(*ranges[name])] for name in _COLUMNS[:2])
    values = port.read(*ranges[SNAPSHOT_VALUE])
    parts: Counter[str] = Counter()
    found: dict[tuple[str, str, int], GivenCell] = {}
    for number, key in enumerate(keys):
        if not isinstance(key, str) or not key:
            continue
        for column in _columns(key, ranges, [cell.blank for cell in values[number]]):
            option = (EVERY, *OPTION_KEYS)[column]
            value = values[number][column].value
            found[key, option, parts[key]] = GivenCell((number, column), value, rows[number])
        parts[key] += 1
    return found


def _columns(
    key: str, ranges: Mapping[str, tuple[str, Range]], blank: Sequence[bool]
) -> Sequence[int]:
    """Columns of the record that a quantity has, told by its cells while it has some."""
    if key in ranges:
        return range(1, WIDTH) if ranges[key][1].columns >= len(OPTION_KEYS) else (0,)
    return [column for column in range(WIDTH) if not blank[column]]


def is_recorded(record: Record) -> bool:
    """Whether the workbook was solved since it was made."""
    return any(given.value not in (None, "") for given in record.values())


def decisions(port: FilePort, record: Record) -> Iterator[tuple[Own, GivenCell]]:
    """Contents of single values that are not what was solved, each with what tells it."""
    if not is_recorded(record):
        return
    ranges = port.ranges()
    for (key, option, _), given in record.items():
        if not given.single or key not in ranges:
            continue
        sheet, area = ranges[key]
        column = 0 if option == EVERY else OPTION_KEYS.index(option)
        spot = area.row1, area.column1 + column
        content = port.read(sheet, Range(*spot, *spot))[0][0]
        then = given.value
        if not content.blank and (then == TYPED_OVER_MARK or differ(content.value, then)):
            yield Own(sheet, spot, content, key, (0, column)), given


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
