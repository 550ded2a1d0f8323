"""Formulas as LibreOffice's interface spells them, brought to the spelling of workbook files."""

from __future__ import annotations

import re

_PIECE = re.compile(
    r"""
    "(?:[^"]|"")*"
  | \$?(?P<sheet>'(?:[^']|'')+'|(?<![\w.])[^\W\d]\w*)\.(?=\$?[A-Za-z]{1,3}(?:\$?[0-9]|:))
  | (?<=\w)\.XCL\b
  | [;|{}]
    """,
    re.VERBOSE,
)
_BETWEEN = "\0"
_CELL = r"\.(?=\$?[A-Za-z]{1,3}(?:\$?[0-9]|:))"
_OF_SHEET = re.compile(_CELL)
_SHEET = re.compile(r"('(?:[^']|'')+'|(?<![\w.])[^\W\d]\w*)" + _CELL)
_FIXED_SHEET = re.compile(r"\$('(?:[^']|'')+'|[^\W\d]\w*)" + _CELL)
"""With the sign that most have, by which a pattern is found three times as soon."""
_SUFFIX = ".XCL"
"""What LibreOffice appends to functions that round as the file format says."""
_SUFFIXED = re.compile(r"(?<=\w)\.XCL\b")


def file_formula(text: str) -> str:
    """The formula as a workbook file has it: commas, ``Job!B7`` for ``$Job.B7``.

    Inline arrays have ``;`` between columns and ``|`` between rows there, ``,`` and ``;`` here.
    """
    if "{" in text or text.count('"') % 2:  # an inline array, a quote in the name of a sheet
        return _piece_by_piece(text)
    pieces = text.split('"')  # every second one is a text, or what stands between doubled quotes
    pieces[::2] = _plain(_BETWEEN.join(pieces[::2])).split(_BETWEEN)
    return '"'.join(pieces)


def _plain(stretches: str) -> str:
    """Stretches without texts and inline arrays, all at once: a refill reads 25,000 formulas."""
    if "." in stretches:
        stretches = _FIXED_SHEET.sub(r"\1!", stretches)
        if _OF_SHEET.search(stretches):
            stretches = _SHEET.sub(r"\1!", stretches)
        if _SUFFIX in stretches:
            stretches = _SUFFIXED.sub("", stretches)
    return stretches.replace(";", ",")


def _piece_by_piece(text: str) -> str:
    depth = 0

    def spelled(match: re.Match[str]) -> str:
        nonlocal depth
        piece = match.group()
        if match["sheet"]:
            return match["sheet"] + "!"
        if piece == _SUFFIX:
            return ""
        if piece in ("{", "}"):
            depth += 1 if piece == "{" else -1
        elif piece == ";":
            return ","
        elif piece == "|" and depth:
            return ";"
        return piece

    return _PIECE.sub(spelled, text)
