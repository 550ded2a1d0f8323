"""The spreadsheet formula that writes inches as a tape reads, ``15 ft 7 7/16 in``.

Functions used: ABS, CHOOSE, IF, INT, MOD, OR, ROUND, TRIM. The engine's text of the same length is
``model/tape.py``.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

SIXTEENTHS: Final = 16
FRACTIONS: Final = ("", *(f" {Fraction(part, SIXTEENTHS)}" for part in range(1, SIXTEENTHS)))
"""What follows whole inches for so many sixteenths of one, in lowest terms."""


def tape_formula(inches: str) -> str:
    """Formula text, to the nearest sixteenth.

    Args:
        inches: Formula text of the length in inches, such as a cell; it stands there seven times.
    """
    size = f"ROUND(ABS({inches})+1/32,9)"
    sign = f'IF({inches}<=-1/32,"-","")'
    feet = f'IF({size}>=12,INT({size}/12)&" ft","")'
    whole = f'IF(OR(MOD({size},12)>=1,MOD({size},1)<0.0625)," "&INT(MOD({size},12)),"")'
    parts = ",".join(f'"{part}"' for part in FRACTIONS)
    return f'{sign}&TRIM({feet}&{whole}&CHOOSE(INT({SIXTEENTHS}*MOD({size},1))+1,{parts})&" in")'
