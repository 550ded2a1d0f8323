"""Formulas of ours that cells moved, filled or sorted made others of, told from a person's own.

Who writes a formula of their own writes other functions, numbers or names. Where only references
differ, or where a cell holds what the template has in another cell, rows or cells were deleted,
dragged, sorted or filled over. A single reference to a cell that still holds what belongs in it
may have been changed by hand, and counts as a person's own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from estimator.workbook.package.a1 import LOST_REFERENCE, column_number, named_sheet, tokens
from estimator.workbook.package.moves import Moves
from estimator.workbook.package.same_formula import UNKNOWN, Pieces, matches, normal_form

TELLING = 12
"""Pieces of a formula by which it is known as the template's of some other cell."""

SEVERAL = 2
"""References that a hand does not change one by one to those of another line."""

Spot = tuple[int, int]
Form = tuple[str, ...]


class Displaced:
    """Tells formulas that accidents made from those of a person.

    Args:
        template: Formulas of the template by sheet and cell.
        moves: Where the template's cells stand in the workbook.
        intact: Whether a cell of the workbook, by sheet and cell of the template, holds what
            belongs in it.
    """

    def __init__(
        self,
        template: Mapping[str, Mapping[Spot, str]],
        moves: Moves,
        intact: Callable[[str, Spot], bool],
    ) -> None:
        self.template, self.moves, self.intact = template, moves, intact
        self._texts: dict[str, frozenset[Form]] = {}
        self._relative: dict[str, frozenset[Form]] = {}
        self._shapes: dict[str, frozenset[Form]] = {}

    def by_accident(self, home: str, spot: Spot | None, text: str, there: Spot) -> bool:
        """Whether a formula that is not the template's came about by accident.

        Args:
            home: Sheet of the template.
            spot: Its cell in the template, None for one that the template leaves free.
            text: The formula that stands in the workbook.
            there: The cell that it stands in.
        """
        found, like = list(tokens(text)), shape(tokens(text))
        wanted = self.template.get(home, {}).get(spot) if spot else None
        if wanted is None:
            return len(like) >= TELLING and like in self._like(home)
        if LOST_REFERENCE in text.upper():
            return True
        if shape(tokens(wanted)) == like:
            other = list(self._other(wanted, home, found))
            if not other or not all(self.intact(*cell) for cell in other):
                return True
            if self._reads_another_line(wanted, home, spot, found):
                return True
        elif len(like) >= TELLING and like in self._like(home):
            return True
        return self._stands_elsewhere(home, found, there)

    def _stands_elsewhere(self, home: str, found: Pieces, there: Spot) -> bool:
        """Whether another cell of the sheet has that formula.

        It may stand there as it reads here, as it would if it were copied, or as it would if its
        line were dragged, which takes references to the line along and leaves the others.
        """
        cells = self.template.get(home, {})
        if home not in self._texts:
            self._texts[home] = frozenset(
                normal_form(self.moves.pieces(text, home)) for text in cells.values()
            )
            self._relative[home] = frozenset(
                _relative(tokens(text), spot, every=every)
                for spot, text in cells.items()
                for every in (True, False)
            )
        copies = self._relative[home]
        return normal_form(found) in self._texts[home] or any(
            _relative(found, there, every=every) in copies for every in (True, False)
        )

    def _reads_another_line(self, wanted: str, home: str, spot: Spot | None, found: Pieces) -> bool:
        """Whether some references of a line are those of another line, several by the same step.

        So reads a line that was dragged without its helper cells: what went along reads the new
        line, what stayed behind the old one.
        """
        pieces = [p for k, p in self.moves.pieces(wanted, home) if k == "cell"]
        if any(UNKNOWN in piece for piece in pieces):
            return False
        now = [_place(piece) for piece in pieces]
        theirs = [_place(p) for k, p in found if k == "cell"]
        steps = [
            (other[0] - one[0], other[1] - one[1])
            for one, other in zip(now, theirs, strict=True)
            if one != other
        ]
        if spot is None or len(steps) < SEVERAL or len(set(steps)) > 1 or len(steps) == len(now):
            return False
        (rows, columns), *_ = steps
        origin = self.template[home].get((spot[0] + rows, spot[1]))
        return columns == 0 and origin is not None and shape(tokens(origin)) == shape(found)

    def _like(self, home: str) -> frozenset[Form]:
        """The formulas of a sheet without their references."""
        if home not in self._shapes:
            texts = set(self.template.get(home, {}).values())
            self._shapes[home] = frozenset(shape(tokens(text)) for text in texts)
        return self._shapes[home]

    def _other(self, wanted: str, home: str, found: Pieces) -> Iterable[tuple[str, Spot]]:
        """Cells of the template that a formula should read and does not."""
        now = [p for k, p in self.moves.pieces(wanted, home) if k == "cell"]
        ours = list(cells_read(wanted, home))
        theirs = [p for k, p in found if k == "cell"]
        for cell, one, other in zip(ours, now, theirs, strict=True):
            if not matches([("cell", one.replace("$", ""))], [("cell", other.replace("$", ""))]):
                yield cell


def shape(pieces: Iterable[tuple[str, str]]) -> Form:
    """A formula in normal form without sheets and cells."""
    return normal_form(
        ("cell", "A1") if kind == "cell" or piece.upper() == LOST_REFERENCE else (kind, piece)
        for kind, piece in pieces
        if kind != "sheet"
    )


def cells_read(text: str, sheet: str) -> Iterable[tuple[str, Spot]]:
    """Sheet and cell of every reference of a formula."""
    owner = sheet
    for kind, piece in tokens(text):
        if kind == "sheet":
            owner = named_sheet(piece)
        elif kind == "cell":
            yield owner, _place(piece)
        elif piece != ":":
            owner = sheet


def _place(text: str) -> Spot:
    plain = text.replace("$", "")
    letters = plain.rstrip("0123456789")
    return int(plain[len(letters) :]), column_number(letters)


def _relative(pieces: Iterable[tuple[str, str]], spot: Spot, *, every: bool) -> Form:
    """A formula in normal form, references without a dollar counted from its cell.

    Those to other sheets only if every reference is meant.
    """
    found, here = [], True
    for kind, piece in pieces:
        if kind == "cell":
            row, column = _place(piece)
            fixed = ("$" in piece[1:], piece.startswith("$"))
            row -= 0 if fixed[0] or not (every or here) else spot[0]
            column -= 0 if fixed[1] or not (every or here) else spot[1]
            piece = f"R{fixed[0]}{row}C{fixed[1]}{column}"
        else:
            here = kind != "sheet" and (here or piece != ":")
        found.append((kind, piece))
    return normal_form(found)
