"""A workbook of an older template brought to the present one, with all that is a person's own."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from estimator.engine import Model
from estimator.errors import FileError, InputError, in_quotes, on_command_line
from estimator.item_names import named
from estimator.metric import suited
from estimator.workbook.carry.replace import Replaced, Replacement
from estimator.workbook.carry.unsolved import unsolved_bytes
from estimator.workbook.package.a1 import address
from estimator.workbook.package.cells import Edit, patched
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.package.shared_formulas import written_out
from estimator.workbook.refill.book import not_ours, other_version, version_of
from estimator.workbook.refill.file import Report, refill_package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.locking import locked
from estimator.workbook.refill.made_with import read_made_from
from estimator.workbook.refill.port import range_of
from estimator.workbook.refill.save import Saved, Seen, write_atomically
from estimator.workbook.template.names import TEMPLATE_VERSION, VERSION
from estimator.workbook.template.shipped import template_of

PROPERTIES = "docProps/custom.xml"
_PROPERTY = re.compile(rb'(name="' + VERSION.encode() + rb'"[^>]*>\s*<[^>]*>)[^<]*')


@dataclass(frozen=True, slots=True)
class Upgrade:
    """What became of a workbook: ``report`` is None where inputs are to be typed first."""

    saved: Saved
    report: Report | None
    notes: tuple[str, ...]


def upgrade_workbook(
    path: Path,
    model: Model,
    renamed: Mapping[str, str],
    unasked: Callable[[Model], Mapping[str, str | float | None]],
) -> Upgrade:
    """Bring a workbook to the present template in place, the one from before kept beside it.

    Args:
        path: The workbook.
        model: The rows and solvers.
        renamed: By old key of a quantity, its present one.
        unasked: From the model of the workbook's measure to entries by key: what inputs are set to
            that the workbook did not have.

    Raises:
        EstimatorError: If it is no older workbook of ours or can't be read or written; the file
            is then as it was.
    """
    with locked(path):
        data = read_file(path)
        package, template, model = opened(data, path.name, model)
        replaced = upgraded(package, template, renamed)
        before = FilePort(package).ranges()
        replaced = nothing_added(replaced, model, before, unasked(model))
        replaced = chosen_by_name(replaced, model)
        return written(path, Seen.of(data), model, replaced)


def opened(data: bytes, label: str, model: Model) -> tuple[Package, Package, Model]:
    """A workbook, the shipped template of its system of measure, and the model in that.

    Raises:
        FileError: If one of them can't be read.
    """
    package = Package.open(data, label=label)
    model = suited(model, FilePort(package).ranges())
    shipped = template_of(model)
    template = Package.open(read_file(shipped), label=shipped.name)
    parts = [info.part for info in template.sheets if info.kind == "worksheet"]
    # What is carried into a cell takes the place of its formula alone.
    own = {part: written_out(template.read(part)) for part in parts}
    return package, template.changed(own), model


def written(path: Path, seen: Seen, model: Model, replaced: Replaced) -> Upgrade:
    """The workbook refilled and saved; where an input can't be used, saved to be typed into.

    ``seen`` is what the file held when it was read.

    Raises:
        EstimatorError: If it can't be written; the file is then as it was.
    """
    try:
        data, refill, notes = refill_package(replaced.package, model)
    except InputError as error:
        blank = unsolved_bytes(replaced.package, model)
        saved = write_atomically(path, blank, seen=seen)
        return Upgrade(saved, None, (*replaced.notes, f"Not solved yet: {error}"))
    saved = write_atomically(path, data, seen=seen)
    report = Report(path, refill, notes, saved.previous, saved.changed)
    return Upgrade(saved, report, (*replaced.notes, *notes))


def upgraded(package: Package, template: Package, renamed: Mapping[str, str]) -> Replaced:
    """The workbook on the present template, not refilled yet.

    Args:
        package: A workbook made from an older template.
        template: The present one.
        renamed: By old key of a quantity, its present one.

    Raises:
        FileError: If it is not a workbook of ours, or is one of a newer template.
    """
    port = FilePort(package)
    if VERSION not in port.ranges():
        raise not_ours(port)
    version = version_of(port)
    made, present = read_made_from(port), read_made_from(FilePort(template))
    same = (made.ranges, made.formulas, made.nameless) == (
        present.ranges,
        present.formulas,
        present.nameless,
    )
    if version == TEMPLATE_VERSION and (same or not made.ranges):
        raise FileError(
            "is on the present version of the template already.",
            where=port.label,
            cure=f"Refill it: estimator refill {on_command_line(port.label)}",
        )
    if version.isdecimal() and int(version) > int(TEMPLATE_VERSION):
        raise other_version(port, version)
    work = Replacement(port, FilePort(template), made, renamed)
    done = work.run(frozenset(sheet.name for sheet in template.sheets))
    return Replaced(_with_version(done.package), done.notes)


def nothing_added(
    replaced: Replaced,
    model: Model,
    before: Collection[str],
    unasked: Mapping[str, str | float | None],
) -> Replaced:
    """The workbook with inputs that it did not have set to what adds nothing, and that said.

    Args:
        replaced: The workbook on the present template.
        model: The rows.
        before: Defined names that it had.
        unasked: By key of an input, what all of its cells hold; None leaves them blank.
    """
    new = {key: entry for key, entry in unasked.items() if f"in_{key}" not in before}
    if not new:
        return replaced
    port = FilePort(replaced.package)
    edits: dict[tuple[str, str], Edit] = {}
    notes = []
    for key, entry in new.items():
        sheet, area = range_of(port, f"in_{key}")
        rows = range(area.row1, area.row2 + 1)
        columns = range(area.column1, area.column2 + 1)
        edits |= {(sheet, address(row, column)): entry for row in rows for column in columns}
        said = "left blank" if entry is None else f"set to {in_quotes(_shown(entry))}"
        cell = address(area.row1, area.column1)
        notes.append(f"New: {model.quantities[key].label} ({sheet}!{cell}) is {said}.")
    return Replaced(patched(replaced.package, edits), (*replaced.notes, *notes))


def chosen_by_name(replaced: Replaced, model: Model) -> Replaced:
    """The workbook with lines that cells chose by their keys chosen by their names."""
    port = FilePort(replaced.package)
    fields = [item.field for item in model.quantities.values() if item.field]
    keys = {field.by_key for field in fields if field.by_key}
    wanted = [f.key for f in fields if f.by_key or f.key in keys]
    wanted += [f.unlike for f in fields if f.key in keys]
    cells: dict[tuple[str, int], Any] = {}
    spots: dict[tuple[str, int], tuple[str, str]] = {}
    for key in wanted:
        sheet, area = range_of(port, f"in_{key}")
        contents = [content for row in port.read(sheet, area) for content in row]
        for place, (content, spot) in enumerate(zip(contents, area.cells(), strict=True)):
            cells[key, place] = content.value
            spots[key, place] = sheet, address(*spot)
    now = named(model, cells)
    edits: dict[tuple[str, str], Edit] = {
        spots[cell]: now[cell] for cell, value in cells.items() if now[cell] != value
    }
    if not edits:
        return replaced
    note = f"Items are chosen by their names now: {len(edits)} cells."
    return Replaced(patched(replaced.package, edits), (*replaced.notes, note))


def _shown(entry: str | float) -> str:
    return entry if isinstance(entry, str) else f"{entry:g}"


def _with_version(package: Package) -> Package:
    """The version also where the file's properties tell it."""
    if not package.has(PROPERTIES):
        return package
    text = package.read(PROPERTIES)
    return package.changed({PROPERTIES: _PROPERTY.sub(rb"\g<1>" + TEMPLATE_VERSION.encode(), text)})
