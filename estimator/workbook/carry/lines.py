"""Which lines of a table that lost or got some are which lines of the template's table.

What is left keeps its order. Where there are too many, blank lines go, the last of them first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from estimator.workbook.package.a1 import Range
from estimator.workbook.refill.file_port import FilePort

Kept = Mapping[int, int]
"""By line before, counted from 0, that line in the template's table; one left out is gone."""


def lines_kept(
    port: FilePort, template: FilePort, new_name: Callable[[str], str], sheets: frozenset[str]
) -> dict[str, Kept]:
    """By name in the workbook, its lines, where it has not as many as the template's.

    Args:
        port: The workbook.
        template: The template.
        new_name: Name in the template of a name of the workbook.
        sheets: Sheets of the template that are put in; tables elsewhere are left out.
    """
    new = template.ranges()
    tables: dict[tuple[str, int, int, str, int, int], list[str]] = {}
    for name, (sheet, area) in port.ranges().items():
        home = new.get(new_name(name))
        if home is None or home[0] not in sheets or home[1].rows in (1, area.rows):
            continue
        key = (home[0], home[1].row1, home[1].row2, sheet, area.row1, area.row2)
        tables.setdefault(key, []).append(name)
    found: dict[str, Kept] = {}
    for (_, first, last, *_), names in tables.items():
        kept = _kept(port, names, last - first + 1)
        found.update(dict.fromkeys(names, kept))
    return found


def lost_lines(
    kept: Mapping[str, Kept],
    made: Mapping[str, tuple[str, Range]],
    new: Mapping[str, tuple[str, Range]],
    new_name: Callable[[str], str],
) -> Iterator[tuple[str, int, int]]:
    """Typed cells of the template that stand for lines which a table lost: these are blank.

    Lines that the template has and the workbook's own had not from the start are not among them.

    Args:
        kept: By name in the workbook, its lines, as :func:`lines_kept` gives them.
        made: Sheet and cells of every name when the workbook was made.
        new: Sheet and cells of every name of the template.
        new_name: Name in the template of a name of the workbook.

    Yields:
        Sheet of the template, row and column.
    """
    for name in kept.keys() & made.keys():
        if name.startswith("in_"):
            home, area = new[new_name(name)]
            for line in range(len(kept[name]), min(made[name][1].rows, area.rows)):
                for column in range(area.column1, area.column2 + 1):
                    yield home, area.row1 + line, column


def _kept(port: FilePort, names: Iterable[str], capacity: int) -> Kept:
    places = [(name, *port.ranges()[name]) for name in names]
    lines = range(places[0][2].rows)
    surplus = len(lines) - capacity
    gone: set[int] = set()
    if surplus > 0:
        typed = [(sheet, area) for name, sheet, area in places if name.startswith("in_")]
        blank = _blank(port, typed or [(sheet, area) for _, sheet, area in places], lines)
        gone = set(blank[-surplus:])
    left = [line for line in lines if line not in gone]
    return {line: at for at, line in enumerate(left[:capacity])}


def _blank(port: FilePort, columns: Iterable[tuple[str, Range]], lines: range) -> list[int]:
    """Lines with nothing in any of these columns."""
    contents = [port.read(sheet, area) for sheet, area in columns]
    return [line for line in lines if all(c.blank for rows in contents for c in rows[line])]
