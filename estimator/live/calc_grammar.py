"""Formulas as LibreOffice's interface spells them, brought to the spelling of workbook files."""

from __future__ import annotations

import re

_PIECE = re.compile(
    r"""
    (?P<string>"(?:[^"]|"")*")
  | \$?(?P<sheet>'(?:[^']|'')+'|[^\W\d]\w*)\.(?=\$?[A-Za-z]{1,3}(?:\$?[0-9]|:))
  | (?P<word>[^\W\d][\w.]*)
  | (?P<other>[\s\S])
    """,
    re.VERBOSE,
)
_SUFFIX = ".XCL"
"""What LibreOffice appends to functions that round as the file format says."""


def file_formula(text: str) -> str:
    """The formula as a workbook file has it: commas, ``Job!B7`` for ``$Job.B7``.

    Inline arrays have ``;`` between columns and ``|`` between rows there, ``,`` and ``;`` here.
    """
    found: list[str] = []
    depth = 0
    for match in _PIECE.finditer(text):
        piece = match.group()
        if match["sheet"]:
            piece = match["sheet"] + "!"
        elif match["word"]:
            piece = piece.removesuffix(_SUFFIX)
        elif piece in ("{", "}"):
            depth += 1 if piece == "{" else -1
        elif piece == ";":
            piece = ","
        elif piece == "|" and depth:
            piece = ";"
        found.append(piece)
    return "".join(found)
