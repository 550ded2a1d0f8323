"""Print areas that a person set, told from the template's as they moved with rows put in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import partial

from estimator.workbook.carry.one_sheet import moved_range
from estimator.workbook.package.a1 import listed_ranges, parse_range
from estimator.workbook.package.moves import Moves, moves_between
from estimator.workbook.package.references import absolute
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.template.made_from import MadeFrom

PRINT_AREA = "_xlnm.Print_Area"


def own_print_areas(port: FilePort, made: MadeFrom) -> Iterator[tuple[str, list[str]]]:
    """Title of each sheet whose print area is a person's own, and the ranges of that area."""
    moves = moves_between(made.ranges, port.ranges())
    for home, areas in made.prints.items():
        title = moves.sheets.get(home, home)
        target = port.package.local_names.get((title, PRINT_AREA))
        if target is None:
            continue
        now = listed_ranges(target.text)
        expected = [moved_range(area, partial(moves.spot, home)) for area in areas]
        other = Counter(now) - Counter(each for each in expected if each)
        # A corner that can't be told any more says nothing of a person's doing.
        if now and (other.total() > expected.count(None) or len(now) != len(expected)):
            yield title, now


def moved_print_area(areas: list[str], forward: Moves, sheet: str) -> str | None:
    """A print area as it reads where its cells stand now; None if a corner of it is gone."""
    title = forward.sheets.get(sheet, sheet)
    moved = [moved_range(each, partial(forward.spot, sheet)) for each in areas]
    if None in moved:
        return None
    return ",".join(absolute(title, parse_range(each)) for each in moved if each is not None)
