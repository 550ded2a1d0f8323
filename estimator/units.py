"""Lengths as builders type them, and the unit conversions that the rest of the package needs.

Every length is in decimal feet inside the package. :func:`parse_length` reads what people type,
:func:`format_feet_inches` writes it back as a tape measure reads.

A text is first brought to a normal form by plain replacements (:func:`normal_text`), then matched
against the few forms that a length can have. The spreadsheet formula in ``length_formula`` is
built from the same replacements and the same forms, so that cell and engine read alike.
"""

from __future__ import annotations

import datetime as dt
import math
import numbers
import re
from typing import Final, Literal, NoReturn

from estimator.errors import InputError

BareUnit = Literal["ft", "in", "m", "cm", "mm"]

IN_PER_FT: Final = 12.0
M_PER_FT: Final = 0.3048
"""Exact by the definition of the international foot."""
FT_PER_M: Final = 1.0 / 0.3048
FT3_PER_YD3: Final = 27.0
LB_PER_TON: Final = 2000.0
"""The short ton, by which stone is sold."""

UNITS_PER_FT: Final[dict[str, float]] = {
    "ft": 1.0,
    "in": IN_PER_FT,
    "m": M_PER_FT,
    "cm": 30.48,
    "mm": 304.8,
}
"""How many of each unit make one foot: a length divided by it is in feet."""

# Replacements in order, applied to the raw text and then to "^" + trimmed lower case + "#".
# "^" and "#" mark start and end, ";" parts the number from its unit; typed ones become "?".
RAW_REPLACEMENTS: Final[tuple[tuple[str, str], ...]] = (
    ("\u00a0", " "),  # non-breaking space
    ("\u202f", " "),  # narrow non-breaking space
    ("  ", " "),  # runs of spaces, for those spreadsheets whose TRIM leaves them inside
    ("  ", " "),
    ("  ", " "),
    ("^", "?"),
    ("#", "?"),
    (";", "?"),
    ("|", "?"),
)
REPLACEMENTS: Final[tuple[tuple[str, str], ...]] = (
    ("\u2032", "'"),  # prime
    ("\u2019", "'"),  # closing single quote
    ("\u2018", "'"),  # opening single quote
    ("\u00b4", "'"),  # acute accent
    ("\u2033", '"'),  # double prime
    ("\u201d", '"'),  # closing double quote
    ("\u201c", '"'),  # opening double quote
    ("\u2013", "-"),  # en dash
    ("\u2212", "-"),  # minus sign
    ("''", '"'),
    ("feet", "'"),
    ("foot", "'"),
    ("ft.", "'"),
    ("ft", "'"),
    ("inches", '"'),
    ("inch", '"'),
    ("in.", '"'),
    ("in", '"'),
    (" '", "'"),
    ("' ", "'"),
    (' "', '"'),
    (" -", "-"),
    ("- ", "-"),
    (" /", "/"),
    ("/ ", "/"),
    ("^-", "-"),
    ("^+", "+"),
    ("^", "+"),
    ("'-", "'"),
    ("'#", ";ft"),
    ('"#', ";in"),
    ("mm#", ";mm"),
    ("cm#", ";cm"),
    ("m#", ";m"),
    ("#", ";"),
    (" ;", ";"),
)
LONGEST_NORMAL: Final = 32
"""Characters that a normal form may have; anything longer is no length that a person types."""

_FORM = re.compile(
    r"(?P<sign>[+-])(?:(?P<feet>[0-9]+)(?P<join>['-]))?"
    r"(?:(?:(?P<whole>[0-9]+) )?(?P<numerator>[0-9]+)/(?P<denominator>[0-9]+)"
    r"|(?P<before>[0-9]+)\.?"
    r"|(?P<integer>[0-9]*)(?P<mark>[.,])(?P<decimals>[0-9]+))"
    r";(?P<unit>ft|in|cm|mm|m|)"
)
_EXAMPLES = "Type it like 12.5, 12' 6 1/2\", 12-6, 150 in or 3.81 m."


def normal_text(text: str) -> str:
    """The normal form of a typed length: sign, number, ";" and unit, as in ``+12'6 1/2;in``.

    Any text has a normal form; only those of the known forms are lengths.
    """
    for old, new in RAW_REPLACEMENTS:
        text = text.replace(old, new)
    text = "^" + re.sub(" +", " ", text).strip(" ").lower() + "#"
    for old, new in REPLACEMENTS:
        text = text.replace(old, new)
    return text


def parse_length(value: object, bare_unit: BareUnit = "ft", decimal_comma: bool = False) -> float:
    """A length in feet from what a person typed.

    Args:
        value: A number, or text such as ``12.5``, ``12' 6"``, ``12-6``, ``12-6 1/2``, ``6 1/2"``,
            ``5/8``, ``150 in``, ``12 ft 6 in``, ``3.81 m``, ``381 cm``, ``3810 mm``.
        bare_unit: Unit of a number that stands alone. ``12-6`` is feet and inches in any case.
        decimal_comma: True where a comma is always the decimal mark. Otherwise a comma with
            exactly three digits behind it, as in ``1,250``, is refused, for it may mean thousands.

    Raises:
        InputError: If it can't be read as one length, with no doubt left.
    """
    if bare_unit not in UNITS_PER_FT:
        raise InputError(f"{bare_unit!r} is not a unit of length.", cure="Use ft, in, m, cm or mm.")
    if isinstance(value, bool):
        _refuse("A yes/no value is not a length.", _EXAMPLES)
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        _refuse(
            f"{value} is a date, not a length.",
            "The spreadsheet read it as a date; format the cell as text and type it again.",
        )
    if isinstance(value, numbers.Real):
        number = float(value)
        if not math.isfinite(number):
            _refuse(f"{value} is not a length.", _EXAMPLES)
        return number / UNITS_PER_FT[bare_unit]
    if value is None or (isinstance(value, str) and normal_text(value) == "+;"):
        _refuse("The length is empty.", _EXAMPLES)
    if not isinstance(value, str):
        _refuse(f"A {type(value).__name__} is not a length.", _EXAMPLES)
    return _parse_text(value, bare_unit, decimal_comma)


def _parse_text(text: str, bare_unit: BareUnit, decimal_comma: bool) -> float:
    normal = normal_text(text)
    form = _FORM.fullmatch(normal)
    shown = repr(text) if len(text) <= 40 else repr(text[:37] + "...")
    if form is None or len(normal) > LONGEST_NORMAL:
        _refuse(f"{shown} can't be read as a length.", _EXAMPLES)
    part = form.groupdict()
    unit = part["unit"] or ("in" if part["feet"] else bare_unit)
    if part["feet"] and unit != "in":
        _refuse(f"{shown} has feet before another unit that is not inches.", _EXAMPLES)
    if part["join"] == "-" and part["sign"] == "-":
        _refuse(f"{shown} has two minus signs.", "Type feet and inches like -12' 6\".")
    if part["join"] == "-" and part["numerator"] and not part["whole"]:
        _refuse(
            f"{shown} may mean inches and a fraction, or feet and a fraction of an inch.",
            'Type 6 1/2" or 6\' 1/2".',
        )
    if part["mark"] == "," and len(part["decimals"]) == 3 and not decimal_comma:
        _refuse(f"{shown} may mean thousands or decimals.", "Type it with a point, or with none.")

    whole = float(part["whole"] or 0)
    if part["numerator"]:
        numerator, denominator = float(part["numerator"]), float(part["denominator"])
    else:
        decimals = part["decimals"] or ""
        numerator = float((part["before"] or part["integer"] or "") + decimals)
        denominator = 10.0 ** len(decimals)
    if denominator == 0:
        _refuse(f"{shown} divides by zero.", _EXAMPLES)
    amount = whole + numerator / denominator
    if part["feet"] and amount >= IN_PER_FT:
        _refuse(
            f"{shown} has 12 inches or more behind the feet.",
            "Carry them into the feet, or type it all in inches.",
        )
    length_ft = float(part["feet"] or 0) + amount / UNITS_PER_FT[unit]
    return -length_ft if part["sign"] == "-" else length_ft


def _refuse(what: str, cure: str) -> NoReturn:
    raise InputError(what, cure=cure)


def format_feet_inches(feet: float, denominator: int = 16) -> str:
    """A length as a tape reads: ``15 ft 7 7/16 in``, rounded to the nearest 1/``denominator`` in.

    Feet are left out where there are none (``7 7/16 in``); inches are always there
    (``15 ft 0 in``). A negative length has one leading minus. :func:`parse_length` reads it back.

    Args:
        feet: Decimal feet.
        denominator: Parts of an inch, 1 or more; the fraction is shown in lowest terms.

    Raises:
        InputError: If ``feet`` is not a finite number or ``denominator`` is less than 1.
    """
    parts = _tape_parts(feet, denominator)
    whole_ft, rest = divmod(parts, 12 * denominator)
    sign = "-" if feet < 0 and parts else ""
    return sign + (f"{whole_ft} ft " if whole_ft else "") + f"{_mixed(rest, denominator)} in"


def format_inches(feet: float, denominator: int = 16) -> str:
    """A length as the inches of a tape count it: ``187 7/16``, rounded to the nearest
    1/``denominator`` in; no less than 0.

    Args:
        feet: Decimal feet.
        denominator: Parts of an inch, 1 or more; the fraction is shown in lowest terms.

    Raises:
        InputError: If ``feet`` is not a finite number or ``denominator`` is less than 1.
    """
    return _mixed(_tape_parts(max(feet, 0.0), denominator), denominator)


def _tape_parts(feet: float, denominator: int) -> int:
    """A length without its sign in parts of an inch."""
    if not math.isfinite(feet):
        _refuse(f"{feet} is not a length.", "Give a finite number of feet.")
    if denominator < 1:
        _refuse(f"An inch can't be cut in {denominator} parts.", "Use 16, or 8, 4, 2 or 1.")
    return math.floor(abs(feet) * IN_PER_FT * denominator + 0.5)


def _mixed(parts: int, denominator: int) -> str:
    """Parts of an inch as whole inches and a fraction in lowest terms."""
    inches, numerator = divmod(parts, denominator)
    divisor = math.gcd(numerator, denominator)
    fraction = f"{numerator // divisor}/{denominator // divisor}" if numerator else ""
    return " ".join(p for p in (str(inches) if inches or not numerator else "", fraction) if p)


def format_mm(feet: float) -> str:
    """A length as a metric tape reads: ``4762 mm``, to the nearest millimetre.

    Raises:
        InputError: If ``feet`` is not a finite number.
    """
    if not math.isfinite(feet):
        _refuse(f"{feet} is not a length.", "Give a finite number of feet.")
    return f"{math.floor(feet * UNITS_PER_FT['mm'] + 0.5)} mm"
