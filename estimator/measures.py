"""Systems of measure: what a yard, a tape and a drawing speak of, and what the engine works in.

The rows are written in feet, inches and pounds. A metric workbook has the same rows; what differs
is told here: for each unit that a row has, the metric one and how many of it make one (exact by
the definitions of the international foot and pound), how a key is called then, and how a number is
shown. Texts mark their amounts (``estimator/amounts.py``); ``estimator/metric.py`` makes the metric
model of it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from estimator.units import LB_PER_TON, M_PER_FT

KG_PER_LB: Final = 0.45359237
"""Exact by the definition of the international pound."""
N_PER_LB: Final = KG_PER_LB * 9.80665
"""Exact by the definition of standard gravity."""
MM_PER_IN: Final = 25.4
M2_PER_FT2: Final = M_PER_FT**2
M3_PER_FT3: Final = M_PER_FT**3
M3_PER_YD3: Final = 27 * M3_PER_FT3
M3_PER_BOARD_FT: Final = M3_PER_FT3 / 12
KN_PER_LB: Final = N_PER_LB / 1000

ITEM_UNIT: Final = "item's unit"
"""Unit of a number that counts in the own unit of an item, which its line of Prices names."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of the metric workbook: its name, and how many of it make one of the engine's."""

    name: str
    factor: float


UNITS: Final[Mapping[str, Unit]] = {
    "ft": Unit("m", M_PER_FT),
    "in": Unit("mm", MM_PER_IN),
    "ft2": Unit("m2", M2_PER_FT2),
    "ft3": Unit("m3", M3_PER_FT3),
    "yd3": Unit("m3", M3_PER_YD3),
    "board ft": Unit("m3", M3_PER_BOARD_FT),
    "lb": Unit("kg", KG_PER_LB),
    "lbf": Unit("kN", KN_PER_LB),
    "tons": Unit("t", LB_PER_TON * KG_PER_LB / 1000),
    "plf": Unit("kN/m", KN_PER_LB / M_PER_FT),
    "psf": Unit("kPa", KN_PER_LB / M2_PER_FT2),
    "psi": Unit("MPa", KN_PER_LB * 144 / M2_PER_FT2 / 1000),
    "mph": Unit("m/s", 0.44704),
}
_SUFFIXES: Final[Mapping[str, str]] = {
    **{"ft": "m", "in": "mm", "ft2": "m2", "ft3": "m3", "yd3": "m3", "bf": "m3", "lb": "kg"},
    **{"tons": "t", "plf": "kn_m", "psf": "kpa", "psi": "mpa", "mph": "m_s"},
}


def metric_unit(unit: str) -> Unit:
    """The metric unit of one, such as ``h/m2`` of ``h/ft2``; the same where none changes."""
    over, slash, under = unit.partition("/")
    top = UNITS.get(over.strip(), Unit(over, 1.0))
    if not slash:
        return top
    below = UNITS.get(under.strip(), Unit(under, 1.0))
    return Unit(f"{top.name}/{below.name}", top.factor / below.factor)


def metric_key(key: str, unit: str) -> str:
    """The key with the units that it ends in changed: ``building_length_m``, ``strip_h_m2``.

    A key calls pounds ``lb``, whether they are a weight or, in ``lbf``, a force.
    """
    if metric_unit(unit).name == unit:
        return key
    suffixes = {**_SUFFIXES, "lb": "kn"} if unit == "lbf" else _SUFFIXES
    words = key.split("_")
    at = len(words)
    while at > 1 and (words[at - 1] in suffixes or words[at - 1] in ("h", "min")):
        at -= 1
    return "_".join([*words[:at], *(suffixes.get(word, word) for word in words[at:])])


def says_otherwise(key: str, unit: str) -> str:
    """The unit that a key ends in, where that is not the one it has; else empty."""
    word = key.rpartition("_")[2]
    meant = {"lb": ("lb", "lbf"), "bf": ("board ft",)}.get(word, (word,))
    return word if word in _SUFFIXES and unit.rpartition("/")[2].strip() not in meant else ""


# --- how numbers are shown ---

_MOST_PLACES: Final[Mapping[str, int]] = {"mm": 0, "m": 3}
_MORE_OF_LARGE: Final[Mapping[str, int]] = {"MPa": 2, "kN": 1}
_PLACES = re.compile(r"0(?:\.(0+))?(?![0-9.#])")


def metric_format(pattern: str, unit: Unit) -> str:
    """A number format that shows about as much of the metric number as of the other.

    Millimetres have no decimals and metres three at most; patterns that show what there is stay as
    they are.
    """
    if unit.factor == 1.0 or "#" in pattern.partition(".")[2] or "%" in pattern:
        return pattern
    more = round(-math.log10(unit.factor))
    if "#,##0" in pattern:
        more = _MORE_OF_LARGE.get(unit.name, 0)

    def places(match: re.Match[str]) -> str:
        count = max(len(match[1] or "") + more, 0)
        count = min(count, _MOST_PLACES.get(unit.name, count))
        return "0." + "0" * count if count else "0"

    return _PLACES.sub(places, pattern)


def rounded_to(value: float, digits: int) -> float:
    """A number to so many significant digits."""
    return float(f"{value:.{digits}g}")


def limit(value: float, *, up: bool) -> float:
    """A limit of an input in metric units, made rounder and no narrower."""
    if value == 0:
        return value
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 1)
    steps = value / step
    whole = math.ceil(steps - 1e-9) if up else math.floor(steps + 1e-9)
    return rounded_to(whole * step, 2)


def habit(value: float, unit: str) -> float:
    """A customary size as a metric yard or builder would have it: 400 mm for 16 in.

    Args:
        value: The size converted exactly.
        unit: Its metric unit.
    """
    if value == 0:
        return value
    if unit == "mm":
        steps = ((1000, 100), (100, 25), (30, 5), (0, 1))
        step = next(s for least, s in steps if abs(value) >= least)
        return float(round(value / step) * step) or rounded_to(value, 2)
    return rounded_to(value, 2)
