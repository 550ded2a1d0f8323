"""What a person typed into solved cells: a decision in a single value, an accident in a list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from estimator.engine import Model
from estimator.rows import OPTION_KEYS, Quantity
from estimator.workbook.package.a1 import Range
from estimator.workbook.refill.port import CellContent, Content, Port, range_of
from estimator.workbook.template.snapshot import (
    CHECKSUM_DIGITS,
    TYPED_OVER_MARK,
    SnapshotLine,
    checksum,
    snapshot_plan,
)

Place = tuple[int, int]
"""Option and row of a quantity, from 0."""
Given = Mapping[tuple[str, Place], CellContent]
"""What a solver gave for single values over which something else was typed."""


@dataclass(frozen=True, slots=True)
class GivenLine:
    """A line of the snapshot that tells what a solver gave, and its number among all lines."""

    number: int
    line: SnapshotLine


@cache
def given_lines(model: Model) -> tuple[GivenLine, ...]:
    """The lines that tell what the solvers gave."""
    lines = enumerate(snapshot_plan(model).lines)
    return tuple(GivenLine(number, line) for number, line in lines if line.given)


class SolvedCells:
    """The solved cells of a workbook beside what the last refill wrote there.

    Args:
        port: The workbook.
        model: Its rows and solvers.
        places: Sheet and cells of every quantity.
        offsets: By key, offsets of the options A to F within its cells.
        live: Solvers that functions in cells answer: nothing of theirs is watched.
    """

    def __init__(
        self,
        port: Port,
        model: Model,
        places: Mapping[str, tuple[str, Range]],
        offsets: Mapping[str, tuple[int, ...]],
        live: Sequence[str] = (),
    ) -> None:
        self._port, self._model = port, model
        self._places, self._offsets = places, offsets
        held = [row[0].value for row in port.read(*range_of(port, "snapshot_value"))]
        given = given_lines(model)
        self._then = {g.number: held[g.number] for g in given if g.number < len(held)}
        recorded = any(value not in (None, "") for value in self._then.values())
        self._columns: dict[tuple[str, int | None], Sequence[Content]] = {}
        self._lines = tuple(
            g
            for g in given
            if recorded
            and g.number in self._then
            and model.quantities[g.line.key].solver not in live
        )

    def typed_over(self) -> Iterator[tuple[Quantity, Place, Content, CellContent]]:
        """Single values other than the solver's: quantity, place, content, the solver's value."""
        for given in self._lines:
            line, then = given.line, self._then[given.number]
            if line.holds != "single":
                continue
            content = self._column(line.key, line.option, 1)[0]
            if not content.blank and (then == TYPED_OVER_MARK or differ(content.value, then)):
                raw = content.value if then == TYPED_OVER_MARK else then
                yield self._model.quantities[line.key], (line.option or 0, 0), content, raw

    def spoiled(self) -> Iterator[SnapshotLine]:
        """Columns of lists in which something else stands than was written."""
        texts: dict[tuple[str, int | None], None] = {}
        for given in self._lines:
            line, then = given.line, self._then[given.number]
            if line.holds == "numbers":
                now = self._checksum(line)
                if not isinstance(then, float) or round(now - then, CHECKSUM_DIGITS) != 0:
                    yield line
            elif line.holds == "texts" and (line.key, line.option) not in texts:
                count = self._model.capacity(str(self._model.quantities[line.key].axis))
                cell = self._column(line.key, line.option, count)[line.row or 0]
                if differ(cell.value, then):
                    texts[line.key, line.option] = None
                    yield line

    def typed_into(self) -> Iterator[SnapshotLine]:
        """Those of them that somebody typed into; not what is gone with a sheet, or was emptied."""
        for line in self.spoiled():
            if not all(cell.blank for cell in self._columns[line.key, line.option]):
                yield line

    def cleared(self) -> Iterator[SnapshotLine]:
        """Single values that were emptied."""
        for given in self._lines:
            line, then = given.line, self._then[given.number]
            filled = line.holds == "single" and then not in (None, "")
            if filled and self._column(line.key, line.option, 1)[0].blank:
                yield line

    def _checksum(self, line: SnapshotLine) -> float:
        cells = self._column(line.key, line.option, line.row or 0)
        return checksum([cell.value for cell in cells])

    def _column(self, key: str, option: int | None, rows: int) -> Sequence[Content]:
        if (key, option) not in self._columns:
            sheet, area = self._places[key]
            column = area.column1 + (self._offsets[key][option] if option is not None else 0)
            found = self._port.read(sheet, Range(area.row1, column, area.row1 + rows - 1, column))
            self._columns[key, option] = [row[0] for row in found]
        return self._columns[key, option]


def differ(now: CellContent, then: CellContent) -> bool:
    """Whether a cell holds something else than was written, as its formula compares them."""
    if isinstance(now, bool) or isinstance(then, bool):
        return now is not then
    if isinstance(now, float) and isinstance(then, float):
        return abs(now - then) >= 5e-10
    return (now or "") != (then or "") if isinstance(now, type(then)) else True


PUT_RIGHT = "it holds what was solved again"
CHECKED = "a refill puts it right"


def spoiled_sentences(model: Model, lines: Iterable[SnapshotLine], end: str) -> list[str]:
    """One sentence for each block of which cells were typed over."""
    blocks: dict[tuple[str, str], dict[str, None]] = {}
    for line in lines:
        item = model.quantities[line.key]
        table = model.tables[str(item.axis)]
        titles = [
            part.title
            for sheet in model.sheets
            if sheet.name == item.sheet
            for part in sheet.parts
            if line.key in getattr(part, "keys", ())
        ]
        block = item.sheet, titles[0] if titles else table.title
        label = item.label if line.option is None else f"{item.label} {OPTION_KEYS[line.option]}"
        blocks.setdefault(block, {})[label] = None
    return [
        f"{sheet}, '{title}': something was typed into this solved list ({_few(list(labels))});"
        f" {end}."
        for (sheet, title), labels in blocks.items()
    ]


def _few(labels: Sequence[str], most: int = 4) -> str:
    more = f" and {len(labels) - most} more" if len(labels) > most else ""
    return ", ".join(labels[:most]) + more
