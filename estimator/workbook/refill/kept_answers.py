"""Solved cells that still hold: what a solver gave from the very same reads is not solved again.

Beside each solver's mark the workbook keeps a checksum of everything that the solver read, of
what it gave, and of the program that solved. Where the same checksum comes out today, the solved
cells are what the solver would give, to the last bit, and are taken as they are.
"""

from __future__ import annotations

import copy
import dataclasses
import hashlib
import os
from collections.abc import Collection, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from estimator.engine import Declared, Model, Solve, Solver
from estimator.rows import OPTION_KEYS
from estimator.values import Values
from estimator.workbook.refill.book import Book
from estimator.workbook.refill.empty_rows import has_gaps
from estimator.workbook.refill.port import CellContent, Edit, Port
from estimator.workbook.template.names import SOLVED_CHECKSUM

_NOT_SOLVING = ("workbook", "live")
_SEPARATOR = b"\x1f"


@cache
def program() -> bytes:
    """Checksum of the program's own text, but for the parts that only read and write files."""
    root = Path(__file__).resolve().parents[2]
    found = hashlib.sha256()
    for folder, below, names in os.walk(root):
        within = Path(folder)
        below[:] = sorted(set(below).difference(_NOT_SOLVING if within == root else ()))
        for name in sorted(name for name in names if name.endswith(".py")):
            found.update(name.encode() + _SEPARATOR + (within / name).read_bytes())
    return found.digest()


class KeptAnswers:
    """The solved cells of a workbook, and which of them hold.

    Args:
        port: The workbook.
        model: Its rows and solvers.
        book: The workbook as read.
    """

    def __init__(self, port: Port, model: Model, book: Book) -> None:
        self._port, self._model, self._book = port, model, book
        self._place = port.ranges().get(SOLVED_CHECKSUM)
        self._reads: dict[str, bytes] = {}
        self._cells: dict[str, list[Edit]] = {}
        self.kept: set[str] = set()

    def model(self) -> Model:
        """The model, with solvers that answer from the workbook where its cells hold."""
        if self._place is None:
            return self._model
        model = copy.copy(self._model)
        model.solvers = {
            name: dataclasses.replace(solver, function=self._answering(solver, line))
            for line, (name, solver) in enumerate(self._model.solvers.items())
        }
        return model

    def _answering(self, solver: Solver, line: int) -> Solve:
        def answer(reads: Mapping[str, Values]) -> Mapping[str, Any]:
            self._reads[solver.name] = _reads_checksum(solver, reads)
            contents = {key: self._contents(key) for key in self._model.writes[solver.name]}
            if self._seal(solver.name, contents) == self._stored(line):
                self.kept.add(solver.name)
                return {key: self._array(key, cells) for key, cells in contents.items()}
            self.kept.discard(solver.name)
            return solver.function(reads)

        return answer

    def writes(self, solved: Mapping[Edit, CellContent]) -> dict[Edit, str]:
        """The checksums to keep, once these answers of the solvers are written."""
        if self._place is None:
            return {}
        sheet, area = self._place
        found: dict[Edit, str] = {}
        for line, name in enumerate(self._model.solvers):
            contents = {
                key: [solved[edit] for edit in self._edits(key)] for key in self._model.writes[name]
            }
            found[sheet, area.row1 + line, area.column1] = self._seal(name, contents)
        return found

    def _stored(self, line: int) -> CellContent:
        assert self._place is not None
        sheet, area = self._place
        row = area.row1 + line
        return self._port.read(sheet, area._replace(row1=row, row2=row))[0][0].value

    def _edits(self, key: str) -> list[Edit]:
        if key not in self._cells:
            item = self._model.quantities[key]
            rows = self._model.capacity(item.axis) if item.axis else 1
            options = range(len(OPTION_KEYS) if item.by_option else 1)
            self._cells[key] = [
                edit for option in options for edit in self._book.column(item, option, rows)
            ]
        return self._cells[key]

    def _contents(self, key: str) -> list[CellContent]:
        """What the solver gave, as the workbook tells it; not what was typed over that."""
        sheet, area = self._book.places[key]
        rows = self._port.read(sheet, area)
        typed = {
            self._book.cell(self._model.quantities[key], *place): value
            for (other, place), value in self._book.given.items()
            if other == key
        }
        return [
            typed.get(edit, rows[edit[1] - area.row1][edit[2] - area.column1].value)
            for edit in self._edits(key)
        ]

    def _array(self, key: str, cells: list[CellContent]) -> Any:
        """Solved values as the solver gives them: options by rows; in a list a blank number is 0,
        but where it is a gap."""
        item = self._model.quantities[key]
        shape = (len(OPTION_KEYS) if item.by_option else 1, -1)
        if item.kind == "text":
            return np.array([str(_plain(c)) for c in cells]).reshape(shape)
        blank = np.nan if item.axis is None or has_gaps(self._model, item) else 0.0
        numbers = [blank if isinstance(c, str) or c is None else float(c) for c in cells]
        return np.array(numbers).reshape(shape)

    def _seal(self, name: str, contents: Mapping[str, list[CellContent]]) -> str:
        found = hashlib.sha256(program() + self._reads[name])
        for key, cells in contents.items():
            in_list = self._model.quantities[key].axis is not None
            plain = [_plain(cell) or "" if in_list else _plain(cell) for cell in cells]
            found.update(key.encode() + repr(plain).encode())
        return found.hexdigest()[:32]


def from_cells(port: Port, model: Model, book: Book, names: Collection[str]) -> Model:
    """The model, these solvers of which answer with the solved cells as they stand."""

    def answering(solver: Solver) -> Solve:
        def answer(_: Mapping[str, Values]) -> Mapping[str, Any]:
            return {key: shown(port, model, book, key) for key in model.writes[solver.name]}

        return answer

    found = copy.copy(model)
    found.solvers = {
        name: dataclasses.replace(solver, function=answering(solver)) if name in names else solver
        for name, solver in model.solvers.items()
    }
    return found


def shown(port: Port, model: Model, book: Book, key: str) -> Any:
    """What solved cells show: options by rows; a blank number is 0."""
    item = model.quantities[key]
    rows = model.capacity(item.axis) if item.axis else 1
    options = len(OPTION_KEYS) if item.by_option else 1
    sheet, area = book.places[key]
    contents = port.read(sheet, area)
    text = item.kind == "text"
    found: Any = np.full((options, rows), "" if text else 0.0, dtype=object)
    for option in range(options):
        for row in range(rows):
            _, at_row, at_column = book.cell(item, option, row)
            value = contents[at_row - area.row1][at_column - area.column1].value
            found[option, row] = str(value or "") if text else float(value or 0)
    return found.astype(str if text else float)


def _plain(content: CellContent) -> float | str:
    """A content as every file gives it back: a blank and an empty text are one."""
    if content is None:
        return ""
    return content if isinstance(content, str) else float(content)


def _reads_checksum(solver: Solver, reads: Mapping[str, Values]) -> bytes:
    found = hashlib.sha256(solver.name.encode())
    for key in (*solver.reads, *solver.prices):
        array = np.ascontiguousarray(np.asarray(reads[key]))
        if array.dtype.kind in "UT":
            found.update(repr(array.tolist()).encode())
        else:
            found.update(array.astype(float).tobytes())
        found.update(f"{key}{array.shape}".encode())
    if solver.by_typed_over and isinstance(reads, Declared):
        found.update(
            repr([(k, sorted(v.items())) for k, v in sorted(reads.typed_over.items())]).encode()
        )
    if isinstance(reads, Declared) and reads.refused:
        found.update(repr([(o, str(why)) for o, why in sorted(reads.refused.items())]).encode())
    return found.digest()
