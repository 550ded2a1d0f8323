"""A workbook with a job's entries and nothing solved: it says what is to be typed."""

from __future__ import annotations

from pathlib import Path

from estimator.engine import Model
from estimator.inputs import TypedJob
from estimator.workbook.carry.solved_record import decisions, solved_record
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Edit, patched
from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculate, recalculated, with_caches
from estimator.workbook.refill.file import filled_template, new_file
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.port import range_of
from estimator.workbook.refill.save import write_atomically
from estimator.workbook.template.names import COSTS_THEN
from estimator.workbook.template.snapshot import SNAPSHOT_VALUE


def keep_entries(path: Path, model: Model, typed: TypedJob, *, replace: bool = False) -> None:
    """Make a new workbook that holds a job's entries, to go on with them there.

    Raises:
        FileError: If a file is there and ``replace`` is not set, or can't be written.
        InputError: If an input can't be used.
    """
    with new_file(path, replace=replace) as seen:
        data = unsolved_bytes(filled_template(model, typed, path.name), model)
        write_atomically(path, data, seen=seen)


def unsolved_bytes(package: Package, model: Model) -> bytes:
    """The file with nothing solved, every formula worked out: it says what is to be typed.

    Single values that a person decided, and what the solvers gave in their place, stay.
    """
    changed = patched(package, unsolved(FilePort(package), model))
    fresh = recalculated(changed)
    if fresh is None:
        fresh = with_caches(changed, recalculate(changed).values)
    return fresh.to_bytes()


def unsolved(port: FilePort, model: Model) -> dict[tuple[str, str], Edit]:
    """Blank solved cells, an empty snapshot and no costs: never solved, so marked until it is."""
    found: dict[tuple[str, str], Edit] = {}
    names = [k for k, item in model.quantities.items() if item.role == "solved"]
    for name in (*names, SNAPSHOT_VALUE, COSTS_THEN):
        sheet, area = range_of(port, name)
        found.update({(sheet, address(*cell)): None for cell in area.cells()})
    sheet, area = range_of(port, SNAPSHOT_VALUE)
    for own, given in decisions(port, solved_record(port) or {}):
        row, column = given.place
        del found[own.sheet, address(*own.spot)]
        del found[sheet, address(area.row1 + row, area.column1 + column)]
    return found
