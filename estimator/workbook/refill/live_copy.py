"""A macro-enabled copy of a workbook whose solved blocks are answered by functions in the cells.

The copy is for Excel on Windows, where the functions are (``estimator/live/udfs.py``). No macro
comes with it: the person imports the functions. The cells keep the values that they showed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from estimator.engine import Model
from estimator.errors import FileError
from estimator.rows import mark_of
from estimator.workbook.package.a1 import Range, address, range_text
from estimator.workbook.package.cells import Edit, Formula, patched
from estimator.workbook.package.container import to_bytes
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import grid
from estimator.workbook.package.references import absolute
from estimator.workbook.refill.book import Book, read_book
from estimator.workbook.refill.changes import Formulas
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.live_blocks import (
    FUNCTION,
    INCOMPLETE,
    OK,
    LiveRange,
    can_be_live,
    guard,
    guard_sets,
    guarded,
    keys_between,
    live_ranges,
    live_solvers,
    metric_label,
    status_name,
)
from estimator.workbook.refill.port import range_of
from estimator.workbook.template.snapshot import (
    OFF,
    SHORT_COLUMN,
    STATE_COLUMN,
    SWITCH_COLUMN,
    level_name,
    snapshot_plan,
)

NO_ANSWER = "ERROR: the function gives no answer; are the functions imported (tab xlwings)?"
NO_FUNCTION = "ERROR: the function is gone from the block at "
_FIRST_OPTION = 3


@dataclass(frozen=True, slots=True)
class LiveCopy:
    """A copy with live blocks: its bytes, the solvers that are live, the number of blocks."""

    data: bytes
    live: tuple[str, ...]
    blocks: int


def with_live_blocks(package: Package, model: Model) -> LiveCopy:
    """A macro-enabled copy of a workbook, up to date, whose solved blocks are live functions.

    Each block is one array formula over the cells that the solver writes. The marks of its solver
    are off. What depends on it checks its status first. A person's own formulas stay as they are.

    Raises:
        FileError: If the workbook is live already or is not one of ours.
    """
    port = FilePort(package)
    if live_solvers(model, port.ranges()):
        raise FileError("its solved blocks are functions already.", where=package.label)
    book = read_book(port, model)
    live = can_be_live(model)
    blocks = [b for name in live for b in live_ranges(model, port.ranges(), name)]
    statuses = _statuses(port, model, live)
    edits: dict[tuple[str, str], Edit] = {}
    edits.update(_guards(port, model, book, live))
    edits.update(_states(port, model, live))
    edits.update(_marks_off(port, live))
    edits.update(_status_cells(model, blocks, live, statuses))
    changed = _with_arrays(patched(package, edits), model, blocks, port.ranges())
    names = {name: absolute(sheet, Range(*at, *at)) for name, (sheet, at) in statuses.items()}
    data = _with_names(changed.as_xlsm(), names)
    return LiveCopy(data, live, len(blocks))


Statuses = Mapping[str, tuple[str, tuple[int, int]]]
"""Sheet, row and column of every status by its defined name."""


def _statuses(port: FilePort, model: Model, live: Sequence[str]) -> Statuses:
    """Below each other, right of all else on the sheet of the marks."""
    sheet, area = range_of(port, "snapshot_value")
    used = grid(port.package, sheet).cells
    column = max(column for _, column in used) + 3
    return {
        status_name(solvers): (sheet, (area.row1 + number, column))
        for number, solvers in enumerate(guard_sets(model, live))
    }


def _guards(
    port: FilePort, model: Model, book: Book, live: Sequence[str]
) -> Iterator[tuple[tuple[str, str], Edit]]:
    """Formulas of the model that depend on live blocks, each behind its status."""
    own = {cell.edit for cell in Formulas(model, book, port).changed()}
    for cell in book.formulas:
        item = model.quantities[cell.key]
        name = guard(model, item, live)
        if name is None or cell.edit in own or cell.content.formula is None:
            continue
        sheet, row, column = cell.edit
        text = guarded(item, cell.content.formula, name)
        yield (sheet, address(row, column)), Formula(text, cell.content.value)


def _states(
    port: FilePort, model: Model, live: Sequence[str]
) -> Iterator[tuple[tuple[str, str], Edit]]:
    """The words beside solved numbers: that they are incomplete, where a block has no answer."""
    for solvers in snapshot_plan(model).states:
        found = tuple(name for name in solvers if name in live)
        if not found:
            continue
        name = status_name(found)
        sheet, area = range_of(port, level_name(solvers))
        for place, otherwise in (
            (STATE_COLUMN, f'"{INCOMPLETE}: "&{name}'),
            (SHORT_COLUMN, f'"{INCOMPLETE}"'),
        ):
            column = area.column1 + place - _FIRST_OPTION
            (content,) = port.read(sheet, Range(area.row1, column, area.row1, column))[0]
            if content.formula:
                text = f'IF({name}="{OK}",{content.formula},{otherwise})'
                yield (sheet, address(area.row1, column)), Formula(text, content.value)


def _marks_off(port: FilePort, live: Sequence[str]) -> Iterator[tuple[tuple[str, str], Edit]]:
    """No line of the snapshot counts for a solver that is always up to date."""
    for name in live:
        sheet, area = range_of(port, mark_of(name))
        yield (sheet, address(area.row1, SWITCH_COLUMN)), OFF


def _status_cells(
    model: Model, blocks: Sequence[LiveRange], live: Sequence[str], statuses: Statuses
) -> Iterator[tuple[tuple[str, str], Edit]]:
    for solvers in guard_sets(model, live):
        sheet, (row, column) = statuses[status_name(solvers)]
        if len(solvers) == 1:
            text = _status(model, [b for b in blocks if b.solver == solvers[0]])
        else:
            text = f'"{OK}"'
            for solver in reversed(solvers):
                name = status_name((solver,))
                text = f'IF({name}="{OK}",{text},{name})'
        label = f"Live: {', '.join(solvers)}" if len(solvers) < len(live) else "Live: all"
        yield (sheet, address(row, column - 1)), label
        yield (sheet, address(row, column)), Formula(text, OK)


def _status(model: Model, blocks: Sequence[LiveRange]) -> str:
    """OK, or what the first cell that must be a number says: any text there is a failure."""
    text = f'"{OK}"'
    for block in reversed(blocks):
        corner = absolute(block.sheet, Range(*block.area[:2], *block.area[:2]))
        probe, number = _probe(model, block)
        failed = f'IF(ISTEXT({probe}),{probe}<>"",FALSE)' if number else f'LEFT({probe},6)="ERROR:"'
        text = (
            f'IF(NOT(_xlfn.ISFORMULA({corner})),"{NO_FUNCTION}{corner}",'
            f'IF(ISERROR({probe}),"{NO_ANSWER}",IF({failed},{probe},{text})))'
        )
    return text


def _probe(model: Model, block: LiveRange) -> tuple[str, bool]:
    """The cell that tells whether a block has an answer: of its first number, if it has one."""
    row, column = block.area[:2]
    keys = model.writes[block.solver]
    for key in keys[keys.index(block.first) : keys.index(block.last) + 1]:
        item = model.quantities[key]
        if item.kind != "text":
            return absolute(block.sheet, Range(row, column, row, column)), True
        if item.axis is None:
            row += 1
        else:
            column += 6 if item.by_option else 1
    return absolute(block.sheet, Range(*block.area[:2], *block.area[:2])), False


def _texts_and_singles(
    model: Model, places: Mapping[str, tuple[str, Range]], block: LiveRange
) -> Iterator[tuple[int, int]]:
    """Cells of a block but the numbers of lists, where a blank is a 0."""
    for key in keys_between(model, block.solver, block.first, block.last):
        item = model.quantities[key]
        if item.kind == "text" or item.axis is None:
            yield from places[key][1].cells()


def _with_arrays(
    package: Package,
    model: Model,
    blocks: Sequence[LiveRange],
    places: Mapping[str, tuple[str, Range]],
) -> Package:
    """The file with one array formula over each block, whose cells keep their values."""
    changes: dict[str, bytes | None] = {}
    tag = package.tag
    for sheet in dict.fromkeys(block.sheet for block in blocks):
        info = package.sheet(sheet)
        root = package.xml_to_change(info.part)
        cells = {c.get("r"): c for c in root.iter(tag("c"))}
        for block in blocks:
            if block.sheet != sheet:
                continue
            solver = model.solvers[block.solver]
            reads = ",".join((*solver.reads, *solver.prices))
            corner = cells.get(address(*block.area[:2]))
            if corner is None:
                raise FileError(
                    "the first cell of a solved block is missing.", where=f"{sheet}!{block.label}"
                )
            formula = etree.Element(tag("f"), t="array", ref=range_text(block.area))
            label = metric_label(block.label) if model.measure == "metric" else block.label
            formula.text = f'{FUNCTION}("{label}",{reads})'
            corner.insert(0, formula)
            for place in _texts_and_singles(model, places, block):
                _plain_text(package, cells.get(address(*place)))
        changes[info.part] = to_bytes(root)
    return package.changed({**changes, **package.without_calculation_chain()})


def _plain_text(package: Package, cell: etree._Element | None) -> None:
    """A text as formulas keep theirs, and an empty text where the block has nothing."""
    if cell is None:
        return
    value, inline = cell.find(package.tag("v")), cell.find(package.tag("is"))
    if value is not None:
        return
    text = ""
    if inline is not None:
        text = "".join(t.text or "" for t in inline.iter(package.tag("t")))
        cell.remove(inline)
    cell.set("t", "str")
    etree.SubElement(cell, package.tag("v")).text = text


def _with_names(package: Package, names: Mapping[str, str]) -> bytes:
    root = package.xml_to_change(package.main_part)
    listed = root.find(package.tag("definedNames"))
    assert listed is not None  # a workbook of ours has them
    for name, text in names.items():
        etree.SubElement(listed, package.tag("definedName"), name=name).text = text
    return package.with_parts({package.main_part: to_bytes(root)})
