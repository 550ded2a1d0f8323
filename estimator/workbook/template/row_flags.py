"""Formulas of the flags of table rows: which of a row's entries can't be used.

A flag has a term for each entry that is typed. Where they are more than a person follows in one
formula, cells of the workings tell of some of them, and the flag joins what these say.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from estimator.formula import quoted
from estimator.inputs import MOST_SEARCHED, Field
from estimator.workbook.template.read_as import EntryCells, inside, number_tests

MOST = 600
"""Characters of a formula that a person follows, texts in quotation marks left out."""
_QUOTED = re.compile('"[^"]*"')
_LEAST, _MOST, _LISTED, _WORKING = "Lists!$C$100", "Lists!$D$100", "choices_fill_accepted", "$AD139"
"""Stand for cells and names as long as theirs, before it is known where they are."""


@dataclass(frozen=True, slots=True)
class RowEntry:
    """A typed column of a table on one row: its field, its cells and, of a length, the read one."""

    entry: Field
    cells: EntryCells
    read: str


def shares(fields: Sequence[tuple[Field, str]]) -> tuple[int, ...]:
    """How many of a row's typed entries, in their order, each formula tells of.

    First the flag itself, then the cells of the workings, as few as there can be.

    Args:
        fields: The typed columns, each with the reference to its cell.
    """
    entries = [
        RowEntry(field, EntryCells(typed, _LEAST, _MOST, listed=_LISTED), typed)
        for field, typed in fields
    ]
    least = 0
    while True:
        given = [_room(flag_formula(entries, 0, [_WORKING] * least))]
        found = [0]
        for each in entries:
            need = _room(f"{_term(each)}&")
            if given[-1] + need > MOST and (found[-1] or len(found) == 1):
                found.append(0)
                given.append(_room(working_formula(entries[0], [])))
            found[-1] += 1
            given[-1] += need
        if len(found) - 1 <= least:
            return tuple(found)
        least = len(found) - 1


def flag_formula(entries: Sequence[RowEntry], own: int, workings: Sequence[str]) -> str:
    """Formula of what is wrong with a row, "" if there is nothing.

    Without an entry in the first typed column a row counts as blank. First entries that are
    texts differ, and have no sign that means something when spreadsheets look a text up.

    Args:
        entries: All typed columns.
        own: How many of them, from the first, the formula itself tells of.
        workings: The cells that tell of the others.
    """
    first = entries[0].entry
    name = entries[0].cells.typed
    others = "&".join(each.cells.typed for each in entries[1:]) or '""'
    orphan = quoted(f"{first.label} is blank")
    twice = quoted(f"{first.label} stands twice")
    odd = quoted(f"{first.label}: leave out * ? ~, two spaces in a row, a leading < > or =")
    parts = [*map(_term, entries[:own]), *workings]
    said = f"TRIM({'&'.join(parts)})"
    if first.value_kind == "text":
        repeated = f"SUMPRODUCT((in_{first.key}={name})*1)>1"
        said = f"IF({_unsearchable(name)},{odd},IF({repeated},{twice},{said}))"
    return (
        f'IFERROR(IF(TRIM({name})="",IF({others}="","",{orphan}),{said}),'
        '"an error value stands in this row")'
    )


def working_formula(first: RowEntry, entries: Sequence[RowEntry]) -> str:
    """Formula of what is wrong with some entries of a row; nothing is where the row is blank."""
    return f'IF(TRIM({first.cells.typed})="","",{"&".join(map(_term, entries))})'


def _room(formula: str) -> int:
    return len(_QUOTED.sub("", formula))


def _term(row: RowEntry) -> str:
    """What is said of one entry, as a part of a formula: nothing where it can be used."""
    entry, cells = row.entry, row.cells
    said = quoted(f"{entry.label}? ")
    term = f'IF({_usable(row)},"",{said})'
    if entry.unlike:
        both = "+".join(f"(in_{key}={cells.typed})" for key in (entry.key, entry.unlike))
        again = f'AND({cells.typed}<>"",SUMPRODUCT(({both})*1)>1)'
        term += f'&IF({again},{quoted(f"{entry.label} stands twice ")},"")'
    return term


def _unsearchable(cell: str) -> str:
    """A test that is true for a text that spreadsheets take for a pattern or a comparison."""
    inside = ",".join(f'ISNUMBER(FIND("{sign}",{cell}))' for sign in ("*", "?", "~", "  "))
    start = f'ISNUMBER(FIND(LEFT(TRIM({cell})),"<>="))'
    return f"OR({inside},{start},LEN({cell})>{MOST_SEARCHED})"


def _usable(row: RowEntry) -> str:
    """A test that is true if the typed cell of a table can be used."""
    entry, cells = row.entry, row.cells
    t = cells.typed
    if entry.kind == "length":
        return f'{row.read}<>"?"'
    if entry.kind == "text":
        bare = f'LEFT({t})<>" ",RIGHT({t})<>" "'
        return f'AND({bare},{t}<>"")' if entry.needed else f"AND({bare})"
    if entry.kind in ("choice", "key"):
        found = f"INDEX({cells.listed},MATCH({t},{cells.listed},0))={t}"
        if entry.needed:
            return f'AND(TRIM({t})<>"",IFERROR({found},FALSE))'
        return f'IFERROR({found},TRIM({t})="")'
    tests = [*number_tests(entry, cells), inside(entry, t, cells)]
    if entry.kind == "date":
        tests.append(f"INT(N({t}))=N({t})")
    number = f"AND({','.join(tests)})"
    return number if entry.needed else f'OR(TRIM({t})="",{number})'
