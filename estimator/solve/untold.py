"""Readings that no others test: on a bank or a terrace that may as well run elsewhere.

All lengths and heights are in feet. The limits are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from estimator.solve.mesh import Floats
from estimator.solve.once_broken import Surface, banks_through_slips
from estimator.solve.plainest import NOISE_FT, all_surfaces, explains, plainest, score
from estimator.solve.terraced import NUMBERS as OF_A_TERRACE
from estimator.solve.terraced import Terrace

SURE = 6.0
"""By how much the ground must fit better with one reading put right than with another, or than as
read, in squares of the noise: twenty times as likely."""
UNTOLD_FT = 0.75
"""Slips, at least, that a reading is asked for if another bank would hide them."""
ROUGH = 400.0
"""How much more a bank roughly placed may leave than as read, in squares of the noise."""


def untold(places: Floats, heights: Floats, slips: Sequence[tuple[int, float]]) -> list[int]:
    """Numbers of the readings that may bear a slip as well as none.

    Put right by it, another bank or terrace explains all readings as well: few stand on its slopes
    and beside its edges. Of other ground none is told.

    Args:
        places: (n, 2).
        heights: (n,).
        slips: Number of a reading, and by how much it may be off, ft.
    """
    slips = [(place, off_ft) for place, off_ft in slips if abs(off_ft) >= UNTOLD_FT]
    if not slips:
        return []
    as_read = plainest(all_surfaces(places, heights))
    rough = as_read.rss_ft2 + ROUGH * NOISE_FT**2
    found: Iterator[tuple[int, Floats, Surface]] = iter(())
    if as_read.terms == OF_A_TERRACE:
        found = Terrace(places, heights).through_slips(slips, rough)
    elif _alongside(as_read):
        found = banks_through_slips(places, heights, slips, rough)
    most = score(as_read, NOISE_FT**2) + SURE * NOISE_FT**2
    return sorted(
        {
            place
            for place, right, other in found
            if score(other, NOISE_FT**2) <= most and explains(other, places, right)
        }
    )


def _alongside(surface: Surface) -> bool:
    """Whether a surface has two breaks of one direction, as a bank has."""
    turns = [turn for turn, _ in surface.breaks]
    return len(turns) == 2 and turns[0] == turns[1]
