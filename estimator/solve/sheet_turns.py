"""Floors laid without an integer program: rows take turns between two ways to set their joints.

Rows of full width are set in one of two ways whose joints stand on different joists, the first,
third, fifth in one and the others in the other. Their pieces are put on sheets longest first, each
where the least is left (best fit decreasing, from memory). A ripped row, of which a sheet gives
several strips, is then set in a way of its own that suits what is left of the sheets. Few floors
take more sheets so than by any way; a bound tells them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice, product

from estimator.solve.sheet_rows import Floor, Kind, Laid, Path, Row, SheetCut

_PAIRS, _MORE_PAIRS, _MOST_TRIED = 300, 40, 4_000
"""Pairs of ways looked at, at an effort of 1; those after one that takes as few sheets as any; and
those passed over, as they give the same pieces, with them."""
_STEPS, _STEPS_A_ROW = 3_000, 200
"""Pieces tried for ripped rows, at an effort of 1; and for one of them in what some sheets leave,
so that a row that does not fit leaves some for the others."""
_MORE_PIECES = 3
"""Pieces of a ripped row beyond the fewest that it could have."""
_Score = tuple[int, int, int]
"""Sheets, pieces, off-cuts."""
_Way = tuple[Path, int]
"""A row, and its joints: a bit for each joist that carries one."""


@dataclass(slots=True)
class _Sheet:
    """A sheet while it is filled.

    Attributes:
        left: What is left of its length beyond the pieces of its whole width.
        whole: These pieces.
        lanes: Lengths of the strips that what is left is ripped into, beside each other.
    """

    left: int
    whole: list[tuple[int, Kind]] = field(default_factory=list)
    lanes: list[tuple[int, ...]] = field(default_factory=list)

    @property
    def offcuts(self) -> int:
        """Strips or ends that are left of it, about."""
        return sum(sum(lane) < self.left for lane in self.lanes) or self.left > 0

    @property
    def cut(self) -> SheetCut:
        """How it is cut."""
        return SheetCut(tuple(self.whole), tuple(self.lanes))


class _Ways:
    """Ways to set the joints of a row; joints are a bit for each joist."""

    def __init__(self, floor: Floor, steps: int) -> None:
        self._floor = floor
        self._end = end = len(floor.lines) - 1
        self._pieces = [
            [
                (j, length)
                for j in range(end, i, -1)
                if (length := floor.span(i, j)[1]) <= floor.sheet_length
                and (j - i >= floor.min_bays or j - i == end)
            ]
            for i in range(end)
        ]
        self._shortest = min((length for each in self._pieces for _, length in each), default=0)
        self._fewest: dict[int, list[int]] = {}
        self.steps_left = steps

    def fewest(self, shut: int) -> list[int]:
        """Fewest pieces from each joist to the end where those shut carry no joint."""
        if shut not in self._fewest:
            never = self._end + 1
            found = [never] * self._end + [0]
            for i in range(self._end - 1, -1, -1):
                open_ends = [found[j] for j, _ in self._pieces[i] if not shut >> j & 1]
                found[i] = min(open_ends, default=never) + 1
            self._fewest[shut] = found
        return self._fewest[shut]

    def of(self, pieces: int, shut: int) -> Iterator[_Way]:
        """Rows of so many pieces, and their joints."""
        fewest = self.fewest(shut)

        def on(i: int, left: int, path: Path, joints: int) -> Iterator[_Way]:
            if i == self._end:
                yield path, joints
                return
            for j, _ in self._pieces[i]:
                if shut >> j & 1 or fewest[j] >= left or (left == 1) != (j == self._end):
                    continue
                yield from on(j, left - 1, (*path, (i, j)), joints | (j < self._end) << j)

        return on(0, pieces, (), 0)

    def into(self, lanes: Sequence[int], pieces: int, shut: int) -> tuple[Path, list[int]] | None:
        """A row of so many pieces for lanes of such lengths left, and the lane of each piece."""
        floor, fewest = self._floor, self.fewest(shut)
        room, used = list(lanes), list[int]()
        enough = max(self.steps_left - _STEPS_A_ROW, 0)

        def on(i: int, left: int, spare: int) -> Path | None:
            if i == self._end:
                return ()
            alike = dict[int, int]()
            for lane, length in enumerate(room):
                if length >= self._shortest:
                    alike.setdefault(length, lane)
            order = sorted(alike.items())
            for j, length in self._pieces[i]:
                if shut >> j & 1 or fewest[j] >= left or (left == 1) != (j == self._end):
                    continue
                for most, lane in order:
                    if most < length:
                        continue
                    taken = min(length + floor.kerf, room[lane])
                    if room[lane] - taken < self._shortest:  # the rest is of no use
                        taken = room[lane]
                    over = spare - taken + floor.lines[j] - floor.lines[i]
                    if self.steps_left <= enough or over < 0:
                        continue
                    self.steps_left -= 1
                    room[lane] -= taken
                    used.append(lane)
                    rest = on(j, left - 1, over)
                    if rest is not None:
                        return ((i, j), *rest)
                    used.pop()
                    room[lane] += taken
            return None

        useful = sum(lane for lane in lanes if lane >= self._shortest)
        path = on(0, pieces, useful + pieces * floor.gap - floor.lines[-1])
        return None if path is None else (path, used)


def lay_in_turns(floor: Floor, rows: Sequence[Row], least: int, effort: float) -> Laid | None:
    """A plan of few sheets and, of these, of few pieces and off-cuts; None if there is none so.

    Args:
        floor: A floor without openings.
        rows: Its rows; one that a sheet gives several strips of is the last.
        least: No plan takes fewer sheets than this.
        effort: How much is tried.
    """
    ways = _Ways(floor, math.ceil(effort * _STEPS))
    whole = [row for row in rows if row.kind.across == 1]
    fewest = ways.fewest(0)[0]
    best: tuple[_Score, Laid] | None = None
    seen = set[tuple[object, ...]]()
    left = math.ceil(effort * _PAIRS)
    for pair in islice(_pairs(floor, ways, len(whole)), _MOST_TRIED):
        paths = [pair[r % 2][0] for r in range(len(whole))]
        pieces = sum(map(len, paths))
        if best is not None and best[0][0] <= least:
            left = min(left, _MORE_PAIRS)
            if pieces + fewest * (len(rows) - len(whole)) > best[0][1]:
                break
        shut = pair[(len(whole) - 1) % 2][1] if floor.stagger and whole else 0
        sizes = [tuple(sorted(floor.span(i, j)[1] for i, j in path)) for path, _ in pair]
        key = (*sizes, shut if len(whole) < len(rows) else 0)
        if key in seen:
            continue
        seen.add(key)
        left -= 1
        if left < 0 or (len(whole) < len(rows) and ways.steps_left <= 0):
            break
        sheets = _filled(floor, whole, paths)
        most = len(sheets) + fewest if best is None else best[0][0]
        if len(sheets) > most:
            continue
        if len(whole) < len(rows):
            path = _ripped(floor, ways, rows[-1].kind, sheets, shut, most)
            if path is None:
                continue
            paths.append(path)
        score = (len(sheets), sum(map(len, paths)), sum(sheet.offcuts for sheet in sheets))
        if best is None or score < best[0]:
            best = score, Laid(tuple(rows), tuple(paths), tuple(sheet.cut for sheet in sheets))
    return None if best is None else best[1]


def _pairs(floor: Floor, ways: _Ways, rows: int) -> Iterator[tuple[_Way, _Way]]:
    """Ways of the first, third, ... and of the other rows, those of fewest pieces in all first."""
    nothing: _Way = ((), 0)
    if rows == 0:
        yield nothing, nothing
        return
    fewest, odd, even = ways.fewest(0)[0], (rows + 1) // 2, rows // 2
    counts = product((fewest, fewest + 1), (fewest, fewest + 1) if even else (0,))
    for one, two in sorted(counts, key=lambda count: odd * count[0] + even * count[1]):
        for first in ways.of(one, 0):
            if not even:
                yield first, nothing
                continue
            for second in ways.of(two, first[1] if floor.stagger else 0):
                yield first, second


def _filled(floor: Floor, rows: Sequence[Row], paths: Sequence[Path]) -> list[_Sheet]:
    """Sheets with the pieces of these rows."""
    pieces = [
        (floor.span(i, j)[1], row.kind)
        for row, path in zip(rows, paths, strict=True)
        for i, j in path
    ]
    sheets: list[_Sheet] = []
    for length, kind in sorted(pieces, key=lambda piece: -piece[0]):
        into = min((s for s in sheets if s.left >= length), key=lambda s: s.left, default=None)
        if into is None:
            into = _Sheet(floor.sheet_length)
            sheets.append(into)
        into.left = max(0, into.left - length - floor.kerf)
        into.whole.append((length, kind))
    return sheets


def _ripped(
    floor: Floor, ways: _Ways, kind: Kind, sheets: list[_Sheet], shut: int, most: int
) -> Path | None:
    """A ripped row set in what is left of the sheets, and of more of them, most in all."""
    fewest = ways.fewest(shut)[0]
    if fewest > len(floor.lines):
        return None
    while len(sheets) <= most:
        lanes = [sheet for sheet in sheets if sheet.left for _ in range(kind.across)]
        for pieces in range(fewest, fewest + _MORE_PIECES + 1):
            laid = ways.into([sheet.left for sheet in lanes], pieces, shut)
            if laid is None:
                continue
            path, places = laid
            for n, sheet in enumerate(lanes):
                strips = [
                    floor.span(i, j)[1] for (i, j), at in zip(path, places, strict=True) if at == n
                ]
                if strips:
                    sheet.lanes.append(tuple(strips))
            return path
        sheets.append(_Sheet(floor.sheet_length))
    return None
