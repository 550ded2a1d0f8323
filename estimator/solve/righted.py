"""Readings put right by a slip, on banks and terraces: whether the ground then fits better.

A slip on a bank or beside it is often hidden by another bank or by a terrace that runs elsewhere.
So each reading is put right by its slips in turn, and the best bank or terrace is looked for anew.
Where that fits better by far than all readings do as they are read, it was a slip; where it fits as
well, the readings don't tell. All lengths and heights are in feet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.solve.least_squares import Surface
from estimator.solve.mesh import Floats
from estimator.solve.once_broken import banks_through_slips
from estimator.solve.plainest import NOISE_FT, all_surfaces, explains, plainest, score
from estimator.solve.terraced import NUMBERS as OF_A_TERRACE
from estimator.solve.terraced import Terrace

SLIPPED, ALONE = 12.0, 3.0
"""By how much the ground must fit better with a reading put right than as read, and than with any
other one put right, for it to bear a slip; in squares of the noise, as those below. Chosen on
drawn surveys of banks and terraces with a slip of a foot and without: few slips gain less, and a
sound reading hardly ever as much.
"""
ALIKE = 6.0
"""By how much worse it may fit so than as read, for the readings not to tell."""
LEAST_FT = 0.75
"""Slips, at least, that can be told from another bank."""
ROUGH = 400.0
"""How much more a bank roughly placed may leave than as read."""


@dataclass(frozen=True, slots=True)
class Righted:
    """Readings put right.

    Attributes:
        as_read: Score of the plainest surface of all as they are read, in squares of the noise.
        explained: Whether that explains them.
        right: By number of a reading, the best score of those with it put right that explain all
            then, and how far it stands above that surface, ft.
    """

    as_read: float
    explained: bool
    right: dict[int, tuple[float, float]]

    def slip(self) -> tuple[int, float] | None:
        """Number of the reading that bears a slip, and how far it stands above the surface, ft."""
        order = sorted((score, place, off_ft) for place, (score, off_ft) in self.right.items())
        if not order:
            return None
        least, place, off_ft = order[0]
        next_ones = [each for each, *_ in order[1:2]]
        sure = least < self.as_read - SLIPPED and all(each > least + ALONE for each in next_ones)
        return (place, off_ft) if sure else None

    def untold(self) -> list[int]:
        """Numbers of the readings that may bear a slip as well as none."""
        if not self.explained:
            return []
        return sorted(k for k, (each, _) in self.right.items() if each <= self.as_read + ALIKE)


def righted(places: Floats, heights: Floats, slips: Sequence[tuple[int, float]]) -> Righted:
    """Each of some readings put right; of ground that is smooth none is.

    Args:
        places: (n, 2).
        heights: (n,).
        slips: Number of a reading, and by how much it may be off, ft.
    """
    as_read = plainest(all_surfaces(places, heights))
    explained = explains(as_read, places, heights)
    least = score(as_read, NOISE_FT**2) / NOISE_FT**2
    slips = [(place, off_ft) for place, off_ft in slips if abs(off_ft) >= LEAST_FT]
    right: dict[int, tuple[float, float]] = {}
    if slips and (as_read.breaks or not explained):
        rough = as_read.rss_ft2 + ROUGH * NOISE_FT**2
        for place, heights_ft, surface in _found(places, heights, slips, as_read, rough):
            if explains(surface, places, heights_ft):
                off_ft = float(heights[place] - surface.at(places[place : place + 1])[0])
                found = (score(surface, NOISE_FT**2) / NOISE_FT**2, off_ft)
                right[place] = min(right.get(place, found), found)
    return Righted(least, explained, right)


def _found(
    places: Floats,
    heights: Floats,
    slips: Sequence[tuple[int, float]],
    as_read: Surface,
    most_ft2: float,
) -> Iterator[tuple[int, Floats, Surface]]:
    """Number of a reading, all heights with it put right, and the best bank or terrace then."""
    yield from banks_through_slips(places, heights, slips, most_ft2)
    if as_read.terms == OF_A_TERRACE:
        yield from Terrace(places, heights).through_slips(slips, most_ft2)
