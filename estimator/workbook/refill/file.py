"""Files on disk: new, refilled and checked workbooks."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from estimator.engine import Model
from estimator.errors import FileError
from estimator.inputs import TypedJob, day
from estimator.metric import suited
from estimator.report import CheckedBook
from estimator.rows import OPTION_KEYS, PROBLEMS, Quantity
from estimator.typed_job import read_inputs, told_where_typed
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import (
    Cache,
    Formula,
    formula_cells,
    not_shown,
    patched,
    patched_places,
)
from estimator.workbook.package.cells import Edit as CellEdit
from estimator.workbook.package.chart_caches import with_chart_caches
from estimator.workbook.package.lean_copy import lean_copy
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.package.reading import grid
from estimator.workbook.package.recalculate import recalculate, recalculated, with_caches
from estimator.workbook.package.standing import without_formulas
from estimator.workbook.refill.file_port import FilePort, plain
from estimator.workbook.refill.live_blocks import OK, status_cells
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.option_columns import OptionColumns
from estimator.workbook.refill.port import CellContent, Edit, range_of
from estimator.workbook.refill.refill import Refill, check_book, plan_refill
from estimator.workbook.refill.save import Seen, bytes_at, write_atomically
from estimator.workbook.refill.untouched import marks, workings
from estimator.workbook.refill.usable_rows import flags
from estimator.workbook.template.layout import layout
from estimator.workbook.template.names import named_ranges
from estimator.workbook.template.shipped import shipped, template_of

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Report:
    """What became of a workbook.

    Args:
        path: The file.
        refill: What was read, solved and written.
        notes: Sentences for the person: what could not be done, what was kept.
        previous: The version kept beside it, if any.
        changed: Whether the file is another than before.
    """

    path: Path
    refill: Refill
    notes: tuple[str, ...]
    previous: Path | None = None
    changed: bool = True


def refill_bytes(data: bytes, model: Model, label: str) -> tuple[bytes, Refill, tuple[str, ...]]:
    """A refilled copy of a workbook's bytes, which are opened once.

    Raises:
        EstimatorError: If the workbook or an input can't be used.
    """
    return refill_package(Package.open(data, label=label), model)


def refill_package(package: Package, model: Model) -> tuple[bytes, Refill, tuple[str, ...]]:
    """The same of a workbook that is open; nothing is opened again.

    Raises:
        EstimatorError: If the workbook or an input can't be used.
    """
    model = suited(model, package.names)
    refill = plan_refill(FilePort(package), model, partial(_calculate, package))
    notes = list(refill.notes)
    if package.signed:
        notes.append("The digital signature of the file no longer holds.")
    port, template = FilePort(package), shipped(template_of(model))
    unmarked = {**marks(port, model, refill, template), **flags(port, model, refill, template)}
    known = {**refill.caches, **workings(port, model, template), **unmarked}
    shown = _shown_live(package, refill)
    edits: dict[Edit, CellEdit] = dict(refill.writes)
    edits.update((key, Formula(text, known.get(key))) for key, text in refill.restored.items())
    unshown = not_shown(package, known).items()
    edits.update((key, Cache(v)) for key, v in unshown if key not in refill.restored)
    edits.update((key, Cache(value)) for key, value in shown.items())
    changed = patched_places(package, edits, alike=refill.alike)
    standing_in = _with_values(changed, shown) if shown else changed
    _LOG.info("Working out the formulas of %s", package.label)
    fresh = recalculated(standing_in, known.keys())
    if fresh is not None and unmarked and not _all_read(fresh):
        fresh = recalculated(standing_in, known.keys() - unmarked.keys())
    if fresh is None:
        fresh, note = _part_calculated(standing_in, refill)
        notes += [note] if note else []
    if shown:
        given = {(s, r, c): v.value for s, r, c, v in formula_cells(fresh)}
        fresh = with_caches(changed, _addressed({**given, **shown}))
    return with_chart_caches(fresh).to_bytes(), refill, tuple(notes)


def _all_read(package: Package) -> bool:
    """Whether the sheets themselves can read every entry, whatever else was changed in them."""
    port = FilePort(package)
    return port.read(*range_of(port, PROBLEMS))[0][0].value == 0


def _shown_live(package: Package, refill: Refill) -> dict[Edit, Any]:
    """What live blocks and their statuses show; a function leaves an empty text for a blank."""
    if not refill.answered:
        return {}
    return {**{k: "" if v is None else v for k, v in refill.answered.items()}, **_good(package)}


def _good(package: Package) -> dict[Edit, str]:
    """Statuses of live blocks, all good."""
    return dict.fromkeys(status_cells(FilePort(package).ranges()), OK)


def _with_values(package: Package, shown: Mapping[Edit, Any]) -> Package:
    """The workbook with values in place of live functions, for the engine, which lacks them."""
    values = {k: Formula('""', "") if v == "" else v for k, v in shown.items()}
    return patched_places(package, values).as_xlsx()


def _addressed(cells: Mapping[Edit, Any]) -> dict[tuple[str, str], Any]:
    return {(sheet, address(row, column)): value for (sheet, row, column), value in cells.items()}


def _calculate(
    package: Package,
    writes: Mapping[Edit, Any],
    known: Mapping[Edit, Any],
    cells: Sequence[Edit],
) -> Mapping[Edit, CellContent]:
    """What formulas of a person's own give once the writes are made."""
    shown = {key: Cache(value) for key, value in not_shown(package, known).items()}
    written = patched_places(package, {**shown, **writes, **_good(package)})
    fresh = recalculated(written, known.keys())
    if fresh is not None:
        values = {cell: grid(fresh, cell[0]).value(*cell[1:]).value for cell in cells}
    else:
        found = recalculate(without_formulas(written, known.keys())).values
        places = {cell: (cell[0], address(*cell[1:])) for cell in cells}
        values = {cell: found[place] for cell, place in places.items() if place in found}
    return {cell: plain(value) for cell, value in values.items()}


def _part_calculated(package: Package, refill: Refill) -> tuple[Package, str]:
    """What can be calculated where the engine refuses the file, and a sentence on the rest.

    The values that the model knows stand in its own cells whatever the engine can do.
    """
    known = {key: value for key, value in refill.caches.items() if value is not None}
    result = recalculate(without_formulas(package, known.keys()))
    known.update({o.edit: o.shown for o in refill.typed_over})
    return with_caches(package, {**_addressed(known), **result.values}), result.note


def refill_workbook(path: Path, model: Model) -> Report:
    """Refill a workbook in place, keeping one previous version beside it.

    Raises:
        EstimatorError: If the file or an input can't be used; the file is then as it was.
    """
    with locked(path):
        before = read_file(path)
        data, refill, notes = refill_bytes(before, model, path.name)
        saved = write_atomically(path, data, seen=Seen.of(before))
    return Report(path, refill, notes, saved.previous, saved.changed)


def create_workbook(path: Path, model: Model, typed: TypedJob, *, replace: bool = False) -> Report:
    """Make a new workbook from the template for a job.

    Raises:
        FileError: If the file exists and ``replace`` is not set, or can't be written.
        EstimatorError: If an input can't be used.
    """
    with new_file(path, replace=replace) as seen:
        package = filled_template(model, typed, path.name)
        with told_where_typed(model, typed):
            data, refill, notes = refill_package(package, model)
        write_atomically(path, data, seen=seen)
    return Report(path, refill, notes)


@contextmanager
def new_file(path: Path, *, replace: bool) -> Iterator[Seen]:
    """What stands where a new workbook is to go, which no other command uses meanwhile.

    Raises:
        FileError: If a file is there and ``replace`` is not set, or can't be read.
    """
    with locked(path):
        seen = seen_at(path)
        if seen.digest and not replace:
            raise FileError(
                "there is a file of that name already.",
                where=str(path),
                cure="Choose another name, or say --force to replace it.",
            )
        yield seen


def filled_template(model: Model, typed: TypedJob, label: str) -> Package:
    """The shipped template with a job's entries, nothing solved.

    Raises:
        FileError: If the template was built from fewer rows than the model has.
        EstimatorError: If an input can't be used.
    """
    read_inputs(model, typed)
    template = template_of(model)
    package = Package.open(read_file(template), label=template.name)
    there = FilePort(package).ranges()
    lacking = [name for name in named_ranges(layout(model)) if name not in there]
    if lacking:
        keys = [name for name in lacking if name.removeprefix("in_") in model.quantities]
        raise FileError(
            f"the template has no cells for {(keys or lacking)[0]}.",
            where=template.name,
            cure="It was built before that row came: run python scripts/build_templates.py",
        )
    filled = patched(package, typed_edits(FilePort(package), model, typed))
    return filled.changed({}, label=label)


def seen_at(path: Path) -> Seen:
    """What stands where a new workbook is to go, if anything does.

    Raises:
        FileError: If it can't be read.
    """
    return Seen.of(bytes_at(path))


def check_workbook(path: Path, model: Model) -> CheckedBook:
    """A workbook as it stands: every number for its inputs, with its solved parts as they are.

    Raises:
        EstimatorError: If the file or an input can't be used.
    """
    return check_package(Package.open(read_file(path), label=path.name), model)


def check_package(package: Package, model: Model) -> CheckedBook:
    """The same of a workbook that is open.

    Raises:
        EstimatorError: If an input can't be used, or a part that a refill reads.
    """
    found = check_book(FilePort(package), model)
    for part in package.parts:
        package.read(part)
    lean_copy(package, set())
    with_chart_caches(package)
    return found


def typed_edits(port: FilePort, model: Model, typed: TypedJob) -> dict[tuple[str, str], CellEdit]:
    """Edits that put a job's typed values, and blanks, into the typed cells."""
    edits: dict[tuple[str, str], CellEdit] = {}
    offsets = OptionColumns(port).typed
    for key, item in model.quantities.items():
        if item.role != "input":
            continue
        sheet, area = range_of(port, f"in_{key}")
        count = (
            area.row2 - area.row1 + 1 if item.axis else len(OPTION_KEYS) if item.by_option else 1
        )
        for place in range(count):
            row = area.row1 + (place if item.axis else 0)
            column = area.column1 + (offsets[place] if item.by_option else 0)
            edits[sheet, address(row, column)] = cell_value(item, typed.cells.get((key, place)))
    return edits


def cell_value(item: Quantity, typed: Any) -> float | str | None:
    """A typed value as a cell holds it: a date as its day number."""
    value = day(typed) if item.field is not None and item.field.kind == "date" else typed
    return value if value is None or isinstance(value, str) else float(value)
