"""Formulas of computed cells: which ones a person changed, and what belongs in a blank one.

Each formula is compared with the one that the model gives for that cell. People insert, move and
rename, so that references are first carried over to where things stand now.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property, lru_cache

from estimator.engine import Model
from estimator.errors import FileError, on_command_line
from estimator.workbook.package.a1 import (
    Range,
    address,
    parse_cell,
    tokens,
)
from estimator.workbook.package.moves import Moves, moves_between
from estimator.workbook.package.same_formula import UNKNOWN, matches, spelt_alike
from estimator.workbook.refill.book import Book, FormulaCell, other_version
from estimator.workbook.refill.displaced import Displaced, Spot
from estimator.workbook.refill.made_with import read_made_from
from estimator.workbook.refill.port import Content, Edit, Port, lost, place_text
from estimator.workbook.template.layout import layout
from estimator.workbook.template.made_from import MadeFrom, is_constant
from estimator.workbook.template.names import named_ranges
from estimator.workbook.template.shipped import shipped, template_of
from estimator.workbook.template.shipped_formulas import Shipped
from estimator.workbook.template.writer import formulas

FEW = 3
"""So many of many cells are named one by one."""


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
        return moves_between(named_ranges(layout(self._model)), self._ranges)

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
        template = self._shipped
        stay = {key for key, place in template.ranges.items() if self._ranges.get(key) == place}
        for cell in self._book.formulas:
            text = cell.content.formula or ""
            if cell.key in stay:
                sheet, row, column = cell.edit
                ours = template.formula(sheet, address(row, column))
                if ours is not None and (
                    spelt_alike(text, ours) or matches(tokens(ours), tokens(text))
                ):
                    continue
            wanted, sheet = self.of(cell.key, cell.place)
            if not matches(self._moves.pieces(wanted, sheet), tokens(text)):
                self._refuse_as_made(cell, text)
                yield cell

    @cached_property
    def _beside(self) -> tuple[list[Edit], dict[Edit, Content]]:
        """Cells of no computed row whose formula an accident changed or took away, and what
        stands in those over which something else was put.

        They are headings, flags, helpers, and workings that have a name.
        """
        computed = self._computed_cells()
        lost: list[Edit] = []
        over: dict[Edit, Content] = {}
        for home, cells in self._by_sheet.items():
            title = self._moves.sheets.get(home, home)
            spots = {
                there: spot
                for spot in cells
                if (home, *spot) not in computed
                and (there := self._moves.spot(home, *spot)) is not None
            }
            if not spots:
                continue
            rows, columns = [row for row, _ in spots], [column for _, column in spots]
            area = Range(min(rows), min(columns), max(rows), max(columns))
            contents = self._port.read(title, area)
            for there, spot in spots.items():
                content = contents[there[0] - area.row1][there[1] - area.column1]
                text, wanted = content.formula, cells[spot]
                if text is not None and self._moves.none and spelt_alike(text, wanted):
                    continue
                pieces = self._moves.pieces(wanted, home)
                if any(kind == "cell" and UNKNOWN in piece for kind, piece in pieces):
                    continue
                if text is not None and matches(pieces, tokens(text)):
                    continue
                if content.blank or (
                    text is not None and self._telling.by_accident(home, spot, text, there)
                ):
                    lost.append((title, *there))
                else:
                    over[title, *there] = content
        return lost, over

    def nameless(self) -> Sequence[Edit]:
        """Cells of no computed row whose formula an accident changed or took away."""
        return self._beside[0]

    def overwritten(self) -> tuple[str, ...]:
        """A sentence on cells of no computed row in which something else stands, if any do.

        A heading may be a person's own, and is no damage; a flag or a helper is none's.
        """
        over = {**self._beside[1], **self._lines_misnumbered()}
        if not over:
            return ()
        first = [f"{place_text(*edit)} ({_shown(content)})" for edit, content in over.items()]
        more = f" and {len(first) - FEW} more cells" if len(first) > FEW else ""
        return (
            f"What you typed or pasted stands over the estimator's headings, flags or helpers:"
            f" {', '.join(first[:FEW])}{more}. They say no longer what is worked out; to get"
            f" them back: estimator restore {on_command_line(self._port.label)}",
        )

    def _lines_misnumbered(self) -> dict[Edit, Content]:
        """Numbers of lines of tables that are not in their order any more."""
        found: dict[Edit, Content] = {}
        for item in self._model.quantities.values():
            if item.role == "index":
                sheet, area = self._book.places[item.key]
                for at, (content,) in enumerate(self._port.read(sheet, area)):
                    if content.value != at + 1:
                        found[sheet, area.row1 + at, area.column1] = content
        return found

    def _computed_cells(self) -> frozenset[tuple[str, int, int]]:
        """Cells of the template that are read as those of its quantities, or left to a person."""
        quantities = self._model.quantities
        return frozenset(
            (sheet, *cell)
            for name, (sheet, area) in named_ranges(layout(self._model)).items()
            if name.removeprefix("in_") in quantities or is_constant(name, sheet)
            for cell in area.cells()
        )

    def displaced(self, changed: Iterable[FormulaCell], nameless: Iterable[Edit] = ()) -> str:
        """A sentence on formulas that an accident made; empty where there are none.

        Args:
            changed: Computed cells whose formula is not the model's.
            nameless: Cells of no computed row that are to be told too.
        """
        found = [cell.edit for cell in changed if self._by_accident(cell)]
        found += nameless
        if not found:
            return ""
        sheets = Counter(sheet for sheet, _, _ in found)
        places = ", ".join(f"{sheet} ({count})" for sheet, count in sheets.most_common(5))
        many = (
            f"{len(found)} formulas no longer read"
            if len(found) > 1
            else "1 formula no longer reads"
        )
        return (
            f"{many} of the estimator's no longer read what belongs there, first"
            f" {place_text(*found[0])}: {places}. Cells were moved, sorted or filled over;"
            f" {lost(self._port)}"
        )

    def _by_accident(self, cell: FormulaCell) -> bool:
        at = layout(self._model).places[cell.key]
        _, row, column = cell.edit
        spot, text = at.cell(*cell.place), cell.content.formula or ""
        return self._telling.by_accident(at.sheet, spot, text, (row, column))

    @cached_property
    def _by_sheet(self) -> Mapping[str, Mapping[Spot, str]]:
        """Formulas of the template by sheet and cell, with headings that show words of the job."""
        found: dict[str, dict[Spot, str]] = {}
        named = named_ranges(layout(self._model))
        if all(self._made.ranges.get(name) == place for name, place in named.items()):
            found = {sheet: self._made.nameless_formulas(sheet) for sheet in self._made.nameless}
        for (sheet, place), text in template_formulas(self._model).items():
            found.setdefault(sheet, {})[parse_cell(place)] = text
        return found

    @cached_property
    def _telling(self) -> Displaced:
        template = self._by_sheet

        def intact(home: str, spot: Spot) -> bool:
            there = self._moves.spot(home, *spot)
            if there is None:
                return False
            title = self._moves.sheets.get(home, home)
            content = self._port.read(title, Range(*there, *there))[0][0]
            wanted = template.get(home, {}).get(spot)
            if wanted is None or content.formula is None:
                return content.formula is None and not content.blank
            return matches(self._moves.pieces(wanted, home), tokens(content.formula))

        return Displaced(template, self._moves, intact)

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


def _shown(content: Content) -> str:
    """What a cell holds in a few words."""
    if content.formula is not None:
        return f"={content.formula[:40]}"
    return "blank" if content.blank else str(content.value)[:40]
