"""What a person typed into solved cells: a decision in a single value, an accident in a list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from estimator.engine import Model
from estimator.rows import OPTION_KEYS, Quantity
from estimator.workbook.package.a1 import Range
from estimator.workbook.refill.port import CellContent, Content, Port, range_of
from estimator.workbook.template.checksums import CHECKSUM_DIGITS
from estimator.workbook.template.snapshot import (
    SNAPSHOT_VALUE,
    TYPED_OVER_MARK,
    SnapshotLine,
    kept,
    offset,
    snapshot_plan,
)

Place = tuple[int, int]
"""Option and row of a quantity, from 0."""
Given = Mapping[tuple[str, Place], CellContent]
"""What a solver gave for single values over which something else was typed."""


@dataclass(frozen=True, slots=True)
class GivenLine:
    """What a solver gave for an option, as a line of the snapshot tells it.

    Args:
        number: Of the line among all lines, counted from 0.
        line: The line.
        option: The option counted from 0; None where it belongs to none.
    """

    number: int
    line: SnapshotLine
    option: int | None

    @property
    def place(self) -> tuple[int, int]:
        """Row and column within the snapshot's values."""
        return self.number, offset(self.option)


@cache
def given_lines(model: Model) -> tuple[GivenLine, ...]:
    """What the lines tell that the solvers gave."""
    return tuple(
        GivenLine(number, line, option)
        for number, line in enumerate(snapshot_plan(model).lines)
        if line.given
        for option in line.options
    )


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
        snapshot = port.read(*range_of(port, SNAPSHOT_VALUE))
        given = [g for g in given_lines(model) if g.number < len(snapshot)]
        self._then = {g.place: snapshot[g.number][offset(g.option)].value for g in given}
        recorded = any(value not in (None, "") for value in self._then.values())
        self._columns: dict[tuple[str, int | None], Sequence[Content]] = {}
        self._lines = tuple(
            g for g in given if recorded and model.quantities[g.line.key].solver not in live
        )

    def decisions(self) -> Iterator[tuple[Quantity, Place, Content, CellContent]]:
        """Single values other than the solver's: quantity, place, content, the solver's value."""
        for given in self._lines:
            line, then = given.line, self._then[given.place]
            if line.holds != "single":
                continue
            content = self._column(line.key, given.option, 1)[0]
            if not content.blank and (then == TYPED_OVER_MARK or differ(content.value, then)):
                raw = content.value if then == TYPED_OVER_MARK else then
                yield self._model.quantities[line.key], (given.option or 0, 0), content, raw

    def spoiled(self) -> Iterator[GivenLine]:
        """Columns of lists in which something else stands than was written, each once."""
        seen: set[tuple[str, int | None]] = set()
        for given in self._lines:
            line, then = given.line, self._then[given.place]
            if line.holds == "single" or (line.key, given.option) in seen:
                continue
            now = kept(line, [cell.value for cell in self._list(given)])
            if _other_list(now, then):
                seen.add((line.key, given.option))
                yield given

    def typed_into(self) -> Iterator[GivenLine]:
        """Those of them that somebody typed into; not what is gone with a sheet, or was emptied."""
        for given in self.spoiled():
            if not all(cell.blank for cell in self._list(given)):
                yield given

    def cleared(self) -> Iterator[GivenLine]:
        """Single values that were emptied."""
        for given in self._lines:
            line, then = given.line, self._then[given.place]
            filled = line.holds == "single" and then not in (None, "")
            if filled and self._column(line.key, given.option, 1)[0].blank:
                yield given

    def _list(self, given: GivenLine) -> list[Content]:
        """The whole column of a list, or the columns that its line tells of behind each other."""
        count = self._model.capacity(str(self._model.quantities[given.line.key].axis))
        keys = given.line.members or (given.line.key,)
        return [cell for key in keys for cell in self._column(key, given.option, count)]

    def _column(self, key: str, option: int | None, rows: int) -> Sequence[Content]:
        if (key, option) not in self._columns:
            sheet, area = self._places[key]
            column = area.column1 + (self._offsets[key][option] if option is not None else 0)
            found = self._port.read(sheet, Range(area.row1, column, area.row1 + rows - 1, column))
            self._columns[key, option] = [row[0] for row in found]
        return self._columns[key, option]


def _other_list(now: float | str, then: CellContent) -> bool:
    if isinstance(now, float) and isinstance(then, float):
        return round(now - then, CHECKSUM_DIGITS) != 0
    return now != then


def differ(now: CellContent, then: CellContent) -> bool:
    """Whether a cell holds something else than was written, as its formula compares them."""
    if isinstance(now, bool) or isinstance(then, bool):
        return now is not then
    if isinstance(now, float) and isinstance(then, float):
        return abs(now - then) >= 5e-10
    return (now or "") != (then or "") if isinstance(now, type(then)) else True


PUT_RIGHT = "it holds what was solved again"
CHECKED = "a refill puts it right"


def spoiled_sentences(model: Model, lines: Iterable[GivenLine], end: str) -> list[str]:
    """One sentence for each block of which cells were typed over."""
    blocks: dict[tuple[str, str], dict[str, None]] = {}
    for given in lines:
        item = model.quantities[given.line.key]
        table = model.tables[str(item.axis)]
        titles = [
            part.title
            for sheet in model.sheets
            if sheet.name == item.sheet
            for part in sheet.parts
            if item.key in getattr(part, "keys", ())
        ]
        block = item.sheet, titles[0] if titles else table.title
        letter = "" if given.option is None else f" {OPTION_KEYS[given.option]}"
        others = given.line.members[1:]
        last = f" to {model.quantities[others[-1]].label}" if others else ""
        label = f"{item.label}{last}{letter}"
        blocks.setdefault(block, {})[label] = None
    return [
        f"{sheet}, '{title}': something was typed into this solved list ({_few(list(labels))});"
        f" {end}."
        for (sheet, title), labels in blocks.items()
    ]


def _few(labels: Sequence[str], most: int = 4) -> str:
    more = f" and {len(labels) - most} more" if len(labels) > most else ""
    return ", ".join(labels[:most]) + more
