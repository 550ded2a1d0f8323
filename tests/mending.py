"""A workbook after an accident: told by ``check``, restored, refilled, every number looked at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from accidents import OWN_SHEET, Accident, fitted
from books import cells_of, opened
from office import Office

from estimator.engine import Model
from estimator.errors import EstimatorError, InputError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.report import open_points
from estimator.typed_job import read_inputs
from estimator.workbook.carry.own_cells import typed
from estimator.workbook.carry.replace import Replaced
from estimator.workbook.carry.restore import restored
from estimator.workbook.package.a1 import range_text
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import grid
from estimator.workbook.package.references import absolute
from estimator.workbook.refill.file import refill_bytes
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import Refill, check_book
from estimator.workbook.template.made_from import MADE_SHEET

MOST_NOTES = 10

Lines = Mapping[str, Mapping[tuple[int, int], Any]]


class Scene:
    """A filled workbook with a sheet of a person's own, open in LibreOffice."""

    def __init__(self, data: bytes, model: Model, template: bytes, summed: Sequence[str]) -> None:
        self.model = model
        self.template = Package.open(template, label="template")
        package = opened(data)
        self.ranges = {
            name: place
            for name, place in FilePort(package).ranges().items()
            if place[0] != MADE_SHEET
        }
        self.sheets = [info.name for info in package.sheets if info.name != MADE_SHEET]
        self.summed = summed
        self.office = Office(data)
        self.office.do(["new", OWN_SHEET])
        sums = {
            (OWN_SHEET, row, 2): f"=SUM($'{sheet}'.{range_text(area)})"
            for row, (sheet, area) in enumerate(map(self.ranges.__getitem__, summed), start=1)
        }
        self.office.edit(sums)
        self.data = self.office.saved()
        self.before, self.blank = lines_of(self.data), lines_of(template)

    def after(self, accident: Accident) -> bytes:
        """The workbook as LibreOffice saves it after an accident."""
        self.office.open(self.data)
        self.office.do(*accident.actions)
        return self.office.saved()

    def left(self, accident: Accident, broken: bytes) -> Lines:
        """The entries that are left, by typed name, line and option."""
        if accident.sorted:
            return lines_of(broken)
        found = dict(self.before)
        tables: dict[Any, dict[tuple[str, int], list[Any]]] = {}
        for name, change in accident.left.items():
            if change is None:
                found[name] = self.blank[name]
                continue
            for option, before in _columns(found[name]).items():
                sheet, area = self.ranges[name]
                table = sheet, area.row1, area.row2
                tables.setdefault(table, {})[name, option] = change(before)
        for (_, first, last), columns in tables.items():
            left, _ = fitted([*columns.values()], last - first + 1)
            for (name, option), lines in zip(columns, left, strict=True):
                lined = {(line, option): entry for line, entry in enumerate(lines)}
                found[name] = {**found[name], **lined}
        return found


def _columns(cells: Mapping[tuple[int, int], Any]) -> Mapping[int, list[Any]]:
    found: dict[int, list[Any]] = {}
    for (_, option), entry in sorted(cells.items(), key=lambda cell: cell[0]):
        found.setdefault(option, []).append(entry)
    return found


def lines_of(data: bytes) -> Lines:
    """Typed entries by name, line and option, as they stand in a workbook."""
    found: dict[str, dict[tuple[int, int], Any]] = {}
    for own in typed(FilePort(opened(data))):
        value = None if own.content.blank else own.content.value
        found.setdefault(own.name, {})[own.offset] = value
    return found


def mends(scene: Scene, accident: Accident) -> None:
    """Check the workbook after an accident, restore and refill it, and look at every number."""
    broken = scene.after(accident)
    said = what_is_said(broken, scene.model)
    done = restored(Package.open(broken, label="shed.xlsx"), scene.template)
    mended = done.notes != ("Nothing is missing.",)
    assert said or not mended, f"{accident.what}: check said nothing"
    left = scene.left(accident, broken)
    assert lines_of(done.data) == left, accident.what
    assert_few(done, accident)
    assert_own_sums_cover(scene, done, accident)
    assert_no_look_twice(scene, broken, done, accident)
    try:
        data, refill, notes = refill_bytes(done.data, scene.model, "shed.xlsx")
    except InputError:
        with pytest.raises(InputError):
            engine(scene.model, done.data)
        return
    assert len(done.notes) + len(notes) <= MOST_NOTES, (accident.what, notes)
    assert not refill.typed_over, (accident.what, notes)
    wrong = list(differing(data, refill, engine(scene.model, done.data), scene.model))
    assert not wrong, (accident.what, wrong[:5], len(wrong))


def what_is_said(data: bytes, model: Model) -> str:
    """What ``check`` says of a workbook that it can't read or finds damaged or out of date."""
    try:
        found = check_book(FilePort(Package.open(data, label="shed.xlsx")), model)
    except EstimatorError as error:
        return str(error)
    return " ".join(filter(None, (found.damage, *found.stale, *found.typed_over)))


def assert_few(done: Replaced, accident: Accident) -> None:
    assert len(done.notes) <= MOST_NOTES, (accident.what, done.notes)
    assert all(len(note) < 300 for note in done.notes), (accident.what, done.notes)


def assert_own_sums_cover(scene: Scene, done: Replaced, accident: Accident) -> None:
    """Sums that still read a table read all of it."""
    package = opened(done.data)
    if OWN_SHEET not in [info.name for info in package.sheets]:
        return
    ranges = FilePort(package).ranges()
    for row, name in enumerate(scene.summed, start=1):
        text = grid(package, OWN_SHEET).value(row, 2).formula or ""
        if "#REF!" not in text:
            wanted = absolute(*ranges[name]).replace("$", "")
            assert text == f"SUM({wanted})", (accident.what, name, text)


def assert_no_look_twice(scene: Scene, broken: bytes, done: Replaced, accident: Accident) -> None:
    """A sheet has the conditional formats of the template, or those that it had."""
    had, new, found = looks(opened(broken)), looks(scene.template), looks(done.package)
    for sheet, count in found.items():
        assert count in (had.get(sheet), new.get(sheet)), (accident.what, sheet, count)


def looks(package: Package) -> Mapping[str, int]:
    """By sheet, how many conditional formats it has."""
    return {info.name: package.read(info.part).count(b"<cfRule") for info in package.sheets}


@lru_cache(maxsize=4)
def _solved(model: Model, cells: tuple[tuple[Any, Any], ...]) -> Mapping[str, Any]:
    return evaluate(model, read_inputs(model, TypedJob(dict(cells), lambda key, _: key)))


def engine(model: Model, data: bytes) -> Mapping[str, Any]:
    """Every number for the entries of a workbook, worked out with no workbook at hand."""
    cells = {
        (name.removeprefix("in_"), line if model.quantities[name[3:]].axis else option): value
        for name, entries in lines_of(data).items()
        for (line, option), value in entries.items()
        if value is not None
    }
    return _solved(model, tuple(cells.items()))


def differing(
    data: bytes, refill: Refill, values: Mapping[str, Any], model: Model
) -> Iterator[tuple[Any, ...]]:
    """Computed cells that do not show what the engine gives.

    As long as something is left to be typed a cell may keep quiet.
    """
    package, quiet = opened(data), bool(open_points(values))
    for item, (option, row), (sheet, *spot), wanted in cells_of(model, refill.book, values, "row"):
        shown = grid(package, sheet).value(*spot).value
        if not _same(shown, wanted) and not (quiet and shown in (None, "")):
            yield item.key, option, row, shown, wanted


def _same(shown: Any, wanted: Any) -> bool:
    if isinstance(wanted, str):
        return str(shown or "") == wanted
    if np.isnan(float(wanted)):
        return shown in (None, "")
    return isinstance(shown, (int, float)) and shown == pytest.approx(float(wanted), rel=1e-9)
