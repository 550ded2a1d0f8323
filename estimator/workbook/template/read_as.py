"""Formulas that read what a person typed as ``inputs.read`` does, and say what is wrong with it.

A typed cell that can't be read, or lies outside the least and the most beside it, reads as the
text "?". Limits are always taken from cells, never written into the formula.
"""

from __future__ import annotations

from dataclasses import dataclass

from estimator.formula import number, quoted
from estimator.inputs import Field

UNREADABLE = '"?"'
_LENGTHS = {"ft": "{}", "in": "ROUND({}*12,12)", "m": "ROUND({},12)", "mm": "ROUND({}*1000,12)"}
"""A length in the entry's unit, from the helper: feet, or metres in a metric workbook."""


@dataclass(frozen=True, slots=True)
class EntryCells:
    """References to the cells of one typed entry, as its formulas write them.

    Args:
        typed: What the person types.
        least, most: Limits; empty for kinds without.
        feet: Helper that holds a length in feet (metres where the entry is metric) or "?"; empty
            for other kinds.
        listed: Range of the allowed texts of a choice or key.
        offered: Range of those that a list of the cell shows, where it shows fewer; else empty.
    """

    typed: str
    least: str = ""
    most: str = ""
    feet: str = ""
    listed: str = ""
    offered: str = ""


def blank(entry: Field) -> str:
    """What an allowed blank reads as, as a formula writes it."""
    value = entry.blank
    return quoted(value) if isinstance(value, str) else number(value)


def read_formula(entry: Field, cells: EntryCells) -> str:
    """Formula of the value: a number in the field's unit, the canonical text, or "?"."""
    empty = UNREADABLE if entry.needed else blank(entry)
    value = _value(entry, cells)
    return f'IFERROR(IF(TRIM({cells.typed})="",{empty},{value}),{UNREADABLE})'


def option_formula(entry: Field, cells: EntryCells, kind_cell: str, *, is_kind: bool) -> str:
    """The same for one option: a field that its kind does not use reads as a blank."""
    formula = read_formula(entry, cells)
    if is_kind:
        return formula
    if entry.kinds:
        test = ",".join(f"{kind_cell}={quoted(kind)}" for kind in entry.kinds)
        return f"IF(OR({test}),{formula},{blank(entry)})"
    return f'IF({kind_cell}="",{blank(entry)},{formula})'


def _value(entry: Field, cells: EntryCells) -> str:
    if entry.kind == "text":
        t = cells.typed
        return f'IF(OR(LEFT({t})=" ",RIGHT({t})=" "),TRIM({t}),{t}&"")'
    if entry.kind in ("choice", "key"):
        found = f"INDEX({cells.listed},MATCH(TRIM({cells.typed}),{cells.listed},0))"
        return f"IF({found}=TRIM({cells.typed}),{found},{UNREADABLE})"
    value = _amount(entry, cells)
    taken = f"IF({inside(entry, value, cells)},{value},{UNREADABLE})"
    return f"IF({_is_number(entry, cells)},{taken},{UNREADABLE})"


def _amount(entry: Field, cells: EntryCells) -> str:
    if entry.kind == "length":
        return _LENGTHS[entry.bare_unit].format(cells.feet)
    if entry.kind == "date":
        return f"INT({cells.typed})"
    return cells.typed


def _is_number(entry: Field, cells: EntryCells) -> str:
    if entry.kind == "length":
        return f"ISNUMBER({cells.feet})"
    return f"AND({','.join(number_tests(entry, cells))})"


def number_tests(entry: Field, cells: EntryCells) -> list[str]:
    tests = [f"ISNUMBER({cells.typed})", f"NOT(ISLOGICAL({cells.typed}))"]
    if entry.kind == "whole":
        tests.append(f"INT(N({cells.typed}))=N({cells.typed})")
    return tests


def inside(entry: Field, value: str, cells: EntryCells) -> str:
    """A test of a number: from least to most, or the 0 that stands for none below the least."""
    test = f"AND({value}>={cells.least},{value}<={cells.most})"
    return f"OR({value}=0,{test})" if entry.zero else test


def job_check(entry: Field, cells: EntryCells, read: str) -> str:
    """Formula of the words beside a typed job cell: "ok", or what is wrong with it."""
    missing = quoted(f"blank: type {_article(entry)}")
    fault = f'IF(TRIM({cells.typed})="",{missing},{_fault(entry, cells)})'
    return f'IF({read}<>"?","ok",{fault})'


def _fault(entry: Field, cells: EntryCells) -> str:
    wrong = quoted(f"not {_article(entry)}")
    if not cells.least:
        return wrong
    amount = _amount(entry, cells)
    below, above = '"below least"', '"above most"'
    if entry.kind == "length":  # 5/8 that a spreadsheet took for a day is a number above every most
        bare = f"ISNUMBER(VALUE({cells.typed}))"
        below = f"IF(IFERROR({bare},FALSE),{quoted(f'below least: {entry.bare_unit}?')},{below})"
        above = f'IF(ISNUMBER({cells.typed}),"above most: a date?",{above})'
    limits = f"IF({amount}<{cells.least},{below},IF({amount}>{cells.most},{above},{wrong}))"
    return f"IFERROR(IF({_is_number(entry, cells)},{limits},{wrong}),{wrong})"


def _article(entry: Field) -> str:
    return {
        "length": "a length",
        "number": "a number",
        "whole": "a whole number",
        "share": "a share such as 10%",
        "choice": "an entry of the list",
        "key": "an entry of the list",
        "text": "a text",
        "date": "a date such as 2026-05-01",
    }[entry.kind]


def options_check(entry: Field, headers: list[str], reads: list[str]) -> str:
    """Formula of the words beside a typed option row: "ok", or the letters to look at."""
    faulty = "&".join(
        f'IF({read}="?",{header}&" ","")' for header, read in zip(headers, reads, strict=True)
    )
    wanted = _article(entry) + (" from least to most" if _limited(entry) else "")
    count = f'SUMPRODUCT(({reads[0]}:{reads[-1]}="?")*1)'
    return f'IF({count}=0,"ok","look at "&{faulty}&{quoted(f": {wanted} is needed")})'


def _limited(entry: Field) -> bool:
    return entry.kind not in ("choice", "key", "text")


def table_length(entry: Field, cells: EntryCells, first: str) -> str:
    """Formula of the read-as column of a length: a row without its first entry reads as blank."""
    return f'IF(TRIM({first})="",{blank(entry)},{read_formula(entry, cells)})'
