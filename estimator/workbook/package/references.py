"""Names and references as formulas and defined names write them."""

from __future__ import annotations

import re

from estimator.errors import RowError
from estimator.workbook.package.a1 import Range, column_letters

_LIKE_CELL = re.compile(r"[A-Za-z]{1,3}[0-9]+|[rR][0-9]*([cC][0-9]*)?|[cC][0-9]*")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


def check_name(name: str) -> str:
    """The name, if spreadsheets take it as a defined name.

    Raises:
        RowError: If it looks like a cell address, is too long or has odd characters.
    """
    if not _NAME.fullmatch(name) or _LIKE_CELL.fullmatch(name) or len(name) > 250:
        raise RowError("can't be the name of a range.", where=name, cure="Choose a longer word.")
    return name


_PLAIN_SHEET = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


def sheet_prefix(name: str) -> str:
    """The sheet's name as a formula writes it before ``!``, in quotes where they are needed."""
    if _PLAIN_SHEET.fullmatch(name) and not _LIKE_CELL.fullmatch(name):
        return f"{name}!"
    return "'" + name.replace("'", "''") + "'!"


def absolute(sheet: str, area: Range) -> str:
    """Reference such as ``Job!$B$7`` or ``Survey!$C$9:$C$88``."""
    first = f"${column_letters(area.column1)}${area.row1}"
    last = f"${column_letters(area.column2)}${area.row2}"
    return sheet_prefix(sheet) + (first if first == last else f"{first}:{last}")
