"""How a reading may have been misread: a whole unit or a tenth, or two digits in each other's place."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from estimator.amounts import Measure
from estimator.units import FT_PER_M, IN_PER_FT

if TYPE_CHECKING:
    from estimator.solve.blunders import Slip

Method = Literal["rod readings", "heights", "drops"]
EXACT = 1e-6
"""How near a reading must lie to a decimal, or to a whole sixteenth of an inch, to have been typed so."""
SIXTEENTHS = 16


def slips(reading_ft: float, method: Method, measure: Measure) -> tuple[Slip, ...]:
    """What a reading may come from, by how much its height is then off, ft.

    A rod or staff is misread by a foot or a metre, or by a tenth of it; written down, two digits
    that stand beside each other change places. Which digits these are follows from the value: a
    decimal of a foot or a metre as a rod bears it, else whole inches before a fraction.

    Common practice, no source.
    """
    from estimator.solve.blunders import Slip

    unit_ft = 1.0 if measure == "feet" else FT_PER_M
    up = 1.0 if method == "heights" else -1.0
    found = [
        Slip(sign * share * unit_ft, f"looks like a slip of {words}")
        for share, words in ((1.0, "{1 ft|1 m}"), (0.1, "{0.1 ft|0.1 m}"))
        for sign in (1, -1)
    ]
    for wrong, right, per_ft in _swapped(reading_ft / unit_ft, measure):
        off_ft = up * (float(wrong) - float(right)) * unit_ft / per_ft
        found.append(Slip(off_ft, f"looks like {wrong} for {right}"))
    return tuple(found)


def _swapped(value: float, measure: Measure) -> list[tuple[str, str, float]]:
    """A number as typed and with two neighbouring digits swapped, and how many make a unit."""
    places, per_unit = (2, 1.0) if measure == "feet" else (3, 1.0)
    size = abs(value)
    if abs(round(size, places) - size) > EXACT:
        sixteenths = size * IN_PER_FT * SIXTEENTHS
        if measure != "feet" or abs(round(sixteenths) - sixteenths) > EXACT * SIXTEENTHS:
            return []
        size, places, per_unit = float(int(size * IN_PER_FT + EXACT)), 0, IN_PER_FT
    sign = "-" if value < 0 else ""
    typed = f"{size:.{places}f}"
    found = []
    digits = [i for i, sign_or_digit in enumerate(typed) if sign_or_digit.isdigit()]
    for i, j in pairwise(digits):
        if typed[i] != typed[j]:
            other = list(typed)
            other[i], other[j] = typed[j], typed[i]
            found.append((sign + typed, sign + "".join(other), per_unit))
    return found
