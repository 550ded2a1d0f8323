"""Formulas of ours that came to read other cells or none, written again where they stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from estimator.workbook.carry.match import Match
from estimator.workbook.carry.own_cells import Own
from estimator.workbook.package.a1 import LOST_REFERENCE, Range, address, tokens
from estimator.workbook.package.cells import Edit, Formula
from estimator.workbook.package.moves import Moves
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import formula_cells, grid
from estimator.workbook.package.same_formula import UNKNOWN, matches, spelt_alike
from estimator.workbook.refill.displaced import Displaced, Spot
from estimator.workbook.refill.file_port import plain
from estimator.workbook.refill.port import Content
from estimator.workbook.template.made_from import is_working

Formulas = Mapping[str, Mapping[Spot, str]]


def formulas_of(template: Package) -> Formulas:
    """Formulas of a template by sheet and cell."""
    found: dict[str, dict[Spot, str]] = {}
    for sheet, row, column, content in formula_cells(template):
        found.setdefault(sheet, {})[row, column] = content.formula or ""
    return found


@dataclass(frozen=True, slots=True)
class PutBack:
    """What is to be put back.

    Args:
        edits: What to write, by sheet and address.
        over: What stood over headings, flags and helpers.
        lost: Cells with a lost reference that the template knows nothing of.
    """

    edits: Mapping[tuple[str, str], Edit]
    over: Sequence[Own]
    lost: Sequence[tuple[str, int, int]]


@dataclass(frozen=True, slots=True)
class Intact:
    """Whether a cell of the template holds in a workbook what belongs in it.

    Args:
        package: The workbook.
        template: The template.
        found: Which sheets are the same.
        formulas: The template's formulas.
        moves: Where the template's cells stand.
        replaced: Sheets of the template that are put in, of which nothing is intact.
    """

    package: Package
    template: Package
    found: Match
    formulas: Formulas
    moves: Moves
    replaced: frozenset[str]
    _known: dict[tuple[str, Spot], bool] = field(default_factory=dict)

    def __call__(self, home: str, spot: Spot) -> bool:
        if (home, spot) not in self._known:
            self._known[home, spot] = self._holds(home, spot)
        return self._known[home, spot]

    def _holds(self, home: str, spot: Spot) -> bool:
        title, there = self.found.titles.get(home), self.moves.spot(home, *spot)
        if home in self.replaced or title is None or there is None:
            return False
        content = grid(self.package, title).value(*there)
        wanted = self.formulas.get(home, {}).get(spot)
        if wanted is None:
            return content.formula is None and content.value not in (None, "")
        found = content.formula
        if found is None or (self.moves.none and spelt_alike(found, wanted)):
            return found is not None
        return matches(self.moves.pieces(wanted, home), tokens(found))


def put_back(
    result: Package,
    found: Match,
    formulas: Formulas,
    moves: Moves,
    intact: Intact,
    ours: Mapping[str, tuple[str, Range]],
) -> PutBack:
    """The template's formulas where an accident made others of them or took them away.

    Where no one types, in headings, flags and helpers, whatever stands over one goes.

    Args:
        result: The workbook, with the sheets put in that it lacked.
        found: Which sheets are the same.
        formulas: The template's formulas.
        moves: Where the template's cells stand.
        intact: Whether a cell holds what belongs in it.
        ours: Sheet and cells of the template's names: blank cells of those that are no workings
            are filled by a refill, and numbers in them are a person's own.
    """
    edits: dict[tuple[str, str], Edit] = {}
    over: list[Own] = []
    displaced = Displaced(formulas, moves, intact)
    for home, cells in formulas.items():
        if home in intact.replaced:
            continue
        title = found.titles[home]
        now = grid(result, title)
        taken = {
            cell
            for name, (sheet, area) in ours.items()
            if sheet == home and not is_working(name, sheet)
            for cell in area.cells()
        }
        for spot, wanted in cells.items():
            there = moves.spot(home, *spot)
            if there is None:
                continue
            content = now.value(*there)
            text = content.formula
            if text is None and spot in taken:
                continue
            if moves.none and spelt_alike(text or "", wanted):
                continue
            pieces = moves.pieces(wanted, home)
            if text is not None and matches(pieces, tokens(text)):
                continue
            if any(kind == "cell" and UNKNOWN in piece for kind, piece in pieces):
                continue
            accident = text is not None and displaced.by_accident(home, spot, text, there)
            if spot in taken and not accident:
                continue
            edits[title, address(*there)] = Formula("".join(piece for _, piece in pieces))
            own = Own(title, there, Content(plain(content.value), text))
            if not accident and not own.content.blank:
                over.append(own)
    edits.update(_numbers_of_lines(result, found, moves, intact, ours))
    lost = [
        (sheet, row, column)
        for sheet, row, column, content in formula_cells(result)
        if LOST_REFERENCE in (content.formula or "").upper()
        and (sheet, address(row, column)) not in edits
    ]
    return PutBack(edits, over, lost)


def _numbers_of_lines(
    result: Package,
    found: Match,
    moves: Moves,
    intact: Intact,
    ours: Mapping[str, tuple[str, Range]],
) -> Iterator[tuple[tuple[str, str], Edit]]:
    """Numbers of the lines of tables, counted from 1, where they are not in their order."""
    for name, (home, area) in ours.items():
        if home in intact.replaced or not name.endswith("_no") or f"in_{name}" in ours:
            continue
        title = found.titles[home]
        template = grid(intact.template, home)
        count = [(row, column, row - area.row1 + 1) for row, column in area.cells()]
        if any(template.value(row, column).value != at for row, column, at in count):
            continue
        now = grid(result, title)
        for row, column, at in count:
            there = moves.spot(home, row, column)
            if there is not None and now.value(*there).value != at:
                yield (title, address(*there)), float(at)
