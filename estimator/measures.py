"""Systems of measure: what a yard, a tape and a drawing speak of, and what the engine works in.

The rows are written in feet, inches and pounds. A metric workbook has the same rows; what differs
is told here: for each unit that a row has, the metric one and how many of it make one (exact by
the definitions of the international foot and pound), how a key is called then, and how the
sentences of the product read. ``estimator/metric.py`` makes the metric model of it.
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

FORCES: Final = frozenset(
    {
        *("point_load_lb", "total_load_lb", "dead_load_lb", "support_load_lb", "support_own_lb"),
        *("wind_lb", "uplift_lb", "hold_down_lb", "sliding_lack_lb", "anchor_lb"),
    }
)
"""Keys whose pounds are a force; all others weigh something."""
OWN: Final = frozenset({"item_pack", "item_need", "line_pack"})
"""Keys that count in the item's own unit, which its line of the price book names."""


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
    "tons": Unit("t", LB_PER_TON * KG_PER_LB / 1000),
    "plf": Unit("kN/m", KN_PER_LB / M_PER_FT),
    "psf": Unit("kPa", KN_PER_LB / M2_PER_FT2),
    "psi": Unit("MPa", KN_PER_LB * 144 / M2_PER_FT2 / 1000),
    "mph": Unit("m/s", 0.44704),
}
_FORCE: Final = Unit("kN", KN_PER_LB)
_SUFFIXES: Final[Mapping[str, str]] = {
    **{"ft": "m", "in": "mm", "ft2": "m2", "ft3": "m3", "yd3": "m3", "bf": "m3", "lb": "kg"},
    **{"tons": "t", "plf": "kn_m", "psf": "kpa", "psi": "mpa", "mph": "m_s"},
}


def metric_unit(key: str, unit: str) -> Unit:
    """The metric unit of a quantity, such as ``h/m2`` of ``h/ft2``; the same where none changes."""
    if key in FORCES:
        return _FORCE
    over, slash, under = unit.partition("/")
    top = UNITS.get(over.strip(), Unit(over, 1.0))
    if not slash:
        return top
    below = UNITS.get(under.strip(), Unit(under, 1.0))
    return Unit(f"{top.name}/{below.name}", top.factor / below.factor)


def metric_key(key: str, unit: str) -> str:
    """The key with the units that it ends in changed: ``building_length_m``, ``strip_h_m2``."""
    if metric_unit(key, unit).name == unit:
        return key
    words = key.split("_")
    at = len(words)
    while at > 1 and (words[at - 1] in _SUFFIXES or words[at - 1] in ("h", "min")):
        at -= 1
    changed = ["kn" if key in FORCES and w == "lb" else _SUFFIXES.get(w, w) for w in words[at:]]
    return "_".join([*words[:at], *changed])


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


# --- how sentences read ---

_WHOLE: Final[tuple[tuple[str, str], ...]] = (
    ("A seven-foot level and a tape", "A two-metre level and a tape"),
    ("Bare numbers are inches", "Bare numbers are millimetres"),
    ("A 12 ft board often measures 12 ft 1/2 in", "A 3.6 m board often measures 3.61 m"),
    ("Loose yards for a yard in place", "Loose m3 for one m3 in place"),
    ("of a bank yard", "of one m3 in the bank"),
    ("For a compacted yard", "For a compacted m3"),
    ("What a yard costs", "What a m3 costs"),
    ("a few feet outside", "about a metre outside"),
    ("boxes, bags, rolls, yards", "boxes, bags, rolls, cubic metres"),
    ("Short tons of 2,000 lb", "Tonnes of 1,000 kg"),
    ("49 to the pound", "108 to the kilogram"),
    ("One 28 oz tube", "One 0.83 l tube"),
    ("the diameter in inches", "the diameter in millimetres"),
    ("Board feet of joists", "Nominal volume of joists"),
    ("an 80 lb bag", "a bag"),
    ("in inches above", "in millimetres above"),
    ("ft from its first corner", "m from its first corner"),
    ("in from the string", "mm from the string"),
    ("taken apart, then in feet", "taken apart, then in metres"),
    (
        'Lengths may be typed as 12.5, 12\' 6", 12-6, 150" or 3.8 m',
        "Lengths may be typed as 3.6, 360 cm, 3600 mm or 11' 10\"",
    ),
    (
        "40 for rooms (IRC Table R301.5); heavy storage asks for 125",
        "1.92 for rooms (IRC Table R301.5); heavy storage asks for 6",
    ),
    ("about 8, with heavy cladding 12 to 15", "about 0.4, with heavy cladding 0.6 to 0.7"),
    ("often 120 or 200 (IRC R105.2: 200)", "often 11 or 18.6 (IRC R105.2: 18.6)"),
    ("Three 16d at each joist end", "Three of 4 x 90 mm at each joist end"),
    ("Steel bar No. 4", "Steel bar of 12 mm"),
    ("Makers' data, 0.60 ft3 for 80 lb", "Makers' data, for a bag of 25 kg"),
    ("At 12 in", "At 300 mm"),
    ("At 16 in", "At 400 mm"),
    ("At 19.2 in", "At 480 mm"),
    ("At 24 in", "At 600 mm"),
)
_NUMBER = r"(?:\d[\d,]*(?:\.\d+)?(?:[ -]\d+/\d+)?|\d+/\d+)"
_UNIT = r"(?:board ft|ft2|ft3|yd3|ft|in|lb|plf|psf|psi|mph|tons)"
_NOT_OF = r"(?![\w/]| \d| of \d)"  # "1 in 10" and "in/in" are no lengths
_FEET_INCHES = re.compile(rf"(?<![\w.])(\d+) ft ({_NUMBER}) in{_NOT_OF}")
_AMOUNTS = re.compile(
    rf"(?<![\w./-])({_NUMBER})(?:( to |, | x | and |-)({_NUMBER}))?[ -]({_UNIT}){_NOT_OF}"
)
_LAST = re.compile(rf", ({_UNIT})$")
_FIRST = re.compile(rf"^( ?)({_UNIT})(?![\w/])")


def metric_words(text: str) -> str:
    """A sentence of the product as a metric builder reads it: ``6 in`` becomes ``152 mm``.

    Amounts with a unit are converted, and rounded to what is shown of them.
    """
    for old, new in _WHOLE:
        text = text.replace(old, new)
    text = _FEET_INCHES.sub(lambda m: _shown(12 * float(m[1]) + _amount(m[2]), "in"), text)
    text = _AMOUNTS.sub(_converted, text)
    return _LAST.sub(lambda m: f", {UNITS[m[1]].name}", text)


def says(measure: str, text: str) -> str:
    """A sentence of the product in a system of measure (see :data:`estimator.engine.Measure`)."""
    return metric_words(text) if measure == "metric" else text


def metric_tail(text: str) -> str:
    """The text behind a number that a row writes, its unit changed: `` in`` becomes `` mm``."""
    return _FIRST.sub(lambda m: m[1] + UNITS[m[2]].name, text)


def _converted(match: re.Match[str]) -> str:
    first, between, second, unit = match.groups()
    if second is None:
        return _shown(_amount(first), unit)
    one, other = _shown(_amount(first), unit), _shown(_amount(second), unit)
    return one.rpartition(" ")[0] + between + other


def _shown(amount: float, unit: str) -> str:
    metric = UNITS[unit]
    value = amount * metric.factor
    if metric.name == "mm":
        return f"{value:.0f} mm" if value >= 2 else f"{value:.2g} mm"
    return f"{rounded_to(value, 3):.12g} {metric.name}"


def _amount(text: str) -> float:
    """A number with or without a fraction: ``12``, ``5 1/2``, ``3/4``, ``2,000``."""
    whole, _, fraction = text.replace(",", "").replace("-", " ").rpartition(" ")
    if "/" not in fraction:
        return float(fraction)
    over, _, under = fraction.partition("/")
    return float(whole or 0) + float(over) / float(under)
