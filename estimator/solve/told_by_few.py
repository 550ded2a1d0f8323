"""Banks and terraces of which few readings tell: whether readings in question may be sound.

Where an edge of a bank has few readings beyond it, or a terrace few on its bench, the search for
what explains all readings leaves it out, so that slips are found. Before a reading is accused such
ground is looked for. All lengths and heights are in feet.
"""

from __future__ import annotations

from collections.abc import Iterator

from estimator.solve.cornered import NUMBERS as OF_A_CORNER
from estimator.solve.cornered import cornered_bank_ft
from estimator.solve.least_squares import FEWEST_BESIDE
from estimator.solve.mesh import Floats
from estimator.solve.once_broken import bank_of_few
from estimator.solve.plainest import A_TERM, NOISE_FT, explains, score, stand_about
from estimator.solve.terraced import Terrace

FEW_BESIDE, FEW_BETWEEN = 2, 1
"""Readings, at least, beyond each edge of a bank, and on the bench of a terrace: one alone beyond
an edge would be whatever slip is in question."""
RULED = ((FEWEST_BESIDE, 2), (FEW_BESIDE, 1))
"""Readings beside a bank that turns a corner, and those of either edge alone: two searches, as the
one with more of them ends at the better bank where it has one."""
OF_EACH = 3
"""Terraces of each direction that are searched closer."""


def told_by_few(places: Floats, heights: Floats, limit_ft2: float) -> bool:
    """Whether such ground explains all readings, with a score below a limit.

    Args:
        places: (n, 2).
        heights: (n,).
        limit_ft2: Of the sum of squares with what the numbers of the ground have to gain.
    """
    return any(found < limit_ft2 for found in _scores(places, heights))


def _scores(places: Floats, heights: Floats) -> Iterator[float]:
    """Scores of such ground that explains all, the quickest to find first."""
    bank = bank_of_few(places, heights, FEW_BESIDE)
    if bank and explains(bank, places, heights):
        yield score(bank, NOISE_FT**2)
    for beside, ruled in RULED:
        off_ft = cornered_bank_ft(places, heights, beside, ruled)
        if off_ft is not None and stand_about(off_ft, OF_A_CORNER):
            yield float(off_ft @ off_ft) + A_TERM * OF_A_CORNER * NOISE_FT**2
    terraces = Terrace(places, heights, beside=FEW_BESIDE, between=FEW_BETWEEN).stepped(OF_EACH)
    for terrace in terraces:
        if explains(terrace, places, heights):
            yield score(terrace, NOISE_FT**2)
