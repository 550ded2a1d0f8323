"""Solved blocks that a function answers in the cell, and totals that check its status first.

In a copy with live blocks every such block is one array formula, and its solver has a status cell
that says OK or what is wrong. A formula that depends on live blocks stands behind the status: it
gives its number where the status is OK and says that it is incomplete where not, since a sum would
skip the text of a failed block in silence. Everything is found by defined names.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from estimator.engine import Model
from estimator.errors import FileError
from estimator.keys import OVERALL
from estimator.rows import Quantity, mark_of
from estimator.workbook.package.a1 import Range
from estimator.workbook.refill.port import Edit, Port
from estimator.workbook.template.snapshot import snapshot_plan, upstream_solvers
from estimator.workbook.template.writer import unguarded

FUNCTION = "BASE_BLOCK"
"""The function of the live blocks."""
OK = "OK"
INCOMPLETE = "incomplete"
_STATUS = "live_status_"
_METRIC = ";metric"
GUARD_BEGINS = f"IF({_STATUS}"
"""How a formula begins that checks a status first."""
_GUARDED = re.compile(rf'IF\({_STATUS}\w+="{OK}",', re.IGNORECASE)
_OTHERWISE = re.compile(
    r',(IF\(\$?[A-Z]+\$?[0-9]+="","",("incomplete"|2)\)|"incomplete"|2|"INCOMPLETE: "&\w+)\)$'
)
_QUIET = re.compile(r'IF\((\$?[A-Z]+\$?[0-9]+)="","",')


def status_name(solvers: Iterable[str]) -> str:
    """Defined name of the cell that says whether the live blocks of these solvers are good."""
    return _STATUS + "_".join(solvers)


def can_be_live(model: Model) -> tuple[str, ...]:
    """Solvers whose blocks a function may answer."""
    return tuple(name for name, solver in model.solvers.items() if solver.live)


def live_solvers(model: Model, ranges: Collection[str]) -> tuple[str, ...]:
    """Solvers whose blocks are live in a workbook with these defined names."""
    return tuple(name for name in model.solvers if status_name((name,)) in ranges)


def live_cells(model: Model, port: Port, live: Iterable[str]) -> frozenset[Edit]:
    """Every cell that a live block fills."""
    ranges = port.ranges()
    return frozenset(
        (sheet, row, column)
        for name in live
        for sheet, area in (ranges[key] for key in model.writes[name])
        for row, column in area.cells()
    )


def status_cells(ranges: Mapping[str, tuple[str, Range]]) -> Iterator[Edit]:
    """Where the statuses stand."""
    for name, (sheet, area) in ranges.items():
        if name.startswith(_STATUS):
            yield sheet, area.row1, area.column1


def refuse_live(port: Port) -> None:
    """Refuse a copy with live functions where only the workbook that it was made of will do.

    Raises:
        FileError: If there is a live block.
    """
    if any(True for _ in status_cells(port.ranges())):
        raise FileError(
            "is a copy with live functions.",
            where=port.label,
            cure="Start from the .xlsx workbook that it was made of.",
        )


def guard_sets(model: Model, live: Collection[str]) -> tuple[tuple[str, ...], ...]:
    """The sets of live solvers that have a status: each one, those that numbers depend on, all."""
    found: dict[tuple[str, ...], None] = dict.fromkeys((name,) for name in live)
    for solvers in snapshot_plan(model).states:
        found[tuple(name for name in solvers if name in live)] = None
    found.pop((), None)
    found[tuple(live)] = None
    return tuple(found)


def guard(model: Model, item: Quantity, live: Collection[str]) -> str | None:
    """Name of the status that the formula of a quantity checks first; None if it needs none.

    A row checks the blocks that it depends on, the mark of a live solver its own block, and a text
    that tells of marks, or stands on top of every sheet, all of them.
    """
    if not live:
        return None
    if item.role == "mark":
        name = item.key.removeprefix(mark_of(""))
        return status_name((name,)) if name in live else None
    if item.role != "row":
        return None
    if item.key == OVERALL:
        return status_name(live)
    if item.key in _free(model):
        return None
    found = _watched(model, item.key, live)
    if found:
        return status_name(found)
    return status_name(live) if item.kind == "text" and item.key in _marked(model) else None


def _watched(model: Model, key: str, live: Collection[str]) -> tuple[str, ...]:
    return tuple(name for name in upstream_solvers(model, key) if name in live)


@lru_cache(maxsize=4)
def _free(model: Model) -> frozenset[str]:
    return unguarded(model)


@lru_cache(maxsize=4)
def _marked(model: Model) -> frozenset[str]:
    """Rows that tell of solvers' marks, directly or by others."""
    found = {mark_of(name) for name in model.solvers}
    for item in model.rows():
        if found.intersection(item.reads):
            found.add(item.key)
    return frozenset(found)


def guarded(item: Quantity, text: str, name: str) -> str:
    """A formula behind the status of that name; an unused option stays quiet."""
    otherwise = f'"{INCOMPLETE}"'
    if item.role == "mark":
        otherwise = "2"
    elif item.key == OVERALL:
        otherwise = f'"INCOMPLETE: "&{name}'
    quiet = _QUIET.search(text) if item.role == "mark" else _QUIET.match(text)
    if quiet:
        otherwise = f'IF({quiet[1]}="","",{otherwise})'
    return f'IF({name}="{OK}",{text},{otherwise})'


def guarded_as(model: Model, key: str, text: str, live: Collection[str]) -> str:
    """The formula of a quantity as it stands in a workbook with these live solvers."""
    name = guard(model, model.quantities[key], live)
    return text if name is None else guarded(model.quantities[key], text, name)


def unwrapped(text: str) -> str:
    """The formula that stands behind a status; any other formula as it is."""
    start, end = _GUARDED.match(text), _OTHERWISE.search(text)
    return text[start.end() : end.start()] if start and end else text


@dataclass(frozen=True, slots=True)
class LiveRange:
    """A rectangle that one formula fills.

    Args:
        solver: Whose answer it shows.
        first, last: Keys of the first and last quantity in it, in the solver's order.
        sheet: Its sheet.
        area: Its cells.
    """

    solver: str
    first: str
    last: str
    sheet: str
    area: Range

    @property
    def label(self) -> str:
        """How the function is told which part of the answer belongs here."""
        return self.first if self.first == self.last else f"{self.first}:{self.last}"


def metric_label(label: str) -> str:
    """A label that tells the function that the block and what it reads are in metric units."""
    return f"{label}{_METRIC}"


def parse_label(label: str) -> tuple[str, str, bool]:
    """First and last key of a block, and whether it is in metric units."""
    is_metric = label.endswith(_METRIC)
    first, _, last = label.removesuffix(_METRIC).partition(":")
    return first, last or first, is_metric


def keys_between(model: Model, solver: str, first: str, last: str) -> tuple[str, ...]:
    """Keys that a solver writes, from one to another."""
    keys = model.writes[solver]
    return keys[keys.index(first) : keys.index(last) + 1]


def live_ranges(
    model: Model, ranges: Mapping[str, tuple[str, Range]], solver: str
) -> tuple[LiveRange, ...]:
    """Rectangles of a solver's answer: neighbours in its order that touch are one.

    Rows of options lie below each other, columns of a table beside each other.
    """
    found: list[LiveRange] = []
    for key in model.writes[solver]:
        sheet, area = ranges[key]
        if found and found[-1].sheet == sheet:
            last = found[-1]
            joined = _joined(last.area, area, below=model.quantities[key].axis is None)
            same = model.quantities[key].axis == model.quantities[last.last].axis
            if joined and same:
                found[-1] = LiveRange(solver, last.first, key, sheet, joined)
                continue
        found.append(LiveRange(solver, key, key, sheet, area))
    return tuple(found)


def _joined(one: Range, other: Range, *, below: bool) -> Range | None:
    if below:
        touch = other.row1 == one.row2 + 1 and (one.column1, one.column2) == (
            other.column1, other.column2
        )  # fmt: skip
    else:
        touch = other.column1 == one.column2 + 1 and (one.row1, one.row2) == (
            other.row1, other.row2
        )  # fmt: skip
    return Range(one.row1, one.column1, other.row2, other.column2) if touch else None
