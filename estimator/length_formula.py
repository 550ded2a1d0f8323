"""The spreadsheet formulas that read a length as :func:`estimator.units.parse_length` does.

Two cells: ``normal_formula`` brings the typed text to its normal form in a helper cell (a number
stays a number), ``length_formula`` turns the helper cell into feet, or "?".

How it works: every digit run of the normal form is shrunk to one "0", and the shape that is left
must be on a short list. After that the pieces are known to be plain digits, so VALUE can't meet
a decimal mark, a date or an exponent, and the result doesn't depend on the locale. Functions used:
IF, AND, OR, NOT, IFERROR, ISNUMBER, ISTEXT, ISLOGICAL, FIND, SUBSTITUTE, LOWER, TRIM, MID, LEFT,
RIGHT, LEN, REPT, VALUE. No array entry, nothing volatile, nothing newer than 2007.

A date can't be told from a number by its value (CELL("format") is not known to all spreadsheets),
so a date typed into a cell that is not formatted as text reads as its serial number: a guard on
such cells must look at the size of the result, or at the cell's format when the file is read.
"""

from __future__ import annotations

from estimator.errors import InputError
from estimator.units import (
    LONGEST_NORMAL,
    RAW_REPLACEMENTS,
    REPLACEMENTS,
    UNITS_PER_FT,
    BareUnit,
    normal_text,
    parse_length,
)

_PAD = 40  # wider than any normal form, so that padded pieces fall into fields of this width
_AMOUNTS = ("0", "0.", "0.0", ".0", "0,0", ",0", "0/0", "0 0/0")
_ANY_SIGN = (
    [f"{a};" for a in _AMOUNTS] + [f"{a}:" for a in _AMOUNTS] + [f"0'{a};" for a in _AMOUNTS]
)
_PLUS_ONLY = [f"0-{a};" for a in _AMOUNTS if a != "0/0"]


def normal_formula(cell: str) -> str:
    """Formula text (no leading "=") for the helper cell: the normal form of what ``cell`` holds.

    A number comes through as a number; a blank, an error or a yes/no value gives "?". Text is asked
    first, since one engine takes text such as "12.5" for a number. About 1,000 characters.

    Args:
        cell: Reference to the input cell, such as ``$B7``, or a defined name.
    """
    text = cell
    for old, new in RAW_REPLACEMENTS:
        text = _substitute(text, old, new)
    text = f'"^"&LOWER(TRIM({text}))&"#"'
    for old, new in REPLACEMENTS:
        text = _substitute(text, old, new)
    number = f'IF(AND(ISNUMBER({cell}),NOT(ISLOGICAL({cell}))),{cell},"?")'
    return f"IF(ISTEXT({cell}),{text},{number})"


def length_formula(
    normal_cell: str, bare_unit: str = "ft", decimal_comma: bool = False, *, gives: str = "ft"
) -> str:
    """Formula text (no leading "=") that gives feet, or "?" where there is no readable length.

    It accepts and refuses exactly what ``parse_length`` does, blank included. About 2,400
    characters.

    Args:
        normal_cell: Reference to the helper cell that holds :func:`normal_formula`.
        bare_unit: ``ft``, ``in``, ``m``, ``cm`` or ``mm``: unit of a number that stands alone.
        decimal_comma: True where ``1,250`` means one and a quarter; otherwise it gives "?".
        gives: Unit of the answer, if it is not to be feet.

    Raises:
        InputError: If a unit is not one of the five.
    """
    for unit in (bare_unit, gives):
        if unit not in UNITS_PER_FT:
            raise InputError(f"{unit!r} is not a unit of length.", cure="Use ft, in, m, cm or mm.")
    n = normal_cell
    bare = f"{UNITS_PER_FT[bare_unit]:g}"
    amount = _amount(n)
    join = f'SUBSTITUTE(MID({n},2,{_PAD}),"-","\'")'
    compound = f'ISNUMBER(FIND("\'",{join}))'
    per_ft = f"IF({compound},12,{bare})"
    for unit in ("m", "in", "ft", "cm", "mm"):
        per_ft = f'IF(RIGHT({n},{len(unit) + 1})=";{unit}",{UNITS_PER_FT[unit]:g},{per_ft})'
    refused = [f"LEN({n})>{LONGEST_NORMAL}", f"{compound}*({amount}>=12)"]
    if not decimal_comma:
        refused.append(f'IFERROR(FIND(";",{n})-FIND(",",{n})=4,FALSE)')
    feet = _piece(n, f"(2+{_has(n, ' ')})")
    value = f'IF(LEFT({n})="-",-1,1)*({feet}+{amount}/{per_ft})'
    if gives != "ft":
        value += f"*{UNITS_PER_FT[gives]:g}"
    alone = f"{UNITS_PER_FT[bare_unit] / UNITS_PER_FT[gives]:g}"
    return (
        f"IF(ISNUMBER({n}),{n}/{alone},IFERROR(IF(ISNUMBER({_known_shape(n)}),"
        f'IF(OR({",".join(refused)}),"?",{value}),"?"),"?"))'
    )


def formulas_give(
    typed: float | str | None, bare_unit: BareUnit = "ft", *, gives: BareUnit = "ft"
) -> tuple[float | str, float | str] | None:
    """What the two formulas give for what a cell holds: its normal form and the length.

    None where they may differ in what no two spreadsheets do alike: an empty text, other letters
    than those of ASCII, spaces at an end.

    Args:
        typed: A number, a text, or None for a blank cell.
        bare_unit: Unit of a number that stands alone.
        gives: Unit of the answer.
    """
    if typed is None:
        return "?", "?"
    if not isinstance(typed, str):
        return typed, typed / float(f"{UNITS_PER_FT[bare_unit] / UNITS_PER_FT[gives]:g}")
    if not (typed.isascii() and typed.isprintable() and typed and typed == typed.strip()):
        return None
    normal = normal_text(typed)
    try:
        feet = parse_length(typed, bare_unit)
    except InputError:
        return normal, "?"
    return normal, feet if gives == "ft" else feet * UNITS_PER_FT[gives]


def _known_shape(n: str) -> str:
    """An expression that is a number if the shape of ``n`` is on the list, else an error."""
    shape = f"MID({n},2,{_PAD})"
    for digit in "123456789":
        shape = _substitute(shape, digit, "0")
    for _ in range(5):  # each pass halves a digit run: 5 for up to 32 digits
        shape = _substitute(shape, "00", "0")
    for old, new in ((";in", ";"), (";ft", ":"), (";mm", ":"), (";cm", ":"), (";m", ":")):
        shape = _substitute(shape, old, new)
    known = f"{_quote('|' + '|'.join(_ANY_SIGN) + '|')}"
    plus_only = _quote("|".join(_PLUS_ONLY) + "|")
    return f'FIND("|"&{shape}&"|",{known}&IF(LEFT({n})="-","",{plus_only}))'


def _piece(n: str, place: str) -> str:
    """The number at ``place`` from the right among those before "/" or ";", 0 beyond the first.

    The decimal mark is left out, so ``12.5`` is the piece 125.
    """
    text = f'MID({n},2,FIND("/",SUBSTITUTE({n},";","/"))-2)'
    for mark in (".", ","):
        text = _substitute(text, mark, "")
    for mark in ("-", "'"):
        text = _substitute(text, mark, " ")
    text = f'SUBSTITUTE("0 0 0 "&{text}," ",REPT(" ",{_PAD}))'
    return f"VALUE(TRIM(LEFT(RIGHT({text},{_PAD}*{place}),{_PAD})))"


def _amount(n: str) -> str:
    """The last amount of the normal form: whole + numerator / denominator, in its own unit."""
    slash = f'FIND("/",{n})'
    end = f'FIND(";",{n})'
    point = f'FIND(".",SUBSTITUTE({n},",","."))'
    denominator = (
        f"IF({_has(n, '/')},VALUE(MID({n},{slash}+1,{end}-{slash}-1)),"
        f"10^IFERROR({end}-{point}-1,0))"
    )
    return f"({_has(n, ' ')}*{_piece(n, '2')}+{_piece(n, '1')}/{denominator})"


def _has(n: str, mark: str) -> str:
    return f'ISNUMBER(FIND("{mark}",{n}))'


def _substitute(text: str, old: str, new: str) -> str:
    return f"SUBSTITUTE({text},{_quote(old)},{_quote(new)})"


def _quote(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'
