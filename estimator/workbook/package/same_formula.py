"""Whether two formulas are the same one, however a spreadsheet spelt them when it saved."""

from __future__ import annotations

import re
from collections.abc import Iterable

from estimator.workbook.package.a1 import named_sheet

DIGITS = 14
"""Significant digits of a number in a formula that every spreadsheet keeps."""
_PREFIX = "_XLFN."
UNKNOWN = "?"
"""Stands in a reference for a row or a column that can't be known."""
_REFERENCE = re.compile(r"(\$?)([A-Z]{1,3}|\?)(\$?)([0-9]+|\?)")


_OFTEN = re.compile(r"\b(TRUE|FALSE)\(\)|\b[0-9]+(?:\.[0-9]+)?E[-+][0-9]+\b|\b0\.0000[0-9]+\b")

Pieces = list[tuple[str, str]]
"""Kind and text of each piece of a formula, as :func:`a1.tokens` gives them."""


def normal_form(pieces: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Pieces of a formula in the form in which two spellings of one formula are the same."""
    listed = [(kind, text) for kind, text in pieces if text.strip()]
    found: list[str] = []
    skip = 0
    for at, (kind, text) in enumerate(listed):
        if skip:
            skip -= 1
        elif kind == "function" and text.upper() in ("TRUE", "FALSE"):
            found.append(text.upper())
            skip = 2 if listed[at + 2 : at + 3] == [("other", ")")] else 0
        else:
            found.append(_normal_piece(kind, text))
    return tuple(found)


def _normal_piece(kind: str, text: str) -> str:
    if kind == "number":
        return f"{float(text):.{DIGITS}g}"
    if kind == "function":
        return text.upper().removeprefix(_PREFIX)
    if kind in ("cell", "columns", "rows", "error"):
        return text.upper()
    if kind == "sheet":
        return named_sheet(text).casefold() + "!"
    if kind == "word":
        return text.upper()
    return text


def spelt_alike(one: str, other: str) -> bool:
    """Whether two formulas are the same but for what spreadsheets most often spell anew.

    Quick where :func:`matches` is thorough: False does not mean that they differ.
    """
    return one == other or _respelt(one) == _respelt(other)


def _respelt(text: str) -> str:
    return _OFTEN.sub(lambda m: m[1] or f"{float(m[0]):.{DIGITS}g}", text)


def matches(wanted: Iterable[tuple[str, str]], found: Iterable[tuple[str, str]]) -> bool:
    """Whether two formulas are the same in normal form; ``?`` in the first fits anything."""
    ours, theirs = normal_form(wanted), normal_form(found)
    return len(ours) == len(theirs) and all(
        one == other or _fits(one, other) for one, other in zip(ours, theirs, strict=True)
    )


def _fits(wanted: str, found: str) -> bool:
    """Whether a reference fits one of which the row or the column is not known."""
    one, other = _REFERENCE.fullmatch(wanted), _REFERENCE.fullmatch(found)
    return bool(one and other) and all(
        a in (b, UNKNOWN)
        for a, b in zip(one.groups(), other.groups(), strict=True)  # type: ignore[union-attr]
    )
