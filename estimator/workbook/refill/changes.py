"""Formulas of computed cells: which ones a person changed, and what belongs in a blank one.

Each formula is compared with the one that the model gives for that cell. People insert, move and
rename, so that references are first carried over to where things stand now.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property, lru_cache

from estimator.engine import Model
from estimator.errors import FileError
from estimator.workbook.package.a1 import Range, address, parse_range, split_target, tokens
from estimator.workbook.package.moves import Moves, moves_between
from estimator.workbook.package.same_formula import UNKNOWN, matches
from estimator.workbook.refill.book import Book, FormulaCell, other_version
from estimator.workbook.refill.made_with import read_made_from
from estimator.workbook.refill.port import Edit, Port, place_text
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.made_from import MadeFrom
from estimator.workbook.template.names import names
from estimator.workbook.template.shipped import Shipped, shipped, template_of
from estimator.workbook.template.writer import formulas


def moves(plan: Layout, ranges: Mapping[str, tuple[str, Range]]) -> Moves:
    """How a workbook with these named ranges differs from the template."""
    targets = ((name, split_target(text)) for name, text in names(plan).items())
    template = {name: (t[0], parse_range(t[1])) for name, t in targets if t is not None}
    return moves_between(template, ranges)


@lru_cache(maxsize=4)
def template_formulas(model: Model) -> Mapping[tuple[str, str], str]:
    """Formulas of the template as the model writes them, kept, by sheet and address."""
    return formulas(model, layout(model))


class Formulas:
    """The model's formulas, each where its cell stands in a workbook now."""

    def __init__(self, model: Model, book: Book, port: Port) -> None:
        self._model = model
        self._port = port
        self._ranges = port.ranges()
        self._book = book

    @cached_property
    def _made(self) -> MadeFrom:
        return read_made_from(self._port)

    @cached_property
    def _made_moves(self) -> Moves:
        return moves_between(self._made.ranges, self._ranges)

    @cached_property
    def _moves(self) -> Moves:
        return moves(layout(self._model), self._ranges)

    @cached_property
    def _shipped(self) -> Shipped:
        return shipped(template_of(self._model))

    def of(self, key: str, place: tuple[int, int]) -> tuple[str, str]:
        """The template's formula of a computed cell, and the sheet on which it stands there."""
        at = layout(self._model).places[key]
        row, column = at.cell(*place)
        return template_formulas(self._model)[at.sheet, address(row, column)], at.sheet

    def changed(self) -> Iterator[FormulaCell]:
        """Computed cells whose formula is not the model's."""
        for cell in self._book.formulas:
            text = cell.content.formula or ""
            sheet, row, column = cell.edit
            unmoved = self._shipped.ranges.get(cell.key) == self._ranges.get(cell.key)
            ours = self._shipped.formulas.get((sheet, address(row, column))) if unmoved else None
            if ours is not None and (text == ours or matches(tokens(ours), tokens(text))):
                continue
            wanted, sheet = self.of(cell.key, cell.place)
            if not matches(self._moves.pieces(wanted, sheet), tokens(text)):
                self._refuse_as_made(cell, text)
                yield cell

    def _refuse_as_made(self, cell: FormulaCell, text: str) -> None:
        """Refuse a formula that the workbook was made with, and that the model has no more."""
        made, (_, row, column) = self._made, cell.edit
        before, now = made.ranges.get(cell.key), self._ranges.get(cell.key)
        if before is None or now is None:
            return
        home, area = before
        wanted = made.formula(
            cell.key, area.row1 + row - now[1].row1, area.column1 + column - now[1].column1
        )
        if wanted is not None and matches(self._made_moves.pieces(wanted, home), tokens(text)):
            raise other_version(self._port, "")

    def restored(self) -> dict[Edit, str]:
        """Formulas for the blank computed cells.

        Raises:
            FileError: If one can't be told, as rows or columns moved.
        """
        found: dict[Edit, str] = {}
        for edit, (key, place) in self._book.owners.items():
            pieces = self._moves.pieces(*self.of(key, place))
            if any(kind == "cell" and UNKNOWN in piece for kind, piece in pieces):
                raise FileError(
                    "this computed cell is blank, and its formula can't be brought back, as rows"
                    " or columns have moved.",
                    where=place_text(*edit),
                    cure="Copy the formula from the cell beside or above it, then refill.",
                )
            found[edit] = "".join(piece for _, piece in pieces)
        return found
