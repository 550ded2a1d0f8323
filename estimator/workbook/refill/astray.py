"""Names that were set on other cells, while their own still stand where they belong.

Where rows and columns come, or a block is dragged, names go with their cells. A name that steps
out of line with its neighbours alone, and leaves behind what it named, was set anew.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import pairwise

from estimator.workbook.package.a1 import Range
from estimator.workbook.refill.port import Port

BOTH = 2
"""Neighbours on both sides: rows put in beside a name move one of them alone."""
Ranges = Mapping[str, tuple[str, Range]]


def astray(port: Port, template: Ranges, titles: Mapping[str, str]) -> Ranges:
    """Sheet and cells on which names belong that stand on others.

    Args:
        port: The workbook.
        template: Sheet and cells of the template's names.
        titles: By sheet of the template, its title in the workbook.
    """
    now = port.ranges()
    sheets: dict[str, list[str]] = {}
    for name, (home, _) in template.items():
        if name in now and home in titles:
            sheets.setdefault(home, []).append(name)
    return {
        name: place
        for home, names in sheets.items()
        if any(now[name] != template[name] for name in names)
        for name, place in _of_sheet(port, template, titles[home], names)
    }


def _of_sheet(
    port: Port, template: Ranges, title: str, names: list[str]
) -> Iterator[tuple[str, tuple[str, Range]]]:
    now = port.ranges()
    here = {name: now[name][1] for name in names if now[name][0] == title}
    rows = _Steps((template[n][1].row1, area.row1) for n, area in here.items())
    columns = _Steps((template[n][1].column1, area.column1) for n, area in here.items())
    together = _moved_together({n: template[n][1] for n in here}, here)
    for name in names:
        (_, before), (sheet, area) = template[name], now[name]
        ours = sheet == title
        if name in together or (area.rows, area.columns) != (before.rows, before.columns):
            continue
        down = rows.of(before.row1, area.row1 if ours else None)
        right = columns.of(before.column1, area.column1 if ours else None)
        if down is None or right is None or (ours and (down, right) == (area.row1, area.column1)):
            continue
        there = Range(down, right, down + before.rows - 1, right + before.columns - 1)
        twins = (other for other in here if other != name and template[other][1] == before)
        alone = not any(here[other] == there for other in twins)
        if ours and alone and there.rows > 1 and there.overlaps(area):
            continue  # cells put in above a column move it as little, with what it holds
        if _left_behind(port, (title, there), (sheet, area)):
            yield name, (title, there)


def _moved_together(before: Mapping[str, Range], now: Mapping[str, Range]) -> set[str]:
    """Names that moved as the next one in their row or column did, as cells that shift do."""
    found: set[str] = set()
    for line in ("column1", "row1"):
        lines: dict[int, list[str]] = {}
        for name, area in before.items():
            lines.setdefault(getattr(area, line), []).append(name)
        for names in lines.values():
            names.sort(key=before.__getitem__)
            for one, other in pairwise(names):
                if _step(before[one], now[one]) == _step(before[other], now[other]) != (0, 0):
                    found |= {one, other}
    return found


def _step(before: Range, now: Range) -> tuple[int, int]:
    return now.row1 - before.row1, now.column1 - before.column1


class _Steps:
    """How far rows, or columns, of a sheet moved, told by what is named on them.

    Args:
        moves: Number before and number now of every name.
    """

    def __init__(self, moves: Iterator[tuple[int, int]]) -> None:
        self._steps: dict[int, Counter[int]] = {}
        for before, now in moves:
            self._steps.setdefault(before, Counter())[now - before] += 1
        self._numbers = sorted(self._steps)

    def of(self, before: int, now: int | None) -> int | None:
        """Where a name belongs: where it is, if a neighbour moved as far, or else as they did.

        None where its neighbours do not agree.

        Args:
            before: Its row or column before.
            now: Its row or column now; None for a name on another sheet.
        """
        own = None if now is None else now - before
        beside = Counter(self._steps.get(before, {}))
        if own is not None:
            beside[own] -= 1
        beside = +beside
        near = self._near(before)
        if now is not None and (own in near or own in beside):
            return now
        if len(beside) == 1:
            (step,) = beside
            return before + step if step in near or not near else None
        between = not beside and len(near) == BOTH and len(set(near)) == 1
        return before + near[0] if between else None

    def _near(self, number: int) -> list[int]:
        """Steps of the next number with a name on either side."""
        at = bisect_left(self._numbers, number)
        beyond = at + (number in self._steps)
        found = [self._numbers[at - 1]] if at else []
        found += self._numbers[beyond : beyond + 1]
        return [self._steps[each].most_common(1)[0][0] for each in found]


def _left_behind(port: Port, home: tuple[str, Range], away: tuple[str, Range]) -> bool:
    """Whether cells stayed where a name left, so that it went without them.

    A single line without anything in either place was none that somebody moves.
    """
    if _filled(port, home, away):
        return True
    same = home[0] == away[0] and home[1].rows == 1
    return same and not _filled(port, away, home)


def _filled(port: Port, place: tuple[str, Range], other: tuple[str, Range]) -> bool:
    """Whether anything stands in cells of a place that are not in the other one too."""
    sheet, area = place
    return any(
        not content.blank
        for row, contents in enumerate(port.read(sheet, area), start=area.row1)
        for column, content in enumerate(contents, start=area.column1)
        if sheet != other[0] or not other[1].holds(row, column)
    )
