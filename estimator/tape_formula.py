"""The spreadsheet formula that writes inches as a tape reads, ``15 ft 7 7/16 in``.

Functions used: ABS, CHOOSE, IF, INT, MOD, OR, ROUND, TRIM. The engine's text of the same length is
``model/tape.py``.
"""

from __future__ import annotations

from math import gcd
from typing import Final

SIXTEENTHS: Final = 16


def fractions(parts: int) -> tuple[str, ...]:
    """What follows whole inches for so many such parts of one, in lowest terms."""
    shared = ((part, gcd(part, parts)) for part in range(1, parts))
    return ("", *(f" {part // most}/{parts // most}" for part, most in shared))


def tape_formula(
    inches: str, parts: int = SIXTEENTHS, *, feet: bool = True, unit: bool = True
) -> str:
    """Formula text, to the nearest sixteenth or other part of an inch.

    Args:
        inches: Formula text of the length in inches, such as a cell; it stands there seven times.
        parts: Into how many an inch is parted.
        feet: Whether twelve inches are a foot.
        unit: Whether "in" stands behind.
    """
    size = f"ROUND(ABS({inches})+1/{2 * parts},9)"
    sign = f'IF({inches}<=-1/{2 * parts},"-","")'
    over = f"MOD({size},12)" if feet else size
    above = f'IF({size}>=12,INT({size}/12)&" ft","")&' if feet else ""
    whole = f'IF(OR({over}>=1,MOD({size},1)<{1 / parts!r})," "&INT({over}),"")'
    texts = ",".join(f'"{text}"' for text in fractions(parts))
    behind = '&" in"' if unit else ""
    return f"{sign}&TRIM({above}{whole}&CHOOSE(INT({parts}*MOD({size},1))+1,{texts}){behind})"
