"""Rows of sheets on a floor: how wide they may be, and how few sheets they take by area alone.

All sizes are whole units, ``PER_IN`` to the inch, so that lengths compare exactly: a 64th and a
thousandth of an inch and a thousandth of a millimetre are whole.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

PER_IN = 2_032_000


@dataclass(frozen=True, slots=True)
class Kind:
    """Pieces of one row width: cover and sheet width taken (units), how many side by side."""

    cover: int
    taken: int
    across: int


@dataclass(frozen=True, slots=True)
class Row:
    y: int
    kind: Kind


Path = tuple[tuple[int, int], ...]
"""Pieces of a row, each from line to line."""


@dataclass(frozen=True, slots=True)
class SheetCut:
    """How one sheet is cut.

    Attributes:
        whole: Lengths and kinds of what is cut across its whole width, from its end on.
        lanes: Lengths of the strips in each lane that the rest is ripped into, side by side.
    """

    whole: tuple[tuple[int, Kind], ...]
    lanes: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Laid:
    """Rows with their pieces, and the sheets that these are cut from."""

    rows: tuple[Row, ...]
    paths: tuple[Path, ...]
    sheets: tuple[SheetCut, ...]


@dataclass(frozen=True, slots=True)
class Floor:
    """The problem in whole units."""

    lines: tuple[int, ...]
    width: int
    sheet_length: int
    sheet_width: int
    cover: int
    gap: int
    row_gap: int
    kerf: int
    min_strip: int
    min_bays: int
    stagger: bool
    tongued: bool
    openings: tuple[tuple[int, int, int, int], ...]

    def span(self, i: int, j: int) -> tuple[int, int]:
        """Start and length of a piece from line i to line j.

        It starts on its joist's centre and ends a gap short of the next piece. At the floor's
        far end it stays up to a gap short only if the sheet is that short.
        """
        a, b = self.lines[i], self.lines[j]
        if j < len(self.lines) - 1:
            return a, b - a - self.gap
        return a, self.sheet_length if 0 < b - a - self.sheet_length <= self.gap else b - a


def area_bound(floor: Floor) -> int:
    """Sheets by area alone, every piece with the gap beside it.

    Pieces cut from a sheet stand a kerf apart. Where that is no less than the gap, each with its
    gap has room on a sheet that is a gap longer and wider; else with a kerf.
    """
    beyond, between = min(floor.gap, floor.kerf), min(floor.row_gap, floor.kerf)
    area = float(floor.lines[-1] * floor.width)
    area -= sum((b - a + floor.gap) * (d - c + floor.row_gap) for a, c, b, d in floor.openings)
    if (beyond, between) != (floor.gap, floor.row_gap):
        least_length = min(np.diff(floor.lines)) - floor.gap
        least_width = min(floor.min_strip, floor.width)
        area /= (1 + floor.gap / least_length) * (1 + floor.row_gap / least_width)
        beyond = between = 0
    return max(
        0, math.ceil(area / ((floor.sheet_length + beyond) * (floor.cover + between)) - 1e-9)
    )


def arrangements_of(floor: Floor) -> tuple[list[tuple[Row, ...]], list[tuple[Row, ...]]]:
    """Arrangements of rows: those of which one takes as few sheets as any; others to try, the
    widest narrowest strip first.

    Where the first row is ripped as well as the last, the narrower of the two decides: a sheet
    gives no fewer of a narrower strip, and one strip alone of the other. So without openings the
    narrowest strip takes no more sheets than any other. A row that lies within an opening loses
    pieces there; the strip may then be narrowed only to where such a row still does.
    """
    full, gap = floor.cover, floor.row_gap
    whole = (floor.width + gap) // (full + gap)
    rest = floor.width - whole * (full + gap)
    if rest <= 0:
        # Whole rows end with the floor, or up to a gap short of it.
        return [_rows(floor, [full] * whole)], []
    if whole == 0:
        return [_rows(floor, [floor.width])], []
    if rest >= floor.min_strip:
        return [_rows(floor, [full] * whole + [rest])], []
    two, least = full + rest, floor.min_strip
    deciding = {least, *_last_strips_in_openings(floor, two, whole)}
    strips = {two // 2}
    if not floor.tongued:
        # Narrower last strips, of which a sheet gives several.
        fits = [(full - (m - 1) * floor.kerf) // m for m in (2, 3, 4)]
        sixteenth = PER_IN // 16
        fits = [h // sixteenth * sixteenth for h in fits]
        strips |= {h for h in fits if least <= h <= two // 2}

    def laid(last: int) -> tuple[Row, ...]:
        return _rows(floor, [two - last] + [full] * (whole - 1) + [last])

    return (
        [laid(h) for h in sorted(deciding)],
        [laid(h) for h in sorted(strips - deciding, reverse=True)],
    )


def _last_strips_in_openings(floor: Floor, two: int, whole: int) -> set[int]:
    """Widths of the last strip, the narrower of the two least, at which a row lies in an opening.

    Args:
        two: Width of first and last row together.
        whole: How many rows there are but the last.
    """
    pitch, least = floor.cover + floor.row_gap, floor.min_strip
    most = two - least
    found = {most} if floor.openings else set()
    for _, near, _, far in floor.openings:
        # By row, from and to which width of the last strip it lies in the opening.
        spans = [(two + floor.row_gap + r * pitch, floor.cover) for r in range(whole - 1)]
        within = [(at + cover - far, at - near) for at, cover in spans]
        if near <= 0:
            within.append((two - far, most))
        if far >= floor.width:
            within.append((least, floor.width - near))
        for narrow, wide in within:
            if narrow <= wide:
                found |= {narrow} if least <= narrow <= two // 2 else set()
                found |= {wide} if two // 2 < wide <= most else set()
    return found


def _rows(floor: Floor, covers: Sequence[int]) -> tuple[Row, ...]:
    rows: list[Row] = []
    y = 0
    tongue = floor.sheet_width - floor.cover
    for r, cover in enumerate(covers):
        joint_far = r < len(covers) - 1
        if floor.tongued and len(covers) > 1:
            kind = Kind(cover, cover + (tongue if joint_far else 0), 1)
        else:
            kind = Kind(cover, cover, (floor.cover + floor.kerf) // (cover + floor.kerf))
        rows.append(Row(y, kind))
        y += cover + floor.row_gap
    return tuple(rows)
