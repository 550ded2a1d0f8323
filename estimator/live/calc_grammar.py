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
_STRING = re.compile(r'("(?:[^"]|"")*")')
_SHEET = re.compile(r"\$?('(?:[^']|'')+'|(?<![\w.])[^\W\d]\w*)\.(?=\$?[A-Za-z]{1,3}(?:\$?[0-9]|:))")
_SUFFIX = ".XCL"
"""What LibreOffice appends to functions that round as the file format says."""
_SUFFIXED = re.compile(r"(?<=\w)\.XCL\b")


def file_formula(text: str) -> str:
    """The formula as a workbook file has it: commas, ``Job!B7`` for ``$Job.B7``.

    Inline arrays have ``;`` between columns and ``|`` between rows there, ``,`` and ``;`` here.
    """
    if "{" in text or text.count('"') % 2:  # an inline array, a quote in the name of a sheet
        return _piece_by_piece(text)
    pieces = _STRING.split(text)
    pieces[::2] = [_plain(piece) for piece in pieces[::2]]
    return "".join(pieces)


def _plain(piece: str) -> str:
    """A stretch without texts and inline arrays; most formulas are such, so that it is quick."""
    if "." in piece:
        piece = _SHEET.sub(r"\1!", piece)
        if _SUFFIX in piece:
            piece = _SUFFIXED.sub("", piece)
    return piece.replace(";", ",")


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
