"""What could not be carried over, in a few sentences that a person can read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from estimator.workbook.carry.own_cells import Own
from estimator.workbook.package.a1 import address
from estimator.workbook.template.made_from import Spot

OVER = "the estimator's formula stands there again"
"""Why something is not kept that stood over a heading, a flag or a helper."""
LONGEST = 200
"""Characters that tell the entries of a line."""
FEW = 2
"""So many things of one kind are named one by one."""


def cells_of(sheet: str, spots: Iterable[Spot]) -> str:
    """Cells of a sheet in a few words: ``40 cells of Prices (P21, P22, P23, ...)``."""
    found = sorted(spots)
    named = ", ".join(address(*spot) for spot in found[:3]) + (", ..." if len(found) > 3 else "")
    return f"{len(found)} cell{'s' * (len(found) > 1)} of {sheet} ({named})"


def summed(sentences: Iterable[str]) -> tuple[str, ...]:
    """Sentences of which the many are counted after the first few."""
    found = tuple(sentences)
    if len(found) <= FEW + 2:
        return found
    return (*found[:FEW], f"and {len(found) - FEW} more of the kind.")


class Losses:
    """Cells of a person's own that have no place any more, by sheet and reason."""

    def __init__(self) -> None:
        self._lost: dict[tuple[str, str], list[Own]] = {}
        self._fallen: dict[tuple[str, int], list[Own]] = {}

    def add(self, own: Own, why: str) -> None:
        """Remember a cell and why it was not kept."""
        self._lost.setdefault((own.sheet, why), []).append(own)

    def add_of_line(self, own: Own) -> None:
        """Remember an entry of a line that a full table has no place for."""
        self._fallen.setdefault((own.sheet, own.spot[0]), []).append(own)

    def sentences(self) -> Iterator[str]:
        """What could not be kept; many cells of a sheet for one reason in one sentence.

        Lines that fell out of a table are told entry by entry.
        """
        yield from summed(_fell_out(*at, entries) for at, entries in self._fallen.items())
        for (sheet, why), cells in self._lost.items():
            if len(cells) <= FEW:
                yield from (f"Not carried over: {o.place}, {o.shown}: {why}." for o in cells)
            else:
                yield f"Not carried over: {cells_of(sheet, [o.spot for o in cells])}: {why}."


def _fell_out(sheet: str, row: int, entries: Iterable[Own]) -> str:
    """A line that a table has no place for, with as many of its entries as can be read."""
    told = ", ".join(f"{own.name.removeprefix('in_')} {own.shown}" for own in entries)
    if len(told) > LONGEST:
        told = f"{told[:LONGEST].rpartition(', ')[0]}, ..."
    return f"Not carried over: row {row} of {sheet}, as the table is full: {told}."
